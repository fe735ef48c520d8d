//! A logger's file into the journal: surveyed first, every row, then written. The same file again adds nothing,
//! since a reading's id follows from what it says. Where a table reads in two ways, nothing is written before somebody says
//! which. How a table reads stands in `input::logger`.

pub use self::rows::Bulk;
use super::desk::Desk;
use super::failure::Failure;
use super::files;
use super::record::Unsaved;
use crate::input::encoding::utf16;
use crate::input::logger::guess::see;
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

mod rows;
pub mod sensor;

/// Bytes from which a file's layout is guessed.
const FIRST: u64 = 1 << 16;
/// Bytes of a file in UTF-16 that are read: it is held whole.
const LONGEST_UTF16: u64 = 256 << 20;
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
    /// Rows under the heading.
    pub rows: u64,
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
}

impl Survey {
    fn new(layout: LoggerLayout, place: String, place_is_known: bool) -> Self {
        let ranges = vec![None; layout.columns.len()];
        Self {
            layout,
            place,
            place_is_known,
            rows: 0,
            new: 0,
            held: 0,
            empty: 0,
            bad: 0,
            left_out: Vec::new(),
            span: None,
            ranges,
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
        doubts(&self.layout, &self.ranges)
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
        LayoutFault::NotText => failure.hint("Save it as CSV in UTF-8, then import it again."),
        LayoutFault::NoMeasure(_) => failure
            .hint("Say what a column holds, as --column air=2:C, or give headings with --heading."),
        LayoutFault::NoColumn(..) => failure.hint("Give its heading, or its number from 1."),
    }
}

/// A file, opened at its start.
fn open(path: &Path) -> Result<Box<dyn Read>, Failure> {
    let shown = path.display();
    let failed =
        |error: std::io::Error| Failure::could(format!("{shown} cannot be read: {error}."));
    let (mut file, again) = files::foreign(path).map_err(failed)?;
    if again {
        let mut start = Vec::new();
        let read = (&mut file).take(FIRST).read_to_end(&mut start);
        read.map_err(failed)?;
        let Some(encoding) = utf16(&start) else {
            return Ok(Box::new(Cursor::new(start).chain(file)));
        };
        let read = file.take(LONGEST_UTF16).read_to_end(&mut start);
        read.map_err(failed)?;
        let (text, ..) = encoding.decode(&start);
        return Ok(Box::new(Cursor::new(text.into_owned().into_bytes())));
    }
    Err(
        Failure::could(format!("{shown} is a pipe, which can be read but once."))
            .hint("Hand it in on standard input: `struck climate import - < PIPE`."),
    )
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
        let start = open(path)?.take(FIRST).read_to_end(&mut first);
        start.map_err(|error| Failure::could(format!("{}: {error}.", path.display())))?;
        let mut layout = layout(&first, ask).map_err(|why| no_layout(&why))?;
        if !layout.order_is_sure {
            settle_order(&mut layout, path, ask)?;
        }
        self.survey(open(path)?, layout, place, progress)
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
        let text = decoded.as_deref().map_or(text, str::as_bytes);
        let layout = layout(text, ask).map_err(|why| no_layout(&why))?;
        self.survey(Cursor::new(text), layout, place, &mut |_| ())
    }

    fn survey(
        &self,
        input: impl Read,
        layout: LoggerLayout,
        place: &str,
        progress: &mut dyn FnMut(u64),
    ) -> Result<Survey, Failure> {
        let shown = self.book.places().shown(place);
        let known = self.book.places().get(place).is_some();
        let mut survey = Survey::new(layout, shown.clone(), known);
        let layout = survey.layout.clone();
        let mut rows = Rows::new(&layout, &shown, &self.clock);
        let mut held = self.ledger.ulids();
        let done = each_row(input, &layout, |line, record| {
            survey.rows += 1;
            match rows.entry(record) {
                Ok(entry) => survey.take_in(&entry, is_new(&mut held, &entry)),
                Err(why) => survey.leave_out(line, why),
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
        let input = open(path).map_err(Unsaved::Refused)?;
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
    let read = each_row(open(path)?, layout, |_, record| {
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
