//! Rows of a logger's table as climate entries: zones, ids that follow from what a row says; and many entries written in
//! runs, each with one lock and one sync, and read back once at the end.

use crate::app::clock::Clock;
use crate::app::desk::Desk;
use crate::app::failure::Failure;
use crate::app::record::Unsaved;
use crate::fold::climate::ClimateReading;
use crate::input::logger::guess::cell_text;
use crate::input::logger::row::read;
use crate::input::logger::{LoggerLayout, LoggerRow, LoggerStamp, RowFault};
use crate::journal::codec::encode;
use crate::model::at::At;
use crate::model::entry::{Climate, Entry, Kind};
use crate::model::id::Id;
use crate::model::text::folded;
use chrono::{DateTime, Datelike, FixedOffset, NaiveDateTime, TimeDelta, Utc};
use csv::ByteRecord;
use sha2::{Digest, Sha256};
use std::borrow::Cow;
use std::cell::Cell;
use std::fmt::Write as _;
use std::io;
use std::io::Read;
use std::rc::Rc;

/// Years that a reading may be of: those that the journal packs.
const YEARS: std::ops::RangeInclusive<i32> = 1970..=2105;

/// The cells of a row as text, whatever its bytes.
pub(super) struct RowCells<'r>(Vec<Cow<'r, str>>);

impl<'r> RowCells<'r> {
    pub(super) fn from_record(record: &'r ByteRecord) -> Self {
        Self(record.iter().map(cell_text).collect())
    }

    /// The cell of a column, from 0; empty if the row is too short for it.
    pub(super) fn at(&self, column: usize) -> &str {
        self.0.get(column).map_or("", AsRef::as_ref)
    }
}

/// The latest moment that a reading may be of now: a day ahead, for a clock in another zone.
fn latest(clock: &Clock) -> DateTime<FixedOffset> {
    clock.now() + TimeDelta::days(1)
}

/// Turns rows into entries, one after the other.
pub(super) struct Rows<'a> {
    layout: &'a LoggerLayout,
    place: &'a str,
    clock: &'a Clock,
    /// No reading is later than this.
    latest: DateTime<FixedOffset>,
    /// The local time of the row before, and whether a clock was set back between rows.
    before: Option<NaiveDateTime>,
    set_back: bool,
}

impl<'a> Rows<'a> {
    pub(super) fn new(layout: &'a LoggerLayout, place: &'a str, clock: &'a Clock) -> Self {
        Self {
            layout,
            place,
            clock,
            latest: latest(clock),
            before: None,
            set_back: false,
        }
    }

    /// The entry that a row makes.
    pub(super) fn entry(&mut self, record: &ByteRecord) -> Result<Entry, RowFault> {
        let row = match std::str::from_utf8(record.as_slice()) {
            Ok(_) => read(self.layout, self.place, |at| {
                let cell = record.get(at).unwrap_or_default();
                std::str::from_utf8(cell).unwrap_or_default()
            }),
            Err(_) => {
                let cells = RowCells::from_record(record);
                read(self.layout, self.place, |at| cells.at(at))
            }
        }?;
        self.finished(row)
    }

    fn finished(&mut self, row: LoggerRow) -> Result<Entry, RowFault> {
        let at = match row.stamp {
            None => self.clock.now(),
            Some(LoggerStamp::Fixed(time)) => time,
            Some(LoggerStamp::Instant(instant)) => self.clock.here(instant),
            Some(LoggerStamp::Local(local)) => self.zoned(local),
        };
        let at = chrono::SubsecRound::trunc_subsecs(at, 0);
        if !YEARS.contains(&at.year()) {
            return Err(RowFault::Age(at.naive_local().to_string()));
        }
        if at > self.latest {
            // A sensor is followed for days.
            self.latest = latest(self.clock);
        }
        if at > self.latest {
            return Err(RowFault::Ahead(at.naive_local().to_string()));
        }
        Ok(Entry {
            id: id(at, &row.climate),
            at: At::Time(at),
            by: None,
            note: None,
            kind: Kind::Climate(Box::new(row.climate)),
        })
    }

    /// A local time in its zone. Where a clock set back makes it come twice, it is the second time once
    /// the rows have gone back.
    fn zoned(&mut self, local: NaiveDateTime) -> DateTime<FixedOffset> {
        let (first, second) = self.clock.offsets_at(local);
        if first == second {
            self.set_back = false;
        } else if self.before.is_some_and(|before| local < before) {
            self.set_back = true;
        }
        self.before = Some(local);
        let offset = if self.set_back { second } else { first };
        let instant = local - TimeDelta::seconds(i64::from(offset.local_minus_utc()));
        DateTime::from_naive_utc_and_offset(instant, offset)
    }
}

/// The id of a reading: its instant in milliseconds, as in any ULID, and 80 bits of the SHA-256 of place,
/// instant and values. So the same reading has the same id whenever and from whichever file it comes, and
/// later readings have higher ids.
fn id(at: DateTime<FixedOffset>, climate: &Climate) -> Id {
    let instant = at.with_timezone(&Utc).timestamp();
    let mut said = format!("reading\n{}\n{instant}\n", folded(&climate.place));
    for number in ClimateReading::from_entry(At::Time(at), climate).numbers() {
        if let Some(number) = number {
            // Writing into a text cannot fail.
            let _ = write!(said, "{number}");
        }
        said.push('\n');
    }
    said.push_str(climate.vent.as_deref().unwrap_or_default());
    let hash = Sha256::digest(said.as_bytes());
    let tail = hash[..10]
        .iter()
        .fold(0_u128, |bits, byte| bits << 8 | u128::from(*byte));
    let ms = u128::from(instant.unsigned_abs()) * 1000;
    Id::from_ulid((ms & ((1 << 48) - 1)) << 80 | tail)
}

/// Most bytes of one row, those that are read ahead among them: 1 MiB.
pub const LONGEST_ROW: usize = 1 << 20;

/// How many bytes may still be read of a row, shared with whoever counts the rows. A file whose one row never
/// ends is refused before it fills the memory.
#[derive(Clone, Debug)]
pub struct RowLimit(Rc<Cell<usize>>);

impl RowLimit {
    /// The full ration, for the first row.
    pub fn new() -> Self {
        Self(Rc::new(Cell::new(LONGEST_ROW)))
    }

    /// Fills the ration up again, for the next row.
    pub fn renew(&self) {
        self.0.set(LONGEST_ROW);
    }
}

/// A reader that stops once a row is too long.
pub struct RowLimitedReader<R> {
    inner: R,
    ration: RowLimit,
}

impl<R> RowLimitedReader<R> {
    /// Reads from `inner` as far as the ration goes.
    pub fn new(inner: R, ration: RowLimit) -> Self {
        Self { inner, ration }
    }
}

impl<R: Read> Read for RowLimitedReader<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let left = self.ration.0.get();
        if left == 0 && !buffer.is_empty() {
            return Err(io::Error::other(
                "a row is longer than 1 MiB; is a quote left open?",
            ));
        }
        let most = buffer.len().min(left);
        let count = self
            .inner
            .read(buffer.get_mut(..most).unwrap_or_default())?;
        self.ration.0.set(left.saturating_sub(count));
        Ok(count)
    }
}

/// Bytes after which a run is written: as many as one line may have.
const RUN: usize = 1 << 20;

/// Entries on their way to the disk. They must bear ids that follow from what they say, so that a run whose
/// outcome is unknown can be written again, in this sitting or another, and add nothing twice.
pub struct Bulk<'a> {
    desk: &'a mut Desk,
    lines: Vec<Vec<u8>>,
    bytes: usize,
    saved: u64,
}

impl<'a> Bulk<'a> {
    /// A bulk that holds no entry yet.
    pub fn new(desk: &'a mut Desk) -> Self {
        Self {
            desk,
            lines: Vec::new(),
            bytes: 0,
            saved: 0,
        }
    }

    /// Takes an entry, and writes the run if it is long enough.
    ///
    /// # Errors
    /// If it cannot be put into a line, or the run cannot be written.
    pub fn add(&mut self, entry: &Entry) -> Result<(), Unsaved> {
        let refused = |error| Unsaved::Refused(Failure::could(format!("{error}.")));
        let line = encode(entry).map_err(refused)?;
        if self.bytes + line.len() > RUN {
            self.write()?;
        }
        self.bytes += line.len() + 1;
        self.lines.push(line);
        Ok(())
    }

    /// Writes what was taken; it is on stable storage when this returns.
    ///
    /// # Errors
    /// Why it is not, or not known to be.
    pub fn write(&mut self) -> Result<(), Unsaved> {
        if self.lines.is_empty() {
            return Ok(());
        }
        match self.desk.append(&self.lines) {
            // Once more under the same ids, which doubles nothing.
            Err(Unsaved::Unknown(_)) => self.desk.append(&self.lines).map_err(unknown)?,
            other => other?,
        }
        self.saved += self.lines.len() as u64;
        self.lines.clear();
        self.bytes = 0;
        Ok(())
    }

    /// How many are on stable storage.
    #[must_use]
    pub fn saved(&self) -> u64 {
        self.saved
    }

    /// Writes the rest and reads all of it back.
    ///
    /// # Errors
    /// As [`Bulk::write`].
    pub fn end(mut self) -> Result<u64, Unsaved> {
        self.write()?;
        if self.saved > 0 {
            // Saved is saved: should reading it back fail now, the next refresh tells.
            self.desk.refresh();
        }
        Ok(self.saved)
    }
}

/// The first try may be on the disk, so a refusal of the second settles nothing.
fn unknown(unsaved: Unsaved) -> Unsaved {
    Unsaved::Unknown(unsaved.failure().clone())
}
