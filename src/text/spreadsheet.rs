//! Free text made safe for a spreadsheet, which takes some beginnings for a formula. It leaves numbers alone.

/// First characters that a spreadsheet may run: as OWASP's page on CSV injection lists them, and their
/// wide forms, which some take for the same.
const RUN: [char; 11] = ['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'];

/// The text, with a `'` before it if a spreadsheet might run it, be it only after dropping spaces. For
/// columns of text only: a column of numbers must keep its minus signs.
#[must_use]
pub fn spreadsheet_safe(text: &str) -> String {
    if text.starts_with(RUN) || text.trim_start().starts_with(RUN) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}
