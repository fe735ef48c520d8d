//! `climate [PLACE]`: the air of each place day by day, in figures and in a word.

use crate::analysis::air::lived::sense;
use crate::analysis::air::sense::{AirSense, VpdBand, place_band};
use crate::analysis::air::sense::{LIGHT_HOURS, MistHint, mist_hint};
use crate::analysis::air::{AirDay, days};
use crate::app::failure::Failure;
use crate::cli::context::Context;
use crate::cli::csv_writer::csv_of_json;
use crate::cli::output::Exit;
use crate::fold::Book;
use crate::fold::names::Place;
use crate::text::figures::Degrees;
use crate::text::mixing::figure;
use crate::text::table::{Column, table};
use chrono::NaiveDate;
use clap::Args;
use serde::Serialize;

/// The heading of the water laid down.
const MIST: &str = "mist mm";

/// Days shown where none are asked for.
const LAST: u64 = 14;

/// The arguments of `climate`: which days of which places.
#[derive(Args, Debug)]
pub struct ClimateDaysArguments {
    /// Only this place
    #[arg(value_name = "PLACE")]
    of: Vec<String>,
    /// From this day on; else each place's last fortnight
    #[arg(long, value_name = "DAY")]
    since: Option<String>,
    /// Up to this day
    #[arg(long, value_name = "DAY")]
    until: Option<String>,
    /// As CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// The answer: the air of the places that are meant.
#[derive(Serialize)]
struct ClimateDays {
    places: Vec<PlaceDays>,
}

/// A place's days with its band.
#[derive(Serialize)]
struct PlaceDays {
    place: String,
    band: BandAnswer,
    mist_hint: Option<MistHintAnswer>,
    days: Vec<DayAnswer>,
}

/// A row of the CSV.
#[derive(Serialize)]
struct PlaceDay<'a> {
    place: &'a PlaceDays,
    day: &'a DayAnswer,
}

/// The columns of the CSV, a row a place and day.
const COLUMNS: [&str; 19] = [
    "place.place as place",
    "place.band.low_kpa as band_low_kpa",
    "place.band.high_kpa as band_high_kpa",
    "day.day as day",
    "day.sense as sense",
    "day.readings as readings",
    "day.gaps as gaps",
    "day.vpd_kpa as vpd_kpa",
    "day.vpd_range_kpa.0 as vpd_least_kpa",
    "day.vpd_range_kpa.1 as vpd_most_kpa",
    "day.leaf_vpd_kpa as leaf_vpd_kpa",
    "day.air_c as air_c",
    "day.rh_pct as rh_pct",
    "day.dew_c as dew_c",
    "day.wet_bulb_c as wet_bulb_c",
    "day.medium_c as medium_c",
    "day.light_mol as light_mol",
    "day.mist_duty as mist_duty",
    "day.mist_mm as mist_mm",
];

/// The band in which the air is called easy, in kPa.
#[derive(Serialize)]
struct BandAnswer {
    low_kpa: f64,
    high_kpa: f64,
    source: &'static str,
}

/// An interval of the mist to try, in seconds.
#[derive(Serialize)]
struct MistHintAnswer {
    sense: &'static str,
    every_s: f64,
    try_every_s: f64,
    days: usize,
    last: NaiveDate,
    light_hours: [u32; 2],
    warmest_c: f64,
}

/// A day's air: means over time and ranges; light in mol/m², mist as a share of the time and in mm.
#[derive(Serialize)]
struct DayAnswer {
    day: NaiveDate,
    sense: Option<&'static str>,
    readings: u32,
    gaps: u32,
    vpd_kpa: Option<f64>,
    vpd_range_kpa: Option<(f64, f64)>,
    leaf_vpd_kpa: Option<f64>,
    air_c: Option<f64>,
    rh_pct: Option<f64>,
    dew_c: Option<f64>,
    wet_bulb_c: Option<f64>,
    medium_c: Option<f64>,
    light_mol: Option<f64>,
    mist_duty: Option<f64>,
    mist_mm: Option<f64>,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &ClimateDaysArguments) -> Result<Exit, Failure> {
    let day = |text: &Option<String>| text.as_deref().map(|t| context.day(t)).transpose();
    let (since, until) = (day(&arguments.since)?, day(&arguments.until)?);
    let desk = context.open()?;
    let book = desk.book();
    let mut places: Vec<PlaceDays> = Vec::new();
    for place in meant(book, &arguments.of.join(" "))? {
        places.push(place_days(book, place, since, until));
    }
    places.retain(|place| !place.days.is_empty());
    let answer = ClimateDays { places };
    let told = if arguments.json {
        context.print_json(&answer)
    } else if arguments.csv {
        let rows = answer.places.iter().flat_map(|place| {
            let days = place.days.iter();
            days.map(move |day| PlaceDay { place, day })
        });
        context.print_csv(&csv_of_json(&COLUMNS, rows)?)
    } else {
        let mut out = text(context, &answer.places, Degrees::of_book(book));
        if since.is_none() && !answer.places.is_empty() {
            out.push_str(&context.lines("Shown is each place's last fortnight up to its last reading; --since and --until ask for other days."));
        }
        context.print_text(&out)
    };
    Ok(told.err().unwrap_or(Exit::Done))
}

fn meant<'a>(book: &'a Book, name: &str) -> Result<Vec<&'a Place>, Failure> {
    if name.is_empty() {
        return Ok(book.places().all().iter().collect());
    }
    let found = book.places().get(name).map(|place| vec![place]);
    found.ok_or_else(|| {
        let names: Vec<&str> = book.places().all().iter().map(|p| &*p.name).collect();
        Failure::usage(format!("There is no place '{name}'."))
            .hint(format!("The journal has: {}.", names.join(", ")))
    })
}

fn place_days(
    book: &Book,
    place: &Place,
    since: Option<NaiveDate>,
    until: Option<NaiveDate>,
) -> PlaceDays {
    let last = || {
        let readings = book.readings(&place.name);
        let mut readings = until.map_or(readings.clone(), |day| readings.until(day));
        readings
            .next_back()
            .map(|last| last.at.day() - chrono::Days::new(LAST - 1))
    };
    let since = since.or_else(last);
    let days = days(book, &place.name, since, until);
    let last = days.last().map(|day| day.day);
    let band = place_band(book, place, last.unwrap_or_default());
    let hint = last.and_then(|day| mist_hint(book, &place.name, &band, day));
    PlaceDays {
        place: place.name.clone(),
        mist_hint: hint.as_ref().map(hint_answer),
        days: days
            .iter()
            .map(|day| day_answer(place, &band, day))
            .collect(),
        band: BandAnswer {
            low_kpa: band.low_kpa,
            high_kpa: band.high_kpa,
            source: band.source,
        },
    }
}

fn hint_answer(hint: &MistHint) -> MistHintAnswer {
    MistHintAnswer {
        sense: hint.sense.word(),
        every_s: hint.every_s,
        try_every_s: hint.try_every_s,
        days: hint.days,
        last: hint.last,
        light_hours: [LIGHT_HOURS.0, LIGHT_HOURS.1],
        warmest_c: hint.warmest_c,
    }
}

fn day_answer(place: &Place, band: &VpdBand, day: &AirDay) -> DayAnswer {
    let air = &day.air;
    DayAnswer {
        day: day.day,
        sense: sense(day, band).map(AirSense::word),
        readings: air.readings,
        gaps: air.gaps,
        vpd_kpa: air.vpd_kpa.value(),
        vpd_range_kpa: air.vpd_kpa.range(),
        leaf_vpd_kpa: air.leaf_vpd_kpa.value(),
        air_c: air.air_c.value(),
        rh_pct: air.rh_pct.value(),
        dew_c: air.dew_c.value(),
        wet_bulb_c: air.wet_bulb_c.value(),
        medium_c: air.medium_c.value(),
        light_mol: air.light_mol(),
        mist_duty: air.duty.value(),
        mist_mm: depth_mm(place, day),
    }
}

/// Water laid down by the mist, where the place's nozzles and area are known.
fn depth_mm(place: &Place, day: &AirDay) -> Option<f64> {
    let facts = place.facts.as_ref()?;
    let flow = f64::from(facts.nozzles?) * facts.nozzle_l_h?.0;
    day.air.depth_mm(flow, facts.area_m2?.0)
}

fn text(context: &Context, places: &[PlaceDays], degrees: Degrees) -> String {
    if places.is_empty() {
        return "No reading fits that choice.\n".into();
    }
    let mut out = String::new();
    for place in places {
        let band = &place.band;
        out.push_str(&context.lines(&format!(
            "{}: easy from {} to {} kPa ({})",
            place.place, band.low_kpa, band.high_kpa, band.source
        )));
        out.push_str(&day_table(context, place, degrees));
        if let Some(hint) = &place.mist_hint {
            out.push_str(&context.lines(&hint_in_words(hint, degrees)));
        }
        out.push('\n');
    }
    let mut foot =
        "VPD by FAO-56 equation 11; means over time, from readings less than two hours apart."
            .to_owned();
    // The column gives way where there is no room for it, or nothing to show in it.
    if out.contains(MIST) {
        foot.push_str(
            " Mist mm: water laid down if the mist ran all day and night at the day's mean share.",
        );
    }
    foot.push_str(" Wet and drying say how the air lies to the band; look at the plants as well.");
    out.push_str(&context.lines(&foot));
    out
}

fn day_table(context: &Context, place: &PlaceDays, degrees: Degrees) -> String {
    let scale = degrees.letter();
    let columns = [
        Column::text("day").at_least(10),
        Column::text("air is").at_least(6),
        Column::number("VPD kPa"),
        Column::number(&format!("air {scale}")).dropping(1),
        Column::number("rh %").dropping(2),
        Column::number(&format!("dew {scale}")).dropping(3),
        Column::number(&format!("medium {scale}")).dropping(1),
        Column::number(&format!("wet bulb {scale}")).dropping(5),
        Column::number("light mol").dropping(6),
        Column::number(MIST).dropping(6),
        Column::number("readings").dropping(7),
        Column::number("gaps").dropping(7),
    ];
    let said = |value: Option<f64>, places: usize| {
        value.map_or_else(String::new, |v| format!("{v:.places$}"))
    };
    let warm = |value: Option<f64>| said(value.map(|v| degrees.number(v)), 1);
    let mut rows: Vec<Vec<String>> = place
        .days
        .iter()
        .map(|day| {
            vec![
                day.day.to_string(),
                day.sense.unwrap_or_default().to_owned(),
                said(day.vpd_kpa, 2),
                warm(day.air_c),
                said(day.rh_pct, 0),
                warm(day.dew_c),
                warm(day.medium_c),
                warm(day.wet_bulb_c),
                said(day.light_mol, 1),
                said(day.mist_mm, 1),
                day.readings.to_string(),
                day.gaps.to_string(),
            ]
        })
        .collect();
    // What was never measured takes no room.
    let filled = |at: &usize| {
        rows.iter()
            .any(|row| row.get(*at).is_some_and(|cell| !cell.is_empty()))
    };
    let kept: Vec<usize> = (0..columns.len()).filter(filled).collect();
    let columns: Vec<Column> = kept.iter().map(|at| columns[*at].clone()).collect();
    rows = rows
        .iter()
        .map(|row| kept.iter().map(|at| row[*at].clone()).collect())
        .collect();
    table(&columns, &rows, context.environment.width, context.charset)
}

/// The mist interval that might be tried, in minutes; a suggestion, never an order.
fn hint_in_words(hint: &MistHintAnswer, degrees: Degrees) -> String {
    let minutes = |seconds: f64| figure(seconds / 60.0);
    let is_wet = hint.sense == AirSense::Wet.word();
    let rests = format!(
        "{} between {} and {} h on {} days up to {}",
        if is_wet { "Wet" } else { "Drying" },
        LIGHT_HOURS.0,
        LIGHT_HOURS.1,
        hint.days,
        hint.last
    );
    let tried = format!(
        "try mist about every {} min instead of {}",
        minutes(hint.try_every_s),
        minutes(hint.every_s)
    );
    if is_wet {
        format!(
            "{rests}: if the leaves look wet too, {tried}; go back to {} min in weather warmer than {}.",
            minutes(hint.every_s),
            degrees.in_words(hint.warmest_c)
        )
    } else {
        format!("{rests}: if the leaves look dry too, {tried}.")
    }
}
