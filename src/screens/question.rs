//! Figures that screens ask for, computed off the input path, and their answers. Nothing is drawn here.
//!
//! A screen names its question by a key that holds all it depends on, keeps the key, and takes the
//! answer of that key alone: answers to what nobody asks any more fall to the ground. The first word of
//! the key is the question's topic: a screen that asks again on a topic no longer wants what it asked
//! before, and that is dropped or stopped rather than worked out.

use crate::book::Book;
use std::any::Any;
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Says whether to go on with a long work.
pub type GoOn<'a> = &'a mut dyn FnMut() -> bool;

/// The computing of a question's figures, of any type; nothing if it was told to stop.
type Work = dyn Fn(&Book, GoOn<'_>) -> Option<Box<dyn Any + Send>> + Send;

/// A question about the journal.
pub struct Question {
    key: String,
    /// The screen that asks, by its place on the stack.
    asker: usize,
    book: Arc<Book>,
    work: Box<Work>,
    unwanted: Unwanted,
}

/// Through which a question is told that nobody wants its answer any more.
#[derive(Clone, Debug, Default)]
pub struct Unwanted(Arc<AtomicBool>);

impl Unwanted {
    /// Tells it.
    pub fn tell(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    fn is_told(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

impl Question {
    /// A question of that key, and how it is answered. The work must be pure: it runs on another thread.
    pub fn new<T: Send + 'static>(
        key: impl Into<String>,
        book: &Arc<Book>,
        work: impl Fn(&Book) -> T + Send + 'static,
    ) -> Self {
        Self::stoppable(key, book, move |book, _| Some(work(book)))
    }

    /// A question whose work takes long: it asks from time to time whether to go on, and gives nothing
    /// if it was told not to.
    pub fn stoppable<T: Send + 'static>(
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

    /// The same, asked by the screen at that place on the stack.
    #[must_use]
    pub fn by(mut self, asker: usize) -> Self {
        self.asker = asker;
        self
    }

    /// Its key.
    #[must_use]
    pub fn key(&self) -> &str {
        &self.key
    }

    /// Who asks and on which topic: a later question of the same takes its place.
    #[must_use]
    pub fn concern(&self) -> (usize, &str) {
        let topic = self.key.split(' ').next().unwrap_or_default();
        (self.asker, topic)
    }

    /// Through which it can be stopped.
    #[must_use]
    pub fn unwanted(&self) -> Unwanted {
        self.unwanted.clone()
    }

    /// Answers it; takes as long as it takes. Nothing if it was stopped.
    #[must_use]
    pub fn answer(self) -> Option<Answer> {
        let figures = (self.work)(&self.book, &mut || !self.unwanted.is_told())?;
        Some(Answer {
            figures,
            key: self.key,
        })
    }
}

impl fmt::Debug for Question {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Question({})", self.key)
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

/// What a screen waits for: the key of its question, and the sign by which long work is told that nobody
/// waits any more. The sign is given when this is dropped: the screen was left, or asks for something else.
#[derive(Debug, Default)]
pub struct Awaited {
    key: String,
    over: Arc<AtomicBool>,
}

impl Awaited {
    /// Waiting for the answer of that key.
    #[must_use]
    pub fn new(key: impl Into<String>) -> Self {
        Self {
            key: key.into(),
            over: Arc::default(),
        }
    }

    /// The key.
    #[must_use]
    pub fn key(&self) -> &str {
        &self.key
    }

    /// Tells the work whether to go on.
    pub fn going(&self) -> impl Fn() -> bool + Send + 'static {
        let over = Arc::clone(&self.over);
        move || !over.load(Ordering::Relaxed)
    }
}

impl Drop for Awaited {
    fn drop(&mut self) {
        self.over.store(true, Ordering::Relaxed);
    }
}
