//! Texts of devices and spreadsheets that are not in UTF-8: which encoding they are in. It reads no file.

use encoding_rs::{Encoding, UTF_16BE, UTF_16LE};

/// The UTF-16 that a text's first bytes are in, by its byte-order mark or by the zero bytes between its letters.
#[must_use]
pub fn utf16(start: &[u8]) -> Option<&'static Encoding> {
    if let Some((encoding, _)) = Encoding::for_bom(start) {
        return [UTF_16LE, UTF_16BE]
            .into_iter()
            .find(|utf16| *utf16 == encoding);
    }
    let start = &start[..start.len().min(512)];
    let half = start.len() / 2;
    let zeros = |first: usize| {
        let each = start.iter().skip(first).step_by(2);
        each.filter(|byte| **byte == 0).count()
    };
    // Zeros in the other half as well are holes or damage, not letters.
    let is_text = |zero: usize, letter: usize| {
        half > 0 && zeros(zero) * 10 >= half * 7 && zeros(letter) * 10 <= half
    };
    match (is_text(1, 0), is_text(0, 1)) {
        (true, _) => Some(UTF_16LE),
        (_, true) => Some(UTF_16BE),
        _ => None,
    }
}
