//! Numbers only, pure: estimates, tests, resampling. It knows no plant.

pub mod air;
pub mod arrange;
pub mod betabin;
pub mod betafit;
pub mod bootstrap;
pub mod crps;
pub mod days;
pub mod dice;
pub mod discrete;
pub mod fisher;
pub mod icc;
pub mod invert;
pub mod limits;
pub mod logrank;
pub mod mist;
pub mod mixing;
pub mod npmle;
pub mod parametric;
pub mod permute;
pub mod plan;
pub mod shares;
pub mod spans;
pub mod special;
pub mod units;
pub mod warmth;
