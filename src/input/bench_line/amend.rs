//! Reads what an amend sets, in the phrases of the entry that it amends. It does not look at that entry.

use super::context::Context;
use super::draft::Draft;
use super::known::Known;
use super::phrase;
use super::phrases::rows_of;
use super::raw;
use super::split::{Stretch, fold};
use crate::model::entry::Kind;
use crate::model::id::Id;
use crate::model::value::{FieldType, Value};

/// Words that take a field away.
pub(super) const DROPS: [&str; 3] = ["drop", "without", "no"];

/// Reads the phrases of an amend: its own first, else as of the amended entry, gathered in `set`.
pub(super) fn read(phrases: &[Stretch<'_>], context: &Context<'_>, draft: &mut Draft) {
    let kinds = kinds(draft.value("of"), context.known);
    let mut set = Draft::default();
    for phrase in phrases {
        match phrase::tried(*phrase, context) {
            Ok(said) => draft.add(*phrase, said, context),
            Err(_) => one(*phrase, &kinds, context, &mut set),
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
fn kinds(of: Option<&Value>, known: &Known) -> Vec<&'static str> {
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
fn one(phrase: Stretch<'_>, kinds: &[&'static str], context: &Context<'_>, set: &mut Draft) {
    if let Some((name, value)) = raw::read(phrase) {
        return set.put(phrase, &name, value, "");
    }
    let mut unread = None;
    for kind in kinds {
        let inner = Context { kind, ..*context };
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
fn dropped(phrase: Stretch<'_>, kinds: &[&str]) -> Option<&'static str> {
    let (first, rest) = phrase.text.split_once(char::is_whitespace)?;
    DROPS.contains(&fold(first).as_str()).then_some(())?;
    let rest = fold(rest);
    let rows = || kinds.iter().flat_map(|kind| rows_of(kind));
    let named = rows().find(|row| fold(row.field) == rest);
    let keyed = || rows().find(|row| row.keys.contains(&rest.as_str()));
    named.or_else(keyed).map(|row| row.field)
}
