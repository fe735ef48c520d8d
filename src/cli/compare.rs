//! `compare`: two or more ways of doing it side by side, and what the journal supports.

use super::context::Context;
use super::exit::Exit;
use super::filters::{Filters, group_keys};
use super::{compare_json, json, output};
use crate::book::meant::Question;
use crate::book::milestone::Milestone;
use crate::book::trials::{Comparison, Difference, Options, Pair, Test, Trials, compare};
use crate::desk::failure::Failure;
use crate::words::clean::shown_in;
use crate::words::figures::percent_range;
use crate::words::table::{Column, table};
use crate::words::verdicts;
use crate::words::wrap::wrap;
use clap::Args;
use std::collections::BTreeMap;

/// Arguments of `compare`.
#[derive(Args, Debug)]
pub struct Arguments {
    /// What tells the arms apart: wood, cover, place, season, hormone ... (the trial's arm if absent)
    #[arg(long, value_name = "KEY[,KEY]", default_value = "")]
    by: String,
    /// Compare like with like within these as well as within the taxon
    #[arg(long, value_name = "KEY[,KEY]", default_value = "")]
    within: String,
    #[command(flatten)]
    filters: Filters,
    /// Only this milestone: root, callus or bottom
    #[arg(long, value_name = "MILESTONE")]
    milestone: Option<String>,
    /// Points of rooted % that would be worth having
    #[arg(long, value_name = "POINTS", default_value_t = 15.0)]
    worth: f64,
    /// Days sooner that would be worth having
    #[arg(long, value_name = "DAYS", default_value_t = 7.0)]
    worth_days: f64,
    /// Compare seasons whole, not to the same day of the year
    #[arg(long)]
    whole_seasons: bool,
    /// As it stood at the end of this day
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
    /// Count failed cuttings that were stuck again too
    #[arg(long)]
    again: bool,
    /// Seed of the arrangements and resamples drawn
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(context: &Context, arguments: &Arguments) -> Result<Exit, Failure> {
    let options = options(context, arguments)?;
    let answer = context.work_out("comparing", |book, go_on| compare(book, &options, go_on))?;
    let Some(answer) = answer else {
        return Ok(Exit::Could);
    };
    let told = if arguments.json {
        json::write(&compare_json::of(&answer))
    } else {
        output::data(&text(context, &answer))
    };
    Ok(told.err().unwrap_or(Exit::Done))
}

fn options(context: &Context, arguments: &Arguments) -> Result<Options, Failure> {
    let filter = arguments.filters.read(&|text| context.day(text))?;
    let by = group_keys(&arguments.by)?;
    if by.is_empty() && filter.trial.is_none() {
        return Err(Failure::usage("What is to be compared?")
            .hint("Say --by wood, or another key, or --trial with a trial's name."));
    }
    let as_of = arguments
        .on
        .as_deref()
        .map(|text| context.day(text))
        .transpose()?;
    let plain = Options::default();
    let milestones = match &arguments.milestone {
        None => plain.milestones,
        Some(word) => vec![Milestone::of(&word.to_lowercase()).ok_or_else(|| {
            Failure::usage(format!("'{word}' is no milestone.")).hint("Say root, callus or bottom.")
        })?],
    };
    Ok(Options {
        about: Question {
            filter,
            again: arguments.again,
            as_of,
        },
        by,
        within: group_keys(&arguments.within)?,
        milestones,
        worth_strike: worth("--worth", arguments.worth, 100.0)? / 100.0,
        worth_days: worth("--worth-days", arguments.worth_days, 3650.0)?,
        seed: arguments.seed,
        whole_seasons: arguments.whole_seasons,
        ..Options::default()
    })
}

/// What is worth having, above 0 and no more than there can be.
pub fn worth(option: &str, value: f64, most: f64) -> Result<f64, Failure> {
    if value > 0.0 && value <= most {
        return Ok(value);
    }
    Err(Failure::usage(format!(
        "{option} is above 0 and at most {most}."
    )))
}

fn text(context: &Context, answer: &Trials) -> String {
    let each = answer.comparisons.iter();
    let parts: Vec<String> = each.map(|it| comparison(context, answer, it)).collect();
    parts.join("\n")
}

/// Text in lines that fit, the first set in by so much, the rest by two more.
fn lines(context: &Context, set_in: usize, text: &str) -> String {
    let cols = context.environment.width.saturating_sub(set_in + 2);
    let broken = wrap(text, cols, context.charset);
    let mut out = String::new();
    for (at, line) in broken.iter().enumerate() {
        let gap = " ".repeat(set_in + if at > 0 { 2 } else { 0 });
        out.push_str(&format!("{gap}{line}\n"));
    }
    out
}

fn comparison(context: &Context, answer: &Trials, it: &Comparison) -> String {
    let mut out = lines(context, 0, &heading(answer, it));
    if it.arms.iter().any(|arm| arm.replicates > 0) {
        out.push_str(&arms(context, it));
    }
    for pair in &it.pairs {
        out.push('\n');
        out.push_str(&self::pair(context, answer, it, pair));
    }
    if let Some(all) = &it.overall {
        let p = |it: &Option<crate::figures::permute::Permuted>| {
            it.map_or_else(|| "unknown".into(), |it| verdicts::p(it.p))
        };
        let (strike, days) = (p(&all.strike), p(&all.days));
        let said = format!("All arms at once: p {strike} for shares, {days} for days.");
        out.push('\n');
        out.push_str(&lines(context, 0, &said));
    }
    for caution in &it.cautions {
        let said = format!("! {}", verdicts::caution(it, caution));
        out.push_str(&lines(context, 0, &said));
    }
    out.push_str(&left_out(context, it));
    out
}

fn heading(answer: &Trials, it: &Comparison) -> String {
    let done = verdicts::done(it.milestone);
    let Some(h) = it.horizon.filter(|_| !it.pairs.is_empty()) else {
        return format!("{done}: nothing to compare, since no two arms meet.");
    };
    let within: Vec<&str> = answer.within.iter().map(|key| key.word()).collect();
    let strata = match (within.is_empty(), it.strata.len()) {
        (true, _) => String::new(),
        (_, 1) => format!(", one {}", within.join(" and ")),
        (_, n) => format!(", within {} ({n})", within.join(" and ")),
    };
    let to = answer.same_day.map_or_else(String::new, |day| {
        format!(", seasons seen to {}", crate::words::dates::day_month(day))
    });
    format!("{done}, compared to day {h}{strata}{to}")
}

fn arms(context: &Context, it: &Comparison) -> String {
    let columns = [
        Column::text("arm"),
        Column::number("batches").dropping(2),
        Column::number("replicates").dropping(3),
        Column::number("stuck").dropping(1),
        Column::number(&format!("{} %", verdicts::done(it.milestone))),
        Column::number("days"),
        Column::number("of these").dropping(4),
    ];
    let row = |arm: &crate::book::trials::Arm| {
        let days = |days: Option<f64>| days.map_or_else(String::new, |it| format!("{it:.0}"));
        vec![
            arm.name.clone(),
            arm.batches.len().to_string(),
            arm.replicates.to_string(),
            arm.stuck.to_string(),
            arm.reached.map_or_else(String::new, |share| {
                percent_range(share.value, share.interval.low, share.interval.high)
            }),
            days(arm.days.map(|it| it.value)),
            days(arm.days.and_then(|it| it.of_reached)),
        ]
    };
    let rows: Vec<Vec<String>> = it.arms.iter().map(row).collect();
    table(&columns, &rows, context.environment.width, context.charset)
}

fn pair(context: &Context, answer: &Trials, it: &Comparison, pair: &Pair) -> String {
    let options = &answer.options;
    let [first, second] = pair.arms.map(|arm| it.arms[arm].name.as_str());
    let mut out = lines(context, 0, &format!("{first} less {second}"));
    let strike = &pair.strike;
    out.push_str(&lines(
        context,
        2,
        &apart(strike.difference, strike.test, 100.0, "points"),
    ));
    let said = verdicts::strike(it, pair, options.worth_strike);
    out.push_str(&lines(context, 2, &said));
    let days = &pair.days;
    out.push_str(&lines(
        context,
        2,
        &apart(days.difference, days.test, 1.0, "days"),
    ));
    let said = verdicts::waited(it, pair, options.worth_days);
    out.push_str(&lines(context, 2, &said));
    out.push_str(&lines(context, 2, &by_the_cutting(pair)));
    if let Some(spread) = verdicts::spread(pair) {
        out.push_str(&lines(context, 2, &spread));
    }
    if let Some(q) = &strike.homogeneity {
        let agree = if q.p > 0.05 { "agree" } else { "differ" };
        let said = format!("Strata {agree}: Q {:.1}, p {}.", q.chi2, verdicts::p(q.p));
        out.push_str(&lines(context, 2, &said));
    }
    out
}

/// A difference with its interval and test: `-33 points (-45 to -20), p 0.008 of 252 ways`.
fn apart(difference: Option<Difference>, test: Option<Test>, scale: f64, unit: &str) -> String {
    let (Some(it), Some(test)) = (difference, test) else {
        return format!("no {unit} to compare");
    };
    let end = |end: f64| match end.is_finite() {
        true => format!("{:+.0}", (scale * end).round() + 0.0),
        false => "?".into(),
    };
    let (low, high) = (end(it.interval.low), end(it.interval.high));
    let ways = test.permuted.arrangements;
    let how = if test.permuted.exact { "all" } else { "drawn" };
    let holm = if test.holm > test.permuted.p {
        format!(" ({} by Holm)", verdicts::p(test.holm))
    } else {
        String::new()
    };
    format!(
        "{:+.0} {unit} ({low} to {high}), p {}{holm}, {how} {ways} arrangements",
        scale * it.value,
        verdicts::p(test.permuted.p)
    )
}

fn by_the_cutting(pair: &Pair) -> String {
    let second = &pair.strike.second;
    let mut parts = Vec::new();
    let mut say = |what: &str, p: Option<f64>| {
        parts.extend(p.map(|p| format!("{what} p {}", verdicts::p(p))));
    };
    say("Fisher", second.fisher_p);
    say("CMH", second.cmh.map(|it| it.p));
    say("CMH corrected", second.cmh_corrected.map(|it| it.p));
    say("days' scores", pair.days.score.map(|(_, p)| p));
    if let Some(ratio) = second.odds_ratio {
        parts.push(format!("odds ratio {ratio:.2}"));
    }
    format!("By the cutting: {}.", parts.join(", "))
}

/// Batches left out, by reason.
fn left_out(context: &Context, it: &Comparison) -> String {
    let mut by: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for left in &it.left_out {
        let reason = verdicts::left_out(&left.reason);
        by.entry(reason).or_default().push(&left.batch);
    }
    let mut out = String::new();
    for (reason, batches) in by {
        let said = format!("Left out, {reason}: {}.", batches.join(", "));
        out.push_str(&lines(context, 0, &shown_in(&said, context.charset)));
    }
    out
}
