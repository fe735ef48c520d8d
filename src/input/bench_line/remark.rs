//! Reads a remark: perhaps a batch or place, then text of its own words. It knows no other kind.

use super::draft::Draft;
use super::phrase;
use super::phrases::Shape;
use super::raw;
use super::shapes;
use super::split::{LineStretch, at_colon, digits, phrases};
use super::vocabulary::LineContext;
use crate::model::value::Value;

/// Reads what stands behind the verb of a remark. Whatever is no phrase about the remark itself is its text.
pub(super) fn read(rest: LineStretch<'_>, context: &LineContext<'_>, draft: &mut Draft) {
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
            let what = "may be a batch or a number; say it with a colon if a batch is meant, else put the text in quotes";
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
