//! A batch's account under way: the three ledgers and the plain counts beside them.

use super::ledger::{Examined, Ledger};
use super::level::Fall;
use super::steps::Step;
use super::{Account, MilestoneAccount};
use crate::fold::batch::Tally;
use crate::fold::milestone::Milestone;
use crate::model::id::Id;

/// The account of one batch so far.
#[derive(Clone, Debug)]
pub(super) struct Running {
    ledgers: [Ledger; 3],
    stuck: u32,
    remain: u32,
    lost: u32,
    looked: bool,
    guesses: u32,
    sampled: u32,
    unexplained: u32,
}

impl Running {
    /// Of a batch of so many cuttings, none of which has reached a milestone.
    pub(super) fn new(stuck: u32) -> Self {
        Self {
            ledgers: Milestone::ALL.map(|milestone| Ledger::new(milestone, stuck)),
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
    pub(super) fn through(mut self, steps: &[Step]) -> (Account, Vec<(Id, Self)>) {
        if steps.iter().any(Step::is_sampled) {
            self.each(|ledger| ledger.fall = Fall::Pooled);
        }
        let mut parts = Vec::new();
        for step in steps {
            match step {
                Step::Part { id, stages } => parts.push((id.clone(), self.part(stages))),
                other => self.take(other),
            }
        }
        (self.close(), parts)
    }

    fn each(&mut self, change: impl FnMut(&mut Ledger)) {
        self.ledgers.iter_mut().for_each(change);
    }

    fn take(&mut self, step: &Step) {
        self.looked = true;
        match *step {
            Step::Lost {
                day,
                count,
                cleared,
            } => {
                self.lost += if cleared { 0 } else { count };
                self.remain -= count;
                self.each(|ledger| ledger.lose(day, count));
            }
            Step::Potted { day, count } => {
                self.remain -= count;
                self.each(|ledger| ledger.pot(day, count));
            }
            Step::Discarded {
                day,
                count,
                explained,
            } => {
                self.remain -= count;
                self.unexplained += if explained { 0 } else { count };
                self.each(|ledger| ledger.discard(day, count));
            }
            Step::Tallied { day, ref tally, .. } => self.tally(day, tally),
            Step::Looked { day } => self.each(|ledger| ledger.look(day)),
            Step::Part { .. } => {}
        }
    }

    fn tally(&mut self, day: u32, tally: &Tally) {
        let guessed = tally.about.is_some();
        self.guesses += u32::from(guessed);
        self.sampled += u32::from(tally.seen < self.remain);
        let seen = tally.seen;
        if seen == 0 {
            return;
        }
        for (ledger, milestone) in self.ledgers.iter_mut().zip(Milestone::ALL) {
            if let Some(count) = milestone.counted(tally) {
                ledger.examine(&Examined {
                    day,
                    count,
                    seen,
                    guessed,
                });
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
            let past: u32 = stages[milestone.stage() as usize..].iter().sum();
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
        let milestones: [MilestoneAccount; 3] = self.ledgers.map(Ledger::close);
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
