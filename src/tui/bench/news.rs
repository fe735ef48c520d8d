//! What is new to the person who sits down: what others entered since this person's last entry before the sitting, and
//! yesterday's notes. It draws nothing.

use crate::input::bench_line::line_without_when;
use crate::model::at::At;
use crate::model::entry::Entry;
use crate::tui::common::Common;
use chrono::Days;
use std::collections::BTreeMap;

/// The news, a sentence each; none where nothing is new.
#[must_use]
pub fn news(common: &Common) -> Vec<String> {
    let since = since_last(common);
    since.into_iter().chain(yesterday(common)).collect()
}

/// What others entered since this person last did before this sitting, by whom.
fn since_last(common: &Common) -> Option<String> {
    let is_own = |entry: &Entry| entry.by.as_deref().unwrap_or_default() == common.by.trim();
    let began = At::Time(common.began);
    let entries = || {
        common
            .book
            .entries()
            .iter()
            .rev()
            .map(|standing| &*standing.entry)
    };
    let own = entries().find(|entry| is_own(entry) && entry.at < began)?;
    let mut by: BTreeMap<&str, (usize, &Entry)> = BTreeMap::new();
    let later = entries().take_while(|entry| entry.at > own.at);
    for entry in later.filter(|entry| !is_own(entry)) {
        let name = entry.by.as_deref().unwrap_or("someone");
        by.entry(name).or_insert((0, entry)).0 += 1;
    }
    let each: Vec<String> = by
        .into_iter()
        .map(|(name, (count, last))| {
            let noun = if count == 1 { "entry" } else { "entries" };
            let last = line_without_when(last, &common.vocabulary);
            format!("{name} {count} {noun}, the last: {last}")
        })
        .collect();
    let when = common.calendar().at(&own.at);
    (!each.is_empty()).then(|| format!("Since your last entry, {when}: {}.", each.join("; ")))
}

/// The notes of yesterday, each as a line.
fn yesterday(common: &Common) -> Option<String> {
    let yesterday = common.today() - Days::new(1);
    let entries = common
        .book
        .entries()
        .iter()
        .map(|standing| &*standing.entry);
    let noted = entries.filter(|entry| entry.at.day() == yesterday && entry.note.is_some());
    let lines: Vec<String> = noted
        .map(|entry| line_without_when(entry, &common.vocabulary))
        .collect();
    (!lines.is_empty()).then(|| format!("Yesterday: {}.", lines.join("; ")))
}
