//! One file of a journal as it is followed: how far it was read, and what proves that those bytes are still the
//! same. It reads on from there and says when the file is another one.

use super::codec::{Decoded, decode};
use super::crc::crc32c;
use super::disk::{Disk, FileSort, Handle, OpenMode, Stat};
use super::disk_error::{DiskError, DiskStep};
use super::line::{LineNames, hash};
use super::scan::{RawLine, scan};
use crate::model::fault::Arrival;
use crate::model::fault::{Crc, FileFault, LineFault, Origin};
use crate::model::id::Id;
use std::io;
use std::ops::Range;
use std::path::PathBuf;

/// Bytes at the beginning and at the end of what was read that are compared to know it again.
const PRINT: u64 = 4096;
/// One line in so many has its offset remembered, so that any line can be fetched again.
const MARK_EVERY: u64 = 512;

/// A file of the journal and how far it was read.
#[derive(Debug, Default)]
pub struct FollowedFile {
    /// Its path.
    pub path: PathBuf,
    /// Why it is not read, or not to its end.
    pub fault: Option<FileFault>,
    /// What the disk said when it was last read.
    pub stat: Option<Stat>,
    /// Newlines passed.
    lines: u64,
    /// Offset behind the last newline passed.
    next: u64,
    /// The hash of a last line without its newline that was taken as it is.
    tail: Option<u64>,
    /// Checksums of the first and the last bytes that were read.
    print: [u32; 2],
    /// Line numbers from 0 with their offsets.
    marks: Vec<(u64, u64)>,
    names: LineNames,
}

/// What reading on came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadProgress {
    /// Read to the end there is, or not readable: see the fault.
    ReadOn,
    /// It is not the file that was read before: everything must be read again.
    Replaced,
}

/// One line met in a scan.
struct ScannedLine {
    offset: u64,
    ended: bool,
    /// Nothing for a line of blanks.
    decoded: Option<Decoded>,
    /// The hash, where the line is or was without its newline.
    hash: Option<u64>,
}

impl FollowedFile {
    /// A file that is listed and not yet read; `fault` says why it is no regular file, if it is none.
    #[must_use]
    pub fn new(path: PathBuf, fault: Option<FileFault>) -> Self {
        Self {
            path,
            fault,
            ..Self::default()
        }
    }

    /// Whether the disk says the same of it as when it was read.
    #[must_use]
    pub fn is_same(&self, stat: &Stat) -> bool {
        self.stat.as_ref() == Some(stat)
    }

    /// Reads the lines that are new, on so many threads, as file number `file` of the journal. What
    /// goes wrong with the file becomes its fault.
    pub fn read_on(
        &mut self,
        disk: &dyn Disk,
        file: u32,
        threads: usize,
        sink: &mut dyn FnMut(Arrival),
    ) -> ReadProgress {
        if self.fault.is_some() {
            // Anything may have been missed before: nothing here can be trusted.
            return ReadProgress::Replaced;
        }
        match self.try_read(disk, file, threads, sink) {
            Ok(went) => went,
            Err(error) => {
                let reason = DiskError::new(DiskStep::Read, &self.path, &error).why;
                self.fault = Some(FileFault::Unreadable { reason });
                self.stat = self.stat.or_else(|| disk.stat(&self.path).ok());
                ReadProgress::ReadOn
            }
        }
    }

    fn try_read(
        &mut self,
        disk: &dyn Disk,
        file: u32,
        threads: usize,
        sink: &mut dyn FnMut(Arrival),
    ) -> io::Result<ReadProgress> {
        let handle = match disk.open(&self.path, OpenMode::Read) {
            // Never there yet, or gone again: a single file may be made by the first append.
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Ok(if self.stat.is_some() {
                    ReadProgress::Replaced
                } else {
                    ReadProgress::ReadOn
                });
            }
            other => other?,
        };
        let stat = handle.stat()?;
        if stat.sort != FileSort::Regular {
            self.stat = Some(stat);
            self.fault = Some(FileFault::NotAFile {
                what: stat.sort.words(),
            });
            return Ok(ReadProgress::ReadOn);
        }
        if !self.continues(&*handle, &stat)? {
            return Ok(ReadProgress::Replaced);
        }
        self.stat = Some(stat);
        let went = self.take_lines(&*handle, stat.len, (file, threads), sink)?;
        self.print = self.printed(&*handle)?;
        Ok(went)
    }

    /// Whether an open file begins with what was read before.
    fn continues(&self, handle: &dyn Handle, stat: &Stat) -> io::Result<bool> {
        let Some(before) = self.stat else {
            return Ok(true);
        };
        // As long as it was, yet written to: changed somewhere inside.
        let rewritten = stat.len == before.len && stat.modified != before.modified;
        let another = stat.id != before.id || stat.len < before.len;
        Ok(!another && !rewritten && self.printed(handle)? == self.print)
    }

    fn printed(&self, handle: &dyn Handle) -> io::Result<[u32; 2]> {
        let head = bytes_of(handle, 0..PRINT.min(self.next))?;
        let tail = bytes_of(handle, self.next.saturating_sub(PRINT)..self.next)?;
        Ok([crc32c(&head), crc32c(&tail)])
    }

    fn take_lines(
        &mut self,
        handle: &dyn Handle,
        len: u64,
        (file, threads): (u32, usize),
        sink: &mut dyn FnMut(Arrival),
    ) -> io::Result<ReadProgress> {
        let (begin, base, tail) = (self.next, self.lines, self.tail);
        let met = |piece: RawLine<'_>| meet(piece, tail.is_some() && piece.offset == begin);
        let mut went = ReadProgress::ReadOn;
        let scanned = scan(handle, begin..len, threads, met, |number, met| {
            if went == ReadProgress::Replaced {
                return;
            }
            if let Some(before) = tail.filter(|_| met.offset == begin) {
                if met.hash != Some(before) {
                    went = ReadProgress::Replaced;
                }
                self.tail = self.tail.filter(|_| !met.ended);
                return;
            }
            let line = base + number;
            if self
                .marks
                .last()
                .is_none_or(|(last, _)| line >= last + MARK_EVERY)
            {
                self.marks.push((line, met.offset));
            }
            let line = u32::try_from(line + 1).unwrap_or(u32::MAX);
            if let Some(arrival) = self.arrive(Origin { file, line }, met) {
                sink(arrival);
            }
        })?;
        self.lines += scanned.lines;
        self.next = scanned.next;
        Ok(went)
    }

    /// The line as it goes to the book; nothing for blanks, and for a last line that is still being
    /// written. One that reads as it stands is taken: an editor may have left the newline away.
    fn arrive(&mut self, origin: Origin, met: ScannedLine) -> Option<Arrival> {
        let Decoded {
            crc,
            entry,
            hash,
            unknown_words,
        } = met.decoded?;
        if !met.ended {
            let grows = match &entry {
                Ok(_) => false,
                Err(fault) => !matches!(fault, LineFault::ZeroBytes | LineFault::TooLong { .. }),
            };
            if grows {
                return None;
            }
            self.tail = met.hash;
        }
        let name = hash.map(|hash| self.names.next(hash));
        let entry = match (entry, name) {
            (Ok(mut entry), Some(name)) => {
                entry.id = name;
                Ok(entry)
            }
            (Ok(entry), None) => Ok(entry),
            (Err(fault), name) => Err((fault, name.unwrap_or_else(|| Id::for_line(0, 1)))),
        };
        Some(Arrival {
            origin,
            crc,
            entry,
            unknown_words,
        })
    }

    /// The bytes of line `line` (from 1), fetched again.
    pub fn raw(&self, disk: &dyn Disk, line: u32) -> Option<Vec<u8>> {
        let wanted = u64::from(line).checked_sub(1)?;
        let after = self.marks.partition_point(|(number, _)| *number <= wanted);
        let &(first, begin) = self.marks.get(after.checked_sub(1)?)?;
        let handle = disk.open(&self.path, OpenMode::Read).ok()?;
        let end = match self.marks.get(after) {
            Some(&(_, offset)) => offset,
            None => handle.stat().ok()?.len,
        };
        let (mut found, own) = (None, |piece: RawLine<'_>| {
            piece.bytes.ok().map(<[u8]>::to_vec)
        });
        scan(&*handle, begin..end, 1, own, |number, bytes| {
            if first + number == wanted {
                found = Some(bytes);
            }
        })
        .ok()?;
        found
    }

    /// The number (from 1) of the line that is the `ordinal`-th with this hash.
    pub fn named(
        &self,
        disk: &dyn Disk,
        (wanted, ordinal): (u64, u32),
        threads: usize,
    ) -> Option<u32> {
        let handle = disk.open(&self.path, OpenMode::Read).ok()?;
        let len = handle.stat().ok()?.len;
        let (mut met, mut found) = (0, None);
        let same = |piece: RawLine<'_>| (hash_of(&piece) == wanted).then_some(());
        scan(&*handle, 0..len, threads, same, |number, ()| {
            met += 1;
            if met == ordinal {
                found = u32::try_from(number + 1).ok();
            }
        })
        .ok()?;
        found
    }
}

fn hash_of(piece: &RawLine<'_>) -> u64 {
    match piece.bytes {
        Ok(raw) => hash(raw, piece.offset == 0),
        Err(hash) => hash,
    }
}

/// Decodes a line; `again` says that it was taken before without its newline.
fn meet(piece: RawLine<'_>, again: bool) -> Option<ScannedLine> {
    let decoded = match piece.bytes {
        Ok(raw) => decode(raw, piece.offset == 0),
        Err(hash) => {
            let entry = Err(LineFault::TooLong { bytes: piece.len });
            Some(Decoded {
                crc: Crc::Absent,
                entry,
                hash: Some(hash),
                unknown_words: Vec::new(),
            })
        }
    };
    if decoded.is_none() && !again {
        return None;
    }
    let hash = (again || !piece.ended).then(|| hash_of(&piece));
    Some(ScannedLine {
        offset: piece.offset,
        ended: piece.ended,
        decoded,
        hash,
    })
}

fn bytes_of(handle: &dyn Handle, span: Range<u64>) -> io::Result<Vec<u8>> {
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
