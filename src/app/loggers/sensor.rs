//! A sensor that a script reads: its lines as they come, each on the disk before the next is waited for.
//! A line without a column of times is of now.

use super::rows::{RowCells, Rows};
use super::table::is_long;
use super::{ImportDoubt, doubts};
use super::{SkippedRow, is_new, no_layout};
use crate::app::desk::Desk;
use crate::app::failure::Failure;
use crate::app::loggers::rows::Bulk;
use crate::app::record::Unsaved;
use crate::input::logger::guess::see;
use crate::input::logger::stamp::DayOrderEvidence;
use crate::input::logger::{LayoutQuestion, LoggerLayout, layout};
use csv::{ByteRecord, ReaderBuilder};
use std::io::{BufRead, BufReader, Read};

/// What became of lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SensorEvent {
    /// So many readings are on the disk by now.
    Saved(u64),
    /// A line was left out.
    LeftOut(SkippedRow),
}

impl Desk {
    /// Follows a sensor to the end of its input. Lines that have come while others were saved are saved
    /// together. `told` hears what became of them. Says how many readings were new.
    ///
    /// # Errors
    /// If the first line is no heading, something about it is in doubt, or a reading cannot be saved.
    pub fn follow_sensor(
        &mut self,
        input: &mut BufReader<impl Read>,
        place: &str,
        ask: &LayoutQuestion,
        told: &mut dyn FnMut(SensorEvent),
    ) -> Result<u64, Unsaved> {
        let (mut line, mut number) = (Vec::new(), 0_u64);
        if !next(input, &mut line, &mut number)? {
            return Ok(0);
        }
        if is_long(&line, ask) {
            return Err(Unsaved::Refused(
                Failure::could("Its rows name a sensor, a place or a quantity, so that several may take turns.")
                    .hint("Import it as a file, or hand in the lines of one sensor without that column."),
            ));
        }
        let layout = layout(&line, ask).map_err(|why| Unsaved::Refused(no_layout(&why)))?;
        refuse_doubts(&layout)?;
        let shown = self.book.places().shown(place);
        let clock = self.clock.twin();
        let mut rows = Rows::new(&layout, &shown, &clock);
        let mut held = self.ledger.ulids();
        let mut bulk = Bulk::new(self);
        // Where the headings were given, the first line is a reading already.
        let mut is_reading = ask.heading.is_some();
        loop {
            if let Some(record) = record_of(&line, layout.between).filter(|_| is_reading) {
                if ask.order.is_none() {
                    refuse_open_order(&layout, &record)?;
                }
                match rows.entry(&record) {
                    Ok(entry) if is_new(&mut held, &entry) => bulk.add(&entry)?,
                    Ok(_) => {}
                    Err(why) => told(SensorEvent::LeftOut(SkippedRow { line: number, why })),
                }
            }
            is_reading = true;
            if !input.buffer().contains(&b'\n') {
                let before = bulk.saved();
                bulk.write()?;
                if bulk.saved() > before {
                    told(SensorEvent::Saved(bulk.saved()));
                }
            }
            if !next(input, &mut line, &mut number)? {
                return bulk.end();
            }
        }
    }
}

/// The next line; whether there is one.
fn next(
    input: &mut BufReader<impl Read>,
    line: &mut Vec<u8>,
    number: &mut u64,
) -> Result<bool, Unsaved> {
    line.clear();
    *number += 1;
    let failed = |error| Unsaved::Refused(Failure::could(format!("Standard input: {error}.")));
    let read = input.take(LONGEST).read_until(b'\n', line);
    read.map(|count| count > 0).map_err(failed)
}

/// Longest line that is taken for one, in bytes.
const LONGEST: u64 = 1 << 16;

fn record_of(line: &[u8], between: u8) -> Option<ByteRecord> {
    let mut reader = ReaderBuilder::new()
        .delimiter(between)
        .has_headers(false)
        .flexible(true)
        .from_reader(line);
    let mut record = ByteRecord::new();
    matches!(reader.read_byte_record(&mut record), Ok(true)).then_some(record)
}

/// Readings are saved as they come, so nothing may be in doubt.
fn refuse_doubts(layout: &LoggerLayout) -> Result<(), Unsaved> {
    let mut doubts = doubts(layout, &[]).into_iter();
    // A line without a time is of now.
    match doubts.find(|doubt| *doubt != ImportDoubt::NoTime) {
        None => Ok(()),
        Some(doubt) => Err(doubted(&doubt)),
    }
}

/// The first date that could be read two ways ends it: later ones might tell, but this one is due now.
fn refuse_open_order(layout: &LoggerLayout, record: &ByteRecord) -> Result<(), Unsaved> {
    let mut seen = DayOrderEvidence::default();
    let cells = RowCells::from_record(record);
    see(layout, &mut seen, |at| cells.at(at));
    if seen.dotted > 0 || seen.day_first + seen.month_first + seen.either == 0 {
        return Ok(());
    }
    Err(doubted(&ImportDoubt::Order))
}

fn doubted(doubt: &ImportDoubt) -> Unsaved {
    let failure = Failure::could(doubt.sentence());
    Unsaved::Refused(failure.hint(format!("Say {}, for example.", doubt.option())))
}
