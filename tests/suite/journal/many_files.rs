//! A journal of very many files followed: what a look costs, and how soon each change is seen.

use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;
use struck::journal::disk::{Disk, FileId, FileSort, Handle, OpenMode, Stat};
use struck::journal::reading::{Journal, Refreshed};
use struck::journal::real::RealDisk;
use struck::model::fault::Arrival;
use tempfile::TempDir;

const FILES: usize = 720;
/// Looks within which every file is looked at.
const ROUND: usize = 36;

/// A real disk that counts the files it looks at or opens, and the listings.
#[derive(Default)]
struct Counting {
    looks: AtomicUsize,
    listings: AtomicUsize,
}

impl Disk for Counting {
    fn open(&self, path: &Path, how: OpenMode) -> io::Result<Box<dyn Handle>> {
        self.looks.fetch_add(1, Ordering::Relaxed);
        RealDisk.open(path, how)
    }
    fn stat(&self, path: &Path) -> io::Result<Stat> {
        self.looks.fetch_add(1, Ordering::Relaxed);
        RealDisk.stat(path)
    }
    fn list(&self, folder: &Path) -> io::Result<Vec<(PathBuf, FileSort)>> {
        self.listings.fetch_add(1, Ordering::Relaxed);
        RealDisk.list(folder)
    }
    fn create_folder(&self, folder: &Path) -> io::Result<()> {
        RealDisk.create_folder(folder)
    }
    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        RealDisk.sync_folder(folder)
    }
    fn publish_holder(&self, lock: FileId, holder: &str) {
        RealDisk.publish_holder(lock, holder);
    }
    fn withdraw_holder(&self, lock: FileId) {
        RealDisk.withdraw_holder(lock);
    }
    fn holder(&self, lock: FileId) -> Option<String> {
        RealDisk.holder(lock)
    }
    fn wait(&self, time: Duration) {
        RealDisk.wait(time);
    }
}

struct Followed {
    folder: TempDir,
    disk: Arc<Counting>,
    journal: Journal,
}

fn line(id: usize) -> String {
    format!(r#"{{"v":1,"id":"R{id}","at":"2026-06-14","kind":"remark","note":"seen"}}"#) + "\n"
}

/// More than the moment that the times of files tell apart.
fn a_moment_later() {
    std::thread::sleep(Duration::from_millis(30));
}

impl Followed {
    /// A journal of many files, read, and looked at until the folder is known to be calm.
    fn new() -> Self {
        let folder = TempDir::new().unwrap();
        for file in 0..FILES {
            fs::write(name(&folder, file), line(file)).unwrap();
        }
        a_moment_later();
        let disk = Arc::new(Counting::default());
        let mut journal = Journal::open(Arc::clone(&disk) as _, folder.path(), 1).unwrap();
        let mut count = 0;
        journal.read(&mut |_| count += 1).unwrap();
        assert_eq!(count, FILES);
        let mut followed = Self {
            folder,
            disk,
            journal,
        };
        followed.calm();
        followed
    }

    fn calm(&mut self) {
        for _ in 0..3 {
            assert_eq!(self.look(), (Refreshed::Same, Vec::new()));
        }
    }

    fn look(&mut self) -> (Refreshed, Vec<String>) {
        let mut seen = Vec::new();
        let take = &mut |it: Arrival| seen.push(it.entry.unwrap().id.to_string());
        let refreshed = self.journal.follow(take).unwrap();
        (refreshed, seen)
    }

    /// Appends an entry to a file, as another program does.
    fn append(&self, file: usize, id: usize) {
        let mut options = OpenOptions::new();
        let mut opened = options.append(true).open(name(&self.folder, file)).unwrap();
        opened.write_all(line(id).as_bytes()).unwrap();
    }
}

fn name(folder: &TempDir, file: usize) -> PathBuf {
    folder.path().join(format!("m{file:04}.jsonl"))
}

#[test]
fn a_look_costs_a_few_files_and_a_round_of_looks_sees_them_all() {
    let mut followed = Followed::new();
    let count = |of: &AtomicUsize| of.swap(0, Ordering::Relaxed);
    count(&followed.disk.looks);
    count(&followed.disk.listings);
    for _ in 0..ROUND {
        followed.look();
        let looks = count(&followed.disk.looks);
        assert!(looks <= 1 + 16 + FILES / ROUND, "{looks} files looked at");
    }
    assert_eq!(count(&followed.disk.listings), 0);
    // Files that nobody wrote to for long, all over the journal.
    for (number, file) in [0, 1, 350, 351, FILES - 1].into_iter().enumerate() {
        let id = 5000 + number;
        followed.append(file, id);
        let seen = (0..ROUND).find(|_| followed.look().1 == [format!("R{id}")]);
        assert!(seen.is_some(), "file {file}");
    }
}

#[test]
fn a_file_written_to_of_late_is_seen_at_the_next_look() {
    let mut followed = Followed::new();
    followed.append(400, 6000);
    while followed.look().1.is_empty() {}
    for id in 6001..6040 {
        a_moment_later();
        followed.append(400, id);
        let seen = followed.look();
        assert_eq!(seen, (Refreshed::Grown, vec![format!("R{id}")]));
    }
}

#[test]
fn a_file_that_comes_goes_or_is_put_in_another_s_place_is_seen_at_the_next_look() {
    let mut followed = Followed::new();
    fs::write(name(&followed.folder, 9000), line(7000)).unwrap();
    assert_eq!(
        followed.look(),
        (Refreshed::Grown, vec!["R7000".to_owned()])
    );
    // One of the very moment of the one before is found by the listing that follows a change.
    fs::write(name(&followed.folder, 9001), line(7001)).unwrap();
    assert_eq!(followed.look().1, ["R7001"]);
    a_moment_later();
    followed.calm();
    let aside = followed.folder.path().join("aside");
    fs::write(&aside, line(7002)).unwrap();
    fs::rename(&aside, name(&followed.folder, 300)).unwrap();
    assert_eq!(followed.look().0, Refreshed::Reread);
    followed.journal.read(&mut |_| ()).unwrap();
    a_moment_later();
    followed.calm();
    fs::remove_file(name(&followed.folder, 301)).unwrap();
    assert_eq!(followed.look().0, Refreshed::Reread);
}
