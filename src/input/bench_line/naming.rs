//! A plant's name as typed: in the journal's own spelling, and parted from what a forgotten comma left standing behind
//! it. It knows no grammar of plant names.

use super::draft::Draft;
use super::lists::{WOOD, listed};
use super::phrase;
use super::split::{LineStretch, digits, fold};
use super::vocabulary::LineContext;
use crate::input::fuzzy;

/// Shorter words differ in too few letters to be told from a slip.
const SHORTEST_SLIP: usize = 6;

/// Longer is no plant's name, but a line without its commas: `Acer palmatum var. dissectum 'Crimson Queen' (Dissectum
/// Atropurpureum Group)` has nine words.
const LONGEST_NAME: usize = 10;

/// A phrase of more words than this is not looked for at the head of a longer run: a paragraph would take long.
const MOST_WORDS: usize = 12;

/// Takes a name: in the journal's spelling if it has it, in quotes as it stands.
pub(super) fn put(name: LineStretch<'_>, context: &LineContext<'_>, draft: &mut Draft) {
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
    name: LineStretch<'a>,
    context: &LineContext<'_>,
    draft: &mut Draft,
) -> Vec<LineStretch<'a>> {
    if name.unquoted().is_some() {
        put(name, context, draft);
        return Vec::new();
    }
    if counts_trays(name) {
        let what = "counts trays: say how many are in one (the terminal's `s` takes several trays at once)";
        draft.problem(name, what, None);
        return Vec::new();
    }
    let Some(end) = end(name) else {
        if name.words().len() > LONGEST_NAME {
            draft.problem(
                name,
                "is long for a plant's name: put a comma between the name and what follows",
                None,
            );
            return Vec::new();
        }
        put(name, context, draft);
        doubt_words(name, draft);
        return Vec::new();
    };
    put(name.part(0..end), context, draft);
    apart(name.after(end), context)
}

/// Whether what stands behind a number makes it one of trays: `trays of 24`, `x 24`. (`× Heucherella` is a name.)
fn counts_trays(name: LineStretch<'_>) -> bool {
    let words = name.words();
    let Some(first) = words.first() else {
        return false;
    };
    let numbered = words.get(1).is_some_and(|next| digits(next.text));
    match fold(first.text).as_str() {
        "x" | "×" => numbered,
        "tray" | "trays" => words.len() > 1,
        _ => false,
    }
}

/// Where a name ends at the latest: before a wood stage, even with a slip in it, and before `at` with a place. No
/// plant's name holds them behind its first word; a wood stage alone is none.
fn end(name: LineStretch<'_>) -> Option<usize> {
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
        (is_wood || is_at || near_wood(word, 1).is_some()).then_some(from)
    })
}

/// The wood stage that a word of a name may be a slip for; a cultivar's words stand in quotes.
fn near_wood(word: &LineStretch<'_>, slips: usize) -> Option<&'static str> {
    let long = word.text.chars().count() >= SHORTEST_SLIP;
    let quoted = word.text.contains(['\'', '"', '‘', '’']);
    if !long || quoted {
        return None;
    }
    WOOD.iter().find_map(|(stage, also)| {
        let names: Vec<&str> = also.iter().copied().chain([*stage]).collect();
        fuzzy::nearest_within(word.text, &names, slips).map(|_| *stage)
    })
}

/// What was run together as phrases, each as long as can be; a word that is none stands alone, to be told of.
fn apart<'a>(run: LineStretch<'a>, context: &LineContext<'_>) -> Vec<LineStretch<'a>> {
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
        // Where nothing is, the first word is told of alone.
        let end = tried.find(is_phrase).or(ends.first()).copied();
        let end = end.unwrap_or(rest.text.len());
        out.push(rest.part(0..end));
        rest = rest.after(end);
    }
    out
}

/// Doubts words behind the first that may belong to no name: a slip for a wood stage, a figure.
fn doubt_words(name: LineStretch<'_>, draft: &mut Draft) {
    for word in name.words().into_iter().skip(1) {
        if let Some(stage) = near_wood(&word, 2) {
            draft.doubt_that(word, "stands in the plant's name", Some(stage));
        } else if word.text.starts_with(|c: char| c.is_ascii_digit()) {
            let what = "stands in the plant's name: is a comma missing before it?";
            draft.doubt_that(word, what, None);
        }
    }
}
