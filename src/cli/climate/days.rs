//! `climate [PLACE]`: the air of each place day by day, in figures and in a word.

use crate::analysis::air::lived::sense;
use crate::analysis::air::sense::{AirSense, VpdBand, place_band};
use crate::analysis::air::sense::{LIGHT_HOURS, MistHint, mist_hint};
use crate::analysis::air::{AirDay, days};
use crate::app::failure::Failure;
use crate::cli::context::Context;
use crate::cli::output;
use crate::cli::output::Exit;
use crate::fold::Book;
use crate::fold::names::Place;
use crate::text::figures::Degrees;
use crate::text::mixing::figure;
use crate::text::table::{Column, table};
use chrono::NaiveDate;
use clap::Args;
use serde_json::{Value, json};

/// The heading of the water laid down.
const MIST: &str = "mist mm";

/// Days shown where none are asked for.
const LAST: u64 = 14;

/// Which days of which places.
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
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// A place's days with its band.
struct Stand<'a> {
    place: &'a Place,
    band: VpdBand,
    hint: Option<MistHint>,
    days: Vec<AirDay>,
}

/// Runs it.
pub fn run(context: &Context, arguments: &ClimateDaysArguments) -> Result<Exit, Failure> {
    let day = |text: &Option<String>| text.as_deref().map(|t| context.day(t)).transpose();
    let (since, until) = (day(&arguments.since)?, day(&arguments.until)?);
    let desk = context.open()?;
    let book = desk.book();
    let stands: Vec<Stand<'_>> = meant(book, &arguments.of.join(" "))?
        .into_iter()
        .map(|place| stand(book, place, since, until))
        .filter(|stand| !stand.days.is_empty())
        .collect();
    let told = if arguments.json {
        let each: Vec<Value> = stands.iter().map(object).collect();
        context.print_json(&json!({ "places": each }))
    } else {
        let mut out = text(context, &stands, Degrees::of_book(book));
        if since.is_none() && !stands.is_empty() {
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
            .hint(format!("The journal speaks of: {}.", names.join(", ")))
    })
}

fn stand<'a>(
    book: &Book,
    place: &'a Place,
    since: Option<NaiveDate>,
    until: Option<NaiveDate>,
) -> Stand<'a> {
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
    Stand {
        place,
        hint: last.and_then(|day| mist_hint(book, &place.name, &band, day)),
        band,
        days,
    }
}

fn text(context: &Context, stands: &[Stand<'_>], degrees: Degrees) -> String {
    if stands.is_empty() {
        return "No reading is meant.\n".into();
    }
    let mut out = String::new();
    for stand in stands {
        let band = &stand.band;
        out.push_str(&context.lines(&format!(
            "{}: easy from {} to {} kPa ({})",
            stand.place.name, band.low_kpa, band.high_kpa, band.source
        )));
        out.push_str(&day_table(context, stand, degrees));
        if let Some(hint) = &stand.hint {
            out.push_str(&context.lines(&hint_in_words(hint, degrees)));
        }
        out.push('\n');
    }
    let mut foot =
        "VPD by FAO-56 equation 11, means over time where readings are less than two hours apart."
            .to_owned();
    // The column gives way where there is no room for it, or nothing to show in it.
    if out.contains(MIST) {
        foot.push_str(
            " Mist mm: water laid down if the mist ran all day and night at the day's mean share.",
        );
    }
    foot.push_str(" What reads as wet or drying is a band, not a verdict on your plants.");
    out.push_str(&context.lines(&foot));
    out
}

fn day_table(context: &Context, stand: &Stand<'_>, degrees: Degrees) -> String {
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
    let mut rows: Vec<Vec<String>> = stand
        .days
        .iter()
        .map(|day| {
            let air = &day.air;
            vec![
                day.day.to_string(),
                sense(day, &stand.band).map_or_else(String::new, |s| s.word().into()),
                said(air.vpd_kpa.value(), 2),
                warm(air.air_c.value()),
                said(air.rh_pct.value(), 0),
                warm(air.dew_c.value()),
                warm(air.medium_c.value()),
                warm(air.wet_bulb_c.value()),
                said(air.light_mol(), 1),
                said(depth(stand, day), 1),
                air.readings.to_string(),
                air.gaps.to_string(),
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

fn depth(stand: &Stand<'_>, day: &AirDay) -> Option<f64> {
    let facts = stand.place.facts.as_ref()?;
    let flow = f64::from(facts.nozzles?) * facts.nozzle_l_h?.0;
    day.air.depth_mm(flow, facts.area_m2?.0)
}

/// The mist interval that might be tried, in minutes; a suggestion, never an order.
fn hint_in_words(hint: &MistHint, degrees: Degrees) -> String {
    let minutes = |seconds: f64| figure(seconds / 60.0);
    let rests = format!(
        "{} between {} and {} h on {} days up to {}",
        if hint.sense == AirSense::Wet {
            "Wet"
        } else {
            "Drying"
        },
        LIGHT_HOURS.0,
        LIGHT_HOURS.1,
        hint.days,
        hint.last
    );
    let tried = format!(
        "try mist about every {} min for {}",
        minutes(hint.try_every_s),
        minutes(hint.every_s)
    );
    match hint.sense {
        AirSense::Wet => format!(
            "{rests}: if the leaves look wet too, {tried}, and back to {} in weather warmer than {}.",
            minutes(hint.every_s),
            degrees.in_words(hint.warmest_c)
        ),
        _ => format!("{rests}: if the leaves look dry too, {tried}."),
    }
}

fn object(stand: &Stand<'_>) -> Value {
    let each: Vec<Value> = stand
        .days
        .iter()
        .map(|day| day_object(stand, day))
        .collect();
    json!({
        "place": stand.place.name,
        "band": { "low_kpa": stand.band.low_kpa, "high_kpa": stand.band.high_kpa, "source": stand.band.source },
        "mist_hint": stand.hint.as_ref().map(hint_object),
        "days": each,
    })
}

fn hint_object(hint: &MistHint) -> Value {
    json!({
        "sense": hint.sense.word(), "every_s": output::json_number(hint.every_s),
        "try_every_s": output::json_number(hint.try_every_s), "days": hint.days,
        "last": hint.last.to_string(), "light_hours": [LIGHT_HOURS.0, LIGHT_HOURS.1],
        "warmest_c": output::json_number(hint.warmest_c),
    })
}

fn day_object(stand: &Stand<'_>, day: &AirDay) -> Value {
    let air = &day.air;
    let range = |mean: &crate::analysis::air::TimeMean| {
        mean.range()
            .map(|(low, high)| json!([output::json_number(low), output::json_number(high)]))
    };
    json!({
        "day": day.day.to_string(), "sense": sense(day, &stand.band).map(AirSense::word),
        "readings": air.readings, "gaps": air.gaps,
        "vpd_kpa": output::json_optional(air.vpd_kpa.value()), "vpd_range_kpa": range(&air.vpd_kpa),
        "leaf_vpd_kpa": output::json_optional(air.leaf_vpd_kpa.value()),
        "air_c": output::json_optional(air.air_c.value()), "rh_pct": output::json_optional(air.rh_pct.value()),
        "dew_c": output::json_optional(air.dew_c.value()), "wet_bulb_c": output::json_optional(air.wet_bulb_c.value()),
        "medium_c": output::json_optional(air.medium_c.value()), "light_mol": output::json_optional(air.light_mol()),
        "mist_duty": output::json_optional(air.duty.value()), "mist_mm": output::json_optional(depth(stand, day)),
    })
}
