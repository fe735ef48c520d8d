//! Writes an entry as a line that reads back as the same entry, for editing it in place. Every phrase is tried on
//! the reader before it is taken; where none fits, `field=value` does.

use super::phrases::{PhraseRow, Shape, rows_of};
use super::raw;
use super::read::read;
use super::reading::LineReading;
use super::split::{closed, quote};
use super::units::Quantity;
use super::vocabulary::{Now, Vocabulary};
use crate::model::entry::{Entry, Kind};
use crate::model::id::Id;
use crate::model::listed::Units;
use crate::model::value::{FieldType, Value};
use chrono::{DateTime, FixedOffset, NaiveDateTime, Offset, Utc};

/// An entry as a bench line. Reading it back, with the same journal known, gives the same fields; only an absent
/// `stick` is filled in.
#[must_use]
pub fn line_of(entry: &Entry, known: &Vocabulary) -> String {
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
pub fn line_without_when(entry: &Entry, known: &Vocabulary) -> String {
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
    known: &'a Vocabulary,
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

    fn reading(&self, head: &str, body: &str) -> LineReading {
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

/// Phrases that may say this value by this row.
pub(super) fn ways(row: &PhraseRow, value: &Value, known: &Vocabulary) -> Vec<String> {
    let Some(key) = row.keys.first() else {
        return Vec::new();
    };
    match (row.shape, value) {
        (Shape::Text | Shape::InWhat | Shape::NewCode | Shape::Code, Value::Text(text)) => {
            // A note or the text of a remark may go without its first word.
            let bare = (row.field == "note").then(|| text.clone());
            let keyed = [format!("{key} {text}"), format!("{key} {}", quote(text))];
            bare.into_iter().chain(keyed).collect()
        }
        (Shape::Reference, Value::Text(id)) => {
            // A code tells a reader more than an id.
            let each = code_of(id, known).into_iter().chain([id.as_str()]);
            each.map(|of| format!("{key} {of}")).collect()
        }
        (Shape::Container | Shape::SizedContainer, Value::Text(text)) => {
            vec![
                text.clone(),
                format!("{key} {text}"),
                format!("{key} {}", quote(text)),
            ]
        }
        (Shape::Listed(_) | Shape::Why, Value::Text(word)) => {
            vec![word.clone(), format!("{key} {word}")]
        }
        (Shape::Moment | Shape::Coming | Shape::MonthDay, Value::Text(text)) => {
            vec![format!("{key} {text}")]
        }
        (Shape::Heat, Value::Text(word)) => vec![format!("{key} {word}")],
        (Shape::Heat, Value::Number(n)) => measured(key, *n, Quantity::Temperature, known),
        (Shape::Quantity(measure), Value::Number(n)) => measured(key, *n, measure, known),
        (Shape::Count | Shape::BareCount, Value::Number(n)) => {
            vec![format!("{n} {key}"), format!("{key} {n}")]
        }
        (Shape::Stage, Value::Number(n)) => vec![format!("{key} {n}")],
        (Shape::Days, Value::Number(n)) => vec![format!("{key} {n} days")],
        (Shape::Flag(flag), Value::Bool(said)) if flag == *said => vec![(*key).to_owned()],
        (Shape::OneOfSeveral, Value::List(items)) => several(key, items),
        (Shape::Guess, Value::Map(fields)) => {
            vec![numbered(fields, |stage, guess| format!("{guess} {stage}"))]
        }
        (Shape::Lost, Value::Map(fields)) if fields.is_empty() => vec![format!("{key} none")],
        (Shape::Lost, Value::Map(fields)) => {
            vec![numbered(fields, |cause, n| format!("{cause} {n}"))]
        }
        (Shape::Hormone, hormone) => hormones(key, hormone),
        _ => Vec::new(),
    }
}

/// The code of the batch of that id.
fn code_of<'a>(id: &str, known: &'a Vocabulary) -> Option<&'a str> {
    let id = Id::parse_reference(id)?;
    let batch = known.batch_of_key(&id)?;
    Some(&batch.code)
}

/// One phrase for two fields that are usually said together.
pub(super) fn pair(first: (&str, &Value), second: (&str, &Value)) -> Option<String> {
    match (first, second) {
        (("mist_on_s", Value::Number(on)), ("mist_every_s", Value::Number(every))) => {
            Some(format!("mist {}/{}", seconds(*on), seconds(*every)))
        }
        (("vpd_low_kpa", Value::Number(low)), ("vpd_high_kpa", Value::Number(high))) => {
            Some(format!("vpd {low}-{high}"))
        }
        _ => None,
    }
}

fn seconds(seconds: f64) -> String {
    match seconds % 60.0 == 0.0 && seconds > 0.0 {
        true => format!("{}min", seconds / 60.0),
        false => format!("{seconds}s"),
    }
}

fn measured(key: &str, number: f64, measure: Quantity, known: &Vocabulary) -> Vec<String> {
    let plain =
        known.units == Units::C && !matches!(measure, Quantity::Length | Quantity::Duration);
    let bare = plain.then(|| format!("{key} {number}"));
    bare.into_iter()
        .chain([format!("{key} {number}{}", measure.shown())])
        .collect()
}

fn several(key: &str, items: &[Value]) -> Vec<String> {
    if items.is_empty() {
        return vec![format!("{key} none")];
    }
    let each = |spell: fn(&str) -> String| {
        let said = items
            .iter()
            .map(|item| item.text().map(|text| format!("{key} {}", spell(text))));
        said.collect::<Option<Vec<_>>>().map(|all| all.join(", "))
    };
    [each(str::to_owned), each(quote)]
        .into_iter()
        .flatten()
        .collect()
}

fn numbered(fields: &[(String, Value)], say: impl Fn(&str, &str) -> String) -> String {
    let each = fields.iter().map(|(name, value)| match value {
        Value::Number(n) => say(name, &n.to_string()),
        other => say(name, other.text().unwrap_or_default()),
    });
    each.collect::<Vec<_>>().join(", ")
}

/// Each dose a phrase of its own, so that none lends its carrier to another.
fn hormones(key: &str, hormone: &Value) -> Vec<String> {
    let doses = match hormone {
        Value::Text(word) => return vec![format!("{key} {word}")],
        Value::List(doses) => doses.as_slice(),
        one => std::slice::from_ref(one),
    };
    let each = |quoted: bool| {
        let said = doses.iter().map(|dose| dose_in_words(key, dose, quoted));
        said.collect::<Option<Vec<_>>>().map(|all| all.join(", "))
    };
    [each(false), each(true)].into_iter().flatten().collect()
}

fn dose_in_words(key: &str, dose: &Value, quoted: bool) -> Option<String> {
    let Value::Map(fields) = dose else {
        return None;
    };
    let mut words = Vec::new();
    for (name, value) in fields {
        words.push(match (name.as_str(), value) {
            ("active", Value::Text(active)) if quoted => format!("{key} {}", quote(active)),
            ("active" | "carrier", Value::Text(word)) => word.clone(),
            ("ppm", Value::Number(n)) => format!("{n} ppm"),
            ("dip_s", Value::Number(n)) => format!("dip {n} s"),
            _ => return None,
        });
    }
    Some(words.join(" "))
}
