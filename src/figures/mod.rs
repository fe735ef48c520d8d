//! Numbers only, pure: estimates, tests, resampling. It knows no plant.

pub mod bootstrap;
pub mod days;
pub mod npmle;
pub mod shares;
pub mod special;
