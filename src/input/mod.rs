//! The reading of what people and devices wrote: the bench line, the look pad's signs, days, loggers' tables.
//! It touches no file and no clock: *now* is an argument.

pub mod bench_line;
pub mod encoding;
pub mod fuzzy;
pub mod logger;
pub mod look_pad;
pub mod pad_tail;
pub mod pooled;
pub mod records;
pub mod when;
