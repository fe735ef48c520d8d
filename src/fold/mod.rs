//! Entries to batches, pure: copies, amends, who belongs to whom, lives, intervals, the air of places.
//!
//! Lines arrive in a [`Ledger`]; [`Ledger::book`] puts them together: copies of one id (`copies`), amends and
//! withdraws (`settle`), which entry is whose (`assign`), the life of each batch (`life`), the whole ([`Book`]).

pub mod as_of;
pub mod assign;
pub mod batch;
pub mod climate;
pub mod copies;
pub mod family;
pub mod group;
pub mod interval_rows;
pub mod intervals;
pub mod known;
pub mod ledger;
pub mod life;
pub mod meant;
pub mod milestone;
pub mod places;
pub mod replicates;
pub mod settle;
pub mod spelling;
pub mod standing;
pub mod stay;
pub mod taxa;
pub mod whole;

pub use ledger::Ledger;
pub use whole::{Book, Nursery, Sums};
