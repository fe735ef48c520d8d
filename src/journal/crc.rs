//! The check value that closes a line: CRC-32C over the bytes before it. It judges bytes only and
//! knows nothing of the fields.

use crate::model::fault::Crc;

/// What stands between the last field and the eight digits.
const BEFORE: &[u8] = b",\"crc\":\"";
/// What stands behind the eight digits.
const AFTER: &[u8] = b"\"}";
const DIGITS: usize = 8;
/// Bytes of the whole tail, from the comma to the brace.
pub(super) const TAIL: usize = BEFORE.len() + DIGITS + AFTER.len();
/// A tail that differs from the expected shape in no more bytes is a damaged one, not another field.
const NEAR: usize = 1;

/// CRC-32C (Castagnoli) of some bytes: reflected polynomial 82F63B78, initial value and final xor
/// FFFFFFFF, as RFC 3720 (iSCSI) defines it.
#[must_use]
pub fn crc32c(bytes: &[u8]) -> u32 {
    ::crc32c::crc32c(bytes)
}

/// The CRC-32C of two stretches of bytes that follow one another, from that of each and the length of the second.
#[must_use]
pub fn crc32c_combine(first: u32, second: u32, second_len: usize) -> u32 {
    ::crc32c::crc32c_combine(first, second, second_len)
}

/// Closes an object with its check value: `{…}` becomes `{…,"crc":"hhhhhhhh"}`.
/// The object must have at least one field and end in its brace; no newline is added.
#[must_use]
pub fn seal(object: &[u8]) -> Vec<u8> {
    let open = object.strip_suffix(b"}").unwrap_or(object);
    let mut line = Vec::with_capacity(open.len() + TAIL + 1);
    line.extend_from_slice(open);
    line.extend_from_slice(BEFORE);
    line.extend_from_slice(format!("{:08x}", crc32c(open)).as_bytes());
    line.extend_from_slice(AFTER);
    line
}

/// Judges the check value at the end of a line (without its newline, CR or spaces). One whose digits
/// are no digits any more, or whose key is damaged in a letter or two, is wrong rather than absent:
/// the line was changed since it was written.
/// A `crc` field elsewhere in the line is the codec's business: it alone knows where fields are.
#[must_use]
pub fn check(line: &[u8]) -> Crc {
    let Some(cut) = line.len().checked_sub(TAIL) else {
        return Crc::Absent;
    };
    let (open, tail) = line.split_at(cut);
    let (before, rest) = tail.split_at(BEFORE.len());
    let (digits, after) = rest.split_at(DIGITS);
    let odd = differing(before, BEFORE) + differing(after, AFTER);
    match odd {
        0 if value_of(digits) == Some(crc32c(open)) => Crc::Right,
        0 => Crc::Wrong,
        _ if odd <= NEAR && value_of(digits).is_some() => Crc::Wrong,
        _ => Crc::Absent,
    }
}

fn differing(bytes: &[u8], expected: &[u8]) -> usize {
    bytes.iter().zip(expected).filter(|(a, b)| a != b).count()
}

fn value_of(digits: &[u8]) -> Option<u32> {
    digits.iter().try_fold(0u32, |value, &digit| {
        let digit = match digit {
            b'0'..=b'9' => digit - b'0',
            b'a'..=b'f' => digit - b'a' + 10,
            _ => return None,
        };
        Some(value << 4 | u32::from(digit))
    })
}
