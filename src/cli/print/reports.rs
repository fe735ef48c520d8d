//! `print season` and `print taxon`.

use super::page::{Destination, PaperName, admitted, give};
use crate::analysis::review::{self, ReviewOptions, review};
use crate::analysis::timeline::{Timeline, TimelineOptions, timeline};
use crate::app::failure::Failure;
use crate::cli::context::Context;
use crate::cli::filters;
use crate::cli::output::Exit;
use crate::fold::Book;
use crate::fold::selection::Selection;
use crate::handover::print::report;
use crate::model::filter::{Filter, GroupKey};
use crate::text::dates::Calendar;
use clap::Args;

/// Arguments of `print season`.
#[derive(Args, Debug)]
pub struct SeasonPageArguments {
    /// The year in which the season began; the latest if left out
    #[arg(value_name = "YEAR")]
    year: Option<i32>,
    /// Seed of the random draws
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// The paper
    #[arg(long, value_enum, ignore_case = true, default_value_t)]
    paper: PaperName,
    #[command(flatten)]
    destination: Destination,
}

/// Arguments of `print taxon`.
#[derive(Args, Debug)]
pub struct TaxonPageArguments {
    /// The taxon, a genus, or part of a name
    #[arg(value_name = "TAXON", required = true)]
    name: Vec<String>,
    /// The paper
    #[arg(long, value_enum, ignore_case = true, default_value_t)]
    paper: PaperName,
    #[command(flatten)]
    destination: Destination,
}

/// Runs `print season`.
pub fn season(context: &Context, arguments: &SeasonPageArguments) -> Result<Exit, Failure> {
    if arguments.year.is_some_and(|year| !review::is_season(year)) {
        return Err(Failure::usage("No season can begin in that year."));
    }
    let today = context.environment.clock()?.now().date_naive();
    let page = context.work_out("comparing", |book, go_on| {
        let seasons = review::seasons(book, &Filter::default());
        let season = arguments.year.or(seasons.last().copied())?;
        if !seasons.contains(&season) {
            return None;
        }
        let options = ReviewOptions {
            seed: arguments.seed,
            ..ReviewOptions::new(season, today)
        };
        let answer = review(book, &options, go_on)?;
        let filter = Filter {
            season: Some(season),
            ..Filter::default()
        };
        let curves = curves(book, &filter, GroupKey::Wood)?;
        let batches = admitted(book, &filter);
        let words = Calendar::for_book(book, today);
        let paper = arguments.paper.into();
        Some(report::season(
            book, &answer, &curves, &batches, words, paper,
        ))
    })?;
    let page = page.ok_or_else(|| {
        let in_year = arguments
            .year
            .map_or_else(String::new, |year| format!(" in {year}"));
        Failure::could(format!(
            "No batch was stuck{in_year}, so there is no season to print."
        ))
        .hint("`struck season` tells of the latest.")
    })?;
    give(context, &page, &arguments.destination)
}

/// Runs `print taxon`.
pub fn taxon(context: &Context, arguments: &TaxonPageArguments) -> Result<Exit, Failure> {
    let name = arguments.name.join(" ");
    let filter = Filter {
        taxon: Some(name.clone()),
        ..Filter::default()
    };
    let today = context.environment.clock()?.now().date_naive();
    let page = context.work_out("working out", |book, _| {
        filters::check_names(book, &filter)?;
        let batches = admitted(book, &filter);
        let shown = batches
            .first()
            .map_or(name.clone(), |batch| batch.taxon.shown());
        let is_one = batches.iter().all(|batch| batch.taxon.shown() == shown);
        let title = if is_one { shown } else { name.clone() };
        let by_wood = curves(book, &filter, GroupKey::Wood);
        let by_season = curves(book, &filter, GroupKey::Season);
        let words = Calendar::for_book(book, today);
        let paper = arguments.paper.into();
        Ok(by_wood.zip(by_season).map(|(by_wood, by_season)| {
            report::taxon(&title, &by_wood, &by_season, &batches, words, paper)
        }))
    })??;
    let page = page.ok_or_else(|| Failure::could("The curves could not be worked out."))?;
    give(context, &page, &arguments.destination)
}

fn curves(book: &Book, filter: &Filter, by: GroupKey) -> Option<Timeline> {
    let options = TimelineOptions {
        about: Selection {
            filter: filter.clone(),
            ..Selection::default()
        },
        by: vec![by],
        resamples: 0,
        ..TimelineOptions::default()
    };
    timeline(book, &options, &mut |_, _| true)
}
