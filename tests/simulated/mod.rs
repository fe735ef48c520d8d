//! Simulated journals of which everything is known, for the suite and the calibration alike: one home for how a batch lives.
//! Pure and seeded; nothing here says what is enough.

pub mod kinds;
pub mod plants;
pub mod ranges;
pub mod ways;
pub mod writing;
