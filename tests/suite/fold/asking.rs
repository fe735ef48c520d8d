//! Lives are folded when asked for, one family or all, on however many threads: no answer may hang on that.

use crate::fold::any_life::entries;
use crate::fold::lives::{book_of, entry};
use crate::support::lines::Pages;
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::sync::Arc;
use struck::fold::batch::Batch;
use struck::fold::{Book, Ledger};
use struck::model::entry::Entry;
use struck::model::fault::{Arrival, Crc, Origin};

proptest! {
    #[test]
    fn a_batch_asked_for_alone_is_as_among_all(entries in entries()) {
        let (alone, all) = (book_of(&entries), book_of(&entries));
        let batches = all.batches();
        prop_assert_eq!(alone.roster().len(), batches.len());
        for (row, batch) in alone.roster().iter().zip(batches) {
            prop_assert_eq!(alone.batch(&row.key), Some(batch));
            let of_row = (&row.key, row.code.as_str(), &row.parent, row.stuck_on);
            let of_batch = (&batch.key, batch.code.as_str(), &batch.parent, batch.stuck_on);
            prop_assert_eq!(of_row, of_batch);
            prop_assert_eq!(row.origin, batch.events[0].origin);
            for event in &batch.events {
                let sought = BTreeSet::from([&event.entry.id]);
                let found: Vec<&Arc<Batch>> = alone.batches_with(&sought).collect();
                let has = |it: &&Arc<Batch>| it.events.iter().any(|own| own.entry.id == event.entry.id);
                let having: Vec<&Arc<Batch>> = batches.iter().filter(has).collect();
                prop_assert_eq!(found, having);
            }
        }
        // Of lives that are kept and of lives folded for this alone.
        let unkept = book_of(&entries);
        prop_assert_eq!(all.faults(), unkept.faults());
    }
}

/// An id of sixteen bytes by its number.
fn ulid(number: usize) -> String {
    format!("0A{number:024}")
}

/// Some batches of six looks each, by day: every tenth loses a part, every fiftieth look counts too many. `names` says how a
/// look names its batch.
fn nursery(batches: usize, names: impl Fn(usize) -> String) -> Vec<Entry> {
    let (mut out, mut number) = (Vec::new(), 0);
    let mut add = |day: u64, text: &str| {
        out.push(entry(&ulid(number), day, text));
        number += 1;
    };
    for batch in 0..batches {
        let place = batch % 7;
        add(
            0,
            &format!(
                "stick batch=26-{batch:05} taxon=Weigela_florida stuck=40 place=bench-{place}"
            ),
        );
    }
    for look in 0..6 {
        for batch in 0..batches {
            let rooted = if (batch + look) % 50 == 7 {
                60
            } else {
                look * 5
            };
            let of = names(batch);
            add(
                7 + 7 * look as u64,
                &format!("look {of} rooted={rooted} lost.mould=1"),
            );
            if batch % 10 == 3 && look == 2 {
                add(
                    21,
                    &format!("move {of} count=4 into=26-p{batch:04} place=frame"),
                );
            }
        }
    }
    out
}

fn by_code(batch: usize) -> String {
    format!("batch=26-{batch:05}")
}

fn by_stick(batch: usize) -> String {
    format!("batch=26-{batch:05} stick={}", ulid(batch))
}

/// The book of entries that stand in two files in turn, so that those of the second come late.
fn on_threads(entries: &[Entry], threads: usize) -> Book {
    let mut ledger = Ledger::on_threads(threads);
    for file in 0..2 {
        for (at, entry) in entries.iter().enumerate().filter(|(at, _)| at % 2 == file) {
            ledger.add(Arrival {
                origin: Origin {
                    file: u32::try_from(file).unwrap(),
                    line: u32::try_from(at + 1).unwrap(),
                },
                crc: Crc::Absent,
                entry: Ok(entry.clone().into()),
                unknown_words: Vec::new(),
            });
        }
    }
    ledger.book(&Pages::of(&[]))
}

fn counted(book: &Book) -> Vec<(String, String)> {
    let told = |batch: &Arc<Batch>| (batch.code.clone(), format!("{:?}", batch.counts));
    book.batches().iter().map(told).collect()
}

#[test]
fn many_threads_make_the_book_of_one() {
    let entries = nursery(2_000, by_stick);
    let (one, many) = (on_threads(&entries, 1), on_threads(&entries, 3));
    assert!(!one.faults().is_empty());
    assert_eq!(one.faults(), many.faults());
    assert_eq!(one.batches(), many.batches());
    assert_eq!(one.entries(), many.entries());
    assert_eq!(one.places(), many.places());
    assert_eq!(one.sums(), many.sums());
}

#[test]
fn entries_find_their_batch_by_its_code_as_by_its_stick() {
    let (codes, sticks) = (nursery(300, by_code), nursery(300, by_stick));
    assert_eq!(counted(&book_of(&codes)), counted(&book_of(&sticks)));
}

#[test]
fn faults_beside_another_book_are_those_of_what_was_added() {
    let mut entries = nursery(300, by_stick);
    let before = book_of(&entries);
    let look = format!("look {} seen=99", by_stick(11));
    entries.push(entry(&ulid(90_000), 60, &look));
    let now = book_of(&entries);
    let new: Vec<_> = now
        .faults()
        .iter()
        .filter(|it| !before.faults().contains(it))
        .collect();
    assert!(!new.is_empty());
    let beside = now.faults_beside(&before);
    assert!(new.iter().all(|it| beside.contains(it)), "{beside:?}");
    assert!(
        beside
            .iter()
            .all(|it| it.batch.as_deref() == Some("26-00011")),
        "{beside:?}"
    );
    assert_eq!(before.faults_beside(&before), []);
}
