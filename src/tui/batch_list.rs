//! The batches that a typed text means, by any part of code, name or place, and their lines on a list to choose from.

use super::canvas::{Canvas, Tone};
use super::common::Common;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::input::bench_line::Vocabulary;
use crate::input::fuzzy::rank;
use crate::text::clean::{unmarked, width};
use crate::text::short::short;
use std::sync::Arc;

/// The most that are listed.
const MOST: usize = 60;

/// The batches meant: a whole code's first, then those that hold the text as it is typed before those that hold its letters
/// strewn, open ones before closed ones, the nearest first.
#[must_use]
pub fn batches_called(text: &str, book: &Book, vocabulary: &Vocabulary) -> Vec<Arc<Batch>> {
    let text = text.trim();
    let batches = book.batches();
    let names: Vec<String> = batches.iter().map(|batch| said(batch)).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let mut ranked = rank(text, &names);
    let typed = evened(text);
    // A whole code means that batch, open or closed.
    let code = vocabulary.full_code(text);
    let is_meant = |at: usize| code.as_ref() == Some(&batches[at].code);
    ranked.sort_by_cached_key(|(at, score)| {
        let batch = &batches[*at];
        let as_typed = typed.is_empty() || holds_words(names[*at], &typed);
        let nearest = std::cmp::Reverse(*score);
        (!is_meant(*at), !as_typed, !batch.is_open(), nearest)
    });
    let most = ranked.into_iter().take(MOST);
    most.map(|(at, _)| Arc::clone(&batches[at])).collect()
}

/// Whether a batch's code, name or place holds every word as it is typed.
#[must_use]
pub fn holds(batch: &Batch, text: &str) -> bool {
    holds_words(&said(batch), &evened(text))
}

/// Whether what is said of a batch holds every word of a text that is evened out.
fn holds_words(said: &str, typed: &str) -> bool {
    let said = evened(said);
    typed.split_whitespace().all(|word| said.contains(word))
}

/// A text without accents, in small letters.
fn evened(text: &str) -> String {
    unmarked(text).to_lowercase()
}

/// What a batch is found by.
fn said(batch: &Batch) -> String {
    let place = batch.place.as_deref().unwrap_or("");
    format!("{} {} {place}", batch.code, batch.taxon.shown())
}

/// Draws a line for each batch from a row on; the one of that number is marked.
pub fn draw_batches(
    batches: &[&Arc<Batch>],
    chosen: Option<usize>,
    row: usize,
    common: &Common,
    canvas: &mut Canvas<'_>,
) {
    let after = |batch: &Batch| match batch.is_open() {
        true => format!(", {}", common.calendar().day(batch.stuck_on)),
        false => ", closed".to_owned(),
    };
    let codes = batches.iter().map(|batch| width(&batch.code)).max();
    let rest = batches.iter().map(|batch| width(&after(batch))).max();
    let taken = 3 + codes.unwrap_or(0) + rest.unwrap_or(0);
    let taxa: Vec<_> = batches.iter().map(|batch| &*batch.taxon).collect();
    let columns = canvas.width().saturating_sub(taken);
    let names = short(&taxa, columns, canvas.ink().glyphs);
    for (at, (batch, name)) in batches.iter().zip(names).enumerate() {
        let mark = if Some(at) == chosen { ">" } else { " " };
        canvas.text(row + at, 0, mark, Tone::Heading);
        let line = format!("{} {name}{}", batch.code, after(batch));
        canvas.text(row + at, 2, &line, Tone::Plain);
    }
}
