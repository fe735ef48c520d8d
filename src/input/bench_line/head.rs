//! Reads what stands right behind the verb by its place: a code, a number, a name. It hands back what is left as
//! phrases.

use super::draft::Draft;
use super::lists::nearest;
use super::lists::{DEED, listed};
use super::naming;
use super::phrase;
use super::phrases::{Shape, rows_of};
use super::shapes;
use super::split::{LineStretch, at_colon, digits, fold};
use super::units::count;
use super::verbs::Head;
use super::vocabulary::LineContext;
use crate::model::value::{FieldType, Value};

/// Reads the first phrase behind a verb. What it leaves over is phrases.
pub(super) fn read<'a>(
    head: Head,
    first: LineStretch<'a>,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> Vec<LineStretch<'a>> {
    let left = match head {
        Head::NewBatch => new_batch(first, context, draft),
        Head::Batch => batch(first, context, draft),
        Head::Place => place(first, context, draft),
        Head::Taxon => taxon(first, context, draft),
        Head::Subject => subject(first, context, draft),
        Head::Reference => reference(first, context, draft),
        Head::Remark | Head::Nothing => vec![first],
    };
    left.into_iter()
        .filter(|phrase| !phrase.text.is_empty())
        .collect()
}

/// The first word and the rest.
fn first_word<'a>(stretch: LineStretch<'a>) -> Option<(LineStretch<'a>, LineStretch<'a>)> {
    let word = *stretch.words().first()?;
    Some((word, stretch.after(word.span().end - stretch.start)))
}

/// `26-041: 24 Weigela florida`, `26-041 24 Weigela florida`, `24 Weigela florida: semi-ripe`.
fn new_batch<'a>(
    first: LineStretch<'a>,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> Vec<LineStretch<'a>> {
    let shaped = |word: &str| word.contains('-') && context.known.full_code(word).is_some();
    if let Some((before, after)) = at_colon(first) {
        let single = before.words().len() == 1;
        let counted = first_word(after).is_some_and(|(word, _)| digits(word.text));
        if single && (counted || before.unquoted().is_some() || shaped(before.text)) {
            let said = shapes::read(Shape::NewCode, "batch", before, context);
            said.map(|said| draft.add(before, said, context)).ok();
            return count_and_taxon(after, "stuck", context, draft);
        }
        if digits(before.text) {
            let mut left = count_and_taxon(before, "stuck", context, draft);
            left.extend(count_and_taxon(after, "stuck", context, draft));
            return left;
        }
        let mut left = count_and_taxon(before, "stuck", context, draft);
        left.push(after);
        return left;
    }
    match first_word(first) {
        Some((word, rest)) if shaped(word.text) && !rest.text.is_empty() => {
            let said = shapes::read(Shape::NewCode, "batch", word, context);
            said.map(|said| draft.add(word, said, context)).ok();
            count_and_taxon(rest, "stuck", context, draft)
        }
        _ => count_and_taxon(first, "stuck", context, draft),
    }
}

/// Perhaps a number, then a taxon. Without the number, a phrase that can be read is left as one.
fn count_and_taxon<'a>(
    stretch: LineStretch<'a>,
    field: &'static str,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> Vec<LineStretch<'a>> {
    let counted =
        first_word(stretch).and_then(|(word, rest)| Some((word, count(word.text)?, rest)));
    let mut name = stretch;
    match counted {
        Some((word, number, rest)) => {
            draft.add(word, vec![(field, number.write())], context);
            name = rest;
        }
        None if phrase::reads(stretch, context) => return vec![stretch],
        None => {
            if let Some((word, rest)) = first_word(stretch).filter(|(word, _)| is_number(word.text))
            {
                draft.problem(
                    word,
                    "is not a count: give a whole number from 1 to 1000000",
                    None,
                );
                name = rest;
            }
        }
    }
    for filler in ["cuttings", "plants", "of"] {
        if let Some((word, rest)) = first_word(name)
            && fold(word.text) == filler
        {
            name = rest;
        }
    }
    if field == "stuck" {
        return naming::put_stuck(name, context, draft);
    }
    naming::put(name, context, draft);
    Vec::new()
}

/// Whether a word is a number of any kind, as `-5`, `2.5` or `24,5`: no name of a plant begins so.
fn is_number(word: &str) -> bool {
    let digit = word.contains(|c: char| c.is_ascii_digit());
    digit && word.replace(',', ".").parse::<f64>().is_ok()
}

/// `041 18`, `26-041: callused 4`, `26-041 callused 4`.
fn batch<'a>(
    first: LineStretch<'a>,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> Vec<LineStretch<'a>> {
    let (before, after) = at_colon(first).map_or((first, None), |(b, a)| (b, Some(a)));
    let Some((word, rest)) = first_word(before) else {
        return after.into_iter().collect();
    };
    let mut left = Vec::new();
    match shapes::read(Shape::Code, "batch", word, context) {
        Ok(said) => {
            draft.add(word, said, context);
            left.push(count_or_phrase(rest, context, draft));
        }
        Err(_) if phrase::reads(before, context) => left.push(before),
        Err(what) => {
            no_batch(word, what, context, draft);
            left.push(count_or_phrase(rest, context, draft));
        }
    }
    left.extend(after);
    left
}

/// A number behind a code is the entry's count if the whole is no phrase.
fn count_or_phrase<'a>(
    rest: LineStretch<'a>,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> LineStretch<'a> {
    let counted = rows_of(context.kind).any(|row| row.field == "count");
    let parted = first_word(rest).and_then(|(word, more)| Some((word, count(word.text)?, more)));
    match parted {
        Some((word, number, more)) if counted && !phrase::reads(rest, context) => {
            draft.add(word, vec![("count", number.write())], context);
            more
        }
        _ => rest,
    }
}

fn no_batch(word: LineStretch<'_>, what: String, context: &LineContext<'_>, draft: &mut Draft) {
    let codes: Vec<&str> = context
        .known
        .batches()
        .iter()
        .map(|batch| batch.code.as_str())
        .collect();
    let typed = context
        .known
        .full_code(&word.plain())
        .unwrap_or_else(|| word.plain());
    // A code of another season is the likelier slip than another number of this one.
    let tail = typed
        .split_once('-')
        .map(|(_, number)| format!("-{number}"));
    let other_season = codes
        .iter()
        .rev()
        .find(|code| tail.as_ref().is_some_and(|t| code.ends_with(t.as_str())));
    let near = other_season.copied().or_else(|| nearest(&typed, &codes));
    draft.problem(word, what, near.map(str::to_owned));
}

/// `bench A: air 24.5`, `bench A air 24.5` if the journal holds bench A, `air 24.5`.
fn place<'a>(
    first: LineStretch<'a>,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> Vec<LineStretch<'a>> {
    let (name, left) = match at_colon(first) {
        Some((before, after)) => (before, after),
        None => match held_place(first, context) {
            Some(parted) => parted,
            None if phrase::reads(first, context) => return vec![first],
            None => (first, first.after(first.text.len())),
        },
    };
    put_place(name, context, draft);
    vec![left]
}

/// Takes a place as the journal spells it, or as typed.
fn put_place(name: LineStretch<'_>, context: &LineContext<'_>, draft: &mut Draft) {
    match shapes::read(Shape::Text, "place", name, context) {
        Ok(said) => draft.add(name, said, context),
        Err(_) => draft.problem(name, "needs a place", None),
    }
}

/// The longest beginning that is a place of the journal, or a quoted one, and the rest.
fn held_place<'a>(
    stretch: LineStretch<'a>,
    context: &LineContext<'_>,
) -> Option<(LineStretch<'a>, LineStretch<'a>)> {
    let words = stretch.words();
    if words.first()?.unquoted().is_some() {
        return first_word(stretch);
    }
    // A place's name of more words than this is not looked for within a longer text.
    words.iter().take(8).rev().find_map(|word| {
        let end = word.span().end - stretch.start;
        let name = stretch.part(0..end);
        context.known.spelling("place", name.text)?;
        Some((name, stretch.after(end)))
    })
}

/// `Weigela florida: protected`, `60 Weigela florida by 1 May`.
fn taxon<'a>(
    first: LineStretch<'a>,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> Vec<LineStretch<'a>> {
    let (before, after) = at_colon(first).map_or((first, None), |(b, a)| (b, Some(a)));
    let mut name = before;
    let mut left = Vec::new();
    if context.kind == "target" {
        let by = before
            .words()
            .into_iter()
            .rev()
            .find(|word| word.text.eq_ignore_ascii_case("by"));
        if let Some(by) = by {
            let at = by.start - before.start;
            let tail = before.after(at);
            if phrase::reads(tail, context) {
                left.push(tail);
                name = before.part(0..at);
            }
        }
        left.extend(count_and_taxon(name, "count", context, draft));
    } else if after.is_none() && name.unquoted().is_none() && phrase::reads(name, context) {
        left.push(name);
    } else {
        naming::put(name, context, draft);
    }
    left.extend(after);
    left
}

/// `26-041 spray`, `spray bench A with soap`, `bench A: spray`.
fn subject<'a>(
    first: LineStretch<'a>,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> Vec<LineStretch<'a>> {
    let (before, after) = at_colon(first).map_or((first, None), |(b, a)| (b, Some(a)));
    let mut left = Vec::new();
    let mut name = leading_deed(before, context, draft);
    let means = name
        .words()
        .into_iter()
        .find(|word| word.text.eq_ignore_ascii_case("with"));
    if let Some(means) = means.filter(|_| context.known.spelling("place", name.text).is_none()) {
        let at = means.start - name.start;
        left.push(name.after(at));
        name = name.part(0..at);
    }
    if let Some((word, rest)) = first_word(name)
        && matches!(fold(word.text).as_str(), "at" | "on" | "place" | "batch")
        && !rest.text.is_empty()
    {
        name = rest;
    }
    left.extend(after);
    let Some((word, rest)) = first_word(name) else {
        return left;
    };
    if let Ok(said) = shapes::read(Shape::Code, "batch", word, context) {
        draft.add(word, said, context);
        left.push(rest);
    } else if let Some((place, rest)) = held_place(name, context) {
        put_place(place, context, draft);
        left.push(rest);
    } else if word.unquoted().is_none()
        && context.known.full_code(word.text).is_some()
        && rest.text.is_empty()
    {
        no_batch(word, "no batch has this code".into(), context, draft);
    } else if phrase::reads(name, context) {
        left.push(name);
    } else {
        put_place(name, context, draft);
    }
    left
}

/// Takes a deed named before its subject; what is left is the subject.
fn leading_deed<'a>(
    stretch: LineStretch<'a>,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> LineStretch<'a> {
    if draft.value("what").is_some() || held_place(stretch, context).is_some() {
        return stretch;
    }
    for word in stretch.words().into_iter().take(2).rev() {
        let end = word.span().end - stretch.start;
        let typed = stretch.part(0..end);
        let rest = stretch.after(end);
        if let Some(deed) = listed(DEED, typed.text)
            && !rest.text.is_empty()
        {
            draft.add(typed, vec![("what", Value::Text(deed.into()))], context);
            return rest;
        }
    }
    stretch
}

/// The id of an entry, or a batch's code for its sticking.
fn reference<'a>(
    first: LineStretch<'a>,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> Vec<LineStretch<'a>> {
    let (before, after) = at_colon(first).map_or((first, None), |(b, a)| (b, Some(a)));
    let named = first_word(before).filter(|(word, _)| fold(word.text) == "entry");
    let before = named.map_or(before, |(_, rest)| rest);
    let Some((word, rest)) = first_word(before) else {
        return after.into_iter().collect();
    };
    match shapes::read(Shape::Reference, "of", word, context) {
        Ok(said) => draft.add(word, said, context),
        Err(what) => draft.problem(word, what, None),
    }
    std::iter::once(rest).chain(after).collect()
}
