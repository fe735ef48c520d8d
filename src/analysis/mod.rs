//! The questions a grower asks of the journal, each answered by a plain value: timelines, trials, the air, what is
//! due, forecasts, plans, the season's review. Pure: it reads the folded batches and words nothing.

pub mod air;
pub mod batches;
pub mod due;
pub mod expect;
pub mod forecast;
pub mod plan;
pub mod pool;
pub mod review;
pub mod timeline;
pub mod trials;
