//! Spells cleaned text in the 95 printable ASCII characters, for terminals that know no others. It
//! keeps what can be kept readable and marks the rest with `?`.

use std::borrow::Cow;
use unicode_width::UnicodeWidthChar;

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
