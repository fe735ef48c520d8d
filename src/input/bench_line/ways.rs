//! The ways in which a phrase may say a value, by its row of the table, the plainest first. Whether a way reads
//! back right is tried elsewhere.

use super::known::Known;
use super::phrases::{Row, Shape};
use super::split::quote;
use super::units::Measure;
use crate::model::id::Id;
use crate::model::listed::Units;
use crate::model::value::Value;

/// Phrases that may say this value by this row.
pub(super) fn ways(row: &Row, value: &Value, known: &Known) -> Vec<String> {
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
        (Shape::Heat, Value::Number(n)) => measured(key, *n, Measure::Temperature, known),
        (Shape::Measure(measure), Value::Number(n)) => measured(key, *n, measure, known),
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
fn code_of<'a>(id: &str, known: &'a Known) -> Option<&'a str> {
    let id = Id::parse_reference(id)?;
    let batch = known.batches.iter().rev().find(|batch| batch.key == id)?;
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

fn measured(key: &str, number: f64, measure: Measure, known: &Known) -> Vec<String> {
    let plain = known.units == Units::C && !matches!(measure, Measure::Length | Measure::Duration);
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
