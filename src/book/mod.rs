//! The trade, pure: entries, names, the fold, batches, timelines. It knows no file, clock, JSON or screen.
//!
//! Lines arrive in a [`Ledger`]; [`Ledger::book`] puts them together: copies of one id (`copies`), amends and
//! withdraws (`settle`), which entry is whose (`assign`), the life of each batch (`life`), the whole (`Book`).

pub mod air;
pub mod arrival;
mod as_of;
mod assign;
pub mod at;
pub mod batch;
pub mod climate;
pub mod composite;
mod copies;
pub mod due;
pub mod entry;
mod family;
pub mod fault;
mod fields;
pub mod filter;
pub mod forecast;
pub mod group;
pub mod id;
pub mod interval_rows;
pub mod intervals;
mod kinds;
pub mod known;
mod ledger;
pub mod life;
pub mod listed;
pub mod meant;
pub mod milestone;
pub mod places;
pub mod plan;
pub mod replicates;
pub mod review;
mod settle;
mod spelling;
pub mod standing;
pub mod stay;
pub mod taxa;
pub mod taxon;
pub mod text;
pub mod timeline;
pub mod trials;
pub mod value;
mod whole;

pub use ledger::Ledger;
pub use whole::{Book, Nursery, Sums};
