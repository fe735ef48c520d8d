//! The whole state of the terminal face: what all screens share, and the stack of screens.

use super::common::Common;
use super::screen::Screen;

/// The state.
#[derive(Debug)]
pub struct State {
    /// What all screens share.
    pub common: Common,
    /// The screens, the lowest first; never empty.
    stack: Vec<Box<dyn Screen>>,
}

impl State {
    /// A state with that screen at the bottom.
    #[must_use]
    pub fn new(common: Common, bottom: Box<dyn Screen>) -> Self {
        Self {
            common,
            stack: vec![bottom],
        }
    }

    /// The screen on top, and what it shares.
    #[must_use]
    pub fn top(&self) -> &dyn Screen {
        // The stack is never empty: `pop` leaves the lowest.
        self.stack[self.stack.len() - 1].as_ref()
    }

    /// The screen on top and what all share, to be changed.
    pub fn parts(&mut self) -> (&mut Common, &mut dyn Screen) {
        let at = self.stack.len() - 1;
        (&mut self.common, self.stack[at].as_mut())
    }

    /// Every screen with what all share.
    pub fn each(&mut self) -> (&mut Common, &mut [Box<dyn Screen>]) {
        (&mut self.common, &mut self.stack)
    }

    /// How many screens lie on each other.
    #[must_use]
    pub fn depth(&self) -> usize {
        self.stack.len()
    }

    /// Puts a screen on top.
    pub fn push(&mut self, screen: Box<dyn Screen>) {
        self.stack.push(screen);
    }

    /// Takes the top screen away, unless it is the lowest; whether it did.
    pub fn pop(&mut self) -> bool {
        let can = self.stack.len() > 1;
        if can {
            self.stack.pop();
        }
        can
    }

    /// Puts a screen in place of the top one.
    pub fn replace(&mut self, screen: Box<dyn Screen>) {
        let at = self.stack.len() - 1;
        self.stack[at] = screen;
    }

    /// What is unfinished, as text to be kept.
    #[must_use]
    pub fn draft(&self) -> Option<String> {
        self.stack.iter().rev().find_map(|screen| screen.draft())
    }
}
