//! `season`: a season in review, from what was wanted to what the figures suggest for the next.

use super::context::Context;
use super::filters::Filters;
use super::output::Exit;
use crate::analysis::review;
use crate::analysis::review::{Review, ReviewOptions, review};
use crate::app::failure::Failure;
use crate::text::clean::wrap;
use crate::text::dates::Calendar;
use crate::text::review::{ParaKind, paras};
use clap::Args;
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
    /// Seed of the drawing of arrangements
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// As JSON
    #[arg(long)]
    json: bool,
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
        return Err(Failure::could("No batch of this choice was stuck."));
    };
    let written = if arguments.json {
        context.print_json(&SeasonAnswer::new(&answer, calendar))
    } else {
        context.print_text(&text(context, &answer, calendar))
    };
    Ok(written.err().unwrap_or(Exit::Done))
}

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
