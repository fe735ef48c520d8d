//! What several tests need: lines put together by hand, random entries, what no output may hold.

pub mod entries;
#[path = "../../fuzz/harm.rs"]
pub mod harm;
pub mod lines;
