//! Exit codes, one table. Scripts rely on them.

use crate::app::failure::FailureKind;
use std::process::ExitCode;

/// How the program ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Done as asked.
    Done,
    /// It could not be done.
    Could,
    /// The command was not understood.
    Usage,
    /// `check` found faults.
    Faults,
    /// Ended by this signal.
    Signal(u8),
}

impl Exit {
    /// The number that the shell sees.
    #[must_use]
    pub fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Could => 1,
            Self::Usage => 2,
            Self::Faults => 3,
            Self::Signal(number) => 128_u8.saturating_add(number),
        }
    }
}

impl From<FailureKind> for Exit {
    fn from(kind: FailureKind) -> Self {
        match kind {
            FailureKind::Usage => Self::Usage,
            FailureKind::Could => Self::Could,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_as_documented() {
        let codes = [
            Exit::Done,
            Exit::Could,
            Exit::Usage,
            Exit::Faults,
            Exit::Signal(15),
        ];
        assert_eq!(codes.map(Exit::code), [0, 1, 2, 3, 143]);
    }
}
