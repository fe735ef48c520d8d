//! What proves that the bytes read of a file are still the same: checksums of their two ends, compared whenever the file grows,
//! and of all of them, compared piece by piece after that. It decodes nothing.

use super::crc::{crc32c, crc32c_combine};
use super::disk::{Disk, Handle, OpenMode};
use super::scan::CHUNK;
use std::io;
use std::ops::Range;
use std::path::Path;

/// Bytes at the beginning and at the end of what was read that are compared to know it again.
const END: u64 = 4096;
/// Bytes that are compared again at one look.
const COMPARED_AT_ONCE: u64 = 16 << 20;

/// A stretch of the file whose checksum was taken when it was read.
#[derive(Debug, Clone, Copy)]
struct SummedStretch {
    start: u64,
    len: u64,
    sum: u32,
}

/// The checksums of what was read of a file.
#[derive(Debug, Default)]
pub struct FileFingerprint {
    /// Of the first and the last bytes; nothing if the disk would not give them again.
    ends: Option<[u32; 2]>,
    /// Of all bytes, in stretches in the order of the file.
    stretches: Vec<SummedStretch>,
    /// How many of the stretches, from the first, are yet to be compared with the file as it is now.
    unverified: usize,
}

impl FileFingerprint {
    /// Takes the checksums of the two ends of what was read, up to that offset.
    pub fn take_ends(&mut self, handle: &dyn Handle, read_to: u64) {
        self.ends = ends(handle, read_to).ok();
    }

    /// Whether the two ends are the same now.
    pub fn has_same_ends(&self, handle: &dyn Handle, read_to: u64) -> io::Result<bool> {
        match self.ends {
            Some(before) => Ok(ends(handle, read_to)? == before),
            None => Ok(true),
        }
    }

    /// Adds a span that was scanned, from the checksums of its chunks. The last chunk may reach beyond the span, into a
    /// line that is still being written.
    pub fn add(&mut self, handle: &dyn Handle, span: Range<u64>, sums: &[u32]) -> io::Result<()> {
        let mut added = Vec::with_capacity(sums.len());
        let mut start = span.start;
        for sum in sums {
            let end = (start + CHUNK).min(span.end);
            if end <= start {
                break;
            }
            let len = end - start;
            added.push(SummedStretch {
                start,
                len,
                sum: *sum,
            });
            start = end;
        }
        if let Some(last) = added.last_mut().filter(|last| last.len < CHUNK) {
            last.sum = crc32c(&bytes_of(handle, last.start..last.start + last.len)?);
        }
        added.into_iter().for_each(|stretch| self.join(stretch));
        Ok(())
    }

    /// Adds a stretch; short ones are joined, so that many appends make few.
    fn join(&mut self, stretch: SummedStretch) {
        match self.stretches.last_mut() {
            Some(last) if last.len + stretch.len <= CHUNK => {
                let len = usize::try_from(stretch.len).unwrap_or(usize::MAX);
                last.sum = crc32c_combine(last.sum, stretch.sum, len);
                last.len += stretch.len;
            }
            _ => self.stretches.push(stretch),
        }
    }

    /// Begins to compare all of it once more: the file grew, and another hand may have changed a line in place too.
    pub fn compare_anew(&mut self) {
        self.unverified = self.stretches.len();
    }

    /// Compares some more of it with the file; whether it is the same so far.
    pub fn compare_on(&mut self, disk: &dyn Disk, path: &Path) -> io::Result<bool> {
        if self.unverified == 0 {
            return Ok(true);
        }
        let handle = disk.open(path, OpenMode::Read)?;
        let mut compared = 0;
        while compared < COMPARED_AT_ONCE && self.unverified > 0 {
            let at = self.unverified - 1;
            let Some(stretch) = self.stretches.get(at) else {
                break;
            };
            let bytes = bytes_of(&*handle, stretch.start..stretch.start + stretch.len)?;
            if crc32c(&bytes) != stretch.sum {
                return Ok(false);
            }
            compared += stretch.len;
            self.unverified = at;
        }
        Ok(true)
    }
}

fn ends(handle: &dyn Handle, read_to: u64) -> io::Result<[u32; 2]> {
    let head = bytes_of(handle, 0..END.min(read_to))?;
    let tail = bytes_of(handle, read_to.saturating_sub(END)..read_to)?;
    Ok([crc32c(&head), crc32c(&tail)])
}

/// The bytes of a span, fewer where the file ends before it.
pub fn bytes_of(handle: &dyn Handle, span: Range<u64>) -> io::Result<Vec<u8>> {
    let len = usize::try_from(span.end - span.start).unwrap_or(0);
    let (mut bytes, mut filled) = (vec![0; len], 0);
    while filled < len {
        match handle.read_at(&mut bytes[filled..], span.start + filled as u64) {
            Ok(0) => break,
            Ok(count) => filled += count,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    bytes.truncate(filled);
    Ok(bytes)
}
