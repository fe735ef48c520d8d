//! Days as old records write them: dates of a workbook, written dates, and serial numbers under a heading of days.

use super::grid::{Cell, RecordGrid};
use crate::input::logger::stamp::{self, DayOrder, DayOrderEvidence};
use chrono::NaiveDate;

/// Whether a cell can only be a day. A bare number may be one, but does not say so.
#[must_use]
pub fn is_day(cell: &Cell) -> bool {
    match cell {
        Cell::Day(_) => true,
        Cell::Text(text) => stamp::scan(text).is_some(),
        Cell::Empty | Cell::Number(_) => false,
    }
}

/// Takes note of what a cell says of the order of day and month.
pub fn weigh(cell: &Cell, evidence: &mut DayOrderEvidence) {
    if let Cell::Text(text) = cell
        && let Some(scan) = stamp::scan(text)
    {
        evidence.see(&scan);
    }
}

/// The day of a cell under a heading of days: a date, or the serial number that spreadsheets keep (days since
/// 30 December 1899, ECMA-376 part 1, 18.17.4). Nothing if it is none.
#[must_use]
pub fn day_of(cell: &Cell, order: DayOrder) -> Option<NaiveDate> {
    let serial = |number: f64| stamp::serial(number).map(|moment| moment.date());
    match cell {
        Cell::Day(day) => Some(*day),
        Cell::Number(number) => serial(*number),
        Cell::Text(text) => match stamp::scan(text) {
            Some(scan) => scan.day(order),
            None => serial(text.parse().ok()?),
        },
        Cell::Empty => None,
    }
}

/// Whether all numbers of a column below its heading are serial days of 1982 to 2064.
#[must_use]
pub fn are_serials(grid: &RecordGrid, heading: usize, column: usize) -> bool {
    let numbers = grid
        .rows
        .iter()
        .skip(heading + 1)
        .filter_map(|row| match row.cell(column) {
            Cell::Number(number) => Some(*number),
            Cell::Text(text) => text.parse().ok(),
            Cell::Empty | Cell::Day(_) => None,
        });
    let mut any = false;
    for number in numbers {
        any = true;
        if !(30_000.0..60_000.0).contains(&number) {
            return false;
        }
    }
    any
}
