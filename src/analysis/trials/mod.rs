//! Trials: two or more ways of doing it side by side, like with like, and what the journal supports
//! about the difference. It words no verdict and asks no clock.

pub mod answer;
mod arm;
mod basis;
mod cells;
pub mod design;
mod likeness;
mod options;
mod pair;
mod table;
mod verdict;

use crate::analysis::timeline::journal_correlations;
use crate::fold::Book;
use crate::fold::batch::Milestone;
use answer::{Comparison, Stratum, TrialSettings, Trials};
use basis::ClosingDays;
use table::{Sighting, Table};

pub use options::TrialOptions;
pub use table::{Split, splits};

/// The comparisons asked for. `go_on` receives how many steps are done and how many there are,
/// and returns whether to go on; the answer is `None` if it returns false.
///
/// The same book gives the same answer to the bit, in whatever order it was read.
///
/// Batches are compared as they ended where enough of them are old enough for that: which ones are depends on their
/// age alone, never on how they went. Elsewhere they are compared by a day to which enough of them were watched.
pub fn compare(
    book: &Book,
    options: &TrialOptions,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<Trials> {
    let expected = ClosingDays::learn(book, options.about.as_of);
    compare_expecting(book, options, &expected, go_on)
}

/// Compares as [`compare`] does, with the expected days given.
pub fn compare_expecting(
    book: &Book,
    options: &TrialOptions,
    expected: &ClosingDays,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<Trials> {
    let sighting = Sighting::new(book, options);
    let mut table = Table::new(book, &sighting, options);
    table.correlations = journal_correlations(book, options.about.as_of);
    let whole = options.milestones.len();
    let mut comparisons = Vec::with_capacity(whole);
    for (done, &milestone) in options.milestones.iter().enumerate() {
        let mut step = || go_on(done, whole);
        comparisons.push(comparison(&table, expected, milestone, &mut step)?);
    }
    Some(Trials {
        by: options.split(),
        within: table.within.clone(),
        settings: TrialSettings {
            as_of: options.about.as_of,
            level: options.level,
            worth_strike: options.worth_strike,
            worth_days: options.worth_days,
            draws: options.draws,
            seed: options.seed,
        },
        same_day: sighting.same_day,
        comparisons,
    })
}

fn comparison(
    table: &Table,
    expected: &ClosingDays,
    milestone: Milestone,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<Comparison> {
    let mut looks = basis::LastLooks::new(table.book);
    let ground = basis::ground(table, &mut looks, expected, milestone);
    let (strikes, days) = (cells::shares(table, &ground), cells::days(table, &ground));
    let arms = arm::arms(table, &ground, [&strikes, &days], go_on)?;
    let pairs = pair::pairs(table, &ground, [&strikes, &days], go_on)?;
    let mut of_pairs = Vec::new();
    for one in &pairs {
        pair::cautions(one, &mut of_pairs);
    }
    let strata = table.strata.iter().zip(&strikes).enumerate();
    let held = strata.filter(|(_, (_, cells))| cells.iter().any(|it| !it.members.is_empty()));
    let strata = held.map(|(at, (by, cells))| Stratum {
        by: by.clone(),
        replicates: cells.iter().map(|cell| cell.members.len()).collect(),
        expected_by: ground.judged_from[at],
    });
    Some(Comparison {
        milestone,
        basis: ground.basis,
        strata: strata.collect(),
        cautions: likeness::cautions(table, &ground, &arms, &pairs, of_pairs),
        defined_by: likeness::defined_by(table, &ground),
        left_out: table.all_left_out(ground.left),
        arms,
        pairs,
    })
}
