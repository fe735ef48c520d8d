//! One row of a logger's table as a moment and a climate entry's fields, or why it is left out. It looks at no other row.

use super::column::{ColumnRole, LoggerColumn, ReadingUnit, is_blank, number};
use super::guess::LoggerLayout;
use super::stamp::{self, LoggerStamp};
use crate::model::entry::Climate;
use crate::model::value::{Celsius, FieldType, Percent, Ppfd, Seconds, Value};
use std::fmt;

/// A row that reads.
#[derive(Clone, Debug, PartialEq)]
pub struct LoggerRow {
    /// When; absent where the table has no column of times.
    pub stamp: Option<LoggerStamp>,
    /// What it says.
    pub climate: Climate,
}

/// Why a row is left out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RowFault {
    /// It says nothing of what is read.
    Empty,
    /// Its time is none.
    Time(String),
    /// It is of a day, without a time of day.
    NoClock(String),
    /// A cell is no number.
    Number(ColumnRole, String),
    /// A number is outside what the journal takes: the cell, and what is wanted.
    Range(ColumnRole, String, String),
    /// It is dated after tomorrow.
    Ahead(String),
    /// It is dated before 1970 or after 2105, as a logger with a flat battery does.
    Age(String),
}

impl RowFault {
    /// What the column holds that is at fault, where it is one value.
    #[must_use]
    pub fn role(&self) -> Option<ColumnRole> {
        match self {
            Self::Number(role, _) | Self::Range(role, ..) => Some(*role),
            Self::Empty | Self::Time(_) | Self::NoClock(_) | Self::Ahead(_) | Self::Age(_) => None,
        }
    }
}

impl fmt::Display for RowFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "it has no reading"),
            Self::Time(cell) if cell.trim().is_empty() => write!(f, "its time is missing"),
            Self::Time(cell) => write!(f, "'{cell}' is no time"),
            Self::NoClock(cell) => write!(
                f,
                "'{cell}' is a day without a time of day, and a reading is of a moment"
            ),
            Self::Number(role, cell) => {
                write!(f, "{} is '{cell}', which is no number", role.words())
            }
            Self::Range(role, cell, wanted) => {
                write!(f, "{} is {cell}; it must be {wanted}", role.words())
            }
            Self::Ahead(when) => write!(f, "{when} has yet to come"),
            Self::Age(when) => write!(f, "{when} is not between 1970 and 2105"),
        }
    }
}

/// Reads a row; `cell` gives the text of a column by its position from 0, empty where it has none.
///
/// # Errors
/// Why it is left out: the first thing wrong.
pub fn read<'a>(
    layout: &LoggerLayout,
    place: &str,
    cell: impl Fn(usize) -> &'a str,
) -> Result<LoggerRow, RowFault> {
    let stamp = when(layout, &cell)?;
    let mut climate = blank(place);
    let mut any = false;
    for (at, column) in layout.columns.iter().enumerate() {
        let Some(role) = column.role.filter(|role| !role.is_when()) else {
            continue;
        };
        let text = cell(at).trim();
        if is_blank(text) {
            continue;
        }
        any = true;
        put(&mut climate, role, column, text, layout.comma)?;
    }
    if any {
        Ok(LoggerRow { stamp, climate })
    } else {
        Err(RowFault::Empty)
    }
}

fn blank(place: &str) -> Climate {
    Climate {
        place: place.into(),
        air_c: None,
        rh_pct: None,
        leaf_c: None,
        medium_c: None,
        mist_on_s: None,
        mist_every_s: None,
        ppfd: None,
        vent: None,
    }
}

fn when<'a>(
    layout: &LoggerLayout,
    cell: &impl Fn(usize) -> &'a str,
) -> Result<Option<LoggerStamp>, RowFault> {
    let Some(text) = layout.time_text(cell) else {
        return Ok(None);
    };
    let scan = stamp::scan(&text);
    let read = stamp::instant(&text).or_else(|| scan?.stamp(layout.order));
    let stamp = read.ok_or_else(|| {
        let cell = text.trim().chars().take(40).collect();
        let is_day = scan.is_some_and(|scan| scan.is_day(layout.order));
        if is_day {
            RowFault::NoClock(cell)
        } else {
            RowFault::Time(cell)
        }
    })?;
    Ok(Some(match (stamp, layout.zone) {
        (LoggerStamp::Local(local), Some(zone)) => local
            .and_local_timezone(zone)
            .single()
            .map_or(stamp, LoggerStamp::Fixed),
        _ => stamp,
    }))
}

fn put(
    climate: &mut Climate,
    role: ColumnRole,
    column: &LoggerColumn,
    text: &str,
    comma: bool,
) -> Result<(), RowFault> {
    if role == ColumnRole::Vent {
        climate.vent = Some(text.into());
        return Ok(());
    }
    let value = number(text, comma, column.unit)
        .ok_or_else(|| RowFault::Number(role, text.chars().take(40).collect()))?;
    let value = column.unit.to_journal(value);
    match role {
        ColumnRole::Air => climate.air_c = Some(fitting::<Celsius>(role, value, column.unit)?),
        ColumnRole::Leaf => climate.leaf_c = Some(fitting::<Celsius>(role, value, column.unit)?),
        ColumnRole::Medium => {
            climate.medium_c = Some(fitting::<Celsius>(role, value, column.unit)?)
        }
        ColumnRole::Humidity => {
            climate.rh_pct = Some(fitting::<Percent>(role, value, column.unit)?)
        }
        ColumnRole::Light => climate.ppfd = Some(fitting::<Ppfd>(role, value, column.unit)?),
        ColumnRole::MistOn => {
            climate.mist_on_s = Some(fitting::<Seconds>(role, value, column.unit)?)
        }
        ColumnRole::MistEvery => {
            climate.mist_every_s = Some(fitting::<Seconds>(role, value, column.unit)?)
        }
        ColumnRole::Time | ColumnRole::Date | ColumnRole::Clock | ColumnRole::Vent => {}
    }
    Ok(())
}

/// Highest humidity that is taken for the full hundred: sensors overshoot a little in mist.
const OVERSHOOT: f64 = 103.0;

fn fitting<T: FieldType>(role: ColumnRole, value: f64, unit: ReadingUnit) -> Result<T, RowFault> {
    let over = role == ColumnRole::Humidity && value > 100.0 && value <= OVERSHOOT;
    let value = if over { 100.0 } else { value };
    T::read(&Value::Number(value)).ok_or_else(|| {
        let said = format!("{value} {}", role.units()[0].shown());
        let from = match unit == role.units()[0] {
            true => String::new(),
            false => format!(" (once converted from {})", unit.shown()),
        };
        RowFault::Range(role, said.trim_end().to_owned() + &from, T::wanted())
    })
}
