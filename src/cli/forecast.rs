//! `forecast`: how many of each open batch will root, and when they are ready to pot.

use super::context::Context;
use super::csv_writer::csv_of_json;
use super::filters;
use super::output::Exit;
use crate::analysis::expect::Model;
use crate::analysis::forecast::{BatchForecast, Forecasts, forecasts};
use crate::analysis::plan;
use crate::analysis::plan::Choice;
use crate::app::failure::Failure;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::model::filter::Filter;
use crate::text::choice::NO_OPEN_BATCH;
use crate::text::clean::{shown, shown_in};
use crate::text::dates::Calendar;
use crate::text::forecast;
use crate::text::plans;
use crate::text::table::{Column, table};
use chrono::NaiveDate;
use clap::Args;
use std::sync::Arc;

/// The arguments of `forecast`.
#[derive(Args, Debug)]
pub struct ForecastArguments {
    /// Only this taxon, genus, or part of a name; or the codes of batches
    #[arg(value_name = "TAXON|CODE")]
    of: Vec<String>,
    /// As it stood at the end of this day: only what was written for days up to it
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
    /// Wait or stick again: the chance of so many plants from one batch (with --by)
    #[arg(long, value_name = "N", requires = "by")]
    want: Option<u32>,
    /// The day by which to have them
    #[arg(long, value_name = "DAY", requires = "want")]
    by: Option<String>,
    /// As CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &ForecastArguments) -> Result<Exit, Failure> {
    let on = match &arguments.on {
        Some(text) => context.day(text)?,
        None => context.environment.clock()?.now().date_naive(),
    };
    let desk = context.open()?;
    let book = desk.book();
    let wanted = wanted(book, &arguments.of, on)?;
    let model = Model::learn(book, on, &[]);
    let mut all = forecasts(book, &model, &|batch| wanted.admits(book, batch));
    all.choice = choice(context, arguments, book, &model, &all.batches)?;
    let calendar = Calendar::for_book(book, on);
    let told = if arguments.json {
        context.print_json(&all)
    } else if arguments.csv {
        context.print_csv(&csv_of_json(&COLUMNS, &all.batches)?)
    } else {
        let mut out = text(context, &all, calendar);
        for sentence in all.choice.iter().flat_map(|it| plans::choice(it, calendar)) {
            out.push_str(&context.lines(&sentence));
        }
        context.print_text(&out)
    };
    Ok(told.err().unwrap_or(Exit::Done))
}

/// The columns of the CSV, a row a batch.
const COLUMNS: [&str; 40] = [
    "batch",
    "stick",
    "taxon",
    "wood",
    "stuck_on",
    "day",
    "stuck",
    "rooted",
    "waiting",
    "looked",
    "unseen_days",
    "standing",
    "lost_sight_of",
    "failing[].rule as failing",
    "count.mean",
    "count.middle",
    "count.p50.low",
    "count.p50.high",
    "count.p80.low",
    "count.p80.high",
    "half.middle",
    "half.date",
    "half.p50.low",
    "half.p50.high",
    "half.p80.low",
    "half.p80.high",
    "half.seen",
    "potting.middle",
    "potting.date",
    "potting.p50.low",
    "potting.p50.high",
    "potting.p80.low",
    "potting.p80.high",
    "potting.seen",
    "ready_to_pot",
    "potted",
    "kin.same",
    "kin.taxon",
    "kin.genus",
    "kin.all",
];

/// Wait or stick again, if it was asked for.
fn choice(
    context: &Context,
    arguments: &ForecastArguments,
    book: &Book,
    model: &Model,
    meant: &[BatchForecast],
) -> Result<Option<Choice>, Failure> {
    let (Some(want), Some(by)) = (arguments.want, &arguments.by) else {
        return Ok(None);
    };
    super::plan::can_be_wanted(want)?;
    let [forecast] = meant else {
        return Err(Failure::usage("--want and --by are about one open batch.")
            .hint("struck forecast 26-041 --want 20 --by 2026-09-30"));
    };
    let by = context.day_ahead(by)?;
    if by < model.on() {
        return Err(Failure::could("That day has passed.").hint("Give a day to come with --by."));
    }
    let batch = book.batch(&forecast.stick);
    Ok(batch.and_then(|batch| plan::choice(book, model, batch, want, by)))
}

/// Which batches are asked for.
enum Wanted<'a> {
    All,
    Taxon(Filter),
    Batches(Vec<&'a Arc<Batch>>),
}

impl Wanted<'_> {
    fn admits(&self, book: &Book, batch: &Batch) -> bool {
        match self {
            Self::All => true,
            Self::Taxon(filter) => filter.admits(book, batch),
            Self::Batches(those) => those.iter().any(|one| one.key == batch.key),
        }
    }
}

fn wanted<'a>(book: &'a Book, typed: &[String], on: NaiveDate) -> Result<Wanted<'a>, Failure> {
    if typed.is_empty() {
        return Ok(Wanted::All);
    }
    let coded: Vec<Vec<&Arc<Batch>>> = typed.iter().map(|text| by_code(book, text, on)).collect();
    if coded.iter().all(Vec::is_empty) {
        found_somewhere(book, typed)?;
        return Ok(Wanted::Taxon(Filter {
            taxon: Some(typed.join(" ")),
            ..Filter::default()
        }));
    }
    match typed.iter().zip(&coded).find(|(_, found)| found.is_empty()) {
        Some((text, _)) => Err(
            Failure::could(format!("There is no batch {}.", shown(text)))
                .hint("Give codes alone, or a taxon alone."),
        ),
        None => Ok(Wanted::Batches(coded.concat())),
    }
}

/// Refuses what is neither a batch nor a taxon of the journal.
fn found_somewhere(book: &Book, typed: &[String]) -> Result<(), Failure> {
    let whole = typed.join(" ");
    if filters::has_taxon(book, &whole) {
        return Ok(());
    }
    if let Some(batch) = typed.iter().find_map(|text| book.by_code(text).next()) {
        return Err(Failure::could(format!(
            "{} was stuck on {}, after that day.",
            batch.code, batch.stuck_on
        )));
    }
    let ends_in_digit = whole.ends_with(|c: char| c.is_ascii_digit());
    Err(match typed {
        [code] if ends_in_digit => filters::no_batch(book, code),
        _ => filters::no_taxon(book, &whole),
    })
}

/// The batches of a code stuck by a day, or the latest whose code ends with the number typed.
pub(super) fn by_code<'a>(book: &'a Book, typed: &str, on: NaiveDate) -> Vec<&'a Arc<Batch>> {
    let exact: Vec<&Arc<Batch>> = book.by_code(typed).filter(|b| b.stuck_on <= on).collect();
    if !exact.is_empty() || typed.is_empty() || !typed.bytes().all(|b| b.is_ascii_digit()) {
        return exact;
    }
    let bare = |text: &str| text.trim_start_matches('0').to_owned();
    let ends = |batch: &&Arc<Batch>| {
        let tail = batch.code.split('-').nth(1);
        batch.stuck_on <= on && tail.is_some_and(|tail| bare(tail) == bare(typed))
    };
    book.batches().iter().rfind(ends).into_iter().collect()
}

fn text(context: &Context, all: &Forecasts, calendar: Calendar) -> String {
    let mut out = match all.batches.as_slice() {
        [] => format!("{NO_OPEN_BATCH}\n"),
        [one] => at_length(context, one, calendar),
        many => listed(context, many, calendar),
    };
    if all.history == 0 && all.batches.len() != 1 {
        out.push_str(
            &context
                .lines("No batch is closed yet: these ranges rest on no history, and are wide."),
        );
    }
    for (codes, why) in [
        (
            &all.silent,
            "No forecast, since there was no entry for 180 days",
        ),
        (&all.left_out, "No forecast, since set aside or stuck again"),
    ] {
        if !codes.is_empty() {
            out.push_str(&context.lines(&format!("{why}: {}.", codes.join(", "))));
        }
    }
    out
}

fn listed(context: &Context, many: &[BatchForecast], calendar: Calendar) -> String {
    let columns = [
        Column::text("code").at_least(6),
        Column::text("taxon").at_least(9),
        Column::text("wood").at_least(9).dropping(5),
        Column::number("day").dropping(2),
        Column::number("look ago").dropping(3),
        Column::number("stuck").dropping(4),
        Column::number("rooted").dropping(3),
        Column::number("expect"),
        Column::number("half by").dropping(6),
        Column::number("to pot"),
        Column::text("about").at_least(6).dropping(1),
    ];
    let rows: Vec<Vec<String>> = many
        .iter()
        .map(|one| row(context, one, calendar.today))
        .collect();
    let mut out = table(&columns, &rows, context.environment.width, context.charset);
    out.push('\n');
    out.push_str(&context.lines("Rooted: at the last look. Look ago: days since that look. Expect: rooted in the end. Half by, to pot: days since sticking. Ranges hold in 4 of 5 cases.",
    ));
    for forecast in many {
        for sentence in forecast::first_of_all(forecast, calendar) {
            out.push_str(&context.lines(&format!("{}: {sentence}", forecast.batch)));
        }
    }
    out
}

fn row(context: &Context, forecast: &BatchForecast, on: NaiveDate) -> Vec<String> {
    let (to_pot, about) = match &forecast.potting {
        _ if forecast.count.middle == 0 => (String::new(), String::new()),
        _ if forecast.potted => ("potted".into(), String::new()),
        Some(_) if forecast.ready_to_pot => ("now".into(), String::new()),
        Some(when) => {
            let about = match when.date < on {
                true => "any day".into(),
                false => crate::text::dates::day_month(when.date),
            };
            (forecast::days(when), about)
        }
        None => (String::new(), String::new()),
    };
    vec![
        shown_in(&forecast.batch, context.charset),
        shown_in(&forecast.taxon, context.charset),
        forecast
            .wood
            .map_or_else(String::new, |wood| wood.word().into()),
        forecast.day.to_string(),
        forecast.unseen_days.to_string(),
        forecast.stuck.to_string(),
        format!("{:.0}", forecast.rooted),
        forecast::count(forecast),
        forecast
            .half
            .as_ref()
            .map_or_else(String::new, forecast::days),
        to_pot,
        about,
    ]
}

fn at_length(context: &Context, forecast: &BatchForecast, calendar: Calendar) -> String {
    crate::text::forecast::at_length(forecast, calendar)
        .iter()
        .map(|sentence| context.lines(sentence))
        .collect()
}
