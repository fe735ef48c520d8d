//! How a logger's table is laid out: what stands between its columns, where its heading is, what each column holds.
//! Guessed from the first part of the file, put right by what the user asks; it guesses no order of day and month.

use super::column::{
    BETWEEN, ColumnRole, HEADING_WITHIN, LoggerColumn, ReadingUnit, has_decimal_comma,
};
use super::heading::heading;
use super::long::{may_be_long, tells_days};
use super::stamp::{self, DayOrder, DayOrderEvidence};
use crate::model::listed::Units;
use chrono::FixedOffset;
use csv::{ReaderBuilder, StringRecord};
use std::fmt;

/// Which column is meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ColumnName {
    /// By its number from 1.
    Number(usize),
    /// By its heading, or a part that no other has.
    Heading(String),
    /// None: what was guessed is wrong.
    Nothing,
}

/// What the user says of the table; all else is guessed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LayoutQuestion {
    /// What columns hold.
    pub columns: Vec<(ColumnRole, ColumnName, Option<ReadingUnit>)>,
    /// The headings, for a table that has none.
    pub heading: Option<String>,
    /// Which number of a date is the day.
    pub order: Option<DayOrder>,
    /// Whether the decimal sign is a comma.
    pub comma: Option<bool>,
    /// What stands between columns.
    pub between: Option<u8>,
    /// The zone of times that say none.
    pub zone: Option<FixedOffset>,
    /// The unit of temperatures that say none.
    pub usual: Option<Units>,
}

/// How a table is laid out.
#[derive(Clone, Debug, PartialEq)]
pub struct LoggerLayout {
    /// What stands between columns.
    pub between: u8,
    /// Whether the decimal sign is a comma.
    pub comma: bool,
    /// Records before the first row of readings.
    pub skip: usize,
    /// The columns.
    pub columns: Vec<LoggerColumn>,
    /// Which number of a date is the day; a guess while `order_is_sure` is false.
    pub order: DayOrder,
    /// Whether the order is said or followed from a date.
    pub order_is_sure: bool,
    /// Whether any date depends on the order.
    pub has_order: bool,
    /// The zone of times that say none, if heading or user say it.
    pub zone: Option<FixedOffset>,
    /// Roles that several columns could have, so none has: with their headings.
    pub several: Vec<(ColumnRole, Vec<String>)>,
    /// Whether its lines end in two characters, carriage return and line feed.
    pub has_two_sign_ends: bool,
}

/// Why there is no layout.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LayoutFault {
    /// There is no row at all.
    Nothing,
    /// It is no text, or text in two bytes a letter.
    NotText,
    /// No column holds a measure; the headings.
    NoMeasure(Vec<String>),
    /// Its columns are the least and most of days; the headings.
    Days(Vec<String>),
    /// It has a row a reading, with more or other headings than can be told apart.
    Long,
    /// The column asked for is not there, or not the only one; the headings.
    NoColumn(String, Vec<String>),
    /// A unit that its role cannot have.
    NoUnit(ColumnRole, ReadingUnit),
    /// The headings given are more or fewer than the columns.
    OtherCount(usize, usize),
}

impl fmt::Display for LayoutFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let list = |headings: &[String]| headings.join(" | ");
        match self {
            Self::Nothing => write!(f, "There is no row in it."),
            Self::NotText => write!(f, "It is not text in UTF-8."),
            Self::NoMeasure(headings) => {
                write!(f, "No column is known by its heading: {}.", list(headings))
            }
            Self::Days(headings) => write!(
                f,
                "It holds the least and most of days ({}). A reading in the journal is of a moment, from which means, \
VPD and hours of dry or wet air are worked out; the least and most of a day have none.",
                list(headings)
            ),
            Self::Long => write!(
                f,
                "It has a row a reading, and what each row measured cannot be told from its headings."
            ),
            Self::NoColumn(asked, headings) => write!(
                f,
                "There is no one column '{asked}' among: {}.",
                list(headings)
            ),
            Self::NoUnit(role, unit) => {
                write!(f, "{} is not measured in {}.", role.words(), unit.shown())
            }
            Self::OtherCount(given, found) => write!(
                f,
                "The heading given has {given} columns, the first row has {found}."
            ),
        }
    }
}

/// The records of the first part of a table, split at that sign.
fn records(text: &str, between: u8) -> Vec<StringRecord> {
    match text.contains('"') || text.starts_with('\u{feff}') {
        true => quoted_records(text, between),
        false => plain_records(text, between),
    }
}

/// The same of a text without quotes, for which no reader need be built.
fn plain_records(text: &str, between: u8) -> Vec<StringRecord> {
    let lines = text.split(['\n', '\r']).filter(|line| !line.is_empty());
    let split = |line: &str| line.split(char::from(between)).collect::<StringRecord>();
    lines.map(split).collect()
}

fn quoted_records(text: &str, between: u8) -> Vec<StringRecord> {
    let mut reader = ReaderBuilder::new()
        .delimiter(between)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    reader.records().filter_map(Result::ok).collect()
}

/// The signs that may stand between the columns of this text; of those not in it, which all part it alike, the first.
fn signs_in(text: &str) -> Vec<u8> {
    let mut absent = 0;
    let worth_a_try = |sign: &u8| {
        let held = text.as_bytes().contains(sign);
        absent += usize::from(!held);
        held || absent == 1
    };
    BETWEEN.into_iter().filter(worth_a_try).collect()
}

/// The first bytes as text; nothing if they are none. A `°` in one byte, as older loggers write it, is mended.
fn text_of(bytes: &[u8]) -> Option<String> {
    if bytes.contains(&0) || bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return None;
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    Some(cell_text(bytes).into_owned())
}

/// The text of a cell: UTF-8, else each byte a letter of Latin-1.
#[must_use]
pub fn cell_text(bytes: &[u8]) -> std::borrow::Cow<'_, str> {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.into(),
        Err(error) if error.error_len().is_none() && bytes.len() > 64 => {
            // The first part of a file may end within a letter.
            String::from_utf8_lossy(&bytes[..error.valid_up_to()])
                .into_owned()
                .into()
        }
        Err(_) => bytes
            .iter()
            .map(|b| char::from(*b))
            .collect::<String>()
            .into(),
    }
}

/// Whether more than one byte in fifty is a control that no table holds.
fn is_binary(bytes: &[u8]) -> bool {
    let odd = |byte: &&u8| **byte < 32 && !matches!(byte, b'\t' | b'\n' | b'\r');
    50 * bytes.iter().filter(odd).count() > bytes.len()
}

/// The layout of a table from its first bytes.
///
/// # Errors
/// If it is no table of readings, or the user asks for what is not there.
pub fn layout(first: &[u8], ask: &LayoutQuestion) -> Result<LoggerLayout, LayoutFault> {
    let text = text_of(first).filter(|_| !is_binary(first));
    let text = text.ok_or(LayoutFault::NotText)?;
    let signs = ask
        .between
        .map_or_else(|| signs_in(&text), |sign| vec![sign]);
    let tables = signs.into_iter().map(|sign| (sign, records(&text, sign)));
    let (between, records, skip, headings) = match &ask.heading {
        Some(given) => headed(tables, given)?,
        None => found(tables).ok_or(LayoutFault::Nothing)?,
    };
    let mut columns = columns(&headings);
    for wanted in &ask.columns {
        set(&mut columns, wanted)?;
    }
    let several = drop_doubtful(&mut columns, ask);
    settle_times(&mut columns);
    take_usual_units(&mut columns, ask.usual.unwrap_or(Units::C));
    if columns
        .iter()
        .all(|c| c.role.is_none_or(ColumnRole::is_when))
        && several.is_empty()
    {
        return Err(if may_be_long(&text, ask.between) {
            LayoutFault::Long
        } else if tells_days(&headings) {
            LayoutFault::Days(headings)
        } else {
            LayoutFault::NoMeasure(headings)
        });
    }
    let zone = headings
        .iter()
        .zip(&columns)
        .filter(|(_, column)| column.role.is_some_and(ColumnRole::is_when))
        .find_map(|(text, _)| heading(text).zone);
    let mut layout = LoggerLayout {
        between,
        comma: false,
        skip,
        columns,
        order: DayOrder::DayFirst,
        order_is_sure: false,
        has_order: false,
        zone: ask.zone.or(zone),
        several,
        has_two_sign_ends: has_two_sign_ends(first),
    };
    layout.comma = ask
        .comma
        .unwrap_or_else(|| has_comma(&layout, &records[skip.min(records.len())..]));
    let mut seen = DayOrderEvidence::default();
    for record in records.iter().skip(skip) {
        see(&layout, &mut seen, |at| record.get(at).unwrap_or_default());
    }
    layout.settle(ask.order, &seen);
    Ok(layout)
}

/// Whether the first line ends in a carriage return and a line feed.
fn has_two_sign_ends(bytes: &[u8]) -> bool {
    let end = bytes.iter().position(|byte| *byte == b'\n');
    end.and_then(|end| end.checked_sub(1))
        .is_some_and(|before| bytes[before] == b'\r')
}

impl LoggerLayout {
    /// The text of a row's time; the day and the time of day are joined if they stand in two columns.
    pub(super) fn time_text<'a>(
        &self,
        cell: &impl Fn(usize) -> &'a str,
    ) -> Option<std::borrow::Cow<'a, str>> {
        let at = |role: ColumnRole| self.columns.iter().position(|c| c.role == Some(role));
        match (
            at(ColumnRole::Time),
            at(ColumnRole::Date),
            at(ColumnRole::Clock),
        ) {
            (Some(time), _, _) => Some(cell(time).into()),
            (None, Some(date), Some(clock)) => {
                Some(format!("{} {}", cell(date).trim(), cell(clock).trim()).into())
            }
            _ => None,
        }
    }

    /// Takes the order of day and month from the user, or from what the dates say.
    pub fn settle(&mut self, asked: Option<DayOrder>, seen: &DayOrderEvidence) {
        let order = asked.or_else(|| seen.order());
        self.order = order.unwrap_or(DayOrder::DayFirst);
        self.has_order = seen.is_settled() || seen.either > 0;
        self.order_is_sure =
            asked.is_some() || seen.is_settled() || (seen.either == 0 || seen.dotted > 0);
    }

    /// Whether a column of times is read.
    #[must_use]
    pub fn has_time(&self) -> bool {
        let has = |role| self.columns.iter().any(|c| c.role == Some(role));
        has(ColumnRole::Time) || (has(ColumnRole::Date) && has(ColumnRole::Clock))
    }
}

/// Takes note of a row's date, as evidence of the order of day and month.
pub fn see<'a>(
    layout: &LoggerLayout,
    seen: &mut DayOrderEvidence,
    cell: impl Fn(usize) -> &'a str,
) {
    let text = layout.time_text(&cell);
    if let Some(scan) = text.and_then(|text| stamp::scan(&text)) {
        seen.see(&scan);
    }
}

type Table = (u8, Vec<StringRecord>, usize, Vec<String>);

/// How many cells of a row are known as headings. Without a letter there is no word, so none is.
fn known(record: &StringRecord) -> usize {
    let lettered = record
        .iter()
        .filter(|cell| cell.contains(char::is_alphabetic));
    lettered.filter(|cell| heading(cell).role.is_some()).count()
}

/// The split and the row whose cells are best known as headings; of equals the one with most columns.
fn found(tables: impl Iterator<Item = (u8, Vec<StringRecord>)>) -> Option<Table> {
    let mut best: Option<((usize, usize), Table)> = None;
    for (sign, records) in tables {
        let ranked = records.iter().take(HEADING_WITHIN).enumerate();
        let counted = ranked.map(|(at, record)| (known(record), at, record));
        // Of equals the first, so that no row of readings is taken for the heading.
        let row = counted.max_by_key(|(known, at, _)| (*known, std::cmp::Reverse(*at)));
        let Some((known, at, record)) = row else {
            continue;
        };
        let rank = (known, record.len());
        let headings = record.iter().map(|cell| cell.trim().to_owned()).collect();
        if best.as_ref().is_none_or(|(held, _)| rank > *held) {
            best = Some((rank, (sign, records, at + 1, headings)));
        }
    }
    best.map(|(_, table)| table)
}

/// A table without a heading of its own, under the headings given.
fn headed(
    tables: impl Iterator<Item = (u8, Vec<StringRecord>)>,
    given: &str,
) -> Result<Table, LayoutFault> {
    let headings: Vec<String> = given.split(',').map(|h| h.trim().to_owned()).collect();
    let mut other = None;
    for (sign, records) in tables {
        let count = records.first().map(StringRecord::len);
        match count {
            None => {}
            Some(count) if count == headings.len() => return Ok((sign, records, 0, headings)),
            Some(count) => other = other.max(Some(count)),
        }
    }
    Err(other.map_or(LayoutFault::Nothing, |found| {
        LayoutFault::OtherCount(headings.len(), found)
    }))
}

fn columns(headings: &[String]) -> Vec<LoggerColumn> {
    let column = |text: &String| {
        let meaning = heading(text);
        LoggerColumn {
            heading: text.clone(),
            role: meaning.role,
            unit: meaning.unit.unwrap_or(ReadingUnit::None),
            unit_is_said: meaning.unit.is_some(),
        }
    };
    headings.iter().map(column).collect()
}

/// Gives a column the role that the user says, and takes it from all others.
fn set(
    columns: &mut [LoggerColumn],
    (role, which, unit): &(ColumnRole, ColumnName, Option<ReadingUnit>),
) -> Result<(), LayoutFault> {
    for column in columns.iter_mut().filter(|c| c.role == Some(*role)) {
        column.role = None;
    }
    if *which == ColumnName::Nothing {
        return Ok(());
    }
    let at = find(columns, which)?;
    if let Some(unit) = unit.filter(|unit| !role.units().contains(unit)) {
        return Err(LayoutFault::NoUnit(*role, unit));
    }
    let column = &mut columns[at];
    column.role = Some(*role);
    let own = Some(column.unit).filter(|own| role.units().contains(own));
    column.unit_is_said = unit.is_some() || (own.is_some() && column.unit_is_said);
    column.unit = unit.or(own).unwrap_or(ReadingUnit::None);
    Ok(())
}

fn find(columns: &[LoggerColumn], which: &ColumnName) -> Result<usize, LayoutFault> {
    let missing = |asked: String| {
        let headings = columns.iter().map(|c| c.heading.clone()).collect();
        LayoutFault::NoColumn(asked, headings)
    };
    match which {
        ColumnName::Number(number) => number
            .checked_sub(1)
            .filter(|at| *at < columns.len())
            .ok_or_else(|| missing(number.to_string())),
        ColumnName::Heading(text) => {
            let wanted = text.trim().to_lowercase();
            let those = |is: &dyn Fn(&str) -> bool| -> Vec<usize> {
                let each = columns.iter().enumerate();
                each.filter(|(_, c)| is(&c.heading.to_lowercase()))
                    .map(|(at, _)| at)
                    .collect()
            };
            let same = those(&|heading| heading == wanted);
            let part = those(&|heading| heading.contains(&wanted));
            match (same.as_slice(), part.as_slice()) {
                ([at], _) | ([], [at]) => Ok(*at),
                _ => Err(missing(text.clone())),
            }
        }
        ColumnName::Nothing => Err(missing("-".into())),
    }
}

/// Where several columns could have a role, none has it unless the user says which.
fn drop_doubtful(
    columns: &mut [LoggerColumn],
    ask: &LayoutQuestion,
) -> Vec<(ColumnRole, Vec<String>)> {
    let mut out = Vec::new();
    for role in ColumnRole::ALL {
        let those = columns.iter().filter(|c| c.role == Some(*role));
        let headings: Vec<String> = those.map(|c| c.heading.clone()).collect();
        let asked = ask.columns.iter().any(|(asked, ..)| asked == role);
        if headings.len() > 1 && !asked {
            for column in columns.iter_mut().filter(|c| c.role == Some(*role)) {
                column.role = None;
            }
            out.push((*role, headings));
        }
    }
    out
}

/// One column of times: a date or a time of day that stands alone is the whole.
fn settle_times(columns: &mut [LoggerColumn]) {
    let at = |columns: &[LoggerColumn], role: ColumnRole| {
        columns.iter().position(|c| c.role == Some(role))
    };
    let (time, date, clock) = (
        at(columns, ColumnRole::Time),
        at(columns, ColumnRole::Date),
        at(columns, ColumnRole::Clock),
    );
    let (whole, left_out): (Option<usize>, [Option<usize>; 2]) = match (time, date, clock) {
        (Some(_), date, clock) => (None, [date, clock]),
        (None, Some(date), None) => (Some(date), [None, None]),
        (None, None, Some(clock)) => (Some(clock), [None, None]),
        _ => (None, [None, None]),
    };
    if let Some(at) = whole {
        columns[at].role = Some(ColumnRole::Time);
    }
    for at in left_out.into_iter().flatten() {
        columns[at].role = None;
    }
}

fn take_usual_units(columns: &mut [LoggerColumn], usual: Units) {
    for column in columns.iter_mut() {
        let Some(role) = column.role else { continue };
        if !role.units().contains(&column.unit) {
            column.unit_is_said = false;
            column.unit = match (role.units()[0], usual) {
                (ReadingUnit::C, Units::F) => ReadingUnit::F,
                (unit, _) => unit,
            };
        }
    }
}

/// Whether numbers have a decimal comma: some cell can be nothing else, and none has a point.
fn has_comma(layout: &LoggerLayout, records: &[StringRecord]) -> bool {
    let measures = |record: &StringRecord, is: &dyn Fn(&str) -> bool| {
        let cells = record.iter().zip(&layout.columns);
        cells
            .filter(|(_, c)| c.role.is_some_and(|role| !role.is_when()))
            .any(|(cell, _)| is(cell))
    };
    records.iter().any(|r| measures(r, &has_decimal_comma))
        && !records
            .iter()
            .any(|r| measures(r, &|cell| cell.contains('.')))
}

#[cfg(test)]
mod tests {
    use super::{plain_records, quoted_records};

    proptest::proptest! {
        #[test]
        fn a_text_without_quotes_is_parted_as_the_reader_of_quotes_parts_it(text in "[a1°,;\t \r\n]{0,40}") {
            for sign in [b',', b';', b'\t'] {
                proptest::prop_assert_eq!(plain_records(&text, sign), quoted_records(&text, sign));
            }
        }
    }
}
