//! Puts the sample's entries down as the program would have: time of day, offset, id, who.

use super::dice::Dice;
use crate::book::at::At;
use crate::book::entry::{Entry, Kind};
use crate::book::id::Id;
use chrono::{Datelike, FixedOffset, NaiveDate, TimeZone};

/// One machine of the nursery and what was entered on it.
#[derive(Clone, Debug)]
pub struct Pen {
    /// Name of its file.
    pub file: &'static str,
    /// Who enters on it.
    pub by: &'static str,
    /// Its entries so far.
    pub entries: Vec<Entry>,
    last: NaiveDate,
}

impl Pen {
    /// A machine whose entries end with this day.
    #[must_use]
    pub fn new(file: &'static str, by: &'static str, last: NaiveDate) -> Self {
        Self {
            file,
            by,
            entries: Vec::new(),
            last,
        }
    }

    /// Whether the day is within the sample.
    #[must_use]
    pub fn reaches(&self, day: NaiveDate) -> bool {
        day <= self.last
    }

    /// Enters something during working hours; nothing if the sample ends before that day.
    pub fn enter(
        &mut self,
        day: NaiveDate,
        note: Option<&str>,
        kind: impl Into<Kind>,
        dice: &mut Dice,
    ) -> Option<Id> {
        if !self.reaches(day) {
            return None;
        }
        let minute = dice.whole(0, 9 * 60);
        let local = day.and_hms_opt(8 + minute / 60, minute % 60, dice.whole(0, 59))?;
        // Summer time from April to October: near enough for a nursery of nowhere.
        let hours = if (4..=10).contains(&day.month()) {
            1
        } else {
            0
        };
        let time = FixedOffset::east_opt(hours * 3600)?
            .from_local_datetime(&local)
            .single()?;
        let ms = u128::try_from(time.timestamp_millis()).ok()?;
        let id = Id::of_ulid(ms << 80 | dice.bits());
        self.entries.push(Entry {
            id: id.clone(),
            at: At::Time(time),
            by: Some(self.by.to_owned()),
            note: note.map(str::to_owned),
            kind: kind.into(),
        });
        Some(id)
    }
}
