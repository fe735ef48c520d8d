//! Laws of the fold, on random entries: the same lines give the same book however they come, cuttings are conserved.

use crate::support::entries::entries;
use proptest::prelude::*;
use struck::fold::batch::Batch;
use struck::fold::{Book, Ledger};
use struck::model::entry::{Entry, Kind, Stick};
use struck::model::fault::{Arrival, Lines};
use struck::model::fault::{Crc, Origin};
use struck::model::id::Id;

/// Files that hold the entries' fields in words, line after line.
struct Files(Vec<Vec<Entry>>);

impl Lines for Files {
    fn raw(&self, origin: Origin) -> Option<Vec<u8>> {
        let line = origin.line as usize - 1;
        let entry = self.0.get(origin.file as usize)?.get(line)?;
        Some(format!("{:?}", entry.to_fields()).into_bytes())
    }

    fn named(&self, _: &Id) -> Option<Origin> {
        None
    }
}

impl Files {
    fn arrivals(&self) -> Vec<Arrival> {
        let lines = |(file, entries): (usize, &Vec<Entry>)| {
            let each = entries.iter().enumerate();
            each.map(move |(line, entry)| Arrival {
                origin: Origin {
                    file: file as u32,
                    line: line as u32 + 1,
                },
                crc: Crc::Right,
                entry: Ok(entry.clone().into()),
                unknown_words: Vec::new(),
            })
            .collect::<Vec<_>>()
        };
        self.0.iter().enumerate().flat_map(lines).collect()
    }

    fn book(&self, mut arrivals: Vec<Arrival>) -> Book {
        let mut ledger = Ledger::new();
        arrivals.drain(..).for_each(|a| ledger.add(a));
        ledger.book(self)
    }
}

/// All that a book says but where lines stand and how many they are.
pub fn said(book: &Book) -> Vec<String> {
    let mut out = Vec::new();
    for batch in book.batches() {
        let mut batch = Batch::clone(batch);
        for event in &mut batch.events {
            event.origin = Origin { file: 0, line: 0 };
        }
        out.push(format!("{batch:?}"));
    }
    for standing in book.entries() {
        out.push(format!("{:?} {}", standing.entry, standing.amended));
    }
    let each = book.faults().iter();
    let mut faults: Vec<String> = each
        .map(|f| format!("{:?} {:?} {:?}", f.id, f.batch, f.wrong))
        .collect();
    faults.sort();
    out.extend(faults);
    for place in book.places().all() {
        out.push(format!("{place:?}"));
        for reading in book.readings(&place.name) {
            out.push(format!("{reading:?}"));
        }
    }
    out.push(format!("{:?} {:?}", book.taxa().all(), book.nursery()));
    let sums = book.sums();
    out.push(format!(
        "{} {} {}",
        sums.entries, sums.settled, sums.withdrawn
    ));
    out
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn files_order_and_copies_do_not_matter(
        entries in entries(60),
        parts in prop::collection::vec((0..3_usize, any::<bool>(), any::<u32>()), 60),
    ) {
        let one = Files(vec![entries.clone()]);
        let whole = one.book(one.arrivals());
        let mut files = Files(vec![Vec::new(), Vec::new(), Vec::new()]);
        for (entry, (file, twice, _)) in entries.iter().zip(&parts) {
            files.0[*file].push(entry.clone());
            if *twice {
                files.0[(*file + 1) % 3].push(entry.clone());
            }
        }
        let mut arrivals = files.arrivals();
        prop_assert_eq!(said(&files.book(arrivals.clone())), said(&whole));
        arrivals.sort_by_key(|a| parts[(a.origin.line as usize * 7 + a.origin.file as usize) % parts.len()].2);
        prop_assert_eq!(said(&files.book(arrivals)), said(&whole));
    }

    #[test]
    fn entry_by_entry_equals_all_at_once(entries in entries(50)) {
        let files = Files(vec![entries]);
        let mut ledger = Ledger::new();
        let mut books = vec![ledger.book(&files)];
        for arrival in files.arrivals() {
            ledger.add(arrival);
            books.push(ledger.book(&files));
        }
        let whole = files.book(files.arrivals());
        prop_assert_eq!(said(books.last().unwrap()), said(&whole));
        // An earlier book is not disturbed by what came after.
        let half = books.len() / 2;
        let before = files.book(files.arrivals().into_iter().take(half).collect());
        prop_assert_eq!(said(&books[half]), said(&before));
    }

    #[test]
    fn cuttings_are_conserved(entries in entries(80)) {
        let files = Files(vec![entries]);
        let book = files.book(files.arrivals());
        for batch in book.batches() {
            let c = &batch.counts;
            let gone = c.lost.total() + c.given_up + c.potted + c.finished_on_bench;
            prop_assert_eq!(c.stuck, c.remain() + gone);
            prop_assert!(c.sold <= c.ready && c.ready_from_bench <= c.ready);
            prop_assert!(c.ready - c.ready_from_bench + c.lost_in_pots <= c.potted + c.ready);
            if batch.parent.is_none() {
                let mut parts = 0;
                let mut family = vec![batch.key.clone()];
                while let Some(key) = family.pop() {
                    for part in book.batches().iter().filter(|part| part.parent.as_ref() == Some(&key)) {
                        parts += part.counts.stuck;
                        family.push(part.key.clone());
                    }
                }
                let stick: Stick = batch.events[0].entry.get().unwrap();
                prop_assert_eq!(stick.stuck, c.stuck + parts);
            }
        }
    }

    #[test]
    fn tallies_never_pass_what_was_there(entries in entries(80)) {
        let files = Files(vec![entries]);
        for batch in files.book(files.arrivals()).batches() {
            for inspection in &batch.inspections {
                let Some(tally) = inspection.tally else { continue };
                prop_assert!(tally.seen > 0 && tally.seen <= inspection.remain_at_tally);
                let (callus, root) = (tally.callus.unwrap_or(tally.seen), tally.root.unwrap_or(0));
                prop_assert!(callus <= tally.seen && root <= callus);
                prop_assert!(tally.bottom.unwrap_or(0) <= tally.root.unwrap_or(tally.seen));
            }
            let days: Vec<_> = batch.inspections.iter().map(|i| i.day).collect();
            prop_assert!(days.windows(2).all(|w| w[0] < w[1]), "one inspection a day");
        }
    }

    #[test]
    fn removals_of_inspections_add_up(entries in entries(80)) {
        let files = Files(vec![entries]);
        for batch in files.book(files.arrivals()).batches() {
            let c = &batch.counts;
            let potted: u32 = batch.inspections.iter().map(|i| i.potted).sum();
            prop_assert_eq!(potted, c.potted + c.finished_on_bench);
            let each = batch.inspections.iter();
            let gone: u32 = each.map(|i| i.lost.total() + i.discarded.iter().map(|(_, n)| n).sum::<u32>()).sum();
            prop_assert_eq!(gone, c.lost.total() + c.given_up);
        }
    }
}

#[test]
fn a_field_has_one_type_in_every_kind() {
    use std::collections::HashMap;
    let mut wanted: HashMap<&str, (String, &str)> = HashMap::new();
    for kind in Kind::WORDS {
        for field in Kind::fields_of(kind).unwrap() {
            let here = ((field.wanted)(), *kind);
            let first = wanted.entry(field.name).or_insert_with(|| here.clone());
            // Why an entry is withdrawn is anyone's words; why plants are discarded is one of a list.
            if field.name != "why" {
                assert_eq!(first.0, here.0, "{} of {} and {kind}", field.name, first.1);
            }
        }
    }
    assert!(wanted.len() > 60);
}

#[test]
fn bare_dates_of_one_day_fold_in_the_order_of_the_work() {
    use crate::fold::lives::{book_of, entry};
    // Whatever ids lines by hand take from their hashes: stuck, looked at, potted, cleared.
    let texts = [
        "stick batch=A taxon=Weigela stuck=24",
        "look batch=A rooted=12",
        "treat batch=A what=water",
        "move batch=A place=frame",
        "pot batch=A count=12",
        "ready batch=A count=6",
        "sold batch=A count=4",
        "discard batch=A count=12 why=given-up",
    ];
    let mut ids: Vec<String> = (0..texts.len()).map(|at| format!("{at}")).collect();
    for _ in 0..texts.len() {
        ids.rotate_left(1);
        for reversed in [false, true] {
            let order = |at: usize| if reversed { texts.len() - 1 - at } else { at };
            let entries: Vec<_> = texts
                .iter()
                .enumerate()
                .map(|(at, text)| entry(&ids[order(at)], 0, text))
                .collect();
            let book = book_of(&entries);
            assert_eq!(book.faults(), []);
            let words: Vec<&str> = book.batches()[0]
                .events
                .iter()
                .map(|event| event.entry.name().word())
                .collect();
            assert_eq!(
                words,
                [
                    "stick", "look", "treat", "move", "pot", "ready", "sold", "discard"
                ]
            );
        }
    }
}
