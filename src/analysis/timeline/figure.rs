//! A figure, or the reason why there is none. It computes nothing.

use crate::fold::batch::Milestone;
use serde::{Serialize, Serializer};

/// A figure that is never zero for want of data: its value, or why it has none. In JSON a missing one is an object
/// whose `value` is null and whose `missing` names the reason.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Figure<T> {
    /// The figure is known.
    Value(T),
    /// The figure is not known, for this reason.
    Missing(Missing),
}

impl<T> Figure<T> {
    /// The value, if there is one.
    #[must_use]
    pub fn value(&self) -> Option<&T> {
        match self {
            Self::Value(value) => Some(value),
            Self::Missing(_) => None,
        }
    }

    /// Why there is none, if so.
    #[must_use]
    pub fn missing(&self) -> Option<Missing> {
        match self {
            Self::Value(_) => None,
            Self::Missing(why) => Some(*why),
        }
    }
}

impl<T: Serialize> Serialize for Figure<T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Nothing {
            value: (),
            #[serde(flatten)]
            missing: Missing,
        }
        match self {
            Self::Value(value) => value.serialize(to),
            Self::Missing(missing) => Nothing {
                value: (),
                missing: *missing,
            }
            .serialize(to),
        }
    }
}

/// Why a figure is missing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "missing", rename_all = "kebab-case")]
pub enum Missing {
    /// The milestone was never examined.
    NotExamined,
    /// Nothing was reached yet, and no batch is closed.
    TooSoon,
    /// No batch is closed.
    NoneClosed,
    /// Nothing was reached, so there are no days.
    NoneReached,
    /// So large a share was not reached.
    ShareNotReached {
        /// The share that was, 0 to 1.
        reached: f64,
        /// The day by which it was, in days since sticking.
        by_day: u32,
    },
    /// The looks are too far apart to tell the day: it is known by when, and no nearer.
    TooWide,
    /// Too few replicates to resample.
    FewReplicates {
        /// How many there are.
        have: usize,
        /// How many are needed.
        need: usize,
    },
    /// Too few nurseries to resample.
    FewNurseries {
        /// How many there are.
        have: usize,
        /// How many are needed.
        need: usize,
    },
    /// Resampling was left out.
    NotResampled,
    /// The end lies beyond the last day that anything is known of.
    Beyond {
        /// The day, counted from sticking.
        day: u32,
    },
    /// It would come before what it follows, or after what follows it: too few were examined for both.
    OutOfOrder {
        /// The milestone that it was held against.
        beside: Milestone,
    },
}
