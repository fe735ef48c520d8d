//! `climate batch CODE`: the air that a batch lived in, over its stay at each of its places.

use crate::analysis::air::TimeMean;
use crate::analysis::air::lived::{BatchAir, DailySum, PlaceAirs, base_of, is_base};
use crate::app::failure::Failure;
use crate::cli::context::Context;
use crate::cli::output::Exit;
use crate::cli::{output, show};
use crate::fold::batch::Batch;
use crate::fold::past::last_day;
use crate::input::logger::{ReadingUnit, column};
use crate::model::listed::Units;
use crate::text::clean::shown;
use crate::text::figures::Degrees;
use crate::text::figures::many;
use crate::text::table::{Column, table};
use clap::Args;
use serde_json::{Value, json};

/// Which batch.
#[derive(Args, Debug)]
pub struct OfBatch {
    /// Its code, as 26-041, or 041 for the latest that ends so
    #[arg(value_name = "BATCH")]
    batch: String,
    /// Base of the degree-days, as 5C or 41F; else the taxon's, else 5 °C
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    base: Option<String>,
    /// Up to this day of its stay
    #[arg(long, value_name = "DAY")]
    until: Option<String>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(context: &Context, arguments: &OfBatch) -> Result<Exit, Failure> {
    let desk = context.open()?;
    let book = desk.book();
    let degrees = Degrees::of_book(book);
    let asked = arguments
        .base
        .as_deref()
        .map(|text| base(text, degrees))
        .transpose()?;
    let until = arguments
        .until
        .as_deref()
        .map(|text| context.day(text))
        .transpose()?;
    let today = desk.clock().now().date_naive();
    let mut airs = PlaceAirs::new(book);
    let mut told: Vec<(&Batch, BatchAir)> = Vec::new();
    for batch in show::find(&desk, &arguments.batch)? {
        let last = last_day(batch, today);
        let until = until.map_or(last, |day| day.min(last)).max(batch.stuck_on);
        told.push((batch, airs.lived(batch, until, base_of(book, batch, asked))));
    }
    let said = if arguments.json {
        let each: Vec<Value> = told.iter().map(|(batch, it)| object(batch, it)).collect();
        context.print_json(&json!({ "batches": each }))
    } else {
        let each: Vec<String> = told
            .iter()
            .map(|(batch, it)| text(context, batch, it, degrees))
            .collect();
        context.print_text(&each.join("\n"))
    };
    Ok(said.err().unwrap_or(Exit::Done))
}

/// A base as typed: `5`, `5C`, `41F`; a bare number in the nursery's own scale.
pub fn base(text: &str, degrees: Degrees) -> Result<f64, Failure> {
    let text = text.trim();
    let own = match degrees.0 {
        Units::C => ReadingUnit::C,
        Units::F => ReadingUnit::F,
    };
    let read = [own, ReadingUnit::C, ReadingUnit::F]
        .into_iter()
        .find_map(|unit| Some(unit.to_journal(column::number(text, false, unit)?)));
    read.filter(|base| is_base(*base)).ok_or_else(|| {
        Failure::usage(format!("'{}' is no base for degree-days.", shown(text)))
            .hint("Say a temperature from -30 to 60 °C, as 5C or 41F.")
    })
}

fn text(context: &Context, batch: &Batch, it: &BatchAir, degrees: Degrees) -> String {
    let mut out = String::new();
    let mut add = |line: &str| out.push_str(&context.lines(line));
    add(&format!("{}  {}", batch.code, batch.taxon.shown()));
    for stretch in &it.stays {
        let age = |day: chrono::NaiveDate| (day - batch.stuck_on).num_days();
        let place = stretch.place.as_deref().unwrap_or("nobody said where");
        let (from, to) = (age(stretch.from), age(stretch.to));
        add(&format!(
            "day {from} to {to}, {} to {}: {place}",
            stretch.from, stretch.to
        ));
    }
    add(&format!(
        "A reading on {} of {} days; {} of more than two hours left out of the means.",
        it.read,
        it.days,
        many(u64::from(it.air.gaps), "wait", "waits")
    ));
    if it.read == 0 {
        return out;
    }
    out.push('\n');
    out.push_str(&figures(context, it, degrees));
    out.push('\n');
    for line in days_said(it, degrees) {
        out.push_str(&context.lines(&line));
    }
    out
}

fn figures(context: &Context, it: &BatchAir, degrees: Degrees) -> String {
    let columns = [
        Column::text("over its stay").at_least(12),
        Column::number("mean"),
        Column::number("least"),
        Column::number("most"),
        Column::number("readings").dropping(1),
    ];
    let row = |what: String, mean: &TimeMean, places: usize, to: &dyn Fn(f64) -> f64| {
        let said = |v: f64| format!("{:.places$}", to(v));
        let (value, (least, most)) = (mean.value()?, mean.range()?);
        let readings = mean.count().to_string();
        Some(vec![what, said(value), said(least), said(most), readings])
    };
    let same = |v: f64| v;
    let warm = |v: f64| degrees.number(v);
    let sign = degrees.sign();
    let rows: Vec<Vec<String>> = [
        row("VPD kPa".into(), &it.air.vpd_kpa, 2, &same),
        row("leaf VPD kPa".into(), &it.air.leaf_vpd_kpa, 2, &same),
        row(format!("air {sign}"), &it.air.air_c, 1, &warm),
        row("humidity %".into(), &it.air.rh_pct, 0, &same),
        row(format!("medium {sign}"), &it.air.medium_c, 1, &warm),
    ]
    .into_iter()
    .flatten()
    .collect();
    table(&columns, &rows, context.environment.width, context.charset)
}

/// What goes by days, a line each.
fn days_said(it: &BatchAir, degrees: Degrees) -> Vec<String> {
    let days = |daily: &DailySum| many(u64::from(daily.days), "day", "days");
    let mut out = Vec::new();
    let [drying, easy, wet, hot] = it.senses;
    if drying + easy + wet + hot > 0 {
        out.push(format!(
            "Air: hot on {hot}, drying on {drying}, easy on {easy}, wet on {wet} days."
        ));
    }
    if let Some(mean) = it.light.mean() {
        let over = days(&it.light);
        out.push(format!(
            "Light: {mean:.1} mol/m² a day, over {over} read through."
        ));
    }
    if let Some(mean) = it.mist_s.mean() {
        let depth = it
            .mist_mm
            .mean()
            .map_or_else(String::new, |mm| format!(", {mm:.1} mm"));
        let (minutes, over) = (mean / 60.0, days(&it.mist_s));
        out.push(format!(
            "Mist: {minutes:.0} min a day{depth} if it ran day and night as noted, over {over}."
        ));
    }
    if it.warmth.days > 0 {
        let (sum, base) = (degrees.step(it.warmth.sum), degrees.in_words(it.base_c));
        let missing = it.days.saturating_sub(it.warmth.days);
        let sign = degrees.sign();
        out.push(format!(
            "Medium above {base}: {sum:.0} {sign}-days over {}; {missing} without a reading left out.",
            days(&it.warmth)
        ));
    }
    out
}

fn object(batch: &Batch, it: &BatchAir) -> Value {
    let mean = |mean: &TimeMean| {
        json!({
            "mean": output::json_optional(mean.value()),
            "range": mean.range().map(|(low, high)| json!([output::json_number(low), output::json_number(high)])),
            "readings": mean.count(),
        })
    };
    let daily = |daily: &DailySum| json!({ "mean": output::json_optional(daily.mean()), "days": daily.days });
    let stretches: Vec<Value> = it
        .stays
        .iter()
        .map(|stretch| {
            json!({
                "place": stretch.place,
                "from": stretch.from.to_string(),
                "to": stretch.to.to_string(),
            })
        })
        .collect();
    let [drying, easy, wet, hot] = it.senses;
    json!({
        "batch": batch.code,
        "taxon": batch.taxon.shown(),
        "stretches": stretches,
        "days": it.days,
        "days_read": it.read,
        "readings": it.air.readings,
        "gaps": it.air.gaps,
        "vpd_kpa": mean(&it.air.vpd_kpa),
        "leaf_vpd_kpa": mean(&it.air.leaf_vpd_kpa),
        "air_c": mean(&it.air.air_c),
        "rh_pct": mean(&it.air.rh_pct),
        "medium_c": mean(&it.air.medium_c),
        "senses": { "hot": hot, "drying": drying, "easy": easy, "wet": wet },
        "light_mol": daily(&it.light),
        "mist_s": daily(&it.mist_s),
        "mist_mm": daily(&it.mist_mm),
        "degree_days": {
            "base_c": output::json_number(it.base_c),
            "sum": (it.warmth.days > 0).then(|| output::json_number(it.warmth.sum)),
            "days": it.warmth.days,
            "left_out": it.days.saturating_sub(it.warmth.days),
        },
    })
}
