//! `timeline`: how many root and how long they take, by taxon and any other key.

use super::context::Context;
use super::csv_writer::csv_of_json;
use super::filters;
use super::filters::{Filters, group_keys};
use super::output::Exit;
use crate::analysis::timeline::{
    Figure, Missing, Timeline, TimelineGroup, TimelineOptions, timeline,
};
use crate::app::failure::Failure;
use crate::fold::batch::Milestone;
use crate::fold::selection::Selection;
use crate::model::filter::GroupKey;
use crate::text::clean::shown_in;
use crate::text::figures::percent;
use crate::text::table::{Column, table};
use crate::text::timelines;
use crate::text::verdicts;
use clap::Args;

/// The arguments of `timeline`.
#[derive(Args, Debug)]
pub struct TimelineArguments {
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
    #[command(flatten)]
    ranges: RangeArguments,
    /// As CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// How the ranges of days are made.
#[derive(Args, Debug)]
pub struct RangeArguments {
    /// Resamples for the ranges of days; 0 leaves them out
    #[arg(long, value_name = "N", default_value_t = 999)]
    pub resamples: usize,
    /// Seed of the resampling
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &TimelineArguments) -> Result<Exit, Failure> {
    let options = options(context, arguments)?;
    let answer = context.work_out("working out", |book, go_on| {
        filters::check_names(book, &options.about.filter)?;
        Ok(timeline(book, &options, go_on))
    })??;
    let Some(answer) = answer else {
        return Ok(Exit::Could);
    };
    let written = if arguments.json {
        context.print_json(&answer)
    } else if arguments.csv {
        let columns = csv_columns(&options.by);
        context.print_csv(&csv_of_json(&columns, &answer.groups)?)
    } else {
        context.print_text(&text(context, &answer, &options.by))
    };
    Ok(written.err().unwrap_or(Exit::Done))
}

fn options(context: &Context, arguments: &TimelineArguments) -> Result<TimelineOptions, Failure> {
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
    Ok(TimelineOptions {
        about: Selection {
            filter,
            again: arguments.again,
            as_of,
        },
        by,
        resamples: arguments.ranges.resamples,
        seed: arguments.ranges.seed,
        ..TimelineOptions::default()
    })
}

/// A column of the table: how it is set, and what stands in it for a group.
type GroupColumn = (Column, fn(&TimelineGroup) -> String);

/// The columns after the taxon and the keys that it is grouped by; the highest number is dropped first.
fn columns() -> [GroupColumn; 7] {
    [
        (Column::number("batches").dropping(2), |group| {
            group.size.batches.to_string()
        }),
        (Column::number("stuck").dropping(1), |group| {
            group.size.stuck.to_string()
        }),
        (Column::number("rooted %"), timelines::strike),
        (Column::number("callused").dropping(3), |group| {
            timelines::days(group.figures(Milestone::Callus), " ")
        }),
        (Column::number("rooted"), |group| {
            timelines::days(group.figures(Milestone::Root), " ")
        }),
        (Column::number("to bottom").dropping(4), |group| {
            timelines::days(group.figures(Milestone::Bottom), " ")
        }),
        (Column::number("watched").dropping(5), |group| {
            format!("{:.0}", group.size.watched)
        }),
    ]
}

/// The columns of the CSV that say what a group is.
pub fn key_paths(by: &[GroupKey]) -> Vec<String> {
    let keys = by.iter().map(|key| format!("by.{0} as {0}", key.word()));
    std::iter::once("taxon".to_owned()).chain(keys).collect()
}

/// The columns of the CSV: what a group is, its shares, and for each milestone the days of those that reached it.
pub fn csv_columns(by: &[GroupKey]) -> Vec<String> {
    let mut columns = key_paths(by);
    columns.extend(["batches", "replicates", "stuck", "lost", "watched"].map(String::from));
    let share = ["value", "missing", "low", "high", "by_day"];
    columns.extend(share.map(|part| format!("strike.{part}")));
    columns.extend(["value", "missing", "batches"].map(|part| format!("yield.{part}")));
    for milestone in Milestone::ALL.map(Milestone::word) {
        columns.extend(share.map(|part| {
            format!("milestones.{milestone}.reached.{part} as {milestone}_reached_{part}")
        }));
        for percent in ["p10", "p50", "p90"] {
            let day = format!("milestones.{milestone}.days.reached.{percent}");
            let named = format!("{milestone}_{percent}");
            columns.extend(["after", "by"].map(|part| format!("{day}.{part} as {named}_{part}")));
            for part in ["at", "low", "high"] {
                columns.push(format!("{day}.{part} as {named}_{part}"));
                // Where the whole figure is missing, so are its parts, for its reason.
                columns.push(format!(
                    "{day}.{part}_why.missing|{day}.missing|milestones.{milestone}.reached.missing as {named}_{part}_why"
                ));
            }
        }
    }
    columns
}

fn text(context: &Context, answer: &Timeline, by: &[GroupKey]) -> String {
    if answer.groups.is_empty() {
        let left_out = left_out(context, answer);
        return format!("No batch with a look fits that choice.\n{left_out}");
    }
    let groups: Vec<&TimelineGroup> = answer.groups.iter().collect();
    let mut out = group_table(context, &groups, by, None);
    if let [group] = answer.groups.as_slice() {
        out.push_str(&one_group(context, group));
    }
    out.push_str(&left_out(context, answer));
    out
}

/// A table of groups, with what its cells mean; `beside` is a column to stand behind the keys, a cell a group.
pub fn group_table(
    context: &Context,
    groups: &[&TimelineGroup],
    by: &[GroupKey],
    beside: Option<(Column, Vec<String>)>,
) -> String {
    let (mut set, cells): (Vec<Column>, Vec<_>) = columns().into_iter().unzip();
    let mut keys = key_columns(by);
    let (column, mut beside) = beside.unzip();
    keys.extend(column);
    set.splice(0..0, keys);
    let row = |(at, group): (usize, &&TimelineGroup)| {
        let mut row = key_cells(context, &group.taxon, &group.by);
        row.extend(beside.as_mut().map(|cells| std::mem::take(&mut cells[at])));
        row.extend(cells.iter().map(|cell| cell(group)));
        row
    };
    let rows: Vec<Vec<String>> = groups.iter().enumerate().map(row).collect();
    let mut out = table(&set, &rows, context.environment.width, context.charset);
    out.push('\n');
    out.push_str(&context.lines("In brackets the 95 % range. Under callused, rooted and to bottom: the days since sticking by which 10, 50 and 90 % of those that got so far had done so."));
    if rows
        .concat()
        .iter()
        .any(|cell| cell.contains(timelines::BY))
    {
        out.push_str(&context.lines(&format!(
            "{}23: by day 23; looks are too far apart to tell the day.",
            timelines::BY
        )));
    }
    out
}

/// The columns of a table that say what a group is: its taxon, and the keys that it is grouped by.
pub fn key_columns(by: &[GroupKey]) -> Vec<Column> {
    let keys = by.iter().map(|key| Column::text(key.word()).at_least(9));
    let taxon = Column::text("taxon").at_least(14);
    std::iter::once(taxon).chain(keys).collect()
}

/// Their cells.
pub fn key_cells(context: &Context, taxon: &str, by: &[(GroupKey, Option<String>)]) -> Vec<String> {
    let mut row = vec![shown_in(taxon, context.charset)];
    row.extend(by.iter().map(|(_, value)| {
        value
            .as_deref()
            .map_or_else(|| "not recorded".into(), |v| shown_in(v, context.charset))
    }));
    row
}

/// One group at length: each milestone's days with their ranges, then what to bear in mind.
pub fn one_group(context: &Context, group: &TimelineGroup) -> String {
    let mut out = String::from("\n");
    for milestone in Milestone::ALL {
        let figures = group.figures(milestone);
        let Some(reached) = figures.reached.value() else {
            continue;
        };
        out.push_str(&format!(
            "{}: {} by day {}\n",
            verdicts::done(milestone),
            timelines::share(&figures.reached),
            reached.by_day
        ));
        for (name, day) in figures.days.reached.named() {
            let percent = name.trim_start_matches('p');
            let words = match day {
                Figure::Value(day) => timelines::day_words(day),
                Figure::Missing(Missing::OutOfOrder { .. }) => day
                    .missing()
                    .as_ref()
                    .map_or_else(String::new, timelines::missing),
                Figure::Missing(_) => continue,
            };
            out.push_str(&context.behind("  ", &format!("{percent} % of these {words}")));
        }
    }
    if let Some(closed) = group.yielded.value() {
        out.push_str(&format!(
            "closed batches: {} % rooted, in {}\n",
            percent(closed.value),
            closed.batches
        ));
    }
    for caution in &group.cautions {
        out.push_str(&context.behind("! ", &timelines::caution(caution)));
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
