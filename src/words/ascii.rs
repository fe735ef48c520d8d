//! Spells cleaned text in the 95 printable ASCII characters, for terminals that know no others. It
//! keeps what can be kept readable and marks the rest with `?`.

use std::borrow::Cow;
use unicode_width::UnicodeWidthChar;

/// Signs and their spelling.
const SIGNS: [(&str, &str); 22] = [
    ("×✕✖⨯", "x"),
    ("…", "~"),
    ("‘’‚‛′`´", "'"),
    ("“”„‟″«»", "\""),
    ("‐‑‒–—−", "-"),
    ("→", "->"),
    ("≥", ">="),
    ("≤", "<="),
    ("±", "+-"),
    ("µμ", "u"),
    ("°º", ""),
    ("·•", "."),
    ("¹", "1"),
    ("²", "2"),
    ("³", "3"),
    ("½", "1/2"),
    ("¼", "1/4"),
    ("¾", "3/4"),
    ("ß", "ss"),
    ("æ", "ae"),
    ("œ", "oe"),
    ("\u{a0}\u{202f}", " "),
];

/// Small Latin letters with marks, and the letter beneath.
const LETTERS: [(&str, char); 17] = [
    ("àáâãäåāăą", 'a'),
    ("çćĉċč", 'c'),
    ("ďđð", 'd'),
    ("èéêëēĕėęě", 'e'),
    ("ĝğġģ", 'g'),
    ("ĥħ", 'h'),
    ("ìíîïĩīĭįı", 'i'),
    ("ĺļľł", 'l'),
    ("ñńņň", 'n'),
    ("òóôõöøōŏő", 'o'),
    ("ŕŗř", 'r'),
    ("śŝşšș", 's'),
    ("ţťțŧ", 't'),
    ("ùúûüũūŭůűų", 'u'),
    ("ŵ", 'w'),
    ("ýÿŷ", 'y'),
    ("źżž", 'z'),
];

/// The text in printable ASCII. A character without a spelling becomes `?`, twice if it is wide;
/// combining marks fall away.
#[must_use]
pub fn ascii(clean: &str) -> String {
    let mut out = String::with_capacity(clean.len());
    for c in clean.chars() {
        match spelling(c) {
            Some(Spelt::Letter(letter)) => out.push(letter),
            Some(Spelt::Sign(text)) => out.push_str(text),
            None => out.extend(std::iter::repeat_n('?', c.width().unwrap_or(1))),
        }
    }
    out
}

/// The text with the marks taken off its Latin letters and `×` as x, for comparing what is typed without
/// them; all else stays as it is.
#[must_use]
pub fn unmarked(text: &str) -> Cow<'_, str> {
    // ASCII is as it is: many names are looked through at each letter typed.
    if text.is_ascii() {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    for c in text.chars().filter(|c| c.width() != Some(0)) {
        match spelling(c) {
            Some(Spelt::Letter(plain)) if c.is_alphabetic() => out.push(plain),
            Some(Spelt::Sign(plain)) if c.is_alphabetic() || c == '×' => out.push_str(plain),
            _ => out.push(c),
        }
    }
    Cow::Owned(out)
}

/// A character in ASCII.
enum Spelt {
    Letter(char),
    Sign(&'static str),
}

fn spelling(c: char) -> Option<Spelt> {
    if c == ' ' || c.is_ascii_graphic() {
        return Some(Spelt::Letter(c));
    }
    let small = c.to_lowercase().next()?;
    if let Some((_, letter)) = LETTERS.iter().find(|row| row.0.contains(small)) {
        let letter = if c == small {
            *letter
        } else {
            letter.to_ascii_uppercase()
        };
        return Some(Spelt::Letter(letter));
    }
    let sign = SIGNS.iter().find(|row| row.0.contains(c))?;
    Some(Spelt::Sign(sign.1))
}
