//! Which batches count as one replicate.

use crate::fold::lives::{book_of, entry};
use struck::fold::selection::replicates;
use struck::model::entry::Entry;

/// The replicate of each batch by its code, as the code of the batch that stands for it.
fn told(entries: &[Entry]) -> Vec<(String, String)> {
    let book = book_of(entries);
    let batches: Vec<_> = book.batches().iter().map(AsRef::as_ref).collect();
    let stands = replicates(&book, &batches);
    let mut out: Vec<_> = batches
        .iter()
        .zip(stands)
        .map(|(batch, at)| (batch.code.clone(), batches[at].code.clone()))
        .collect();
    out.sort();
    out
}

fn pairs(expected: &[(&str, &str)]) -> Vec<(String, String)> {
    let own = |(a, b): &(&str, &str)| ((*a).to_owned(), (*b).to_owned());
    expected.iter().map(own).collect()
}

#[test]
fn trays_from_one_bucket_are_one_replicate() {
    let entries = [
        entry(
            "1",
            0,
            "stick batch=A taxon=Weigela_florida stuck=24 source=row_3 place=bench_A/1",
        ),
        entry(
            "2",
            0,
            "stick batch=B taxon=weigela__Florida stuck=24 source=Row_3 place=Bench_A/2",
        ),
        // Another place, another source, another day, another taxon.
        entry(
            "3",
            0,
            "stick batch=C taxon=Weigela_florida stuck=24 source=row_3 place=frame",
        ),
        entry(
            "4",
            0,
            "stick batch=D taxon=Weigela_florida stuck=24 source=row_4 place=bench_A",
        ),
        entry(
            "5",
            1,
            "stick batch=E taxon=Weigela_florida stuck=24 source=row_3 place=bench_A",
        ),
        entry(
            "6",
            0,
            "stick batch=F taxon=Weigela_rosea stuck=24 source=row_3 place=bench_A",
        ),
    ];
    let expected = [
        ("A", "A"),
        ("B", "A"),
        ("C", "C"),
        ("D", "D"),
        ("E", "E"),
        ("F", "F"),
    ];
    assert_eq!(told(&entries), pairs(&expected));
}

#[test]
fn what_is_not_recorded_claims_no_replicate() {
    let entries = [
        entry("1", 0, "stick batch=A taxon=Weigela_florida stuck=24"),
        entry("2", 0, "stick batch=B taxon=Weigela_florida stuck=24"),
        entry(
            "3",
            0,
            "stick batch=C taxon=Weigela_florida stuck=24 source=row_3",
        ),
    ];
    assert_eq!(told(&entries), pairs(&[("A", "A"), ("B", "A"), ("C", "C")]));
}

#[test]
fn batches_of_a_trial_are_replicates_of_their_own() {
    let stick = "taxon=Weigela_florida stuck=24 trial=mist arm=mist";
    let entries = [
        entry("1", 0, &format!("stick batch=A {stick}")),
        entry("2", 0, &format!("stick batch=B {stick}")),
    ];
    assert_eq!(told(&entries), pairs(&[("A", "A"), ("B", "B")]));
}

#[test]
fn parts_go_with_what_they_were_split_from() {
    let stick = "taxon=Weigela_florida stuck=40 trial=mist arm=mist";
    let entries = [
        entry("1", 0, &format!("stick batch=A {stick}")),
        entry("2", 0, &format!("stick batch=B {stick}")),
        entry("3", 10, "move batch=B count=20 into=P place=frame"),
        entry("4", 12, "move batch=P count=10 into=Q place=frame"),
    ];
    assert_eq!(
        told(&entries),
        pairs(&[("A", "A"), ("B", "B"), ("P", "B"), ("Q", "B")])
    );
}
