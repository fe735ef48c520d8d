//! The air that a batch lived in: its places' days put together over its stay. It judges nothing.

use super::sense::{AirSense, VpdBand, band, is_unrooted};
use super::warm::{DayWarmth, warm};
use super::{AirDay, AirSpell, days};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::past::{PlaceStay, stays};
use crate::model::filter::GroupKey;
use crate::stats::air::AIR_RANGE_C;
use chrono::NaiveDate;
use std::collections::HashMap;

/// Base of degree-days in °C where neither taxon nor user gives one: common practice for hardy plants.
pub const USUAL_BASE_C: f64 = 5.0;

/// The air of a book's places, each worked out once when first asked for.
pub struct PlaceAirs<'a> {
    book: &'a Book,
    days: HashMap<String, Vec<AirDay>>,
    warm: HashMap<(String, u64), Vec<DayWarmth>>,
}

/// A sum over days, with how many there were.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DailySum {
    /// The sum.
    pub sum: f64,
    /// Days that it is over.
    pub days: u32,
}

impl DailySum {
    fn add(&mut self, value: Option<f64>) {
        if let Some(value) = value {
            self.sum += value;
            self.days += 1;
        }
    }

    /// The mean of a day.
    #[must_use]
    pub fn mean(&self) -> Option<f64> {
        (self.days > 0).then(|| self.sum / f64::from(self.days))
    }
}

/// What a stay comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchAir {
    /// Where, from when to when.
    pub stays: Vec<PlaceStay>,
    /// Days of the stay, both ends included.
    pub days: u32,
    /// Days with a reading of anything.
    pub read: u32,
    /// All its air together.
    pub air: AirSpell,
    /// Days whose air was drying, easy, wet, hot.
    pub senses: [u32; 4],
    /// Light, mol/m² a day, over days with light readings through three quarters of them.
    pub light: DailySum,
    /// Mist, seconds a day, over days on which its setting was noted.
    pub mist_s: DailySum,
    /// Water laid down by the mist, mm a day, where the place's nozzles and area are known.
    pub mist_mm: DailySum,
    /// Base of the degree-days, °C.
    pub base_c: f64,
    /// Degree-days of the medium, over days with a reading of it.
    pub warmth: DailySum,
}

/// What taxon and wood stage a batch is of, as one text: like is set beside like.
pub(super) fn kind(book: &Book, batch: &Batch) -> String {
    let wood = GroupKey::Wood.value_for(book, batch).unwrap_or_default();
    format!("{}\n{wood}", batch.taxon.key())
}

/// The base of a batch's degree-days: the one asked for, else its taxon's, else the usual.
#[must_use]
pub fn base_of(book: &Book, batch: &Batch, asked: Option<f64>) -> f64 {
    let own = || {
        let facts = book.taxa().get(&batch.taxon)?.facts.as_ref()?;
        facts.base_c.map(|base| base.0)
    };
    asked.or_else(own).unwrap_or(USUAL_BASE_C)
}

/// Whether a base can be used: a temperature that the formulas take.
#[must_use]
pub fn is_base(base: f64) -> bool {
    (AIR_RANGE_C.0..=AIR_RANGE_C.1).contains(&base)
}

impl<'a> PlaceAirs<'a> {
    /// The book that they are of.
    #[must_use]
    pub fn book(&self) -> &'a Book {
        self.book
    }

    /// Of a book; nothing is worked out yet.
    #[must_use]
    pub fn new(book: &'a Book) -> Self {
        Self {
            book,
            days: HashMap::new(),
            warm: HashMap::new(),
        }
    }

    /// The days of a place.
    pub fn days(&mut self, place: &str) -> &[AirDay] {
        let (book, key) = (self.book, self.book.places().key(place));
        self.days
            .entry(key)
            .or_insert_with(|| days(book, place, None, None))
    }

    /// The degree-days of a place's medium above a base in °C.
    pub fn warm(&mut self, place: &str, base: f64) -> &[DayWarmth] {
        let (book, key) = (self.book, self.book.places().key(place));
        self.warm
            .entry((key, base.to_bits()))
            .or_insert_with(|| warm(book, place, base))
    }

    /// What a batch lived in from its sticking up to and on a day, degree-days above `base` °C.
    #[must_use]
    pub fn lived(&mut self, batch: &Batch, until: NaiveDate, base: f64) -> BatchAir {
        let stays = stays(self.book, batch, until);
        let whole = (until - batch.stuck_on).num_days() + 1;
        let mut lived = BatchAir {
            stays: Vec::new(),
            days: u32::try_from(whole).unwrap_or(0),
            read: 0,
            air: AirSpell::default(),
            senses: [0; 4],
            light: DailySum::default(),
            mist_s: DailySum::default(),
            mist_mm: DailySum::default(),
            base_c: base,
            warmth: DailySum::default(),
        };
        for stretch in &stays {
            if let Some(place) = &stretch.place {
                self.take(&mut lived, batch, place, stretch);
            }
        }
        lived.stays = stays;
        lived
    }

    fn take(&mut self, lived: &mut BatchAir, batch: &Batch, place: &str, stretch: &PlaceStay) {
        let facts = self
            .book
            .places()
            .get(place)
            .and_then(|place| place.facts.clone());
        let flow = facts.as_ref().and_then(|facts| {
            let flow = f64::from(facts.nozzles?) * facts.nozzle_l_h?.0;
            Some((flow, facts.area_m2?.0))
        });
        for day in within(self.days(place), stretch, |day| day.day) {
            lived.read += 1;
            lived.air.merge(&day.air);
            let band = band(facts.as_ref(), is_unrooted(batch, day.day));
            if let Some(sense) = sense(day, &band) {
                lived.senses[sense as usize] += 1;
            }
            lived.light.add(day.air.light_mol());
            let duty = day.air.duty.value();
            lived.mist_s.add(duty.map(|duty| duty * 86_400.0));
            let depth = flow.and_then(|(flow, area)| day.air.depth_mm(flow, area));
            lived.mist_mm.add(depth);
        }
        let base = lived.base_c;
        for day in within(self.warm(place, base), stretch, |day| day.day) {
            lived.warmth.add(Some(day.degree_days));
        }
    }
}

/// A day's air in a word: hot if it was so at any reading, else by the day's mean deficit.
#[must_use]
pub fn sense(day: &AirDay, band: &VpdBand) -> Option<AirSense> {
    let most = |mean: &super::TimeMean| mean.range().map(|(_, most)| most);
    let (air, medium) = (most(&day.air.air_c), most(&day.air.medium_c));
    AirSense::judge(air, medium, day.air.vpd_kpa.value(), band)
}

/// Those of a list in order of days that lie in a stretch.
pub(super) fn within<'d, T>(
    list: &'d [T],
    stretch: &PlaceStay,
    day: impl Fn(&T) -> NaiveDate,
) -> &'d [T] {
    let from = list.partition_point(|item| day(item) < stretch.from);
    let to = list.partition_point(|item| day(item) <= stretch.to);
    &list[from..to.max(from)]
}
