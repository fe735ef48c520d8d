//! `season`: a season in review, from what was wanted to what the figures suggest for the next.

use super::context::Context;
use super::csv_writer::csv_of_json;
use super::filters::Filters;
use super::output::Exit;
use crate::analysis::review;
use crate::analysis::review::{Review, ReviewOptions, review};
use crate::app::failure::Failure;
use crate::text::choice::NO_BATCH;
use crate::text::clean::wrap;
use crate::text::dates::Calendar;
use crate::text::review::{ParaKind, paras};
use clap::{Args, ValueEnum};
use serde::Serialize;

/// The arguments of `season`.
#[derive(Args, Debug)]
pub struct SeasonArguments {
    /// The year in which the season began; the latest if left out
    #[arg(value_name = "YEAR")]
    year: Option<i32>,
    #[command(flatten)]
    filters: Filters,
    /// As it stood at the end of this day
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
    /// Seed of the random draws
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// As CSV: each taxon and wood stage, the targets, or the arms compared
    #[arg(long, value_name = "TABLE", num_args = 0..=1, require_equals = true, default_missing_value = "kinds", conflicts_with = "json")]
    csv: Option<SeasonTable>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// The tables of a season.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum SeasonTable {
    /// A row a taxon and wood stage
    Kinds,
    /// A row a target
    Wanted,
    /// A row two arms compared
    Ways,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &SeasonArguments) -> Result<Exit, Failure> {
    let filter = arguments.filters.read(&|text| context.day(text))?;
    let today = context.environment.clock()?.now().date_naive();
    let as_of = match arguments.on.as_deref() {
        Some(text) => context.day(text)?,
        None => today,
    };
    let asked = arguments.year.or(filter.season);
    if asked.is_some_and(|year| !review::is_season(year)) {
        return Err(Failure::usage("No season can begin in that year."));
    }
    let answer = context.work_out("comparing", |book, go_on| {
        let latest = || review::seasons(book, &filter).last().copied();
        let season = asked.or_else(latest)?;
        let options = ReviewOptions {
            filter: filter.clone(),
            seed: arguments.seed,
            ..ReviewOptions::new(season, as_of)
        };
        let answer = review(book, &options, go_on)?;
        Some((answer, Calendar::for_book(book, as_of)))
    })?;
    let Some((answer, calendar)) = answer else {
        return Err(Failure::could(NO_BATCH));
    };
    let written = if arguments.json {
        context.print_json(&SeasonAnswer::new(&answer, calendar))
    } else if let Some(which) = arguments.csv {
        let table = match which {
            SeasonTable::Kinds => csv_of_json(&KIND_COLUMNS, &answer.kinds),
            SeasonTable::Wanted => csv_of_json(&WANTED_COLUMNS, &answer.planned),
            SeasonTable::Ways => csv_of_json(&WAY_COLUMNS, &answer.methods),
        };
        context.print_csv(&table?)
    } else {
        context.print_text(&text(context, &answer, calendar))
    };
    Ok(written.err().unwrap_or(Exit::Done))
}

const KIND_COLUMNS: [&str; 26] = [
    "taxon",
    "wood",
    "sums.batches as batches",
    "sums.stuck as stuck",
    "sums.rooted as rooted",
    "sums.potted as potted",
    "sums.remain as remain",
    "sums.lost as lost_by_cause",
    "sums.given_up as given_up",
    "sums.lost_in_pots as lost_in_pots",
    "sums.ready as ready",
    "sums.sold as sold",
    "strike.value",
    "strike.missing",
    "strike.low",
    "strike.high",
    "strike.by_day",
    "strike_so_far.value",
    "strike_so_far.missing",
    "strike_so_far.low",
    "strike_so_far.high",
    "strike_so_far.by_day",
    "expect.value",
    "expect.low",
    "expect.high",
    "expect.batches",
];

const WANTED_COLUMNS: [&str; 8] = [
    "taxon", "wood", "count", "by_date", "ready", "stuck", "met_on", "over",
];

const WAY_COLUMNS: [&str; 23] = [
    "taxon",
    "by",
    "day",
    "arms.0.name as arm",
    "arms.0.batches as arm_batches",
    "arms.0.replicates as arm_replicates",
    "arms.0.rooted as arm_rooted",
    "arms.0.low as arm_low",
    "arms.0.high as arm_high",
    "arms.1.name as against",
    "arms.1.batches as against_batches",
    "arms.1.replicates as against_replicates",
    "arms.1.rooted as against_rooted",
    "arms.1.low as against_low",
    "arms.1.high as against_high",
    "difference.value as difference",
    "difference.low",
    "difference.high",
    "p",
    "p_holm",
    "decided",
    "needed.batches",
    "needed.cuttings",
];

/// A review with the words of its page, paragraph by paragraph.
#[derive(Serialize)]
struct SeasonAnswer<'a> {
    #[serde(flatten)]
    review: &'a Review,
    text: Vec<String>,
}

impl<'a> SeasonAnswer<'a> {
    fn new(review: &'a Review, calendar: Calendar) -> Self {
        let text = paras(review, calendar).into_iter().map(|para| para.text);
        Self {
            review,
            text: text.collect(),
        }
    }
}

/// Longer lines are hard to read.
const WIDEST: usize = 100;

fn text(context: &Context, answer: &Review, calendar: Calendar) -> String {
    let width = context.environment.width.min(WIDEST);
    let mut out = String::new();
    for para in paras(answer, calendar) {
        let indent = match para.kind {
            ParaKind::Head => 0,
            ParaKind::Item => 2,
            ParaKind::Detail => 4,
        };
        if para.kind == ParaKind::Head && !out.is_empty() {
            out.push('\n');
        }
        let room = width.saturating_sub(indent + 2);
        for (at, line) in wrap(&para.text, room, context.charset).iter().enumerate() {
            let set_in = " ".repeat(indent + if at == 0 { 0 } else { 2 });
            out.push_str(&format!("{set_in}{line}\n"));
        }
    }
    out
}
