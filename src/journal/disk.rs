//! The few things the journal asks of a disk, as a trait, so that tests can swap the disk for a
//! faulty one. It decides nothing about lines, and offers no way to shorten or rewrite a journal file.

use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// What a path names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FileSort {
    /// A regular file: the only sort a journal is read from.
    Regular,
    /// A folder.
    Folder,
    /// A symbolic link, when it was not followed.
    Link,
    /// A pipe.
    Pipe,
    /// A socket, a device or anything else.
    Other,
}

impl FileSort {
    /// Words for it, with the article.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Regular => "a file",
            Self::Folder => "a folder",
            Self::Link => "a link to another place",
            Self::Pipe => "a pipe",
            Self::Other => "a device",
        }
    }
}

/// Which file this is: device and inode number. A number can be used again once a file is gone,
/// so it proves something only while the file is held open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct FileId {
    /// Number of the device.
    pub device: u64,
    /// Number of the file on that device.
    pub number: u64,
}

/// What the disk says of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stat {
    /// Which file it is.
    pub id: FileId,
    /// What it is.
    pub sort: FileSort,
    /// Length in bytes.
    pub len: u64,
    /// Permission bits (the low twelve).
    pub mode: u32,
    /// Number of the user who owns it.
    pub owner: u32,
    /// Number of its group.
    pub group: u32,
    /// How many names it has.
    pub links: u64,
    /// When its bytes last changed: seconds and nanoseconds of the disk's own clock, compared only
    /// for sameness.
    pub modified: (i64, i64),
    /// When the file or its attributes last changed, likewise.
    pub changed: (i64, i64),
}

/// What a new file is to bear, whatever the umask and whoever makes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rights {
    /// Permission bits.
    pub mode: u32,
    /// Number of the user who is to own it, as far as the system lets it be given away.
    pub owner: u32,
    /// Number of its group, likewise.
    pub group: u32,
}

/// How to open a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OpenMode {
    /// To read; follows links.
    Read,
    /// To append to a file that is there; refuses links.
    Append,
    /// To append to a file that must not be there yet, made with these rights.
    Create(Rights),
    /// A lock file, made empty with these rights if it is not there; refuses links.
    Lock(Rights),
}

/// A file held open.
pub trait Handle: Send + Sync {
    /// What the disk says of the open file.
    ///
    /// # Errors
    /// Whatever the disk answers.
    fn stat(&self) -> io::Result<Stat>;

    /// Reads up to `buffer.len()` bytes from `offset`; 0 at the end.
    ///
    /// # Errors
    /// Whatever the disk answers; `Interrupted` may be tried again.
    fn read_at(&self, buffer: &mut [u8], offset: u64) -> io::Result<usize>;

    /// One write at the end of the file; says how many bytes it took, which may be fewer.
    ///
    /// # Errors
    /// Whatever the disk answers; `Interrupted` means that nothing was taken.
    fn write(&self, bytes: &[u8]) -> io::Result<usize>;

    /// Returns once the bytes written are on stable storage.
    ///
    /// # Errors
    /// After an error nothing written through this handle may be relied on.
    fn sync(&self) -> io::Result<()>;

    /// Takes the exclusive lock on this file unless someone else holds it; says whether it did.
    ///
    /// # Errors
    /// Whatever the disk answers; `Interrupted` may be tried again.
    fn try_lock(&self) -> io::Result<bool>;
}

/// A disk.
pub trait Disk: Send + Sync {
    /// Opens a file without ever waiting for another party (a pipe's far end).
    ///
    /// # Errors
    /// Whatever the disk answers.
    fn open(&self, path: &Path, how: OpenMode) -> io::Result<Box<dyn Handle>>;

    /// What the path names, links followed.
    ///
    /// # Errors
    /// `NotFound` when nothing is there, else whatever the disk answers.
    fn stat(&self, path: &Path) -> io::Result<Stat>;

    /// The names in a folder with their sorts, links not followed, in no order.
    ///
    /// # Errors
    /// Whatever the disk answers.
    fn list(&self, folder: &Path) -> io::Result<Vec<(PathBuf, FileSort)>>;

    /// Makes a folder with permission bits 0700, and those above it that are missing.
    ///
    /// # Errors
    /// Whatever the disk answers.
    fn create_folder(&self, folder: &Path) -> io::Result<()>;

    /// Returns once the names in a folder are on stable storage.
    ///
    /// # Errors
    /// Whatever the disk answers.
    fn sync_folder(&self, folder: &Path) -> io::Result<()>;

    /// Tells others on this machine who holds the lock that is this file, outside the journal's folder. A courtesy: if
    /// it cannot be told, nothing is.
    fn publish_holder(&self, lock: FileId, holder: &str);

    /// Takes back what [`publish_holder`](Self::publish_holder) told.
    fn withdraw_holder(&self, lock: FileId);

    /// Who is said to hold the lock that is this file.
    fn holder(&self, lock: FileId) -> Option<String>;

    /// Waits.
    fn wait(&self, time: Duration);
}
