//! What is said where nothing fits what was asked for, the same on screens, on paper and by every command.

/// No batch at all.
pub const NO_BATCH: &str = "No batch fits that choice.";

/// Batches perhaps, but none with cuttings on the bench.
pub const NO_OPEN_BATCH: &str = "No open batch fits that choice.";
