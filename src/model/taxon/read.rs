//! Puts the pieces of a typed plant name together. What does not fit is kept as typed, never lost.

use super::lex::{self, Token};
use super::parts::{CultivarGroup, NameNote, NameVerdict, Rank, Sign};
use super::{Taxon, Whole};

/// Words within a cultivar that keep a small letter (ICNCP: conjunctions and prepositions, and what
/// the custom of a language demands; this list is ours).
const SMALL: [&str; 22] = [
    "a", "an", "and", "at", "de", "del", "der", "des", "di", "du", "et", "for", "from", "in", "la",
    "of", "on", "the", "to", "van", "von", "with",
];

/// ICNCP: a new cultivar's name has at most this many characters, spaces aside.
const LONGEST_CULTIVAR: usize = 30;

impl Taxon {
    /// Reads any text as a plant's name; never refuses.
    ///
    /// Rules: ICN (Shenzhen 2018) Art. H.2 and H.3 for hybrids, ICNCP (9th ed. 2016) for cultivars,
    /// Groups, grexes and graft-chimaeras. What differs from them is put right where that is
    /// certain; the remainder is kept as typed.
    #[must_use]
    pub fn parse(text: &str) -> Taxon {
        name(text)
    }
}

/// Reads a name; falls back on the text as typed where reading its normal form again would give
/// something else: then it was not understood.
fn name(text: &str) -> Taxon {
    let read = first_reading(text);
    let shown = read.shown();
    let again = first_reading(&shown);
    if again.shown() == shown && again.key() == read.key() {
        read
    } else {
        as_typed(text, read.genus, None)
    }
}

fn first_reading(text: &str) -> Taxon {
    let (segments, ops, letter) = segments(lex::tokens(text));
    let mut taxon = match segments.as_slice() {
        [] => Taxon::default(),
        [one] => segment(one),
        many => formula(text, many, &ops),
    };
    if letter && taxon.verdict() == NameVerdict::Valid {
        taxon.notes.push(NameNote::LetterX);
    }
    taxon
}

/// The whole text as one thing that was not understood.
fn as_typed(text: &str, genus: String, why: Option<NameNote>) -> Taxon {
    let shown = lex::collapse(text);
    let words = lex::fold(text);
    let words = words.split(' ').map(|w| if w == "x" { "×" } else { w });
    let key = words.collect::<Vec<_>>().join(" ");
    let mut notes: Vec<NameNote> = why.into_iter().collect();
    notes.push(NameNote::Unread(shown.clone()));
    Taxon {
        genus,
        unread: shown.clone(),
        whole: Some(Whole { shown, key }),
        notes,
        ..Taxon::default()
    }
}

/// Cuts at the signs that stand between parents; a sign before a genus or an epithet stays with it.
fn segments(tokens: Vec<Token>) -> (Vec<Vec<Token>>, Vec<Sign>, bool) {
    let mut done = Vec::new();
    let mut ops = Vec::new();
    let mut letters = false;
    let mut current: Vec<Token> = Vec::new();
    let mut rest = tokens.into_iter().peekable();
    while let Some(token) = rest.next() {
        if let Token::Op { sign, letter } = &token {
            letters |= letter;
            let before_epithet = *sign == Sign::Cross
                && matches!(
                    current.as_slice(),
                    [Token::Word(_)] | [Token::Op { .. }, Token::Word(_)]
                )
                && match rest.peek() {
                    Some(Token::Word(next)) => is_epithet(next),
                    Some(Token::Quoted { .. }) => true,
                    _ => false,
                };
            if !current.is_empty() && !before_epithet {
                ops.push(*sign);
                done.push(std::mem::take(&mut current));
                continue;
            }
        }
        current.push(token);
    }
    if !current.is_empty() || !ops.is_empty() {
        done.push(current);
    }
    (done, ops, letters)
}

fn is_genus(word: &str) -> bool {
    word.chars().count() > 1 && word.chars().all(|c| c.is_alphabetic() || c == '-')
}

fn is_epithet(word: &str) -> bool {
    is_genus(word) && !word.chars().any(char::is_uppercase)
}

fn is_capitals(word: &str) -> bool {
    word.chars().count() > 1 && !word.chars().any(char::is_lowercase)
}

/// Parents joined by signs. A parent after the first must begin with a genus or its abbreviation.
fn formula(text: &str, segments: &[Vec<Token>], ops: &[Sign]) -> Taxon {
    let mut parents: Vec<Taxon> = Vec::new();
    for tokens in segments {
        let Some(parent) = parent(tokens, parents.first()) else {
            let genus = parents.into_iter().next().unwrap_or_default().genus;
            return as_typed(text, genus, Some(NameNote::ParentWithoutGenus));
        };
        parents.push(parent);
    }
    let mut shown = String::new();
    let mut keys = Vec::new();
    for (index, parent) in parents.iter().enumerate() {
        if index > 0 {
            shown.push_str(&format!(" {} ", ops[index - 1].mark()));
        }
        shown.push_str(&parent.shown());
        keys.push(full_key(parent, parents.first()));
    }
    keys.sort();
    let op = ops.first().copied().unwrap_or_default();
    let key = keys.join(&format!(" {} ", op.mark()));
    let notes = parents.iter().flat_map(|p| p.notes.clone()).collect();
    let first = parents.into_iter().next().unwrap_or_default();
    Taxon {
        whole: Some(Whole { shown, key }),
        notes,
        ..first
    }
}

/// The key of a parent, with its abbreviated genus written out from the first parent's.
fn full_key(parent: &Taxon, first: Option<&Taxon>) -> String {
    let genus = first.map_or("", |first| first.genus.as_str());
    match parent.genus.strip_suffix('.') {
        Some(_) => Taxon {
            genus: genus.to_owned(),
            ..parent.clone()
        }
        .key(),
        None => parent.key(),
    }
}

fn parent(tokens: &[Token], first: Option<&Taxon>) -> Option<Taxon> {
    let signed = usize::from(matches!(tokens.first(), Some(Token::Op { .. })));
    let Some(Token::Word(word)) = tokens.get(signed) else {
        return None;
    };
    let Some(first) = first else {
        return is_genus(word).then(|| segment(tokens));
    };
    if let Some(stem) = word.strip_suffix('.') {
        let genus = first.genus.to_lowercase();
        if stem.is_empty() || !genus.starts_with(&stem.to_lowercase()) {
            return None;
        }
        let mut whole = tokens.to_vec();
        whole[signed] = Token::Word(first.genus.clone());
        let mut taxon = segment(&whole);
        taxon.genus = format!("{}.", capitalised(stem));
        return Some(taxon);
    }
    let all_small = first.notes.contains(&NameNote::GenusCase);
    let two_words = matches!(tokens.get(signed + 1), Some(Token::Word(next)) if is_epithet(next));
    let named = !is_epithet(word) || (all_small && two_words);
    (is_genus(word) && named).then(|| segment(tokens))
}

fn capitalised(word: &str) -> String {
    let mut chars = word.chars();
    let first = chars.next().map(|c| c.to_uppercase().to_string());
    first.unwrap_or_default() + &chars.as_str().to_lowercase()
}

/// A name without formula signs: genus, epithets, Group, cultivar, in that order.
fn segment(tokens: &[Token]) -> Taxon {
    let mut taxon = Taxon::default();
    let mut at = head(tokens, &mut taxon);
    at = ranks(tokens, at, &mut taxon);
    tail(&tokens[at..], &mut taxon);
    for part in [&taxon.unread, &taxon.trailing] {
        if !part.is_empty() {
            taxon.notes.push(NameNote::Unread(part.clone()));
        }
    }
    taxon
}

/// Reads sign, genus and species; gives the place after them.
fn head(tokens: &[Token], taxon: &mut Taxon) -> usize {
    let mut at = 0;
    if let Some(Token::Op { sign, .. }) = tokens.first() {
        taxon.sign = *sign;
        at = 1;
    }
    let Some(Token::Word(genus)) = tokens.get(at) else {
        return at;
    };
    if !is_genus(genus) {
        return at;
    }
    taxon.genus = capitalised(genus);
    if taxon.genus != *genus {
        taxon.notes.push(NameNote::GenusCase);
    }
    at += 1;
    if let Some(Token::Op { sign, .. }) = tokens.get(at) {
        at += 1;
        if matches!(tokens.get(at), Some(Token::Quoted { .. })) {
            taxon.notes.push(NameNote::LooseSign);
            return at;
        }
        taxon.species_sign = *sign;
    }
    let Some(Token::Word(epithet)) = tokens.get(at) else {
        return at;
    };
    let names_group = matches!(tokens.get(at + 1), Some(Token::Word(next))
        if lex::group_word(next).is_some());
    let shouted = is_capitals(genus) && is_capitals(epithet) && is_genus(epithet);
    let reserved = Rank::parse(epithet).is_some() || epithet == "cv";
    if (is_epithet(epithet) || shouted) && !names_group && !reserved {
        taxon.species = epithet.to_lowercase();
        if taxon.species != *epithet {
            taxon.notes.push(NameNote::EpithetCase);
        }
        at += 1;
    }
    at
}

/// Reads pairs of rank and epithet; gives the place after them.
fn ranks(tokens: &[Token], mut at: usize, taxon: &mut Taxon) -> usize {
    while let [Token::Word(mark), Token::Word(epithet), ..] = &tokens[at..]
        && let Some(rank) = Rank::parse(mark)
        && is_epithet(epithet)
        && !taxon.genus.is_empty()
    {
        taxon.infra.push((rank, epithet.clone()));
        at += 2;
    }
    at
}

/// Reads Group and cultivar; the words between and after them stay as typed.
fn tail(tokens: &[Token], taxon: &mut Taxon) {
    let mut waiting: Vec<String> = Vec::new();
    for (index, token) in tokens.iter().enumerate() {
        match token {
            Token::Group(group) if taxon.group.is_none() => {
                set_group(taxon, &group.name, group.grex);
            }
            Token::Quoted { text, .. } if taxon.cultivar.is_empty() => {
                set_cultivar(taxon, token, text);
                taxon.unread = std::mem::take(&mut waiting).join(" ");
            }
            Token::Word(word) if is_cv(word) && taxon.cultivar.is_empty() => {
                taxon.notes.push(NameNote::CvMark);
                let words = plain_words(&tokens[index + 1..]);
                if !words.is_empty() {
                    set_cultivar(taxon, token, &words);
                    break;
                }
            }
            Token::Word(word) => match lex::group_word(word) {
                Some(grex) if taxon.group.is_none() && !waiting.is_empty() => {
                    let name = std::mem::take(&mut waiting).join(" ");
                    set_group(taxon, &name, grex);
                }
                _ => waiting.push(word.clone()),
            },
            other => waiting.push(as_text(other)),
        }
    }
    let rest = waiting.join(" ");
    if taxon.cultivar.is_empty() {
        taxon.unread = rest;
    } else {
        taxon.trailing = rest;
    }
}

fn is_cv(word: &str) -> bool {
    matches!(word.to_lowercase().as_str(), "cv" | "cv.")
}

/// The tokens as one text if all are bare words; empty otherwise.
fn plain_words(tokens: &[Token]) -> String {
    let mut words = Vec::new();
    for token in tokens {
        let Token::Word(word) = token else {
            return String::new();
        };
        words.push(word.as_str());
    }
    words.join(" ")
}

fn as_text(token: &Token) -> String {
    match token {
        Token::Word(word) => word.clone(),
        Token::Op { sign, .. } => sign.mark().to_owned(),
        Token::Quoted { text, .. } => format!("'{text}'"),
        Token::Group(group) => format!("({})", group.shown()),
    }
}

fn set_group(taxon: &mut Taxon, name: &str, grex: bool) {
    let shown = words_capitalised(name);
    if shown != name {
        taxon.notes.push(NameNote::CultivarCase);
    }
    taxon.group = Some(CultivarGroup { name: shown, grex });
}

fn set_cultivar(taxon: &mut Taxon, token: &Token, text: &str) {
    if let Token::Quoted { double, closed, .. } = token {
        if *double {
            taxon.notes.push(NameNote::DoubleQuotes);
        }
        if !*closed {
            taxon.notes.push(NameNote::Unclosed);
        }
    }
    taxon.cultivar = words_capitalised(text);
    if taxon.cultivar != text {
        taxon.notes.push(NameNote::CultivarCase);
    }
    if text.chars().filter(|c| *c != ' ').count() > LONGEST_CULTIVAR {
        taxon.notes.push(NameNote::LongCultivar);
    }
}

/// A capital for each word typed all small, but for small words after the first.
fn words_capitalised(text: &str) -> String {
    let words = text.split(' ').enumerate().map(|(index, word)| {
        if index > 0 && SMALL.contains(&word) {
            return word.to_owned();
        }
        let small = !word.chars().any(char::is_uppercase);
        match word.chars().next() {
            Some(first) if small => {
                let rest = &word[first.len_utf8()..];
                first.to_uppercase().to_string() + rest
            }
            _ => word.to_owned(),
        }
    });
    words.collect::<Vec<_>>().join(" ")
}
