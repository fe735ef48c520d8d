//! Makes any text safe to show, measures it in columns, and spells it in the 95 printable ASCII characters for terminals
//! that know no others. Every other file of this room takes widths from here alone.

use std::borrow::Cow;
use std::fmt::Write;
use unicode_segmentation::UnicodeSegmentation;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// What the reader's terminal can show.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Charset {
    /// Any Unicode text.
    #[default]
    Utf8,
    /// The 95 printable ASCII characters only.
    Ascii,
}

impl Charset {
    /// The mark of a cut, one column wide: `…`, or `~` in ASCII.
    #[must_use]
    pub fn ellipsis(self) -> &'static str {
        match self {
            Charset::Utf8 => "…",
            Charset::Ascii => "~",
        }
    }
}

/// On which side a text stands within its columns.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Align {
    /// Words.
    #[default]
    Left,
    /// Numbers.
    Right,
}

/// How many combining marks a base letter keeps: enough for any script, too few to climb into the
/// lines above.
const MARKS_KEPT: usize = 4;

/// First and last of each run of characters that are seen as nothing or turn the reading order:
/// Unicode 16, `DerivedCoreProperties.txt` (Default_Ignorable_Code_Point), `PropList.txt`
/// (Bidi_Control), and the line and annotation separators.
const INVISIBLE: [(u32, u32); 18] = [
    (0x00AD, 0x00AD),
    (0x034F, 0x034F),
    (0x061C, 0x061C),
    (0x115F, 0x1160),
    (0x17B4, 0x17B5),
    (0x180B, 0x180F),
    (0x200B, 0x200F),
    (0x2028, 0x202E),
    (0x2060, 0x206F),
    (0x3164, 0x3164),
    (0xFE00, 0xFE0F),
    (0xFEFF, 0xFEFF),
    (0xFFA0, 0xFFA0),
    (0xFFF0, 0xFFFB),
    (0x13430, 0x1345F),
    (0x1BCA0, 0x1BCA3),
    (0x1D173, 0x1D17A),
    (0xE0000, 0xE0FFF),
];

/// Whether a text holds nothing but Latin letters and signs, as nearly all do: none needs care, and each takes a column
/// by itself.
fn is_plain(text: &str) -> bool {
    let plain = |c| matches!(c, ' '..='~' | '\u{a0}'..='\u{ac}' | '\u{ae}'..='\u{2ff}');
    text.chars().all(plain)
}

fn is_invisible(c: char) -> bool {
    let code = u32::from(c);
    INVISIBLE.iter().any(|run| (run.0..=run.1).contains(&code))
}

/// The text as it may be sent to any terminal or printer.
///
/// Controls (C0, DEL, C1) become `\x1b` and the like; bidirectional controls, zero-width and tag
/// characters become `<U+202E>`; of combining marks four stay on each letter, and one without a
/// letter is spelled out. Clean text comes back unchanged.
#[must_use]
pub fn shown(text: &str) -> String {
    if is_plain(text) {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len());
    // None: no letter yet for a mark to stand on.
    let mut marks: Option<usize> = None;
    for c in text.chars() {
        if (' '..='~').contains(&c) {
            out.push(c);
            marks = Some(0);
        } else if c.is_control() {
            // Writing into a String cannot fail.
            let _ = write!(out, "\\x{:02x}", u32::from(c));
            marks = Some(0);
        } else if is_invisible(c) {
            spell(&mut out, c);
            marks = Some(0);
        } else if c.width() == Some(0) {
            match &mut marks {
                None => {
                    spell(&mut out, c);
                    marks = Some(0);
                }
                Some(count) if *count < MARKS_KEPT => {
                    *count += 1;
                    out.push(c);
                }
                Some(_) => {}
            }
        } else {
            out.push(c);
            marks = Some(0);
        }
    }
    out
}

/// As [`shown`], line by line: line breaks stay, and no other control does.
#[must_use]
pub fn shown_lines(text: &str) -> String {
    let lines: Vec<String> = text.split('\n').map(shown).collect();
    lines.join("\n")
}

/// JSON in which what a terminal might obey, and what is not seen, is escaped (RFC 8259, section 7):
/// the same text to every reader of JSON. Outside of texts such characters do not occur.
#[must_use]
pub fn harmless_json(json: &str) -> Cow<'_, str> {
    escaped(json, |out, c| {
        for unit in c.encode_utf16(&mut [0; 2]) {
            // Writing into a String cannot fail.
            let _ = write!(out, "\\u{unit:04x}");
        }
    })
}

/// The text with every character that [`shown`] would not send put by `escape` into other words; for
/// formats that can say any character without holding it.
#[must_use]
pub fn escaped(text: &str, escape: impl Fn(&mut String, char)) -> Cow<'_, str> {
    // Most of every text is harmless at a glance, and is taken over stretch by stretch.
    let stretch = |text: &str| {
        let other = text
            .bytes()
            .position(|it| !matches!(it, b' '..=b'~' | b'\n'));
        other.unwrap_or(text.len())
    };
    let (plain, mut rest) = text.split_at(stretch(text));
    if rest.is_empty() {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    out.push_str(plain);
    let mut marks = 0;
    while let Some(c) = rest.chars().next() {
        marks = if c.width() == Some(0) { marks + 1 } else { 0 };
        let harmful = (c.is_control() && c != '\n') || is_invisible(c) || marks > MARKS_KEPT;
        if harmful {
            escape(&mut out, c);
        } else {
            out.push(c);
        }
        rest = &rest[c.len_utf8()..];
        let (plain, after) = rest.split_at(stretch(rest));
        if !plain.is_empty() {
            marks = 0;
        }
        out.push_str(plain);
        rest = after;
    }
    Cow::Owned(out)
}

/// As [`shown`], and spelled in ASCII where the terminal knows no more.
#[must_use]
pub fn shown_in(text: &str, charset: Charset) -> String {
    match charset {
        Charset::Utf8 => shown(text),
        Charset::Ascii => ascii(&shown(text)),
    }
}

fn spell(out: &mut String, c: char) {
    // Writing into a String cannot fail.
    let _ = write!(out, "<U+{:04X}>", u32::from(c));
}

/// Columns that the text takes once cleaned (UAX 11, a wide character takes two).
#[must_use]
pub fn width(text: &str) -> usize {
    match is_plain(text) {
        true => text.chars().count(),
        false => clean_width(&shown(text)),
    }
}

/// Summed letter by letter, as a terminal lays them out.
fn clean_width(clean: &str) -> usize {
    if is_plain(clean) {
        return clean.chars().count();
    }
    clean.graphemes(true).map(UnicodeWidthStr::width).sum()
}

/// The cleaned text in at most `cols` columns, cut with an ellipsis if it is longer. No letter is
/// cut in half: a wide one that does not fit is left out whole.
#[must_use]
pub fn fit(text: &str, cols: usize, charset: Charset) -> String {
    let clean = shown_in(text, charset);
    if clean_width(&clean) <= cols {
        return clean;
    }
    if cols == 0 {
        return String::new();
    }
    let head = &clean[..head_length(&clean, cols - 1)];
    format!("{}{}", head.trim_end(), charset.ellipsis())
}

/// Bytes of the longest beginning that takes at most `cols` columns.
fn head_length(clean: &str, cols: usize) -> usize {
    if is_plain(clean) {
        let mut ends = clean.char_indices().map(|(at, _)| at);
        return ends.nth(cols).unwrap_or(clean.len());
    }
    let mut used = 0;
    for (at, letter) in clean.grapheme_indices(true) {
        used += letter.width();
        if used > cols {
            return at;
        }
    }
    clean.len()
}

/// As [`fit`], but cut in the middle so that both ends stay: `tail` columns of the end are kept.
#[must_use]
pub fn fit_ends(text: &str, cols: usize, tail: usize, charset: Charset) -> String {
    let clean = shown_in(text, charset);
    if clean_width(&clean) <= cols {
        return clean;
    }
    if cols <= tail {
        return fit(text, cols, charset);
    }
    let head = &clean[..head_length(&clean, cols - tail - 1)];
    let mut end = clean.len();
    let mut used = 0;
    for (at, letter) in clean.grapheme_indices(true).rev() {
        used += letter.width();
        if used > tail {
            break;
        }
        end = at;
    }
    format!("{}{}{}", head.trim_end(), charset.ellipsis(), &clean[end..])
}

/// The cleaned text in exactly `cols` columns: cut as by [`fit`], or filled with spaces.
#[must_use]
pub fn pad(text: &str, cols: usize, align: Align, charset: Charset) -> String {
    let fitted = fit(text, cols, charset);
    let fill = " ".repeat(cols.saturating_sub(clean_width(&fitted)));
    match align {
        Align::Left => fitted + &fill,
        Align::Right => fill + &fitted,
    }
}

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

/// The cleaned text in lines of at most `cols` columns, broken between words; a word longer than a
/// line is broken between letters. Always at least one line; `cols` below 2 counts as 2, since a
/// wide letter takes two.
#[must_use]
pub fn wrap(text: &str, cols: usize, charset: Charset) -> Vec<String> {
    let cols = cols.max(2);
    let clean = shown_in(text, charset);
    let mut lines = vec![String::new()];
    for word in clean.split_whitespace() {
        let line = lines.len() - 1;
        let used = width(&lines[line]);
        let gap = usize::from(used > 0);
        if used + gap + width(word) <= cols {
            lines[line].push_str(&" ".repeat(gap));
            lines[line].push_str(word);
            continue;
        }
        let mut pieces = break_word(word, cols);
        if used == 0 {
            lines.pop();
        }
        lines.append(&mut pieces);
    }
    lines
}

fn break_word(word: &str, cols: usize) -> Vec<String> {
    let mut pieces = vec![String::new()];
    let mut used = 0;
    // A letter with marks of their own width may be wider than a line: then these go on by themselves.
    let letters = word.graphemes(true).flat_map(|letter| match width(letter) {
        wide if wide > cols => letter.split_inclusive(|_: char| true).collect(),
        _ => vec![letter],
    });
    for letter in letters {
        let wide = width(letter);
        if used > 0 && used + wide > cols {
            pieces.push(String::new());
            used = 0;
        }
        let last = pieces.len() - 1;
        pieces[last].push_str(letter);
        used += wide;
    }
    pieces
}

/// The spelling of a sign.
#[rustfmt::skip]
fn sign(c: char) -> Option<&'static str> {
    Some(match c {
        '×' | '✕' | '✖' | '⨯' => "x",
        '…' => "~",
        '‘' | '’' | '‚' | '‛' | '′' | '`' | '´' => "'",
        '“' | '”' | '„' | '‟' | '″' | '«' | '»' => "\"",
        '‐' | '‑' | '‒' | '–' | '—' | '−' => "-",
        '→' => "->",
        '≥' => ">=",
        '≤' => "<=",
        '±' => "+-",
        'µ' | 'μ' => "u",
        '°' | 'º' => "",
        '·' | '•' => ".",
        '¹' => "1",
        '²' => "2",
        '³' => "3",
        '½' => "1/2",
        '¼' => "1/4",
        '¾' => "3/4",
        'ß' => "ss",
        'æ' => "ae",
        'œ' => "oe",
        '\u{a0}' | '\u{202f}' => " ",
        _ => return None,
    })
}

/// The letter beneath a small Latin letter with marks.
#[rustfmt::skip]
fn beneath(c: char) -> Option<char> {
    Some(match c {
        'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' | 'ā' | 'ă' | 'ą' => 'a',
        'ç' | 'ć' | 'ĉ' | 'ċ' | 'č' => 'c',
        'ď' | 'đ' | 'ð' => 'd',
        'è' | 'é' | 'ê' | 'ë' | 'ē' | 'ĕ' | 'ė' | 'ę' | 'ě' => 'e',
        'ĝ' | 'ğ' | 'ġ' | 'ģ' => 'g',
        'ĥ' | 'ħ' => 'h',
        'ì' | 'í' | 'î' | 'ï' | 'ĩ' | 'ī' | 'ĭ' | 'į' | 'ı' => 'i',
        'ĺ' | 'ļ' | 'ľ' | 'ł' => 'l',
        'ñ' | 'ń' | 'ņ' | 'ň' => 'n',
        'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ø' | 'ō' | 'ŏ' | 'ő' => 'o',
        'ŕ' | 'ŗ' | 'ř' => 'r',
        'ś' | 'ŝ' | 'ş' | 'š' | 'ș' => 's',
        'ţ' | 'ť' | 'ț' | 'ŧ' => 't',
        'ù' | 'ú' | 'û' | 'ü' | 'ũ' | 'ū' | 'ŭ' | 'ů' | 'ű' | 'ų' => 'u',
        'ŵ' => 'w',
        'ý' | 'ÿ' | 'ŷ' => 'y',
        'ź' | 'ż' | 'ž' => 'z',
        _ => return None,
    })
}

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
    if let Some(letter) = beneath(small) {
        let letter = if c == small {
            letter
        } else {
            letter.to_ascii_uppercase()
        };
        return Some(Spelt::Letter(letter));
    }
    sign(c).map(Spelt::Sign)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_taken_for_plain_is_shown_as_it_is_in_a_column_by_itself() {
        let signs: Vec<char> = ('\0'..='\u{3ff}')
            .filter(|c| is_plain(&c.to_string()))
            .collect();
        assert!(signs.len() > 600, "{}", signs.len());
        for c in &signs {
            assert!(!c.is_control() && !is_invisible(*c), "{c:?}");
            assert_eq!(c.width(), Some(1), "{c:?}");
        }
        let all: String = signs.iter().flat_map(|c| [*c, 'a', *c, *c]).collect();
        assert_eq!(all.graphemes(true).count(), all.chars().count());
    }
}
