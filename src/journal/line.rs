//! What a line is: its bytes trimmed, its name, and the ways in which bytes are no line at all.
//! It does not parse them.

use crate::model::fault::LineFault;
use crate::model::id::Id;
use sha2::{Digest, Sha256};
use std::collections::HashMap;

/// Longest line that is written, in bytes without its newline: 1 MiB.
pub const LONGEST_WRITTEN: usize = 1 << 20;
/// Longest line that is read, in bytes without its newline: 16 MiB.
pub const LONGEST_READ: usize = 16 << 20;

const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";

/// The line without what reading tolerates around it: a byte-order mark when it opens the file,
/// CR, spaces and tabs at its end, spaces before it.
#[must_use]
pub fn trimmed(raw: &[u8], opens_file: bool) -> &[u8] {
    let line = match raw.strip_prefix(BYTE_ORDER_MARK) {
        Some(rest) if opens_file => rest,
        _ => raw,
    };
    line.trim_ascii()
}

/// Recognises bytes that cannot be an entry (of a trimmed line that did not parse): zero bytes, which
/// a disk gives for a block it lost after a failed save or a power cut, and the marks that git leaves
/// when it could not merge two copies.
#[must_use]
pub fn foreign_bytes(line: &[u8]) -> Option<LineFault> {
    let marks: [&[u8]; 4] = [b"<<<<<<<", b"=======", b">>>>>>>", b"|||||||"];
    if marks.iter().any(|mark| line.starts_with(mark)) {
        return Some(LineFault::MergeMark);
    }
    line.contains(&0).then_some(LineFault::ZeroBytes)
}

/// What any line can be named by: the first eight bytes of the SHA-256 (FIPS 180-4) of its raw
/// bytes, without the newline (LF or CR LF) and without a byte-order mark.
#[must_use]
pub fn hash(raw: &[u8], opens_file: bool) -> u64 {
    let line = match raw.strip_prefix(BYTE_ORDER_MARK) {
        Some(rest) if opens_file => rest,
        _ => raw,
    };
    let mut hasher = LineHasher::default();
    hasher.add(line.strip_suffix(b"\r").unwrap_or(line));
    hasher.value()
}

/// The same, of a line that is too long to be held at once.
#[derive(Debug, Clone, Default)]
pub struct LineHasher(Sha256);

impl LineHasher {
    /// Takes the next bytes of the line.
    pub fn add(&mut self, bytes: &[u8]) {
        self.0.update(bytes);
    }

    /// The hash of all that was added.
    #[must_use]
    pub fn value(self) -> u64 {
        let digest = self.0.finalize();
        digest
            .iter()
            .take(8)
            .fold(0, |value, &byte| value << 8 | u64::from(byte))
    }
}

/// Tells identical lines of one file apart.
#[derive(Debug, Clone, Default)]
pub struct LineNames {
    seen: HashMap<u64, u32>,
}

impl LineNames {
    /// Takes back the last name given, if it is such a name: its line is read again later.
    pub fn give_back(&mut self, name: &Id) {
        let text = name.to_string();
        let Some(rest) = text.strip_prefix("line:") else {
            return;
        };
        let hash = rest.split_once('-').map_or(rest, |(hash, _)| hash);
        if let Some(count) = u64::from_str_radix(hash, 16)
            .ok()
            .and_then(|hash| self.seen.get_mut(&hash))
        {
            *count = count.saturating_sub(1);
        }
    }

    /// The name of the next line in the file that has this hash: the second gets `-2`, and so on.
    pub fn next(&mut self, hash: u64) -> Id {
        let count = self.seen.entry(hash).or_insert(0);
        *count = count.saturating_add(1);
        Id::for_line(hash, *count)
    }
}
