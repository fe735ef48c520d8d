//! Puts the sample's entries down as the program would have: time of day, offset, id, who.

use super::dice::Dice;
use chrono::{Datelike, FixedOffset, NaiveDate, TimeZone};
use struck::model::at::At;
use struck::model::entry::{Entry, Kind};
use struck::model::id::Id;

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
    /// Day and second of the entry before.
    at: Option<(NaiveDate, u32)>,
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
            at: None,
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
        // What is entered one after the other on a day belongs together, as a look and its potting.
        let second = match self.at {
            Some((before, second)) if before == day && second < 16 * 3600 => {
                second + dice.whole(15, 90)
            }
            _ => 8 * 3600 + dice.whole(0, 8 * 3600),
        };
        self.at = Some((day, second));
        let local = day.and_hms_opt(second / 3600, second / 60 % 60, second % 60)?;
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
        let id = Id::from_ulid(ms << 80 | dice.bits());
        self.entries.push(Entry {
            id: id.clone(),
            at: At::Time(time),
            by: Some(self.by.into()),
            note: note.map(Into::into),
            kind: kind.into(),
        });
        Some(id)
    }
}
