//! A table of old records as cells: from delimited text in any usual encoding, or from a spreadsheet's workbook.
//! It decides nothing about what a column means.

use crate::input::encoding::utf16;
use calamine::{Data, Reader as _, open_workbook_auto_from_rs};
use chrono::NaiveDate;
use csv::{ReaderBuilder, StringRecord};
use encoding_rs::{UTF_8, WINDOWS_1252};
use std::borrow::Cow;
use std::io::Cursor;
use thiserror::Error;

/// Most rows that are read of one table.
pub const MOST_ROWS: usize = 200_000;
/// Most columns that are read of one table.
pub const MOST_COLUMNS: usize = 256;
/// The delimiters that are tried, in order of preference where several fit.
const DELIMITERS: [u8; 4] = [b'\t', b';', b',', b'|'];
/// Rows by which the delimiter is chosen.
const SAMPLE_ROWS: usize = 40;

/// What one cell holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Nothing, or spaces alone.
    Empty,
    /// Text, spaces around it taken off.
    Text(String),
    /// A number of a workbook.
    Number(f64),
    /// A date of a workbook.
    Day(NaiveDate),
}

impl Cell {
    /// The cell in words, as a person would read it in the sheet.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Text(text) => text.clone(),
            Self::Number(number) => number.to_string(),
            Self::Day(day) => day.to_string(),
        }
    }

    /// Whether it holds nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::Empty
    }

    /// The cell of a text.
    #[must_use]
    pub fn from_text(text: &str) -> Self {
        match text.trim_matches(|c: char| c.is_whitespace() || c == '\u{feff}') {
            "" => Self::Empty,
            text => Self::Text(text.to_owned()),
        }
    }
}

/// A row with its place in the file.
#[derive(Clone, Debug, PartialEq)]
pub struct GridRow {
    /// The line of a text file, or the row of a sheet, from 1.
    pub line: u64,
    /// Its cells, from the first column on.
    pub cells: Vec<Cell>,
}

impl GridRow {
    /// The cell of a column, from 0; empty beyond the row's end.
    #[must_use]
    pub fn cell(&self, column: usize) -> &Cell {
        self.cells.get(column).unwrap_or(&Cell::Empty)
    }
}

/// A table.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordGrid {
    /// The sheet's name; nothing for a text file.
    pub sheet: Option<String>,
    /// A row of line 0 without cells, which stands for a heading that is not there; then the rows that hold anything.
    pub rows: Vec<GridRow>,
}

/// Why a file is no table.
#[derive(Debug, Error)]
pub enum GridFault {
    /// No row holds anything.
    #[error("it holds no rows")]
    Empty,
    /// It is no text in an encoding that is known, nor a workbook.
    #[error(
        "it is neither a table in text nor a workbook (.xlsx, .xls, .ods); save it as one of these or as CSV"
    )]
    NotATable,
    /// A workbook that does not open.
    #[error("the workbook does not open ({0}); open it in a spreadsheet and save it as CSV")]
    Damaged(String),
    /// No sheet bears the name asked for.
    #[error("it has no sheet `{asked}`; it has {}", .sheets.join(", "))]
    NoSheet {
        /// The name asked for.
        asked: String,
        /// The names that there are.
        sheets: Vec<String>,
    },
    /// A sheet of a text was asked for.
    #[error("it is a table in text and has no sheet `{0}`; leave the sheet away")]
    NoSheets(String),
    /// A text row that does not read.
    #[error("line {line} does not read as a row of a table ({why})")]
    BadRow {
        /// The line, from 1.
        line: u64,
        /// Why.
        why: String,
    },
    /// More rows or columns than are read.
    #[error("it has more than {MOST_ROWS} rows or {MOST_COLUMNS} columns")]
    TooLarge,
}

/// Reads a table. `sheet` names the sheet of a workbook; without it the first that holds anything is read.
///
/// # Errors
/// Why the bytes are no table that can be read.
pub fn read_grid(bytes: &[u8], sheet: Option<&str>) -> Result<RecordGrid, GridFault> {
    let is_workbook = bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xd0\xcf\x11\xe0");
    if is_workbook {
        return read_workbook(bytes, sheet);
    }
    if let Some(asked) = sheet {
        return Err(GridFault::NoSheets(asked.to_owned()));
    }
    // Line ends are made one sort, since the reader of CSV counts a line short after those of two characters.
    let text = decoded(bytes)?.replace("\r\n", "\n").replace('\r', "\n");
    let rows = read_text(&text, delimiter(&text))?;
    if rows.is_empty() {
        return Err(GridFault::Empty);
    }
    Ok(RecordGrid::new(None, rows))
}

impl RecordGrid {
    fn new(sheet: Option<String>, mut rows: Vec<GridRow>) -> Self {
        let nothing = GridRow {
            line: 0,
            cells: Vec::new(),
        };
        rows.insert(0, nothing);
        Self { sheet, rows }
    }
}

/// The text of a file: by its byte-order mark, by the zero bytes of UTF-16, as UTF-8, else as Windows-1252 (the
/// WHATWG Encoding Standard's reading of "latin-1"). Control characters that no text has mean that it is none.
fn decoded(bytes: &[u8]) -> Result<Cow<'_, str>, GridFault> {
    let encoding = match utf16(bytes) {
        Some(utf16) => utf16,
        None if std::str::from_utf8(bytes).is_ok() => UTF_8,
        None => WINDOWS_1252,
    };
    let (text, _, _) = encoding.decode(bytes);
    let is_binary =
        |c: char| c.is_control() && !matches!(c, '\t' | '\r' | '\n' | '\u{c}' | '\u{85}');
    if text.chars().any(is_binary) {
        return Err(GridFault::NotATable);
    }
    Ok(text)
}

/// The delimiter that parts most of the first rows into the same number of cells, more than one.
fn delimiter(text: &str) -> u8 {
    let agreement = |delimiter: u8| {
        let mut widths: Vec<usize> = records(text, delimiter)
            .take(SAMPLE_ROWS)
            .filter_map(Result::ok)
            .map(|record| record.len())
            .filter(|width| *width > 1)
            .collect();
        widths.sort_unstable();
        let runs = widths.chunk_by(|a, b| a == b);
        runs.map(<[usize]>::len).max().unwrap_or(0)
    };
    let best = DELIMITERS.into_iter().rev().max_by_key(|d| agreement(*d));
    best.unwrap_or(b',')
}

fn records(text: &str, delimiter: u8) -> impl Iterator<Item = csv::Result<StringRecord>> + '_ {
    ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes())
        .into_records()
}

fn read_text(text: &str, delimiter: u8) -> Result<Vec<GridRow>, GridFault> {
    let mut rows = Vec::new();
    for record in records(text, delimiter) {
        let record = record.map_err(|error| GridFault::BadRow {
            line: error.position().map_or(0, csv::Position::line),
            why: error.to_string(),
        })?;
        let line = record.position().map_or(0, csv::Position::line);
        keep(
            &mut rows,
            line,
            record.iter().map(Cell::from_text).collect(),
        )?;
    }
    Ok(rows)
}

/// Keeps a row that holds anything.
fn keep(rows: &mut Vec<GridRow>, line: u64, mut cells: Vec<Cell>) -> Result<(), GridFault> {
    while cells.last().is_some_and(Cell::is_empty) {
        cells.pop();
    }
    if cells.len() > MOST_COLUMNS || rows.len() >= MOST_ROWS {
        return Err(GridFault::TooLarge);
    }
    if !cells.is_empty() {
        rows.push(GridRow { line, cells });
    }
    Ok(())
}

fn read_workbook(bytes: &[u8], asked: Option<&str>) -> Result<RecordGrid, GridFault> {
    let damaged = |error: calamine::Error| GridFault::Damaged(error.to_string());
    let mut workbook = open_workbook_auto_from_rs(Cursor::new(bytes)).map_err(damaged)?;
    let sheets = workbook.sheet_names();
    let wanted: Vec<&String> = match asked {
        None => sheets.iter().collect(),
        Some(asked) => {
            let alike = |name: &&String| name.trim().eq_ignore_ascii_case(asked.trim());
            let Some(name) = sheets.iter().find(alike) else {
                let asked = asked.to_owned();
                return Err(GridFault::NoSheet { asked, sheets });
            };
            vec![name]
        }
    };
    for name in wanted {
        let range = workbook.worksheet_range(name).map_err(damaged)?;
        let (first_row, first_column) = range.start().unwrap_or((0, 0));
        let before = usize::try_from(first_column).unwrap_or(usize::MAX);
        if before > MOST_COLUMNS {
            return Err(GridFault::TooLarge);
        }
        let mut rows = Vec::new();
        for (line, row) in (u64::from(first_row) + 1..).zip(range.rows()) {
            let mut cells = vec![Cell::Empty; before];
            cells.extend(row.iter().map(workbook_cell));
            keep(&mut rows, line, cells)?;
        }
        if !rows.is_empty() {
            return Ok(RecordGrid::new(Some(name.clone()), rows));
        }
    }
    Err(GridFault::Empty)
}

fn workbook_cell(data: &Data) -> Cell {
    match data {
        Data::Empty => Cell::Empty,
        Data::Int(number) => Cell::Number(*number as f64),
        Data::Float(number) => Cell::Number(*number),
        Data::DateTime(date) => match date.as_datetime() {
            Some(time) => Cell::Day(time.date()),
            None => Cell::Number(date.as_f64()),
        },
        Data::DateTimeIso(text) => match text.get(..10).and_then(|day| day.parse().ok()) {
            Some(day) => Cell::Day(day),
            None => Cell::from_text(text),
        },
        Data::String(text) | Data::DurationIso(text) => Cell::from_text(text),
        Data::Bool(yes) => Cell::Text(if *yes { "yes" } else { "no" }.into()),
        // What the sheet shows where its formula fails.
        Data::Error(error) => Cell::Text(error.to_string()),
    }
}
