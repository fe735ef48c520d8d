//! Figures that screens ask for, computed off the input path, and their answers. Nothing is drawn here.
//!
//! A screen names its question by a key that holds all it depends on, keeps the key, and takes the
//! answer of that key alone: answers to what nobody asks any more fall to the ground.

use crate::book::Book;
use std::any::Any;
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The computing of a question's figures, of any type.
type Work = dyn Fn(&Book) -> Box<dyn Any + Send> + Send;

/// A question about the journal.
pub struct Question {
    key: String,
    book: Arc<Book>,
    work: Box<Work>,
}

impl Question {
    /// A question of that key, and how it is answered. The work must be pure: it runs on another thread.
    pub fn new<T: Send + 'static>(
        key: impl Into<String>,
        book: &Arc<Book>,
        work: impl Fn(&Book) -> T + Send + 'static,
    ) -> Self {
        Self {
            key: key.into(),
            book: Arc::clone(book),
            work: Box::new(move |book| Box::new(work(book))),
        }
    }

    /// Its key.
    #[must_use]
    pub fn key(&self) -> &str {
        &self.key
    }

    /// Answers it; takes as long as it takes.
    #[must_use]
    pub fn answer(self) -> Answer {
        Answer {
            figures: (self.work)(&self.book),
            key: self.key,
        }
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
