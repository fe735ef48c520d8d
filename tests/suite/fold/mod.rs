//! Entries to batches: who belongs to whom, lives, counts, intervals, places.

mod accounting;
mod any_life;
mod asking;
mod belonging;
mod folding;
mod gathering;
mod indexing;
mod ladder;
mod lengthening;
pub mod lives;
mod looks;
mod settling;
