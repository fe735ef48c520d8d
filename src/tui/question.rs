//! Figures that screens ask for, computed off the input path, and their answers. Nothing is drawn here.
//!
//! A screen names its question by a key that holds all it depends on, keeps the key, and takes the
//! answer of that key alone: answers to what nobody asks any more fall to the ground. The first word of
//! the key is the question's topic: a screen that asks again on a topic no longer wants what it asked
//! before, and a screen that was left wants nothing: that is dropped or stopped rather than worked out.

use crate::fold::Book;
use std::any::Any;
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

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

    /// The same, asked by the screen of that number.
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
