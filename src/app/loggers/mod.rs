//! A logger's file into the journal: surveyed first, every row, then written. The same file again adds nothing,
//! since a reading's id follows from what it says. Where a table reads in two ways, nothing is written before somebody says
//! which. How a table reads stands in `input::logger`.

pub use self::rows::Bulk;
use super::desk::Desk;
use super::failure::Failure;
use super::record::Unsaved;
use crate::input::encoding::utf16;
use crate::input::logger::guess::see;
use crate::input::logger::long::WidenedTable;
use crate::input::logger::stamp::DayOrderEvidence;
use crate::input::logger::{
    ColumnRole, LayoutFault, LayoutQuestion, LoggerLayout, ReadingUnit, RowFault, layout,
};
use crate::model::entry::{Climate, Entry, Kind};
use chrono::{DateTime, FixedOffset};
use csv::{ByteRecord, ReaderBuilder};
use rows::{RowCells, RowLimit, RowLimitedReader, Rows};
use std::collections::HashSet;
use std::io::{Cursor, Read};
use std::path::Path;
use table::{FIRST, LONGEST_HELD, LoggerTable, open, other_places};

mod rows;
pub mod sensor;
mod table;

/// Bad rows that are told one by one; the others are counted.
const TOLD: usize = 100;
/// Rows between two words of progress.
const PROGRESS_EVERY: u64 = 1 << 16;

/// A row that was left out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SkippedRow {
    /// Its line in the file, from 1.
    pub line: u64,
    /// Why.
    pub why: RowFault,
}

/// What a file holds, and what importing it would do.
#[derive(Clone, Debug)]
pub struct Survey {
    /// How it is laid out.
    pub layout: LoggerLayout,
    /// The place as it will be written.
    pub place: String,
    /// Whether the journal speaks of the place already.
    pub place_is_known: bool,
    /// Rows under the heading; of a table with a row a reading, the moments.
    pub rows: u64,
    /// Rows of a table with a row a reading.
    pub long_rows: Option<u64>,
    /// Columns that name another place than the one they would be taken for, by their headings, with that place.
    pub other_places: Vec<(String, String)>,
    /// Readings that the journal does not hold.
    pub new: u64,
    /// Readings that it holds, or that stand twice in the file.
    pub held: u64,
    /// Rows without any value.
    pub empty: u64,
    /// Rows that do not read.
    pub bad: u64,
    /// The first of these.
    pub left_out: Vec<SkippedRow>,
    /// The first and the last moment.
    pub span: Option<(DateTime<FixedOffset>, DateTime<FixedOffset>)>,
    /// Least and most of what each column holds, in the journal's units.
    pub ranges: Vec<ValueRange>,
    /// What was said of the table.
    asked: LayoutQuestion,
}

impl Survey {
    fn new(
        layout: LoggerLayout,
        asked: LayoutQuestion,
        place: String,
        place_is_known: bool,
    ) -> Self {
        let ranges = vec![None; layout.columns.len()];
        Self {
            layout,
            place,
            place_is_known,
            rows: 0,
            long_rows: None,
            other_places: Vec::new(),
            new: 0,
            held: 0,
            empty: 0,
            bad: 0,
            left_out: Vec::new(),
            span: None,
            ranges,
            asked,
        }
    }

    fn leave_out(&mut self, line: u64, why: RowFault) {
        if why == RowFault::Empty {
            self.empty += 1;
            return;
        }
        self.bad += 1;
        if self.left_out.len() < TOLD {
            self.left_out.push(SkippedRow { line, why });
        }
    }

    fn take_in(&mut self, entry: &Entry, is_new: bool) {
        if is_new {
            self.new += 1;
        } else {
            self.held += 1;
        }
        let crate::model::at::At::Time(at) = entry.at else {
            return;
        };
        self.span = Some(match self.span {
            None => (at, at),
            Some((first, last)) => (first.min(at), last.max(at)),
        });
        let Kind::Climate(climate) = &entry.kind else {
            return;
        };
        for (range, column) in self.ranges.iter_mut().zip(&self.layout.columns) {
            let Some(value) = column.role.and_then(|role| value(climate, role)) else {
                continue;
            };
            *range = Some(range.map_or((value, value), |(low, high): (f64, f64)| {
                (low.min(value), high.max(value))
            }));
        }
    }

    /// What must be said before anything is written.
    #[must_use]
    pub fn doubts(&self) -> Vec<ImportDoubt> {
        let mut all = doubts(&self.layout, &self.ranges);
        let elsewhere = self.other_places.iter().filter_map(|(heading, place)| {
            let columns = self.layout.columns.iter();
            let role = columns
                .filter(|column| column.heading == *heading)
                .find_map(|column| column.role)?;
            Some(ImportDoubt::Elsewhere {
                heading: heading.clone(),
                role,
                place: place.clone(),
                asked: self.place.clone(),
            })
        });
        all.extend(elsewhere);
        all
    }
}

/// The value of a role in an entry.
fn value(climate: &Climate, role: ColumnRole) -> Option<f64> {
    match role {
        ColumnRole::Air => climate.air_c.map(|v| v.0),
        ColumnRole::Humidity => climate.rh_pct.map(|v| v.0),
        ColumnRole::Leaf => climate.leaf_c.map(|v| v.0),
        ColumnRole::Medium => climate.medium_c.map(|v| v.0),
        ColumnRole::Light => climate.ppfd.map(|v| v.0),
        ColumnRole::MistOn => climate.mist_on_s.map(|v| v.0),
        ColumnRole::MistEvery => climate.mist_every_s.map(|v| v.0),
        ColumnRole::Time | ColumnRole::Date | ColumnRole::Clock | ColumnRole::Vent => None,
    }
}

/// A table's rows, those above its first left out.
fn each_row(
    input: impl Read,
    layout: &LoggerLayout,
    mut row: impl FnMut(u64, &ByteRecord) -> Result<(), Unsaved>,
) -> Result<(), Unsaved> {
    let ration = RowLimit::new();
    let mut reader = ReaderBuilder::new()
        .delimiter(layout.between)
        .has_headers(false)
        .flexible(true)
        .buffer_capacity(1 << 16)
        .from_reader(RowLimitedReader::new(input, ration.clone()));
    let mut record = ByteRecord::new();
    let mut number = 0;
    loop {
        match reader.read_byte_record(&mut record) {
            Ok(false) => return Ok(()),
            Ok(true) => {}
            Err(error) => return Err(Unsaved::Refused(unreadable(&error))),
        }
        ration.renew();
        number += 1;
        if number > layout.skip {
            let counted = record.position().map_or(0, csv::Position::line);
            // After an end of two characters the reader counts a line short.
            let short = u64::from(layout.has_two_sign_ends && number > 1);
            row(counted + short, &record)?;
        }
    }
}

fn unreadable(error: &csv::Error) -> Failure {
    Failure::could(format!("It could not be read to its end ({error})."))
}

fn no_layout(why: &LayoutFault) -> Failure {
    let failure = Failure::could(why.to_string());
    match why {
        LayoutFault::Nothing | LayoutFault::NoUnit(..) | LayoutFault::OtherCount(..) => failure,
        LayoutFault::NotText => failure.hint("Save it as CSV in UTF-8, then import it."),
        LayoutFault::Days(_) => failure.hint(
            "Export the readings themselves from the logger, each with its day and time of day, and import that file.",
        ),
        LayoutFault::Long => failure.hint(
            "Such a file needs a heading over its times (time), over what was measured (quantity or sensor) and over the number (value).",
        ),
        LayoutFault::NoMeasure(_) => failure
            .hint("Say what a column holds, as --column air=2:C, or give headings with --heading."),
        LayoutFault::NoColumn(..) => failure.hint("Give its heading, or its number from 1."),
    }
}

impl Desk {
    /// Reads a logger's file to its end: its layout, what it holds, what is new. Nothing is written.
    /// `progress` is told how many rows were read, from time to time.
    ///
    /// # Errors
    /// If it cannot be read, or is no table of readings.
    pub fn survey_logger(
        &self,
        path: &Path,
        place: &str,
        ask: &LayoutQuestion,
        progress: &mut dyn FnMut(u64),
    ) -> Result<Survey, Failure> {
        let mut first = Vec::new();
        let start = open(path, ask)?.input.take(FIRST).read_to_end(&mut first);
        start.map_err(|error| Failure::could(format!("{}: {error}.", path.display())))?;
        let mut layout = layout(&first, ask).map_err(|why| no_layout(&why))?;
        if !layout.order_is_sure {
            settle_order(&mut layout, path, ask)?;
        }
        self.survey(open(path, ask)?, (layout, ask), place, progress)
    }

    /// As [`Desk::survey_logger`], of text that was read already.
    ///
    /// # Errors
    /// If it is no table of readings.
    pub fn survey_text(
        &self,
        text: &[u8],
        place: &str,
        ask: &LayoutQuestion,
    ) -> Result<Survey, Failure> {
        let decoded = utf16(text).map(|encoding| encoding.decode(text).0.into_owned());
        let text = decoded.map_or_else(|| text.to_vec(), String::into_bytes);
        let mut table = LoggerTable::of_text(text, ask);
        let mut first = Vec::new();
        let start = (&mut table.input)
            .take(LONGEST_HELD)
            .read_to_end(&mut first);
        start.map_err(|error| Failure::could(format!("Standard input: {error}.")))?;
        let layout = layout(&first, ask).map_err(|why| no_layout(&why))?;
        table.input = Box::new(Cursor::new(first));
        self.survey(table, (layout, ask), place, &mut |_| ())
    }

    fn survey(
        &self,
        table: LoggerTable,
        (layout, ask): (LoggerLayout, &LayoutQuestion),
        place: &str,
        progress: &mut dyn FnMut(u64),
    ) -> Result<Survey, Failure> {
        let shown = self.book.places().shown(place);
        let known = self.book.places().get(place).is_some();
        let mut survey = Survey::new(layout, ask.clone(), shown.clone(), known);
        let layout = survey.layout.clone();
        let wide = table.widened;
        survey.long_rows = wide.as_ref().map(|wide| wide.rows);
        let named = wide.as_ref().map_or(&[][..], |wide| &wide.places);
        survey.other_places = other_places(&self.book, &layout, named, &shown, ask);
        let mut rows = Rows::new(&layout, &shown, &self.clock);
        let mut held = self.ledger.ulids();
        let done = each_row(table.input, &layout, |line, record| {
            survey.rows += 1;
            match rows.entry(record) {
                Ok(entry) => survey.take_in(&entry, is_new(&mut held, &entry)),
                Err(why) => {
                    let row = survey.rows as usize - 1;
                    let own = |wide: &WidenedTable| wide.line(row, column_of(&layout, &why));
                    survey.leave_out(wide.as_ref().map_or(line, own), why);
                }
            }
            if survey.rows.is_multiple_of(PROGRESS_EVERY) {
                progress(survey.rows);
            }
            Ok(())
        });
        done.map_err(|unsaved| unsaved.failure().clone())?;
        Ok(survey)
    }

    /// Writes the readings of a surveyed file that the journal does not hold. Says how many.
    ///
    /// # Errors
    /// Why some are not saved; those before are, and the same import again adds the rest.
    pub fn import_logger(
        &mut self,
        path: &Path,
        survey: &Survey,
        progress: &mut dyn FnMut(u64),
    ) -> Result<u64, Unsaved> {
        let input = open(path, &survey.asked).map_err(Unsaved::Refused)?.input;
        let clock = self.clock.twin();
        let mut rows = Rows::new(&survey.layout, &survey.place, &clock);
        let mut held = self.ledger.ulids();
        let mut bulk = Bulk::new(self);
        let mut read = 0_u64;
        let done = each_row(input, &survey.layout, |_, record| {
            read += 1;
            if read.is_multiple_of(PROGRESS_EVERY) {
                progress(read);
            }
            match rows.entry(record) {
                Ok(entry) if is_new(&mut held, &entry) => bulk.add(&entry),
                _ => Ok(()),
            }
        });
        match done {
            Ok(()) => bulk.end(),
            Err(unsaved) => {
                // What was taken before is whole; if it cannot be saved either, the first reason stands.
                let _ = bulk.end();
                Err(unsaved)
            }
        }
    }
}

/// The column that a row was left out for, if it was for one value.
fn column_of(layout: &LoggerLayout, why: &RowFault) -> Option<usize> {
    let role = why.role()?;
    layout.columns.iter().position(|c| c.role == Some(role))
}

/// Whether an entry is not held yet; it is from now on.
fn is_new(held: &mut HashSet<[u8; 16]>, entry: &Entry) -> bool {
    entry.id.ulid_bytes().is_none_or(|id| held.insert(id))
}

/// Reads all dates of a file, since those of its first part leave open which number is the day.
fn settle_order(
    layout: &mut LoggerLayout,
    path: &Path,
    ask: &LayoutQuestion,
) -> Result<(), Failure> {
    let mut seen = DayOrderEvidence::default();
    let read = each_row(open(path, ask)?.input, layout, |_, record| {
        if !seen.is_settled() {
            let cells = RowCells::from_record(record);
            see(layout, &mut seen, |at| cells.at(at));
        }
        Ok(())
    });
    read.map_err(|unsaved| unsaved.failure().clone())?;
    layout.settle(ask.order, &seen);
    Ok(())
}

/// Above this a temperature without a unit is more likely in °F.
const HOT_C: f64 = 50.0;

/// Least and most of what a column holds, in the journal's units.
pub type ValueRange = Option<(f64, f64)>;

/// A question that must be settled before a table is imported.
#[derive(Clone, Debug, PartialEq)]
pub enum ImportDoubt {
    /// These columns, by their headings, could be of one role.
    Several(ColumnRole, Vec<String>),
    /// No column of times is known.
    NoTime,
    /// Day or month may come first.
    Order,
    /// A temperature without a unit would be hot in °C.
    Hot {
        /// The column's number from 1.
        number: usize,
        /// Its heading.
        heading: String,
        /// What it is taken for.
        role: ColumnRole,
        /// Least and most of it.
        range: (f64, f64),
    },
    /// A column's heading names another place.
    Elsewhere {
        /// Its heading.
        heading: String,
        /// What it would be read as.
        role: ColumnRole,
        /// The place that it names.
        place: String,
        /// The place that it would be taken for.
        asked: String,
    },
}

impl ImportDoubt {
    /// The doubt in a sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        match self {
            Self::Several(role, headings) => format!(
                "Several columns could be {}: {}.",
                role.words(),
                headings.join(" | ")
            ),
            Self::NoTime => "No column of times is known by its heading.".into(),
            Self::Order => "Its dates could be read with the day first or the month first.".into(),
            Self::Elsewhere {
                heading,
                place,
                asked,
                ..
            } => format!("'{heading}' names {place}, and would be taken for {asked}."),
            Self::Hot { heading, range, .. } => {
                let (low, high) = range;
                format!("'{heading}' says no unit, and {low} to {high} would be hot in °C.")
            }
        }
    }

    /// The option that says which, as an example.
    #[must_use]
    pub fn option(&self) -> String {
        match self {
            Self::Several(role, headings) => {
                format!("--column \"{}={}\"", role.word(), headings[0])
            }
            Self::NoTime => "--column time=1".into(),
            Self::Order => "--dates dmy".into(),
            Self::Elsewhere {
                heading,
                role,
                place,
                ..
            } => format!(
                "--place \"{place}\", or if it is right --column \"{}={heading}\"",
                role.word()
            ),
            Self::Hot { number, role, .. } => format!("--column {}={number}:F", role.word()),
        }
    }
}

/// All that is in doubt of a table with that layout, whose columns hold values in these ranges so far.
pub(super) fn doubts(layout: &LoggerLayout, ranges: &[ValueRange]) -> Vec<ImportDoubt> {
    let several = layout.several.iter();
    let mut out: Vec<ImportDoubt> = several
        .map(|(role, headings)| ImportDoubt::Several(*role, headings.clone()))
        .collect();
    if !layout.has_time() {
        out.push(ImportDoubt::NoTime);
    }
    if !layout.order_is_sure {
        out.push(ImportDoubt::Order);
    }
    for (number, (column, range)) in (1..).zip(layout.columns.iter().zip(ranges)) {
        let (Some(role), Some(range)) = (column.role, *range) else {
            continue;
        };
        if column.unit == ReadingUnit::C && !column.unit_is_said && range.1 > HOT_C {
            let heading = column.heading.clone();
            out.push(ImportDoubt::Hot {
                number,
                heading,
                role,
                range,
            });
        }
    }
    out
}
