//! The words of an unfinished entry that is kept as text.
//!
//! A draft is one line of fields set off by tabs: `pad KEY TEXT`, `amend ID TEXT`, `stick TEXT`, or the word of a recording key,
//! the batch's key, the place and the text.

use crate::model::id::Id;
use crate::tui::common::Common;
use crate::tui::effect::SAVED_DRAFT;
use crate::tui::keys::Command;

/// The commands whose lines can be left unfinished, and their word in a draft.
const WORDS: &[(Command, &str)] = &[
    (Command::Line, "line"),
    (Command::Pot, "pot"),
    (Command::Move, "move"),
    (Command::Climate, "climate"),
    (Command::Treat, "treat"),
    (Command::Note, "remark"),
    (Command::Discard, "discard"),
    (Command::Ready, "ready"),
    (Command::Sold, "sold"),
    (Command::Again, "look again"),
];

/// The command of a draft's word.
#[must_use]
pub fn command(word: &str) -> Option<Command> {
    WORDS
        .iter()
        .find(|(_, own)| *own == word)
        .map(|(command, _)| *command)
}

/// The word of a command's draft.
#[must_use]
pub fn word(command: Command) -> Option<&'static str> {
    WORDS
        .iter()
        .find(|(is, _)| *is == command)
        .map(|(_, word)| *word)
}

/// A draft with the name of who was entering it; without a name as it is.
#[must_use]
pub fn owned(by: &str, draft: &str) -> String {
    match by {
        "" => draft.to_owned(),
        by => format!("by\t{by}\t{draft}"),
    }
}

/// Who was entering a draft, and the draft without that.
#[must_use]
pub fn owner(draft: &str) -> (Option<&str>, &str) {
    let named = draft
        .strip_prefix("by\t")
        .and_then(|rest| rest.split_once('\t'));
    named.map_or((None, draft), |(owner, draft)| (Some(owner), draft))
}

/// What a draft is about, in words: `look 26-041: 4 3 0`.
#[must_use]
pub fn words(draft: &str, common: &Common) -> String {
    if let Some((_, draft)) = saved(draft) {
        return words(owner(draft).1, common);
    }
    let parts: Vec<&str> = draft.split('\t').collect();
    let named = |key: &str| {
        let batch = Id::parse_reference(key).and_then(|key| common.book.batch(&key).cloned());
        batch.map_or_else(String::new, |batch| format!(" {}", batch.code))
    };
    match parts.as_slice() {
        ["pad", key, text] => format!("look{}: {text}", named(key)),
        ["pad", key, text, again] => format!("look{}: {text}{}", named(key), too(again)),
        ["line", _, _, text] => (*text).to_owned(),
        ["amend", _, text] => format!("amend: {text}"),
        ["right", key, _, text] => format!("look amended{}: {text}", named(key)),
        ["stick", text] => format!("stick: {text}"),
        [word, "", place, text] => format!("{word} {place}: {text}"),
        [word, key, _, text] => format!("{word}{}: {text}", named(key)),
        [word, key, _, text, again] => format!("{word}{}: {text}{}", named(key), too(again)),
        _ => draft.replace('\t', " "),
    }
}

/// Splits a draft that turned out to be saved into the id of its first entry and the draft itself.
pub fn saved(draft: &str) -> Option<(&str, &str)> {
    let rest = draft.strip_prefix(SAVED_DRAFT)?.strip_prefix('\t')?;
    rest.split_once('\t')
}

/// What was typed of the sticking again, if anything was.
fn too(again: &str) -> String {
    match again {
        "" => String::new(),
        again => format!("; stick again: {again}"),
    }
}
