//! Unfinished entries as text, and back: what a screen says of itself in a draft is read here.

use super::{Line, Stick};
use crate::model::id::Id;
use crate::tui::common::Common;
use crate::tui::keys::Command;
use crate::tui::pad::Pad;
use crate::tui::screen::{Screen, Subject};

/// The commands whose lines can be left unfinished, and their word in a draft.
const WORDS: &[(Command, &str)] = &[
    (Command::Line, "line"),
    (Command::Pot, "pot"),
    (Command::Move, "move"),
    (Command::Climate, "climate"),
    (Command::Treat, "treat"),
    (Command::Note, "note"),
    (Command::Discard, "discard"),
    (Command::Ready, "ready"),
    (Command::Gone, "sold"),
    (Command::Again, "again"),
];

/// The word of a command's draft.
#[must_use]
pub fn word(command: Command) -> Option<&'static str> {
    WORDS
        .iter()
        .find(|(is, _)| *is == command)
        .map(|(_, word)| *word)
}

/// What a draft is about, in words: `look 26-041: 4 3 0`.
#[must_use]
pub fn words(draft: &str, common: &Common) -> String {
    let parts: Vec<&str> = draft.split('\t').collect();
    let named = |key: &str| {
        let batch = Id::parse_reference(key).and_then(|key| common.book.batch(&key).cloned());
        batch.map_or_else(String::new, |batch| format!(" {}", batch.code))
    };
    match parts.as_slice() {
        ["pad", key, text] => format!("look{}: {text}", named(key)),
        ["pad", key, text, again] => format!("look{}: {text}{}", named(key), too(again)),
        ["amend", _, text] => format!("amend: {text}"),
        ["stick", text] => format!("stick: {text}"),
        [word, "", place, text] => format!("{word} {place}: {text}"),
        [word, key, _, text] => format!("{word}{}: {text}", named(key)),
        [word, key, _, text, again] => format!("{word}{}: {text}{}", named(key), too(again)),
        _ => draft.replace('\t', " "),
    }
}

/// What was typed of the sticking again, if anything was.
fn too(again: &str) -> String {
    match again {
        "" => String::new(),
        again => format!("; stick again: {again}"),
    }
}

/// The screen of a draft, filled as it was left; nothing if its batch is not there.
#[must_use]
pub fn resume(draft: &str, common: &Common) -> Option<Box<dyn Screen>> {
    let parts: Vec<&str> = draft.split('\t').collect();
    let there = |key: &str| Id::parse_reference(key).filter(|key| common.book.batch(key).is_some());
    match parts.as_slice() {
        ["pad", key, text] => Some(Box::new(Pad::resumed(there(key)?, text, ""))),
        ["pad", key, text, again] => Some(Box::new(Pad::resumed(there(key)?, text, again))),
        ["amend", of, text] => {
            let of = Id::parse_reference(of)?;
            Some(Box::new(super::amend::resumed(&of, text, common)?))
        }
        ["stick", text] => Some(Box::new(Stick::open(common).resumed(text))),
        [word, key, place, text, again @ ..] => {
            let again = again.first().copied().unwrap_or("");
            let (command, _) = WORDS.iter().find(|(_, is)| is == word)?;
            let place = Some((*place).to_owned()).filter(|place| !place.is_empty());
            let subject = Subject {
                batch: there(key),
                place,
            };
            let line = Line::open(*command, subject)?.resumed(text);
            Some(Box::new(line.resumed_again(again)))
        }
        _ => None,
    }
}
