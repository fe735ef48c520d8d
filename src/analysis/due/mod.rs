//! What is due: which open batches want a look, potting or a decision on a day and in the days to come, and
//! why. Pure: the day is an argument, what to expect is learnt beforehand. It words nothing.
//!
//! A batch is listed once. `again_on` silences it until its day. Without an entry for 180 days
//! it is silent: counted, not listed; a day that was asked for counts like an entry of that day.

mod list;
mod looks;
mod reason;

pub use list::{DueAnswer, DueItem, DueList, SilentBatches, due, due_at_once, due_on};
pub use reason::{DueReason, FirstLookBasis, Urgency};
