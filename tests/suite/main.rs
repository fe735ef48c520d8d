//! The one test binary: lists the files, holds no test itself.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod book;
mod commands;
mod figures;
mod journal;
mod samples;
mod screens;
mod support;
mod terminal;
mod tidy;
mod words;
