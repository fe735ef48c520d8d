//! Whether like is compared with like: which other recorded facts go with the arms within strata, and what else
//! weakens the figures. It changes no figure.

use super::answer::{Arm, ArmPair, ComparisonCaution, Fact, Likeness};
use super::basis::Ground;
use super::table::{Subject, Table, name_of};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::model::filter::GroupKey;
use crate::model::text::folded;
use crate::stats::association::{Membership, cramers_v};
use crate::stats::workers;
use std::collections::BTreeMap;

/// From this V on a fact is named beside the verdict.
pub(in crate::analysis) const NAMED: f64 = 0.3;
/// From this V on, and with p at most [`ALONG_P`], it cannot be told apart from the arms.
const ALONG: f64 = 0.8;
const ALONG_P: f64 = 0.05;
/// Ways of permuting a fact that are looked at.
pub(in crate::analysis) const FACT_DRAWS: usize = 999;

/// Facts in which arms may differ unmeant.
const FACTS: [Fact; 11] = [
    Fact::Key(GroupKey::Wood),
    Fact::Key(GroupKey::Hormone),
    Fact::Key(GroupKey::Cover),
    Fact::Key(GroupKey::Cut),
    Fact::Key(GroupKey::Piece),
    Fact::Key(GroupKey::Medium),
    Fact::Container,
    Fact::Key(GroupKey::Source),
    Fact::Key(GroupKey::Place),
    Fact::Key(GroupKey::Season),
    Fact::Key(GroupKey::Month),
];

/// Keys that are days of sticking themselves.
const TIMES: [GroupKey; 3] = [GroupKey::Season, GroupKey::Month, GroupKey::Week];

fn value_of(fact: Fact, book: &Book, batch: &Batch) -> Option<String> {
    match fact {
        // The same month of any year: the season is a fact of its own.
        Fact::Key(GroupKey::Month) => Some(batch.stuck_on.format("%B").to_string()),
        Fact::Key(key) => key.value_for(book, batch),
        Fact::Container => batch.stick.container.as_ref().map(ToString::to_string),
    }
}

/// Whether a fact cannot be told apart from the arms.
pub(super) fn goes_along(it: &Likeness) -> bool {
    it.v >= ALONG && it.p <= ALONG_P
}

fn is_time(fact: Fact) -> bool {
    matches!(fact, Fact::Key(key) if TIMES.contains(&key))
}

/// A fact of all batches judged, in their order.
pub(super) struct FactValues {
    fact: Fact,
    values: Vec<Option<String>>,
    /// A number for each value, the same however it is spelt.
    levels: Vec<usize>,
}

/// The facts that are asked of a comparison's batches.
pub(super) fn facts(table: &Table, ground: &Ground) -> Vec<FactValues> {
    let asked: Vec<Fact> = FACTS
        .into_iter()
        .filter(|&it| is_asked(table, it))
        .collect();
    workers::each(asked.len(), |at| {
        let batches = ground.judged.iter().map(Subject::batch);
        let values: Vec<_> = batches
            .map(|batch| value_of(asked[at], table.book, batch))
            .collect();
        FactValues {
            fact: asked[at],
            levels: numbered(values.iter().map(|value| value.as_deref().map(folded))),
            values,
        }
    })
}

/// The facts that go with two arms so far that they are named, in the order of the table above.
pub(super) fn of_pair(
    table: &Table,
    ground: &Ground,
    facts: &[FactValues],
    arms: [usize; 2],
) -> Vec<Likeness> {
    let judged = ground.judged.iter().enumerate();
    let mine: Vec<_> = judged.filter(|(_, it)| arms.contains(&it.arm)).collect();
    let each = facts.iter();
    each.filter_map(|fact| likeness(table, &mine, arms, fact))
        .collect()
}

/// Facts that the arms or the strata are made of are not asked, nor the time of year where time makes the arms.
fn is_asked(table: &Table, fact: Fact) -> bool {
    let Fact::Key(key) = fact else { return true };
    let (split, strata) = (table.options.split(), &table.within);
    let by_time = is_time(fact) && split.iter().any(|key| TIMES.contains(key));
    !split.contains(&key) && !strata.contains(&key) && !by_time
}

/// `mine`: the batches of the two arms, each with its place among all that are judged.
fn likeness(
    table: &Table,
    mine: &[(usize, &Subject)],
    arms: [usize; 2],
    of: &FactValues,
) -> Option<Likeness> {
    let levels = numbered(mine.iter().map(|(at, _)| of.levels[*at]));
    let members: Vec<Membership> = mine
        .iter()
        .zip(levels)
        .map(|((_, it), level)| Membership {
            stratum: it.stratum,
            arm: usize::from(it.arm == arms[1]),
            level,
        })
        .collect();
    let found = cramers_v(&members, NAMED, FACT_DRAWS, table.options.seed)?;
    let commonest = arms.map(|arm| commonest(mine, &of.values, arm));
    let defines = arms.iter().zip(&commonest).all(|(&arm, value)| {
        let value = value.as_deref();
        value.is_some_and(|value| is_named(&name_of(&table.arms[arm]), value))
    });
    (!defines).then_some(Likeness {
        key: of.fact,
        v: found.v,
        p: found.p,
        commonest,
    })
}

/// A number for each value, the same for equal ones, in the order in which they first come.
pub(in crate::analysis) fn numbered<V: Ord>(values: impl Iterator<Item = V>) -> Vec<usize> {
    let mut numbers: BTreeMap<V, usize> = BTreeMap::new();
    let number = |value| {
        let next = numbers.len();
        *numbers.entry(value).or_insert(next)
    };
    values.map(number).collect()
}

/// An arm's commonest value, the first by letters among equals.
fn commonest(mine: &[(usize, &Subject)], values: &[Option<String>], arm: usize) -> Option<String> {
    let mut counts: BTreeMap<&Option<String>, usize> = BTreeMap::new();
    for (at, _) in mine.iter().filter(|(_, it)| it.arm == arm) {
        *counts.entry(&values[*at]).or_default() += 1;
    }
    let most = counts.values().max().copied().unwrap_or_default();
    let first = counts.into_iter().find(|(_, count)| *count == most);
    first.and_then(|(value, _)| value.clone())
}

/// Whether an arm bears the name of a fact's value, whole or begun: `soft` of softwood, `IBA 1000` of
/// `IBA 1000 ppm talc`. Such a fact is what the arms are, not what differs besides.
fn is_named(arm: &str, value: &str) -> bool {
    let (arm, value) = (folded(arm), folded(value));
    arm.starts_with(&value) || value.starts_with(&arm)
}

/// The facts whose values the arms are named by.
pub(super) fn defined_by(table: &Table, ground: &Ground) -> Vec<Fact> {
    let defines = |fact: &Fact| {
        let mut values = ground.judged.iter().map(|it| {
            let value = value_of(*fact, table.book, it.batch());
            value.is_some_and(|value| is_named(&name_of(&table.arms[it.arm]), &value))
        });
        !ground.judged.is_empty() && is_asked(table, *fact) && values.all(|named| named)
    };
    let mut out: Vec<Fact> = table.options.split().into_iter().map(Fact::Key).collect();
    out.extend(FACTS.iter().filter(|fact| defines(fact)));
    out
}

/// What is to be borne in mind, the weightiest first.
pub(super) fn cautions(
    table: &Table,
    ground: &Ground,
    arms: &[Arm],
    pairs: &[ArmPair],
    of_pairs: Vec<ComparisonCaution>,
) -> Vec<ComparisonCaution> {
    let mut out = Vec::new();
    for (arm, figures) in arms.iter().enumerate() {
        out.extend(coming(ground, arm));
        let batches = figures.too_young;
        if batches > 0 {
            out.push(ComparisonCaution::TooYoung { arm, batches });
        }
    }
    let by_wood = table.options.split().contains(&GroupKey::Wood);
    for caution in of_pairs {
        out.push(match caution {
            ComparisonCaution::AlsoDiffer { arms, key, .. } if by_wood && is_time(key) => {
                ComparisonCaution::TimeOfYear { arms }
            }
            other => other,
        });
    }
    out.dedup();
    guesses(ground, arms, &mut out);
    for (at, arm) in arms.iter().enumerate() {
        if arm.replicates == 1 {
            out.push(ComparisonCaution::OneReplicate { arm: at });
        }
        let batches = arm.batches.len();
        if arm.replicates < batches {
            out.push(ComparisonCaution::Shared {
                arm: at,
                batches,
                replicates: arm.replicates,
            });
        }
    }
    let cuttings: f64 = arms.iter().map(|a| f64::from(a.stuck) - a.counted).sum();
    out.extend((cuttings > 1e-9).then_some(ComparisonCaution::TakenAway { cuttings }));
    let rounded = pairs.iter().any(|pair| pair.strike.second_opinions.rounded);
    out.extend(rounded.then_some(ComparisonCaution::Rounded));
    out
}

/// More of what an arm has in the end than this after the day of comparison, and the comparison is of pace, not of
/// how many (our own rule).
const LATE: f64 = 0.1;

fn coming(ground: &Ground, arm: usize) -> Option<ComparisonCaution> {
    let day = ground.basis.day()?;
    let accounts = || {
        let mine = ground.judged.iter().filter(|it| it.arm == arm);
        mine.map(|it| it.account(ground.milestone))
    };
    let ever: f64 = accounts().map(|it| it.reached).sum();
    let later = ever - accounts().map(|it| it.reached_by(day)).sum::<f64>();
    (later > LATE * ever).then_some(ComparisonCaution::StillComing { arm, later, ever })
}

fn guesses(ground: &Ground, arms: &[Arm], out: &mut Vec<ComparisonCaution>) {
    let mut some = 0;
    for (at, _) in arms.iter().enumerate() {
        let mine = || ground.judged.iter().filter(|it| it.arm == at);
        let guessed = mine().filter(|it| only_guesses(it.batch())).count();
        if guessed > 0 && guessed == mine().count() {
            out.push(ComparisonCaution::OnlyGuesses { arm: at });
        } else {
            some += guessed;
        }
    }
    if some > 0 {
        out.push(ComparisonCaution::SomeGuesses { batches: some });
    }
}

fn only_guesses(batch: &Batch) -> bool {
    let mut tallies = batch.inspections.iter().filter_map(|it| it.tally);
    batch.rests_on_guesses() && tallies.all(|tally| tally.about.is_some())
}
