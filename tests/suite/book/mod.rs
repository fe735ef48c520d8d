//! The trade: names, entries, batches, intervals, timelines.

mod accounting;
mod airs;
mod any_life;
mod assured;
mod bands;
mod belonging;
mod confounds;
mod due;
mod folding;
mod forecasts;
mod gathering;
mod ladder;
mod layouts;
mod lived;
mod lives;
mod looks;
mod plans;
mod replicates;
mod review;
mod settling;
mod taxon;
mod timelines;
mod trials;
