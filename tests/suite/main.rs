//! The one test binary: lists the files, holds no test itself.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod analysis;
mod commands;
#[path = "../sample_maker/files.rs"]
mod files;
mod fold;
mod input;
mod journal;
mod model;
#[path = "../pool/maker.rs"]
mod pool_maker;
#[path = "../pool/truth.rs"]
mod pool_truth;
#[path = "../sample_maker/mod.rs"]
mod sample_maker;
mod samples;
mod stats;
mod support;
mod terminal;
mod text;
mod tidy;
mod tui;
