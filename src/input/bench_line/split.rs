//! Cuts a typed line into stretches: phrases, words, quoted texts. It knows no meaning.

use std::ops::Range;

/// A stretch of the typed line: its text, and where it begins in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct LineStretch<'a> {
    pub text: &'a str,
    pub start: usize,
}

impl<'a> LineStretch<'a> {
    /// The whole of a line.
    pub fn whole(text: &'a str) -> Self {
        Self { text, start: 0 }
    }

    /// Where it stands in the line, in bytes.
    pub fn span(&self) -> Range<usize> {
        self.start..self.start + self.text.len()
    }

    /// The part in this range of its own bytes, free of outer spaces.
    pub fn part(&self, range: Range<usize>) -> Self {
        let text = self.text.get(range.clone()).unwrap_or_default();
        let cut = text.len() - text.trim_start().len();
        Self {
            text: text.trim(),
            start: self.start + range.start + cut,
        }
    }

    /// What follows this many bytes.
    pub fn after(&self, bytes: usize) -> Self {
        self.part(bytes.min(self.text.len())..self.text.len())
    }

    /// Its words; a quoted text is one word.
    pub fn words(&self) -> Vec<LineStretch<'a>> {
        let mut out = Vec::new();
        let mut begun: Option<usize> = None;
        let mut skip = 0;
        for (at, c) in self.text.char_indices() {
            if at < skip {
                continue;
            }
            if c.is_whitespace() {
                out.extend(begun.take().map(|from| self.part(from..at)));
                continue;
            }
            begun.get_or_insert(at);
            if let Some(end) = quoted_end(self.text, at) {
                skip = end;
            }
        }
        out.extend(begun.map(|from| self.part(from..self.text.len())));
        out
    }

    /// The text without its quotes if they hold all of it, else as it stands.
    pub fn plain(&self) -> String {
        self.unquoted().unwrap_or_else(|| self.text.to_owned())
    }

    /// The text within, if quotes hold all of it.
    pub fn unquoted(&self) -> Option<String> {
        (quoted_end(self.text, 0) == Some(self.text.len())).then(|| unescape(self.text))
    }
}

/// The phrases of a stretch: a comma parts only before a space or the end, never within quotes.
pub(super) fn phrases(stretch: LineStretch<'_>) -> Vec<LineStretch<'_>> {
    let mut out = Vec::new();
    let mut from = 0;
    for at in marks(stretch.text, ',') {
        out.push(stretch.part(from..at));
        from = at + 1;
    }
    out.push(stretch.after(from));
    out.retain(|phrase| !phrase.text.is_empty());
    out
}

/// What stands before and after the first colon that ends a word.
pub(super) fn at_colon(stretch: LineStretch<'_>) -> Option<(LineStretch<'_>, LineStretch<'_>)> {
    let at = marks(stretch.text, ':').next()?;
    Some((stretch.part(0..at), stretch.after(at + 1)))
}

/// Where this sign stands before a space or the end, outside quotes.
fn marks(text: &str, sign: char) -> impl Iterator<Item = usize> + '_ {
    let mut skip = 0;
    text.char_indices().filter_map(move |(at, c)| {
        if at < skip {
            return None;
        }
        if let Some(end) = quoted_end(text, at) {
            skip = end;
            return None;
        }
        let next = text[at + c.len_utf8()..].chars().next();
        (c == sign && next.is_none_or(char::is_whitespace)).then_some(at)
    })
}

/// Signs that open and close a text: the plain one, and those that phones put in its place.
const QUOTES: [char; 4] = ['"', '“', '”', '„'];

/// Where the quoted text that opens at this byte ends (past its closing sign), if one opens there.
/// A quote opens at the start or after a space or one of `=[{:,`, so that inches (`4"`) open none.
fn quoted_end(text: &str, at: usize) -> Option<usize> {
    let whole = text.get(at..)?;
    let opening = whole.chars().next().filter(|c| QUOTES.contains(c))?;
    let rest = &whole[opening.len_utf8()..];
    if !text[..at].chars().next_back().is_none_or(opens) {
        return None;
    }
    let mut escaped = false;
    for (offset, c) in rest.char_indices() {
        let closes = QUOTES.contains(&c) && (c == '"') == (opening == '"');
        if escaped || !closes {
            escaped = c == '\\' && !escaped;
            continue;
        }
        let end = at + opening.len_utf8() + offset + c.len_utf8();
        let closes = |c: char| c.is_whitespace() || ",:]}=".contains(c);
        return text[end..].chars().next().is_none_or(closes).then_some(end);
    }
    None
}

/// Whether a text opens no quote that it does not close, so that what follows it is read by itself.
pub(super) fn closed(text: &str) -> bool {
    let mut skip = 0;
    text.char_indices().all(|(at, c)| {
        if let Some(end) = quoted_end(text, at).filter(|_| at >= skip) {
            skip = end;
        }
        let opens = text[..at].chars().next_back().is_none_or(opens);
        at < skip || !QUOTES.contains(&c) || !opens
    })
}

/// What may stand before an opening quote.
fn opens(c: char) -> bool {
    c.is_whitespace() || "=[{:,".contains(c)
}

/// A text in quotes, so that it is read back as it is.
pub(super) fn quote(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            other => out.push(other),
        }
    }
    out.push('"');
    out
}

/// A quoted text without its quotes and escapes.
fn unescape(quoted: &str) -> String {
    let mut out = String::with_capacity(quoted.len());
    let mut signs = quoted.chars();
    signs.next();
    signs.next_back();
    while let Some(c) = signs.next() {
        match (c, c == '\\') {
            (_, false) => out.push(c),
            _ => match signs.next() {
                Some('n') => out.push('\n'),
                Some('r') => out.push('\r'),
                Some('t') => out.push('\t'),
                Some(other) => out.push(other),
                None => out.push(c),
            },
        }
    }
    out
}

/// A text with case, hyphens and runs of spaces evened out, for comparing.
#[must_use]
pub fn fold(text: &str) -> String {
    if text.is_ascii() {
        let mut out = String::with_capacity(text.len());
        out.extend(plain_fold(text));
        return out;
    }
    full_fold(text)
}

fn full_fold(text: &str) -> String {
    let even = text.to_lowercase().replace(['-', '‐', '‑', '–'], " ");
    even.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a text evens out to begin with this one, which is evened out already.
pub(super) fn folds_to_begin(text: &str, begun: &str) -> bool {
    if begins_otherwise(text, begun) {
        return false;
    }
    if !text.is_ascii() {
        return fold(text).starts_with(begun);
    }
    let mut letters = plain_fold(text);
    begun.chars().all(|c| letters.next() == Some(c))
}

/// Whether a text evens out to this one, which is evened out already.
pub(super) fn folds_to(text: &str, folded: &str) -> bool {
    if begins_otherwise(text, folded) {
        return false;
    }
    match text.is_ascii() {
        true => plain_fold(text).eq(folded.chars()),
        false => fold(text) == folded,
    }
}

/// Whether the first signs alone tell that a text evens out to nothing that begins so.
fn begins_otherwise(text: &str, folded: &str) -> bool {
    match (text.as_bytes().first(), folded.as_bytes().first()) {
        (Some(first), Some(begun)) if first.is_ascii_alphanumeric() => {
            first.to_ascii_lowercase() != *begun
        }
        _ => false,
    }
}

/// The letters of an ASCII text, evened out.
fn plain_fold(text: &str) -> impl Iterator<Item = char> + '_ {
    let parts = text.split(|c: char| c == '-' || c.is_whitespace());
    let words = parts.filter(|word| !word.is_empty());
    words.enumerate().flat_map(|(number, word)| {
        let space = (number > 0).then_some(' ');
        let letters = word.bytes().map(|b| char::from(b.to_ascii_lowercase()));
        space.into_iter().chain(letters)
    })
}

/// Whether a text is one or more ASCII digits.
pub(super) fn digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::{fold, folds_to, folds_to_begin, full_fold};

    proptest::proptest! {
        #[test]
        fn ascii_is_evened_out_as_any_text_is(text in "[aB é‑\t-]{0,9}", other in "[aB é-]{0,4}") {
            let (folded, other) = (full_fold(&text), full_fold(&other));
            proptest::prop_assert_eq!(&fold(&text), &folded);
            proptest::prop_assert!(folds_to(&text, &folded) && folds_to_begin(&text, &folded));
            proptest::prop_assert_eq!(folds_to(&text, &other), folded == other);
            proptest::prop_assert_eq!(folds_to_begin(&text, &other), folded.starts_with(&other));
        }
    }
}
