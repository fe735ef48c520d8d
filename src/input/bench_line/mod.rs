//! The bench line: reads a typed line into the fields of an entry, says back what it understood, and writes an
//! entry as such a line. It touches no journal: what the journal holds, and the moment, are arguments.
//!
//! A line is a verb, then phrases set off by commas, in any order. A comma parts only before a space or the end,
//! so that `24,5` is a number; quotes hold a text together. Each phrase is known by its first word (`in`, `at`,
//! `from` …), by being a listed word (`semi-ripe`), by being a text that the journal holds (`bench A`), or by its
//! shape (`84 cell tray`, `iba 3000`). `field=value` always works.

mod amend;
mod context;
mod draft;
mod finish;
mod head;
mod help;
mod hormone;
mod known;
mod labels;
mod line_of;
mod lists;
mod naming;
mod nearest;
mod phrase;
mod phrases;
mod places;
mod raw;
mod reading;
mod remark;
mod shapes;
mod split;
mod units;
mod verbs;
mod ways;

pub use help::phrases_help;
pub use known::{Known, KnownBatch, Now};
pub use labels::label;
pub use line_of::{line_of, line_without_when};
pub use reading::{Need, Problem, Reading, Understood};

use crate::input::look_pad;
use crate::model::value::Value;
use context::Context;
use draft::Draft;
use split::Stretch;
use verbs::{Head, VERBS, Verb};

/// Reads a typed line. Never fails: what was not understood stands in the reading's problems.
#[must_use]
pub fn read(line: &str, known: &Known, now: &Now<'_>) -> Reading {
    let whole = Stretch::whole(line).after(0);
    let Some((verb, length, deed)) = verbs::verb(whole.text) else {
        return no_verb(whole);
    };
    let context = Context {
        kind: verb.kind,
        known,
        now,
    };
    let mut draft = Draft::default();
    if let Some(deed) = deed {
        draft.add(
            whole.part(0..length),
            vec![("what", Value::Text(deed.into()))],
            &context,
        );
    }
    let rest = whole.after(length);
    let rest = if rest.text.starts_with(':') {
        rest.after(1)
    } else {
        rest
    };
    behind_verb(verb, rest, &context, &mut draft);
    finish::finish(draft, &context)
}

fn behind_verb(verb: &Verb, rest: Stretch<'_>, context: &Context<'_>, draft: &mut Draft) {
    if verb.head == Head::Remark {
        return remark::read(rest, context, draft);
    }
    let pieces = split::phrases(rest);
    let Some((first, more)) = pieces.split_first() else {
        return;
    };
    let mut phrases = match named(*first, context) {
        Some(_) => vec![*first],
        None => head::read(verb.head, *first, context, draft),
    };
    phrases.extend(more);
    if verb.kind == "amend" {
        return amend::read(&phrases, context, draft);
    }
    for phrase in phrases {
        one(phrase, context, draft);
    }
}

/// A field by its own name, as `stuck=26`.
fn named(phrase: Stretch<'_>, context: &Context<'_>) -> Option<(&'static str, Value)> {
    let (name, value) = raw::read(phrase)?;
    let row = phrases::rows_of(context.kind).find(|row| row.field == name)?;
    Some((row.field, value))
}

/// Reads one phrase behind the head.
fn one(phrase: Stretch<'_>, context: &Context<'_>, draft: &mut Draft) {
    if let Some((field, value)) = named(phrase, context) {
        return draft.add(phrase, vec![(field, value)], context);
    }
    match phrase::read(phrase, context) {
        Ok(said) => draft.add(phrase, said, context),
        Err(why) => match pad(phrase, context) {
            Some(said) => draft.add(phrase, said, context),
            None => draft.problem(phrase, why.what, why.nearest),
        },
    }
}

/// The look pad's compact text as a phrase of a look: `4r 3c 1k`.
fn pad(phrase: Stretch<'_>, context: &Context<'_>) -> Option<Vec<(&'static str, Value)>> {
    let pad =
        (context.kind == "look").then(|| look_pad::read(phrase.text, None, context.now.today()))?;
    let only_counts = pad.potted.is_none() && pad.how.is_none() && pad.rest.is_none();
    (pad.problems.is_empty() && only_counts).then(|| pad.counts())
}

fn no_verb(whole: Stretch<'_>) -> Reading {
    let first = whole.words().first().copied().unwrap_or(whole);
    let words: Vec<&str> = VERBS.iter().flat_map(|verb| verb.words).copied().collect();
    let mut draft = Draft::default();
    let what = match whole.text.is_empty() {
        true => format!(
            "nothing was typed; a line begins with a word such as {}",
            words[..3].join(", ")
        ),
        false => "is no word that a line begins with".to_owned(),
    };
    draft.problem(
        first,
        what,
        nearest::nearest(first.text, &words).map(str::to_owned),
    );
    Reading {
        problems: draft.problems,
        ..Reading::default()
    }
}
