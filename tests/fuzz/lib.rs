//! What the fuzz targets hold true, shared with the test suite, and the disk in memory that they read from.
#![allow(dead_code, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

/// Millions of inputs follow one another: each tries one of a law's repetitions.
const IN_TURN: bool = true;

mod harm;
pub mod laws;
#[path = "../suite/journal/twin.rs"]
mod twin;
