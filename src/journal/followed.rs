//! One file of a journal as it is followed: how far it was read, and what proves that those bytes are still the
//! same. It reads on from there and says when the file is another one.

use super::codec::{Decoded, decode};
use super::crc::{crc32c, crc32c_combine};
use super::disk::{Disk, FileSort, Handle, OpenMode, Stat};
use super::disk_error::{DiskError, DiskStep};
use super::line::{LineNames, hash};
use super::scan::{CHUNK, RawLine, scan, scan_with_sums};
use crate::model::fault::Arrival;
use crate::model::fault::{Crc, FileFault, LineFault, Origin};
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use std::io;
use std::ops::Range;
use std::path::PathBuf;

/// Bytes at the beginning and at the end of what was read that are compared to know it again.
const PRINT: u64 = 4096;
/// One line in so many has its offset remembered, so that any line can be fetched again.
const MARK_EVERY: u64 = 512;

/// Bytes of a file that are compared again after each growth, at one look.
const VERIFIED_AT_ONCE: u64 = 16 << 20;

/// A stretch of the file whose checksum was taken when it was read.
#[derive(Debug, Clone, Copy)]
struct SummedStretch {
    start: u64,
    len: u64,
    sum: u32,
}

/// A file of the journal and how far it was read.
#[derive(Debug, Default)]
pub struct FollowedFile {
    /// Its path.
    pub path: PathBuf,
    /// Why it is not read, or not to its end.
    pub fault: Option<FileFault>,
    /// Why it cannot be read on, once it was read: what was read stands as of then.
    pub stale: Option<String>,
    /// What the disk said when it was last read.
    pub stat: Option<Stat>,
    /// The smallest id, by the alphabet, of the entries read.
    pub first_id: Option<Id>,
    /// Newlines passed.
    lines: u64,
    /// Offset behind the last newline passed.
    next: u64,
    /// The hash of a last line without its newline that was taken as it is.
    tail: Option<u64>,
    /// Checksums of the first and the last bytes that were read; nothing if the disk would not give them again.
    print: Option<[u32; 2]>,
    /// All that was read, in stretches in the order of the file.
    stretches: Vec<SummedStretch>,
    /// How many of the stretches, from the first, are yet to be compared with the file as it is now.
    unverified: usize,
    /// Line numbers from 0 with their offsets.
    marks: Vec<(u64, u64)>,
    names: LineNames,
}

/// What reading on came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadProgress {
    /// Read to the end there is, or not readable: see the fault.
    ReadOn,
    /// Nothing is new.
    Same,
    /// It is not the file that was read before: everything must be read again.
    Replaced,
}

/// One line met in a scan, kept small: there are as many as a file has lines.
struct ScannedLine {
    offset: u64,
    found: FoundLine,
}

/// What a line is.
enum FoundLine {
    /// An entry with its own id, whole.
    Plain(PackedEntry, Crc),
    /// Any other.
    Odd(Box<OddLine>),
}

/// A line of which more must be known than its entry.
struct OddLine {
    /// Whether a newline ends it.
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

    /// Reads the file for the first time, on so many threads, as file number `file` of the journal. What goes wrong
    /// with it becomes its fault.
    pub fn read_first(
        &mut self,
        disk: &dyn Disk,
        file: u32,
        threads: usize,
        sink: &mut dyn FnMut(Arrival),
    ) {
        if let Err(error) = self.try_read(disk, file, threads, sink) {
            self.fault = Some(FileFault::Unreadable {
                reason: self.reason(&error),
            });
            self.stat = self.stat.or_else(|| disk.stat(&self.path).ok());
        }
    }

    /// Reads the lines that are new. Where the disk refuses, what was read stands, and the file is stale until it can be
    /// read again.
    pub fn read_on(
        &mut self,
        disk: &dyn Disk,
        file: u32,
        threads: usize,
        sink: &mut dyn FnMut(Arrival),
    ) -> ReadProgress {
        match &self.fault {
            Some(FileFault::NotAFile { .. }) => return ReadProgress::Same,
            // Parts of it may have been handed on: all is read anew once it can be.
            Some(FileFault::Unreadable { .. }) if self.probe(disk).is_ok() => {
                return ReadProgress::Replaced;
            }
            Some(FileFault::Unreadable { .. }) => return ReadProgress::Same,
            None => {}
        }
        if self.stat.is_none() {
            return match disk.stat(&self.path) {
                // Still missing: a single file may be made by the first append.
                Err(error) if error.kind() == io::ErrorKind::NotFound => ReadProgress::Same,
                _ => {
                    self.read_first(disk, file, threads, sink);
                    ReadProgress::ReadOn
                }
            };
        }
        let before = self.stale.take();
        let went = match disk.stat(&self.path) {
            Ok(stat) if self.stat == Some(stat) && before.is_none() => self.verify(disk),
            Ok(_) => self.try_read(disk, file, threads, sink),
            Err(error) => Err(error),
        };
        match went {
            Ok(ReadProgress::Same) if before.is_some() => ReadProgress::ReadOn,
            Ok(went) => went,
            Err(error) => {
                self.stale = Some(self.reason(&error));
                if before.is_some() {
                    ReadProgress::Same
                } else {
                    ReadProgress::ReadOn
                }
            }
        }
    }

    fn reason(&self, error: &io::Error) -> String {
        DiskError::new(DiskStep::Read, &self.path, error).why
    }

    /// Whether the file can be read, by its first and last byte.
    fn probe(&self, disk: &dyn Disk) -> io::Result<()> {
        let handle = disk.open(&self.path, OpenMode::Read)?;
        let len = handle.stat()?.len;
        bytes_of(&*handle, 0..len.min(1))?;
        bytes_of(&*handle, len.saturating_sub(1)..len)?;
        Ok(())
    }

    fn try_read(
        &mut self,
        disk: &dyn Disk,
        file: u32,
        threads: usize,
        sink: &mut dyn FnMut(Arrival),
    ) -> io::Result<ReadProgress> {
        let handle = disk.open(&self.path, OpenMode::Read);
        let handle = match handle {
            Err(error) if error.kind() == io::ErrorKind::NotFound && self.stat.is_none() => {
                return Ok(ReadProgress::ReadOn);
            }
            other => other?,
        };
        let stat = handle.stat()?;
        if stat.sort != FileSort::Regular {
            if self.stat.is_some() {
                return Ok(ReadProgress::Replaced);
            }
            self.stat = Some(stat);
            self.fault = Some(FileFault::NotAFile {
                what: stat.sort.words(),
            });
            return Ok(ReadProgress::ReadOn);
        }
        if !self.continues(&*handle, &stat)? {
            return Ok(ReadProgress::Replaced);
        }
        let went = if self.stat.is_none() {
            self.stat = Some(stat);
            self.take_lines(&*handle, stat.len, (file, threads), sink)?
        } else {
            // What is new is handed on only once all of it was read: half of it would come twice.
            let mut arrived = Vec::new();
            let kept = self.position();
            let went = self.take_lines(&*handle, stat.len, (file, threads), &mut |arrival| {
                arrived.push(arrival);
            });
            match went {
                Ok(went) => {
                    self.stat = Some(stat);
                    self.unverified = self.stretches.len();
                    arrived.into_iter().for_each(sink);
                    went
                }
                Err(error) => {
                    self.go_back(kept, &arrived);
                    return Err(error);
                }
            }
        };
        self.print = self.printed(&*handle).ok();
        Ok(went)
    }

    /// What [`take_lines`](Self::take_lines) changes before it can fail.
    fn position(&self) -> (Option<u64>, usize) {
        (self.tail, self.marks.len())
    }

    fn go_back(&mut self, (tail, marks): (Option<u64>, usize), arrived: &[Arrival]) {
        self.tail = tail;
        self.marks.truncate(marks);
        for arrival in arrived {
            let name = match &arrival.entry {
                Ok(entry) => &entry.id,
                Err((_, name)) => name,
            };
            self.names.give_back(name);
        }
    }

    /// Whether an open file begins with what was read before.
    fn continues(&self, handle: &dyn Handle, stat: &Stat) -> io::Result<bool> {
        let Some(before) = self.stat else {
            return Ok(true);
        };
        // As long as it was, yet written to: changed somewhere inside.
        let rewritten = stat.len == before.len && stat.modified != before.modified;
        let another = stat.id != before.id || stat.len < before.len;
        if another || rewritten {
            return Ok(false);
        }
        match self.print {
            Some(print) => Ok(self.printed(handle)? == print),
            None => Ok(true),
        }
    }

    fn printed(&self, handle: &dyn Handle) -> io::Result<[u32; 2]> {
        let head = bytes_of(handle, 0..PRINT.min(self.next))?;
        let tail = bytes_of(handle, self.next.saturating_sub(PRINT)..self.next)?;
        Ok([crc32c(&head), crc32c(&tail)])
    }

    /// Compares some more of what was read with the file, after it grew: another hand may have changed a line in
    /// place and added one.
    fn verify(&mut self, disk: &dyn Disk) -> io::Result<ReadProgress> {
        if self.unverified == 0 {
            return Ok(ReadProgress::Same);
        }
        let handle = disk.open(&self.path, OpenMode::Read)?;
        let mut compared = 0;
        while compared < VERIFIED_AT_ONCE && self.unverified > 0 {
            let at = self.unverified - 1;
            let Some(stretch) = self.stretches.get(at) else {
                break;
            };
            let bytes = bytes_of(&*handle, stretch.start..stretch.start + stretch.len)?;
            if crc32c(&bytes) != stretch.sum {
                return Ok(ReadProgress::Replaced);
            }
            compared += stretch.len;
            self.unverified = at;
        }
        Ok(ReadProgress::Same)
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
        let mut sums = Vec::new();
        let mut take = |number, met: ScannedLine| {
            if went == ReadProgress::Replaced {
                return;
            }
            if let Some(before) = tail.filter(|_| met.offset == begin) {
                let (hash, ended) = match &met.found {
                    FoundLine::Odd(line) => (line.hash, line.ended),
                    FoundLine::Plain(..) => (None, true),
                };
                if hash != Some(before) {
                    went = ReadProgress::Replaced;
                }
                self.tail = self.tail.filter(|_| !ended);
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
            if let Some(arrival) = self.arrive(Origin { file, line }, met.found) {
                sink(arrival);
            }
        };
        let deliver = |first, lines: Vec<(u64, ScannedLine)>| {
            // Other threads made them.
            for (_, met) in &lines {
                if let FoundLine::Plain(entry, _) = &met.found {
                    entry.fetch();
                }
            }
            for (number, met) in lines {
                take(first + number, met);
            }
        };
        let scanned = scan_with_sums(handle, begin..len, threads, met, deliver, &mut sums)?;
        let stretches = summed(handle, begin..scanned.next, &sums)?;
        for stretch in stretches {
            self.sum_up(stretch);
        }
        self.lines += scanned.lines;
        self.next = scanned.next;
        Ok(went)
    }

    /// Takes note of a stretch that was read; short ones are joined, so that many appends make few.
    fn sum_up(&mut self, stretch: SummedStretch) {
        match self.stretches.last_mut() {
            Some(last) if last.len + stretch.len <= CHUNK => {
                let len = usize::try_from(stretch.len).unwrap_or(usize::MAX);
                last.sum = crc32c_combine(last.sum, stretch.sum, len);
                last.len += stretch.len;
            }
            _ => self.stretches.push(stretch),
        }
    }

    /// The line as it goes to the book; nothing for blanks, and for a last line that is still being
    /// written. One that reads as it stands is taken: an editor may have left the newline away.
    fn arrive(&mut self, origin: Origin, found: FoundLine) -> Option<Arrival> {
        let arrival = match found {
            FoundLine::Plain(entry, crc) => Arrival {
                origin,
                crc,
                entry: Ok(entry),
                unknown_words: Vec::new(),
            },
            FoundLine::Odd(line) => self.arrive_oddly(origin, *line)?,
        };
        if let Ok(entry) = &arrival.entry
            && !entry.id.is_line()
            && self.first_id.as_ref().is_none_or(|first| entry.id < *first)
        {
            self.first_id = Some(entry.id.clone());
        }
        Some(arrival)
    }

    fn arrive_oddly(&mut self, origin: Origin, met: OddLine) -> Option<Arrival> {
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
                Ok(entry.into())
            }
            (Ok(entry), None) => Ok(entry.into()),
            (Err(fault), name) => Err((fault, name.unwrap_or_else(|| Id::for_line(0, 1)))),
        };
        Some(Arrival {
            origin,
            crc,
            entry,
            unknown_words,
        })
    }

    /// The lines around line `line` (from 1), fetched again: the number of the first, and their bytes.
    pub fn block(&self, disk: &dyn Disk, line: u32) -> Option<(u64, Vec<Vec<u8>>)> {
        let wanted = u64::from(line).checked_sub(1)?;
        let after = self.marks.partition_point(|(number, _)| *number <= wanted);
        let &(first, begin) = self.marks.get(after.checked_sub(1)?)?;
        let handle = disk.open(&self.path, OpenMode::Read).ok()?;
        let end = match self.marks.get(after) {
            Some(&(_, offset)) => offset,
            None => handle.stat().ok()?.len,
        };
        let (mut lines, own) = (Vec::new(), |piece: RawLine<'_>| {
            Some(piece.bytes.map(<[u8]>::to_vec).unwrap_or_default())
        });
        scan(&*handle, begin..end, 1, own, |_, bytes| lines.push(bytes)).ok()?;
        Some((first + 1, lines))
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

/// The stretches of a span that was scanned, from the checksums of its chunks. The last chunk may reach beyond the span,
/// into a line that is still being written.
fn summed(handle: &dyn Handle, span: Range<u64>, sums: &[u32]) -> io::Result<Vec<SummedStretch>> {
    let mut stretches = Vec::with_capacity(sums.len());
    let mut start = span.start;
    for sum in sums {
        let end = (start + CHUNK).min(span.end);
        if end <= start {
            break;
        }
        let len = end - start;
        stretches.push(SummedStretch {
            start,
            len,
            sum: *sum,
        });
        start = end;
    }
    if let Some(last) = stretches.last_mut().filter(|last| last.len < CHUNK) {
        last.sum = crc32c(&bytes_of(handle, last.start..last.start + last.len)?);
    }
    Ok(stretches)
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
    let found = match decoded {
        Some(Decoded {
            crc,
            entry: Ok(entry),
            hash: None,
            unknown_words,
        }) if piece.ended && !again && unknown_words.is_empty() => {
            FoundLine::Plain(entry.into(), crc)
        }
        decoded => FoundLine::Odd(Box::new(OddLine {
            ended: piece.ended,
            decoded,
            hash: (again || !piece.ended).then(|| hash_of(&piece)),
        })),
    };
    Some(ScannedLine {
        offset: piece.offset,
        found,
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
