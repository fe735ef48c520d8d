//! CSV output: text that neither a terminal obeys nor a spreadsheet runs, numbers as they are.

use crate::app::failure::Failure;
use crate::text::clean::shown;
use crate::text::clean::spreadsheet_safe;

/// One cell.
#[derive(Clone, Debug)]
pub enum Cell {
    /// Text, which a spreadsheet might take for a formula and a terminal for an order.
    Text(String),
    /// A number or a day, which keeps its minus sign; absent is empty.
    Plain(Option<String>),
}

impl Cell {
    /// A text that may be absent.
    pub fn text(text: impl Into<Option<String>>) -> Self {
        Self::Text(text.into().unwrap_or_default())
    }

    /// A number or a day.
    pub fn plain(value: impl ToString) -> Self {
        Self::Plain(Some(value.to_string()))
    }

    /// A number or a day that may be absent.
    pub fn optional(value: Option<impl ToString>) -> Self {
        Self::Plain(value.map(|value| value.to_string()))
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
pub fn table(
    headings: &[&str],
    rows: impl IntoIterator<Item = Vec<Cell>>,
) -> Result<String, Failure> {
    let failed = |error: csv::Error| {
        Failure::could(format!("The answer could not be put into CSV ({error})."))
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(headings).map_err(failed)?;
    for row in rows {
        let cells = row.into_iter().map(Cell::written);
        writer.write_record(cells).map_err(failed)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| failed(error.into_error().into()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
