//! Tells containers from media. It knows no other text.

use super::context::{Context, Said, say};
use super::lists::CONTAINERS;
use super::split::{Stretch, fold};
use super::units::Measure;
use crate::model::value::Value;

/// A container behind its first word: as the journal spells it, else in the words shown.
pub(super) fn container(rest: Stretch<'_>, context: &Context<'_>) -> Said {
    if let Some(exact) = rest.unquoted() {
        return match exact.trim().is_empty() {
            true => Err("wants a container, as `84 cell tray`".into()),
            false => say("container", Value::Text(exact)),
        };
    }
    if rest.text.is_empty() {
        return Err("wants a container, as `84 cell tray`".into());
    }
    let spelt = context.known.spelling("container", rest.text);
    say(
        "container",
        Value::Text(spelt.unwrap_or_else(|| shown(rest.text))),
    )
}

/// What `in` leads to: a medium, unless it is plainly a container.
pub(super) fn in_what(rest: Stretch<'_>, context: &Context<'_>) -> Said {
    if rest.plain().trim().is_empty() {
        return Err("wants a medium, as `in bark:perlite 1:1`".into());
    }
    if let Some(exact) = rest.unquoted() {
        return say("medium", Value::Text(exact));
    }
    let medium = context.known.spelling("medium", rest.text);
    let contained = is_container(rest.text) || is_size(rest.text);
    let held = context.known.spelling("container", rest.text).is_some();
    match medium {
        Some(spelt) => say("medium", Value::Text(spelt)),
        None if contained || held => container(rest, context),
        None => say("medium", Value::Text(rest.text.to_owned())),
    }
}

/// Whether a text is a container by its last word: `tray`, `84 cell tray`, `9 cm pots`; but not `3 trays`, which
/// says how many.
pub(super) fn is_container(text: &str) -> bool {
    let folded = fold(text);
    let words: Vec<&str> = folded.split(' ').collect();
    let names = |word: &&str| CONTAINERS.iter().any(|(typed, _)| typed == word);
    let number = |word: &&str| word.bytes().all(|b| b.is_ascii_digit());
    match words.as_slice() {
        [only] => names(only),
        [first, last] if number(first) => names(last) && !last.ends_with('s'),
        [.., last] => words.len() <= 4 && names(last),
        [] => false,
    }
}

/// Whether a text is a size alone, as `9 cm` or `4in`.
pub(super) fn is_size(text: &str) -> bool {
    Measure::Length.has_unit(text)
}

/// The text with `flat` and `plug` in the words shown.
fn shown(text: &str) -> String {
    let bare = text.strip_prefix("a ").unwrap_or(text);
    let words = bare.split_whitespace().map(|word| {
        let lower = word.to_lowercase();
        let known = CONTAINERS.iter().find(|(typed, _)| *typed == lower);
        known.map_or(
            word,
            |(typed, shown)| if typed == shown { word } else { shown },
        )
    });
    words.collect::<Vec<_>>().join(" ")
}
