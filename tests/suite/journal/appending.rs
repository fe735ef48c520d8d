//! Appending on a disk that fails: what was called saved is there, once and whole, whatever happens
//! at whichever step; what was not saved can be saved again under the same id.

use super::twin::{Mishap, Twin};
use std::path::Path;
use struck::journal::append::{
    AppendDoubt, AppendOutcome, AppendRefusal, PriorAppend, Target, append, file_name,
};
use struck::journal::crc::seal;
use struck::journal::lock::DEADLINE;

const FILE: &str = "/j/shed-ann-k3q9.jsonl";

/// ENOSPC EDQUOT EIO EROFS EACCES EPERM EFBIG ESTALE EMFILE ENFILE EINTR EAGAIN ENOMEM ENOLCK EBADF EINVAL.
const ERRORS: [i32; 16] = [28, 122, 5, 30, 13, 1, 27, 116, 24, 23, 4, 11, 12, 37, 9, 22];

fn target() -> Target {
    Target::in_folder(Path::new("/j"), "shed-ann-k3q9.jsonl", "pid 4711 on shed")
}

fn line(id: &str) -> Vec<u8> {
    seal(
        format!(
            r#"{{"v":1,"id":"{id}","at":"2026-06-14","kind":"remark","note":"misted by hand"}}"#
        )
        .as_bytes(),
    )
}

/// How often a line stands whole in the file.
fn times(twin: &Twin, line: &[u8]) -> usize {
    twin.bytes(FILE)
        .split(|&b| b == b'\n')
        .filter(|&it| it == line)
        .count()
}

fn saved(outcome: &Result<AppendOutcome, AppendRefusal>) -> bool {
    matches!(outcome, Ok(AppendOutcome::Saved { .. }))
}

#[test]
fn an_append_syncs_the_name_then_the_line_and_unlocks() {
    let twin = Twin::new();
    twin.plan(usize::MAX, Mishap::Cut);
    let first = line("A");
    let end = first.len() as u64 + 1;
    let outcome = append(
        &twin,
        &target(),
        std::slice::from_ref(&first),
        PriorAppend::Settled,
    )
    .unwrap();
    assert_eq!(
        outcome,
        AppendOutcome::Saved {
            offset: 0,
            end,
            closed_tail: false
        }
    );
    let log = twin.log();
    let at = |call: &str| log.iter().position(|it| *it == call).unwrap();
    assert!(
        at("lock") < at("sync folder")
            && at("sync folder") < at("write")
            && at("write") < at("sync")
    );
    assert_eq!(twin.bytes(FILE), [first.as_slice(), b"\n"].concat());
    assert_eq!(
        twin.bytes("/j/struck.lock"),
        b"",
        "the lock file is never written"
    );
    twin.plan(usize::MAX, Mishap::Cut);
    let outcome = append(
        &twin,
        &target(),
        &[line("B"), line("C")],
        PriorAppend::Settled,
    )
    .unwrap();
    assert!(matches!(outcome, AppendOutcome::Saved { offset, .. } if offset == end));
    let log = twin.log();
    assert_eq!(
        log.iter().filter(|it| **it == "write").count(),
        1,
        "several entries go in one write"
    );
    assert!(!log.contains(&"sync folder"));
}

#[test]
fn permissions_follow_the_folder() {
    for (folder, file) in [
        (0o700, 0o600),
        (0o755, 0o600),
        (0o770, 0o660),
        (0o2775, 0o660),
    ] {
        let twin = Twin::new();
        twin.folder_mode(folder);
        assert!(saved(&append(
            &twin,
            &target(),
            &[line("A")],
            PriorAppend::Settled
        )));
        assert_eq!((twin.mode(FILE), twin.mode("/j/struck.lock")), (file, file));
    }
}

#[test]
fn a_torn_tail_of_any_length_is_closed_and_never_cut() {
    let (first, second) = (line("A"), line("B"));
    let whole = [first.as_slice(), b"\n"].concat();
    for cut in 0..=whole.len() {
        let twin = Twin::new();
        twin.put(FILE, &whole[..cut]);
        let outcome = append(
            &twin,
            &target(),
            std::slice::from_ref(&second),
            PriorAppend::Settled,
        )
        .unwrap();
        let torn = cut > 0 && cut < whole.len();
        assert!(
            matches!(outcome, AppendOutcome::Saved { closed_tail, .. } if closed_tail == torn),
            "cut {cut}"
        );
        assert!(twin.bytes(FILE).starts_with(&whole[..cut]));
        assert_eq!(times(&twin, &second), 1);
        assert_eq!(times(&twin, &first), usize::from(cut >= first.len()));
    }
}

#[test]
fn unfit_lines_are_refused_before_the_disk_is_touched() {
    let twin = Twin::new();
    for lines in [
        vec![],
        vec![line("A"), Vec::new()],
        vec![b"a\nb".to_vec()],
        vec![vec![b'x'; (1 << 20) + 1]],
    ] {
        twin.plan(usize::MAX, Mishap::Cut);
        assert!(matches!(
            append(&twin, &target(), &lines, PriorAppend::Settled),
            Err(AppendRefusal::Unfit { .. })
        ));
        assert!(twin.log().is_empty());
    }
    assert!(saved(&append(
        &twin,
        &target(),
        &[vec![b'x'; 1 << 20]],
        PriorAppend::Settled
    )));
}

#[test]
fn a_held_lock_is_waited_for_two_seconds_and_its_holder_named() {
    let twin = Twin::new();
    twin.hold("/j/struck.lock", "pid 99 on barn");
    match append(&twin, &target(), &[line("A")], PriorAppend::Settled) {
        Err(refusal @ AppendRefusal::Locked { .. }) => {
            assert_eq!(
                refusal.to_string(),
                "/j/struck.lock is held by pid 99 on barn"
            );
        }
        other => panic!("{other:?}"),
    }
    assert_eq!(twin.waited(), DEADLINE);
    assert!(twin.bytes(FILE).is_empty());
}

/// Start states: no file, an empty one, one with a line, one with a torn tail.
fn starts() -> Vec<Twin> {
    let first = [line("first").as_slice(), b"\n"].concat();
    let mut starts = vec![Twin::new()];
    for bytes in [&b""[..], &first, &first[..30]] {
        let twin = Twin::new();
        twin.put(FILE, bytes);
        starts.push(twin);
    }
    starts
}

#[test]
fn whatever_fails_at_whichever_step_the_saved_stays_and_a_retry_heals() {
    let mishaps = ERRORS.iter().map(|&number| Mishap::Error(number));
    let mishaps = mishaps.chain([
        Mishap::Short(0),
        Mishap::Short(1),
        Mishap::Short(50),
        Mishap::TakenYetFails(1),
        Mishap::TakenYetFails(usize::MAX),
        Mishap::Replace,
    ]);
    let (mut refused, mut unknown, mut well) = (0, 0, 0);
    for mishap in mishaps {
        for start in 0..starts().len() {
            for step in 0.. {
                let twin = starts().swap_remove(start);
                let before = twin.bytes(FILE);
                twin.plan(step, mishap);
                let entry = line("A");
                let outcome = append(
                    &twin,
                    &target(),
                    std::slice::from_ref(&entry),
                    PriorAppend::Settled,
                );
                let happened = twin.settle();
                let label = format!("{mishap:?} at step {step}, start {start}: {outcome:?}");
                assert!(twin.bytes(FILE).starts_with(&before), "{label}");
                match &outcome {
                    Ok(AppendOutcome::Saved { .. }) => {
                        well += 1;
                        assert_eq!(times(&twin, &entry), 1, "{label}");
                        for world in twin.after_cut() {
                            assert_eq!(times(&world, &entry), 1, "{label}");
                        }
                    }
                    Ok(AppendOutcome::Unknown(_)) => unknown += 1,
                    Err(refusal) => {
                        refused += 1;
                        assert_eq!(times(&twin, &entry), 0, "{label}");
                        assert_eq!(twin.bytes(FILE), before, "{label}");
                        assert!(refusal.remedy().ends_with('.'), "{label}");
                    }
                }
                if !saved(&outcome) {
                    let again = append(
                        &twin,
                        &target(),
                        std::slice::from_ref(&entry),
                        PriorAppend::Uncertain,
                    );
                    assert!(saved(&again), "{label}, then {again:?}");
                    for world in twin.after_cut() {
                        assert!(times(&world, &entry) >= 1, "{label}");
                        assert!(
                            times(&world, &line("first")) == usize::from(start == 2),
                            "{label}"
                        );
                    }
                }
                if !happened {
                    assert!(saved(&outcome), "{label}");
                    break;
                }
            }
        }
    }
    assert!(
        refused > 300 && unknown > 50 && well > 300,
        "{refused} {unknown} {well}"
    );
}

#[test]
fn a_power_cut_at_any_step_loses_nothing_that_was_saved_and_glues_nothing() {
    for mishap in [Mishap::Cut, Mishap::CutWithin(1), Mishap::CutWithin(40)] {
        for start in 0..starts().len() {
            for step in 0.. {
                let twin = starts().swap_remove(start);
                let kept = line("kept");
                assert!(saved(&append(
                    &twin,
                    &target(),
                    std::slice::from_ref(&kept),
                    PriorAppend::Settled
                )));
                twin.plan(step, mishap);
                let entry = line("A");
                let outcome = append(
                    &twin,
                    &target(),
                    std::slice::from_ref(&entry),
                    PriorAppend::Settled,
                );
                let happened = twin.settle();
                for world in twin.after_cut() {
                    assert_eq!(times(&world, &kept), 1, "{mishap:?} at {step}");
                    let later = line("later");
                    assert!(saved(&append(
                        &world,
                        &target(),
                        std::slice::from_ref(&later),
                        PriorAppend::Settled
                    )));
                    assert_eq!(
                        (times(&world, &kept), times(&world, &later)),
                        (1, 1),
                        "{mishap:?} at {step}"
                    );
                    if saved(&outcome) {
                        assert_eq!(times(&world, &entry), 1, "{mishap:?} at {step}");
                    }
                }
                if !happened {
                    break;
                }
            }
        }
    }
}

#[test]
fn a_failed_sync_is_never_believed_again() {
    let twin = Twin::new();
    assert!(saved(&append(
        &twin,
        &target(),
        &[line("first")],
        PriorAppend::Settled
    )));
    twin.plan(usize::MAX, Mishap::Cut);
    assert!(saved(&append(
        &twin,
        &target(),
        &[line("second")],
        PriorAppend::Settled
    )));
    let sync = twin.log().iter().position(|call| *call == "sync").unwrap();
    twin.plan(sync, Mishap::Error(5));
    let entry = line("A");
    let outcome = append(
        &twin,
        &target(),
        std::slice::from_ref(&entry),
        PriorAppend::Settled,
    )
    .unwrap();
    let AppendOutcome::Unknown(AppendDoubt::Disk(trouble)) = outcome else {
        panic!("{outcome:?}")
    };
    assert!(
        trouble
            .to_string()
            .ends_with("the disk reports a fault of its own")
    );
    assert_eq!(
        times(&twin, &entry),
        1,
        "readers see it, although it is not on the disk"
    );
    assert!(saved(&append(
        &twin,
        &target(),
        std::slice::from_ref(&entry),
        PriorAppend::Uncertain
    )));
    for world in twin.after_cut() {
        assert_eq!(
            times(&world, &entry),
            1,
            "zero bytes before it must not swallow it"
        );
    }
}

#[test]
fn a_file_replaced_before_or_during_the_write_is_noticed() {
    let outcomes = (0..30).map(|step| {
        let twin = Twin::new();
        twin.put(FILE, b"{}\n");
        twin.plan(step, Mishap::Replace);
        let entry = line("A");
        let outcome = append(
            &twin,
            &target(),
            std::slice::from_ref(&entry),
            PriorAppend::Settled,
        )
        .unwrap();
        if matches!(outcome, AppendOutcome::Saved { .. }) {
            assert_eq!(times(&twin, &entry), 1, "step {step}");
        }
        outcome
    });
    let replaced = outcomes
        .filter(|it| matches!(it, AppendOutcome::Unknown(AppendDoubt::Replaced(_))))
        .count();
    assert!(replaced >= 3, "{replaced}");
}

/// A lock on a file that has lost its name keeps nobody out.
#[test]
fn a_lock_file_replaced_before_it_was_locked_is_locked_anew() {
    let mut anew = 0;
    for step in 0..30 {
        let twin = Twin::new();
        twin.put("/j/struck.lock", b"");
        twin.plan(step, Mishap::ReplaceLock);
        let outcome = append(&twin, &target(), &[line("A")], PriorAppend::Settled);
        assert!(saved(&outcome), "step {step}: {outcome:?}");
        let log = twin.log();
        anew += usize::from(log.iter().filter(|call| **call == "lock").count() == 2);
    }
    // Between its opening and the look at its name.
    assert!(anew >= 2, "{anew}");
}

#[test]
fn a_writers_file_has_a_plain_name() {
    assert_eq!(file_name("shed", "ann", "k3q9"), "shed-ann-k3q9.jsonl");
    assert_eq!(file_name("../ü", "a b.c", "x"), "____-a_b_c-x.jsonl");
}

#[test]
fn a_lone_file_is_locked_beside_itself() {
    let twin = Twin::new();
    let lone = Target::lone(Path::new("/j/shed-ann-k3q9.jsonl"), "pid 1 on shed");
    assert!(saved(&append(
        &twin,
        &lone,
        &[line("A")],
        PriorAppend::Settled
    )));
    assert_eq!(twin.mode("/j/shed-ann-k3q9.jsonl.lock"), 0o600);
}

#[test]
fn a_lock_with_another_name_is_refused_and_left_alone() {
    let twin = Twin::new();
    let own = [line("A"), b"\n".to_vec()].concat();
    twin.put(FILE, &own);
    twin.link(FILE, "/j/struck.lock");
    match append(&twin, &target(), &[line("B")], PriorAppend::Settled) {
        Err(refusal @ AppendRefusal::NoLock { .. }) => assert_eq!(
            refusal.to_string(),
            "/j/struck.lock should be an empty lock file, but is a file with 2 names"
        ),
        other => panic!("{other:?}"),
    }
    assert_eq!(twin.bytes(FILE), own);
}
