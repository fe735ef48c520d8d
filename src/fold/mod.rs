//! Entries to batches, pure: copies, amends, who belongs to whom, lives, intervals, the air of places.
//!
//! Lines arrive in a [`Ledger`]; [`Ledger::book`] puts them together: copies of one id (`copies`), amends and
//! withdraws (`settle`), which entry is whose (`assign`), the life of each batch (`life`), the whole ([`Book`]).

pub mod assign;
pub mod batch;
pub mod book;
pub mod climate;
pub mod copies;
pub mod family;
pub mod interval_rows;
pub mod intervals;
pub mod ledger;
pub mod life;
pub mod names;
pub mod past;
pub mod selection;
pub mod settle;
pub mod several;

pub use book::{Book, ReadTotals};
pub use ledger::Ledger;
