//! Numbers only, pure: estimates, tests, resampling. It knows no plant.

pub mod npmle;
