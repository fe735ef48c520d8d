//! A file as a stream of raw lines: fixed buffers, chunks cut at line boundaries and worked on by
//! several threads, results in the file's order. It never holds the whole text and parses nothing.

use super::crc::crc32c;
use super::disk::Handle;
use super::line::{LONGEST_READ, LineHasher, hash};
use std::collections::BTreeMap;
use std::io::{self, BufRead};
use std::ops::Range;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};

/// Bytes of file a thread takes at a time, and reads at a time.
pub const CHUNK: u64 = 1 << 20;
/// Bytes of a usual line: so many values are expected of a chunk.
const USUAL_LINE: usize = 256;
/// Room the first read of a buffer takes: a chunk and the end of a usual last line.
const ROOM: usize = CHUNK as usize + (16 << 10);

/// One raw line as it is met.
#[derive(Debug, Clone, Copy)]
pub struct RawLine<'a> {
    /// Offset of its first byte in the file.
    pub offset: u64,
    /// Its length in bytes, without the newline.
    pub len: u64,
    /// Its bytes without the newline, or their hash when it is longer than is read.
    pub bytes: Result<&'a [u8], u64>,
    /// Whether a newline ends it; if not, it is the file's last and may still be growing.
    pub ended: bool,
}

/// Where a scan came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ScanEnd {
    /// Newlines passed.
    pub lines: u64,
    /// Offset behind the last newline passed.
    pub next: u64,
}

/// Reads the lines of `span`, which must begin at a line's first byte and end at or before the
/// file's end. `map` turns each line into a value on one of `threads` threads; `deliver` gets the
/// values in the file's order, each with its line's number counted from 0 at the span's beginning.
///
/// # Errors
/// Whatever the disk answers to a read; what was delivered before stands.
pub fn scan<T: Send>(
    handle: &dyn Handle,
    span: Range<u64>,
    threads: usize,
    map: impl Fn(RawLine<'_>) -> Option<T> + Sync,
    mut deliver: impl FnMut(u64, T),
) -> io::Result<ScanEnd> {
    let each = |first, values: Vec<(u64, T)>| {
        for (number, value) in values {
            deliver(first + number, value);
        }
    };
    scan_with_sums(handle, span, threads, map, each, &mut Vec::new())
}

/// As [`scan`], and gives the checksum (CRC-32C) of each [`CHUNK`] of the span, the last of which may be shorter. `deliver` gets
/// the values of a chunk at once, numbered from the number of its first line.
///
/// # Errors
/// As [`scan`].
pub fn scan_with_sums<T: Send>(
    handle: &dyn Handle,
    span: Range<u64>,
    threads: usize,
    map: impl Fn(RawLine<'_>) -> Option<T> + Sync,
    mut deliver: impl FnMut(u64, Vec<(u64, T)>),
    sums: &mut Vec<u32>,
) -> io::Result<ScanEnd> {
    let chunks = span.end.saturating_sub(span.start).div_ceil(CHUNK);
    let work = Work {
        handle,
        span: &span,
        map: &map,
    };
    let mut whole = ScanEnd {
        lines: 0,
        next: span.start,
    };
    let mut take = |part: Part<T>| {
        deliver(whole.lines, part.values);
        whole.lines += part.lines;
        whole.next = part.next.unwrap_or(whole.next);
        sums.push(part.sum);
    };
    if threads < 2 || chunks < 2 {
        let mut buffer = Vec::new();
        for chunk in 0..chunks {
            take(work.chunk(chunk, &mut buffer)?);
        }
        return Ok(whole);
    }
    let (next, failed) = (AtomicU64::new(0), AtomicBool::new(false));
    std::thread::scope(|scope| {
        let (sender, receiver) = sync_channel(threads * 2);
        for _ in 0..threads {
            let (sender, next, failed, work) = (sender.clone(), &next, &failed, &work);
            scope.spawn(move || work.chunks(next, chunks, failed, &sender));
        }
        drop(sender);
        let outcome = in_order(&receiver, take);
        // Those still at work stop at their next chunk, and those waiting to send are let go.
        failed.store(outcome.is_err(), Ordering::Relaxed);
        drop(receiver);
        outcome
    })?;
    Ok(whole)
}

/// The lines of one chunk.
struct Part<T> {
    values: Vec<(u64, T)>,
    lines: u64,
    next: Option<u64>,
    /// The checksum of the chunk's own bytes.
    sum: u32,
}

/// Hands the parts on in the order of their numbers; stops at the first that could not be read.
fn in_order<T>(
    receiver: &Receiver<(u64, io::Result<Part<T>>)>,
    mut take: impl FnMut(Part<T>),
) -> io::Result<()> {
    let (mut due, mut early) = (0, BTreeMap::new());
    while let Ok((number, part)) = receiver.recv() {
        early.insert(number, part);
        while let Some(part) = early.remove(&due) {
            take(part?);
            due += 1;
        }
    }
    Ok(())
}

/// What every thread shares.
struct Work<'a, M> {
    handle: &'a dyn Handle,
    span: &'a Range<u64>,
    map: &'a M,
}

impl<M> Work<'_, M> {
    fn chunks<T>(
        &self,
        next: &AtomicU64,
        chunks: u64,
        failed: &AtomicBool,
        sender: &SyncSender<(u64, io::Result<Part<T>>)>,
    ) where
        M: Fn(RawLine<'_>) -> Option<T>,
    {
        let mut buffer = Vec::new();
        while !failed.load(Ordering::Relaxed) {
            let number = next.fetch_add(1, Ordering::Relaxed);
            if number >= chunks {
                return;
            }
            let part = self.chunk(number, &mut buffer);
            if sender.send((number, part)).is_err() {
                return;
            }
        }
    }

    /// The lines that begin in chunk `number`, the last of which may end in a later one.
    fn chunk<T>(&self, number: u64, buffer: &mut Vec<u8>) -> io::Result<Part<T>>
    where
        M: Fn(RawLine<'_>) -> Option<T>,
    {
        let begin = self.span.start + number * CHUNK;
        let end = (begin + CHUNK).min(self.span.end);
        // A line begins here if the byte before is a newline: that byte is read with the chunk.
        let lead = u64::from(number > 0);
        let mut window = Window {
            handle: self.handle,
            buffer,
            offset: begin - lead,
            filled: 0,
            end: self.span.end,
        };
        window.fill(ROOM)?;
        let own = usize::try_from(end - begin).unwrap_or(usize::MAX);
        let mut part = Part {
            values: Vec::new(),
            lines: 0,
            next: None,
            sum: crc32c(window.bytes_from(lead as usize, own)),
        };
        let mut at = 0;
        if number > 0 {
            match window.newline(0) {
                Some(end_of_line) => at = end_of_line + 1,
                None => return Ok(part),
            }
        }
        while window.offset + (at as u64) < end {
            let piece = window.line(at)?;
            let (len, ended) = (piece.len, piece.ended);
            if let Some(value) = (self.map)(piece) {
                if part.values.is_empty() {
                    // Not before: of a line of many chunks only one has a value, and all wait for it.
                    part.values.reserve(own / USUAL_LINE);
                }
                part.values.push((part.lines, value));
            }
            if !ended {
                break;
            }
            part.lines += 1;
            at += len as usize + 1;
            part.next = Some(window.offset + at as u64);
        }
        Ok(part)
    }
}

/// A stretch of the file in memory.
struct Window<'a> {
    handle: &'a dyn Handle,
    buffer: &'a mut Vec<u8>,
    /// Where in the file the buffer begins.
    offset: u64,
    /// How much of the buffer holds bytes of the file.
    filled: usize,
    /// Where the span ends.
    end: u64,
}

impl Window<'_> {
    /// Reads on until the buffer holds `wanted` bytes or the span ends.
    fn fill(&mut self, wanted: usize) -> io::Result<()> {
        let left = self.end - self.offset;
        let wanted = usize::try_from(left).unwrap_or(usize::MAX).min(wanted);
        if self.buffer.len() < wanted {
            self.buffer.resize(wanted, 0);
        }
        while self.filled < wanted {
            let room = &mut self.buffer[self.filled..wanted];
            match read_some(self.handle, room, self.offset + self.filled as u64)? {
                // Shorter than it was: whoever follows the file will see that it was replaced.
                0 => self.end = self.offset + self.filled as u64,
                count => self.filled += count,
            }
            if self.offset + self.filled as u64 == self.end {
                break;
            }
        }
        Ok(())
    }

    /// So many bytes from that place in the buffer, or as many as were read.
    fn bytes_from(&self, at: usize, count: usize) -> &[u8] {
        let end = at.saturating_add(count).min(self.filled);
        self.buffer.get(at..end).unwrap_or(&[])
    }

    /// Where the newline at or after `at` stands in the buffer, if one is there.
    fn newline(&self, at: usize) -> Option<usize> {
        let bytes = &self.buffer[at..self.filled];
        let mut rest = bytes;
        let passed = rest.skip_until(b'\n').unwrap_or(0);
        (passed > 0 && bytes[passed - 1] == b'\n').then(|| at + passed - 1)
    }

    /// The line that begins at `at` in the buffer, reading on as far as it needs.
    fn line(&mut self, at: usize) -> io::Result<RawLine<'_>> {
        let mut from = at;
        loop {
            if let Some(newline) = self.newline(from) {
                return Ok(self.piece(at, newline, true));
            }
            from = self.filled;
            if self.offset + self.filled as u64 >= self.end {
                return Ok(self.piece(at, from, false));
            }
            if from - at > LONGEST_READ {
                return self.overlong(at);
            }
            // Twice as much each time, and never far beyond the longest line that is read.
            let held = from - at;
            let more = held.max(CHUNK as usize / 4).min(LONGEST_READ + 1 - held);
            self.fill(from + more)?;
        }
    }

    fn piece(&self, at: usize, end: usize, ended: bool) -> RawLine<'_> {
        let bytes = &self.buffer[at..end];
        let len = bytes.len() as u64;
        let bytes = if bytes.len() <= LONGEST_READ {
            Ok(bytes)
        } else {
            Err(hash(bytes, false))
        };
        RawLine {
            offset: self.offset + at as u64,
            len,
            bytes,
            ended,
        }
    }

    /// Walks over the rest of a line, begun at `at`, that is longer than is read; keeps none of it.
    fn overlong(&mut self, at: usize) -> io::Result<RawLine<'static>> {
        let offset = self.offset + at as u64;
        let mut hasher = LineHasher::default();
        hasher.add(&self.buffer[at..self.filled]);
        let mut walked = self.offset + self.filled as u64;
        let mut buffer = vec![0; CHUNK as usize / 4];
        let mut ended = false;
        while walked < self.end && !ended {
            let left = usize::try_from(self.end - walked).unwrap_or(usize::MAX);
            let room = left.min(buffer.len());
            let count = read_some(self.handle, &mut buffer[..room], walked)?;
            if count == 0 {
                break;
            }
            let line = buffer[..count]
                .split(|&byte| byte == b'\n')
                .next()
                .unwrap_or(&[]);
            hasher.add(line);
            walked += line.len() as u64;
            ended = line.len() < count;
        }
        Ok(RawLine {
            offset,
            len: walked - offset,
            bytes: Err(hasher.value()),
            ended,
        })
    }
}

fn read_some(handle: &dyn Handle, room: &mut [u8], offset: u64) -> io::Result<usize> {
    loop {
        match handle.read_at(room, offset) {
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            other => return other,
        }
    }
}
