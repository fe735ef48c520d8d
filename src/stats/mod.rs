//! Numbers only, pure: estimates, tests, resampling. It knows no plant.

pub mod air;
pub mod arrange;
pub mod association;
pub mod bootstrap;
pub mod clusters;
pub mod correlation;
pub mod counts;
pub mod crossed;
pub mod days;
pub mod dice;
pub mod limits;
pub mod logrank;
pub mod mixing;
pub mod moderated;
pub mod npmle;
pub mod parametric;
pub mod permute;
pub mod plan;
pub mod pooled;
pub mod pooling;
pub mod power;
pub mod shares;
pub mod spans;
pub mod special;
pub mod tables;
pub mod units;
