//! A book made longer by what came since is the book of all of it: entry by entry over seasons of an invented nursery.

use super::folding::said;
use crate::support::lines::{Pages, book as book_of_lines, hash_name};
use std::sync::Arc;
use struck::fold::{Book, Ledger};
use struck::model::fault::{Arrival, Crc};

/// The lines of a nursery's files, in the order in which their entries fold.
fn nursery() -> (Pages, Vec<Arrival>) {
    let mut pages = Pages::default();
    let files = ["potting-shed-grower-4t7m", "tunnel-helper-k2fd"];
    for (number, name) in (0..).zip(files) {
        let path = format!("sample-journals/nursery/{name}.jsonl");
        let text = std::fs::read_to_string(path).unwrap();
        for line in text.lines() {
            pages.push(number, Crc::Absent, line);
        }
    }
    let mut arrivals = pages.arrivals();
    arrivals.retain(|arrival| arrival.entry.is_ok());
    arrivals.sort_by(|a, b| {
        let [a, b] = [a, b].map(|it| it.entry.as_ref().unwrap());
        a.fold_order(b)
    });
    (pages, arrivals)
}

fn assert_same(longer: &Book, whole: &Book) {
    assert_eq!(said(longer), said(whole));
    assert_eq!(longer.faults(), whole.faults());
    assert_eq!(longer.sums(), whole.sums());
    assert_eq!(longer.entries(), whole.entries());
    assert_eq!(longer.speakers(), whole.speakers());
    assert_eq!(longer.spelling(), whole.spelling());
    for standing in whole.entries() {
        assert_eq!(longer.entry(&standing.entry.id), Some(standing));
    }
    for batch in whole.batches() {
        let [one, two] = [longer, whole].map(|book| book.by_code(&batch.code).collect::<Vec<_>>());
        assert_eq!(one, two);
    }
}

#[test]
fn a_longer_book_is_the_book_of_all_lines() {
    let (pages, arrivals) = nursery();
    for (begin, step, folds_ahead) in [(1200, 1, true), (1500, 3, false)] {
        let mut ledger = Ledger::new();
        let (first, later) = arrivals.split_at(begin);
        first.iter().for_each(|it| ledger.add(it.clone()));
        let mut book = ledger.book(&pages);
        let mut lengthened = 0;
        let steps = later.chunks(step);
        for (at, some) in steps.enumerate() {
            some.iter().for_each(|it| ledger.add(it.clone()));
            if folds_ahead {
                book.fold_lives();
                // What was looked up is shared with the longer book.
                let _ = book.entry(&book.entries()[0].entry.id);
            }
            let longer = ledger.longer_book(&book);
            let is_longer = longer.is_some();
            lengthened += usize::from(is_longer);
            book = longer.unwrap_or_else(|| ledger.book(&pages));
            if is_longer && at % 40 == 0 {
                let mut whole = Ledger::new();
                let known = &arrivals[..begin + at * step + some.len()];
                known.iter().for_each(|it| whole.add(it.clone()));
                assert_same(&book, &whole.book(&pages));
            }
        }
        let all = later.len().div_ceil(step);
        println!("{lengthened} of {all}");
        assert!(lengthened * 2 > all, "{lengthened} of {all}");
    }
}

#[test]
fn a_longer_book_shares_the_batches_that_nothing_touched() {
    let (pages, arrivals) = nursery();
    let mut ledger = Ledger::new();
    let (last, first) = arrivals.split_last().unwrap();
    first.iter().for_each(|it| ledger.add(it.clone()));
    let before = ledger.book(&pages);
    before.fold_lives();
    ledger.add(last.clone());
    let after = ledger.longer_book(&before).unwrap();
    let pairs = before.batches().iter().zip(after.batches());
    let changed = pairs.filter(|(a, b)| !Arc::ptr_eq(a, b)).count();
    assert!(changed <= 1, "{changed} batches were made anew");
}

/// What a book cannot be made longer by: each changes more than the batch that it is about, or comes before its turn.
#[test]
fn what_may_change_more_has_the_book_made_anew() {
    const STICK: &str = r#"{"id":"01K000000000000000000000S1","at":"2026-06-01","kind":"stick","batch":"26-001","taxon":"Weigela florida","stuck":20}"#;
    const LOOK: &str = r#"{"id":"01K000000000000000000000T1","at":"2026-06-10","kind":"look","batch":"26-001","stick":"01K000000000000000000000S1","rooted":2}"#;
    for (next, lengthens) in [
        (LOOK.replace("T1", "T2").replace("06-10", "06-12"), true),
        // Before its turn; under an id that came before; by its code alone.
        (LOOK.replace("T1", "T2").replace("06-10", "06-08"), false),
        (LOOK.replace("\"rooted\":2", "\"rooted\":3"), false),
        (LOOK.replace("T1", "T2").replace(r#","stick":"01K000000000000000000000S1""#, ""), false),
        // A name that was not there; a batch that was not.
        (LOOK.replace("T1", "T2").replace("\"rooted\"", "\"by\":\"Ben\",\"rooted\""), false),
        (STICK.replace("S1", "T2").replace("26-001", "26-002").replace("06-01", "06-11"), false),
        (LOOK.replace("T1", "T2").replace("S1", "S2"), false),
        // What corrects; what is no entry; words that are not known.
        (r#"{"id":"01K000000000000000000000T2","at":"2026-06-11","kind":"withdraw","of":"01K000000000000000000000T1"}"#.to_owned(), false),
        ("nothing".to_owned(), false),
        (LOOK.replace("T1", "T2").replace("\"rooted\"", "\"how\":\"sniff\",\"rooted\""), false),
    ] {
        let (before, all) = (Pages::of(&[STICK, LOOK]), Pages::of(&[STICK, LOOK, &next]));
        let mut ledger = Ledger::new();
        before.arrivals().into_iter().for_each(|it| ledger.add(it));
        let book = ledger.book(&before);
        ledger.add(all.arrivals().pop().unwrap());
        let longer = ledger.longer_book(&book);
        assert_eq!(longer.is_some(), lengthens, "{next}");
        let made = longer.unwrap_or_else(|| ledger.book(&all));
        assert_same(&made, &book_of_lines(&[STICK, LOOK, &next]));
    }
}

#[test]
fn a_line_withdrawn_before_it_came_stays_withdrawn() {
    let look = |last: &str, day: &str| {
        format!(
            r#"{{"id":"01K00000000000000000000{last}","at":"2026-{day}","kind":"look","batch":"26-001","stick":"01K000000000000000000000S1","rooted":2}}"#
        )
    };
    let stick = r#"{"id":"01K000000000000000000000S1","at":"2026-06-01","kind":"stick","batch":"26-001","taxon":"Weigela florida","stuck":20}"#;
    let late = look("0T2", "06-20");
    for name in [
        "01K000000000000000000000T2".to_owned(),
        hash_name(&late, 1).to_string(),
    ] {
        let withdraw = format!(
            r#"{{"id":"01K000000000000000000000T1","at":"2026-06-10","kind":"withdraw","of":"{name}"}}"#
        );
        let (before, all) = ([stick, &withdraw], [stick, &withdraw, &late]);
        let (before, all) = (Pages::of(&before), Pages::of(&all));
        let mut ledger = Ledger::new();
        before.arrivals().into_iter().for_each(|it| ledger.add(it));
        let book = ledger.book(&before);
        ledger.add(all.arrivals().pop().unwrap());
        assert!(ledger.longer_book(&book).is_none(), "{name}");
        assert_same(&ledger.book(&all), &all.book());
        assert_eq!(ledger.book(&all).entries().len(), 1, "{name}");
    }
}
