//! What several tests need: lines put together by hand, random entries, what no output may hold.

#[path = "../../calibration/crps.rs"]
pub mod crps;
pub mod entries;
#[path = "../../fuzz/harm.rs"]
pub mod harm;
pub mod lines;
pub mod simulated;
pub mod simulated_trials;
