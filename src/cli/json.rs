//! The shape of JSON output: numbers that repeat to the byte, absent values as null. Nothing else writes JSON.

use super::exit::Exit;
use super::output;
use crate::text::clean::escaped;
use serde_json::Value;
use std::fmt::Write;

/// Writes a value, indented, with a newline at its end.
///
/// # Errors
/// The exit that a failed write asks for.
pub fn write(value: &Value) -> Result<(), Exit> {
    let text = serde_json::to_string_pretty(value).map_err(|error| {
        output::say(&format!(
            "struck: the answer could not be put into JSON ({error}).\n"
        ));
        Exit::Could
    })?;
    output::exact(&format!("{}\n", harmless(&text)))
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
