//! Files as streams of raw lines: cuts at every byte, chunks, threads, lines without an end.

use super::twin::Twin;
use proptest::prelude::*;
use std::io;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use struck::journal::disk::{Disk, FileId, FileSort, Handle, OpenMode, Stat};
use struck::journal::line::LONGEST_READ;
use struck::journal::scan::{CHUNK, ScanEnd, scan};

type Seen = Vec<(u64, u64, Vec<u8>, bool)>;

fn lines_of(bytes: &[u8], threads: usize) -> (Seen, ScanEnd) {
    let twin = Twin::new();
    twin.put("/j/a.jsonl", bytes);
    let handle = twin.open(Path::new("/j/a.jsonl"), OpenMode::Read).unwrap();
    let mut seen = Vec::new();
    let whole = scan(
        &*handle,
        0..bytes.len() as u64,
        threads,
        |piece| {
            Some((
                piece.offset,
                piece.bytes.unwrap_or(b"too long").to_vec(),
                piece.ended,
            ))
        },
        |number, (offset, line, ended)| seen.push((number, offset, line, ended)),
    )
    .unwrap();
    (seen, whole)
}

/// The plain way, to compare with.
fn expected(bytes: &[u8]) -> Seen {
    let (mut seen, mut offset) = (Vec::new(), 0);
    for (number, line) in bytes.split_inclusive(|&b| b == b'\n').enumerate() {
        let text = line.strip_suffix(b"\n").unwrap_or(line);
        seen.push((
            number as u64,
            offset,
            text.to_vec(),
            text.len() < line.len(),
        ));
        offset += line.len() as u64;
    }
    seen
}

#[test]
fn every_cut_of_a_file_gives_its_whole_lines_and_the_rest_as_unended() {
    let text: Vec<u8> = (0..40)
        .flat_map(|n| format!("{{\"n\":{n}}}\n").into_bytes())
        .collect();
    for cut in 0..=text.len() {
        let (seen, whole) = lines_of(&text[..cut], 1);
        assert_eq!(seen, expected(&text[..cut]), "cut at {cut}");
        assert_eq!(
            whole.lines,
            text[..cut].iter().filter(|&&b| b == b'\n').count() as u64
        );
    }
}

#[test]
fn chunks_cut_anywhere_in_a_line_lose_and_double_nothing() {
    let chunk = CHUNK as usize;
    for shift in [0, 1, 2, 99, 100] {
        let mut text = vec![b'a'; chunk - shift];
        text.push(b'\n');
        for n in 0..30_000 {
            text.extend_from_slice(format!("line {n:0>width$}\n", width = 20 + n % 90).as_bytes());
        }
        text.extend_from_slice(&vec![b'z'; chunk * 2 + 5]);
        text.extend_from_slice(b"\nlast");
        for threads in [1, 2, 3] {
            let (seen, whole) = lines_of(&text, threads);
            assert!(seen == expected(&text), "shift {shift}, {threads} threads");
            assert_eq!(
                whole,
                ScanEnd {
                    lines: 30_002,
                    next: text.len() as u64 - 4
                }
            );
        }
    }
}

#[test]
fn the_longest_line_is_read_and_one_byte_more_is_passed_over() {
    for (len, readable) in [(LONGEST_READ, true), (LONGEST_READ + 1, false)] {
        let mut text = b"first\n".to_vec();
        text.extend_from_slice(&vec![b'x'; len]);
        text.extend_from_slice(b"\nlast\n");
        for threads in [1, 2] {
            let (seen, whole) = lines_of(&text, threads);
            assert_eq!(seen.len(), 3);
            assert_eq!(seen[1].2.len() == len, readable);
            assert_eq!((seen[2].0, seen[2].2.as_slice()), (2, b"last".as_slice()));
            assert_eq!(whole.next, text.len() as u64);
        }
    }
}

/// A file of zero bytes without end, which remembers the largest read asked of it.
struct Zeros {
    largest: AtomicUsize,
}

impl Handle for Zeros {
    fn stat(&self) -> io::Result<Stat> {
        let id = FileId {
            device: 0,
            number: 0,
        };
        Ok(Stat {
            id,
            sort: FileSort::Regular,
            len: u64::MAX,
            mode: 0,
            owner: 0,
            group: 0,
            links: 1,
            modified: (0, 0),
            changed: (0, 0),
        })
    }
    fn read_at(&self, buffer: &mut [u8], _: u64) -> io::Result<usize> {
        self.largest.fetch_max(buffer.len(), Ordering::Relaxed);
        buffer.fill(0);
        Ok(buffer.len())
    }
    fn write(&self, _: &[u8]) -> io::Result<usize> {
        unreachable!("a scan writes nothing")
    }
    fn sync(&self) -> io::Result<()> {
        unreachable!("a scan syncs nothing")
    }
    fn try_lock(&self) -> io::Result<bool> {
        unreachable!("a scan locks nothing")
    }
}

#[test]
fn a_line_of_64_mib_takes_no_more_memory_than_the_longest_that_is_read() {
    let zeros = Zeros {
        largest: AtomicUsize::new(0),
    };
    let mut seen = Vec::new();
    let len = 64 << 20;
    scan(
        &zeros,
        0..len,
        2,
        |piece| Some((piece.len, piece.bytes.is_err(), piece.ended)),
        |number, it| seen.push((number, it)),
    )
    .unwrap();
    assert_eq!(seen, [(0, (len, true, false))]);
    assert!(zeros.largest.into_inner() <= LONGEST_READ + 1);
}

#[test]
fn a_read_that_fails_is_reported_and_stops_every_thread() {
    let twin = Twin::new();
    let text = b"some line\n".repeat(2_000_000);
    twin.put("/j/a.jsonl", &text);
    let handle = twin.open(Path::new("/j/a.jsonl"), OpenMode::Read).unwrap();
    for threads in [1, 2] {
        twin.plan(7, super::twin::Mishap::Error(5));
        let mut count = 0;
        let outcome = scan(
            &*handle,
            0..text.len() as u64,
            threads,
            |_| Some(()),
            |_, ()| count += 1,
        );
        assert_eq!(outcome.unwrap_err().raw_os_error(), Some(5));
        assert!(twin.settle() && count < 2_000_000);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn any_bytes_split_as_they_should(bytes in proptest::collection::vec(prop_oneof![Just(b'\n'), any::<u8>()], 0..400)) {
        prop_assert_eq!(lines_of(&bytes, 2).0, expected(&bytes));
    }
}
