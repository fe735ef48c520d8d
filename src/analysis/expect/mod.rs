//! What to expect of a batch: the share of its cuttings that will root, the days by which they do, and what becomes of
//! them after that. One model, learnt from the journal as of a day; due, forecast, plan and targets all ask it. It words
//! nothing and asks no clock.
//!
//! [`Model::learn`] estimates days to root (`days`), losses (`losses`), callus (`callus`), shares (`shares`) and the steps
//! beyond rooting (`growth`), pooled over taxon × wood stage, taxon, genus and all (`groups`). [`Model::forecast`] weighs
//! one batch's own evidence (`evidence`) with what all other batches say of it; [`Model::ladder`] tells of a batch stuck
//! anew.

mod batch;
mod days;
mod evidence;
mod expected;
pub mod failing;
mod groups;
mod growth;
pub mod ladder;
mod learn;
mod losses;
mod milestones;
pub mod model;
mod multiple;
mod observed;
mod outlook;
pub mod practice;
mod ready;
mod shares;

pub use expected::{
    BesideUsual, ExpectedDay, ExpectedDays, ExpectedShare, NotComparable, UsualStanding,
    beside_usual,
};
pub use milestones::MilestoneTimes;
pub use model::{DayForecast, DaySpan, Forecast, Kin, Model};
