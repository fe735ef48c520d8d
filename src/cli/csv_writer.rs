//! CSV, for every command that prints a table: cells that neither a terminal obeys nor a spreadsheet runs. Most tables are
//! taken from the very JSON that `--json` prints, so that the two cannot differ.

use super::output::rounded;
use crate::app::failure::Failure;
use crate::text::clean::{shown, spreadsheet_safe};
use serde::Serialize;
use serde_json::Value;

/// One cell of CSV output.
#[derive(Clone, Debug)]
pub enum CsvCell {
    /// Text, which a spreadsheet might take for a formula and a terminal for an order.
    Text(String),
    /// A number or a day, which keeps its minus sign; absent is empty.
    Plain(Option<String>),
}

impl CsvCell {
    /// A text that may be absent.
    pub fn text(text: impl Into<Option<String>>) -> Self {
        Self::Text(text.into().unwrap_or_default())
    }

    /// A number or a day.
    pub fn plain(value: impl ToString) -> Self {
        Self::Plain(Some(value.to_string()))
    }

    fn written(self) -> String {
        match self {
            Self::Text(text) => spreadsheet_safe(&shown(&text)),
            Self::Plain(value) => value.unwrap_or_default(),
        }
    }
}

/// A line of headings and a line a row.
///
/// # Errors
/// If they cannot be put into CSV.
pub fn csv_of_cells<H: AsRef<[u8]>>(
    headings: &[H],
    rows: impl IntoIterator<Item = Vec<CsvCell>>,
) -> Result<String, Failure> {
    let failed = |error: csv::Error| {
        Failure::could(format!("The answer could not be put into CSV ({error})."))
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(headings).map_err(failed)?;
    for row in rows {
        let cells = row.into_iter().map(CsvCell::written);
        writer.write_record(cells).map_err(failed)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| failed(error.into_error().into()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// A line of headings and a line a row, each cell taken from the row's JSON.
///
/// A column is written as the path of its value, keys set apart by dots: `strike.value`. Its heading is the path with `_` for
/// the dots, or what is said behind ` as `. Behind `|` stands a path to take where the first leads nowhere; a number is a place in
/// a list; `reasons[].rule` takes the rule of every reason. An empty cell is a value that is null or absent.
///
/// # Errors
/// If they cannot be put into CSV.
pub fn csv_of_json<R: Serialize>(
    columns: &[impl AsRef<str>],
    rows: impl IntoIterator<Item = R>,
) -> Result<String, Failure> {
    let columns: Vec<CsvColumn<'_>> = columns
        .iter()
        .map(|written| CsvColumn::read(written.as_ref()))
        .collect();
    let headings: Vec<&str> = columns.iter().map(|column| &*column.heading).collect();
    let mut lines = Vec::new();
    for row in rows {
        let row = serde_json::to_value(row).map_err(|error| {
            Failure::could(format!("The answer could not be put into CSV ({error})."))
        })?;
        let row = rounded(row);
        lines.push(columns.iter().map(|column| column.cell(&row)).collect());
    }
    csv_of_cells(&headings, lines)
}

/// A column: its heading, and where its values stand in a row.
struct CsvColumn<'a> {
    heading: String,
    paths: Vec<&'a str>,
}

impl<'a> CsvColumn<'a> {
    fn read(written: &'a str) -> Self {
        let (paths, named) = match written.split_once(" as ") {
            Some((paths, name)) => (paths, Some(name)),
            None => (written, None),
        };
        let paths: Vec<&str> = paths.split('|').collect();
        let first = paths.first().copied().unwrap_or_default();
        Self {
            heading: named.map_or_else(|| first.replace("[]", "").replace('.', "_"), Into::into),
            paths,
        }
    }

    fn cell(&self, row: &Value) -> CsvCell {
        let mut found = self.paths.iter().map(|path| at(row, path));
        match found.find(|value| !value.is_null()) {
            None => CsvCell::Plain(None),
            Some(Value::Number(number)) => CsvCell::plain(number),
            Some(Value::Bool(yes)) => CsvCell::plain(yes),
            Some(other) => CsvCell::Text(in_words(&other)),
        }
    }
}

/// What stands in a value at a path; null if nothing does.
fn at(value: &Value, path: &str) -> Value {
    if path.is_empty() {
        return value.clone();
    }
    let (step, rest) = path.split_once('.').unwrap_or((path, ""));
    if let Some(key) = step.strip_suffix("[]") {
        let items = value.get(key).and_then(Value::as_array);
        return items.map_or(Value::Null, |items| {
            items.iter().map(|item| at(item, rest)).collect()
        });
    }
    let next = match (value, step.parse::<usize>()) {
        (Value::Array(items), Ok(place)) => items.get(place),
        _ => value.get(step),
    };
    next.map_or(Value::Null, |next| at(next, rest))
}

/// A value in one cell: a list's items, or an object's keys with their values, set apart by semicolons.
fn in_words(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::Bool(yes) => yes.to_string(),
        Value::Number(number) => number.to_string(),
        Value::String(text) => text.clone(),
        Value::Array(items) => {
            let each: Vec<String> = items.iter().map(in_words).collect();
            each.join("; ")
        }
        Value::Object(fields) => {
            let each = fields
                .iter()
                .map(|(key, value)| format!("{key} {}", in_words(value)));
            each.collect::<Vec<_>>().join("; ")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn cells_are_found_by_their_paths_and_nothing_is_empty() {
        let row = json!({
            "code": "=1+1", "share": {"value": null, "missing": "none-reached"}, "range": [-0.5, 2],
            "reasons": [{"rule": "late"}, {"rule": "first-look"}], "lost": {"mould": 2, "eaten": 1}, "open": true,
        });
        let columns = [
            "code",
            "share.value",
            "share.value_why|share.missing as why",
            "range.0",
            "range.1 as most",
            "range.2",
            "reasons[].rule",
            "lost as lost_by_cause",
            "open",
            "nowhere.at.all",
        ];
        let csv = csv_of_json(&columns, [row]).unwrap();
        assert_eq!(
            csv,
            "code,share_value,why,range_0,most,range_2,reasons_rule,lost_by_cause,open,nowhere_at_all\n\
             '=1+1,,none-reached,-0.5,2,,late; first-look,mould 2; eaten 1,true,\n"
        );
    }
}
