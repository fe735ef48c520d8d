//! `climate batch CODE`: the air that a batch lived in, over its stay at each of its places.

use crate::analysis::air::TimeMean;
use crate::analysis::air::lived::{BatchAir, DailySum, PlaceAirs, base_of, is_base};
use crate::app::failure::Failure;
use crate::cli::context::Context;
use crate::cli::csv_writer::csv_of_json;
use crate::cli::output::Exit;
use crate::cli::show;
use crate::fold::batch::Batch;
use crate::fold::past::{PlaceStay, last_day};
use crate::input::logger::{ReadingUnit, column};
use crate::model::listed::Units;
use crate::text::clean::shown;
use crate::text::figures::Degrees;
use crate::text::figures::many;
use crate::text::table::{Column, table};
use chrono::NaiveDate;
use clap::Args;
use serde::{Serialize, Serializer};

/// The arguments of `climate batch`.
#[derive(Args, Debug)]
pub struct LivedArguments {
    /// Its code, as 26-041, or 041 for the latest that ends so
    #[arg(value_name = "BATCH")]
    batch: String,
    /// Base of the degree-days, as 5C or 41F; else the taxon's, else 5 °C
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    base: Option<String>,
    /// Up to this day of its stay
    #[arg(long, value_name = "DAY")]
    until: Option<String>,
    /// As CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// The answer: the air that each batch meant lived in.
#[derive(Serialize)]
struct LivedAnswers {
    batches: Vec<LivedAnswer>,
}

/// The air of one batch over its stay.
#[derive(Serialize)]
struct LivedAnswer {
    batch: String,
    taxon: String,
    #[serde(serialize_with = "stretches")]
    stretches: Vec<PlaceStay>,
    days: u32,
    days_read: u32,
    readings: u32,
    gaps: u32,
    vpd_kpa: MeasureAnswer,
    leaf_vpd_kpa: MeasureAnswer,
    air_c: MeasureAnswer,
    rh_pct: MeasureAnswer,
    medium_c: MeasureAnswer,
    senses: SenseDays,
    light_mol: DailyAnswer,
    mist_s: DailyAnswer,
    mist_mm: DailyAnswer,
    degree_days: DegreeDays,
    #[serde(skip)]
    stuck_on: NaiveDate,
}

/// A measure's mean over time, its least and most, and how many readings told it.
#[derive(Serialize)]
struct MeasureAnswer {
    mean: Option<f64>,
    range: Option<(f64, f64)>,
    readings: u32,
}

/// Days by how their air was.
#[derive(Serialize)]
struct SenseDays {
    hot: u32,
    drying: u32,
    easy: u32,
    wet: u32,
}

/// What comes by the day: its mean, over so many days.
#[derive(Serialize)]
struct DailyAnswer {
    mean: Option<f64>,
    days: u32,
}

/// Degree-days of the medium above the base.
#[derive(Serialize)]
struct DegreeDays {
    base_c: f64,
    sum: Option<f64>,
    days: u32,
    left_out: u32,
}

/// The columns of the CSV, a row a batch.
fn csv_columns() -> Vec<String> {
    let facts = ["batch", "taxon", "days", "days_read", "readings", "gaps"];
    let mut columns = facts.map(String::from).to_vec();
    for measure in ["vpd_kpa", "leaf_vpd_kpa", "air_c", "rh_pct", "medium_c"] {
        columns.push(format!("{measure}.mean"));
        columns.push(format!("{measure}.range.0 as {measure}_least"));
        columns.push(format!("{measure}.range.1 as {measure}_most"));
        columns.push(format!("{measure}.readings"));
    }
    let senses = ["hot", "drying", "easy", "wet"].map(|word| format!("senses.{word}"));
    columns.extend(senses);
    for daily in ["light_mol", "mist_s", "mist_mm"] {
        columns.extend(["mean", "days"].map(|part| format!("{daily}.{part}")));
    }
    let warmth = ["base_c", "sum", "days", "left_out"];
    columns.extend(warmth.map(|part| format!("degree_days.{part}")));
    columns
}

fn stretches<S: Serializer>(stays: &[PlaceStay], to: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Stretch<'a> {
        place: Option<&'a str>,
        from: NaiveDate,
        to: NaiveDate,
    }
    to.collect_seq(stays.iter().map(|stay| Stretch {
        place: stay.place.as_deref(),
        from: stay.from,
        to: stay.to,
    }))
}

/// Runs the command.
pub fn run(context: &Context, arguments: &LivedArguments) -> Result<Exit, Failure> {
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
    let mut batches: Vec<LivedAnswer> = Vec::new();
    for batch in show::find(&desk, &arguments.batch)? {
        let last = last_day(batch, today);
        let until = until.map_or(last, |day| day.min(last)).max(batch.stuck_on);
        let lived = airs.lived(batch, until, base_of(book, batch, asked));
        batches.push(answer(batch, &lived));
    }
    let said = if arguments.json {
        context.print_json(&LivedAnswers { batches })
    } else if arguments.csv {
        context.print_csv(&csv_of_json(&csv_columns(), &batches)?)
    } else {
        let each: Vec<String> = batches
            .iter()
            .map(|it| text(context, it, degrees))
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

fn text(context: &Context, it: &LivedAnswer, degrees: Degrees) -> String {
    let mut out = String::new();
    let mut add = |line: &str| out.push_str(&context.lines(line));
    add(&format!("{}  {}", it.batch, it.taxon));
    for stretch in &it.stretches {
        let age = |day: NaiveDate| (day - it.stuck_on).num_days();
        let place = stretch.place.as_deref().unwrap_or("no place said");
        let (from, to) = (age(stretch.from), age(stretch.to));
        add(&format!(
            "day {from} to {to}, {} to {}: {place}",
            stretch.from, stretch.to
        ));
    }
    add(&format!(
        "Readings on {} of {} days. A reading counts for two hours at most; {} longer than that, not counted.",
        it.days_read,
        it.days,
        many(u64::from(it.gaps), "gap", "gaps")
    ));
    if it.days_read == 0 {
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

fn figures(context: &Context, it: &LivedAnswer, degrees: Degrees) -> String {
    let columns = [
        Column::text("over its stay").at_least(12),
        Column::number("mean"),
        Column::number("least"),
        Column::number("most"),
        Column::number("readings").dropping(1),
    ];
    let row = |what: String, mean: &MeasureAnswer, places: usize, to: &dyn Fn(f64) -> f64| {
        let said = |v: f64| format!("{:.places$}", to(v));
        let (value, (least, most)) = (mean.mean?, mean.range?);
        let readings = mean.readings.to_string();
        Some(vec![what, said(value), said(least), said(most), readings])
    };
    let same = |v: f64| v;
    let warm = |v: f64| degrees.number(v);
    let sign = degrees.sign();
    let rows: Vec<Vec<String>> = [
        row("VPD kPa".into(), &it.vpd_kpa, 2, &same),
        row("leaf VPD kPa".into(), &it.leaf_vpd_kpa, 2, &same),
        row(format!("air {sign}"), &it.air_c, 1, &warm),
        row("humidity %".into(), &it.rh_pct, 0, &same),
        row(format!("medium {sign}"), &it.medium_c, 1, &warm),
    ]
    .into_iter()
    .flatten()
    .collect();
    table(&columns, &rows, context.environment.width, context.charset)
}

/// What goes by days, a line each.
fn days_said(it: &LivedAnswer, degrees: Degrees) -> Vec<String> {
    let days = |daily: &DailyAnswer| many(u64::from(daily.days), "day", "days");
    let mut out = Vec::new();
    let SenseDays {
        hot,
        drying,
        easy,
        wet,
    } = it.senses;
    if drying + easy + wet + hot > 0 {
        out.push(format!(
            "Days when the air was hot: {hot}; drying: {drying}; easy: {easy}; wet: {wet}."
        ));
    }
    if let Some(mean) = it.light_mol.mean {
        let over = days(&it.light_mol);
        out.push(format!(
            "Light: {mean:.1} mol/m² a day, over {over} read through."
        ));
    }
    if let Some(mean) = it.mist_s.mean {
        let depth = it
            .mist_mm
            .mean
            .map_or_else(String::new, |mm| format!(", {mm:.1} mm"));
        let (minutes, over) = (mean / 60.0, days(&it.mist_s));
        out.push(format!(
            "Mist: {minutes:.0} min{depth} a day if it ran day and night as noted, over {over}."
        ));
    }
    let warmth = &it.degree_days;
    if let Some(sum) = warmth.sum {
        let (sum, base) = (degrees.step(sum), degrees.in_words(warmth.base_c));
        let sign = degrees.sign();
        out.push(format!(
            "Warmth of the medium above {base}: {sum:.0} {sign}-days over {}; {} without a reading are left out.",
            many(u64::from(warmth.days), "day", "days"),
            warmth.left_out
        ));
    }
    out
}

fn answer(batch: &Batch, it: &BatchAir) -> LivedAnswer {
    let mean = |mean: &TimeMean| MeasureAnswer {
        mean: mean.value(),
        range: mean.range(),
        readings: mean.count(),
    };
    let daily = |daily: &DailySum| DailyAnswer {
        mean: daily.mean(),
        days: daily.days,
    };
    let [drying, easy, wet, hot] = it.senses;
    LivedAnswer {
        batch: batch.code.clone(),
        taxon: batch.taxon.shown(),
        stretches: it.stays.clone(),
        days: it.days,
        days_read: it.read,
        readings: it.air.readings,
        gaps: it.air.gaps,
        vpd_kpa: mean(&it.air.vpd_kpa),
        leaf_vpd_kpa: mean(&it.air.leaf_vpd_kpa),
        air_c: mean(&it.air.air_c),
        rh_pct: mean(&it.air.rh_pct),
        medium_c: mean(&it.air.medium_c),
        senses: SenseDays {
            hot,
            drying,
            easy,
            wet,
        },
        light_mol: daily(&it.light),
        mist_s: daily(&it.mist_s),
        mist_mm: daily(&it.mist_mm),
        degree_days: DegreeDays {
            base_c: it.base_c,
            sum: (it.warmth.days > 0).then_some(it.warmth.sum),
            days: it.warmth.days,
            left_out: it.days.saturating_sub(it.warmth.days),
        },
        stuck_on: batch.stuck_on,
    }
}
