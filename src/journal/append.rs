//! Appending: durable or not acknowledged. It opens anew each time, only ever adds at the end, and
//! never shortens, rewrites or removes a byte.

use super::codec::Unwritable;
use super::disk::{Disk, FileSort, Handle, OpenMode, Rights, Stat};
use super::disk_error::{DiskError, DiskStep};
use super::line::LONGEST_WRITTEN;
use super::lock::{LockFailure, LockGuard, names, take};
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Permission bits of a file in a folder that only its owner may write in.
const PRIVATE: u32 = 0o600;
/// Permission bits of a file in a folder that its group may write in.
const SHARED: u32 = 0o660;
const GROUP_WRITES: u32 = 0o020;
/// How often to open anew when the file is replaced under our hands.
const TRIES: usize = 5;
/// Name of the lock file in a journal's folder.
const LOCK: &str = "struck.lock";

/// Where to append, and under whose name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Target {
    folder: PathBuf,
    file: PathBuf,
    lock: PathBuf,
    holder: String,
}

impl Target {
    /// The file `name` (see [`file_name`]) in a journal's folder. `holder` is written into the lock
    /// while it is held, such as `pid 4711 on potting-shed`.
    #[must_use]
    pub fn in_folder(folder: &Path, name: &str, holder: &str) -> Self {
        Self {
            folder: folder.to_owned(),
            file: folder.join(name),
            lock: folder.join(LOCK),
            holder: holder.to_owned(),
        }
    }

    /// A journal that is one file, locked by `<file>.lock` beside it.
    #[must_use]
    pub fn lone(file: &Path, holder: &str) -> Self {
        let mut lock = file.as_os_str().to_owned();
        lock.push(".lock");
        let folder = match file.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        Self {
            folder: folder.to_owned(),
            file: file.to_owned(),
            lock: PathBuf::from(lock),
            holder: holder.to_owned(),
        }
    }
}

/// The name of a writer's own file, `<host>-<user>-<random>.jsonl`; anything but letters, digits
/// and `_` becomes `_` in host and user, so that the name is plain everywhere.
#[must_use]
pub fn file_name(host: &str, user: &str, random: &str) -> String {
    let plain = |words: &str| -> String {
        let keep = |sign: char| {
            if sign.is_ascii_alphanumeric() {
                sign
            } else {
                '_'
            }
        };
        words.chars().take(40).map(keep).collect()
    };
    format!("{}-{}-{}.jsonl", plain(host), plain(user), plain(random))
}

/// What became of an append that was not refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AppendOutcome {
    /// Every line is on stable storage, under the name the path has. Only this is "saved".
    Saved {
        /// Offset of the first line's first byte.
        offset: u64,
        /// Length of the file afterwards, in bytes.
        end: u64,
        /// Whether a torn line was closed first.
        closed_tail: bool,
    },
    /// Some or all of it may be on the disk, or may yet vanish: nothing may be assumed. The same
    /// lines, with the same ids, are to be appended again with [`PriorAppend::Uncertain`].
    Unknown(AppendDoubt),
}

/// Why nothing was written.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum AppendRefusal {
    /// Another writer kept the lock for longer than the deadline.
    #[error("{} is held by {}", .path.display(), .holder.as_deref().unwrap_or("another writer"))]
    Locked {
        /// The lock file.
        path: PathBuf,
        /// Who holds it, if that is known.
        holder: Option<String>,
    },
    /// What bears the lock's name is no lock.
    #[error("{} should be an empty lock file, but is {what}", .path.display())]
    NoLock {
        /// Its path.
        path: PathBuf,
        /// What it is, in words.
        what: String,
    },
    /// The disk refused before anything was written.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// The path is no regular file.
    #[error("{} is no regular file", .0.display())]
    NotAFile(PathBuf),
    /// The file was replaced again and again while it was being opened.
    #[error("{} is being replaced again and again", .0.display())]
    KeepsChanging(PathBuf),
    /// An entry cannot be put into a line.
    #[error(transparent)]
    Unwritable(#[from] Unwritable),
    /// A line is longer than is written, or holds a newline, or there is none.
    #[error(
        "line {index} of the entry would have {len} bytes, and at most {LONGEST_WRITTEN} are written"
    )]
    Unfit {
        /// Which of the lines, from 0.
        index: usize,
        /// Its length in bytes.
        len: usize,
    },
}

impl From<LockFailure> for AppendRefusal {
    fn from(failure: LockFailure) -> Self {
        match failure {
            LockFailure::Held { path, holder } => Self::Locked { path, holder },
            LockFailure::NoLock { path, what } => Self::NoLock { path, what },
            LockFailure::Disk(error) => Self::Disk(error),
        }
    }
}

/// Why the outcome is unknown.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum AppendDoubt {
    /// The disk took only a part: it is probably full, or a limit was met.
    #[error("only {written} of {due} bytes went onto the disk, which is probably full")]
    Short {
        /// Bytes taken.
        written: usize,
        /// Bytes given.
        due: usize,
    },
    /// The write or the sync failed.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// The file was replaced by another (a sync tool renaming a copy over it) during the write.
    #[error("{} was replaced by another file during the save", .0.display())]
    Replaced(PathBuf),
}

impl AppendRefusal {
    /// What can be done, a sentence.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Locked { .. } => "Let the other program finish or close it, then save again.",
            Self::NoLock { .. } => {
                "Look at it, then move it out of the way: the lock is made anew."
            }
            Self::Disk(error) => error.remedy,
            Self::NotAFile(_) => {
                "Move it out of the way; a journal is written to regular files only."
            }
            Self::KeepsChanging(_) => "Let the sync tool finish, then save again.",
            Self::Unwritable(_) => "Enter the number again.",
            Self::Unfit { .. } => "Shorten the note to well under a million characters.",
        }
    }
}

impl AppendDoubt {
    /// What can be done, a sentence.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Short { .. } => {
                "Free some space on that disk, then save again: nothing is entered twice."
            }
            Self::Disk(trouble) => trouble.remedy,
            Self::Replaced(_) => "Save again: nothing is entered twice.",
        }
    }
}

/// Whether the outcome of the append before this one is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PriorAppend {
    /// The outcome of every earlier append to this file is settled.
    Settled,
    /// The outcome of an earlier append to this file is unknown. What the file seems to end with may not be
    /// on the disk, so the write begins with a newline of its own in any case.
    Uncertain,
}

/// Appends whole lines (given without newlines) in one write, and returns once they are on stable
/// storage. The folder must be there.
///
/// # Errors
/// When nothing was written: see [`AppendRefusal`].
pub fn append(
    disk: &dyn Disk,
    target: &Target,
    lines: &[Vec<u8>],
    prior: PriorAppend,
) -> Result<AppendOutcome, AppendRefusal> {
    fit(lines)?;
    let locked = lock(disk, target)?;
    append_locked(disk, target, &locked, lines, prior)
}

/// The right to append to a journal, held until it is dropped.
pub struct Locked<'d> {
    rights: Rights,
    _guard: LockGuard<'d>,
}

/// Takes the journal's lock, so that what is read from now on stands until the append.
///
/// # Errors
/// When it is not had: see [`AppendRefusal`].
pub fn lock<'d>(disk: &'d dyn Disk, target: &Target) -> Result<Locked<'d>, AppendRefusal> {
    let rights = rights_in(disk, &target.folder)?;
    let guard = take(disk, &target.lock, rights, &target.holder)?;
    Ok(Locked {
        rights,
        _guard: guard,
    })
}

/// As [`append`], under the lock that is held already.
///
/// # Errors
/// When nothing was written: see [`AppendRefusal`].
pub fn append_locked(
    disk: &dyn Disk,
    target: &Target,
    locked: &Locked<'_>,
    lines: &[Vec<u8>],
    prior: PriorAppend,
) -> Result<AppendOutcome, AppendRefusal> {
    fit(lines)?;
    let file = open(disk, target, locked.rights)?;
    if file.stat.len == 0 {
        // Before the first line: so a file with lines in it always has a name that lasts.
        disk.sync_folder(&target.folder)
            .map_err(|error| DiskError::new(DiskStep::Sync, &target.folder, &error))?;
    }
    let closed_tail = torn(&file, &target.file)?;
    let mut text = Vec::with_capacity(lines.iter().map(|line| line.len() + 1).sum::<usize>() + 1);
    if closed_tail || (prior == PriorAppend::Uncertain && file.stat.len > 0) {
        text.push(b'\n');
    }
    let offset = file.stat.len + text.len() as u64;
    for line in lines {
        text.extend_from_slice(line);
        text.push(b'\n');
    }
    match write_once(&*file.handle, &text) {
        Ok(count) if count == text.len() => {}
        Ok(0) => return Err(full(&target.file)),
        Ok(written) => {
            return Ok(AppendOutcome::Unknown(AppendDoubt::Short {
                written,
                due: text.len(),
            }));
        }
        Err(error) if untouched(&file) => {
            return Err(DiskError::new(DiskStep::Write, &target.file, &error).into());
        }
        Err(error) => return Ok(doubt(DiskStep::Write, &target.file, &error)),
    }
    if let Err(error) = file.handle.sync() {
        return Ok(doubt(DiskStep::Sync, &target.file, &error));
    }
    if !names(disk, &target.file, &*file.handle) {
        return Ok(AppendOutcome::Unknown(AppendDoubt::Replaced(
            target.file.clone(),
        )));
    }
    Ok(AppendOutcome::Saved {
        offset,
        end: file.stat.len + text.len() as u64,
        closed_tail,
    })
}

/// Whether a failed write left the file as long as it was.
fn untouched(file: &OpenFile) -> bool {
    file.handle
        .stat()
        .is_ok_and(|stat| stat.len == file.stat.len)
}

fn doubt(step: DiskStep, path: &Path, error: &io::Error) -> AppendOutcome {
    AppendOutcome::Unknown(AppendDoubt::Disk(DiskError::new(step, path, error)))
}

/// A write that takes no byte and gives no reason: treated as a full disk.
fn full(path: &Path) -> AppendRefusal {
    let error = io::Error::from_raw_os_error(rustix::io::Errno::NOSPC.raw_os_error());
    AppendRefusal::Disk(DiskError::new(DiskStep::Write, path, &error))
}

fn fit(lines: &[Vec<u8>]) -> Result<(), AppendRefusal> {
    if lines.is_empty() {
        return Err(AppendRefusal::Unfit { index: 0, len: 0 });
    }
    match lines
        .iter()
        .position(|line| line.len() > LONGEST_WRITTEN || line.is_empty() || line.contains(&b'\n'))
    {
        Some(index) => Err(AppendRefusal::Unfit {
            index,
            len: lines.get(index).map_or(0, Vec::len),
        }),
        None => Ok(()),
    }
}

/// What a new file in this folder is to bear: the folder's own owner and group, and the group's right to write if the
/// folder gives it.
fn rights_in(disk: &dyn Disk, folder: &Path) -> Result<Rights, AppendRefusal> {
    let stat = disk
        .stat(folder)
        .map_err(|error| DiskError::new(DiskStep::Look, folder, &error))?;
    let mode = if stat.mode & GROUP_WRITES == 0 {
        PRIVATE
    } else {
        SHARED
    };
    Ok(Rights {
        mode,
        owner: stat.owner,
        group: stat.group,
    })
}

struct OpenFile {
    handle: Box<dyn Handle>,
    stat: Stat,
}

/// Opens the target, making it if need be, until the path names the very file that is open.
fn open(disk: &dyn Disk, target: &Target, rights: Rights) -> Result<OpenFile, AppendRefusal> {
    let path = &target.file;
    for _ in 0..TRIES {
        let handle = match disk.open(path, OpenMode::Append) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                match disk.open(path, OpenMode::Create(rights)) {
                    Err(error) if error.kind() == io::ErrorKind::AlreadyExists => continue,
                    other => {
                        other.map_err(|error| DiskError::new(DiskStep::Create, path, &error))?
                    }
                }
            }
            other => other.map_err(|error| DiskError::new(DiskStep::Open, path, &error))?,
        };
        let stat = handle
            .stat()
            .map_err(|error| DiskError::new(DiskStep::Look, path, &error))?;
        if stat.sort != FileSort::Regular {
            return Err(AppendRefusal::NotAFile(path.clone()));
        }
        if names(disk, path, &*handle) {
            return Ok(OpenFile { handle, stat });
        }
    }
    Err(AppendRefusal::KeepsChanging(path.clone()))
}

/// Whether the file ends in a line without its newline.
fn torn(file: &OpenFile, path: &Path) -> Result<bool, AppendRefusal> {
    let Some(last) = file.stat.len.checked_sub(1) else {
        return Ok(false);
    };
    let mut byte = [0];
    loop {
        match file.handle.read_at(&mut byte, last) {
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(DiskError::new(DiskStep::Read, path, &error).into()),
            // A byte that is not there any more cannot be a newline either.
            Ok(count) => return Ok(count == 0 || byte != [b'\n']),
        }
    }
}

fn write_once(handle: &dyn Handle, text: &[u8]) -> io::Result<usize> {
    loop {
        match handle.write(text) {
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            other => return other,
        }
    }
}
