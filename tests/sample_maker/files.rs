//! The sample's files as they stand on disk.

use super::sample_maker::{Page, draw};
use struck::journal::codec::encode;

/// The seed of the journals that come with the project.
pub const SEED: u64 = 41;

/// The sample's files by name, each with its text.
pub fn files(seed: u64) -> Vec<(String, String)> {
    let text = |page| match page {
        Page::Text(text) => text,
        Page::Entries(entries) => {
            let line = |entry| String::from_utf8(encode(entry).unwrap()).unwrap() + "\n";
            entries.iter().map(line).collect()
        }
    };
    draw(seed)
        .into_iter()
        .map(|(name, page)| (name, text(page)))
        .collect()
}
