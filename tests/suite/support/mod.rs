//! What several tests need: lines put together by hand, random entries.

pub mod entries;
pub mod lines;
