//! A plant's name as typed: in the journal's own spelling, and parted from what a forgotten comma left standing behind
//! it. It knows no grammar of plant names.

use super::context::Context;
use super::draft::Draft;
use super::lists::{WOOD, listed};
use super::phrase;
use super::split::{Stretch, fold};
use crate::words::fuzzy;

/// Shorter words differ in too few letters to be told from a slip.
const SHORTEST_SLIP: usize = 6;

/// A phrase of more words than this is not looked for at the head of a longer run: a paragraph would take long.
const MOST_WORDS: usize = 12;

/// Takes a name: in the journal's spelling if it has it, in quotes as it stands.
pub(super) fn put(name: Stretch<'_>, context: &Context<'_>, draft: &mut Draft) {
    let typed = name.plain();
    if typed.trim().is_empty() {
        return;
    }
    let spelt = match name.unquoted() {
        Some(_) => None,
        None => context.known.spelling("taxon", &typed),
    };
    let said = phrase::text("taxon", spelt.unwrap_or(typed));
    draft.add(name, said, context);
}

/// The same of cuttings that are stuck; what stands behind the name without a comma is given back as phrases.
pub(super) fn put_stuck<'a>(
    name: Stretch<'a>,
    context: &Context<'_>,
    draft: &mut Draft,
) -> Vec<Stretch<'a>> {
    let end = match name.unquoted() {
        Some(_) => None,
        None => end(name),
    };
    let Some(end) = end else {
        put(name, context, draft);
        doubt_wood(name, draft);
        return Vec::new();
    };
    put(name.part(0..end), context, draft);
    apart(name.after(end), context)
}

/// Where a name ends at the latest: before a wood stage, and before `at` with a place. No plant's name holds them
/// behind its first word; a wood stage alone is none.
fn end(name: Stretch<'_>) -> Option<usize> {
    if listed(WOOD, name.text).is_some() {
        return Some(0);
    }
    let words = name.words();
    let behind = words
        .iter()
        .zip(words.iter().skip(1).map(Some).chain([None]));
    let mut behind = behind.skip(1);
    behind.find_map(|(word, next)| {
        let from = word.start - name.start;
        let both = next.map(|next| name.part(from..next.span().end - name.start));
        let mut said = [Some(*word), both].into_iter().flatten();
        let is_wood = said.any(|text| listed(WOOD, text.text).is_some());
        let is_at = fold(word.text) == "at" && next.is_some();
        (is_wood || is_at).then_some(from)
    })
}

/// What was run together as phrases, each as long as can be; a rest that is none stays one, to be told of.
fn apart<'a>(run: Stretch<'a>, context: &Context<'_>) -> Vec<Stretch<'a>> {
    let mut out = Vec::new();
    let mut rest = run;
    while !rest.text.is_empty() {
        let ends: Vec<usize> = rest
            .words()
            .iter()
            .map(|word| word.span().end - rest.start)
            .collect();
        let is_phrase = |end: &&usize| phrase::reads(rest.part(0..**end), context);
        let mut tried = ends
            .last()
            .into_iter()
            .chain(ends.iter().take(MOST_WORDS).rev());
        let end = tried.find(is_phrase).copied();
        let end = end.unwrap_or(rest.text.len());
        out.push(rest.part(0..end));
        rest = rest.after(end);
    }
    out
}

/// Doubts a word behind the first that may be a slip for a wood stage; a cultivar's stand in quotes.
fn doubt_wood(name: Stretch<'_>, draft: &mut Draft) {
    let stages: Vec<&str> = WOOD.iter().map(|(word, _)| *word).collect();
    for word in name.words().into_iter().skip(1) {
        let long = word.text.chars().count() >= SHORTEST_SLIP;
        let quoted = word.text.contains(['\'', '"', '‘', '’']);
        if let Some(stage) = fuzzy::nearest(word.text, &stages).filter(|_| long && !quoted) {
            draft.doubt_that(word, "stands in the plant's name", stage);
        }
    }
}
