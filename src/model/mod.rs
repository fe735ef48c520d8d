//! The words of the trade as types: entries, kinds, fields, values, days, taxon names, faults. It knows no file,
//! clock, JSON or screen, and decides nothing about batches.

pub mod at;
pub mod composite;
pub mod entry;
pub mod fault;
pub mod filter;
pub mod id;
pub mod kinds;
pub mod listed;
pub mod packed;
pub mod packing;
pub mod takes;
pub mod taxon;
pub mod text;
pub mod value;
