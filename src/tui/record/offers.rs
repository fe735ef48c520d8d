//! Words offered while typing: the journal's own, nearest first. It takes none by itself.

use crate::input::fuzzy::rank;
use crate::text::ascii::unmarked;
use crate::tui::common::Common;

/// The fields whose texts are offered.
const FIELDS: [&str; 9] = [
    "taxon",
    "place",
    "medium",
    "container",
    "source",
    "trial",
    "arm",
    "by",
    "with",
];
/// First words of a phrase that are no part of the text looked for.
const OPENERS: [&str; 8] = ["in", "at", "to", "from", "by", "with", "into", "of"];
/// At most so many are offered.
const MOST: usize = 5;

/// Words on offer for the text before the cursor.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Offers {
    /// Where in the text the replaced part begins, in bytes.
    pub from: usize,
    /// The words, nearest first.
    pub words: Vec<String>,
}

/// What is offered for the last phrase of this text, from these fields (all, if none are named).
#[must_use]
pub fn offers(before: &str, fields: &[&str], common: &Common) -> Offers {
    let from = phrase_start(before);
    let query = before[from..].trim();
    if query.chars().count() < 2 {
        return Offers::default();
    }
    let fields = if fields.is_empty() {
        &FIELDS[..]
    } else {
        fields
    };
    let mut known: Vec<&str> = Vec::new();
    for field in fields {
        let texts = common.known.texts(field).iter().map(String::as_str);
        known.extend(texts);
    }
    known.sort_unstable();
    known.dedup();
    let ranked = rank(query, &known).into_iter();
    let words: Vec<String> = ranked
        .map(|(at, _)| known[at].to_owned())
        .filter(|word| word != query && begins(word, query))
        .take(MOST)
        .collect();
    Offers { from, words }
}

/// Whether a word of the text begins as the query does: the rest may be guessed, the first letter not.
fn begins(text: &str, query: &str) -> bool {
    let (text, query) = (unmarked(text), unmarked(query));
    let first = query
        .chars()
        .find(|c| c.is_alphanumeric())
        .map(|c| c.to_lowercase().to_string());
    let mut words = text.split(|c: char| !c.is_alphanumeric());
    first.is_some_and(|first| words.any(|word| word.to_lowercase().starts_with(&first)))
}

/// Where the last phrase begins, its number and its opening word left out.
fn phrase_start(before: &str) -> usize {
    let cut = [", ", ": "]
        .iter()
        .filter_map(|sign| before.rfind(sign).map(|at| at + sign.len()));
    let mut from = cut.max().unwrap_or(0);
    loop {
        let rest = &before[from..];
        let spaces = rest.len() - rest.trim_start().len();
        let word = rest.trim_start().split(' ').next().unwrap_or_default();
        let ended = rest.trim_start().len() > word.len();
        let number = word.chars().any(|c| c.is_ascii_digit())
            && word.chars().all(|c| c.is_ascii_digit() || c == 'x');
        if ended && (number || OPENERS.contains(&word)) {
            from += spaces + word.len();
        } else {
            return from + spaces;
        }
    }
}
