//! Amends and withdraws: what stands. Every rule is one of the journal's format, version 1.

use crate::support::lines::{Pages, book, hash_name};
use struck::model::fault::{BookFault, Crc, FaultKind};
use struck::model::id::Id;

const STICK: &str = r#"{"id":"s","at":"2026-06-01","kind":"stick","batch":"26-001","taxon":"Weigela florida","stuck":24}"#;

fn faults(book: &struck::fold::Book) -> Vec<BookFault> {
    let each = book.faults().iter();
    each.filter_map(|f| match &f.wrong {
        FaultKind::Book(fault) => Some(fault.clone()),
        _ => None,
    })
    .collect()
}

fn id(text: &str) -> Id {
    Id::parse_reference(text).unwrap()
}

#[test]
fn an_amend_sets_whole_new_values_and_null_removes() {
    let book = book(&[
        r#"{"id":"s","at":"2026-06-01","kind":"stick","batch":"26-001","taxon":"Weigela","stuck":24,"wood":"softwood","medium":"bark"}"#,
        r#"{"id":"a","at":"2026-06-02","kind":"amend","of":"s","set":{"stuck":26,"medium":null}}"#,
    ]);
    let batch = &book.batches()[0];
    assert_eq!(batch.counts.stuck, 26);
    assert_eq!(batch.stick.medium, None);
    assert!(batch.stick.wood.is_some());
    assert!(batch.events[0].amended);
    assert!(book.faults().is_empty());
}

#[test]
fn of_several_amends_the_last_in_fold_order_stands() {
    let later = r#"{"id":"a","at":"2026-06-03","kind":"amend","of":"s","set":{"stuck":26}}"#;
    let earlier = r#"{"id":"b","at":"2026-06-02","kind":"amend","of":"s","set":{"stuck":30}}"#;
    for lines in [[STICK, later, earlier], [earlier, later, STICK]] {
        assert_eq!(book(&lines).batches()[0].counts.stuck, 26);
    }
}

#[test]
fn amending_the_day_moves_the_clock() {
    let book = book(&[
        STICK,
        r#"{"id":"l","at":"2026-06-11","kind":"look","batch":"26-001","rooted":3}"#,
        r#"{"id":"a","at":"2026-06-12","kind":"amend","of":"s","set":{"at":"2026-05-30"}}"#,
    ]);
    assert_eq!(book.batches()[0].inspections[0].age, 12);
}

#[test]
fn an_amend_may_be_amended_and_withdrawn() {
    let amend = r#"{"id":"a","at":"2026-06-02","kind":"amend","of":"s","set":{"stuck":26}}"#;
    let of_amend =
        r#"{"id":"b","at":"2026-06-03","kind":"amend","of":"a","set":{"set":{"stuck":28}}}"#;
    let withdraw = r#"{"id":"w","at":"2026-06-04","kind":"withdraw","of":"a"}"#;
    assert_eq!(
        book(&[STICK, amend, of_amend]).batches()[0].counts.stuck,
        28
    );
    assert_eq!(
        book(&[STICK, amend, of_amend, withdraw]).batches()[0]
            .counts
            .stuck,
        24
    );
}

#[test]
fn a_withdraw_may_be_withdrawn() {
    let withdraw = r#"{"id":"w","at":"2026-06-04","kind":"withdraw","of":"s"}"#;
    let back = r#"{"id":"x","at":"2026-06-05","kind":"withdraw","of":"w"}"#;
    assert_eq!(book(&[STICK, withdraw]).batches().len(), 0);
    assert_eq!(book(&[STICK, withdraw, back]).batches().len(), 1);
}

#[test]
fn an_amend_whose_result_is_invalid_is_void_and_reported() {
    let book = book(&[
        STICK,
        r#"{"id":"a","at":"2026-06-02","kind":"amend","of":"s","set":{"taxon":null}}"#,
        r#"{"id":"b","at":"2026-06-03","kind":"amend","of":"s","set":{"stuck":30}}"#,
    ]);
    assert_eq!(book.batches()[0].counts.stuck, 30);
    assert!(matches!(&faults(&book)[..], [BookFault::AmendVoid { of, .. }] if *of == id("s")));
    assert_eq!(book.faults()[0].id, Some(id("a")));
}

#[test]
fn a_ring_is_void_and_reported() {
    let one = r#"{"id":"a","at":"2026-06-02","kind":"withdraw","of":"b"}"#;
    let two = r#"{"id":"b","at":"2026-06-03","kind":"withdraw","of":"a"}"#;
    let found = faults(&book(&[STICK, one, two]));
    assert_eq!(found.len(), 2);
    assert!(found.iter().all(|f| matches!(f, BookFault::Ring { .. })));
    let itself = r#"{"id":"c","at":"2026-06-03","kind":"withdraw","of":"c"}"#;
    assert!(matches!(
        &faults(&book(&[itself]))[..],
        [BookFault::Ring { .. }]
    ));
}

#[test]
fn a_withdraw_from_outside_settles_a_ring() {
    let book = book(&[
        STICK,
        r#"{"id":"a","at":"2026-06-02","kind":"withdraw","of":"b"}"#,
        r#"{"id":"b","at":"2026-06-03","kind":"withdraw","of":"a"}"#,
        r#"{"id":"w","at":"2026-06-04","kind":"withdraw","of":"a"}"#,
    ]);
    assert!(book.faults().is_empty());
}

#[test]
fn every_one_of_a_ring_may_be_withdrawn_from_outside() {
    let book = book(&[
        r#"{"id":"a","at":"2026-06-02","kind":"withdraw","of":"b"}"#,
        r#"{"id":"b","at":"2026-06-03","kind":"withdraw","of":"c"}"#,
        r#"{"id":"c","at":"2026-06-03","kind":"withdraw","of":"a"}"#,
        r#"{"id":"x","at":"2026-06-04","kind":"withdraw","of":"a"}"#,
        r#"{"id":"y","at":"2026-06-04","kind":"withdraw","of":"b"}"#,
        r#"{"id":"z","at":"2026-06-04","kind":"withdraw","of":"c"}"#,
    ]);
    assert!(book.faults().is_empty());
}

#[test]
fn a_missing_target_is_a_notice() {
    let book = book(&[r#"{"id":"a","at":"2026-06-02","kind":"withdraw","of":"gone"}"#]);
    assert_eq!(faults(&book), [BookFault::MissingTarget { of: id("gone") }]);
    assert_eq!(
        book.faults()[0].level(),
        struck::model::fault::Severity::Notice
    );
}

#[test]
fn a_withdraw_settles_a_damaged_line() {
    let damaged = "not an entry";
    let withdraw = format!(
        r#"{{"id":"w","at":"2026-06-02","kind":"withdraw","of":"{}"}}"#,
        hash_name(damaged, 1)
    );
    assert_eq!(book(&[damaged]).faults().len(), 1);
    let book = book(&[damaged, &withdraw]);
    assert!(book.faults().is_empty());
    assert_eq!(book.sums().settled, 1);
}

#[test]
fn a_wrong_checksum_is_a_fault_until_settled() {
    let mut pages = Pages::default();
    pages.push(0, Crc::Wrong, STICK);
    let book = pages.book();
    assert_eq!(faults(&book), [BookFault::WrongCrc]);
    assert_eq!(book.batches().len(), 1, "the line counts");
    let mut amended = pages.clone();
    let amend = r#"{"id":"a","at":"2026-06-02","kind":"amend","of":"s","set":{"stuck":24}}"#;
    amended.push(0, Crc::Right, amend);
    assert!(amended.book().faults().is_empty());
    assert_eq!(amended.book().sums().settled, 1);
    let withdraw = r#"{"id":"a","at":"2026-06-02","kind":"withdraw","of":"s"}"#;
    pages.push(0, Crc::Right, withdraw);
    assert!(pages.book().faults().is_empty());
}

#[test]
fn an_entry_without_id_is_named_by_its_line() {
    let look = r#"{"at":"2026-06-09","kind":"look","batch":"26-001","lost":{"mould":2}}"#;
    let withdraw = format!(
        r#"{{"id":"w","at":"2026-06-10","kind":"withdraw","of":"{}"}}"#,
        hash_name(look, 2)
    );
    // Two identical lines of one file are two entries; only the second is taken back.
    assert_eq!(book(&[STICK, look, look]).batches()[0].counts.remain(), 20);
    assert_eq!(
        book(&[STICK, look, look, &withdraw]).batches()[0]
            .counts
            .remain(),
        22
    );
}

#[test]
fn a_line_with_an_id_can_be_named_by_its_hash_too() {
    let withdraw = format!(
        r#"{{"id":"w","at":"2026-06-10","kind":"withdraw","of":"{}"}}"#,
        hash_name(STICK, 1)
    );
    let book = book(&[STICK, &withdraw]);
    assert!(book.batches().is_empty());
    assert!(book.faults().is_empty());
}

#[test]
fn a_climate_line_can_be_amended_and_withdrawn() {
    let one = r#"{"id":"01JZ0000000000000000000001","at":"2026-06-14T12:00:00+02:00","kind":"climate","place":"bench A","air_c":21.37}"#;
    let two = r#"{"id":"01JZ0000000000000000000002","at":"2026-06-14T13:00:00+02:00","kind":"climate","place":"bench A","air_c":90}"#;
    let two = two.replace("90", "29.5");
    let amend = r#"{"id":"01JZ0000000000000000000003","at":"2026-06-15","kind":"amend","of":"01JZ0000000000000000000002","set":{"air_c":22.5}}"#;
    let withdraw = r#"{"id":"01JZ0000000000000000000004","at":"2026-06-15","kind":"withdraw","of":"01JZ0000000000000000000001"}"#;
    let book = book(&[one, &two, amend, withdraw]);
    let air: Vec<_> = book
        .readings("bench A")
        .map(|r| r.air_c.unwrap().0)
        .collect();
    assert_eq!(air, [22.5]);
}
