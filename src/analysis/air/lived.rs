//! The air that a batch lived in: its places' days put together over its stay, the degree-days of its medium, and what
//! batches lost at a place day by day. It judges nothing.

use super::sense::{AirSense, VpdBand, band, is_unrooted};
use super::{AirDay, AirSpell, LIGHT_COVER, LONGEST_GAP_S, days};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::past::{PlaceStay, last_day, stays};
use crate::model::at::At;
use crate::model::composite::Lost;
use crate::model::filter::GroupKey;
use crate::stats::air::{AIR_RANGE_C, DayRange, Reading, Window, above};
use chrono::{NaiveDate, Timelike};
use std::collections::{BTreeMap, HashMap};

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
    /// The places where it stood, each with its first and last day.
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

/// What a day's degree-days were computed from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WarmthSource {
    /// The area above the base between readings through at least three quarters of the day.
    Readings,
    /// A sine wave through the least and the most of a few readings (Baskerville & Emin 1969).
    Extremes,
    /// One reading less the base.
    One,
}

/// One day of the medium.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayWarmth {
    /// The day.
    pub day: NaiveDate,
    /// Degree-days above the base, °C × days, 0 up.
    pub degree_days: f64,
    /// What they were computed from.
    pub source: WarmthSource,
}

/// A day's readings of the medium: hours since 1970 on the local clock, and °C.
struct Read {
    day: NaiveDate,
    least: f64,
    most: f64,
    count: u32,
}

/// Degree-days above `base` °C of each day with a reading of the medium at a place, in order of days.
#[must_use]
pub fn warm(book: &Book, place: &str, base: f64) -> Vec<DayWarmth> {
    let (mut days, mut points): (Vec<Read>, Vec<Reading>) = (Vec::new(), Vec::new());
    for reading in book.readings(place) {
        let Some(medium) = reading.medium_c else {
            continue;
        };
        let day = reading.at.day();
        if days.last().is_none_or(|last| last.day != day) {
            days.push(Read {
                day,
                least: medium.0,
                most: medium.0,
                count: 0,
            });
        }
        if let Some(last) = days.last_mut() {
            last.least = last.least.min(medium.0);
            last.most = last.most.max(medium.0);
            last.count += 1;
        }
        if let At::Time(time) = reading.at {
            let local = time.naive_local();
            let seconds = f64::from(local.time().num_seconds_from_midnight());
            let at = midnight(local.date()) + seconds / 3600.0;
            // An hour that a clock set back brings twice is taken once.
            if points.last().is_none_or(|last| last.at < at) {
                points.push(Reading {
                    at,
                    value: medium.0,
                });
            }
        }
    }
    days.iter()
        .map(|read| of_day(read, &points, base))
        .collect()
}

/// Hours from 1970 to the start of a day.
fn midnight(day: NaiveDate) -> f64 {
    (day - NaiveDate::default()).num_days() as f64 * 24.0
}

fn of_day(read: &Read, points: &[Reading], base: f64) -> DayWarmth {
    let from = midnight(read.day);
    let window = Window {
        from,
        to: from + 24.0,
        longest_gap: LONGEST_GAP_S as f64 / 3600.0,
    };
    let spanned = above(points, window, base, None);
    let sine = || DayRange::new(read.least, read.most, base, None);
    let (degree_days, source) = if spanned.hours >= LIGHT_COVER * 24.0 {
        (spanned.mean().unwrap_or(0.0), WarmthSource::Readings)
    } else if let Some(day) = (read.count > 1).then(sine).and_then(Result::ok) {
        (day.single_sine(), WarmthSource::Extremes)
    } else {
        ((read.most - base).max(0.0), WarmthSource::One)
    };
    DayWarmth {
        day: read.day,
        degree_days,
        source,
    }
}

/// A day on which losses were found, or a batch was looked at without any.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LossDay {
    /// Lost by cause.
    pub lost: Lost,
    /// Cuttings that the looks of that day were about, before the losses.
    pub among: u32,
    /// Batches looked at.
    pub batches: u32,
}

/// What was found at a place on each day that anybody looked, from a day on and up to another.
#[must_use]
pub fn losses_at(
    book: &Book,
    place: &str,
    since: NaiveDate,
    until: NaiveDate,
) -> BTreeMap<NaiveDate, LossDay> {
    let key = book.places().key(place);
    let mut out = BTreeMap::new();
    for batch in book.batches() {
        if batch.stuck_on > until || last_day(batch, until) < since {
            continue;
        }
        let stays = stays(book, batch, last_day(batch, until).min(until));
        let here = stays.iter().filter(|stay| {
            let at = stay.place.as_deref();
            at.is_some_and(|at| book.places().key(at) == key)
        });
        for stay in here {
            let span = PlaceStay {
                from: stay.from.max(since),
                to: stay.to.min(until),
                ..stay.clone()
            };
            take(batch, &span, &mut out);
        }
    }
    out
}

fn take(batch: &Batch, span: &PlaceStay, out: &mut BTreeMap<NaiveDate, LossDay>) {
    for seen in within(&batch.inspections, span, |seen| seen.day) {
        let lost = seen.lost.total();
        let day: &mut LossDay = out.entry(seen.day).or_default();
        for (cause, n) in seen.lost.each() {
            day.lost.add(cause, n);
        }
        let gone = seen.discarded.iter().fold(0, |sum, (_, n)| sum + n);
        day.among += seen.remain + lost + seen.potted + gone;
        day.batches += 1;
    }
}
