//! The use cases both faces share; the only reader of the clock and of entropy. It draws and prints nothing.

pub mod bench;
pub mod bulk;
pub mod clock;
pub mod codes;
pub mod due;
mod excess;
pub mod failure;
pub mod files;
pub mod known;
pub mod loggers;
pub mod memory;
pub mod mends;
pub mod own;
pub mod record;
pub mod sample;
pub mod settings;
pub mod sums;
