//! What a screen is: its keys, what it does with them, how it is drawn. Each screen owns its cursor
//! and nothing of another's.

use super::canvas::Canvas;
use super::common::{Common, SavedAct};
use super::effect::Answer;
use super::effect::{Effect, Refusal};
use super::keys::KeyPress;
use super::keys::{Command, KeyContext};
use super::record::drafts;
use crate::model::fault::Origin;
use crate::model::id::Id;
use std::collections::VecDeque;
use std::fmt::Debug;

/// A screen on the stack.
pub trait Screen: Debug {
    /// Whose keys are live.
    fn context(&self) -> KeyContext;

    /// The heading's words.
    fn title(&self, common: &Common) -> String;

    /// What recording from here is about.
    fn subject(&self, _common: &Common) -> RecordingSubject {
        RecordingSubject::default()
    }

    /// Carries out a command that the table gave it. Those that work anywhere (recording, help,
    /// back, quit) come here only if [`Screen::claims`] them.
    fn command(&mut self, common: &mut Common, command: Command) -> Turn;

    /// Whether a command that works anywhere is the screen's own affair.
    fn claims(&self, _command: Command) -> bool {
        false
    }

    /// Whether a command of its table would do nothing here: it is not hinted at then.
    fn is_idle(&self, _common: &Common, _command: Command) -> bool {
        false
    }

    /// Takes a press that is no command: a letter of a field, a digit.
    fn press(&mut self, _common: &mut Common, _press: KeyPress) -> Turn {
        Turn::stay()
    }

    /// Takes pasted text, if it has a field.
    fn paste(&mut self, common: &mut Common, text: &str) -> Turn {
        for c in text.chars().filter(|c| !c.is_control()) {
            self.press(common, KeyPress::Char(c));
        }
        Turn::stay()
    }

    /// Takes note that the journal, the day or the filter changed, or that the screen came to the top.
    fn refreshed(&mut self, _common: &Common) -> Turn {
        Turn::stay()
    }

    /// Takes note that what it wanted written is on disk. A screen that records goes on or goes back.
    fn recorded(&mut self, _common: &mut Common, _done: &SavedAct) -> Turn {
        Turn::stay()
    }

    /// How many bytes of a paste it has room for.
    fn paste_room(&self) -> usize {
        usize::MAX
    }

    /// Takes note that what it wanted written is not saved, and why.
    fn refused(&mut self, _common: &Common, _refusal: &Refusal) {}

    /// Which part of its list is shown, where that is not in the title: `2/3`.
    fn part(&self, _common: &Common) -> Option<String> {
        None
    }

    /// Takes note of a batch found elsewhere; whether it shows that batch now.
    fn choose(&mut self, _common: &Common, _batch: &Id) -> bool {
        false
    }

    /// Takes an answer to a question, if the question was its own.
    fn answered(&mut self, _common: &Common, _answer: &Answer) {}

    /// A key that works anywhere was pressed: a code half typed here is over.
    fn interrupted(&mut self) {}

    /// Takes a line of the journal as it stands in its file, which it asked for; nothing if it cannot be read.
    fn raw(&mut self, _origin: Origin, _bytes: Option<&[u8]>) {}

    /// What is unfinished here, as text that `super::record` takes up again.
    fn draft(&self) -> Option<String> {
        None
    }

    /// What is typed in its field, if it has one: while there is text, a sign is a part of it.
    fn typed_text(&self) -> &str {
        ""
    }

    /// Draws itself. The canvas tells the room there is.
    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>);
}

/// What recording is about: the batch chosen, and its place or the place chosen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RecordingSubject {
    /// The batch, by its key.
    pub batch: Option<Id>,
    /// The place, as written.
    pub place: Option<String>,
}

/// A change of the stack of screens.
#[derive(Debug)]
pub enum StackStep {
    /// A screen on top of this one.
    Open(Box<dyn Screen>),
    /// Back to the screen beneath.
    Back,
    /// Back to the screen beneath, which hears that what it wanted written is on disk.
    Done(SavedAct),
    /// Back, to show this batch.
    Found(Id),
    /// A screen in place of this one.
    Instead(Box<dyn Screen>),
    /// The journal's pages in place of this screen, with what holds these words.
    Seek(String),
    /// A command that works anywhere, as if its key had been pressed.
    Do(Command),
}

/// What a screen wants after it took a key.
#[derive(Debug, Default)]
pub struct Turn {
    /// The change of the stack, if any.
    pub step: Option<StackStep>,
    /// What is asked of the world outside.
    pub effects: Vec<Effect>,
}

impl Turn {
    /// A turn that changes nothing.
    #[must_use]
    pub fn stay() -> Self {
        Self::default()
    }

    /// A turn that changes the stack.
    #[must_use]
    pub fn step(step: StackStep) -> Self {
        Self {
            step: Some(step),
            effects: Vec::new(),
        }
    }

    /// Opens a screen on top.
    #[must_use]
    pub fn open(screen: impl Screen + 'static) -> Self {
        Self::step(StackStep::Open(Box::new(screen)))
    }

    /// Goes back.
    #[must_use]
    pub fn back() -> Self {
        Self::step(StackStep::Back)
    }

    /// A turn that asks something of the world outside.
    #[must_use]
    pub fn effect(effect: Effect) -> Self {
        Self::stay().and(effect)
    }

    /// The same turn with one more effect, if there is one.
    #[must_use]
    pub fn also(mut self, effect: Option<Effect>) -> Self {
        self.effects.extend(effect);
        self
    }

    /// The same turn with one more effect.
    #[must_use]
    pub fn and(mut self, effect: Effect) -> Self {
        self.effects.push(effect);
        self
    }
}

/// A screen on the stack, with a number that no other ever bears: what it asked is told by it.
#[derive(Debug)]
struct Held {
    number: usize,
    screen: Box<dyn Screen>,
}

/// How far it is with what is being written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Writing {
    /// Nothing is.
    #[default]
    Nothing,
    /// It was handed over.
    Asked,
    /// It is on disk; the book does not hold it yet.
    OnDisk,
}

/// What somebody typed.
#[derive(Debug)]
pub enum Typed {
    /// Keys, those of one moment together.
    Presses(Vec<KeyPress>),
    /// A paste, as the terminal marks it.
    Paste(String),
}

/// The whole state of the terminal program: what the screens share, and the stack of screens.
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
    /// How far it is with what is being written.
    pub writing: Writing,
    /// What was typed meanwhile, in order.
    pub held: VecDeque<Typed>,
}

impl State {
    /// A state with one screen.
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
            writing: Writing::default(),
            held: VecDeque::new(),
        }
    }

    /// The screen on top.
    #[must_use]
    pub fn top(&self) -> &dyn Screen {
        // The stack is never empty: `pop` leaves the lowest.
        self.stack[self.stack.len() - 1].screen.as_ref()
    }

    /// The number of the screen on top.
    #[must_use]
    pub fn number(&self) -> usize {
        self.stack[self.stack.len() - 1].number
    }

    /// The shared state and the screen on top, to be changed.
    pub fn parts(&mut self) -> (&mut Common, &mut dyn Screen) {
        let at = self.stack.len() - 1;
        (&mut self.common, self.stack[at].screen.as_mut())
    }

    /// The shared state, and every screen with its number, the one on top first.
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

    /// Takes the top screen away, unless it is the lowest. Gives whether it did.
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

    /// The numbers of the screens that were left since the last call.
    pub fn left(&mut self) -> Vec<usize> {
        std::mem::take(&mut self.left)
    }

    /// What is unfinished, as text to be kept. What stands typed is finished once it is on disk, though its screen hears of
    /// that only when the book holds it.
    #[must_use]
    pub fn draft(&self) -> Option<String> {
        if self.writing == Writing::OnDisk {
            return None;
        }
        let mut screens = self.stack.iter().rev();
        let draft = screens.find_map(|held| held.screen.draft())?;
        Some(drafts::owned(&self.common.by, &draft))
    }
}
