//! The trade, pure: entries, names, the fold, batches, timelines. It knows no file, clock, JSON or screen.

pub mod arrival;
pub mod at;
pub mod batch;
pub mod composite;
pub mod entry;
pub mod fault;
mod fields;
pub mod filter;
pub mod id;
mod kinds;
pub mod listed;
pub mod taxon;
pub mod value;
