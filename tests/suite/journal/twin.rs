//! A disk in memory that fails on command: it keeps what was written apart from what was synced, can
//! fail, shorten or stop at any step, and rebuilds what a power cut leaves. It stores no real file.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::Duration;
use struck::journal::disk::{Disk, FileId, FileSort, Handle, OpenMode, Stat};

/// What happens at the step chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mishap {
    /// The call fails with this number and does nothing; a failed sync also forgets what was to be
    /// synced, as Linux does (a later sync then says that all is well).
    Error(i32),
    /// A write takes only so many bytes; other calls go through.
    Short(usize),
    /// A write takes so many bytes and fails all the same, as one over a network may; other calls go through.
    TakenYetFails(usize),
    /// The power goes before the call; this and all later calls fail.
    Cut,
    /// A write takes so many bytes and the power goes; other calls: as `Cut`.
    CutWithin(usize),
    /// Another file is renamed over the journal's before the call, and the renaming synced.
    Replace,
    /// The same to the lock file, if it is there.
    ReplaceLock,
}

#[derive(Debug, Default, Clone)]
struct File {
    cache: Vec<u8>,
    disk: Vec<u8>,
    dirty: Option<usize>,
    mode: u32,
    changes: i64,
    locked_by: Option<u64>,
    /// How many names it has, where that is not one.
    links: u64,
}

#[derive(Debug, Default)]
struct State {
    files: BTreeMap<u64, File>,
    names: BTreeMap<PathBuf, u64>,
    lasting: BTreeMap<PathBuf, u64>,
    folder_mode: u32,
    next_file: u64,
    next_handle: u64,
    step: usize,
    plan: Option<(usize, Mishap)>,
    happened: bool,
    dead: bool,
    waited: Duration,
    log: Vec<&'static str>,
    /// Who is said to hold which lock.
    holders: BTreeMap<u64, String>,
}

/// The disk; clones share it.
#[derive(Debug, Clone, Default)]
pub struct Twin(Arc<Mutex<State>>);

struct Open1 {
    twin: Twin,
    file: u64,
    handle: u64,
}

fn error(number: i32) -> io::Error {
    io::Error::from_raw_os_error(number)
}

const EIO: i32 = 5;
const ENOENT: i32 = 2;
const EEXIST: i32 = 17;

impl Twin {
    pub fn new() -> Self {
        let twin = Self::default();
        twin.state().folder_mode = 0o700;
        twin
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.0.lock().unwrap()
    }

    /// Puts a mishap at the n-th call from now, counted from 0.
    pub fn plan(&self, step: usize, mishap: Mishap) {
        let mut state = self.state();
        state.step = 0;
        state.plan = Some((step, mishap));
        state.happened = false;
        state.log.clear();
    }

    /// Whether the mishap came, and forgets it.
    pub fn settle(&self) -> bool {
        let mut state = self.state();
        state.plan = None;
        state.happened
    }

    pub fn folder_mode(&self, mode: u32) {
        self.state().folder_mode = mode;
    }

    pub fn waited(&self) -> Duration {
        self.state().waited
    }

    /// The calls since the plan was made.
    pub fn log(&self) -> Vec<&'static str> {
        self.state().log.clone()
    }

    /// Puts a file there, synced.
    pub fn put(&self, path: &str, bytes: &[u8]) {
        let mut state = self.state();
        let number = state.make(Path::new(path), 0o600);
        let file = state.files.get_mut(&number).unwrap();
        file.cache = bytes.to_vec();
        file.disk = bytes.to_vec();
        state.lasting = state.names.clone();
    }

    /// Another hand appends to a file.
    pub fn grow(&self, path: &str, bytes: &[u8]) {
        let old = self.bytes(path);
        self.rewrite(path, &[&old, bytes].concat());
    }

    /// Another hand rewrites a file where it stands.
    pub fn rewrite(&self, path: &str, bytes: &[u8]) {
        let mut state = self.state();
        let number = state.names[Path::new(path)];
        let file = state.files.get_mut(&number).unwrap();
        file.cache = bytes.to_vec();
        file.disk = bytes.to_vec();
        file.changes += 1;
    }

    /// Another hand removes a file.
    pub fn remove(&self, path: &str) {
        self.state().names.remove(Path::new(path));
    }

    /// The bytes at a path, as a reader sees them now.
    pub fn bytes(&self, path: &str) -> Vec<u8> {
        let state = self.state();
        let number = state.names.get(Path::new(path));
        number.map_or_else(Vec::new, |number| state.files[number].cache.clone())
    }

    pub fn mode(&self, path: &str) -> u32 {
        let state = self.state();
        state.files[&state.names[Path::new(path)]].mode
    }

    /// Gives a file a second name, as `ln` does.
    pub fn link(&self, old: &str, new: &str) {
        let mut state = self.state();
        let number = state.names[Path::new(old)];
        state.names.insert(new.into(), number);
        state.files.get_mut(&number).unwrap().links = 2;
    }

    /// Holds the lock of a path in another's name until the twin is gone.
    pub fn hold(&self, path: &str, words: &str) {
        let mut state = self.state();
        let number = state.make(Path::new(path), 0o600);
        let file = state.files.get_mut(&number).unwrap();
        file.locked_by = Some(u64::MAX);
        state.holders.insert(number, words.to_owned());
    }

    /// Every disk that a power cut now may leave: of what was not synced none, all or a part
    /// reached the disk, zero bytes may stand where a block was lost, a new name may be missing.
    pub fn after_cut(&self) -> Vec<Self> {
        let state = self.state();
        let mut worlds = vec![state.rebuilt(&state.lasting, |file| file.disk.clone())];
        for names in [&state.lasting, &state.names] {
            for part in [0usize, 1, 7, 40, usize::MAX] {
                worlds.push(state.rebuilt(names, |file| file.torn(part)));
            }
            worlds.push(state.rebuilt(names, File::zeroed));
        }
        worlds
    }
}

impl File {
    /// The synced bytes and the first `part` of those that were not.
    fn torn(&self, part: usize) -> Vec<u8> {
        let Some(from) = self.dirty else {
            return self.disk.clone();
        };
        let mut bytes = self.disk.clone();
        bytes.resize(from, 0);
        let end = from.saturating_add(part).min(self.cache.len());
        bytes.extend_from_slice(&self.cache[from..end]);
        bytes
    }

    /// The length reached the disk, the bytes did not.
    fn zeroed(&self) -> Vec<u8> {
        let mut bytes = self.disk.clone();
        bytes.resize(self.cache.len().max(bytes.len()), 0);
        bytes
    }
}

impl State {
    fn make(&mut self, path: &Path, mode: u32) -> u64 {
        let number = self.next_file;
        self.next_file += 1;
        self.files.insert(
            number,
            File {
                mode,
                ..File::default()
            },
        );
        self.names.insert(path.to_owned(), number);
        number
    }

    fn rebuilt(&self, names: &BTreeMap<PathBuf, u64>, bytes: impl Fn(&File) -> Vec<u8>) -> Twin {
        let twin = Twin::new();
        for (path, number) in names {
            twin.put(path.to_str().unwrap(), &bytes(&self.files[number]));
        }
        twin
    }

    /// Counts a call and says what is to happen in it.
    fn step(&mut self, call: &'static str) -> io::Result<Option<Mishap>> {
        self.log.push(call);
        if self.dead {
            return Err(error(EIO));
        }
        let now = self.step;
        self.step += 1;
        let Some((step, mishap)) = self.plan else {
            return Ok(None);
        };
        if now != step {
            return Ok(None);
        }
        self.happened = true;
        match mishap {
            Mishap::Error(number) if call != "sync" => Err(error(number)),
            Mishap::Cut => {
                self.dead = true;
                Err(error(EIO))
            }
            Mishap::CutWithin(_) if call != "write" => {
                self.dead = true;
                Err(error(EIO))
            }
            Mishap::Replace | Mishap::ReplaceLock => {
                let end = match mishap {
                    Mishap::ReplaceLock => "lock",
                    _ => "jsonl",
                };
                let own = self
                    .names
                    .keys()
                    .find(|path| path.extension().is_some_and(|e| e == end))
                    .cloned();
                if let Some(path) = own {
                    let old = self.files[&self.names[&path]].cache.clone();
                    let number = self.make(&path, 0o600);
                    let file = self.files.get_mut(&number).unwrap();
                    file.cache = old.clone();
                    file.disk = old;
                    self.lasting.insert(path, number);
                }
                Ok(None)
            }
            other => Ok(Some(other)),
        }
    }

    fn stat(&self, number: u64) -> Stat {
        let file = &self.files[&number];
        Stat {
            id: FileId { device: 1, number },
            sort: FileSort::Regular,
            len: file.cache.len() as u64,
            mode: file.mode,
            owner: 1000,
            group: 1000,
            links: file.links.max(1),
            modified: (file.changes, 0),
            changed: (file.changes, 0),
        }
    }
}

impl Handle for Open1 {
    fn stat(&self) -> io::Result<Stat> {
        let mut state = self.twin.state();
        state.step("fstat")?;
        Ok(state.stat(self.file))
    }

    fn read_at(&self, buffer: &mut [u8], offset: u64) -> io::Result<usize> {
        let mut state = self.twin.state();
        state.step("read")?;
        let file = &state.files[&self.file].cache;
        let rest = file.get(usize::try_from(offset).unwrap()..).unwrap_or(&[]);
        let count = rest.len().min(buffer.len());
        buffer[..count].copy_from_slice(&rest[..count]);
        Ok(count)
    }

    fn write(&self, bytes: &[u8]) -> io::Result<usize> {
        let mut state = self.twin.state();
        let mishap = state.step("write")?;
        let taken = match mishap {
            Some(Mishap::Short(most) | Mishap::CutWithin(most) | Mishap::TakenYetFails(most)) => {
                most.min(bytes.len())
            }
            _ => bytes.len(),
        };
        let file = state.files.get_mut(&self.file).unwrap();
        file.dirty = file.dirty.or(Some(file.cache.len()));
        file.cache.extend_from_slice(&bytes[..taken]);
        file.changes += 1;
        if matches!(mishap, Some(Mishap::CutWithin(_))) {
            state.dead = true;
        }
        if matches!(
            mishap,
            Some(Mishap::CutWithin(_) | Mishap::TakenYetFails(_))
        ) {
            return Err(error(EIO));
        }
        Ok(taken)
    }

    fn sync(&self) -> io::Result<()> {
        let mut state = self.twin.state();
        let mishap = state.step("sync")?;
        let file = state.files.get_mut(&self.file).unwrap();
        let dirty = file.dirty.take();
        if let Some(Mishap::Error(number)) = mishap {
            return Err(error(number));
        }
        if let Some(from) = dirty {
            file.disk.resize(from, 0);
            let fresh = file.cache[from..].to_vec();
            file.disk.extend_from_slice(&fresh);
        }
        Ok(())
    }

    fn try_lock(&self) -> io::Result<bool> {
        let mut state = self.twin.state();
        state.step("lock")?;
        let file = state.files.get_mut(&self.file).unwrap();
        let free = file.locked_by.is_none_or(|by| by == self.handle);
        if free {
            file.locked_by = Some(self.handle);
        }
        Ok(free)
    }
}

impl Drop for Open1 {
    fn drop(&mut self) {
        let mut state = self.twin.state();
        let file = state.files.get_mut(&self.file).unwrap();
        if file.locked_by == Some(self.handle) {
            file.locked_by = None;
        }
    }
}

impl Disk for Twin {
    fn open(&self, path: &Path, how: OpenMode) -> io::Result<Box<dyn Handle>> {
        let mut state = self.state();
        state.step("open")?;
        let file = match (state.names.get(path).copied(), how) {
            (Some(_), OpenMode::Create(_)) => return Err(error(EEXIST)),
            (Some(file), _) => file,
            (None, OpenMode::Create(rights) | OpenMode::Lock(rights)) => {
                state.make(path, rights.mode)
            }
            (None, _) => return Err(error(ENOENT)),
        };
        state.next_handle += 1;
        let handle = state.next_handle;
        Ok(Box::new(Open1 {
            twin: self.clone(),
            file,
            handle,
        }))
    }

    fn stat(&self, path: &Path) -> io::Result<Stat> {
        let mut state = self.state();
        state.step("stat")?;
        if let Some(number) = state.names.get(path) {
            return Ok(state.stat(*number));
        }
        if path != Path::new("/j") {
            return Err(error(ENOENT));
        }
        let id = FileId {
            device: 1,
            number: u64::MAX,
        };
        let mode = state.folder_mode;
        Ok(Stat {
            id,
            sort: FileSort::Folder,
            len: 0,
            mode,
            owner: 1000,
            group: 1000,
            links: 2,
            modified: (0, 0),
            changed: (0, 0),
        })
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<(PathBuf, FileSort)>> {
        let mut state = self.state();
        state.step("list")?;
        let names = state
            .names
            .keys()
            .filter_map(|path| path.strip_prefix(folder).ok())
            .filter(|name| name.components().count() == 1);
        Ok(names
            .map(|name| (name.to_owned(), FileSort::Regular))
            .collect())
    }

    fn create_folder(&self, _folder: &Path) -> io::Result<()> {
        self.state().step("create folder").map(drop)
    }

    fn sync_folder(&self, _folder: &Path) -> io::Result<()> {
        let mut state = self.state();
        match state.step("sync folder")? {
            Some(Mishap::Error(number)) => Err(error(number)),
            _ => {
                state.lasting = state.names.clone();
                Ok(())
            }
        }
    }

    fn publish_holder(&self, lock: FileId, holder: &str) {
        self.state().holders.insert(lock.number, holder.to_owned());
    }

    fn withdraw_holder(&self, lock: FileId) {
        self.state().holders.remove(&lock.number);
    }

    fn holder(&self, lock: FileId) -> Option<String> {
        self.state().holders.get(&lock.number).cloned()
    }

    fn wait(&self, time: Duration) {
        self.state().waited += time;
    }
}
