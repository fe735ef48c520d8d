//! The shape of JSON output: numbers that repeat to the byte, absent values as null. Nothing else writes JSON.

use super::exit::Exit;
use super::output;
use crate::text::clean::escaped;
use serde::Serialize;
use serde_json::{Map, Value};
use std::fmt::Write;

/// Version of the shape of all JSON output, given as `struck` at its top. It rises when a figure moves or changes
/// its meaning; a new figure beside the others leaves it as it is.
const SHAPE: u64 = 1;

/// Writes an answer, indented, with a newline at its end: the version of the shape first, every number rounded.
///
/// # Errors
/// The exit that a failed write asks for.
pub fn write<T: Serialize>(answer: &T) -> Result<(), Exit> {
    let text = serde_json::to_value(answer).and_then(|answer| {
        let mut top = Map::from_iter([("struck".to_owned(), Value::from(SHAPE))]);
        match rounded(answer) {
            Value::Object(fields) => top.extend(fields),
            other => {
                top.insert("answer".to_owned(), other);
            }
        }
        serde_json::to_string_pretty(&top)
    });
    let text = text.map_err(|error| {
        output::say(&format!(
            "struck: the answer could not be put into JSON ({error}).\n"
        ));
        Exit::Could
    })?;
    output::exact(&format!("{}\n", harmless(&text)))
}

/// The value with each of its numbers rounded as [`number`] does.
fn rounded(value: Value) -> Value {
    match value {
        Value::Number(given) if given.is_f64() => given.as_f64().map_or(Value::Null, number),
        Value::Array(items) => items.into_iter().map(rounded).collect(),
        Value::Object(fields) => {
            let fields = fields.into_iter();
            Value::Object(fields.map(|(name, value)| (name, rounded(value))).collect())
        }
        other => other,
    }
}

/// Writes a line that is JSON already, with a newline at its end.
///
/// # Errors
/// The exit that a failed write asks for.
pub fn line(json: &str) -> Result<(), Exit> {
    output::exact(&format!("{}\n", harmless(json)))
}

/// JSON in which what a terminal might obey, and what is not seen, is escaped (RFC 8259, section 7):
/// the same text to every reader of JSON. Outside of texts such characters do not occur.
fn harmless(json: &str) -> String {
    escaped(json, |out, c| {
        for unit in c.encode_utf16(&mut [0; 2]) {
            // Writing into a String cannot fail.
            let _ = write!(out, "\\u{unit:04x}");
        }
    })
}

/// A number rounded to nine significant digits, so that the last bits of two machines' arithmetic do
/// not show; what is not finite is null, since JSON has no word for it.
#[must_use]
pub fn number(value: f64) -> Value {
    if !value.is_finite() {
        return Value::Null;
    }
    let rounded: f64 = format!("{value:.8e}").parse().unwrap_or(value);
    if rounded.fract() == 0.0 && rounded.abs() < 1e15 {
        Value::from(rounded as i64)
    } else {
        Value::from(rounded)
    }
}

/// A number that may be absent.
#[must_use]
pub fn optional(value: Option<f64>) -> Value {
    value.map_or(Value::Null, number)
}
