//! A journal read whole and followed: what others append, replace, shorten or put beside it.

use super::twin::{Mishap, Twin};
use std::path::Path;
use std::sync::Arc;
use struck::journal::append::{AppendOutcome, PriorAppend};
use struck::journal::crc::seal;
use struck::journal::line::hash;
use struck::journal::reading::{Journal, Refreshed};
use struck::model::fault::{Arrival, Lines};
use struck::model::fault::{Crc, FileFault, LineFault, Origin};
use struck::model::id::Id;

const A: &str = "/j/a.jsonl";
const B: &str = "/j/b.jsonl";

fn line(id: &str) -> String {
    let object =
        format!(r#"{{"v":1,"id":"{id}","at":"2026-06-14","kind":"remark","note":"seen"}}"#);
    String::from_utf8(seal(object.as_bytes())).unwrap() + "\n"
}

/// A line without an id.
const BARE: &str = "{\"at\":\"2026-06-14\",\"kind\":\"remark\",\"note\":\"fog\"}\n";

fn journal(twin: &Twin) -> Journal {
    Journal::open(Arc::new(twin.clone()), Path::new("/j"), 2).unwrap()
}

/// What arrived, shortly: file, line and id, or `!` and the fault.
fn shortly(arrival: &Arrival) -> String {
    let Origin { file, line } = arrival.origin;
    match &arrival.entry {
        Ok(entry) if entry.id.is_line() => format!("{file}:{line} bare"),
        Ok(entry) => format!("{file}:{line} {}", entry.id),
        Err((fault, _)) => format!(
            "{file}:{line} !{}",
            format!("{fault:?}").split([' ', '(']).next().unwrap()
        ),
    }
}

fn read(journal: &mut Journal) -> Vec<String> {
    let mut seen = Vec::new();
    journal.read(&mut |it| seen.push(shortly(&it))).unwrap();
    seen
}

fn refresh(journal: &mut Journal) -> (Refreshed, Vec<String>) {
    let mut seen = Vec::new();
    let refreshed = journal.refresh(&mut |it| seen.push(shortly(&it))).unwrap();
    (refreshed, seen)
}

#[test]
fn files_are_read_in_the_order_of_their_names_and_others_passed_over() {
    let twin = Twin::new();
    twin.put(B, line("B1").as_bytes());
    twin.put(
        A,
        (line("A1") + "\r\n" + BARE + BARE + "oops\n" + &line("A2")).as_bytes(),
    );
    for other in [
        "/j/.a.jsonl",
        "/j/sub/c.jsonl",
        "/j/notes.txt",
        "/j/struck.lock",
        "/j/d.jsonl.bak",
    ] {
        twin.put(other, b"oops\n");
    }
    let mut journal = journal(&twin);
    let seen = read(&mut journal);
    assert_eq!(
        seen,
        [
            "0:1 A1",
            "0:3 bare",
            "0:4 bare",
            "0:5 !NotJson",
            "0:6 A2",
            "1:1 B1"
        ]
    );
    assert_eq!(journal.files().len(), 2);
    assert_eq!(refresh(&mut journal), (Refreshed::Same, vec![]));
}

#[test]
fn identical_lines_of_a_file_have_names_of_their_own() {
    let twin = Twin::new();
    twin.put(A, (BARE.repeat(2) + "oops\noops\n").as_bytes());
    twin.put(B, BARE.as_bytes());
    let mut journal = journal(&twin);
    let mut names = Vec::new();
    let mut take = |it: Arrival| {
        names.push(
            it.entry
                .map_or_else(|(_, name)| name, |entry| entry.id.clone()),
        )
    };
    journal.read(&mut take).unwrap();
    twin.put(B, BARE.repeat(2).as_bytes());
    let (fog, oops) = (
        hash(&BARE.as_bytes()[..BARE.len() - 1], false),
        hash(b"oops", false),
    );
    assert_eq!(
        names,
        [
            Id::for_line(fog, 1),
            Id::for_line(fog, 2),
            Id::for_line(oops, 1),
            Id::for_line(oops, 2),
            Id::for_line(fog, 1)
        ]
    );
    assert_eq!(
        journal.named(&Id::for_line(oops, 2)),
        Some(Origin { file: 0, line: 4 })
    );
    assert_eq!(journal.named(&Id::for_line(oops, 3)), None);
}

#[test]
fn what_is_appended_arrives_once_however_it_is_cut() {
    let text = line("A1") + BARE + &line("A2") + "\n" + &line("A3");
    for cut in 0..text.len() {
        let twin = Twin::new();
        twin.put(A, &text.as_bytes()[..cut]);
        let mut journal = journal(&twin);
        let mut seen = read(&mut journal);
        twin.grow(A, &text.as_bytes()[cut..]);
        let (refreshed, more) = refresh(&mut journal);
        assert_eq!(refreshed, Refreshed::Grown, "cut {cut}");
        seen.extend(more);
        assert_eq!(
            seen,
            ["0:1 A1", "0:2 bare", "0:3 A2", "0:5 A3"],
            "cut {cut}"
        );
        assert_eq!(refresh(&mut journal).0, Refreshed::Same);
    }
}

#[test]
fn a_hand_edited_last_line_without_its_newline_counts_and_counts_once() {
    let twin = Twin::new();
    twin.put(A, (line("A1") + line("A2").trim_end()).as_bytes());
    let mut journal = journal(&twin);
    assert_eq!(read(&mut journal), ["0:1 A1", "0:2 A2"]);
    twin.grow(A, b"\r\n");
    assert_eq!(refresh(&mut journal), (Refreshed::Grown, vec![]));
    twin.grow(A, line("A3").as_bytes());
    assert_eq!(
        refresh(&mut journal),
        (Refreshed::Grown, vec!["0:3 A3".into()])
    );
}

#[test]
fn a_taken_last_line_that_grows_into_another_is_read_again() {
    let twin = Twin::new();
    twin.put(A, line("A1").trim_end().as_bytes());
    let mut journal = journal(&twin);
    assert_eq!(read(&mut journal), ["0:1 A1"]);
    twin.grow(A, line("A2").as_bytes());
    assert_eq!(refresh(&mut journal).0, Refreshed::Reread);
    assert_eq!(
        read(&mut journal),
        ["0:1 !NotJson"],
        "two lines glued by another's hand"
    );
}

#[test]
fn a_torn_tail_waits_and_becomes_a_fault_once_it_is_closed() {
    let twin = Twin::new();
    twin.put(A, (line("A1") + "{\"v\":1,\"id\":\"A2").as_bytes());
    let mut journal = journal(&twin);
    assert_eq!(read(&mut journal), ["0:1 A1"]);
    let target = journal.target("a.jsonl", "pid 1 on shed");
    let mut entry = None;
    journal.read(&mut |it| entry = it.entry.ok()).unwrap();
    let mut entry = entry.unwrap().whole();
    entry.id = Id::parse("A3").unwrap();
    let outcome = journal
        .append_lines(
            &target,
            &[struck::journal::codec::encode(&entry).unwrap()],
            PriorAppend::Settled,
        )
        .unwrap();
    assert!(matches!(
        outcome,
        AppendOutcome::Saved {
            closed_tail: true,
            ..
        }
    ));
    assert_eq!(
        refresh(&mut journal),
        (
            Refreshed::Grown,
            vec!["0:2 !NotJson".into(), "0:3 A3".into()]
        )
    );
}

#[test]
fn a_lost_block_at_the_end_is_told_at_once() {
    let twin = Twin::new();
    twin.put(A, (line("A1") + "\0\0\0\0").as_bytes());
    let mut journal = journal(&twin);
    assert_eq!(read(&mut journal), ["0:1 A1", "0:2 !ZeroBytes"]);
    twin.grow(A, b"\n");
    assert_eq!(refresh(&mut journal), (Refreshed::Grown, vec![]));
}

#[test]
fn a_new_file_is_found_and_numbered_after_those_there_are() {
    let twin = Twin::new();
    twin.put(B, line("B1").as_bytes());
    let mut journal = journal(&twin);
    assert_eq!(read(&mut journal), ["0:1 B1"]);
    twin.put(A, line("A1").as_bytes());
    assert_eq!(
        refresh(&mut journal),
        (Refreshed::Grown, vec!["1:1 A1".into()])
    );
    assert_eq!(journal.files().nth(1), Some(Path::new(A)));
}

#[test]
fn whatever_is_not_growth_is_read_again() {
    let two = line("A1") + &line("A2");
    let changed = two.replace("A1", "A9");
    type Change<'a> = &'a dyn Fn(&Twin);
    let cases: [(&str, Change<'_>); 5] = [
        ("replaced by the same and more", &|twin| {
            twin.put(A, (two.clone() + &line("A3")).as_bytes())
        }),
        ("shortened", &|twin| twin.rewrite(A, line("A1").as_bytes())),
        ("rewritten at the same length", &|twin| {
            twin.rewrite(A, changed.as_bytes())
        }),
        ("rewritten and longer", &|twin| {
            twin.rewrite(A, (changed.clone() + &line("A3")).as_bytes())
        }),
        ("removed beside another", &|twin| twin.remove(A)),
    ];
    for (what, change) in cases {
        let twin = Twin::new();
        twin.put(A, two.as_bytes());
        twin.put(B, line("B1").as_bytes());
        let mut journal = journal(&twin);
        read(&mut journal);
        change(&twin);
        assert_eq!(refresh(&mut journal).0, Refreshed::Reread, "{what}");
        read(&mut journal);
        assert_eq!(refresh(&mut journal).0, Refreshed::Same, "{what}");
    }
}

#[test]
fn any_line_can_be_fetched_again() {
    let twin = Twin::new();
    let text: String = (1..=2_000)
        .map(|n| {
            if n % 7 == 0 {
                "\n".to_owned()
            } else {
                line(&format!("N{n}"))
            }
        })
        .collect();
    twin.put(A, text.as_bytes());
    let mut journal = journal(&twin);
    read(&mut journal);
    for number in [1u32, 2, 510, 512, 513, 514, 515, 1_024, 1_030, 1_999] {
        let raw = journal
            .raw(Origin {
                file: 0,
                line: number,
            })
            .unwrap();
        assert_eq!(
            String::from_utf8(raw).unwrap() + "\n",
            line(&format!("N{number}")),
            "{number}"
        );
    }
    for (file, line) in [(0, 0), (0, 2_001), (1, 1)] {
        assert_eq!(journal.raw(Origin { file, line }), None);
    }
}

#[test]
fn a_file_that_cannot_be_read_is_a_fault_and_hides_no_other() {
    let twin = Twin::new();
    twin.put(A, line("A1").as_bytes());
    twin.put(B, line("B1").as_bytes());
    for step in 1..40 {
        let mut journal = journal(&twin);
        twin.plan(step, Mishap::Error(5));
        let seen = read(&mut journal);
        let happened = twin.settle();
        let faults: Vec<_> = journal.faults().collect();
        // A failure once all lines were read costs nothing, and is none.
        let whole = seen.len() == 2;
        assert!(!faults.is_empty() || !happened || whole, "step {step}");
        assert!(faults.is_empty() || happened, "step {step}");
        assert!(
            seen.iter().any(|it| it.ends_with("A1")) || seen.iter().any(|it| it.ends_with("B1"))
        );
        for (_, fault) in faults {
            assert_eq!(
                fault,
                &FileFault::Unreadable {
                    reason: "the disk reports a fault of its own".into()
                }
            );
        }
    }
}

#[test]
fn one_bad_byte_anywhere_in_a_file_keeps_all_other_lines() {
    let lines: Vec<String> = (1..=4).map(|n| line(&format!("N{n}"))).collect();
    let text = lines.concat().into_bytes();
    for at in 0..text.len() {
        for bit in [0, 1, 5, 7] {
            let twin = Twin::new();
            let mut bytes = text.clone();
            bytes[at] ^= 1 << bit;
            twin.put(A, &bytes);
            let (mut well, mut named) = (0, false);
            let mut take = |it: Arrival| {
                let right = it.entry.is_ok() && it.crc == Crc::Right;
                well += u32::from(right);
                named |= !right;
            };
            journal(&twin).read(&mut take).unwrap();
            let broke_newline = text[at] == b'\n';
            let least = if broke_newline && at + 1 < text.len() {
                2
            } else {
                3
            };
            // A last line that lost its newline waits: there is no telling it from one being written.
            assert!(
                well >= least && (named || at + 1 == text.len()),
                "byte {at}, bit {bit}: {well}"
            );
        }
    }
}

#[test]
fn a_line_beyond_the_limit_is_a_fault_with_a_name() {
    let twin = Twin::new();
    let long = format!("{{\"note\":\"{}\"}}", "x".repeat(17 << 20));
    twin.put(A, (line("A1") + &long + "\n" + &line("A2")).as_bytes());
    let mut seen = Vec::new();
    journal(&twin).read(&mut |it| seen.push(it)).unwrap();
    assert_eq!(seen.len(), 3);
    let bytes = long.len() as u64;
    let name = Id::for_line(hash(long.as_bytes(), false), 1);
    assert_eq!(seen[1].entry, Err((LineFault::TooLong { bytes }, name)));
}

/// What was read stands while the disk refuses, is told, and goes on without a line lost or doubled once it can be read.
#[test]
fn a_short_read_failure_empties_nothing_and_is_told() {
    for step in 0..12 {
        for number in [5, 13, 116] {
            let twin = Twin::new();
            twin.put(A, (line("A1") + BARE).as_bytes());
            twin.put(B, line("B1").as_bytes());
            let mut journal = journal(&twin);
            let mut seen = read(&mut journal);
            twin.grow(A, (BARE.to_owned() + &line("A2")).as_bytes());
            twin.plan(step, Mishap::Error(number));
            let mut failed = false;
            match journal.refresh(&mut |it| seen.push(shortly(&it))) {
                Err(_) => failed = true,
                Ok(went) => assert_ne!(went, Refreshed::Reread, "step {step}"),
            }
            let happened = twin.settle();
            let whole = seen.len() == 5;
            assert!(
                !happened || failed || whole || journal.unread().is_some(),
                "step {step}"
            );
            assert!(journal.faults().next().is_none(), "step {step}");
            let (went, more) = refresh(&mut journal);
            seen.extend(more);
            assert_ne!(went, Refreshed::Reread, "step {step}");
            assert_eq!(
                seen,
                ["0:1 A1", "0:2 bare", "1:1 B1", "0:3 bare", "0:4 A2"],
                "step {step}"
            );
            assert_eq!(journal.unread(), None, "step {step}");
            let names = [hash(&BARE.as_bytes()[..BARE.len() - 1], false)]
                .map(|hash| journal.named(&Id::for_line(hash, 2)));
            assert_eq!(names, [Some(Origin { file: 0, line: 3 })], "step {step}");
        }
    }
}

#[test]
fn a_folder_whose_files_are_gone_is_taken_for_a_disk_that_went_away() {
    let twin = Twin::new();
    twin.put(A, line("A1").as_bytes());
    let mut journal = journal(&twin);
    read(&mut journal);
    twin.remove(A);
    let error = journal.refresh(&mut |_| ()).unwrap_err();
    assert_eq!(error.why, "its files are missing");
    assert!(journal.read(&mut |_| ()).is_err());
    assert_eq!(journal.files().len(), 1, "what was read stands");
}

#[test]
fn a_file_that_could_not_be_read_at_first_is_tried_again() {
    let twin = Twin::new();
    twin.put(A, line("A1").as_bytes());
    let mut journal = journal(&twin);
    twin.plan(1, Mishap::Error(13));
    assert!(read(&mut journal).is_empty());
    twin.settle();
    assert_eq!(journal.unread().unwrap().why, "you are not allowed to");
    assert_eq!(refresh(&mut journal).0, Refreshed::Reread);
    assert_eq!(read(&mut journal), ["0:1 A1"]);
    assert_eq!(journal.unread(), None);
}
