//! What else differs between the arms, where the journal shows it, and what weakens the figures. It
//! changes no figure.

use super::gather::{self, Ground, Subject, Table};
use super::{Arm, Pair};
use crate::fold::batch::Batch;
use crate::model::filter::GroupKey;
use crate::model::text::folded;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeSet;

/// What to bear in mind.
#[derive(Clone, Debug, PartialEq)]
pub enum Caution {
    /// An arm had much to come yet on the day to which all are compared: that of another's last look.
    StillComing {
        /// Which arm.
        arm: usize,
        /// Cuttings that reached the milestone after that day.
        later: f64,
        /// Cuttings that ever did.
        ever: f64,
    },
    /// Two arms were stuck at different times of the year: their first and last days.
    StuckApart {
        /// Which arms, as positions in the comparison's.
        arms: [usize; 2],
        /// From and to, of either.
        days: [[NaiveDate; 2]; 2],
    },
    /// Two arms differ in something else as well, each having one value of it throughout.
    AlsoDiffer {
        /// Which arms.
        arms: [usize; 2],
        /// In what.
        key: GroupKey,
        /// The value of either.
        values: [String; 2],
    },
    /// All looks at an arm were spoken guesses.
    OnlyGuesses {
        /// Which arm.
        arm: usize,
    },
    /// Some batches' looks were spoken guesses only.
    SomeGuesses {
        /// How many batches.
        batches: usize,
    },
    /// An arm has one replicate, so that its spread is unknown.
    OneReplicate {
        /// Which arm.
        arm: usize,
    },
    /// Batches that share a fate count as one replicate.
    Shared {
        /// Which arm.
        arm: usize,
        /// Its batches.
        batches: usize,
        /// Its replicates.
        replicates: usize,
    },
    /// So many cuttings were taken away before the horizon while they waited, and count nowhere.
    TakenAway {
        /// Cuttings.
        cuttings: f64,
    },
    /// Counts of a part of a batch were taken for the whole and rounded for tests by the cutting.
    Rounded,
    /// The interval of a difference covers less often than stated with so few replicates, or shares
    /// so near to all or none.
    FallsShort {
        /// Which arms.
        arms: [usize; 2],
        /// How often it held in simulation, of 100 where 95 are meant.
        holds: f64,
    },
}

impl Caution {
    /// Whether it bears on the comparison of these two arms.
    #[must_use]
    pub fn is_about(&self, pair: [usize; 2]) -> bool {
        match self {
            Self::StuckApart { arms, .. }
            | Self::AlsoDiffer { arms, .. }
            | Self::FallsShort { arms, .. } => *arms == pair,
            Self::StillComing { arm, .. }
            | Self::OnlyGuesses { arm }
            | Self::OneReplicate { arm }
            | Self::Shared { arm, .. } => pair.contains(arm),
            Self::SomeGuesses { .. } | Self::TakenAway { .. } | Self::Rounded => true,
        }
    }
}

/// Facts in which arms may differ unmeant.
pub(super) const FACTS: [GroupKey; 8] = [
    GroupKey::Wood,
    GroupKey::Place,
    GroupKey::Cover,
    GroupKey::Hormone,
    GroupKey::Medium,
    GroupKey::Cut,
    GroupKey::Piece,
    GroupKey::Source,
];

/// Keys that are days of sticking themselves.
const TIMES: [GroupKey; 3] = [GroupKey::Season, GroupKey::Month, GroupKey::Week];

pub(super) fn cautions(
    table: &Table,
    ground: &Ground,
    arms: &[Arm],
    pairs: &[Pair],
) -> Vec<Caution> {
    let each = arms.iter().enumerate();
    let mut out: Vec<Caution> = each.filter_map(|(arm, _)| coming(ground, arm)).collect();
    for pair in pairs {
        let sides = pair.arms.map(|arm| of_arm(ground, arm));
        out.extend(stuck_apart(table, pair, &sides));
        let facts = FACTS.iter();
        out.extend(facts.filter_map(|&key| also_differ(table, pair, &sides, key)));
    }
    out.extend(pairs.iter().filter_map(|pair| falls_short(pair, arms)));
    guesses(ground, arms, &mut out);
    for (at, arm) in arms.iter().enumerate() {
        if arm.replicates == 1 {
            out.push(Caution::OneReplicate { arm: at });
        }
        let batches = arm.batches.len();
        if arm.replicates < batches {
            out.push(Caution::Shared {
                arm: at,
                batches,
                replicates: arm.replicates,
            });
        }
    }
    let cuttings: f64 = arms.iter().map(|a| f64::from(a.stuck) - a.followed).sum();
    out.extend((cuttings > 1e-9).then_some(Caution::TakenAway { cuttings }));
    let rounded = pairs.iter().any(|pair| pair.strike.second.rounded);
    out.extend(rounded.then_some(Caution::Rounded));
    out
}

/// More of what an arm has in the end than this after the day of comparison, and the comparison is of pace, not of
/// how many (our own rule).
const LATE: f64 = 0.1;

fn coming(ground: &Ground, arm: usize) -> Option<Caution> {
    let horizon = ground.horizon?;
    let subjects = of_arm(ground, arm).into_iter();
    let accounts: Vec<_> = subjects.map(|it| it.account(ground.milestone)).collect();
    let ever: f64 = accounts.iter().map(|it| it.reached).sum();
    let by_then: f64 = accounts.iter().map(|it| it.reached_by(horizon)).sum();
    let later = ever - by_then;
    (later > LATE * ever).then_some(Caution::StillComing { arm, later, ever })
}

/// Where the interval of a difference held less often than 95 of 100 by more than two standard errors in
/// 1 000 simulated trials a cell (2, 3, 5, 8, 15 replicates an arm; correlations 0, 0.1, 0.3; shares
/// 0.3, 0.6, 0.95 less 0.15; batches of 24; the whole table is `tests/data/coverage.csv`): up to so many
/// replicates an arm, from this correlation, whether only where a share is near all or none, and how
/// often it held. The first that fits counts.
const SHORT: [(usize, f64, bool, f64); 4] = [
    (6, 0.2, true, 87.0),
    (6, 0.05, true, 92.0),
    (6, 0.2, false, 93.0),
    (usize::MAX, 0.2, true, 93.0),
];

/// A share this near to all or none counts as near.
const NEAR: f64 = 0.15;

/// With fewer replicates nothing is excluded, so the interval always holds.
const EXCLUDES_FROM: usize = 4;

fn falls_short(pair: &Pair, arms: &[Arm]) -> Option<Caution> {
    let fewest = pair.replicates.into_iter().min()?;
    let rho = pair.strike.second.icc?;
    let shares = pair.arms.iter().filter_map(|&arm| arms[arm].reached);
    let near = shares
        .map(|it| it.value.min(1.0 - it.value))
        .any(|rest| rest <= NEAR);
    let fits = |row: &&(usize, f64, bool, f64)| fewest <= row.0 && rho >= row.1 && (near || !row.2);
    let row = SHORT.iter().find(fits)?;
    (fewest >= EXCLUDES_FROM).then_some(Caution::FallsShort {
        arms: pair.arms,
        holds: row.3,
    })
}

fn of_arm<'g, 'a>(ground: &'g Ground<'a>, arm: usize) -> Vec<&'g Subject<'a>> {
    let subjects = ground.subjects.iter();
    subjects.filter(|it| it.arm == arm).collect()
}

/// Days of sticking that do not overlap, whatever the year.
fn stuck_apart(table: &Table, pair: &Pair, sides: &[Vec<&Subject>; 2]) -> Option<Caution> {
    let split = table.options.split();
    if split.iter().any(|key| TIMES.contains(key)) {
        return None;
    }
    let ends = |side: &Vec<&Subject>| {
        let days = || side.iter().map(|it| it.counted.batch.stuck_on);
        let of_year = |day: &NaiveDate| (day.month(), day.day());
        Some([days().min_by_key(of_year)?, days().max_by_key(of_year)?])
    };
    let [first, second] = [ends(&sides[0])?, ends(&sides[1])?];
    let of_year = |day: NaiveDate| (day.month(), day.day());
    let before = |a: [NaiveDate; 2], b: [NaiveDate; 2]| of_year(a[1]) < of_year(b[0]);
    // A day or two between arms is how work goes; a fortnight is another season.
    let gap = |a: [NaiveDate; 2], b: [NaiveDate; 2]| b[0].ordinal().saturating_sub(a[1].ordinal());
    let apart = (before(first, second) && gap(first, second) >= FORTNIGHT)
        || (before(second, first) && gap(second, first) >= FORTNIGHT);
    apart.then_some(Caution::StuckApart {
        arms: pair.arms,
        days: [first, second],
    })
}

/// Days between two arms' sticking from which on they count as stuck at different times.
const FORTNIGHT: u32 = 14;

/// One value of a fact in all of one arm, another in all of the other.
fn also_differ(
    table: &Table,
    pair: &Pair,
    sides: &[Vec<&Subject>; 2],
    key: GroupKey,
) -> Option<Caution> {
    if table.options.split().contains(&key) || table.options.strata().contains(&key) {
        return None;
    }
    let only = |side: &Vec<&Subject>| {
        let values = side
            .iter()
            .map(|it| key.value_for(table.book, it.counted.batch));
        let values: BTreeSet<Option<String>> = values.collect();
        let mut values = values.into_iter();
        let first = values.next()??;
        values.next().is_none().then_some(first)
    };
    let values = [only(&sides[0])?, only(&sides[1])?];
    let named = pair.arms.iter().zip(&values).all(|(&arm, value)| {
        let arm = gather::name(&table.arms[arm]);
        is_named(&arm, value)
    });
    (values[0] != values[1] && !named).then_some(Caution::AlsoDiffer {
        arms: pair.arms,
        key,
        values,
    })
}

/// Whether an arm bears the name of a fact's value, whole or begun: `soft` of softwood, `IBA 1000` of
/// `IBA 1000 ppm talc`. Such a fact is what the arms are, not what differs besides.
fn is_named(arm: &str, value: &str) -> bool {
    let (arm, value) = (folded(arm), folded(value));
    arm.starts_with(&value) || value.starts_with(&arm)
}

fn guesses(ground: &Ground, arms: &[Arm], out: &mut Vec<Caution>) {
    let mut some = 0;
    for (at, _) in arms.iter().enumerate() {
        let side = of_arm(ground, at);
        let guessed = side.iter().filter(|it| only_guesses(it.counted.batch));
        let guessed = guessed.count();
        if guessed > 0 && guessed == side.len() {
            out.push(Caution::OnlyGuesses { arm: at });
        } else {
            some += guessed;
        }
    }
    if some > 0 {
        out.push(Caution::SomeGuesses { batches: some });
    }
}

fn only_guesses(batch: &Batch) -> bool {
    let mut tallies = batch.inspections.iter().filter_map(|it| it.tally);
    batch.rests_on_guesses() && tallies.all(|tally| tally.about.is_some())
}
