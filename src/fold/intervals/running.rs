//! A batch's account under way: the three ledgers and the plain counts beside them.

use super::account::{Account, MilestoneAccount};
use super::ledger::{Examined, MilestoneLedger};
use super::steps::{AccountStep, account_steps};
use crate::fold::batch::{Batch, Milestone, Tally};
use crate::fold::parts::in_parts;
use crate::model::id::Id;
use chrono::NaiveDate;
use std::collections::{HashMap, HashSet};

/// The account of one batch so far.
#[derive(Clone, Debug)]
pub(super) struct Running {
    ledgers: [MilestoneLedger; 3],
    stuck: u32,
    remain: u32,
    lost: u32,
    looked: bool,
    guesses: u32,
    sampled: u32,
    unexplained: u32,
}

impl Running {
    /// Begins the accounts of a batch of `stuck` cuttings, none of which has reached a milestone.
    pub(super) fn new(stuck: u32) -> Self {
        Self {
            ledgers: Milestone::ALL.map(|milestone| MilestoneLedger::new(milestone, stuck)),
            stuck,
            remain: stuck,
            lost: 0,
            looked: false,
            guesses: 0,
            sampled: 0,
            unexplained: 0,
        }
    }

    /// Takes all steps of the batch; gives its account, and those of its parts as they begin.
    pub(super) fn through(mut self, steps: &[AccountStep]) -> (Account, Vec<(Id, Self)>) {
        let mut parts = Vec::new();
        for step in steps {
            match step {
                AccountStep::Part { id, stages } => parts.push((id.clone(), self.part(stages))),
                other => self.take(other),
            }
        }
        (self.close(), parts)
    }

    fn each(&mut self, change: impl FnMut(&mut MilestoneLedger)) {
        self.ledgers.iter_mut().for_each(change);
    }

    fn take(&mut self, step: &AccountStep) {
        self.looked = true;
        match *step {
            AccountStep::Lost {
                day,
                count,
                cleared,
            } => {
                self.lost += if cleared { 0 } else { count };
                self.remain -= count;
                self.each(|ledger| ledger.lose(day, count));
            }
            AccountStep::Potted { day, count } => {
                self.remain -= count;
                self.each(|ledger| ledger.pot(day, count));
            }
            AccountStep::Discarded {
                day,
                count,
                explained,
            } => {
                self.remain -= count;
                self.unexplained += if explained { 0 } else { count };
                self.each(|ledger| ledger.discard(day, count));
            }
            AccountStep::Tallied { day, ref tally, .. } => self.tally(day, tally),
            AccountStep::Looked { day } => self.each(|ledger| ledger.look(day)),
            AccountStep::Part { .. } => {}
        }
    }

    fn tally(&mut self, day: u32, tally: &Tally) {
        self.guesses += u32::from(tally.about.is_some());
        self.sampled += u32::from(tally.seen < self.remain);
        if tally.seen == 0 {
            return;
        }
        let exams = Milestone::ALL.map(|milestone| {
            Some(Examined {
                day,
                count: milestone.counted(tally)?,
                seen: tally.seen,
                guessed: milestone.is_guessed(tally),
            })
        });
        let each = self.ledgers.iter_mut().zip(&exams).enumerate();
        for (at, (ledger, exam)) in each {
            let mut before = exams[..at].iter().flatten();
            let mut after = exams[at..].iter().flatten();
            match (exam, before.next_back(), after.next()) {
                (Some(exam), ..) => ledger.examine(exam),
                (None, _, Some(later)) => ledger.is_implied(day, later),
                (None, Some(earlier), None) if !earlier.guessed => {
                    ledger.hold_back(day, earlier.seen.saturating_sub(earlier.count));
                }
                (None, _, None) => {}
            }
        }
    }

    /// A part leaves, with so many of each stage.
    fn part(&mut self, stages: &[u32; 4]) -> Self {
        let count: u32 = stages.iter().sum();
        let mut ledgers = self.ledgers.clone();
        for ((ledger, part), milestone) in self
            .ledgers
            .iter_mut()
            .zip(&mut ledgers)
            .zip(Milestone::ALL)
        {
            let past: u32 = stages[milestone.stage()..].iter().sum();
            *part = ledger.part(count, past);
        }
        self.stuck -= count;
        self.remain -= count;
        // What was seen before the split was seen of the part too; the counts of looks stay
        // with the batch that was looked at.
        Self {
            ledgers,
            looked: self.looked,
            ..Self::new(count)
        }
    }

    /// The account as it stands.
    pub(super) fn close(self) -> Account {
        let mut milestones: [MilestoneAccount; 3] = self.ledgers.map(MilestoneLedger::close);
        let [callus, root, bottom] = &mut milestones;
        root.keep_up_with(bottom);
        callus.keep_up_with(root);
        Account {
            stuck: self.stuck,
            remain: self.remain,
            lost: self.lost,
            looked: self.looked,
            guesses: self.guesses,
            sampled: self.sampled,
            unexplained: self.unexplained,
            milestones,
        }
    }
}

/// So few batches are not worth a thread.
const FEW: usize = 256;

/// The accounts of batches, in their order, from what was entered up to and on `as_of` (all, if
/// absent), on so many threads where there are many.
///
/// A part takes with it its share of what its parent had reached, so the parent should be among
/// the batches; without it nothing is known to have been reached before the part was split off.
#[must_use]
pub fn accounts(batches: &[&Batch], as_of: Option<NaiveDate>, threads: usize) -> Vec<Account> {
    of_accounts(batches, as_of, threads, |_, account| account)
}

/// What is `wanted` of the accounts of batches, as [`accounts`] gives them. Each account is let go at once: all those of a
/// long journal take more memory than its entries.
pub fn of_accounts<T: Send>(
    batches: &[&Batch],
    as_of: Option<NaiveDate>,
    threads: usize,
    wanted: impl Fn(&Batch, Account) -> T + Sync,
) -> Vec<T> {
    let places = kin_places(batches);
    let parent = |batch: &Batch| batch.parent.as_ref().and_then(|id| places.get(id)).copied();
    let mut parts: HashMap<usize, Vec<&Batch>> = HashMap::new();
    for batch in batches {
        if let Some(at) = parent(batch) {
            parts.entry(at).or_default().push(batch);
        }
    }
    let is_whole = |at: &usize| parent(batches[*at]).is_none();
    let whole: Vec<usize> = (0..batches.len()).filter(is_whole).collect();
    // A batch and all parts that come of it.
    let add_all = |whole: usize, out: &mut Vec<(usize, T)>| {
        let mut open = vec![(whole, Running::new(began(batches[whole])))];
        while let Some((at, running)) = open.pop() {
            let own = parts.get(&at).map_or(&[][..], Vec::as_slice);
            let (account, split) = running.through(&account_steps(batches[at], own, as_of));
            out.push((at, wanted(batches[at], account)));
            let split = split.into_iter();
            open.extend(split.filter_map(|(id, part)| Some((*places.get(&id)?, part))));
        }
    };
    let found = in_parts(&whole, threads, FEW, |_, some| {
        let mut out = Vec::with_capacity(some.len());
        some.iter().for_each(|whole| add_all(*whole, &mut out));
        out
    });
    let mut out: Vec<Option<T>> = batches.iter().map(|_| None).collect();
    for (at, wanted) in found.into_iter().flatten() {
        out[at] = Some(wanted);
    }
    // A part whose split comes after `as_of` has no cuttings yet.
    let none = |batch: &Batch| wanted(batch, Running::new(0).close());
    let each = out.into_iter().zip(batches);
    each.map(|(it, batch)| it.unwrap_or_else(|| none(batch)))
        .collect()
}

/// The positions of the batches that are parts or have parts. Most journals have few such: to look up every batch would
/// take longer than to find these.
#[must_use]
pub fn kin_places<'a>(batches: &[&'a Batch]) -> HashMap<&'a Id, usize> {
    let parents = batches.iter().filter_map(|batch| batch.parent.as_ref());
    let parents: HashSet<&Id> = parents.collect();
    let is_kin = |batch: &Batch| batch.parent.is_some() || parents.contains(&batch.key);
    let kin = batches.iter().zip(0..).filter(|(batch, _)| is_kin(batch));
    kin.map(|(batch, at)| (&batch.key, at)).collect()
}

/// How many cuttings a batch began with.
fn began(batch: &Batch) -> u32 {
    batch
        .part
        .map_or(batch.stick.stuck, |stages| stages.iter().sum())
}
