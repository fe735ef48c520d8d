//! Writes an entry as a line that reads back as the same entry, for editing it in place. Every phrase is tried on
//! the reader before it is taken; where none fits, `field=value` does.

use super::known::{Known, Now};
use super::phrases::rows_of;
use super::reading::Reading;
use super::split::{closed, quote};
use super::ways::{pair, ways};
use super::{raw, read};
use crate::model::entry::{Entry, Kind};
use crate::model::value::{FieldType, Value};
use chrono::{DateTime, FixedOffset, NaiveDateTime, Offset, Utc};

/// An entry as a bench line. Reading it back, with the same journal known, gives the same fields; only an absent
/// `stick` is filled in.
#[must_use]
pub fn line_of(entry: &Entry, known: &Known) -> String {
    let kind = entry.kind.word();
    let mut fields = entry.kind.write();
    fields.extend(entry.by.as_ref().map(|by| ("by", by.write())));
    fields.extend(entry.note.as_ref().map(|note| ("note", note.write())));
    fields.push(("at", entry.at.write()));
    let writer = Writer { kind, known };
    let (head, said) = writer.head(&fields);
    let mut body = Vec::new();
    let mut left: Vec<_> = fields
        .into_iter()
        .filter(|(name, _)| !said.contains(name))
        .collect();
    while !left.is_empty() {
        let (phrase, taken) = writer.phrase(&head, &left);
        body.extend(phrase);
        left.drain(..taken);
    }
    writer.with_body(&head, &body.join(", "))
}

/// The same without who and when, for where these stand beside it.
#[must_use]
pub fn line_without_when(entry: &Entry, known: &Known) -> String {
    let nobody = Entry {
        by: None,
        ..entry.clone()
    };
    let line = line_of(&nobody, known);
    let when = format!(", on {}", entry.at);
    line.strip_suffix(&when).map(str::to_owned).unwrap_or(line)
}

struct Writer<'a> {
    kind: &'static str,
    known: &'a Known,
}

/// The fields that the head of each kind says, if the entry has them.
const HEADS: &[(&str, &[&str])] = &[
    ("stick", &["batch", "stuck", "taxon"]),
    ("pot", &["batch", "count"]),
    ("ready", &["batch", "count"]),
    ("sold", &["batch", "count"]),
    ("discard", &["batch", "count"]),
    ("move", &["batch", "count"]),
    ("look", &["batch"]),
    ("treat", &["batch", "place"]),
    ("remark", &["batch", "place"]),
    ("climate", &["place"]),
    ("place", &["place"]),
    ("taxon", &["taxon"]),
    ("target", &["count", "taxon"]),
    ("amend", &["of"]),
    ("withdraw", &["of"]),
];

impl Writer<'_> {
    /// The head of the line and the fields that it says; none if no head reads back.
    fn head(&self, fields: &[(&'static str, Value)]) -> (String, Vec<&'static str>) {
        let wanted = HEADS
            .iter()
            .find(|(kind, _)| *kind == self.kind)
            .map_or(&[][..], |(_, names)| names);
        let held = |name: &&&'static str| fields.iter().any(|(field, _)| field == *name);
        let names: Vec<&'static str> = wanted.iter().filter(held).copied().collect();
        // Each text plain or in quotes.
        let found = (0..1_u32 << names.len()).find_map(|quoted| {
            let parts = names.iter().enumerate().map(|(at, name)| {
                let (_, value) = fields.iter().find(|(field, _)| field == name)?;
                let part = match value {
                    Value::Text(text) if quoted >> at & 1 == 1 => quote(text),
                    Value::Text(text) => text.clone(),
                    Value::Number(number) => number.to_string(),
                    _ => return None,
                };
                let code = self.kind == "stick" && *name == "batch";
                Some(if code { format!("{part}:") } else { part })
            });
            let head = parts.collect::<Option<Vec<_>>>()?.join(" ");
            if !closed(&head) {
                return None;
            }
            let reading = self.reading(&head, "note=\"x\"");
            let same = |name: &&'static str| {
                let value = fields
                    .iter()
                    .find(|(field, _)| field == name)
                    .map(|(_, value)| value);
                reading.value(name) == value
            };
            let more = reading.fields.len() - usize::from(reading.value("stick").is_some());
            let all = names.iter().all(same) && reading.problems.is_empty();
            (all && more == names.len() + 1).then_some(head)
        });
        found.map_or((String::new(), Vec::new()), |head| (head, names))
    }

    /// What says the first of the fields left, and how many of them that takes in.
    fn phrase(&self, head: &str, left: &[(&'static str, Value)]) -> (Option<String>, usize) {
        let Some((name, value)) = left.first() else {
            return (None, 1);
        };
        if *name == "stick" && self.reading(head, "").value("stick") == Some(value) {
            return (None, 1);
        }
        if let (true, Value::Map(set)) = (self.kind == "amend" && *name == "set", value) {
            return (Some(self.set(head, set)), 1);
        }
        if let Some(second) = left.get(1)
            && let Some(both) = pair((name, value), (second.0, &second.1))
            && self.says(head, &both, &left[..2])
        {
            return (Some(both), 2);
        }
        let rows = rows_of(self.kind).filter(|row| row.field == *name);
        let mut tried = rows.flat_map(|row| ways(row, value, self.known));
        let found = tried.find(|phrase| self.says(head, phrase, &left[..1]));
        (Some(found.unwrap_or_else(|| raw::write(name, value))), 1)
    }

    /// Whether a phrase alone behind the head says these fields and nothing else.
    fn says(&self, head: &str, phrase: &str, fields: &[(&'static str, Value)]) -> bool {
        if !closed(phrase) {
            return false;
        }
        let bare = self.reading(head, "");
        let reading = self.reading(head, phrase);
        let same = fields
            .iter()
            .all(|(name, value)| reading.value(name) == Some(value));
        let new = fields
            .iter()
            .filter(|(name, _)| bare.value(name).is_none())
            .count();
        same && reading.fields.len() == bare.fields.len() + new
            && reading.problems.len() <= bare.problems.len()
    }

    /// What an amend sets.
    fn set(&self, head: &str, set: &[(String, Value)]) -> String {
        let one = |(name, value): &(String, Value)| {
            let whole = Value::Map(vec![(name.clone(), value.clone())]);
            let rows = Kind::WORDS
                .iter()
                .flat_map(|kind| rows_of(kind))
                .filter(|row| row.field == name);
            let mut tried = match value {
                Value::Null => vec![format!("drop {}", name.replace('_', " "))],
                _ => rows.flat_map(|row| ways(row, value, self.known)).collect(),
            }
            .into_iter();
            tried
                .find(|phrase| self.says(head, phrase, &[("set", whole.clone())]))
                .unwrap_or_else(|| raw::write(name, value))
        };
        set.iter().map(one).collect::<Vec<_>>().join(", ")
    }

    /// A line with this head and body.
    fn with_body(&self, head: &str, body: &str) -> String {
        // A number ends the head of those that count; a colon ends a name.
        let counted = matches!(
            self.kind,
            "pot" | "ready" | "sold" | "discard" | "move" | "stick" | "target"
        );
        let joint = match (head.is_empty(), body.is_empty()) {
            (true, _) | (_, true) => "",
            _ if counted => ", ",
            _ => ": ",
        };
        format!("{} {head}{joint}{body}", self.kind)
            .trim_end()
            .to_owned()
    }

    fn reading(&self, head: &str, body: &str) -> Reading {
        // Days are written in full, so the moment of reading does not matter.
        let utc = |_: NaiveDateTime| Utc.fix();
        let at: DateTime<FixedOffset> = DateTime::UNIX_EPOCH.fixed_offset();
        let now = Now {
            at,
            offset_at: &utc,
        };
        read(&self.with_body(head, body), self.known, &now)
    }
}
