//! A use case that could not be carried out: what, why, and what to do about it.

use std::fmt;

/// Why something could not be done; the kind decides the exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FailureKind {
    /// The words were not understood: bad usage.
    Usage,
    /// It could not be done.
    Could,
}

/// A failure to show: a sentence, and the remedies each on a line of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// Its kind.
    pub kind: FailureKind,
    /// What happened and where, a sentence.
    pub message: String,
    /// What to do about it.
    pub hints: Vec<String>,
}

impl Failure {
    /// It could not be done.
    #[must_use]
    pub fn could(message: impl Into<String>) -> Self {
        Self {
            kind: FailureKind::Could,
            message: message.into(),
            hints: Vec::new(),
        }
    }

    /// The words were not understood.
    #[must_use]
    pub fn usage(message: impl Into<String>) -> Self {
        Self {
            kind: FailureKind::Usage,
            message: message.into(),
            hints: Vec::new(),
        }
    }

    /// With a remedy.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        self.hints
            .iter()
            .try_for_each(|hint| write!(f, "\n  {hint}"))
    }
}

impl std::error::Error for Failure {}
