//! The real disk, on the standard library's files. It adds no policy of its own: no retries, no
//! repairs, and no call that could shorten a journal file.

use super::disk::{Disk, FileId, FileSort, Handle, OpenMode, Stat};
use rustix::fs::{AtFlags, Dir, DirEntry, Mode, OFlags, statat};
use std::ffi::OsStr;
use std::fs::{self, DirBuilder, File, FileType, Metadata, OpenOptions, Permissions, TryLockError};
use std::io::{self, Write};
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

    fn sign(&self, words: &str) -> io::Result<()> {
        self.0.set_len(0)?;
        self.0.write_all_at(words.as_bytes(), 0)
    }
}

impl Disk for RealDisk {
    fn open(&self, path: &Path, how: OpenMode) -> io::Result<Box<dyn Handle>> {
        let mut options = OpenOptions::new();
        options.read(true);
        // Without NONBLOCK, opening a pipe would wait for its far end.
        let mut flags = OFlags::NONBLOCK | OFlags::NOCTTY;
        match how {
            OpenMode::Read => {}
            OpenMode::Append => {
                options.append(true);
                flags |= OFlags::NOFOLLOW;
            }
            OpenMode::Create(mode) => {
                options.append(true).create_new(true).mode(mode);
            }
            OpenMode::Lock(mode) => {
                options.write(true).create(true).truncate(false).mode(mode);
                flags |= OFlags::NOFOLLOW;
            }
        }
        options.custom_flags(flags.bits().cast_signed());
        let file = options.open(path)?;
        if let OpenMode::Create(mode) = how {
            // The umask may have taken the group's right to write away.
            file.set_permissions(Permissions::from_mode(mode))?;
        }
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

    fn wait(&self, time: Duration) {
        std::thread::sleep(time);
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
