//! `pool compare`: two or more ways side by side over all nurseries, each compared within its own nursery.

use super::sources::read_folders;
use super::timeline::{asked_taxon, published_keys};
use super::told::{Beside, Form, PoolRemarks};
use crate::analysis::pool::{
    CompareRows, PairBasis, PoolCompareOptions, PoolGroup, PooledComparison, PooledPair, WholePart,
    pooled_comparison,
};
use crate::analysis::trials::answer::{Fact, VerdictKind};
use crate::app::failure::Failure;
use crate::app::pooling::PoolTaker;
use crate::cli::compare::{milestone, worth};
use crate::cli::context::Context;
use crate::cli::csv_writer::csv_of_json;
use crate::cli::output::Exit;
use crate::model::filter::GroupKey;
use crate::text::choice::NO_BATCH;
use crate::text::clean::shown_in;
use crate::text::figures::{many, near, percent};
use crate::text::table::{Column, table};
use crate::text::verdicts;
use clap::Args;
use std::path::PathBuf;

/// The arguments of `pool compare`.
#[derive(Args, Debug)]
pub struct PoolCompareArguments {
    /// Only this taxon, genus, or part of a name
    #[arg(value_name = "TAXON")]
    of: Vec<String>,
    /// What tells the arms apart: wood, cover, hormone, medium, cut, piece, season
    #[arg(long, value_name = "KEY[,KEY]")]
    by: String,
    /// Compare like with like within these as well as within nursery, taxon and wood stage
    #[arg(long, value_name = "KEY[,KEY]", default_value = "")]
    within: String,
    /// This milestone: root, callus or bottom
    #[arg(long, value_name = "MILESTONE", default_value = "root")]
    milestone: String,
    /// Points that would be worth having
    #[arg(long, value_name = "POINTS", default_value_t = 15.0)]
    worth: f64,
    /// Seed of the random draws
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// As CSV: a row two arms
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Takes batches for a comparison. Aggregates do not tell batches' facts, and cannot be compared.
struct Comparing {
    rows: CompareRows,
    aggregates: usize,
}

impl PoolTaker for Comparing {
    fn part(&mut self, part: WholePart) {
        self.rows.add(part);
    }

    fn group(&mut self, _: PoolGroup) {
        self.aggregates += 1;
    }
}

/// Runs it.
pub fn run(
    context: &Context,
    sources: &[PathBuf],
    arguments: &PoolCompareArguments,
) -> Result<Exit, Failure> {
    let options = options(arguments)?;
    let taxon = asked_taxon(&arguments.of);
    let mut comparing = Comparing {
        rows: CompareRows::new(options.milestone, taxon.as_deref()),
        aggregates: 0,
    };
    let reading = read_folders(context, sources, &mut comparing)?;
    if comparing.aggregates > 0 {
        return Err(Failure::usage(
            "Aggregates do not tell batches apart, so arms cannot be compared in them.",
        )
        .hint("Name the folders that nurseries published to."));
    }
    let remarks = PoolRemarks::new(&reading, None);
    let answer = pooled_comparison(comparing.rows, reading.collector.uncounted(), &options);
    let names = (&answer.synonyms[..], &answer.conflicts[..]);
    Beside::new(remarks, &reading, &answer.uncounted, names).print(
        context,
        Form::asked(arguments.csv, arguments.json),
        &answer,
        || csv_of_json(&PAIR_COLUMNS, &answer.pairs),
        || text(context, &options, &answer),
    )
}

const PAIR_COLUMNS: [&str; 15] = [
    "names.0 as arm",
    "names.1 as against",
    "basis",
    "nurseries",
    "batches.0 as batches_arm",
    "batches.1 as batches_against",
    "difference.value as difference",
    "difference.low as low",
    "difference.high as high",
    "permutation.p as p",
    "permutation.p_holm as p_holm",
    "permutation.smallest_p as smallest_p",
    "verdict",
    "at_most",
    "also_differ[].key as also_differ",
];

fn options(arguments: &PoolCompareArguments) -> Result<PoolCompareOptions, Failure> {
    let by = published_keys(&arguments.by)?;
    if by.is_empty() {
        return Err(Failure::usage("What do you want to compare?")
            .hint("Say --by cover, or another key that nurseries publish."));
    }
    Ok(PoolCompareOptions {
        by,
        within: published_keys(&arguments.within)?,
        milestone: milestone(&arguments.milestone)?,
        worth: worth("--worth", arguments.worth, 100.0)? / 100.0,
        level: 0.95,
        seed: arguments.seed,
    })
}

/// What is alike in all that is compared, but for the arms: `nursery, taxon and wood stage`.
fn alike(options: &PoolCompareOptions) -> String {
    let keys = options.strata();
    let words = keys.iter().map(|key| match key {
        GroupKey::Wood => "wood stage",
        other => other.word(),
    });
    let words: Vec<&str> = ["nursery", "taxon"].into_iter().chain(words).collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => words.concat(),
    }
}

fn text(context: &Context, options: &PoolCompareOptions, answer: &PooledComparison) -> String {
    let done = verdicts::done(answer.milestone);
    let columns = [
        Column::text("arm").at_least(9),
        Column::number("nurseries"),
        Column::number("batches"),
        Column::number(&format!("{done} %")),
    ];
    let rows: Vec<Vec<String>> = answer
        .arms
        .iter()
        .map(|arm| {
            vec![
                shown_in(&arm.name, context.charset),
                arm.nurseries.to_string(),
                arm.batches.to_string(),
                arm.share.map_or_else(|| "too soon".into(), percent),
            ]
        })
        .collect();
    if rows.is_empty() {
        return format!("{NO_BATCH}\n");
    }
    let mut out = context.lines(&format!(
        "As they ended, like with like: within {}. {} in the pool.",
        alike(options),
        many(answer.sums.nurseries as u64, "nursery", "nurseries")
    ));
    out.push('\n');
    out.push_str(&table(
        &columns,
        &rows,
        context.environment.width,
        context.charset,
    ));
    out.push('\n');
    for pair in &answer.pairs {
        out.push_str(&context.lines(&pair_text(pair, done)));
    }
    if answer.pairs.is_empty() {
        out.push_str(
            &context.lines(
                "No two arms meet in any nursery, so nothing can be compared like with like.",
            ),
        );
    }
    let left: Vec<String> = answer
        .left_out
        .iter()
        .map(|(reason, count)| {
            format!(
                "{} ({})",
                many(*count as u64, "batch", "batches"),
                reason.replace('-', " ")
            )
        })
        .collect();
    if !left.is_empty() {
        out.push_str(&context.lines(&format!("Left out: {}.", left.join(", "))));
    }
    let facts: Vec<&str> = answer
        .not_tried
        .iter()
        .map(|fact: &Fact| fact.word())
        .collect();
    out.push_str(&context.lines(&format!(
        "Not tried, since published rows do not say them: {}.",
        facts.join(", ")
    )));
    out
}

fn pair_text(pair: &PooledPair, done: &str) -> String {
    let [first, second] = &pair.names;
    let nurseries = many(pair.nurseries as u64, "nursery", "nurseries");
    let apart = pair.difference.as_ref().map_or_else(String::new, |apart| {
        let points = |share: f64| near(100.0 * share);
        let ends = [apart.interval.low, apart.interval.high];
        let range = match ends.iter().all(|end| end.is_finite()) {
            true => format!("95 % {} to {}", points(ends[0]), points(ends[1])),
            false => "from too few batches to say how sure".to_owned(),
        };
        format!(": {} points {done} ({range})", points(apart.value))
    });
    let p = pair.permutation.map_or_else(String::new, |test| {
        format!(", p {}", verdicts::p(test.p_holm))
    });
    let verdict = match (pair.verdict, pair.at_most) {
        (VerdictKind::Difference, _) => "They differ.".to_owned(),
        (VerdictKind::NoLargerThan, Some(most)) => {
            format!(
                "If they differ, by no more than {} points.",
                near(100.0 * most)
            )
        }
        _ => "Undecided.".to_owned(),
    };
    let basis = match pair.basis {
        PairBasis::Nurseries => format!("The range allows for how nurseries differ ({nurseries})."),
        PairBasis::Batches => format!(
            "This is of {nurseries} alone; what others would see takes six nurseries or more."
        ),
    };
    let also: Vec<&str> = pair.also_differ.iter().map(|it| it.key.word()).collect();
    let also = if also.is_empty() {
        String::new()
    } else {
        format!(
            " They differ in {} as well: which of these did it cannot be told.",
            also.join(", ")
        )
    };
    format!("{first} less {second}{apart}{p}. {verdict} {basis}{also}")
}
