//! Numbers only, pure: estimates, tests, resampling. It knows no plant.
