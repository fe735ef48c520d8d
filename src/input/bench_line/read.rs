//! Reads a typed line: its verb, what stands right behind it, then phrase by phrase.

use super::draft::Draft;
use super::lists::nearest;
use super::phrases::rows_of;
use super::reading::LineReading;
use super::split::{LineStretch, fold};
use super::verbs::{Head, VERBS, Verb};
use super::vocabulary::{LineContext, Now, Vocabulary};
use super::{draft, head, phrase, raw, remark, split, verbs};
use crate::input::look_pad;
use crate::model::entry::Kind;
use crate::model::id::Id;
use crate::model::value::{FieldType, Value};

/// Reads a typed line. Never fails: what was not understood stands in the reading's problems.
#[must_use]
pub fn read(line: &str, known: &Vocabulary, now: &Now<'_>) -> LineReading {
    let whole = LineStretch::whole(line).after(0);
    let Some((verb, length, deed)) = verbs::verb(whole.text) else {
        return no_verb(whole);
    };
    let context = LineContext {
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
    draft::finish(draft, &context)
}

fn behind_verb(verb: &Verb, rest: LineStretch<'_>, context: &LineContext<'_>, draft: &mut Draft) {
    if verb.head == Head::Remark {
        return remark::read(rest, context, draft);
    }
    let pieces = split::phrases(rest);
    let Some((first, more)) = pieces.split_first() else {
        return;
    };
    let mut phrases = match raw::named(*first, context) {
        Some(_) => vec![*first],
        None => head::read(verb.head, *first, context, draft),
    };
    phrases.extend(more);
    if verb.kind == "amend" {
        return read_amend(&phrases, context, draft);
    }
    for phrase in phrases {
        read_phrase(phrase, context, draft);
    }
}

/// Reads one phrase behind the head.
fn read_phrase(phrase: LineStretch<'_>, context: &LineContext<'_>, draft: &mut Draft) {
    if let Some((field, value)) = raw::named(phrase, context) {
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
fn pad(phrase: LineStretch<'_>, context: &LineContext<'_>) -> Option<Vec<(&'static str, Value)>> {
    let pad =
        (context.kind == "look").then(|| look_pad::read(phrase.text, None, context.now.today()))?;
    let only_counts = pad.potted.is_none() && pad.how.is_none() && pad.rest.is_none();
    (pad.problems.is_empty() && only_counts).then(|| pad.counts())
}

fn no_verb(whole: LineStretch<'_>) -> LineReading {
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
    draft.problem(first, what, nearest(first.text, &words).map(str::to_owned));
    LineReading {
        problems: draft.problems,
        ..LineReading::default()
    }
}

/// Words that take a field away.
const DROPS: [&str; 3] = ["drop", "without", "no"];

/// Reads the phrases of an amend: its own first, else as of the amended entry, gathered in `set`.
fn read_amend(phrases: &[LineStretch<'_>], context: &LineContext<'_>, draft: &mut Draft) {
    let kinds = kinds(draft.value("of"), context.known);
    let mut set = Draft::default();
    for phrase in phrases {
        match phrase::tried(*phrase, context) {
            Ok(said) => draft.add(*phrase, said, context),
            Err(_) => read_amended(*phrase, &kinds, context, &mut set),
        }
    }
    if !set.fields.is_empty() {
        draft.fields.push(("set".into(), Value::Map(set.fields)));
    }
    draft.understood.append(&mut set.understood);
    draft.problems.append(&mut set.problems);
    draft.doubts.append(&mut set.doubts);
}

/// The kinds that the amended entry may have: its own if known, else all.
fn kinds(of: Option<&Value>, known: &Vocabulary) -> Vec<&'static str> {
    let id = of.and_then(Id::read);
    let own = id.as_ref().and_then(|id| known.kinds.get(id).copied());
    let stick = || {
        let id = id.as_ref()?;
        known
            .batches
            .iter()
            .any(|batch| batch.key == *id)
            .then_some("stick")
    };
    match own.or_else(stick) {
        Some(kind) => vec![kind],
        None => Kind::WORDS.to_vec(),
    }
}

/// Reads one phrase as of the first kind that understands it.
fn read_amended(
    phrase: LineStretch<'_>,
    kinds: &[&'static str],
    context: &LineContext<'_>,
    set: &mut Draft,
) {
    if let Some((name, value)) = raw::read(phrase) {
        return set.put(phrase, &name, value, "");
    }
    let mut unread = None;
    for kind in kinds {
        let inner = LineContext { kind, ..*context };
        match phrase::tried(phrase, &inner) {
            Ok(said) => return set.add(phrase, said, &inner),
            Err(unfit) => unread = unread.or(Some((unfit, inner))),
        }
    }
    if let Some(field) = dropped(phrase, kinds) {
        return set.put(phrase, field, Value::Null, "");
    }
    if let Some((unfit, inner)) = unread {
        let why = phrase::unread(phrase, unfit, &inner);
        // What can be said of an entry, but not dropped from it, is no mend of itself.
        let nearest = why.nearest.filter(|near| near != phrase.text);
        set.problem(phrase, why.what, nearest);
    }
}

/// The field that `no medium` takes away.
fn dropped(phrase: LineStretch<'_>, kinds: &[&str]) -> Option<&'static str> {
    let (first, rest) = phrase.text.split_once(char::is_whitespace)?;
    DROPS.contains(&fold(first).as_str()).then_some(())?;
    let rest = fold(rest);
    let rows = || kinds.iter().flat_map(|kind| rows_of(kind));
    let named = rows().find(|row| fold(row.field) == rest);
    let keyed = || rows().find(|row| row.keys.contains(&rest.as_str()));
    named.or_else(keyed).map(|row| row.field)
}
