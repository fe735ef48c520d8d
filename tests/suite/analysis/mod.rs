//! The questions: timelines, trials, due, forecast, plan, review, the air.

mod airs;
mod assured;
mod bands;
mod calibration;
mod confounds;
mod coverage;
mod due;
mod ended;
mod expected;
mod forecasts;
mod laws;
mod layouts;
mod levels;
mod lived;
mod plans;
mod pooled;
mod replicates;
mod review;
mod timelines;
mod trials;
