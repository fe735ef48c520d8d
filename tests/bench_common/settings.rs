//! The settings that benchmarks open journals with.

use std::path::{Path, PathBuf};
use struck::app::writer::Settings;

/// Of a journal, its state beside it in a scratch folder; all processors.
pub fn settings(journal: impl Into<PathBuf>, scratch: &Path) -> Settings {
    Settings {
        journal: journal.into(),
        named: true,
        state: scratch.join("state"),
        host: "bench".into(),
        user: "bench".into(),
        process: std::process::id(),
        threads: std::thread::available_parallelism().map_or(1, usize::from),
    }
}
