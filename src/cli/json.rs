//! The shape of JSON output: numbers that repeat to the byte, absent values as null. Nothing else writes JSON.

use super::exit::Exit;
use super::output;
use serde_json::Value;

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
    output::data(&format!("{text}\n"))
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
