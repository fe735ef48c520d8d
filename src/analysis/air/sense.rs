//! The air in a word: hot, drying, easy or wet, by warmth and by a band of vapour pressure deficit; and a mist interval
//! that might be tried. It orders nothing.

use super::AirFigures;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::names::Place;
use crate::model::entry::PlaceFacts;
use crate::model::listed::{Cover, Wood};
use chrono::{Days, NaiveDate, Timelike};
use std::collections::BTreeMap;

/// Air above this many °C under a cover is hot, whatever its deficit (common practice: shade and vent above 30 °C).
pub const HOT_AIR_C: f64 = 30.0;
/// Medium above this many °C under a cover is hot (common practice: rooting media are kept at 18 to 24 °C, and roots
/// and callus suffer well above that).
pub const HOT_MEDIUM_C: f64 = 27.0;

/// A band of vapour pressure deficit in kPa, and where it is from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VpdBand {
    /// Below this the air is wet.
    pub low_kpa: f64,
    /// Above this it dries.
    pub high_kpa: f64,
    /// Whether a cover holds the air in, so that heat is judged before the deficit.
    pub covered: bool,
    /// Its source in words.
    pub source: &'static str,
}

/// For leafy cuttings under mist. The upper end: cuttings rooted at 80 % or more at mean deficits of 0.60
/// to 0.85 kPa from 10 to 18 h (LeBude, Goldfarb, Blazich, Wright, Cazell, Wise & Frampton 2005,
/// *HortScience* 40:1448, loblolly pine under mist). The lower end is common practice.
pub const MIST: VpdBand = VpdBand {
    low_kpa: 0.2,
    high_kpa: 0.85,
    covered: true,
    source: "upper end LeBude et al. 2005, HortScience 40:1448 (one conifer under mist); lower end common practice",
};
/// For fog, which is meant to hold the air at 90 to 100 % humidity: it is never too wet (common practice).
pub const FOG: VpdBand = VpdBand {
    low_kpa: 0.0,
    high_kpa: 0.4,
    covered: true,
    source: "common practice in fog, which keeps the air near saturation",
};
/// For closed covers, where no mist wets the leaves and the air is near saturation by design (common practice).
pub const CLOSED: VpdBand = VpdBand {
    low_kpa: 0.02,
    high_kpa: 0.5,
    covered: true,
    source: "common practice where the cover keeps the air in",
};
/// For rooted plants on open benches: the general greenhouse range (an encyclopaedia's, second-hand).
pub const OPEN: VpdBand = VpdBand {
    low_kpa: 0.45,
    high_kpa: 1.25,
    covered: false,
    source: "general greenhouse range for rooted plants, second-hand",
};
/// For unrooted leafy cuttings on an open bench: they lose water as under mist and get none back.
pub const OPEN_UNROOTED: VpdBand = VpdBand {
    low_kpa: MIST.low_kpa,
    high_kpa: MIST.high_kpa,
    covered: false,
    source: "as under mist, since cuttings without roots stand here (common practice)",
};

/// The band of a place: the grower's own where it is set, else by its cover, else that under mist. `unrooted`: leafy
/// cuttings without roots stand there.
#[must_use]
pub fn band(place: Option<&PlaceFacts>, unrooted: bool) -> VpdBand {
    let cover = place.and_then(|p| p.cover);
    let usual = match (cover, unrooted) {
        (Some(Cover::Open), false) => OPEN,
        (Some(Cover::Open), true) => OPEN_UNROOTED,
        (Some(Cover::Case | Cover::Frame | Cover::Box | Cover::Film | Cover::Tent), _) => CLOSED,
        (Some(Cover::Fog), _) => FOG,
        (Some(Cover::Mist) | None, _) => MIST,
    };
    let (low, high) = (
        place.and_then(|p| p.vpd_low_kpa),
        place.and_then(|p| p.vpd_high_kpa),
    );
    VpdBand {
        low_kpa: low.map_or(usual.low_kpa, |v| v.0),
        high_kpa: high.map_or(usual.high_kpa, |v| v.0),
        covered: usual.covered,
        source: match (low, high) {
            (None, None) => usual.source,
            (Some(_), Some(_)) => "your own",
            _ => "one end your own, the other as usual",
        },
    }
}

/// The band of a place by what stands there on a day.
#[must_use]
pub fn place_band(book: &Book, place: &Place, on: NaiveDate) -> VpdBand {
    let key = book.places().key(&place.name);
    let unrooted = book.batches().iter().any(|batch| {
        let stands = batch.place.as_deref();
        let here = stands.is_some_and(|name| book.places().key(name) == key);
        here && batch.is_open() && is_unrooted(batch, on)
    });
    band(place.facts.as_ref(), unrooted)
}

/// Whether a batch is of leafy cuttings of which, as last seen up to a day, fewer than half had rooted.
#[must_use]
pub fn is_unrooted(batch: &Batch, on: NaiveDate) -> bool {
    let seen = batch.inspections.iter().rev().filter(|it| it.day <= on);
    let mut tallies = seen.filter_map(|it| it.tally.as_ref());
    let rooted = tallies.find_map(|tally| Some(2 * tally.root.or(tally.bottom)? >= tally.seen));
    batch.stick.wood != Some(Wood::Hardwood) && !rooted.unwrap_or(false)
}

/// How the air is for cuttings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AirSense {
    /// Above the band.
    Drying,
    /// Within it.
    Easy,
    /// Below it.
    Wet,
    /// Under a cover, warmer than cuttings stand.
    Hot,
}

impl AirSense {
    /// By warmth first, under a cover, and then by the deficit in kPa; nothing where neither is known.
    #[must_use]
    pub fn judge(
        air_c: Option<f64>,
        medium_c: Option<f64>,
        vpd_kpa: Option<f64>,
        band: &VpdBand,
    ) -> Option<Self> {
        let above = |value: Option<f64>, limit: f64| value.is_some_and(|v| v > limit);
        if band.covered && (above(air_c, HOT_AIR_C) || above(medium_c, HOT_MEDIUM_C)) {
            return Some(Self::Hot);
        }
        vpd_kpa.map(|vpd| Self::at_deficit(vpd, band))
    }

    /// The sense of air by its vapour pressure deficit (kPa) alone.
    #[must_use]
    pub fn at_deficit(vpd_kpa: f64, band: &VpdBand) -> Self {
        if vpd_kpa > band.high_kpa {
            Self::Drying
        } else if vpd_kpa < band.low_kpa {
            Self::Wet
        } else {
            Self::Easy
        }
    }

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Drying => "drying",
            Self::Easy => "easy",
            Self::Wet => "wet",
            Self::Hot => "hot",
        }
    }
}

/// The hours of the day that count as light, from and before. LeBude et al. 2005 (*HortScience* 40:1448) judged the
/// air from 10 to 18 h; mornings are added by common practice.
pub const LIGHT_HOURS: (u32, u32) = (8, 18);
/// In each of these parts of the light hours a day must have a reading: morning, midday, afternoon.
const PARTS: [(u32, u32); 3] = [(8, 11), (11, 14), (14, 18)];
/// Fewer days than this give no hint.
pub const FEWEST_DAYS: usize = 3;
/// Days looked back over.
const LOOKED_BACK: u64 = 7;
/// The interval is changed by this share at most.
const MOST_CHANGE: f64 = 0.25;

/// An interval to try, and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MistHint {
    /// Drying or wet.
    pub sense: AirSense,
    /// The interval as last noted, seconds.
    pub every_s: f64,
    /// The interval that might be tried, seconds.
    pub try_every_s: f64,
    /// Days with readings through their light hours.
    pub days: usize,
    /// The last of them.
    pub last: NaiveDate,
    /// Warmest air of their light hours, °C.
    pub warmest_c: f64,
}

/// One day's light hours.
#[derive(Default)]
struct LightDay {
    parts: [bool; 3],
    vpd: Vec<f64>,
    warmest_c: f64,
}

/// A hint for a place from the week up to a day, if its light hours were plainly drying or wet on every day that was
/// read through.
#[must_use]
pub fn mist_hint(book: &Book, place: &str, band: &VpdBand, until: NaiveDate) -> Option<MistHint> {
    let since = until - Days::new(LOOKED_BACK - 1);
    let mut days: BTreeMap<NaiveDate, LightDay> = BTreeMap::new();
    let (mut every, mut latest_c) = (None, None);
    for reading in book.readings(place).since(since).until(until) {
        if let Some((on, each)) = reading.mist_on_s.zip(reading.mist_every_s) {
            every = (on.0 > 0.0).then_some(each.0);
        }
        latest_c = reading.air_c.map(|t| t.0).or(latest_c);
        let vpd = AirFigures::from_reading(&reading).vpd_kpa;
        let (Some(local), Some(vpd), Some(air)) = (reading.at.local(), vpd, reading.air_c) else {
            continue;
        };
        let hour = local.hour();
        let Some(part) = PARTS
            .iter()
            .position(|(from, to)| (*from..*to).contains(&hour))
        else {
            continue;
        };
        let day = days.entry(local.date()).or_default();
        day.parts[part] = true;
        day.vpd.push(vpd);
        day.warmest_c = match day.vpd.len() {
            1 => air.0,
            _ => day.warmest_c.max(air.0),
        };
    }
    days.retain(|_, day| day.parts == [true; 3]);
    let (last, _) = days.last_key_value()?;
    let warmest_c = days
        .values()
        .map(|day| day.warmest_c)
        .fold(f64::NEG_INFINITY, f64::max);
    let hint = |sense, try_every_s| MistHint {
        sense,
        every_s: every.unwrap_or_default(),
        try_every_s,
        days: days.len(),
        last: *last,
        warmest_c,
    };
    let every = every.filter(|_| days.len() >= FEWEST_DAYS)?;
    let means: Vec<f64> = days
        .values()
        .map(|day| day.vpd.iter().sum::<f64>() / day.vpd.len() as f64)
        .collect();
    let mean = means.iter().sum::<f64>() / means.len() as f64;
    let all = |sense| {
        means
            .iter()
            .all(|vpd| AirSense::at_deficit(*vpd, band) == sense)
    };
    if all(AirSense::Drying) {
        let shorter = every * (band.high_kpa / mean).max(1.0 - MOST_CHANGE);
        let tried = (shorter / step(every)).ceil() * step(every);
        return (tried < every).then(|| hint(AirSense::Drying, tried));
    }
    // One drying hour, heat, or weather warmer now than on those days, and nothing is lengthened.
    let dry = days
        .values()
        .flat_map(|day| &day.vpd)
        .any(|vpd| *vpd > band.high_kpa);
    let warmer = latest_c.is_some_and(|now| now > warmest_c);
    if !all(AirSense::Wet) || dry || warmer || warmest_c > HOT_AIR_C {
        return None;
    }
    let longer = match mean > 0.0 {
        true => every * (band.low_kpa / mean).min(1.0 + MOST_CHANGE),
        false => every * (1.0 + MOST_CHANGE),
    };
    let tried = (longer / step(every)).floor() * step(every);
    (tried > every).then(|| hint(AirSense::Wet, tried))
}

/// Seconds that timers are set by: half minutes, and finer below four minutes.
fn step(every_s: f64) -> f64 {
    if every_s >= 240.0 { 30.0 } else { 5.0 }
}
