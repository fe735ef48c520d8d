//! Sorts batches into arms and strata, finds the horizon, and says which batches are left out and
//! why. It tests nothing.

use super::seen::Seen;
use super::unit::{self, Unit};
use super::{Comparison, Left, LeftOut, Options, Stratum, confound, pair, side};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::fold::intervals::MilestoneAccount;
use crate::fold::selection::IncludedBatch;
use crate::model::filter::GroupKey;
use crate::model::id::Id;
use crate::model::listed::Wood;
use crate::model::text::folded;
use std::collections::{BTreeMap, BTreeSet};

/// Keys with their values.
pub(super) type Values = Vec<(GroupKey, Option<String>)>;

/// A batch with its arm and stratum.
#[derive(Clone, Copy)]
pub(super) struct Subject<'a> {
    pub counted: &'a IncludedBatch<'a>,
    pub arm: usize,
    pub stratum: usize,
}

impl<'a> Subject<'a> {
    pub(super) fn account(&self, milestone: Milestone) -> &'a MilestoneAccount {
        self.counted.account.of(milestone)
    }

    fn left(&self, reason: LeftOut) -> Left {
        left(self.counted.batch, reason)
    }
}

fn left(batch: &Batch, reason: LeftOut) -> Left {
    Left {
        batch: batch.code.clone(),
        key: batch.key.clone(),
        reason,
    }
}

/// A replicate's batches in one arm of one stratum.
pub(super) struct Member<'a> {
    pub unit: Unit,
    pub subjects: Vec<Subject<'a>>,
}

/// For each stratum the replicates of each arm, in the order of their ids.
pub(super) type Cells<'a> = Vec<Vec<Vec<Member<'a>>>>;

/// All batches in their arms and strata.
pub(super) struct Table<'a> {
    pub book: &'a Book,
    pub options: &'a Options,
    pub arms: Vec<Values>,
    strata: Vec<Values>,
    subjects: Vec<Subject<'a>>,
    left: Vec<Left>,
}

/// What a comparison is made of.
pub(super) struct Ground<'a> {
    pub milestone: Milestone,
    pub horizon: Option<u32>,
    /// Those followed to the horizon.
    pub subjects: Vec<Subject<'a>>,
    /// Those not followed so far as well, for the test that takes waits of any length.
    pub watched: Vec<Subject<'a>>,
    pub cells: Cells<'a>,
    left: Vec<Left>,
}

impl<'a> Table<'a> {
    pub(super) fn new(book: &'a Book, seen: &'a Seen<'a>, options: &'a Options) -> Self {
        let (split, within) = (options.split(), options.strata());
        let of_figures = |it: &crate::fold::selection::ExcludedBatch| Left {
            batch: it.batch.clone(),
            key: it.key.clone(),
            reason: LeftOut::OfFigures(it.reason.clone()),
        };
        let mut out: Vec<Left> = seen.skipped.iter().map(of_figures).collect();
        let mut placed = Vec::new();
        for counted in &seen.counted {
            let values = values(book, counted.batch, &split);
            match values.iter().find(|(_, value)| value.is_none()) {
                Some(&(key, _)) => out.push(left(counted.batch, LeftOut::NotRecorded(key))),
                None => placed.push((counted, values)),
            }
        }
        let (arms, arm_of) = numbered(placed.iter().map(|(_, values)| values.clone()));
        let strata = placed
            .iter()
            .map(|(it, _)| self::values(book, it.batch, &within));
        let (strata, stratum_of) = numbered(strata);
        let subjects = placed.iter().zip(arm_of.into_iter().zip(stratum_of)).map(
            |(&(counted, _), (arm, stratum))| Subject {
                counted,
                arm,
                stratum,
            },
        );
        Self {
            book,
            options,
            subjects: subjects.collect(),
            arms,
            strata,
            left: out,
        }
    }

    /// The arms that meet another in a stratum, each with its batches that do, and how many strata
    /// that are.
    pub(super) fn meeting(&self) -> (Vec<(String, usize)>, usize) {
        let mut subjects = self.subjects.clone();
        self.take_out_alone(&mut subjects, &mut Vec::new());
        let of = |arm: usize| subjects.iter().filter(|it| it.arm == arm).count();
        let arms = self.arms.iter().enumerate();
        let arms = arms.map(|(at, values)| (name(values), of(at)));
        let strata: BTreeSet<usize> = subjects.iter().map(|it| it.stratum).collect();
        (arms.filter(|(_, count)| *count > 0).collect(), strata.len())
    }

    /// The comparison for a milestone. `None` if told to stop.
    pub(super) fn comparison(
        &self,
        milestone: Milestone,
        go_on: &mut dyn FnMut() -> bool,
    ) -> Option<Comparison> {
        let ground = self.ground(milestone);
        let met = self.met(&ground.cells);
        let arms = side::arms(self, &ground, go_on)?;
        let pairs = pair::pairs(self, &ground, go_on)?;
        let overall = pair::overall(self, &ground, &arms);
        let cautions = confound::cautions(self, &ground, &arms, &pairs);
        Some(Comparison {
            milestone,
            horizon: ground.horizon,
            strata: met,
            arms,
            pairs,
            overall,
            cautions,
            left_out: self.in_order(ground.left),
        })
    }

    /// The strata where arms meet.
    fn met(&self, cells: &Cells) -> Vec<Stratum> {
        let strata = self.strata.iter().zip(cells);
        let held = strata.filter(|(_, cell)| cell.iter().any(|arm| !arm.is_empty()));
        held.map(|(by, cell)| Stratum {
            by: by.clone(),
            replicates: cell.iter().map(Vec::len).collect(),
        })
        .collect()
    }

    fn in_order(&self, mut left: Vec<Left>) -> Vec<Left> {
        left.extend(self.left.iter().cloned());
        let day = |key: &Id| self.book.batch(key).map(|batch| batch.stuck_on);
        left.sort_by_cached_key(|it| (day(&it.key), it.key.clone()));
        left
    }

    /// Takes out what cannot be compared, finds the horizon, and takes out what was not followed
    /// to it.
    fn ground(&self, milestone: Milestone) -> Ground<'a> {
        let mut left = Vec::new();
        let mut subjects = self.subjects.clone();
        take_out(&mut subjects, &mut left, |it| {
            let account = it.account(milestone);
            let waiting = account.not_followed_to(u32::MAX) > 0.0;
            (waiting && !account.examined).then_some(LeftOut::NotExamined)
        });
        self.take_out_alone(&mut subjects, &mut left);
        let watched = subjects.clone();
        let mut last = BTreeMap::new();
        for it in &subjects {
            let day = unit::last_day(it.account(milestone));
            let known = last.entry(it.arm).or_insert(day);
            *known = day.max(*known);
        }
        let horizon = last.values().min().copied();
        if let Some(to) = horizon {
            take_out(&mut subjects, &mut left, |it| {
                let account = it.account(milestone);
                let followed = unit::is_followed(account, to)
                    && Unit::of(account, it.counted.account.stuck, to).is_some();
                (!followed).then_some(LeftOut::NotFollowed { to })
            });
            self.take_out_alone(&mut subjects, &mut left);
        }
        let cells = self.cells(&subjects, milestone, horizon.unwrap_or(0));
        Ground {
            milestone,
            horizon,
            subjects,
            watched,
            cells,
            left,
        }
    }

    /// Takes out the batches of strata with one arm only.
    fn take_out_alone(&self, subjects: &mut Vec<Subject<'a>>, left: &mut Vec<Left>) {
        let mut met: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
        for it in subjects.iter() {
            met.entry(it.stratum).or_default().insert(it.arm);
        }
        take_out(subjects, left, |it| {
            let alone = met.get(&it.stratum).is_none_or(|arms| arms.len() < 2);
            alone.then(|| LeftOut::Alone {
                arm: name(&self.arms[it.arm]),
                stratum: name(&self.strata[it.stratum]),
            })
        });
    }

    fn cells(&self, subjects: &[Subject<'a>], milestone: Milestone, h: u32) -> Cells<'a> {
        let mut members: BTreeMap<(usize, usize, &Id), Member<'a>> = BTreeMap::new();
        for it in subjects {
            let stuck = it.counted.account.stuck;
            let Some(unit) = Unit::of(it.account(milestone), stuck, h) else {
                continue;
            };
            let place = (it.stratum, it.arm, it.counted.replicate);
            let member = members.entry(place).or_insert_with(|| Member {
                unit: Unit::default(),
                subjects: Vec::new(),
            });
            member.unit.add(&unit);
            member.subjects.push(*it);
        }
        let empty = || (0..self.arms.len()).map(|_| Vec::new()).collect();
        let mut cells: Cells = self.strata.iter().map(|_| empty()).collect();
        for ((stratum, arm, _), member) in members {
            cells[stratum][arm].push(member);
        }
        cells
    }
}

fn take_out<'a>(
    subjects: &mut Vec<Subject<'a>>,
    left: &mut Vec<Left>,
    mut reason: impl FnMut(&Subject<'a>) -> Option<LeftOut>,
) {
    subjects.retain(|it| match reason(it) {
        Some(reason) => {
            left.push(it.left(reason));
            false
        }
        None => true,
    });
}

pub(super) fn values(book: &Book, batch: &Batch, keys: &[GroupKey]) -> Values {
    keys.iter()
        .map(|&key| (key, key.value_for(book, batch)))
        .collect()
}

/// Values in words, without what was not recorded.
pub(super) fn name(values: &Values) -> String {
    let each = values.iter().filter_map(|(_, value)| value.as_deref());
    each.collect::<Vec<_>>().join(", ")
}

/// The distinct values in order, and for each of those given its number among them. The first
/// spelling stands for all.
fn numbered(all: impl Iterator<Item = Values>) -> (Vec<Values>, Vec<usize>) {
    let all: Vec<(Vec<String>, Values)> = all.map(|values| (rank(&values), values)).collect();
    let mut distinct: BTreeMap<&Vec<String>, &Values> = BTreeMap::new();
    for (rank, values) in &all {
        distinct.entry(rank).or_insert(values);
    }
    let places: BTreeMap<&Vec<String>, usize> = distinct.keys().copied().zip(0..).collect();
    let of = all.iter().map(|(rank, _)| places.get(rank).copied());
    let numbers = of.map(Option::unwrap_or_default).collect();
    (
        distinct.values().map(|&values| values.clone()).collect(),
        numbers,
    )
}

/// What values are sorted by: wood as it ripens, all else by letters; not recorded last.
fn rank(values: &Values) -> Vec<String> {
    let one = |(key, value): &(GroupKey, Option<String>)| {
        let Some(value) = value else {
            return "\u{10ffff}".to_owned();
        };
        let wood = || Wood::ALL.iter().position(|wood| wood.word() == value);
        match key {
            GroupKey::Wood => wood().map_or_else(String::new, |at| at.to_string()),
            _ => folded(value),
        }
    };
    values.iter().map(one).collect()
}
