//! Whether a folder holds the journals of several nurseries: then their codes, and all that goes by them, mean nothing
//! together. It reads no file.

use super::book::Book;
use crate::model::fault::{BookFault, Fault, FaultKind};
use std::collections::{BTreeMap, BTreeSet};

/// A file of whose codes at least so many, and at least half, stand in other files as well is another nursery's than those:
/// in one journal no two writers are given one code, and copies of a file share their batches' ids as well.
const FEWEST: usize = 10;

/// The files of several nurseries in one folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SeveralNurseries {
    /// The files, by their numbers in the journal's list.
    pub files: BTreeSet<u32>,
    /// Codes that batches of two files or more bear.
    pub codes: usize,
}

impl SeveralNurseries {
    /// Whether a notice is of a code that two of these files have, and so follows from there being several.
    #[must_use]
    pub fn explains(&self, fault: &Fault) -> bool {
        matches!(fault.wrong, FaultKind::Book(BookFault::CodeTwice { .. }))
            && self.files.contains(&fault.origin.file)
    }
}

/// Whether the files of a journal are those of several nurseries.
#[must_use]
pub fn several_nurseries(book: &Book) -> Option<SeveralNurseries> {
    let whole = || book.roster().iter().filter(|it| it.parent.is_none());
    let mut files = whole().map(|it| it.origin.file);
    // As most often: nothing need be gathered of one file.
    let first = files.next()?;
    if files.all(|file| file == first) {
        return None;
    }
    let mut files_by_code: BTreeMap<&str, BTreeSet<u32>> = BTreeMap::new();
    let mut codes_of_file: BTreeMap<u32, usize> = BTreeMap::new();
    for batch in whole() {
        let files = files_by_code.entry(&batch.code).or_default();
        if files.insert(batch.origin.file) {
            *codes_of_file.entry(batch.origin.file).or_default() += 1;
        }
    }
    let shared = |with: &dyn Fn(&BTreeSet<u32>) -> bool| {
        let mut count: BTreeMap<u32, usize> = BTreeMap::new();
        let several = files_by_code.values().filter(|files| files.len() > 1);
        for file in several.filter(|files| with(files)).flatten() {
            *count.entry(*file).or_default() += 1;
        }
        count.retain(|_, count| *count >= FEWEST);
        count
    };
    let most = |(file, count): &(u32, usize)| {
        let own = codes_of_file.get(file).copied().unwrap_or_default();
        2 * count >= own
    };
    let another: BTreeSet<u32> = shared(&|_| true)
        .into_iter()
        .filter(most)
        .map(|(file, _)| file)
        .collect();
    let with_another = shared(&|files| !files.is_disjoint(&another));
    let files: BTreeSet<u32> = with_another.into_keys().collect();
    let twice = files_by_code
        .values()
        .filter(|own| own.intersection(&files).count() > 1);
    let codes = twice.count();
    (!files.is_empty()).then_some(SeveralNurseries { files, codes })
}
