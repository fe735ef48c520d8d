//! The whole state of the terminal face: what all screens share, and the stack of screens.

use super::common::Common;
use super::screen::Screen;

/// A screen on the stack, with a number that no other ever bears: what it asked is told by it.
#[derive(Debug)]
struct Held {
    number: usize,
    screen: Box<dyn Screen>,
}

/// The state.
#[derive(Debug)]
pub struct State {
    /// What all screens share.
    pub common: Common,
    /// The screens, the lowest first; never empty.
    stack: Vec<Held>,
    /// The number of the next screen.
    next: usize,
    /// Screens left since that was last asked.
    left: Vec<usize>,
}

impl State {
    /// A state with that screen at the bottom.
    #[must_use]
    pub fn new(common: Common, bottom: Box<dyn Screen>) -> Self {
        Self {
            common,
            stack: vec![Held {
                number: 0,
                screen: bottom,
            }],
            next: 1,
            left: Vec::new(),
        }
    }

    /// The screen on top, and what it shares.
    #[must_use]
    pub fn top(&self) -> &dyn Screen {
        // The stack is never empty: `pop` leaves the lowest.
        self.stack[self.stack.len() - 1].screen.as_ref()
    }

    /// How many screens lie on each other.
    #[must_use]
    pub fn depth(&self) -> usize {
        self.stack.len()
    }

    /// The number of the screen on top.
    #[must_use]
    pub fn number(&self) -> usize {
        self.stack[self.stack.len() - 1].number
    }

    /// The screen on top and what all share, to be changed.
    pub fn parts(&mut self) -> (&mut Common, &mut dyn Screen) {
        let at = self.stack.len() - 1;
        (&mut self.common, self.stack[at].screen.as_mut())
    }

    /// Every screen with its number, the one on top first: what it wants comes first; and what all share.
    pub fn each(&mut self) -> (&mut Common, impl Iterator<Item = (usize, &mut dyn Screen)>) {
        let screens = self.stack.iter_mut().rev();
        let screens = screens.map(|held| (held.number, held.screen.as_mut() as &mut dyn Screen));
        (&mut self.common, screens)
    }

    /// Puts a screen on top.
    pub fn push(&mut self, screen: Box<dyn Screen>) {
        let number = self.next;
        self.next += 1;
        self.stack.push(Held { number, screen });
    }

    /// Takes the top screen away, unless it is the lowest; whether it did.
    pub fn pop(&mut self) -> bool {
        let can = self.stack.len() > 1;
        if can {
            self.left.extend(self.stack.pop().map(|held| held.number));
        }
        can
    }

    /// Puts a screen in place of the top one.
    pub fn replace(&mut self, screen: Box<dyn Screen>) {
        let left = self.stack.pop();
        self.left.extend(left.map(|held| held.number));
        self.push(screen);
    }

    /// The numbers of the screens that were left since this was last asked.
    pub fn left(&mut self) -> Vec<usize> {
        std::mem::take(&mut self.left)
    }

    /// What is unfinished, as text to be kept.
    #[must_use]
    pub fn draft(&self) -> Option<String> {
        let mut screens = self.stack.iter().rev();
        screens.find_map(|held| held.screen.draft())
    }
}
