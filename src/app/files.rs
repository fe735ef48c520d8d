//! Every file that is no journal: drafts, this machine's own file name, imports, exports, and the sample journals, which are
//! embedded in the program. It never touches the user's journal.

use super::failure::Failure;
use super::files;
use crate::handover::HandoverFile;
use crate::model::text::hex;
use rustix::fs::{Dir, Mode, OFlags};
use rustix::io::Errno;
use rustix::process::{Pid, test_kill_process};
use sha2::{Digest, Sha256};
use std::ffi::OsStr;
use std::fs::{DirBuilder, File, OpenOptions, TryLockError};
use std::io::{Read, Write};
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::{fs, io};

/// Longest draft that is kept or read, in bytes.
const LONGEST_DRAFT: u64 = 4 << 20;

/// Makes a folder and those above it, open to its owner alone.
///
/// # Errors
/// Whatever the system says.
pub fn private_folder(path: &Path) -> io::Result<()> {
    DirBuilder::new().recursive(true).mode(0o700).create(path)
}

/// Puts a small file in place whole: written aside, synced, then renamed, readable by its owner alone.
///
/// # Errors
/// Whatever the system says; the file is then as it was.
pub fn put(path: &Path, text: &str) -> io::Result<()> {
    // A name of this process alone, so that two sessions do not take each other's away.
    let aside = path.with_extension(format!("{}.new", std::process::id()));
    // Removed first, so that its permissions are ours and no link is followed.
    match fs::remove_file(&aside) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
        _ => {}
    }
    write_new(&aside, text.as_bytes(), OWNER_ALONE)?;
    fs::rename(&aside, path)
}

/// Rights of a file that its owner alone reads and writes.
const OWNER_ALONE: u32 = 0o600;
/// Rights of a file that is handed out, before the user's mask.
const AS_USUAL: u32 = 0o666;

/// Writes and syncs a file that must not be there yet, with these rights.
fn write_new(path: &Path, bytes: &[u8], rights: u32) -> io::Result<()> {
    let mut options = OpenOptions::new();
    let mut file = options
        .write(true)
        .create_new(true)
        .mode(rights)
        .open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// Opens a file of somebody else's to read it from its start; a folder is refused. Says whether it can be
/// opened again from its start, which a pipe cannot.
///
/// # Errors
/// Whatever the system says.
pub fn foreign(path: &Path) -> io::Result<(Box<dyn Read>, bool)> {
    // Without NONBLOCK, opening a pipe would wait for whoever writes into it.
    let flags = OFlags::NONBLOCK | OFlags::NOCTTY;
    let mut options = OpenOptions::new();
    let options = options.read(true).custom_flags(flags.bits().cast_signed());
    let file = options.open(path)?;
    let sort = file.metadata()?.file_type();
    if sort.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    Ok((Box::new(file), sort.is_file()))
}

/// Makes a folder that must not be there yet.
///
/// # Errors
/// Whatever the system says.
pub fn new_folder(path: &Path) -> io::Result<()> {
    DirBuilder::new().mode(0o700).create(path)
}

/// Writes a file that must not be there yet, readable by its owner alone.
///
/// # Errors
/// Whatever the system says.
pub fn put_new(path: &Path, text: &str) -> io::Result<()> {
    write_new(path, text.as_bytes(), OWNER_ALONE)
}

/// Makes a folder and those above it as they are usually made.
///
/// # Errors
/// Whatever the system says.
pub fn make_folder(path: &Path) -> io::Result<()> {
    fs::create_dir_all(path)
}

/// The names of what lies in a folder, in order; nothing if the folder is not there.
///
/// # Errors
/// Whatever the system says.
pub fn listed(folder: &Path) -> io::Result<Option<Vec<String>>> {
    let paths = match names(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        other => other?,
    };
    // A listing names the folder itself and the one above it as well.
    let inside = paths.iter().filter(|path| path.parent() == Some(folder));
    let names = inside.filter_map(|path| path.file_name());
    let mut names: Vec<String> = names
        .map(|name| name.to_string_lossy().into_owned())
        .collect();
    names.sort();
    Ok(Some(names))
}

/// A path beside another, named after this process, for what is written aside.
fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{}.{ending}", std::process::id()));
    path.with_file_name(name)
}

/// Puts a file that is handed out in place whole, with the usual rights.
///
/// # Errors
/// Whatever the system says; the file is then as it was.
pub fn put_bytes(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let aside = beside(path, "new");
    write_new(&aside, bytes, AS_USUAL)
        .and_then(|()| fs::rename(&aside, path))
        .inspect_err(|error| {
            // One that was there already is another's.
            if error.kind() != io::ErrorKind::AlreadyExists {
                let _ = fs::remove_file(&aside);
            }
        })
}

/// Puts a folder of files in place whole, their names being paths in it: made aside under a name that no reader of folders
/// takes for its own, then renamed. With `replaces` what is there gives way and is taken away.
///
/// # Errors
/// Whatever the system says; what was there is then as it was.
pub fn put_folder(folder: &Path, made: &[HandoverFile], replaces: bool) -> io::Result<()> {
    let name = folder.file_name().unwrap_or_default().to_string_lossy();
    let parent = folder.parent().filter(|it| !it.as_os_str().is_empty());
    let parent = parent.unwrap_or(Path::new("."));
    sweep_asides(parent, &format!(".{name}."));
    let aside = parent.join(format!(".{name}.{}.new", std::process::id()));
    let done = fs::create_dir(&aside).and_then(|()| {
        for file in made {
            let path = aside.join(&file.name);
            let inside = path.parent().unwrap_or(&aside);
            fs::create_dir_all(inside)?;
            write_new(&path, &file.bytes, AS_USUAL)?;
            File::open(inside)?.sync_all()?;
        }
        File::open(&aside)?.sync_all()?;
        match replaces {
            true => exchange(&aside, folder)?,
            false => fs::rename(&aside, folder)?,
        }
        File::open(parent)?.sync_all()
    });
    // What it holds now is what was there before, or what could not be put in place. It does no harm where it stays.
    let _ = fs::remove_dir_all(&aside);
    done
}

/// Puts a folder in the place of another, so that at no moment there is none where the system can do that.
fn exchange(aside: &Path, folder: &Path) -> io::Result<()> {
    #[cfg(target_os = "linux")]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        match renameat_with(CWD, aside, CWD, folder, RenameFlags::EXCHANGE) {
            Err(Errno::NOENT | Errno::INVAL | Errno::NOSYS | Errno::OPNOTSUPP) => {}
            done => return done.map_err(Into::into),
        }
    }
    if !folder.exists() {
        return fs::rename(aside, folder);
    }
    let old = aside.with_extension("old");
    fs::rename(folder, &old)?;
    fs::rename(aside, folder).inspect_err(|_| {
        let _ = fs::rename(&old, folder);
    })?;
    fs::rename(&old, aside)
}

/// Takes away what processes that were ended in the middle of [`put_folder`] left aside in a folder.
fn sweep_asides(folder: &Path, beginning: &str) {
    for path in names(folder).unwrap_or_default() {
        let named = |name: &OsStr| name.to_string_lossy().starts_with(beginning);
        let left = writer(&path).is_some_and(|it| test_kill_process(it) == Err(Errno::SRCH));
        if path.file_name().is_some_and(named) && left {
            // It does no harm where it cannot be removed.
            let _ = fs::remove_dir_all(path);
        }
    }
}

/// Folders below one another are looked into so deep.
const DEEPEST: usize = 8;

/// The files of lines below a path, or the path itself if it is no folder; names that begin with a dot are passed over.
///
/// # Errors
/// Whatever the system says of a folder, with its path.
pub fn lines_below(path: &Path) -> Result<Vec<PathBuf>, (PathBuf, io::Error)> {
    let mut found = Vec::new();
    gather_below(path, DEEPEST, &mut found)?;
    found.sort();
    Ok(found)
}

fn gather_below(
    path: &Path,
    deep: usize,
    found: &mut Vec<PathBuf>,
) -> Result<(), (PathBuf, io::Error)> {
    let failed = |error| (path.to_owned(), error);
    if !fs::metadata(path).map_err(failed)?.is_dir() {
        found.push(path.to_owned());
        return Ok(());
    }
    for name in listed(path).map_err(failed)?.unwrap_or_default() {
        let inside = path.join(&name);
        let is_folder = inside.is_dir();
        if !name.starts_with('.') && (is_folder && deep > 0 || name.ends_with(".jsonl")) {
            gather_below(&inside, deep.saturating_sub(1), found)?;
        }
    }
    Ok(())
}

/// Reads a small text file; nothing if it is not there.
///
/// # Errors
/// Whatever the system says, and if it is no text or too long.
pub fn get(path: &Path) -> io::Result<Option<String>> {
    let file = match File::open(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        other => other?,
    };
    let mut text = String::new();
    file.take(LONGEST_DRAFT + 1).read_to_string(&mut text)?;
    if text.len() as u64 > LONGEST_DRAFT {
        return Err(io::ErrorKind::FileTooLarge.into());
    }
    Ok(Some(text))
}

/// The system's own number for this machine, which does not change while it lives.
const MACHINE_ID: &str = "/etc/machine-id";

/// A fingerprint of this machine, from its name and the system's number for it where there is one.
#[must_use]
pub fn machine(host: &str) -> String {
    let id = get(Path::new(MACHINE_ID))
        .ok()
        .flatten()
        .unwrap_or_default();
    let hash = Sha256::digest(format!("{host}\n{}", id.trim()));
    hex(&hash[..8])
}

/// What a draft holds: the text as typed and, once it was to be saved, the lines that it became. By their ids it is
/// known later whether it was saved.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeptDraft {
    /// The text.
    pub text: String,
    /// The journal's lines that it became, without newlines; none while it was not to be saved.
    pub lines: Vec<String>,
}

/// What stands before each line of the journal in a draft's file.
const SAVING: &str = "saving ";

impl KeptDraft {
    fn write(&self) -> String {
        let lines = self.lines.iter();
        let lines: String = lines.map(|line| format!("{SAVING}{line}\n")).collect();
        lines + &self.text
    }

    fn read(file: &str) -> Self {
        let (mut rest, mut lines) = (file, Vec::new());
        while let Some((line, after)) = rest
            .strip_prefix(SAVING)
            .and_then(|rest| rest.split_once('\n'))
        {
            lines.push(line.to_owned());
            rest = after;
        }
        Self {
            text: rest.to_owned(),
            lines,
        }
    }
}

/// The draft of one sitting: kept in a file while something is unfinished, and held by a lock so
/// that another session can tell a sitting that goes on from one that was cut off.
#[derive(Debug)]
pub struct DraftFile {
    path: PathBuf,
    /// The lines that the draft became, from before they are written until it is known that they stand or do not.
    lines: Mutex<Vec<String>>,
    // Held for its lock, which ends with the process, however it ends.
    _lock: File,
}

impl DraftFile {
    /// Begins a sitting's draft under a name that no other sitting has.
    ///
    /// # Errors
    /// Whatever the system says.
    pub fn begin(folder: &Path, sitting: &str) -> io::Result<Self> {
        private_folder(folder)?;
        sweep_folder(folder);
        let lock = OpenOptions::new()
            .write(true)
            .create_new(true)
            .mode(0o600)
            .open(folder.join(format!("{sitting}.lock")))?;
        lock.try_lock()?;
        Ok(Self {
            path: folder.join(format!("{sitting}.draft")),
            lines: Mutex::default(),
            _lock: lock,
        })
    }

    fn lines(&self) -> MutexGuard<'_, Vec<String>> {
        self.lines.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Keeps this text as the draft, with the lines that it became; an empty one takes it away.
    ///
    /// # Errors
    /// Whatever the system says; the draft is then as it was.
    pub fn keep(&self, text: &str) -> io::Result<()> {
        let mut lines = self.lines();
        if !text.is_empty() {
            let draft = KeptDraft {
                text: text.to_owned(),
                lines: lines.clone(),
            };
            return put(&self.path, &draft.write());
        }
        lines.clear();
        match fs::remove_file(&self.path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
            _ => Ok(()),
        }
    }

    /// Says which lines the draft is to become, for the next [`keep`](Self::keep) and those after it; none, if it is
    /// known that they do not stand.
    pub fn becomes(&self, lines: Vec<String>) {
        *self.lines() = lines;
    }

    /// Where it is kept.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }
}

impl Drop for DraftFile {
    /// A sitting that ends without a draft leaves nothing behind.
    fn drop(&mut self) {
        if !self.path.exists() {
            // If it cannot be removed it does no harm: an unheld lock without a draft is swept later.
            let _ = fs::remove_file(self.path.with_extension("lock"));
        }
    }
}

/// What lies in a folder. Not the standard library's listing: that one ends the program when closing
/// the folder fails.
fn names(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let flags = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::CLOEXEC;
    let open = rustix::fs::open(folder, flags, Mode::empty())?;
    let listing = Dir::read_from(&open)?;
    let each = listing.filter_map(Result::ok);
    Ok(each
        .map(|item| folder.join(OsStr::from_bytes(item.file_name().to_bytes())))
        .collect())
}

/// Takes away what a process that was ended in the middle of [`put`] left aside.
fn sweep(paths: &[PathBuf]) {
    for path in paths {
        if writer(path).is_some_and(|process| test_kill_process(process) == Err(Errno::SRCH)) {
            // It does no harm where it cannot be removed.
            let _ = fs::remove_file(path);
        }
    }
}

/// The process that a file written aside is named after.
fn writer(aside: &Path) -> Option<Pid> {
    let name = aside.file_name()?.to_str()?.strip_suffix(".new")?;
    Pid::from_raw(name.rsplit_once('.')?.1.parse().ok()?)
}

/// Takes away what processes that were ended in the middle of [`put`] left aside in a folder.
pub fn sweep_folder(folder: &Path) {
    if let Ok(paths) = names(folder) {
        sweep(&paths);
    }
}

/// Takes over the drafts of sittings that were cut off, oldest first, each with what takes it away.
///
/// # Errors
/// Whatever the system says of the folder; a draft that cannot be read is left where it is.
pub fn orphans(folder: &Path) -> io::Result<Vec<Orphan>> {
    let mut found = Vec::new();
    let mut locks = match names(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(found),
        other => other?,
    };
    sweep(&locks);
    locks.retain(|path| path.extension().is_some_and(|e| e == "lock"));
    locks.sort();
    for lock_path in locks {
        let Ok(lock) = File::open(&lock_path) else {
            continue;
        };
        if let Err(TryLockError::WouldBlock | TryLockError::Error(_)) = lock.try_lock() {
            continue;
        }
        let draft = lock_path.with_extension("draft");
        match get(&draft) {
            Ok(Some(text)) => found.push(Orphan {
                held: KeptDraft::read(&text),
                draft,
                lock_path,
                _lock: lock,
            }),
            Ok(None) => fs::remove_file(&lock_path)?,
            Err(_) => {}
        }
    }
    Ok(found)
}

/// An unfinished entry that an earlier sitting left behind. While it is held, no other session offers it.
#[derive(Debug)]
pub struct Orphan {
    /// What was kept.
    pub held: KeptDraft,
    draft: PathBuf,
    lock_path: PathBuf,
    _lock: File,
}

impl Orphan {
    /// Takes it away, once it has been taken up or thrown out.
    ///
    /// # Errors
    /// Whatever the system says.
    pub fn remove(self) -> io::Result<()> {
        fs::remove_file(&self.draft)?;
        fs::remove_file(&self.lock_path)
    }
}

/// Each file of the sample, by name.
const SAMPLE_FILES: [(&str, &str); 5] = [
    (
        "potting-shed-grower-4t7m.jsonl",
        include_str!("../../sample-journals/nursery/potting-shed-grower-4t7m.jsonl"),
    ),
    (
        "tunnel-helper-k2fd.jsonl",
        include_str!("../../sample-journals/nursery/tunnel-helper-k2fd.jsonl"),
    ),
    (
        "by-hand.jsonl",
        include_str!("../../sample-journals/nursery/by-hand.jsonl"),
    ),
    (
        "truth.csv",
        include_str!("../../sample-journals/nursery/truth.csv"),
    ),
    (
        "truth-air.csv",
        include_str!("../../sample-journals/nursery/truth-air.csv"),
    ),
];

/// Writes the sample into a new folder and gives the paths written.
///
/// # Errors
/// If the folder is there already, or the system will not write.
pub fn write_sample(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let failed = |error: std::io::Error| {
        Failure::could(format!(
            "The sample could not be written to {}: {error}.",
            folder.display()
        ))
        .hint("Name a folder that is not there yet, in one that you may write in.")
    };
    files::new_folder(folder).map_err(failed)?;
    let mut written = Vec::new();
    for (name, text) in SAMPLE_FILES {
        let path = folder.join(name);
        files::put_new(&path, text).map_err(failed)?;
        written.push(path);
    }
    Ok(written)
}
