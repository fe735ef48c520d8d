//! What comes next for each open batch, as the list of what is due has it: its seat on the list, its sign, its
//! words. It decides nothing: the rules are the book's.

use super::rows::Row;
use crate::analysis::due::{DueList, Urgency};
use crate::fold::Book;
use crate::model::id::Id;
use crate::text::dates::Calendar;
use crate::text::due::{mark, narrow, next};
use std::collections::HashMap;

/// What comes next for a batch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Next {
    /// How pressing; nothing if the batch is silent, or too new to be on the list yet.
    pub press: Option<Urgency>,
    /// Its place on the list, from 0.
    pub seat: usize,
    /// Its sign.
    pub mark: char,
    /// In words.
    pub words: String,
    /// In few words.
    pub short: String,
}

impl Default for Next {
    /// Of a batch that is not on the list: it stands last.
    fn default() -> Self {
        Self {
            press: None,
            seat: usize::MAX,
            mark: ' ',
            words: String::new(),
            short: String::new(),
        }
    }
}

/// What comes next for every batch on the list, and for the silent ones.
#[must_use]
pub fn nexts(book: &Book, due: &DueList, calendar: Calendar) -> HashMap<Id, Next> {
    let listed = due.items.iter().enumerate().map(|(seat, item)| {
        let next = Next {
            press: Some(item.press),
            seat,
            mark: mark(item.press),
            words: next(item, calendar),
            short: narrow(item, calendar),
        };
        (item.key.clone(), next)
    });
    let silent = due.silent.iter().filter_map(|key| {
        let last = book.batch(key)?.last_day();
        let next = Next {
            words: format!("no entry since {}", calendar.day(last)),
            short: "silent".to_owned(),
            ..Next::default()
        };
        Some((key.clone(), next))
    });
    listed.chain(silent).collect()
}

/// How many of these press, in words, the most pressing first: `2 failing, 1 late, 4 due`.
#[must_use]
pub fn pressing<'a>(rows: impl Iterator<Item = &'a Row>) -> String {
    let presses: Vec<Urgency> = rows.filter_map(|row| row.next.press).collect();
    let named = [
        (Urgency::Failing, "failing"),
        (Urgency::Late, "late"),
        (Urgency::Due, "due"),
    ];
    let count = |press| presses.iter().filter(|one| **one == press).count();
    let counted = named.map(|(press, word)| (count(press), word));
    let parts: Vec<String> = counted
        .into_iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, word)| format!("{n} {word}"))
        .collect();
    if parts.is_empty() {
        return "none due".to_owned();
    }
    parts.join(", ")
}
