//! The journals of an invented nursery, to learn on. They are stored with the project and embedded in the program.

use super::failure::Failure;
use super::files;
use std::path::{Path, PathBuf};

/// Each file of the sample, by name.
const FILES: [(&str, &str); 5] = [
    (
        "potting-shed-grower-4t7m.jsonl",
        include_str!("../../sample-journals/nursery/potting-shed-grower-4t7m.jsonl"),
    ),
    (
        "tunnel-helper-k2fd.jsonl",
        include_str!("../../sample-journals/nursery/tunnel-helper-k2fd.jsonl"),
    ),
    (
        "by-hand.jsonl",
        include_str!("../../sample-journals/nursery/by-hand.jsonl"),
    ),
    (
        "truth.csv",
        include_str!("../../sample-journals/nursery/truth.csv"),
    ),
    (
        "truth-air.csv",
        include_str!("../../sample-journals/nursery/truth-air.csv"),
    ),
];

/// Writes the sample into a new folder and gives the paths written.
///
/// # Errors
/// If the folder is there already, or the system will not write.
pub fn write(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let failed = |error: std::io::Error| {
        Failure::could(format!(
            "The sample could not be written to {}: {error}.",
            folder.display()
        ))
        .hint("Name a folder that is not there yet, in one that you may write in.")
    };
    files::new_folder(folder).map_err(failed)?;
    let mut written = Vec::new();
    for (name, text) in FILES {
        let path = folder.join(name);
        files::put_new(&path, text).map_err(failed)?;
        written.push(path);
    }
    Ok(written)
}
