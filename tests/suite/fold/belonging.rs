//! Which entry belongs to which batch, and which copy of an entry stands, by the journal's format, version 1.

use crate::support::lines::{Pages, book};
use struck::fold::Book;
use struck::model::fault::{BookFault, Crc, FaultKind, Severity};

fn stick(id: &str, day: &str, code: &str) -> String {
    format!(
        r#"{{"id":"{id}","at":"{day}","kind":"stick","batch":"{code}","taxon":"Weigela","stuck":20}}"#
    )
}

fn lost(id: &str, day: &str, code: &str, stick: &str) -> String {
    let stick = match stick {
        "" => String::new(),
        stick => format!(r#""stick":"{stick}","#),
    };
    format!(
        r#"{{"id":"{id}","at":"{day}","kind":"look","batch":"{code}",{stick}"lost":{{"mould":3}}}}"#
    )
}

fn of(lines: &[String]) -> Book {
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    book(&lines)
}

fn remain(book: &Book, key: &str) -> u32 {
    let batch = book.batches().iter().find(|b| b.key.to_string() == key);
    batch.unwrap().counts.remain()
}

fn book_faults(book: &Book) -> Vec<BookFault> {
    let each = book.faults().iter();
    each.filter_map(|f| match &f.wrong {
        FaultKind::Book(fault) => Some(fault.clone()),
        _ => None,
    })
    .collect()
}

#[test]
fn the_stick_decides_whatever_the_code() {
    let book = of(&[
        stick("a", "2026-06-01", "26-001"),
        stick("b", "2026-06-02", "26-002"),
        lost("l", "2026-06-09", "26-002", "a"),
    ]);
    assert_eq!((remain(&book, "a"), remain(&book, "b")), (17, 20));
    assert!(book.faults().is_empty());
}

#[test]
fn without_stick_the_code_means_the_latest_batch_stuck_by_then() {
    let lines = [
        stick("a", "2025-06-01", "001"),
        r#"{"id":"p","at":"2025-08-01","kind":"pot","batch":"001","stick":"a","count":20}"#.into(),
        stick("b", "2026-06-02", "001"),
        lost("l", "2026-06-09", "001", ""),
        lost("m", "2025-06-09", "001", ""),
    ];
    let book = of(&lines);
    assert_eq!(remain(&book, "b"), 17);
    let first = &book.batches()[0];
    assert_eq!((first.counts.lost.total(), first.counts.potted), (3, 17));
}

#[test]
fn two_open_batches_of_one_code_make_it_ambiguous() {
    let book = of(&[
        stick("a", "2026-06-01", "26-001"),
        stick("b", "2026-06-02", "26-001"),
        lost("l", "2026-06-09", "26-001", ""),
        lost("m", "2026-06-01", "26-001", ""),
    ]);
    assert_eq!((remain(&book, "a"), remain(&book, "b")), (17, 20));
    let code = || "26-001".to_owned();
    let ambiguous = BookFault::AmbiguousBatch { code: code() };
    assert_eq!(
        book_faults(&book),
        [ambiguous, BookFault::CodeTwice { code: code() }]
    );
    assert_eq!(book.faults()[1].level(), Severity::Notice);
    assert_eq!(book.faults()[0].batch.as_deref(), Some("26-001"));
}

#[test]
fn a_code_that_a_batch_ever_bore_still_means_it() {
    let book = of(&[
        stick("a", "2026-06-01", "26-001"),
        r#"{"id":"x","at":"2026-06-03","kind":"amend","of":"a","set":{"batch":"26-007"}}"#.into(),
        lost("l", "2026-06-09", "26-001", ""),
        lost("m", "2026-06-10", "26-007", ""),
    ]);
    assert_eq!(remain(&book, "a"), 14);
    assert!(book.by_code("26-001").next().is_none());
    assert!(book.by_code(" 26-007 ").next().is_some());
}

#[test]
fn an_entry_before_its_stick_is_left_out_and_reported() {
    for stick_field in ["a", ""] {
        let book = of(&[
            stick("a", "2026-06-10", "26-001"),
            lost("l", "2026-06-09", "26-001", stick_field),
        ]);
        assert_eq!(remain(&book, "a"), 20);
        assert!(matches!(
            &book_faults(&book)[..],
            [BookFault::BeforeStick { .. }]
        ));
    }
}

#[test]
fn a_stick_folds_before_all_entries_of_its_batch_that_day() {
    let timed = stick("a", "2026-06-10T15:00:00+02:00", "26-001");
    let book = of(&[timed, lost("l", "2026-06-10", "26-001", "")]);
    assert_eq!(remain(&book, "a"), 17);
    assert_eq!(book.batches()[0].events[0].entry.name().word(), "stick");
}

#[test]
fn an_unknown_batch_is_reported() {
    let book = of(&[
        lost("l", "2026-06-10", "26-001", ""),
        lost("m", "2026-06-10", "26-001", "gone"),
    ]);
    let code = || "26-001".to_owned();
    let unknown = || BookFault::UnknownBatch { code: code() };
    assert_eq!(book_faults(&book), [unknown(), unknown()]);
}

#[test]
fn withdrawing_a_stick_takes_its_followers_along_quietly() {
    let book = of(&[
        stick("a", "2026-06-01", "26-001"),
        lost("l", "2026-06-09", "26-001", "a"),
        lost("m", "2026-06-09", "26-001", ""),
        r#"{"id":"p","at":"2026-06-10","kind":"move","batch":"26-001","stick":"a","count":5,"into":"26-1b"}"#.into(),
        lost("n", "2026-06-11", "26-1b", "p"),
        r#"{"id":"w","at":"2026-06-12","kind":"withdraw","of":"a"}"#.into(),
    ]);
    assert!(book.batches().is_empty() && book.faults().is_empty());
    assert_eq!(book.sums().withdrawn, 5);
}

#[test]
fn an_amended_batch_moves_an_entry_to_another() {
    let book = of(&[
        stick("a", "2026-06-01", "26-001"),
        stick("b", "2026-06-01", "26-002"),
        lost("l", "2026-06-09", "26-001", "a"),
        r#"{"id":"x","at":"2026-06-09","kind":"amend","of":"l","set":{"batch":"26-002","stick":"b"}}"#.into(),
    ]);
    assert_eq!((remain(&book, "a"), remain(&book, "b")), (20, 17));
}

#[test]
fn the_same_line_in_two_files_counts_once() {
    let mut pages = Pages::default();
    for file in [0, 1] {
        pages.push(file, Crc::Right, &stick("a", "2026-06-01", "26-001"));
        pages.push(file, Crc::Absent, &lost("l", "2026-06-09", "26-001", ""));
        pages.push(
            file,
            Crc::Absent,
            r#"{"at":"2026-06-10","kind":"pot","batch":"26-001","count":4}"#,
        );
    }
    let book = pages.book();
    assert_eq!(remain(&book, "a"), 13);
    assert!(book.faults().is_empty());
    assert_eq!((book.sums().lines, book.sums().entries), (6, 3));
}

#[test]
fn of_two_contents_a_valid_checksum_beats_none() {
    let small = stick("a", "2026-06-01", "26-001");
    let large = small.replace(r#""stuck":20"#, r#""stuck":30"#);
    for (first, second) in [(Crc::Right, Crc::Absent), (Crc::Absent, Crc::Wrong)] {
        for flip in [false, true] {
            let mut pages = Pages::default();
            let mut lines = [(first, &large), (second, &small)];
            if flip {
                lines.reverse();
            }
            lines
                .iter()
                .for_each(|(crc, line)| pages.push(0, *crc, line));
            let book = pages.book();
            assert_eq!(remain(&book, "a"), 30);
            assert!(matches!(
                &book_faults(&book)[..],
                [BookFault::SameIdDiffers { .. }]
            ));
        }
    }
}

#[test]
fn of_two_contents_the_earlier_then_the_smaller_bytes_stand() {
    let early = stick("a", "2026-06-01", "26-002");
    let late = stick("a", "2026-06-02", "26-001");
    assert_eq!(
        of(&[late.clone(), early.clone()]).batches()[0].code,
        "26-002"
    );
    // The day decides before the bytes do.
    let larger = r#"{"id":"a","kind":"stick","batch":"26-003","taxon":"Weigela","stuck":20,"at":"2026-06-01"}"#;
    assert!(larger > late.as_str());
    assert_eq!(of(&[late, larger.into()]).batches()[0].code, "26-003");
    let smaller = stick("a", "2026-06-01", "26-001");
    assert_eq!(of(&[early, smaller]).batches()[0].code, "26-001");
}

/// Many contents are sought by their fingerprints: each is still one content, whatever file states it, in any order.
#[test]
fn of_very_many_contents_each_is_held_once() {
    let mut pages = Pages::default();
    for (file, number) in (0..80).zip((0..40).chain((0..40).rev())) {
        let length = if file < 40 { "0.0" } else { "-0.0" };
        let line = format!(
            r#"{{"id":"a","at":"2026-06-01","kind":"climate","place":"frame","leaf_c":{length},"air_c":{number}}}"#
        );
        pages.push(file, Crc::Absent, &line);
    }
    let book = pages.book();
    let differing = book_faults(&book).len();
    assert_eq!((book.sums().lines, differing), (80, 39));
}

#[test]
fn a_withdraw_by_hash_settles_a_copy_that_differs() {
    let one = stick("a", "2026-06-01", "26-001");
    let two = stick("a", "2026-06-01", "26-002");
    let name = |line: &str| crate::support::lines::hash_name(line, 1);
    let withdraw = |line: &str| {
        format!(
            r#"{{"id":"w","at":"2026-06-03","kind":"withdraw","of":"{}"}}"#,
            name(line)
        )
    };
    for (gone, stays) in [(&one, "26-002"), (&two, "26-001")] {
        let book = of(&[one.clone(), two.clone(), withdraw(gone)]);
        assert_eq!(book.batches()[0].code, stays);
        assert!(book.faults().is_empty());
        assert_eq!(book.sums().settled, 1);
    }
}

fn ids(book: &Book, key: &str) -> Vec<String> {
    let batch = book.batches().iter().find(|b| b.key.to_string() == key);
    let events = &batch.unwrap().events;
    events.iter().map(|e| e.entry.id.to_string()).collect()
}

#[test]
fn a_days_entries_fold_by_the_instant_whatever_their_ids_and_offsets() {
    let at = |id: &str, at: &str| lost(id, at, "26-001", "");
    let book = of(&[
        at("d", "2026-06-10T08:00:00+00:00"),
        at("c", "2026-06-10T10:30:00+01:00"),
        at("b", "2026-06-10T10:00:00+00:00"),
        at("z", "2026-06-10"),
        stick("a", "2026-06-01", "26-001"),
    ]);
    assert_eq!(ids(&book, "a"), ["a", "z", "d", "c", "b"]);
}

#[test]
fn a_parting_move_keeps_its_place_among_the_entries_of_its_day() {
    let parting = r#"{"id":"m","at":"2026-06-10T15:00:00+01:00","kind":"move","batch":"26-001","into":"26-001a","count":5}"#;
    let book = of(&[
        stick("a", "2026-06-01", "26-001"),
        parting.into(),
        lost("l", "2026-06-10T09:00:00+01:00", "26-001", ""),
    ]);
    assert_eq!(ids(&book, "a"), ["a", "l", "m"]);
}

#[test]
fn a_batch_used_up_today_is_open_today_and_not_tomorrow() {
    let lines = |day: &str| {
        of(&[
            stick("a", "2026-06-01", "26-001"),
            stick("b", "2026-06-02", "26-001"),
            r#"{"id":"d","at":"2026-06-09","kind":"discard","batch":"26-001","stick":"a","count":20,"why":"surplus"}"#.into(),
            lost("l", day, "26-001", ""),
        ])
    };
    let ambiguous = |fault: &BookFault| matches!(fault, BookFault::AmbiguousBatch { .. });
    assert!(book_faults(&lines("2026-06-09")).iter().any(ambiguous));
    let tomorrow = lines("2026-06-10");
    assert!(!book_faults(&tomorrow).iter().any(ambiguous));
    assert_eq!(ids(&tomorrow, "b"), ["b", "l"]);
}

#[test]
fn of_two_batches_of_one_day_that_are_used_up_the_code_means_the_later() {
    let gone = |id: &str, of: &str| {
        format!(
            r#"{{"id":"{id}","at":"2026-06-05","kind":"discard","batch":"26-001","stick":"{of}","count":20,"why":"surplus"}}"#
        )
    };
    let book = of(&[
        stick("b", "2026-06-01", "26-001"),
        stick("a", "2026-06-01", "26-001"),
        gone("c", "a"),
        gone("d", "b"),
        r#"{"id":"r","at":"2026-06-10","kind":"remark","batch":"26-001","note":"the tray is clean"}"#.into(),
    ]);
    assert_eq!(
        (ids(&book, "a"), ids(&book, "b")),
        (
            vec!["a".into(), "c".into()],
            vec!["b".into(), "d".into(), "r".into()]
        )
    );
}

#[test]
fn a_part_is_used_up_once_all_that_could_be_moved_into_it_is_gone() {
    let book = of(&[
        stick("a", "2026-06-01", "26-001"),
        r#"{"id":"m","at":"2026-06-05","kind":"move","batch":"26-001","into":"26-002","count":30}"#.into(),
        r#"{"id":"d","at":"2026-06-06","kind":"discard","batch":"26-002","count":20,"why":"surplus"}"#.into(),
        stick("b", "2026-06-07", "26-002"),
        lost("l", "2026-06-10", "26-002", ""),
    ]);
    assert_eq!(ids(&book, "b"), ["b", "l"]);
}
