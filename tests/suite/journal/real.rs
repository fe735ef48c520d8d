//! The real disk: several writers at once, what is no file, permissions, a file renamed over.

use std::fs::{self, Permissions};
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;
use std::sync::Arc;
use struck::journal::append::{AppendOutcome, AppendRefusal, PriorAppend, Target, append};
use struck::journal::crc::seal;
use struck::journal::disk::Rights;
use struck::journal::lock::take;
use struck::journal::reading::{Journal, Refreshed};
use struck::journal::real::RealDisk;
use struck::model::fault::FileFault;

fn line(id: &str) -> Vec<u8> {
    seal(
        format!(r#"{{"v":1,"id":"{id}","at":"2026-06-14","kind":"remark","note":"seen"}}"#)
            .as_bytes(),
    )
}

fn open(path: &Path) -> Journal {
    Journal::open(Arc::new(RealDisk), path, 2).unwrap()
}

fn ids(journal: &mut Journal) -> Vec<String> {
    let mut seen = Vec::new();
    journal
        .read(&mut |it| {
            seen.push(it.entry.map_or_else(
                |(fault, _)| format!("{fault:?}"),
                |entry| entry.id.to_string(),
            ))
        })
        .unwrap();
    seen
}

fn save(target: &Target, id: &str) {
    let outcome = append(&RealDisk, target, &[line(id)], PriorAppend::Settled).unwrap();
    assert!(
        matches!(outcome, AppendOutcome::Saved { .. }),
        "{outcome:?}"
    );
}

#[test]
fn many_writers_lose_and_double_nothing_and_a_reader_beside_them_meets_no_fault() {
    let scratch = tempfile::tempdir().unwrap();
    let folder = scratch.path();
    std::thread::scope(|scope| {
        for writer in 0..4 {
            scope.spawn(move || {
                // Two of them share a file, as two windows of one user do.
                let name = format!("shed-ann-{}.jsonl", writer / 2);
                let target = Target::in_folder(folder, &name, &format!("writer {writer}"));
                for n in 0..40 {
                    save(&target, &format!("w{writer}-{n}"));
                }
            });
        }
        scope.spawn(move || {
            let mut journal = open(folder);
            for _ in 0..30 {
                assert!(ids(&mut journal).iter().all(|id| id.starts_with('w')));
            }
        });
    });
    let mut seen = ids(&mut open(folder));
    let count = seen.len();
    seen.sort();
    seen.dedup();
    assert_eq!((seen.len(), count), (160, 160));
    assert_eq!(fs::read(folder.join("struck.lock")).unwrap(), b"");
}

#[test]
fn what_is_no_regular_file_is_a_fault_and_never_waited_for() {
    let scratch = tempfile::tempdir().unwrap();
    let folder = scratch.path();
    fs::write(folder.join("e.jsonl"), line("A")).unwrap();
    fs::create_dir(folder.join("a.jsonl")).unwrap();
    rustix::fs::mkfifoat(
        rustix::fs::CWD,
        folder.join("b.jsonl"),
        rustix::fs::Mode::RWXU,
    )
    .unwrap();
    symlink(folder.join("e.jsonl"), folder.join("c.jsonl")).unwrap();
    symlink("nowhere", folder.join("d.jsonl")).unwrap();
    let mut journal = open(folder);
    assert_eq!(ids(&mut journal), ["A"]);
    let faults: Vec<_> = journal
        .faults()
        .map(|(number, fault)| (number, fault.clone()))
        .collect();
    let what = |what| FileFault::NotAFile { what };
    let link = "a link to another place";
    assert_eq!(
        faults,
        [
            (0, what("a folder")),
            (1, what("a pipe")),
            (2, what(link)),
            (3, what(link))
        ]
    );
    assert_eq!(journal.refresh(&mut |_| ()).unwrap(), Refreshed::Same);
    for name in ["a.jsonl", "b.jsonl", "c.jsonl"] {
        let target = Target::in_folder(folder, name, "");
        let refusal = append(&RealDisk, &target, &[line("B")], PriorAppend::Settled).unwrap_err();
        assert!(
            matches!(refusal, AppendRefusal::Disk(_) | AppendRefusal::NotAFile(_)),
            "{refusal:?}"
        );
    }
    assert_eq!(
        fs::read(folder.join("e.jsonl")).unwrap(),
        line("A"),
        "nothing goes through a link"
    );
    assert!(Journal::open(Arc::new(RealDisk), &folder.join("b.jsonl"), 1).is_err());
    assert!(Journal::open(Arc::new(RealDisk), &folder.join("z.jsonl"), 1).is_err());
}

#[test]
fn new_folders_and_files_are_private_and_shared_folders_stay_shared() {
    let scratch = tempfile::tempdir().unwrap();
    let folder = scratch.path().join("deep/journal");
    let journal = Journal::create(Arc::new(RealDisk), &folder, 1).unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o7777;
    assert_eq!(mode(&folder), 0o700);
    save(&journal.target("a.jsonl", ""), "A");
    assert_eq!(mode(&folder.join("a.jsonl")), 0o600);
    fs::set_permissions(&folder, Permissions::from_mode(0o770)).unwrap();
    save(&journal.target("b.jsonl", ""), "B");
    assert_eq!(mode(&folder.join("b.jsonl")), 0o660);
}

#[test]
fn a_lone_file_is_made_by_the_first_append_and_then_followed() {
    let scratch = tempfile::tempdir().unwrap();
    let path = scratch.path().join("bench.jsonl");
    let mut journal = Journal::create(Arc::new(RealDisk), &path, 1).unwrap();
    assert!(ids(&mut journal).is_empty() && journal.faults().next().is_none());
    assert_eq!(journal.refresh(&mut |_| ()).unwrap(), Refreshed::Same);
    save(&journal.target("unused", ""), "A");
    let mut seen = 0;
    assert_eq!(
        journal.refresh(&mut |_| seen += 1).unwrap(),
        Refreshed::Grown
    );
    assert_eq!(seen, 1);
    assert!(scratch.path().join("bench.jsonl.lock").exists());
}

#[test]
fn a_file_renamed_over_is_read_again_and_appended_to_under_its_name() {
    let scratch = tempfile::tempdir().unwrap();
    let (path, copy) = (scratch.path().join("a.jsonl"), scratch.path().join("copy"));
    let target = Target::in_folder(scratch.path(), "a.jsonl", "");
    save(&target, "A");
    let mut journal = open(scratch.path());
    assert_eq!(ids(&mut journal), ["A"]);
    fs::copy(&path, &copy).unwrap();
    fs::rename(&copy, &path).unwrap();
    save(&target, "B");
    assert_eq!(journal.refresh(&mut |_| ()).unwrap(), Refreshed::Reread);
    assert_eq!(ids(&mut journal), ["A", "B"]);
}

#[test]
fn a_lock_held_by_another_names_it_and_stays_empty() {
    let scratch = tempfile::tempdir().unwrap();
    save(&Target::in_folder(scratch.path(), "a.jsonl", ""), "first");
    let path = scratch.path().join("struck.lock");
    let rights = Rights {
        mode: 0o600,
        owner: rustix::process::getuid().as_raw(),
        group: rustix::process::getgid().as_raw(),
    };
    let held = take(&RealDisk, &path, rights, "pid 99 on barn").unwrap();
    let target = Target::in_folder(scratch.path(), "a.jsonl", "");
    let refusal = append(&RealDisk, &target, &[line("A")], PriorAppend::Settled).unwrap_err();
    assert!(
        matches!(&refusal, AppendRefusal::Locked { holder: Some(holder), .. } if holder == "pid 99 on barn"),
        "{refusal:?}"
    );
    assert_eq!(fs::read(&path).unwrap(), b"");
    drop(held);
    save(&target, "A");
    assert_eq!(fs::read(&path).unwrap(), b"");
}

/// A member of a group may give the lock's name to a file: it is neither locked nor touched.
#[test]
fn what_bears_the_lock_s_name_without_being_one_is_refused_by_name() {
    type Maker<'a> = (&'a str, &'a dyn Fn(&Path));
    let makers: [Maker; 4] = [
        ("a file with 2 names", &|lock| {
            fs::hard_link(lock.with_file_name("a.jsonl"), lock).unwrap();
        }),
        ("a folder", &|lock| fs::create_dir(lock).unwrap()),
        ("a pipe", &|lock| {
            rustix::fs::mkfifoat(rustix::fs::CWD, lock, rustix::fs::Mode::RWXU).unwrap();
        }),
        ("a link to another place", &|lock| {
            symlink("a.jsonl", lock).unwrap();
        }),
    ];
    for (what, make) in makers {
        let scratch = tempfile::tempdir().unwrap();
        let target = Target::in_folder(scratch.path(), "a.jsonl", "");
        save(&target, "A");
        let lock = scratch.path().join("struck.lock");
        fs::remove_file(&lock).unwrap();
        make(&lock);
        let before = fs::read(scratch.path().join("a.jsonl")).unwrap();
        let refusal = append(&RealDisk, &target, &[line("B")], PriorAppend::Settled).unwrap_err();
        assert!(
            refusal.to_string().contains("struck.lock"),
            "{what}: {refusal}"
        );
        assert_eq!(
            fs::read(scratch.path().join("a.jsonl")).unwrap(),
            before,
            "{what}"
        );
    }
}

#[test]
fn a_lone_journal_ends_in_jsonl_or_is_refused_untouched() {
    let scratch = tempfile::tempdir().unwrap();
    for name in ["Cargo", "notes.txt", "journal.json"] {
        let path = scratch.path().join(name);
        fs::write(&path, "of another").unwrap();
        fs::write(scratch.path().join(format!("{name}.lock")), "of another").unwrap();
        assert!(
            Journal::create(Arc::new(RealDisk), &path, 1).is_err(),
            "{name}"
        );
        assert_eq!(
            fs::read(scratch.path().join(format!("{name}.lock"))).unwrap(),
            b"of another"
        );
    }
}

/// Equal length, outside of the bytes at both ends that are always compared, with a line added.
#[test]
fn a_line_changed_in_place_is_noticed_though_another_was_added() {
    let scratch = tempfile::tempdir().unwrap();
    let path = scratch.path().join("a.jsonl");
    let text: String = (0..400)
        .map(|n| String::from_utf8(line(&format!("N{n:04}"))).unwrap() + "\n")
        .collect();
    fs::write(&path, &text).unwrap();
    let mut journal = open(scratch.path());
    assert_eq!(ids(&mut journal).len(), 400);
    let changed = text.replace("N0200", "M0200") + &String::from_utf8(line("Z")).unwrap() + "\n";
    fs::write(&path, changed).unwrap();
    let mut went = journal.refresh(&mut |_| ()).unwrap();
    if went == Refreshed::Grown {
        went = journal.refresh(&mut |_| ()).unwrap();
    }
    assert_eq!(went, Refreshed::Reread);
    assert!(ids(&mut journal).contains(&"M0200".to_owned()));
}
