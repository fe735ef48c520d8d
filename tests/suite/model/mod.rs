//! The words of the trade as types: names of taxa, days and times.

mod at;
mod packed;
mod taxon;
