//! The real disk, on the standard library's files. It adds no policy of its own: no retries, no
//! repairs, and no call that could shorten a journal file.

use super::disk::{Disk, FileId, Handle, Open, Sort, Stat};
use rustix::fs::OFlags;
use std::fs::{self, DirBuilder, File, FileType, Metadata, OpenOptions, Permissions, TryLockError};
use std::io::{self, Write};
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
    fn open(&self, path: &Path, how: Open) -> io::Result<Box<dyn Handle>> {
        let mut options = OpenOptions::new();
        options.read(true);
        // Without NONBLOCK, opening a pipe would wait for its far end.
        let mut flags = OFlags::NONBLOCK | OFlags::NOCTTY;
        match how {
            Open::Read => {}
            Open::Append => {
                options.append(true);
                flags |= OFlags::NOFOLLOW;
            }
            Open::Create(mode) => {
                options.append(true).create_new(true).mode(mode);
            }
            Open::Lock(mode) => {
                options.write(true).create(true).truncate(false).mode(mode);
                flags |= OFlags::NOFOLLOW;
            }
        }
        options.custom_flags(flags.bits().cast_signed());
        let file = options.open(path)?;
        if let Open::Create(mode) = how {
            // The umask may have taken the group's right to write away.
            file.set_permissions(Permissions::from_mode(mode))?;
        }
        Ok(Box::new(RealFile(file)))
    }

    fn stat(&self, path: &Path) -> io::Result<Stat> {
        fs::metadata(path).map(|data| stat_of(&data))
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<(PathBuf, Sort)>> {
        fs::read_dir(folder)?
            .map(|item| {
                let item = item?;
                Ok((PathBuf::from(item.file_name()), sort_of(item.file_type()?)))
            })
            .collect()
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

fn sort_of(kind: FileType) -> Sort {
    if kind.is_file() {
        Sort::Regular
    } else if kind.is_dir() {
        Sort::Folder
    } else if kind.is_symlink() {
        Sort::Link
    } else if kind.is_fifo() {
        Sort::Pipe
    } else {
        Sort::Other
    }
}
