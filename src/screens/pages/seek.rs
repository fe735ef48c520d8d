//! What is looked for on the journal's pages, and whether an entry is meant by it. It orders nothing: the
//! pages stay newest first.

use crate::book::Book;
use crate::book::entry::Entry;
use crate::book::value::Value;

/// The words looked for; none takes all.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Seek(Vec<String>);

impl Seek {
    /// Of a typed line.
    #[must_use]
    pub fn new(text: &str) -> Self {
        Self(
            text.to_lowercase()
                .split_whitespace()
                .map(str::to_owned)
                .collect(),
        )
    }

    /// Whether all is taken.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether an entry is meant: every word stands in it, or the letters of one of its words in order.
    #[must_use]
    pub fn takes(&self, book: &Book, entry: &Entry) -> bool {
        self.is_empty() || self.takes_text(&text(book, entry))
    }

    /// Whether the climate lines of a place are meant.
    #[must_use]
    pub fn takes_climate(&self, place: &str) -> bool {
        self.takes_text(&format!("climate {place}"))
    }

    /// Whether a text is meant.
    #[must_use]
    pub fn takes_text(&self, text: &str) -> bool {
        let text = text.to_lowercase();
        let near = |word: &String| text.split_whitespace().any(|held| abbreviates(word, held));
        self.0
            .iter()
            .all(|word| text.contains(word.as_str()) || near(word))
    }
}

/// Whether the letters of a word stand in another in order, the first at its front: `hdct`, Hidcote.
fn abbreviates(word: &str, held: &str) -> bool {
    let held = held.trim_start_matches(|c: char| !c.is_alphanumeric());
    let mut rest = held.chars();
    word.chars().count() > 2
        && held.chars().next() == word.chars().next()
        && word.chars().all(|c| rest.any(|other| other == c))
}

/// All that an entry says, with the taxon of its batch.
fn text(book: &Book, entry: &Entry) -> String {
    let mut out = entry.kind.word().to_owned();
    for (name, value) in entry.kind.write() {
        out.push(' ');
        out.push_str(name);
        flat(&value, &mut out);
        if let (true, Value::Text(code)) = (name == "batch", &value)
            && let Some(batch) = book.by_code(code).next_back()
        {
            out.push(' ');
            out.push_str(&batch.taxon.shown());
        }
    }
    for said in [&entry.by, &entry.note].into_iter().flatten() {
        out.push(' ');
        out.push_str(said);
    }
    out
}

fn flat(value: &Value, out: &mut String) {
    match value {
        Value::Text(text) => {
            out.push(' ');
            out.push_str(text);
        }
        Value::Number(number) => {
            out.push(' ');
            out.push_str(&number.to_string());
        }
        Value::Map(map) => {
            for (name, value) in map {
                out.push(' ');
                out.push_str(name);
                flat(value, out);
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::Seek;

    #[test]
    fn words_are_found_whole_in_part_or_by_their_letters() {
        let text = "look 26-041 Lavandula angustifolia 'Hidcote' blackened";
        for sought in ["", "hid", "041 lav", "hdct", "LAVND black"] {
            assert!(Seek::new(sought).takes_text(text), "{sought}");
        }
        for sought in ["weigela", "lav weig", "dct", "hz"] {
            assert!(!Seek::new(sought).takes_text(text), "{sought}");
        }
    }
}
