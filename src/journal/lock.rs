//! The lock that lets one writer at a time append: an empty file beside the journal that is never written. It is held
//! only around one write, and never waited for without a deadline.

use super::disk::{Disk, FileId, FileSort, Handle, OpenMode, Rights};
use super::disk_error::{DiskError, DiskStep};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long to wait for another writer in all.
pub const DEADLINE: Duration = Duration::from_secs(2);
/// How long to wait between two tries.
const PAUSE: Duration = Duration::from_millis(10);

/// Why the lock was not had.
#[derive(Debug)]
pub enum LockFailure {
    /// Another writer kept it for longer than the deadline.
    Held {
        /// The lock file.
        path: PathBuf,
        /// Who holds it, if that is known.
        holder: Option<String>,
    },
    /// What bears the lock's name is no lock: it is `what`.
    NoLock {
        /// Its path.
        path: PathBuf,
        /// What it is, in words.
        what: String,
    },
    /// The disk refused.
    Disk(DiskError),
}

/// The lock, held until it is dropped.
pub struct LockGuard<'d> {
    disk: &'d dyn Disk,
    id: FileId,
    // Held for its lock, which ends with the handle.
    _handle: Box<dyn Handle>,
}

impl Drop for LockGuard<'_> {
    fn drop(&mut self) {
        // A stale name would accuse someone who is long gone.
        self.disk.withdraw_holder(self.id);
    }
}

/// Takes the lock at `path`, made with these rights if it is not there, and tells others that `holder` has it (such as
/// `ana on shed, process 4711`); or says who holds it once the deadline has passed.
///
/// # Errors
/// See [`LockFailure`].
pub fn take<'d>(
    disk: &'d dyn Disk,
    path: &Path,
    rights: Rights,
    holder: &str,
) -> Result<LockGuard<'d>, LockFailure> {
    let failed = |error: &io::Error| LockFailure::Disk(DiskError::new(DiskStep::Lock, path, error));
    let mut left = DEADLINE;
    loop {
        let handle = disk
            .open(path, OpenMode::Lock(rights))
            .map_err(|error| failed(&error))?;
        let id = identity(&*handle, path)?;
        match handle.try_lock() {
            // Someone may have removed the lock file meanwhile: a lock on a file without a name
            // keeps nobody out.
            Ok(true) if names(disk, path, &*handle) => {
                disk.publish_holder(id, holder);
                return Ok(LockGuard {
                    disk,
                    id,
                    _handle: handle,
                });
            }
            Ok(true) => {}
            Ok(false) if left.is_zero() => {
                return Err(LockFailure::Held {
                    path: path.to_owned(),
                    holder: disk.holder(id),
                });
            }
            Ok(false) => {}
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(failed(&error)),
        }
        if left.is_zero() {
            return Err(LockFailure::Held {
                path: path.to_owned(),
                holder: None,
            });
        }
        disk.wait(PAUSE);
        left = left.saturating_sub(PAUSE);
    }
}

/// Which file the lock is. A file with another name beside the lock's may be somebody's own, a journal even: to lock it
/// would hold up others, and proves nothing.
fn identity(handle: &dyn Handle, path: &Path) -> Result<FileId, LockFailure> {
    let stat = handle
        .stat()
        .map_err(|error| LockFailure::Disk(DiskError::new(DiskStep::Lock, path, &error)))?;
    let what = match (stat.sort, stat.links) {
        // No name left: it was removed since it was opened, which the look at its name tells.
        (FileSort::Regular, 0 | 1) => return Ok(stat.id),
        (FileSort::Regular, links) => format!("a file with {links} names"),
        (sort, _) => sort.words().to_owned(),
    };
    Err(LockFailure::NoLock {
        path: path.to_owned(),
        what,
    })
}

/// Whether the path still names the file that is open.
pub(super) fn names(disk: &dyn Disk, path: &Path, handle: &dyn Handle) -> bool {
    match (disk.stat(path), handle.stat()) {
        (Ok(there), Ok(here)) => there.id == here.id,
        _ => false,
    }
}
