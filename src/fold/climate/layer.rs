//! The climate lines of one place as packed columns, sorted by time when asked. It knows no other place.

use super::ClimateReading;
use super::column::{PackedColumn, pick};
use crate::model::at::At;
use crate::model::entry::{Entry, Kind};
use crate::model::fault::{Crc, Origin};
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use crate::model::value::{Celsius, Percent, Ppfd, Seconds};
use chrono::{DateTime, Datelike, FixedOffset, NaiveDate, TimeDelta, Timelike};
use std::sync::Arc;

/// Steps to a unit of the fields that are numbers, in the order of the columns: temperatures and humidity in
/// hundredths, seconds whole, light in tenths. Values between the steps are kept too, only wider.
const STEPS: [f64; 7] = [100.0, 100.0, 100.0, 100.0, 1.0, 1.0, 10.0];

/// The zone of a bare day.
const BARE: i8 = i8::MIN;
/// The bit of a row's mark that says that its checksum fits.
const SIGNED: u8 = 0x80;
/// Kinds of vent that a layer can tell apart.
const VENTS: usize = 0x7f;
const QUARTER_HOUR: i32 = 900;
const DAY: u32 = 86_400;

/// People that a layer can tell apart.
const PEOPLE: usize = 0xff;

/// A row before it is packed.
pub(super) struct LayerRow<'a> {
    pub id: [u8; 16],
    pub origin: Origin,
    pub signed: bool,
    when: u32,
    zone: i8,
    file: u16,
    by: Option<&'a str>,
}

impl<'a> LayerRow<'a> {
    /// The fixed parts of a climate line, if they pack: a ULID, no note, a whole second
    /// from 1970 to 2106, a zone of whole quarter hours, no wrong checksum.
    pub fn from_entry(entry: &'a PackedEntry, crc: Crc, origin: Origin) -> Option<Self> {
        if crc == Crc::Wrong || entry.note().is_some() {
            return None;
        }
        let (when, zone) = packed_at(entry.at)?;
        Some(Self {
            id: entry.id.ulid_bytes()?,
            origin,
            signed: crc == Crc::Right,
            when,
            zone,
            file: u16::try_from(origin.file).ok()?,
            by: entry.by(),
        })
    }
}

/// The number of a word from 1, a new one if need be and so many are not there yet; 0 for no word.
fn number_of(words: &mut Vec<Arc<str>>, most: usize, word: Option<&str>) -> Option<u8> {
    let Some(word) = word else {
        return Some(0);
    };
    let at = match words.iter().position(|held| **held == *word) {
        Some(at) => at,
        None if words.len() < most => {
            words.push(word.into());
            words.len() - 1
        }
        None => return None,
    };
    u8::try_from(at + 1).ok()
}

fn packed_at(at: At) -> Option<(u32, i8)> {
    let seconds = |local: chrono::NaiveDateTime| u32::try_from(local.and_utc().timestamp()).ok();
    match at {
        At::Day(day) => Some((seconds(day.and_hms_opt(0, 0, 0)?)?, BARE)),
        At::Time(time) => {
            let offset = time.offset().local_minus_utc();
            let whole = time.nanosecond() == 0 && offset % QUARTER_HOUR == 0;
            let zone = i8::try_from(offset / QUARTER_HOUR).ok()?;
            Some((seconds(time.naive_local())?, zone)).filter(|_| whole)
        }
    }
}

fn unpacked_at(when: u32, zone: i8) -> At {
    let local = DateTime::UNIX_EPOCH.naive_utc() + TimeDelta::seconds(i64::from(when));
    match FixedOffset::east_opt(i32::from(zone) * QUARTER_HOUR) {
        Some(offset) if zone != BARE => At::Time(DateTime::from_naive_utc_and_offset(
            local - TimeDelta::seconds(i64::from(offset.local_minus_utc())),
            offset,
        )),
        _ => At::Day(local.date()),
    }
}

/// Packed rows.
#[derive(Clone, Debug, Default)]
pub(super) struct Layer {
    id: Vec<[u8; 16]>,
    /// Seconds from 1970 on the local clock.
    when: Vec<u32>,
    /// The offset in quarter hours.
    zone: Vec<i8>,
    /// Whether the checksum fits, and the number of the vent from 1.
    mark: Vec<u8>,
    file: Vec<u16>,
    line: Vec<u32>,
    columns: [PackedColumn; 7],
    vents: Vec<Arc<str>>,
    /// The number from 1 of who entered the row; 0 for nobody named.
    by: Vec<u8>,
    people: Vec<Arc<str>>,
    unsorted: bool,
}

type Key = (u32, i64, i8, [u8; 16]);

impl Layer {
    pub fn len(&self) -> usize {
        self.id.len()
    }

    pub fn ids(&self) -> &[[u8; 16]] {
        &self.id
    }

    /// Adds a row; false, and no row added, if it has one vent or person too many to pack.
    pub fn push(&mut self, row: &LayerRow<'_>, reading: &ClimateReading) -> bool {
        let vent = number_of(&mut self.vents, VENTS, reading.vent);
        let by = number_of(&mut self.people, PEOPLE, row.by);
        let (Some(vent), Some(by)) = (vent, by) else {
            return false;
        };
        let rows = self.len();
        self.by.push(by);
        let mark = if row.signed { SIGNED | vent } else { vent };
        self.push_fixed(row, mark);
        for ((column, steps), value) in self.columns.iter_mut().zip(STEPS).zip(reading.numbers()) {
            column.push(rows, steps, value);
        }
        true
    }

    fn push_fixed(&mut self, row: &LayerRow<'_>, mark: u8) {
        self.id.push(row.id);
        self.when.push(row.when);
        self.zone.push(row.zone);
        self.mark.push(mark);
        self.file.push(row.file);
        self.line.push(row.origin.line);
        let last = self.len() - 1;
        self.unsorted |= last > 0 && self.key(last - 1) >= self.key(last);
    }

    /// Fold order of a row: day, a bare day first, instant, offset, id.
    fn key(&self, row: usize) -> Key {
        let (when, zone) = (self.when[row], self.zone[row]);
        let instant = match zone {
            BARE => i64::MIN,
            zone => i64::from(when) - i64::from(zone) * i64::from(QUARTER_HOUR),
        };
        (when / DAY, instant, zone, self.id[row])
    }

    /// Sorts the rows into fold order and keeps one of those that are the same.
    pub fn sort(&mut self) {
        if !self.unsorted {
            return;
        }
        // Origins and checksums last, so that of copies the same one is always kept.
        let key = |at: &u32| {
            let row = *at as usize;
            let unsigned = self.mark[row] & SIGNED == 0;
            (self.key(row), unsigned, self.file[row], self.line[row])
        };
        let mut order: Vec<u32> = (0..self.len() as u32).collect();
        order.sort_by_key(key);
        order.dedup_by(|later, kept| self.is_same(*kept as usize, *later as usize));
        *self = self.reordered(&order);
    }

    /// Whether two rows of this layer say the same.
    pub fn is_same(&self, a: usize, b: usize) -> bool {
        self.key(a) == self.key(b) && self.says_same(a, self, b)
    }

    /// Whether a row says the same as one of another layer of the place, id aside.
    pub fn says_same(&self, row: usize, other: &Self, there: usize) -> bool {
        let (mine, theirs) = (self.reading("", row), other.reading("", there));
        let bits = |r: &ClimateReading| r.numbers().map(|v| v.map(f64::to_bits));
        let is_by_same = self.person(row) == other.person(there);
        mine.at == theirs.at
            && mine.vent == theirs.vent
            && is_by_same
            && bits(&mine) == bits(&theirs)
    }

    /// Who entered a row.
    fn person(&self, row: usize) -> Option<&str> {
        let at = usize::from(self.by[row]).checked_sub(1)?;
        self.people.get(at).map(|name| &**name)
    }

    /// The rows named, in that order; they must be in fold order.
    fn reordered(&self, order: &[u32]) -> Self {
        Self {
            id: pick(&self.id, order),
            when: pick(&self.when, order),
            zone: pick(&self.zone, order),
            mark: pick(&self.mark, order),
            file: pick(&self.file, order),
            line: pick(&self.line, order),
            columns: std::array::from_fn(|at| self.columns[at].reordered(order)),
            vents: self.vents.clone(),
            by: pick(&self.by, order),
            people: self.people.clone(),
            unsorted: false,
        }
    }

    /// Takes rows out, given in ascending order.
    pub fn remove(&mut self, rows: &[usize]) {
        let kept = |row: &u32| rows.binary_search(&(*row as usize)).is_err();
        let order: Vec<u32> = (0..self.len() as u32).filter(kept).collect();
        *self = self.reordered(&order);
    }

    /// Adds the rows of another layer of the same place; false if the vents or the people of both are too many.
    pub fn append(&mut self, place: &str, other: &Self) -> bool {
        let together = |mine: &[Arc<str>], theirs: &[Arc<str>]| {
            mine.len() + theirs.iter().filter(|it| !mine.contains(it)).count()
        };
        let vents = together(&self.vents, &other.vents);
        if vents > VENTS || together(&self.people, &other.people) > PEOPLE {
            return false;
        }
        for at in 0..other.len() {
            let row = LayerRow {
                id: other.id[at],
                origin: other.origin(at),
                signed: other.mark[at] & SIGNED != 0,
                when: other.when[at],
                zone: other.zone[at],
                file: other.file[at],
                by: other.person(at),
            };
            self.push(&row, &other.reading(place, at));
        }
        true
    }

    pub fn origin(&self, row: usize) -> Origin {
        Origin {
            file: u32::from(self.file[row]),
            line: self.line[row],
        }
    }

    pub fn crc(&self, row: usize) -> Crc {
        match self.mark[row] & SIGNED {
            0 => Crc::Absent,
            _ => Crc::Right,
        }
    }

    pub fn row_of_id(&self, id: &[u8; 16]) -> impl Iterator<Item = usize> + '_ {
        let id = *id;
        let each = self.id.iter().enumerate();
        each.filter(move |(_, i)| **i == id).map(|(row, _)| row)
    }

    pub fn row_of_origin(&self, origin: Origin) -> Option<usize> {
        (0..self.len()).find(|row| self.origin(*row) == origin)
    }

    pub fn reading<'a>(&'a self, place: &'a str, row: usize) -> ClimateReading<'a> {
        let value = |at: usize| self.columns[at].get(row, STEPS[at]);
        let vent = usize::from(self.mark[row] & !SIGNED).checked_sub(1);
        ClimateReading {
            at: unpacked_at(self.when[row], self.zone[row]),
            place,
            air_c: value(0).map(Celsius),
            rh_pct: value(1).map(Percent),
            leaf_c: value(2).map(Celsius),
            medium_c: value(3).map(Celsius),
            mist_on_s: value(4).map(Seconds),
            mist_every_s: value(5).map(Seconds),
            ppfd: value(6).map(Ppfd),
            vent: vent.and_then(|at| self.vents.get(at)).map(|v| &**v),
        }
    }

    pub fn id(&self, row: usize) -> Id {
        Id::from_ulid(u128::from_be_bytes(self.id[row]))
    }

    /// The row as the entry that it was.
    pub fn entry(&self, place: &str, row: usize) -> Entry {
        let reading = self.reading(place, row);
        Entry {
            id: self.id(row),
            at: reading.at,
            by: self.person(row).map(Into::into),
            note: None,
            kind: Kind::Climate(Box::new(reading.to_climate())),
        }
    }

    /// The first row on or after a day; the layer must be sorted.
    pub fn first_on(&self, day: NaiveDate) -> usize {
        let epoch = DateTime::UNIX_EPOCH.naive_utc().date().num_days_from_ce();
        let days = i64::from(day.num_days_from_ce()) - i64::from(epoch);
        self.when
            .partition_point(|when| i64::from(when / DAY) < days)
    }

    /// Gives back the room that growing left over.
    pub fn trim(&mut self) {
        self.id.shrink_to_fit();
        self.when.shrink_to_fit();
        self.zone.shrink_to_fit();
        self.mark.shrink_to_fit();
        self.file.shrink_to_fit();
        self.line.shrink_to_fit();
        self.by.shrink_to_fit();
        self.columns.iter_mut().for_each(PackedColumn::trim);
    }
}
