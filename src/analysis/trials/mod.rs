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
mod tested;
mod verdict;

use crate::analysis::expect::MilestoneTimes;
use crate::analysis::timeline::journal_correlations;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::selection::{Selection, select_among};
use crate::stats::correlation::CorrelationPrior;
use crate::stats::workers;
use answer::{Comparison, Stratum, TrialSettings, Trials};
use basis::{Ground, LastLooks};
use chrono::NaiveDate;
use table::Table;

pub(in crate::analysis) use likeness::{FACT_DRAWS, NAMED, numbered};
pub use options::TrialOptions;
pub use table::{Sighting, Split, splits};
pub(in crate::analysis) use tested::{Levels, correct, every_two, inverted, permutation};
pub(in crate::analysis) use verdict::{VerdictRule, verdict_kind};

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
    let whole = WholeJournal::new(book, options.about.as_of);
    whole.compare(&Sighting::new(book, options), options, go_on)
}

/// What every comparison takes from the whole journal, worked out once for many.
pub struct WholeJournal<'a> {
    book: &'a Book,
    as_of: Option<NaiveDate>,
    expected: MilestoneTimes,
    correlations: [CorrelationPrior; 3],
    looks: LastLooks<'a>,
}

impl<'a> WholeJournal<'a> {
    /// Of entries up to and on `as_of`; of all, if absent.
    #[must_use]
    pub fn new(book: &'a Book, as_of: Option<NaiveDate>) -> Self {
        let (expected, correlations) = workers::both(
            || MilestoneTimes::learn(book, as_of.unwrap_or(NaiveDate::MAX)),
            || journal_correlations(book, as_of),
        );
        Self {
            book,
            as_of,
            expected,
            correlations,
            looks: LastLooks::until(book, as_of),
        }
    }

    /// The journal.
    #[must_use]
    pub fn book(&self) -> &'a Book {
        self.book
    }

    /// The batches meant, all of them among these, as of this journal's day.
    #[must_use]
    pub fn sighting(&self, among: &[&'a Batch], about: &Selection) -> Sighting<'a> {
        let (counted, skipped) = select_among(self.book, among.iter().copied(), about);
        Sighting::of_batches(counted, skipped, self.as_of)
    }

    /// Compares as [`compare`] does what was sighted as the options mean it. `None` if `go_on` says no.
    pub fn compare(
        &self,
        sighting: &Sighting<'a>,
        options: &TrialOptions,
        go_on: &mut dyn FnMut(usize, usize) -> bool,
    ) -> Option<Trials> {
        let mut table = Table::new(self.book, sighting, options);
        table.correlations = self.correlations;
        let mut looks = self.looks.clone();
        let whole = options.milestones.len();
        let mut comparisons = Vec::with_capacity(whole);
        for (done, &milestone) in options.milestones.iter().enumerate() {
            let mut step = || go_on(done, whole);
            let ground = basis::ground(&table, &mut looks, &self.expected, milestone);
            comparisons.push(comparison(&table, ground, &mut step)?);
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
}

fn comparison(
    table: &Table,
    ground: Ground,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<Comparison> {
    let strikes = cells::shares(table, &ground);
    let days = if table.options.only_shares {
        Vec::new()
    } else {
        cells::days(table, &ground)
    };
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
        milestone: ground.milestone,
        basis: ground.basis,
        strata: strata.collect(),
        cautions: likeness::cautions(table, &ground, &arms, &pairs, of_pairs),
        defined_by: likeness::defined_by(table, &ground),
        left_out: table.all_left_out(ground.left),
        arms,
        pairs,
    })
}
