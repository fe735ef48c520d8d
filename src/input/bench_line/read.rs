//! Reads a typed line: its verb, what stands right behind it, then phrase by phrase.

use super::draft::Draft;
use super::lists::nearest;
use super::phrases::{Shape, rows_of};
use super::reading::LineReading;
use super::split::{LineStretch, at_colon, digits, fold, phrases};
use super::verbs::{Head, VERBS, Verb};
use super::vocabulary::{LineContext, Now, Vocabulary};
use super::{draft, head, phrase, raw, shapes, split, verbs};
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
        return read_remark(rest, context, draft);
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
        false => "is not a word that begins a line".to_owned(),
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
    let standing = id.as_ref().and_then(|id| known.book.entry(id));
    let own = standing.map(|standing| standing.entry.name().word());
    let batch = || known.batch_of_key(id.as_ref()?);
    let stick = || batch().map(|_| "stick");
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

/// Reads what stands behind the verb of a remark. Whatever is no phrase about the remark itself is its text.
fn read_remark(rest: LineStretch<'_>, context: &LineContext<'_>, draft: &mut Draft) {
    let mut text: Option<LineStretch<'_>> = None;
    let mut said: Vec<String> = Vec::new();
    for piece in phrases(about(rest, context, draft)) {
        if let Some(fields) = aside(piece, draft, context) {
            draft.add(piece, fields, context);
            continue;
        }
        said.push(piece.plain());
        let from = text.map_or(piece.start, |text| text.start);
        let whole = LineStretch::whole(rest.text);
        text = Some(LineStretch {
            start: from,
            ..whole.part(from - rest.start..piece.span().end - rest.start)
        });
    }
    if let Some(text) = text {
        draft.add(text, phrase::text("note", said.join(", ")), context);
    }
}

/// Takes the batch or place that the remark is about; what is left is its text.
fn about<'a>(
    rest: LineStretch<'a>,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> LineStretch<'a> {
    if let Some((before, after)) = at_colon(rest) {
        if let Ok(said) = shapes::read(Shape::Code, "batch", before, context) {
            draft.add(before, said, context);
            return after;
        }
        let named = ["at ", "place "].iter().find_map(|word| {
            let lower = before.text.get(..word.len())?.to_lowercase();
            (lower == *word).then(|| before.after(word.len()))
        });
        let place = named.unwrap_or(before);
        let plainly = named.is_some() || place.unquoted().is_some();
        if plainly || context.known.spelling("place", place.text).is_some() {
            match shapes::read(Shape::Text, "place", place, context) {
                Ok(said) => draft.add(place, said, context),
                Err(what) => draft.problem(place, what, None),
            }
            return after;
        }
    }
    let words = rest.words();
    let Some(first) = words.first() else {
        return rest;
    };
    match as_on_a_label(first.text) {
        OnLabel::Code => {}
        OnLabel::Perhaps if context.known.batch(first.text).is_some() => {
            let what = "may be a batch or a number: if it is a batch, put a colon behind it; else put the text in quotes";
            let code = context
                .known
                .batch(first.text)
                .map(|b| format!("{}:", b.code));
            draft.problem(*first, what, code);
            return rest;
        }
        _ => return rest,
    }
    match shapes::read(Shape::Code, "batch", *first, context) {
        Ok(said) => {
            draft.add(*first, said, context);
            rest.after(first.span().end - rest.start)
        }
        Err(_) => rest,
    }
}

/// Whether a word without a colon is a batch's code.
enum OnLabel {
    /// As labels bear it, and as no number is written: `26-041`, `041`, `k041`.
    Code,
    /// Three digits, which may count something: `120 pots came`.
    Perhaps,
    /// A word of the text.
    No,
}

fn as_on_a_label(word: &str) -> OnLabel {
    let tail = word.strip_prefix(|c: char| c.is_ascii_alphabetic());
    let number = tail.unwrap_or(word);
    match number.len() >= 3 && digits(number) {
        _ if word.contains('-') => OnLabel::Code,
        true if tail.is_some() || number.starts_with('0') => OnLabel::Code,
        true => OnLabel::Perhaps,
        false => OnLabel::No,
    }
}

/// A phrase about the remark itself: when, by whom, look again, or the batch's id. Words such as `at the base` are
/// text.
fn aside(
    piece: LineStretch<'_>,
    draft: &Draft,
    context: &LineContext<'_>,
) -> Option<Vec<(&'static str, Value)>> {
    if piece.unquoted().is_some() {
        return None;
    }
    if let Some(named) = raw::named(piece, context) {
        return Some(vec![named]);
    }
    let said = phrase::read(piece, context).ok()?;
    let (field, value) = said.first()?;
    let by_typed = piece
        .text
        .get(..3)
        .is_some_and(|head| head.eq_ignore_ascii_case("by "));
    let stranger = match value {
        Value::Text(who) => context.known.spelling("by", who).is_none(),
        _ => true,
    };
    let free = draft.value("batch").is_none() && draft.value("place").is_none();
    let held = value
        .text()
        .is_some_and(|place| context.known.spelling("place", place).is_some());
    match *field {
        "at" | "again_on" | "stick" | "note" => Some(said),
        "batch" if free => Some(said),
        "place" if free && held => Some(said),
        "by" if !(by_typed && stranger) => Some(said),
        _ => None,
    }
}
