//! The real disk, on the standard library's files. It adds no policy of its own: no retries, no
//! repairs, and no call that could shorten a journal file.

use super::disk::{Disk, FileId, FileSort, Handle, OpenMode, Rights, Stat};
use rustix::fs::{AtFlags, Dir, DirEntry, Mode, OFlags, statat};
use std::ffi::OsStr;
use std::fs::{self, DirBuilder, File, FileType, Metadata, OpenOptions, Permissions, TryLockError};
use std::io::{self, Read, Write};
use std::os::fd::OwnedFd;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{
    DirBuilderExt, FileExt, FileTypeExt, MetadataExt, OpenOptionsExt, PermissionsExt,
};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The disk of this machine.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

struct RealFile(File);

impl Handle for RealFile {
    fn stat(&self) -> io::Result<Stat> {
        self.0.metadata().map(|data| stat_of(&data))
    }

    fn read_at(&self, buffer: &mut [u8], offset: u64) -> io::Result<usize> {
        self.0.read_at(buffer, offset)
    }

    fn write(&self, bytes: &[u8]) -> io::Result<usize> {
        (&self.0).write(bytes)
    }

    fn sync(&self) -> io::Result<()> {
        self.0.sync_data()
    }

    fn try_lock(&self) -> io::Result<bool> {
        match self.0.try_lock() {
            Ok(()) => Ok(true),
            Err(TryLockError::WouldBlock) => Ok(false),
            Err(TryLockError::Error(error)) => Err(error),
        }
    }
}

impl Disk for RealDisk {
    fn open(&self, path: &Path, how: OpenMode) -> io::Result<Box<dyn Handle>> {
        let file = match how {
            OpenMode::Read => flagged(OpenOptions::new().read(true), OFlags::empty()).open(path)?,
            OpenMode::Append => {
                flagged(OpenOptions::new().read(true).append(true), OFlags::NOFOLLOW).open(path)?
            }
            OpenMode::Create(rights) => create(path, rights)?,
            OpenMode::Lock(rights) => open_lock(path, rights)?,
        };
        Ok(Box::new(RealFile(file)))
    }

    fn stat(&self, path: &Path) -> io::Result<Stat> {
        fs::metadata(path).map(|data| stat_of(&data))
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<(PathBuf, FileSort)>> {
        // Not the standard library's listing: that one ends the program when closing the folder fails.
        let open = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::CLOEXEC | OFlags::NONBLOCK;
        let folder = rustix::fs::open(folder, open, Mode::empty())?;
        let mut names = Vec::new();
        for item in Dir::read_from(&folder)? {
            let item = item?;
            let name = OsStr::from_bytes(item.file_name().to_bytes());
            if name != "." && name != ".." {
                names.push((PathBuf::from(name), listed(&folder, &item)?));
            }
        }
        Ok(names)
    }

    fn create_folder(&self, folder: &Path) -> io::Result<()> {
        DirBuilder::new().recursive(true).mode(0o700).create(folder)
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        File::open(folder)?.sync_all()
    }

    fn publish_holder(&self, lock: FileId, holder: &str) {
        let path = holder_path(lock);
        // Left by a holder that was killed. Another user's stays: then nobody is told.
        let _ = fs::remove_file(&path);
        let mut options = OpenOptions::new();
        options.write(true).create_new(true).mode(0o644);
        let file = flagged(&mut options, OFlags::NOFOLLOW).open(&path);
        let _ = file.and_then(|mut file| file.write_all(holder.as_bytes()));
    }

    fn withdraw_holder(&self, lock: FileId) {
        let _ = fs::remove_file(holder_path(lock));
    }

    fn holder(&self, lock: FileId) -> Option<String> {
        let mut options = OpenOptions::new();
        let file = flagged(options.read(true), OFlags::NOFOLLOW).open(holder_path(lock));
        let file = file.ok()?;
        if !file.metadata().ok()?.is_file() {
            return None;
        }
        let mut words = Vec::new();
        file.take(LONGEST_HOLDER).read_to_end(&mut words).ok()?;
        let words = String::from_utf8_lossy(&words).trim().to_owned();
        (!words.is_empty()).then_some(words)
    }

    fn wait(&self, time: Duration) {
        std::thread::sleep(time);
    }
}

/// The folder that all users of a machine share for what does not last.
const TEMPORARY: &str = "/tmp";
/// Longest name of a lock's holder that is read, in bytes.
const LONGEST_HOLDER: u64 = 200;

/// Where the holder of a lock is told. Beside the lock itself it would travel with the journal.
fn holder_path(lock: FileId) -> PathBuf {
    Path::new(TEMPORARY).join(format!("struck-lock-{:x}-{:x}", lock.device, lock.number))
}

/// Without `NONBLOCK`, opening a pipe would wait for its far end.
fn flagged(options: &mut OpenOptions, more: OFlags) -> &mut OpenOptions {
    let flags = OFlags::NONBLOCK | OFlags::NOCTTY | more;
    options.custom_flags(flags.bits().cast_signed())
}

/// Makes a file that must not be there yet. The umask may take the group's rights away, and a superuser's file
/// would be closed to the folder's owner: both are put right as far as the system lets them be.
fn create(path: &Path, rights: Rights) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options
        .read(true)
        .append(true)
        .create_new(true)
        .mode(rights.mode);
    let file = flagged(&mut options, OFlags::empty()).open(path)?;
    let made = file.metadata()?;
    let owner = (made.uid() != rights.owner).then_some(rights.owner);
    let group = (made.gid() != rights.group).then_some(rights.group);
    if group.is_some() {
        let _ = std::os::unix::fs::fchown(&file, None, group);
    }
    if owner.is_some() {
        let _ = std::os::unix::fs::fchown(&file, owner, None);
    }
    file.set_permissions(Permissions::from_mode(rights.mode))?;
    Ok(file)
}

/// Opens a lock file, made if need be. The right to read is enough to lock it on a disk of this machine.
fn open_lock(path: &Path, rights: Rights) -> io::Result<File> {
    let existing = |write: bool| {
        let mut options = OpenOptions::new();
        flagged(options.read(true).write(write), OFlags::NOFOLLOW).open(path)
    };
    match existing(true) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => match create(path, rights) {
            // Another writer was first.
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => existing(true),
            made => made,
        },
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied => existing(false),
        opened => opened,
    }
}

/// What a listed name is; some file systems leave that to a closer look.
fn listed(folder: &OwnedFd, item: &DirEntry) -> io::Result<FileSort> {
    let kind = match item.file_type() {
        rustix::fs::FileType::Unknown => {
            let data = statat(folder, item.file_name(), AtFlags::SYMLINK_NOFOLLOW)?;
            rustix::fs::FileType::from_raw_mode(data.st_mode)
        }
        known => known,
    };
    Ok(match kind {
        rustix::fs::FileType::RegularFile => FileSort::Regular,
        rustix::fs::FileType::Directory => FileSort::Folder,
        rustix::fs::FileType::Symlink => FileSort::Link,
        rustix::fs::FileType::Fifo => FileSort::Pipe,
        _ => FileSort::Other,
    })
}

fn stat_of(data: &Metadata) -> Stat {
    Stat {
        id: FileId {
            device: data.dev(),
            number: data.ino(),
        },
        sort: sort_of(data.file_type()),
        len: data.len(),
        mode: data.mode() & 0o7777,
        owner: data.uid(),
        group: data.gid(),
        links: data.nlink(),
        modified: (data.mtime(), data.mtime_nsec()),
        changed: (data.ctime(), data.ctime_nsec()),
    }
}

fn sort_of(kind: FileType) -> FileSort {
    if kind.is_file() {
        FileSort::Regular
    } else if kind.is_dir() {
        FileSort::Folder
    } else if kind.is_symlink() {
        FileSort::Link
    } else if kind.is_fifo() {
        FileSort::Pipe
    } else {
        FileSort::Other
    }
}
