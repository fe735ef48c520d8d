//! Cuts a typed plant name into words, signs, quoted epithets and bracketed Groups. It decides
//! nothing about what they mean together.

use super::parts::{CultivarGroup, Rank, Sign};

/// One piece of a typed name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Token {
    /// A bare word, or anything else between spaces.
    Word(String),
    /// `×` or `+`; `letter` when it was typed as x.
    Op { sign: Sign, letter: bool },
    /// A quoted epithet, its quotes taken off.
    Quoted {
        text: String,
        double: bool,
        closed: bool,
    },
    /// A Group or grex in brackets.
    Group(CultivarGroup),
}

const SINGLE: &str = "'‘’‚‛′`´";
const DOUBLE: &str = "\"“”„‟″«»";
const CROSSES: &str = "×✕✖⨯╳";
const DASHES: &str = "‐‑‒–—−";
const GRAFT_SIGN: char = '+';

/// Whether a character is one of these signs. Letters, figures and spaces, which make up nearly every name, never are.
fn is_of(signs: &str, c: char) -> bool {
    !(c.is_ascii_alphanumeric() || c == ' ') && signs.contains(c)
}

/// Characters that are seen as nothing: left out, so that they never set two names apart.
fn is_invisible(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

/// The text with every run of spaces and controls as one space, and nothing invisible.
pub(super) fn collapse(text: &str) -> String {
    let visible = text.chars().filter(|c| !is_invisible(*c));
    let spaced: String = visible
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let words: Vec<&str> = spaced.split_whitespace().collect();
    words.join(" ")
}

/// One style of quote and dash.
fn unify(c: char) -> char {
    match c {
        c if is_of(SINGLE, c) => '\'',
        c if is_of(DOUBLE, c) => '"',
        c if is_of(DASHES, c) => '-',
        c => c,
    }
}

/// Folds for comparing: case, spaces, and the styles of quotes and dashes.
pub(super) fn fold(text: &str) -> String {
    match text.is_ascii() {
        true => plain_fold(text),
        false => full_fold(text),
    }
}

fn full_fold(text: &str) -> String {
    let unified: String = collapse(text).chars().map(unify).collect();
    unified.replace('"', "'").to_lowercase()
}

/// Folds ASCII text in one pass: a book's names are folded whenever it is put together.
fn plain_fold(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for b in text.bytes() {
        match b {
            // Controls are spaces here, and of spaces one stays between words.
            0..=b' ' | 0x7f if out.ends_with(' ') || out.is_empty() => {}
            0..=b' ' | 0x7f => out.push(' '),
            b'"' | b'`' => out.push('\''),
            b => out.push(char::from(b.to_ascii_lowercase())),
        }
    }
    out.truncate(out.trim_end().len());
    out
}

/// Reads the word that closes a Group's or grex's name: Some(true) for a grex.
pub(super) fn group_word(word: &str) -> Option<bool> {
    let word = word.to_lowercase();
    match word.strip_suffix('.').unwrap_or(&word) {
        "group" | "grp" | "gp" => Some(false),
        "grex" | "gx" => Some(true),
        _ => None,
    }
}

/// Cuts a name into its pieces.
pub(super) fn tokens(text: &str) -> Vec<Token> {
    let chars: Vec<char> = collapse(text).chars().collect();
    let mut found = Vec::new();
    let mut at = 0;
    while at < chars.len() {
        at = match chars[at] {
            ' ' => at + 1,
            '(' => bracket(&chars, at, &mut found),
            c if is_of(SINGLE, c) || is_of(DOUBLE, c) => quote(&chars, at, &mut found),
            c if is_of(CROSSES, c) => op(at, Sign::Cross, &mut found),
            GRAFT_SIGN => op(at, Sign::Graft, &mut found),
            _ => word(&chars, at, &mut found),
        };
    }
    found
}

fn op(at: usize, sign: Sign, found: &mut Vec<Token>) -> usize {
    let letter = false;
    found.push(Token::Op { sign, letter });
    at + 1
}

/// A bracket holds a Group, a quoted epithet, or something kept as one word.
fn bracket(chars: &[char], at: usize, found: &mut Vec<Token>) -> usize {
    let Some(length) = chars[at..].iter().position(|c| *c == ')') else {
        return word(chars, at, found);
    };
    let end = at + length;
    let inner: String = chars[at + 1..end].iter().collect();
    let inner = inner.trim();
    if let Some((name, last)) = inner.rsplit_once(' ')
        && let Some(grex) = group_word(last)
    {
        let name = name.trim().to_owned();
        found.push(Token::Group(CultivarGroup { name, grex }));
        return end + 1;
    }
    match tokens(inner).as_slice() {
        [only @ Token::Quoted { closed: true, .. }] => found.push(only.clone()),
        _ => found.push(Token::Word(chars[at..=end].iter().collect())),
    }
    end + 1
}

/// The place of the quote that closes the one at `start`: the last that could, before anything
/// that begins anew. So an apostrophe inside an epithet, or at a word's end, closes nothing.
fn closing(chars: &[char], start: usize, family: &str) -> Option<usize> {
    let mut end = None;
    let space = |at: usize| chars.get(at).is_none_or(|c| *c == ' ');
    for at in start + 1..chars.len() {
        let c = chars[at];
        let opens = is_of(family, c) && chars[at - 1] == ' ' && !space(at + 1);
        let letter = matches!(c, 'x' | 'X') && chars[at - 1] == ' ' && space(at + 1);
        let anew = opens || letter || c == '(' || c == GRAFT_SIGN || is_of(CROSSES, c);
        if anew && end.is_some() {
            break;
        }
        let stops = space(at + 1) || matches!(chars[at + 1], ')' | ',' | ';');
        if is_of(family, c) && at > start + 1 && stops {
            end = Some(at);
        }
    }
    end
}

fn quote(chars: &[char], at: usize, found: &mut Vec<Token>) -> usize {
    let double = is_of(DOUBLE, chars[at]);
    let close = closing(chars, at, if double { DOUBLE } else { SINGLE });
    let end = close.unwrap_or(chars.len());
    let text: String = chars[at + 1..end].iter().map(|c| unify(*c)).collect();
    let text = text.trim().to_owned();
    if !text.is_empty() {
        let closed = close.is_some();
        found.push(Token::Quoted {
            text,
            double,
            closed,
        });
    }
    end + 1
}

/// Whether the quote at `quote` begins an epithet although no space stands before it: `Escallonia'Apple'`. A
/// name's own apostrophe (`O'Neill`, `L'Her.`) stands behind a letter or two, and nothing closes it.
fn epithet_begins(chars: &[char], word: usize, quote: usize) -> bool {
    let capital = |at: usize| chars.get(at).is_some_and(|c| c.is_uppercase());
    is_of(SINGLE, chars[quote])
        && chars[word..quote]
            .iter()
            .filter(|c| c.is_alphabetic())
            .count()
            > 2
        && capital(quote + 1)
        && closing(chars, quote, SINGLE).is_some()
}

fn word(chars: &[char], at: usize, found: &mut Vec<Token>) -> usize {
    let ends = |c: char| c == ' ' || is_of(CROSSES, c) || is_of(DOUBLE, c);
    let rest = &chars[at..];
    let end = (1..rest.len()).find(|n| ends(rest[*n]) || epithet_begins(chars, at, at + n));
    let length = end.unwrap_or(rest.len());
    let text: String = rest[..length].iter().collect();
    split_word(text, found);
    at + length
}

/// Takes a leading letter x off `xCupressocyparis`, and a rank off `f.tomentosum`.
fn split_word(text: String, found: &mut Vec<Token>) {
    let cross = Token::Op {
        sign: Sign::Cross,
        letter: true,
    };
    if matches!(text.as_str(), "x" | "X") {
        found.push(cross);
        return;
    }
    if let Some(genus) = text.strip_prefix('x')
        && genus.chars().next().is_some_and(char::is_uppercase)
    {
        found.push(cross);
        found.push(Token::Word(genus.to_owned()));
        return;
    }
    if let Some((rank, epithet)) = text.split_once('.')
        && !epithet.is_empty()
        && epithet.chars().all(char::is_lowercase)
        && Rank::parse(rank).is_some()
    {
        found.push(Token::Word(format!("{rank}.")));
        found.push(Token::Word(epithet.to_owned()));
        return;
    }
    found.push(Token::Word(text));
}

#[cfg(test)]
mod tests {
    use super::{full_fold, plain_fold};

    proptest::proptest! {
        #[test]
        fn ascii_is_folded_as_any_text_is(text in "[ -~]{0,6}[aA\"'`\t\u{1}\u{7f}  ]{0,12}") {
            proptest::prop_assert_eq!(plain_fold(&text), full_fold(&text));
        }
    }
}
