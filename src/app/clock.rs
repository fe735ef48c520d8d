//! The clock and entropy, read here and nowhere else, and the ids made of them.

use crate::model::id::Id;
use chrono::{DateTime, FixedOffset, Local, NaiveDateTime, Offset, TimeZone, Utc};
use rand::RngExt;
use std::sync::Mutex;
use std::time::{Duration, Instant};
use ulid::Ulid;

/// How long something takes, whatever is done to the clock meanwhile.
#[derive(Clone, Copy, Debug)]
pub struct Stopwatch(Instant);

impl Stopwatch {
    /// Begins to count.
    #[must_use]
    pub fn start() -> Self {
        Self(Instant::now())
    }

    /// The time since then.
    #[must_use]
    pub fn elapsed(&self) -> Duration {
        self.0.elapsed()
    }
}

/// Tells the time, the offset of the place, and makes ids. One for each run of the program.
#[derive(Debug)]
pub struct Clock {
    fixed: Option<DateTime<FixedOffset>>,
    last: Mutex<Option<Ulid>>,
}

impl Clock {
    /// The machine's own clock and zone.
    #[must_use]
    pub fn system() -> Self {
        Self {
            fixed: None,
            last: Mutex::new(None),
        }
    }

    /// A clock that stands still, so that a screen or a report can be had for any moment.
    #[must_use]
    pub fn fixed(now: DateTime<FixedOffset>) -> Self {
        Self {
            fixed: Some(now),
            last: Mutex::new(None),
        }
    }

    /// Another that tells the same time, for a work that holds its own.
    #[must_use]
    pub fn twin(&self) -> Self {
        Self {
            fixed: self.fixed,
            last: Mutex::new(None),
        }
    }

    /// Now, to the second, with the offset that holds here now.
    #[must_use]
    pub fn now(&self) -> DateTime<FixedOffset> {
        let now = self.fixed.unwrap_or_else(|| Local::now().fixed_offset());
        chrono::SubsecRound::trunc_subsecs(now, 0)
    }

    /// The offset that holds here at a local time; where a clock change makes two of it or none,
    /// the one before the change.
    #[must_use]
    pub fn offset_at(&self, local: NaiveDateTime) -> FixedOffset {
        self.offsets_at(local).0
    }

    /// The offsets that hold here at a local time: twice the same, but where a clock set back makes the time
    /// come twice, the one before and the one after; where it makes a gap, twice the one before.
    #[must_use]
    pub fn offsets_at(&self, local: NaiveDateTime) -> (FixedOffset, FixedOffset) {
        if let Some(now) = self.fixed {
            return (*now.offset(), *now.offset());
        }
        match Local.offset_from_local_datetime(&local) {
            chrono::LocalResult::Single(offset) => (offset.fix(), offset.fix()),
            // In whichever order they come: the further east, the sooner the instant.
            chrono::LocalResult::Ambiguous(one, other) => {
                let (one, other) = (one.fix(), other.fix());
                if one.local_minus_utc() >= other.local_minus_utc() {
                    (one, other)
                } else {
                    (other, one)
                }
            }
            chrono::LocalResult::None => {
                let before = local - chrono::TimeDelta::hours(3);
                let offset = Local
                    .offset_from_local_datetime(&before)
                    .earliest()
                    .map_or(*self.now().offset(), |o| o.fix());
                (offset, offset)
            }
        }
    }

    /// An instant on the clock here.
    #[must_use]
    pub fn here(&self, instant: DateTime<Utc>) -> DateTime<FixedOffset> {
        match self.fixed {
            Some(now) => instant.with_timezone(now.offset()),
            None => instant.with_timezone(&Local).fixed_offset(),
        }
    }

    /// A new id: a ULID of this moment, always above the last one made in this run, even if the
    /// clock was set back meanwhile.
    #[must_use]
    pub fn new_id(&self) -> Id {
        self.ids()()
    }

    /// New ids, all of this moment: those of one act.
    pub fn ids(&self) -> impl FnMut() -> Id + '_ {
        // Always the true moment: an id bears the time of writing, and later ones must come after.
        let ms = u64::try_from(Local::now().timestamp_millis()).unwrap_or(0);
        move || self.id_of(ms)
    }

    fn id_of(&self, ms: u64) -> Id {
        let fresh = Ulid::from_parts(ms, rand::rng().random());
        // A poisoned lock only means that another thread died; the id in it is still good.
        let mut last = self
            .last
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        let id = match *last {
            Some(before) if before >= fresh => before.increment().unwrap_or(fresh),
            _ => fresh,
        };
        *last = Some(id);
        Id::from_ulid(id.0)
    }

    /// So many characters of `[0-9a-z]` at random.
    #[must_use]
    pub fn random_text(&self, length: usize) -> String {
        let mut rng = rand::rng();
        let digit = |n: u32| char::from_digit(n, 36).unwrap_or('0');
        (0..length)
            .map(|_| digit(rng.random_range(0..36)))
            .collect()
    }

    /// A seed for a layout drawn by lot.
    #[must_use]
    pub fn seed(&self) -> u64 {
        rand::rng().random()
    }
}
