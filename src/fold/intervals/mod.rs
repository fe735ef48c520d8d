//! From looks to intervals: each batch's cuttings as weighted intervals for each milestone. It
//! estimates nothing.
//!
//! A day t is the interval (t − 1, t]. What was seen on the day of sticking is put in (0, 1].
//! The weights of a batch sum to its cuttings; those of a batch and the parts split from it to
//! what was stuck.

mod account;
mod ledger;
mod level;
mod running;
mod steps;

pub use account::{Account, IntervalStatus, MilestoneAccount, WeightedInterval};
pub use running::{accounts, kin_places, of_accounts};
