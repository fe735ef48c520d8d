//! Short spellings of entries for the tests of batches: `look rooted=4 lost.mould=2`. No test itself.

use chrono::{Days, NaiveDate};
use struck::fold::Book;
use struck::fold::batch::Batch;
use struck::fold::intervals::{Account, accounts};
use struck::model::entry::Entry;

/// The first day of the tests' season: day 0 of a batch unless it says otherwise.
pub fn start() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 6, 1).unwrap()
}

/// The date so many days after the start.
pub fn date(day: u64) -> NaiveDate {
    start() + Days::new(day)
}

/// An entry of a day counted from the start: its kind, then `field=value`, `field.part=value`; `_` in a value is a space.
pub fn entry(id: &str, day: u64, text: &str) -> Entry {
    crate::support::simulated::writing::entry(id, date(day), text)
}

/// The entries of batch `A`, stuck on day 0 with so many cuttings, then as told: day and text
/// without the batch. Entries of another batch name it: `look batch=P …`.
pub fn life(stuck: u32, told: &[(u64, &str)]) -> Vec<Entry> {
    let stick = format!("stick batch=A taxon=Weigela_florida stuck={stuck}");
    let mut out = vec![entry("A-000", 0, &stick)];
    for (at, (day, text)) in told.iter().enumerate() {
        let (kind, rest) = text.split_once(' ').unwrap_or((text, ""));
        let batch = if rest.contains("batch=") {
            ""
        } else {
            "batch=A"
        };
        let id = format!("A-{:03}", at + 1);
        out.push(entry(&id, *day, &format!("{kind} {batch} {rest}")));
    }
    out
}

/// The book of these entries.
pub fn book_of(entries: &[Entry]) -> Book {
    Book::from_entries(entries.iter().cloned())
}

/// The accounts of all batches with their codes, in the order of the book.
pub fn accounts_of(entries: &[Entry], as_of: Option<NaiveDate>) -> Vec<(String, Account)> {
    let book = book_of(entries);
    let batches: Vec<&Batch> = book.batches().iter().map(AsRef::as_ref).collect();
    let codes = batches.iter().map(|batch| batch.code.clone());
    codes.zip(accounts(&batches, as_of, 3)).collect()
}

/// The same, made from the batches in another order.
pub fn accounts_shuffled(entries: &[Entry], seed: u64) -> Vec<(String, Account)> {
    let book = book_of(entries);
    let mut order: Vec<usize> = (0..book.batches().len()).collect();
    order.sort_by_key(|at| (*at as u64 + 1).wrapping_mul(seed | 1).rotate_left(17));
    let batches: Vec<&Batch> = order
        .iter()
        .map(|at| book.batches()[*at].as_ref())
        .collect();
    let mut out: Vec<_> = order.iter().zip(accounts(&batches, None, 1)).collect();
    out.sort_by_key(|(at, _)| **at);
    out.into_iter()
        .map(|(at, account)| (book.batches()[*at].code.clone(), account))
        .collect()
}
