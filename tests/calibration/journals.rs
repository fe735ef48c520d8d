//! The sample nursery of any seed, whose end is known. It judges nothing.

use super::sample_maker::{Page, draw};
use struck::fold::Book;

/// The sample nursery drawn with a seed.
pub fn nursery(seed: u64) -> Book {
    let pages = draw(seed).into_iter().filter_map(|(_, page)| match page {
        Page::Entries(entries) => Some(entries),
        Page::Text(_) => None,
    });
    Book::from_entries(pages.flatten())
}
