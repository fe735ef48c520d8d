//! What the screens ask of the world outside, the door through which it is done, and the messages that come back.
//!
//! A screen names its question by a key that holds all it depends on, keeps the key, and takes the answer of that key
//! alone: answers that nobody waits for any more are dropped. The first word of the key is the question's topic. A screen
//! that asks again on a topic no longer wants what it asked before, and a screen that was left wants nothing: such work is
//! dropped or stopped.

use crate::app::memory::Memory;
use crate::app::mends::Mend;
pub use crate::app::record::NewEntry;
use crate::fold::Book;
use crate::input::bench_line::Vocabulary;
use crate::model::at::At;
use crate::model::fault::Origin;
use crate::model::id::Id;
use crate::tui::keys::KeyPress;
use chrono::{DateTime, FixedOffset};
use std::any::Any;
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The first word of a draft that turned out to be saved; the id of its first entry and the draft itself follow it, set
/// off by tabs.
pub const SAVED_DRAFT: &str = "saved";

/// Entries to be written in one append, all or none.
#[derive(Clone, Debug, PartialEq)]
pub struct Act {
    /// When; absent is now.
    pub at: Option<At>,
    /// The entries, in order.
    pub entries: Vec<NewEntry>,
    /// What they say, in words, for the line that confirms the save. Where it is empty, that line shows the entries as
    /// bench lines.
    pub summary: String,
}

/// Something that the state asks of the world outside: writing, computing, quitting.
#[derive(Debug)]
pub enum Effect {
    /// Write these entries.
    Record(Act),
    /// Write withdrawals of these entries; and what is withdrawn, in words.
    Withdraw(Vec<Id>, String),
    /// Work these entries, which are on disk, into the journal as the screens know it.
    WorkIn(Recorded),
    /// Compute figures, off the input path.
    Ask(Query),
    /// Nobody looks at the screen of that number any more: what it asked is not worked out.
    Left(usize),
    /// Throw away the unfinished entry of an earlier sitting, once this draft that goes on from it is kept.
    DropOffered(Option<String>),
    /// Read a line of the journal as it stands in its file.
    Raw(Origin),
    /// Keep this for the next sitting.
    Remember(Memory),
    /// Stop until continued.
    Suspend,
    /// Draw everything anew.
    Redraw,
    /// End.
    Quit,
}

impl Effect {
    /// Whether it writes in the journal: [`Message::Recorded`] or [`Message::Refused`] is the end of it.
    #[must_use]
    pub fn writes(&self) -> bool {
        matches!(self, Self::Record(_) | Self::Withdraw(..))
    }
}

/// Entries that are on disk now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recorded {
    /// The ids written, in order.
    pub ids: Vec<Id>,
    /// The codes of the batches that they begin, in order.
    pub codes: Vec<String>,
    /// What they say, in words.
    pub summary: String,
    /// What is odd about them, in words: a line each.
    pub remarks: Vec<String>,
    /// Whether they take an earlier act back.
    pub undoes: bool,
}

impl Recorded {
    /// That they are on disk, in a line.
    #[must_use]
    pub fn sentence(&self) -> String {
        let word = if self.undoes { "Withdrawn" } else { "Saved" };
        format!("{word}: {}", self.summary)
    }
}

/// Why nothing was saved.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Refusal {
    /// What is wrong, then the remedies: a line each.
    pub lines: Vec<String>,
    /// The amends that would make the sum fit, one key away.
    pub mends: Vec<Mend>,
}

/// The journal as it stands, and its words.
#[derive(Clone, Debug)]
pub struct Snapshot {
    /// The book.
    pub book: Arc<Book>,
    /// The journal's own words, for the reading of typed lines.
    pub vocabulary: Arc<Vocabulary>,
    /// The names of its files, by their numbers.
    pub files: Arc<[String]>,
    /// Says in a sentence which part of the journal cannot be read now; nothing if all can.
    pub unread: Option<String>,
}

/// Says whether to go on with a long work.
pub type GoOn<'a> = &'a mut dyn FnMut() -> bool;

/// The computing of a question's figures, of any type; nothing if it was told to stop.
type Work = dyn Fn(&Book, GoOn<'_>) -> Option<Box<dyn Any + Send>> + Send;

/// A question about the journal.
pub struct Query {
    key: String,
    /// The screen that asks, by its number on the stack.
    asker: usize,
    book: Arc<Book>,
    work: Box<Work>,
    unwanted: Unwanted,
}

/// A flag that stops a question once nobody wants its answer.
#[derive(Clone, Debug, Default)]
pub struct Unwanted(Arc<AtomicBool>);

impl Unwanted {
    /// Stops the question.
    pub fn tell(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    fn is_told(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

impl Query {
    /// A question of that key, and how it is answered. The work must be pure: it runs on another thread. If it takes
    /// long it asks from time to time whether to go on, and gives nothing if it was told not to.
    pub fn new<T: Send + 'static>(
        key: impl Into<String>,
        book: &Arc<Book>,
        work: impl Fn(&Book, GoOn<'_>) -> Option<T> + Send + 'static,
    ) -> Self {
        Self {
            key: key.into(),
            asker: 0,
            book: Arc::clone(book),
            work: Box::new(move |book, go_on| {
                let found = work(book, go_on)?;
                Some(Box::new(found) as Box<dyn Any + Send>)
            }),
            unwanted: Unwanted::default(),
        }
    }

    /// Sets the number of the screen that asks.
    #[must_use]
    pub fn by(mut self, asker: usize) -> Self {
        self.asker = asker;
        self
    }

    /// The screen that asks and its topic. A later question of the same screen and topic replaces this one.
    #[must_use]
    pub fn concern(&self) -> (usize, &str) {
        let topic = self.key.split(' ').next().unwrap_or_default();
        (self.asker, topic)
    }

    /// The flag that stops this question.
    #[must_use]
    pub fn unwanted(&self) -> Unwanted {
        self.unwanted.clone()
    }

    /// Computes the answer, however long that takes. Gives nothing if the question was stopped.
    #[must_use]
    pub fn answer(self) -> Option<Answer> {
        let figures = (self.work)(&self.book, &mut || !self.unwanted.is_told())?;
        Some(Answer {
            figures,
            key: self.key,
        })
    }
}

impl fmt::Debug for Query {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Query({})", self.key)
    }
}

/// The answer to a question.
pub struct Answer {
    key: String,
    figures: Box<dyn Any + Send>,
}

impl Answer {
    /// The figures, if this answers the question of that key.
    #[must_use]
    pub fn to<T: 'static>(&self, key: &str) -> Option<&T> {
        (self.key == key)
            .then(|| self.figures.downcast_ref())
            .flatten()
    }
}

impl fmt::Debug for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Answer({})", self.key)
    }
}

/// What a screen asked last on a topic: the key of its question, by which it takes the answer.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Awaited(String);

impl Awaited {
    /// Takes note of the key of what is asked now; whether it is another question than before.
    pub fn turn_to(&mut self, key: &str) -> bool {
        let other = self.0 != key;
        if other {
            key.clone_into(&mut self.0);
        }
        other
    }

    /// The figures, if this is the answer that is waited for.
    #[must_use]
    pub fn taken<'a, T: 'static>(&self, answer: &'a Answer) -> Option<&'a T> {
        answer.to(&self.0)
    }
}

/// An event that changes the state: keys, time, the journal, an answer.
#[derive(Debug)]
pub enum Message {
    /// Keys, those of one moment together.
    Presses(Vec<KeyPress>),
    /// A paste, as the terminal marks it.
    Paste(String),
    /// The screen's new size: columns, rows.
    Size(u16, u16),
    /// The time now.
    Now(DateTime<FixedOffset>),
    /// The journal as it stands now: somebody wrote.
    Snapshot(Snapshot),
    /// What was to be recorded or withdrawn is on disk. The journal as the screens know it does not hold it yet.
    OnDisk(Recorded),
    /// It is on disk, and the journal as the screens know it holds it.
    Recorded(Recorded),
    /// It is not.
    Refused(Refusal),
    /// Figures that were asked for.
    Answer(Answer),
    /// A line of the journal as it stands in its file, if it can be read.
    Raw(Origin, Option<Vec<u8>>),
    /// An entry that an earlier sitting left unfinished.
    Offered(String),
    /// The journal cannot be followed at the moment; why.
    Trouble(String),
}

/// What the screens need of the world.
pub trait Door {
    /// The time now, with the place's offset.
    fn now(&self) -> DateTime<FixedOffset>;

    /// The journal as last read.
    fn snapshot(&self) -> Snapshot;

    /// Reads what others appended; the journal if anything changed.
    ///
    /// # Errors
    /// Why it cannot be read.
    fn refresh(&mut self) -> Result<Option<Snapshot>, Refusal>;

    /// The bytes of a line as they stand in the journal; nothing if they cannot be read.
    fn raw(&self, origin: Origin) -> Option<Vec<u8>>;

    /// Writes entries in one append. They are on disk when this returns them; the snapshot holds them once they are
    /// [worked in](Self::work_in). The same act handed in again after a refusal is the same entries: nothing is entered twice.
    ///
    /// # Errors
    /// Why nothing was saved.
    fn record(&mut self, act: &Act, by: &str) -> Result<Recorded, Refusal>;

    /// Writes withdrawals of these entries.
    ///
    /// # Errors
    /// Why nothing was saved.
    fn withdraw(&mut self, ids: &[Id], summary: &str, by: &str) -> Result<Recorded, Refusal>;

    /// Works what was written into the snapshot, which takes long in a large journal; gives it with what is odd about it.
    fn work_in(&mut self, recorded: Recorded) -> Recorded;

    /// What an earlier sitting left to this one.
    fn memory(&self) -> Memory;

    /// Keeps what the next sitting is to know.
    fn remember(&mut self, memory: &Memory);

    /// Keeps the unfinished entry; an empty text takes it away. Whether that is done.
    fn keep(&mut self, draft: &str) -> bool;

    /// The unfinished entry of an earlier sitting that was cut off, if there is one.
    fn offered(&mut self) -> Option<String>;

    /// Takes the offered entry away, once it was taken up or thrown out.
    fn drop_offered(&mut self);

    /// What saves a draft from another thread when the terminal is gone.
    fn saver(&self) -> Box<dyn Fn(&str) + Send>;
}

/// Runs an effect that needs the door; gives what happened, in order.
pub fn run_effect(door: &mut dyn Door, by: &str, effect: Effect) -> Vec<Message> {
    let outcome = match effect {
        Effect::Record(act) => door.record(&act, by),
        Effect::Withdraw(ids, summary) => door.withdraw(&ids, &summary, by),
        Effect::DropOffered(instead) => {
            // What goes on from it is kept first, so that no moment is without either.
            if instead.is_none_or(|draft| door.keep(&draft)) {
                door.drop_offered();
                return door.offered().map(Message::Offered).into_iter().collect();
            }
            return Vec::new();
        }
        Effect::WorkIn(recorded) => return worked_in(door, recorded).into(),
        Effect::Raw(origin) => return vec![Message::Raw(origin, door.raw(origin))],
        Effect::Remember(memory) => {
            door.remember(&memory);
            return Vec::new();
        }
        // The loop's own affairs.
        Effect::Ask(_) | Effect::Left(_) | Effect::Suspend | Effect::Redraw | Effect::Quit => {
            return Vec::new();
        }
    };
    vec![outcome.map_or_else(Message::Refused, Message::OnDisk)]
}

/// What is told once entries are worked in: the journal that holds them comes first.
pub fn worked_in(door: &mut dyn Door, recorded: Recorded) -> [Message; 2] {
    // The draft is an entry now. One that cannot be removed knows by its lines that it was saved.
    door.keep("");
    let recorded = door.work_in(recorded);
    [
        Message::Snapshot(door.snapshot()),
        Message::Recorded(recorded),
    ]
}
