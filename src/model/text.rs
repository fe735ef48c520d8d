//! How names typed by people are compared: folded, with spaces collapsed, a place without its spot; and bytes in digits.
//! It knows no plant; names of plants have their own reader.

/// The text in lower case with its spaces collapsed: two names are one when these are equal.
#[must_use]
pub fn folded(text: &str) -> String {
    // Most codes: nothing to collapse, and each letter is a byte.
    if text.bytes().all(|it| it.is_ascii_graphic()) {
        return text.to_ascii_lowercase();
    }
    let mut out = String::with_capacity(text.len());
    for word in text.split_whitespace() {
        if !out.is_empty() {
            out.push(' ');
        }
        out.extend(word.chars().flat_map(char::to_lowercase));
    }
    out
}

/// What two names of places must share to be one place, aliases aside: folded, without the spot.
#[must_use]
pub fn place_key(place: &str) -> String {
    folded(split_spot(place).0)
}

/// Bytes in lower-case hexadecimal digits.
#[must_use]
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A place's name parted from the spot on it: `bench A/3` is bench A, spot 3.
#[must_use]
pub fn split_spot(place: &str) -> (&str, Option<&str>) {
    match place.split_once('/') {
        None => (place.trim(), None),
        Some((name, spot)) => (name.trim(), Some(spot.trim()).filter(|s| !s.is_empty())),
    }
}
