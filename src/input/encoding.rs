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
    match half {
        0 => None,
        _ if zeros(1) * 10 >= half * 7 => Some(UTF_16LE),
        _ if zeros(0) * 10 >= half * 7 => Some(UTF_16BE),
        _ => None,
    }
}
