//! Numbers only, pure: estimates, tests, resampling. It knows no plant.

pub mod air;
pub mod arrange;
pub mod association;
pub mod bootstrap;
pub mod clusters;
pub mod correlation;
pub mod counts;
pub mod crossed;
pub mod dice;
pub mod distributions;
pub mod limits;
pub mod logrank;
pub mod members;
pub mod mixing;
pub mod nested;
pub mod npmle;
pub mod permute;
pub mod pooled;
pub mod pooling;
pub mod power;
pub mod products;
pub mod sampled;
pub mod shares;
pub mod tables;
pub mod units;
pub mod workers;
