//! Draws the air: the chosen place and as many after it as fit with their days on a ruler, the others a line each.
//! A day is a sign by shape alone: `!` hot, `^` drying, `-` easy, `_` wet. It computes nothing.

use super::history::{AirHistory, PlaceAir, SPAN};
use crate::analysis::air::sense::AirSense;
use crate::model::listed::Cause;
use crate::text::clean::fit_ends;
use crate::text::dates::day_month;
use crate::text::figures::Degrees;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::common::Common;
use chrono::{Days, NaiveDate};

/// Least columns of the words before the days, and most, for the names of places.
const LABEL: usize = 8;
const LONG_LABEL: usize = 16;
/// Most columns for a day.
const WIDEST: usize = 4;
/// Rows of a place drawn as ruler lines, and as a chart.
const LOW: usize = 8;
const TALL: usize = 13;
/// Rows from which the chosen place is drawn as a chart.
const ROOM: usize = 16;
/// The medium that roots easily, °C (Furuta, *University of California Leaflet* 2560: 18 to 24 °C).
pub const MEDIUM: (f64, f64) = (18.0, 24.0);

/// Draws the air of all places, the chosen one marked.
pub fn air(told: &AirHistory, chosen: usize, common: &Common, canvas: &mut Canvas<'_>) {
    let height = canvas.height();
    let tall = height >= ROOM;
    let block = if tall { TALL } else { LOW };
    let count = told.places.len();
    // The others take a line each, but where there is no room for them.
    let lines = if tall { count - 1 } else { 0 };
    let whole = (height.saturating_sub(lines.min(height / 3)) / block).clamp(1, count);
    let first = chosen.min(count - whole);
    let mut row = 0;
    for (at, place) in told.places.iter().enumerate().skip(first).take(whole) {
        let scale = Scale::new(told, canvas.width());
        let mut part = canvas.rows(row, block);
        draw_place(place, at == chosen, tall, &scale, common, &mut part);
        row += block;
    }
    let others = told.places.iter().enumerate();
    let others = others.filter(|(at, _)| !(first..first + whole).contains(at));
    for (_, place) in others {
        if row >= height {
            break;
        }
        let scale = Scale::new(told, canvas.width());
        let name = fit_ends(&place.name, scale.label - 1, 2, canvas.ink().glyphs);
        scale.senses(place, row, &name, canvas);
        row += 1;
    }
}

/// Where days stand.
struct Scale {
    from: NaiveDate,
    /// Columns before the first day.
    label: usize,
    /// Columns of a day.
    wide: usize,
}

impl Scale {
    fn new(told: &AirHistory, width: usize) -> Self {
        let wide = width.saturating_sub(LABEL) / SPAN as usize;
        let wide = wide.clamp(1, WIDEST);
        // What the days leave is for the names.
        let spare = width.saturating_sub(wide * SPAN as usize);
        Self {
            from: told.from,
            label: spare.clamp(LABEL, LONG_LABEL),
            wide,
        }
    }

    fn column(&self, day: usize) -> usize {
        self.label + day * self.wide
    }

    fn day(&self, at: usize) -> NaiveDate {
        self.from + Days::new(at as u64)
    }

    /// A row of one sign a day.
    fn row(
        &self,
        row: usize,
        label: &str,
        canvas: &mut Canvas<'_>,
        sign: impl Fn(usize) -> Option<(String, Tone)>,
    ) {
        canvas.text(row, 0, label, Tone::Plain);
        for at in 0..SPAN as usize {
            if let Some((text, meaning)) = sign(at) {
                canvas.text(row, self.column(at), &text, meaning);
            }
        }
    }

    /// The air of each day by its word's sign.
    fn senses(&self, place: &PlaceAir, row: usize, label: &str, canvas: &mut Canvas<'_>) {
        self.row(row, label, canvas, |at| {
            let sense = (*place.days.get(at)?)?.sense?;
            Some((sign(sense).to_owned(), ink(sense)))
        });
    }
}

fn sign(sense: AirSense) -> &'static str {
    match sense {
        AirSense::Drying => "^",
        AirSense::Easy => "-",
        AirSense::Wet => "_",
        AirSense::Hot => "!",
    }
}

fn ink(sense: AirSense) -> Tone {
    match sense {
        AirSense::Easy => Tone::Rooted,
        AirSense::Drying | AirSense::Wet | AirSense::Hot => Tone::Pressing,
    }
}

fn draw_place(
    place: &PlaceAir,
    chosen: bool,
    tall: bool,
    scale: &Scale,
    common: &Common,
    canvas: &mut Canvas<'_>,
) {
    heading(place, chosen, canvas);
    let mut row = 1;
    if tall {
        chart(place, row, scale, canvas);
        row += 5;
    } else {
        scale.senses(place, row, "air", canvas);
        row += 1;
    }
    scale.row(row, "medium", canvas, |at| {
        let medium = (*place.days.get(at)?)?.medium?;
        Some(match medium {
            m if m > MEDIUM.1 => ("^".to_owned(), Tone::Pressing),
            m if m < MEDIUM.0 => ("_".to_owned(), Tone::Pressing),
            _ => ("-".to_owned(), Tone::Plain),
        })
    });
    scale.row(row + 1, "changed", canvas, |at| {
        let letters = place.changed.get(&scale.day(at))?;
        let shown: String = letters.chars().take(scale.wide).collect();
        Some((shown, Tone::Key))
    });
    scale.row(row + 2, "lost", canvas, |at| {
        lost(place, scale.day(at), scale.wide)
    });
    scale.row(row + 3, "of", canvas, |at| {
        let found = place.found.get(&scale.day(at))?;
        Some((letter(worst(found)?).to_owned(), Tone::Lost))
    });
    ruler(row + 4, scale, canvas);
    let latest = latest(place, common);
    canvas.text(row + 5, 2, &latest, Tone::Plain);
    if tall {
        canvas.text(row + 6, 2, &sum(place), Tone::Plain);
    }
}

fn heading(place: &PlaceAir, chosen: bool, canvas: &mut Canvas<'_>) {
    let mark = if chosen { ">" } else { " " };
    let end = canvas.text(0, 0, &format!("{mark} {}", place.name), Tone::Heading);
    let band = format!(
        ", easy {} to {} kPa",
        place.band.low_kpa, place.band.high_kpa
    );
    let end = canvas.text(0, end, &band, Tone::Plain);
    // The signs are told where there is room.
    canvas.right(0, end + 2, "! hot  ^ drying  - easy  _ wet", Tone::Plain);
}

/// Five levels of VPD: twice over the band, over it, its upper half, its lower half, under it.
fn chart(place: &PlaceAir, top: usize, scale: &Scale, canvas: &mut Canvas<'_>) {
    let (low, high) = (place.band.low_kpa, place.band.high_kpa);
    let middle = 0.5 * (low + high);
    let floors = [high + (high - low), high, middle, low, f64::NEG_INFINITY];
    let level = |vpd: f64| floors.iter().position(|floor| vpd > *floor).unwrap_or(4);
    for (at, floor) in floors.iter().enumerate() {
        let label = match at {
            4 => "wet".to_owned(),
            1 => format!("{floor:.2} kPa"),
            _ => format!("{floor:.2}"),
        };
        canvas.text(top + at, 0, &label, Tone::Plain);
    }
    for day in 0..SPAN as usize {
        let column = scale.column(day);
        let air = place.days.get(day).copied().flatten();
        let vpd = air.and_then(|air| air.vpd);
        for row in 0..5 {
            let within = (2..4).contains(&row);
            let blank = if within { "." } else { "" };
            let (text, meaning) = match vpd {
                Some((mean, ..)) if level(mean) == row => {
                    let sense = air.and_then(|air| air.sense).unwrap_or(AirSense::Easy);
                    (mark(sense), ink(sense))
                }
                Some((_, least, most)) if (level(most)..=level(least)).contains(&row) => {
                    ("|", Tone::Plain)
                }
                _ => (blank, Tone::Plain),
            };
            canvas.text(top + row, column, text, meaning);
        }
    }
}

/// The mark of a day's mean: its level says how far, its shape which way.
fn mark(sense: AirSense) -> &'static str {
    match sense {
        AirSense::Easy => "o",
        other => sign(other),
    }
}

/// How many were found lost: `0` where a look found none, `#` where the number is too wide.
fn lost(place: &PlaceAir, day: NaiveDate, wide: usize) -> Option<(String, Tone)> {
    let found = place.found.get(&day)?;
    let count = found.lost.total();
    let text = count.to_string();
    // Two numbers must not run into one.
    let alone = !place.found.contains_key(&(day + Days::new(1)));
    let room = if alone { 2 * wide - 1 } else { wide.max(2) - 1 };
    let fits = text.len() <= room;
    let meaning = if count == 0 { Tone::Plain } else { Tone::Lost };
    Some((if fits { text } else { "#".to_owned() }, meaning))
}

fn worst(found: &crate::analysis::air::lived::LossDay) -> Option<Cause> {
    let most = found.lost.each().filter(|(_, n)| *n > 0);
    most.max_by_key(|(_, n)| *n).map(|(cause, _)| cause)
}

/// The letter of a cause, as on the look pad.
fn letter(cause: Cause) -> &'static str {
    match cause {
        Cause::Blackened => "k",
        Cause::Wilted => "w",
        Cause::Mould => "m",
        Cause::Eaten => "e",
        Cause::Winter => "v",
        Cause::Other => "o",
        Cause::Unknown => "x",
    }
}

/// The ruler: a date each week, on its day.
fn ruler(row: usize, scale: &Scale, canvas: &mut Canvas<'_>) {
    for week in (0..SPAN as usize).step_by(7) {
        let text = format!("'{}", day_month(scale.day(week)));
        canvas.text(row, scale.column(week), &text, Tone::Plain);
    }
}

/// The last reading in words.
fn latest(place: &PlaceAir, common: &Common) -> String {
    let Some((at, climate)) = &place.last else {
        return "no reading yet; c notes one".to_owned();
    };
    let degrees = Degrees::of_book(&common.book);
    let today = at.local().filter(|local| local.date() == common.today());
    let when = today.map(|local| local.format("%H:%M").to_string());
    let mut said = vec![when.unwrap_or_else(|| common.calendar().at(at))];
    if let Some((vpd, sense)) = place.now() {
        said.push(format!("{} {vpd:.2} kPa", sense.word()));
    }
    said.extend(climate.air_c.map(|air| degrees.in_words(air.0)));
    said.extend(climate.rh_pct.map(|rh| format!("{:.0} % rh", rh.0)));
    said.extend(
        climate
            .medium_c
            .map(|medium| format!("medium {:.1}", degrees.number(medium.0))),
    );
    if let Some((on, every)) = climate.mist_on_s.zip(climate.mist_every_s) {
        said.push(format!(
            "mist {:.0} s every {:.0} min",
            on.0,
            every.0 / 60.0
        ));
    }
    said.extend(climate.vent.as_ref().map(|vent| format!("vent {vent}")));
    said.join(", ")
}

/// What was lost in these days, by cause.
fn sum(place: &PlaceAir) -> String {
    let mut lost = crate::model::composite::Lost::default();
    for found in place.found.values() {
        for (cause, n) in found.lost.each() {
            lost.add(cause, n);
        }
    }
    if place.found.is_empty() {
        return "no look here in these days".to_owned();
    }
    if lost.total() == 0 {
        return "no loss found here in these days".to_owned();
    }
    let each = lost.each().filter(|(_, n)| *n > 0);
    let each: Vec<String> = each
        .map(|(cause, n)| format!("{n} {} ({})", cause.word(), letter(cause)))
        .collect();
    format!("lost: {}", each.join(", "))
}
