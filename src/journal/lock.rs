//! The lock that lets one writer at a time append: a file beside the journal that no sync tool
//! need carry. It is held only around one write, and never waited for without a deadline.

use super::disk::{Disk, Handle, OpenMode};
use super::disk_error::{DiskError, DiskStep};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long to wait for another writer in all.
pub const DEADLINE: Duration = Duration::from_secs(2);
/// How long to wait between two tries.
const PAUSE: Duration = Duration::from_millis(10);
/// Longest signature that is read back from a lock file, in bytes.
const SIGNATURE: usize = 200;

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
    /// The disk refused.
    Disk(DiskError),
}

/// The lock, held until it is dropped.
pub struct LockGuard(Box<dyn Handle>);

impl Drop for LockGuard {
    fn drop(&mut self) {
        // A stale name in a free lock file would accuse someone who is long gone.
        let _ = self.0.sign("");
    }
}

/// Takes the lock at `path` and signs it with `holder` (such as `pid 4711 on potting-shed`), or
/// says who holds it once the deadline has passed.
///
/// # Errors
/// [`LockFailure::Held`] after the deadline, [`LockFailure::Disk`] when the disk refuses.
pub fn take(
    disk: &dyn Disk,
    path: &Path,
    mode: u32,
    holder: &str,
) -> Result<LockGuard, LockFailure> {
    let trouble =
        |error: &io::Error| LockFailure::Disk(DiskError::new(DiskStep::Lock, path, error));
    let mut left = DEADLINE;
    loop {
        let handle = disk
            .open(path, OpenMode::Lock(mode))
            .map_err(|error| trouble(&error))?;
        match handle.try_lock() {
            // Someone may have removed the lock file meanwhile: a lock on a file without a name
            // keeps nobody out.
            Ok(true) if names(disk, path, &*handle) => {
                let _ = handle.sign(holder);
                return Ok(LockGuard(handle));
            }
            Ok(true) => {}
            Ok(false) if left.is_zero() => {
                return Err(LockFailure::Held {
                    path: path.to_owned(),
                    holder: signature(&*handle),
                });
            }
            Ok(false) => {}
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(trouble(&error)),
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

/// Whether the path still names the file that is open.
pub(super) fn names(disk: &dyn Disk, path: &Path, handle: &dyn Handle) -> bool {
    match (disk.stat(path), handle.stat()) {
        (Ok(there), Ok(here)) => there.id == here.id,
        _ => false,
    }
}

fn signature(handle: &dyn Handle) -> Option<String> {
    let mut buffer = [0; SIGNATURE];
    let count = handle.read_at(&mut buffer, 0).ok()?;
    let words = String::from_utf8_lossy(buffer.get(..count)?);
    let words = words.trim();
    (!words.is_empty()).then(|| words.to_owned())
}
