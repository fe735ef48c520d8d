//! Reads one phrase by the table: by its first words, by being a listed word, by the journal's own texts, by its
//! shape. It keeps nothing between phrases.

use super::hormone;
use super::lists::{
    CAUSE, DISCARDED, is_medium, is_place, listed_folded, nearest, without_leading,
};
use super::phrases::{PhraseRow, Shape, rows_of};
use super::shapes;
use super::shapes::{is_container, is_size};
use super::split::{LineStretch, digits, fold};
use super::vocabulary::TEXT_FIELDS;
use super::vocabulary::{LineContext, PhraseFields, say};
use crate::model::value::{FieldType, Value};

/// Why a phrase was not understood.
#[derive(Debug)]
pub(super) struct UnreadPhrase {
    /// What is wrong.
    pub what: String,
    /// The nearest that would be understood.
    pub nearest: Option<String>,
}

/// Reads a phrase into values of fields.
pub(super) fn read(
    phrase: LineStretch<'_>,
    context: &LineContext<'_>,
) -> Result<Vec<(&'static str, Value)>, UnreadPhrase> {
    tried(phrase, context).map_err(|unfit| unread(phrase, unfit, context))
}

/// Whether a phrase can be read; why not is not looked into.
pub(super) fn reads(phrase: LineStretch<'_>, context: &LineContext<'_>) -> bool {
    tried(phrase, context).is_ok()
}

/// Reads a phrase; the error is what its first word wants behind it, if it has such a word.
pub(super) fn tried(
    phrase: LineStretch<'_>,
    context: &LineContext<'_>,
) -> Result<Vec<(&'static str, Value)>, Option<String>> {
    let folded = fold(phrase.text);
    let plain = bare_word(&folded, context)
        .or_else(|| held_text(phrase, &folded, context))
        .or_else(|| by_words(phrase, &folded, context));
    if let Some(said) = plain {
        return Ok(said);
    }
    let unfit = match keyed(phrase, context) {
        Some(Ok(said)) => return Ok(said),
        Some(Err(wanted)) => Some(wanted),
        None => None,
    };
    by_shape(phrase, context)
        .or_else(|| by_place(phrase, context))
        .ok_or(unfit)
}

/// A listed word alone.
fn bare_word(folded: &str, context: &LineContext<'_>) -> Option<Vec<(&'static str, Value)>> {
    rows_of(context.kind).find_map(|row| {
        let word = match row.shape {
            Shape::Listed(list) => listed_folded(list, folded),
            Shape::Why => listed_folded(DISCARDED, folded).or_else(|| listed_folded(CAUSE, folded)),
            _ => None,
        };
        Some(vec![(row.field, Value::Text(word?.into()))])
    })
}

/// A text that the journal holds in one of the kind's fields.
fn held_text(
    phrase: LineStretch<'_>,
    folded: &str,
    context: &LineContext<'_>,
) -> Option<Vec<(&'static str, Value)>> {
    TEXT_FIELDS.into_iter().find_map(|field| {
        rows_of(context.kind).find(|row| row.field == field)?;
        let spelt = context.known.spelling_of(field, phrase.text, folded)?;
        Some(vec![(field, Value::Text(spelt))])
    })
}

/// A medium or no hormone by its words alone, where the kind has such a field.
fn by_words(
    phrase: LineStretch<'_>,
    folded: &str,
    context: &LineContext<'_>,
) -> Option<Vec<(&'static str, Value)>> {
    let has = |field: &str| rows_of(context.kind).any(|row| row.field == field);
    // The words as typed behind those that change nothing.
    let behind = without_leading(folded).and_then(|rest| {
        let from = phrase.text.len().checked_sub(rest.len())?;
        phrase.text.get(from..).filter(|text| fold(text) == rest)
    });
    let bare = behind.unwrap_or(phrase.text);
    if has("medium") && is_medium(phrase.text) {
        return Some(text("medium", bare.to_owned()));
    }
    if has("hormone") && hormone::says_none(folded) {
        return Some(text("hormone", "none".to_owned()));
    }
    None
}

/// By first (or last) words, the longest first. The error is that of the first that fits.
fn keyed(phrase: LineStretch<'_>, context: &LineContext<'_>) -> Option<PhraseFields> {
    let words = phrase.words();
    let lower: Vec<String> = words.iter().map(|word| word.text.to_lowercase()).collect();
    let mut ways: Vec<(usize, &PhraseRow, LineStretch<'_>)> = Vec::new();
    for row in rows_of(context.kind) {
        for key in row.keys {
            if let Some(length) = behind(&lower, key) {
                let end = words[length - 1].span().end - phrase.start;
                ways.push((2 * length + 1, row, phrase.after(end)));
            } else if counts(row.shape)
                && let Some(start) = before(&lower, key)
            {
                let length = words.len() - start;
                let start = words[start].start - phrase.start;
                ways.push((2 * length, row, phrase.part(0..start)));
            }
        }
    }
    ways.sort_by_key(|(length, ..)| std::cmp::Reverse(*length));
    let mut first_error = None;
    for (_, row, rest) in ways {
        match shapes::read(row.shape, row.field, rest, context) {
            Ok(said) => return Some(Ok(said)),
            Err(wanted) => first_error = first_error.or(Some(Err(wanted))),
        }
    }
    first_error
}

/// How many words the key takes, if the phrase begins with it.
fn behind(lower: &[String], key: &str) -> Option<usize> {
    // Nearly every key begins otherwise.
    if !key.starts_with(lower.first()?.trim_end_matches([':', '='])) {
        return None;
    }
    let mut left = lower.iter();
    let begins = key.split(' ').all(|wanted| {
        left.next()
            .is_some_and(|word| word.trim_end_matches([':', '=']) == wanted)
    });
    begins.then(|| lower.len() - left.len())
}

/// The word at which the key begins, if the phrase ends with it.
fn before(lower: &[String], key: &str) -> Option<usize> {
    if !key.ends_with(lower.last()?.as_str()) {
        return None;
    }
    let mut left = lower.iter();
    let ends = key
        .split(' ')
        .rev()
        .all(|wanted| left.next_back().is_some_and(|word| word == wanted));
    ends.then(|| left.len())
}

/// Whether the number may stand before the word.
fn counts(shape: Shape) -> bool {
    matches!(
        shape,
        Shape::Count | Shape::BareCount | Shape::Stage | Shape::Bare | Shape::Quantity(_)
    )
}

/// By what the phrase looks like.
fn by_shape(
    phrase: LineStretch<'_>,
    context: &LineContext<'_>,
) -> Option<Vec<(&'static str, Value)>> {
    let shaped = rows_of(context.kind).find_map(|row| {
        let fits = match row.shape {
            Shape::Hormone => hormone::begins(&phrase),
            Shape::Container => is_container(phrase.text),
            Shape::SizedContainer => is_container(phrase.text) || is_size(phrase.text),
            Shape::BareCount => digits(phrase.text),
            Shape::Guess => true,
            Shape::Lost => return shapes::lost(phrase.text, false).ok(),
            Shape::Heat => NO_HEAT.contains(&fold(phrase.text).as_str()),
            Shape::Coming if row.field == "again_on" && phrase.text.starts_with('+') => {
                let day = shapes::after_days(phrase.text, context.now.today())?;
                return Some(vec![(row.field, day.write())]);
            }
            _ => false,
        };
        let text = match row.shape {
            Shape::Heat => LineStretch {
                text: "none",
                start: phrase.start,
            },
            _ => phrase,
        };
        fits.then(|| shapes::read(row.shape, row.field, text, context).ok())
            .flatten()
    });
    shaped.or_else(|| {
        shapes::moment("at", phrase.text, context)
            .ok()
            .filter(|_| dated(context))
    })
}

/// A place by its words alone, where nothing else fits.
fn by_place(
    phrase: LineStretch<'_>,
    context: &LineContext<'_>,
) -> Option<Vec<(&'static str, Value)>> {
    let placed = phrase
        .text
        .split_once(' ')
        .map_or(phrase.text, |(first, rest)| match fold(first).as_str() {
            "on" | "in" | "at" | "to" => rest,
            _ => phrase.text,
        });
    let placed = placed.strip_prefix("the ").unwrap_or(placed);
    let stands = matches!(context.kind, "stick" | "move" | "pot") && is_place(placed);
    stands.then(|| {
        let spelt = context.known.spelling("place", placed);
        text("place", spelt.unwrap_or_else(|| placed.to_owned()))
    })
}

/// Whether a day alone may be the entry's own.
fn dated(context: &LineContext<'_>) -> bool {
    rows_of(context.kind).any(|row| row.field == "at" && row.keys.contains(&"on"))
}

/// Why a phrase was not understood, with the nearest that would be: for phrases that are told of alone, since it takes
/// longer than reading.
pub(super) fn unread(
    phrase: LineStretch<'_>,
    unfit: Option<String>,
    context: &LineContext<'_>,
) -> UnreadPhrase {
    if context.kind == "stick" && is_size(phrase.text) {
        let what = "may be the cutting's length or the container's size: say `long` after it, or `in` before it";
        return UnreadPhrase {
            what: what.into(),
            nearest: None,
        };
    }
    let hormone = || {
        (context.kind == "stick" && hormone::begins(&phrase)).then(|| hormone::WANTED.to_owned())
    };
    if let Some(what) = unfit.or_else(hormone) {
        return UnreadPhrase {
            what,
            nearest: None,
        };
    }
    // A mend is offered only if it would then be taken.
    let taken = |near: &String| tried(LineStretch::whole(near), context).is_ok();
    let nearest = nearest_phrase(phrase.text, context).filter(taken);
    if nearest.is_none()
        && is_free_text(phrase)
        && rows_of(context.kind).any(|row| row.field == "note")
    {
        return UnreadPhrase {
            what: "is nothing that a line can hold, unless as a note".into(),
            nearest: Some(format!("note {}", phrase.text)),
        };
    }
    let keyed = |field: &str| rows_of(context.kind).any(|row| row.field == field);
    let what = match (&nearest, keyed("medium"), keyed("place")) {
        (None, true, _) => {
            "is not understood; say `at` before a place, `in` before a medium or container"
        }
        (None, false, true) => "is not understood; say `at` or `to` before a place",
        _ => "is not understood",
    };
    UnreadPhrase {
        what: what.into(),
        nearest,
    }
}

/// Whether a phrase may be a remark in the grower's own words: three words or more, none of them a figure.
fn is_free_text(phrase: LineStretch<'_>) -> bool {
    let words = phrase.words();
    let figure = |word: &LineStretch<'_>| word.text.contains(|c: char| c.is_ascii_digit());
    words.len() >= 3 && !words.iter().any(figure)
}

/// What says that there is no bottom heat.
const NO_HEAT: [&str; 6] = [
    "no heat",
    "no bottom heat",
    "unheated",
    "without heat",
    "heat off",
    "cold bench",
];

/// The nearest phrase: the whole of it if a listed word or a text of the journal is near, else with its first or
/// last word set right.
fn nearest_phrase(typed: &str, context: &LineContext<'_>) -> Option<String> {
    let mut keys: Vec<&str> = Vec::new();
    let mut whole: Vec<&str> = Vec::new();
    for row in rows_of(context.kind) {
        keys.extend(row.keys);
        match row.shape {
            Shape::Listed(list) => whole.extend(list.iter().map(|(word, _)| *word)),
            Shape::Lost => keys.extend(
                CAUSE
                    .iter()
                    .flat_map(|(word, also)| also.iter().chain([word])),
            ),
            _ => {}
        }
        let held = context.known.texts(row.field);
        whole.extend(held.iter().map(String::as_str));
    }
    whole.extend(&keys);
    if let Some(near) = nearest(typed, &whole) {
        return Some(near.to_owned());
    }
    if let Some((first, rest)) = typed.split_once(char::is_whitespace)
        && let Some(near) = nearest(first, &keys)
    {
        return Some(format!("{near} {rest}"));
    }
    let (rest, last) = typed.rsplit_once(char::is_whitespace)?;
    let near = nearest(last, &keys)?;
    Some(format!("{rest} {near}"))
}

/// One field said with a text, for readers that need no table.
pub(super) fn text(field: &'static str, text: String) -> Vec<(&'static str, Value)> {
    say(field, Value::Text(text)).unwrap_or_default()
}
