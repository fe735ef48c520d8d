//! What the air screen shows of each place: days of air, what was changed there, what its batches lost. Worked out
//! of the book off the input path; it draws nothing.

use crate::analysis::air::lived::sense;
use crate::analysis::air::lived::{LossDay, losses_at};
use crate::analysis::air::sense::{AirSense, VpdBand, place_band};
use crate::analysis::air::{AirFigures, days};
use crate::fold::Book;
use crate::fold::climate::ClimateReading;
use crate::fold::names::Place;
use crate::model::at::At;
use crate::model::entry::{Climate, Treat};
use crate::model::listed::Treatment;
use chrono::{Days, NaiveDate};
use std::collections::BTreeMap;

/// How many days a screen shows.
pub const SPAN: u32 = 28;

/// A day's air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayAir {
    /// Mean VPD with its least and most, kPa.
    pub vpd: Option<(f64, f64, f64)>,
    /// Its word.
    pub sense: Option<AirSense>,
    /// Mean medium, °C.
    pub medium: Option<f64>,
}

/// A place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceAir {
    /// Its name.
    pub name: String,
    /// When its air is easy.
    pub band: VpdBand,
    /// Its days from the first, those without a reading empty.
    pub days: Vec<Option<DayAir>>,
    /// What was changed there, by day: letters of [`letter`], each once.
    pub changed: BTreeMap<NaiveDate, String>,
    /// What was found lost there.
    pub found: BTreeMap<NaiveDate, LossDay>,
    /// The last reading up to the last day.
    pub last: Option<(At, Climate)>,
}

impl PlaceAir {
    /// The last reading's VPD and its word.
    #[must_use]
    pub fn now(&self) -> Option<(f64, AirSense)> {
        let (at, climate) = self.last.as_ref()?;
        let vpd = AirFigures::from_reading(&ClimateReading::from_entry(*at, climate)).vpd_kpa?;
        let degrees = |value: Option<crate::model::value::Celsius>| value.map(|t| t.0);
        let (air, medium) = (degrees(climate.air_c), degrees(climate.medium_c));
        Some((vpd, AirSense::judge(air, medium, Some(vpd), &self.band)?))
    }
}

/// All places over some days.
#[derive(Clone, Debug, PartialEq)]
pub struct AirHistory {
    /// The first day.
    pub from: NaiveDate,
    /// The last.
    pub to: NaiveDate,
    /// The places: those where batches stand first, then those with a reading in these days.
    pub places: Vec<PlaceAir>,
}

/// The letter of what was done: mist, vent, uncovered, weaned, shaded, heated, watered, cleaned.
#[must_use]
pub fn letter(deed: Treatment) -> Option<char> {
    Some(match deed {
        Treatment::Mist => 'm',
        Treatment::Vent => 'v',
        Treatment::Uncover => 'u',
        Treatment::Wean => 'n',
        Treatment::Shade => 's',
        Treatment::Heat => 'h',
        Treatment::Water => 'a',
        Treatment::Clean => 'c',
        _ => return None,
    })
}

/// What the book says of all places up to a day, and the [`SPAN`] days before it.
#[must_use]
pub fn air_history(book: &Book, to: NaiveDate) -> AirHistory {
    let from = to - Days::new(u64::from(SPAN) - 1);
    let open = |name: &str| {
        let key = book.places().key(name);
        let stands = |place: &str| book.places().key(place) == key;
        book.batches()
            .iter()
            .any(|batch| batch.is_open() && batch.place.as_deref().is_some_and(stands))
    };
    let mut places: Vec<(bool, PlaceAir)> = Vec::new();
    for place in book.places().all() {
        let closed = place.facts.as_ref().and_then(|facts| facts.closed);
        let is_open = open(&place.name) && closed != Some(true);
        let air = of_place(book, place, from, to);
        let speaks = air.days.iter().any(Option::is_some) || !air.found.is_empty();
        if is_open || speaks {
            places.push((!is_open, air));
        }
    }
    places.sort_by_key(|(rank, _)| *rank);
    AirHistory {
        from,
        to,
        places: places.into_iter().map(|(_, place)| place).collect(),
    }
}

fn of_place(book: &Book, place: &Place, from: NaiveDate, to: NaiveDate) -> PlaceAir {
    let band = place_band(book, place, to);
    let name = place.name.as_str();
    let mut list = vec![None; SPAN as usize];
    for day in days(book, name, Some(from), Some(to)) {
        let vpd = day.air.vpd_kpa.value().zip(day.air.vpd_kpa.range());
        let at = usize::try_from((day.day - from).num_days()).unwrap_or(usize::MAX);
        if let Some(slot) = list.get_mut(at) {
            *slot = Some(DayAir {
                vpd: vpd.map(|(mean, (least, most))| (mean, least, most)),
                sense: sense(&day, &band),
                medium: day.air.medium_c.value(),
            });
        }
    }
    let last = book.readings(name).until(to).next_back();
    PlaceAir {
        name: name.to_owned(),
        band,
        days: list,
        changed: changed(book, name, from, to),
        found: losses_at(book, name, from, to),
        last: last.map(|reading| (reading.at, reading.to_climate())),
    }
}

/// Settings of mist and vent that differ from those noted before, and treatments of the place.
fn changed(book: &Book, name: &str, from: NaiveDate, to: NaiveDate) -> BTreeMap<NaiveDate, String> {
    let mut out: BTreeMap<NaiveDate, String> = BTreeMap::new();
    let mut mark = |day: NaiveDate, letter: char| {
        let letters = out.entry(day).or_default();
        if !letters.contains(letter) {
            letters.push(letter);
        }
    };
    let (mut mist, mut vent): (Option<f64>, Option<String>) = (None, None);
    // A week before, so that a change on the first day is seen as one.
    let before = from - Days::new(7);
    for reading in book.readings(name).since(before).until(to) {
        let day = reading.at.day();
        if let Some(duty) = AirFigures::from_reading(&reading).duty {
            let other = mist.is_some_and(|held| (held - duty).abs() > 1e-9);
            if other && day >= from {
                mark(day, 'm');
            }
            mist = Some(duty);
        }
        if let Some(words) = reading.vent {
            let other = vent.as_deref().is_some_and(|held| held != words);
            if other && day >= from {
                mark(day, 'v');
            }
            vent = Some(words.to_owned());
        }
    }
    for standing in book.treatments_at(name) {
        let day = standing.entry.at.day();
        let Some(treat) = standing.entry.get::<Treat>() else {
            continue;
        };
        if let Some(letter) = letter(treat.what).filter(|_| (from..=to).contains(&day)) {
            mark(day, letter);
        }
    }
    out
}
