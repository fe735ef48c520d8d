//! The trade: names, entries, batches, intervals, timelines.

mod accounting;
mod any_life;
mod folding;
mod lives;
mod replicates;
mod settling;
mod taxon;
mod timelines;
