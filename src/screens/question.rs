//! Figures that screens ask for, computed off the input path, and their answers. Nothing is drawn here.
//!
//! A screen names its question by a key that holds all it depends on, keeps the key, and takes the
//! answer of that key alone: answers to what nobody asks any more fall to the ground.

use crate::book::Book;
use std::any::Any;
use std::fmt;
use std::sync::Arc;

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
