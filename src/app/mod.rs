//! The use cases both faces share; the only reader of the clock and of entropy. It draws and prints nothing.

pub mod clock;
pub mod desk;
pub mod exports;
pub mod failure;
pub mod files;
pub mod loggers;
pub mod memory;
pub mod mends;
pub mod old_records;
pub mod pooling;
pub mod prepared;
pub mod record;
pub mod sums;
pub mod vocabulary;
pub mod whole_looks;
pub mod writer;
