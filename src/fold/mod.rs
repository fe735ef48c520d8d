//! Entries to batches, pure: copies, amends, who belongs to whom, lives, intervals, the air of places.
//!
//! Lines arrive in a [`Ledger`]; [`Ledger::book`] puts them together: copies of one id (`copies`), amends and
//! withdraws (`settle`), what each entry means at a glance (`outline`), which entry is whose (`assign`), the batches by how
//! they began (`roster`), the life of each when it is asked for (`lives`, `life`), the whole ([`Book`]).

pub mod assign;
pub mod batch;
pub mod book;
pub mod climate;
pub mod copies;
pub mod id_index;
pub mod interval_rows;
pub mod intervals;
pub mod ledger;
pub mod life;
pub mod lives;
pub mod names;
pub mod outline;
pub mod parts;
pub mod past;
pub mod roster;
pub mod selection;
pub mod settle;
pub mod several;

pub use book::{Book, ReadTotals};
pub use ledger::Ledger;
