//! `timeline`: how many root and how long they take, by taxon and any other key.

use super::context::Context;
use super::exit::Exit;
use super::filters::{Filters, group_keys};
use super::{json, named, output, timeline_json};
use crate::analysis::timeline::{Group, MilestoneFigure, Options, Timeline, timeline};
use crate::app::failure::Failure;
use crate::fold::batch::Milestone;
use crate::fold::selection::Selection;
use crate::model::filter::GroupKey;
use crate::text::clean::shown_in;
use crate::text::figures::{day_range, days, percent_range};
use crate::text::table::{Column, table};
use clap::Args;

/// Arguments of `timeline`.
#[derive(Args, Debug)]
pub struct Arguments {
    /// Only this taxon, genus, or part of a name
    #[arg(value_name = "TAXON")]
    of: Vec<String>,
    #[command(flatten)]
    filters: Filters,
    /// Group by these as well: taxon, wood, season, month, week, place, cover, hormone, medium, cut, piece, source, trial, arm
    #[arg(long, value_name = "KEY[,KEY]", default_value = "")]
    by: String,
    /// As it stood at the end of this day
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
    /// Count failed cuttings that were stuck again too
    #[arg(long)]
    again: bool,
    /// Resamples for the ranges of days; 0 leaves them out
    #[arg(long, value_name = "N", default_value_t = 999)]
    resamples: usize,
    /// Seed of the resampling
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(context: &Context, arguments: &Arguments) -> Result<Exit, Failure> {
    let options = options(context, arguments)?;
    let answer = context.work_out("working out", |book, go_on| {
        named::check(book, &options.about.filter)?;
        Ok(timeline(book, &options, go_on))
    })??;
    let Some(answer) = answer else {
        return Ok(Exit::Could);
    };
    let told = if arguments.json {
        json::write(&timeline_json::of(&answer))
    } else {
        output::data(&text(context, &answer, &options.by))
    };
    Ok(told.err().unwrap_or(Exit::Done))
}

fn options(context: &Context, arguments: &Arguments) -> Result<Options, Failure> {
    let mut filter = arguments.filters.read(&|text| context.day(text))?;
    if !arguments.of.is_empty() {
        filter.taxon = Some(arguments.of.join(" "));
    }
    let mut by = group_keys(&arguments.by)?;
    // Every group is of one taxon already.
    by.retain(|key| *key != GroupKey::Taxon);
    let as_of = arguments
        .on
        .as_deref()
        .map(|text| context.day(text))
        .transpose()?;
    Ok(Options {
        about: Selection {
            filter,
            again: arguments.again,
            as_of,
        },
        by,
        resamples: arguments.resamples,
        seed: arguments.seed,
        ..Options::default()
    })
}

fn text(context: &Context, answer: &Timeline, by: &[GroupKey]) -> String {
    let width = context.environment.width;
    if answer.groups.is_empty() {
        return format!(
            "No batch with a look is meant.\n{}",
            left_out(context, answer)
        );
    }
    let mut columns = vec![Column::text("taxon").at_least(14)];
    columns.extend(by.iter().map(|key| Column::text(key.word()).at_least(9)));
    columns.extend([
        Column::number("batches").dropping(2),
        Column::number("stuck").dropping(1),
        Column::number("rooted %"),
        Column::number("callus").dropping(3),
        Column::number("rooted"),
        Column::number("to bottom").dropping(4),
        Column::number("watched").dropping(5),
    ]);
    let rows: Vec<Vec<String>> = answer
        .groups
        .iter()
        .map(|group| row(context, group))
        .collect();
    let mut out = table(&columns, &rows, width, context.charset);
    out.push('\n');
    out.push_str(&context.lines("Days since sticking by which 10, 50 and 90 % of those that got there had; rooted % with its 95 % range."));
    if let [group] = answer.groups.as_slice() {
        out.push_str(&details(context, group));
    }
    out.push_str(&left_out(context, answer));
    out
}

fn row(context: &Context, group: &Group) -> Vec<String> {
    let mut row = vec![shown_in(&group.taxon, context.charset)];
    row.extend(group.by.iter().map(|(_, value)| {
        value
            .as_deref()
            .map_or_else(|| "not recorded".into(), |v| shown_in(v, context.charset))
    }));
    let strike = group.strike.map_or_else(
        || "too soon".into(),
        |s| percent_range(s.value, s.low, s.high),
    );
    let of = |milestone| quick(group.of(milestone));
    row.extend([
        group.size.batches.to_string(),
        group.size.stuck.to_string(),
        strike,
        of(Milestone::Callus),
        of(Milestone::Root),
        of(Milestone::Bottom),
        format!("{:.0}", group.size.watched),
    ]);
    row
}

/// The three days of those that reached a milestone.
fn quick(figure: &MilestoneFigure) -> String {
    let days: Vec<String> = figure
        .of_reached
        .days
        .iter()
        .map(|d| d.map_or_else(|| "?".into(), |d| days(d.at)))
        .collect();
    if figure.reached.is_none() {
        String::new()
    } else {
        days.join(" ")
    }
}

/// One group at length: each milestone's days with their ranges, then what to bear in mind.
fn details(context: &Context, group: &Group) -> String {
    let mut out = String::from("\n");
    for milestone in Milestone::ALL {
        let figure = group.of(milestone);
        let Some(reached) = &figure.reached else {
            continue;
        };
        out.push_str(&format!(
            "{}: {} by day {}\n",
            milestone.word(),
            percent_range(reached.value, reached.low, reached.high),
            reached.by_day
        ));
        for (name, held) in figure.of_reached.named() {
            let Some(held) = held else { continue };
            let percent = name.trim_start_matches('p');
            let days = day_range(held.after, held.by, held.at, held.low, held.high);
            out.push_str(&context.behind("  ", &format!("{percent} % of these {days}")));
        }
    }
    if let Some(held) = &group.yielded {
        out.push_str(&format!(
            "closed batches: {:.0} % rooted, of {}\n",
            100.0 * held.value,
            held.batches
        ));
    }
    for caution in &group.cautions {
        out.push_str(&context.behind("! ", &caution.to_string()));
    }
    out
}

fn left_out(context: &Context, answer: &Timeline) -> String {
    if answer.skipped.is_empty() {
        return String::new();
    }
    let each: Vec<String> = answer
        .skipped
        .iter()
        .map(|left| {
            format!(
                "{} ({})",
                crate::text::clean::shown(&left.batch),
                left.reason
            )
        })
        .collect();
    context.lines(&format!("Left out: {}.", each.join(", ")))
}
