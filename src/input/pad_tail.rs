//! What stands behind the counts on the look pad: the day of the look, then a note after a quotation mark.

use super::when::{self, DayLean};
use crate::model::at::At;
use chrono::{DateTime, FixedOffset};

/// The pad's text taken apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PadText<'a> {
    /// The counts and signs, as the pad reads them.
    pub counts: &'a str,
    /// When the look was made; nothing for now.
    pub at: Option<At>,
    /// The note; nothing if none was begun or nothing stands in it.
    pub note: Option<&'a str>,
}

/// Marks that begin a note and may end it, those that phones put in their place among them.
const MARKS: [char; 6] = ['"', '\u{201c}', '\u{201d}', '\u{201e}', '\u{ab}', '\u{bb}'];

/// Whether a note has begun: from there on all is text.
#[must_use]
pub fn is_in_note(text: &str) -> bool {
    text.contains(MARKS)
}

/// A note as it is typed behind the counts.
#[must_use]
pub fn noted(note: &str) -> String {
    format!("\"{note}\"")
}

/// Takes the pad's text apart. A day or time stands last before the note, as `yesterday`, `3 Jun` or `16:30`.
#[must_use]
pub fn read(text: &str, now: DateTime<FixedOffset>) -> PadText<'_> {
    let mark = text.find(MARKS);
    let (front, note) = text.split_at(mark.unwrap_or(text.len()));
    let mut rest = note.chars();
    rest.next();
    let note = rest.as_str().trim();
    let note = note.strip_suffix(MARKS).unwrap_or(note).trim();
    let (counts, at) = day(front, now);
    PadText {
        counts,
        // A day alone that is today says no more than now.
        at: at.filter(|at| *at != At::Day(now.date_naive())),
        note: Some(note).filter(|note| !note.is_empty()),
    }
}

/// The front without the day that ends it, and that day. The longest end that is one is taken.
fn day(front: &str, now: DateTime<FixedOffset>) -> (&str, Option<At>) {
    let offset = *now.offset();
    let mut before = ' ';
    for (at, letter) in front.char_indices() {
        let begins = matches!(before, ' ' | ',') && letter.is_alphanumeric();
        before = letter;
        if !begins {
            continue;
        }
        let end = front[at..].trim();
        if let Ok(when) = when::read(end, now, DayLean::Back, |_| offset) {
            return (&front[..at], Some(when));
        }
    }
    (front, None)
}

#[cfg(test)]
mod tests {
    use super::read;
    use crate::model::at::At;
    use chrono::DateTime;

    #[test]
    fn a_day_and_a_note_stand_behind_the_counts_and_no_count_is_taken_for_a_day() {
        let now = DateTime::parse_from_rfc3339("2026-06-14T09:30:00+02:00").unwrap_or_default();
        for (text, counts, at, note) in [
            ("2 3 0 1 yesterday", "2 3 0 1 ", Some("2026-06-13"), None),
            ("4 3 Jun", "4 ", Some("2026-06-03"), None),
            ("4r 3c on 3 june", "4r 3c ", Some("2026-06-03"), None),
            (
                "2 3 mon 16:30",
                "2 3 ",
                Some("2026-06-08T16:30:00+02:00"),
                None,
            ),
            ("2 3 2026-06-02", "2 3 ", Some("2026-06-02"), None),
            ("4 3 today", "4 3 ", None, None),
            ("4 3 0 1", "4 3 0 1", None, None),
            ("mrfc", "mrfc", None, None),
            ("18p s", "18p s", None, None),
            ("9 t +14", "9 t +14", None, None),
            ("4 \"dry, 3 Jun", "4 ", None, Some("dry, 3 Jun")),
            (
                "4 yesterday \u{201c}5\" pots\u{201d}",
                "4 ",
                Some("2026-06-13"),
                Some("5\" pots"),
            ),
            ("4 \"", "4 ", None, None),
        ] {
            let got = read(text, now);
            let when = at.and_then(At::parse);
            assert_eq!(
                (got.counts, got.at, got.note),
                (counts, when, note),
                "{text}"
            );
        }
    }
}
