//! The one test binary: lists the files, holds no test itself.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod analysis;
mod commands;
mod fold;
mod input;
mod journal;
mod model;
mod samples;
mod stats;
mod support;
mod terminal;
mod text;
mod tidy;
mod tui;
