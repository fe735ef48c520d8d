//! A batch's entries as steps of its account, in order of time. It keeps no account.
//!
//! What left is counted as the fold has it, which has clamped each day's sums; the entries say
//! what came before the day's tally and what after it.

use crate::fold::batch::{Batch, Event, Inspection, Tally};
use crate::model::entry::{Discard, Kind, Look};
use crate::model::id::Id;
use crate::model::listed::{CountedFrom, DiscardReason, LookMethod};
use chrono::NaiveDate;

/// One thing that bears on what became of a batch's cuttings; days count from sticking.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum AccountStep {
    /// Found dead on the bench, or `cleared` away as failed.
    Lost { day: u32, count: u32, cleared: bool },
    /// Potted, or taken from the bench as plants fit for sale.
    Potted { day: u32, count: u32 },
    /// Discarded from the bench while still waiting; `explained` by a reason or not.
    Discarded {
        day: u32,
        count: u32,
        explained: bool,
    },
    /// Counted.
    Tallied { day: u32, tally: Tally },
    /// Looked at in any way.
    Looked { day: u32 },
    /// A part left, with so many of each stage.
    Part { id: Id, stages: [u32; 4] },
}

/// The steps of a batch up to and on `as_of`; `parts` are those that were split from it.
pub(super) fn account_steps(
    batch: &Batch,
    parts: &[&Batch],
    as_of: Option<NaiveDate>,
) -> Vec<AccountStep> {
    let mut out = Vec::new();
    let seen = batch
        .events
        .iter()
        .take_while(|event| as_of.is_none_or(|day| event.entry.at.day() <= day));
    let events: Vec<&Event> = seen.collect();
    let mut inspections = batch.inspections.iter().peekable();
    for day in events.chunk_by(|a, b| a.age == b.age) {
        let Some(age) = day.first().map(|event| event.age) else {
            continue;
        };
        while inspections.next_if(|it| it.age < age).is_some() {}
        let inspection = inspections.next_if(|it| it.age == age);
        let per_plant = batch.stick.per_plant.unwrap_or(1).max(1);
        Day::new(age, inspection, per_plant, parts).through(day, &mut out);
    }
    out
}

/// A day's entries being turned into steps.
struct Day<'a> {
    age: u32,
    tally: Option<Tally>,
    /// What the fold took off that day, less what has become a step.
    lost: u32,
    potted: u32,
    discarded: Vec<(Option<DiscardReason>, u32)>,
    per_plant: u32,
    parts: &'a [&'a Batch],
}

/// Takes up to `count` from what is left of a day's sum.
fn take(left: &mut u32, count: u32) -> u32 {
    let taken = count.min(*left);
    *left -= taken;
    taken
}

impl<'a> Day<'a> {
    fn new(
        age: u32,
        inspection: Option<&Inspection>,
        per_plant: u32,
        parts: &'a [&'a Batch],
    ) -> Self {
        Self {
            age,
            per_plant,
            tally: inspection.and_then(|it| it.tally),
            lost: inspection.map_or(0, |it| it.lost.total()),
            potted: inspection.map_or(0, |it| it.potted),
            discarded: inspection.map_or_else(Vec::new, |it| it.discarded.to_vec()),
            parts,
        }
    }

    fn through(mut self, events: &[&Event], out: &mut Vec<AccountStep>) {
        let kinds: Vec<Kind> = events.iter().map(|event| event.entry.kind()).collect();
        let is_tally =
            |kind: &Kind| matches!(kind, Kind::Look(it) if it.method() != LookMethod::Glance);
        let standing = kinds.iter().rposition(is_tally);
        let mut looked = false;
        for (at, (event, kind)) in events.iter().zip(&kinds).enumerate() {
            match kind {
                Kind::Look(look) => {
                    looked = true;
                    self.look(look, standing == Some(at), out);
                }
                Kind::Pot(pot) => self.pot(pot.count, out),
                Kind::Ready(it) if it.from == Some(CountedFrom::Bench) => {
                    self.pot(it.count.saturating_mul(self.per_plant), out);
                }
                Kind::Discard(it) if it.from != Some(CountedFrom::Pots) => self.discard(it, out),
                Kind::Move(_) => self.part(&event.entry.id, out),
                Kind::Stick(_)
                | Kind::Ready(_)
                | Kind::Sold(_)
                | Kind::Discard(_)
                | Kind::Treat(_)
                | Kind::Climate(_)
                | Kind::Place(_)
                | Kind::Taxon(_)
                | Kind::Nursery(_)
                | Kind::Target(_)
                | Kind::Remark(_)
                | Kind::Amend(_)
                | Kind::Withdraw(_) => {}
            }
        }
        if looked {
            out.push(AccountStep::Looked { day: self.age });
        }
    }

    fn look(&mut self, look: &Look, stands: bool, out: &mut Vec<AccountStep>) {
        let day = self.age;
        let count = take(&mut self.lost, look.lost_in_all());
        if count > 0 {
            out.push(AccountStep::Lost {
                day,
                count,
                cleared: false,
            });
        }
        if let Some(tally) = self.tally.filter(|_| stands) {
            out.push(AccountStep::Tallied { day, tally });
        }
    }

    fn pot(&mut self, count: u32, out: &mut Vec<AccountStep>) {
        let day = self.age;
        let count = take(&mut self.potted, count);
        if count > 0 {
            out.push(AccountStep::Potted { day, count });
        }
    }

    fn discard(&mut self, discard: &Discard, out: &mut Vec<AccountStep>) {
        let day = self.age;
        let left = self
            .discarded
            .iter_mut()
            .find(|(why, _)| *why == discard.why);
        let count = left.map_or(0, |(_, left)| take(left, discard.count));
        if count == 0 {
            return;
        }
        out.push(match discard.why {
            None => AccountStep::Discarded {
                day,
                count,
                explained: false,
            },
            Some(why) if why.takes_alive() => AccountStep::Discarded {
                day,
                count,
                explained: true,
            },
            Some(why) => AccountStep::Lost {
                day,
                count,
                cleared: why.cause().is_none(),
            },
        });
    }

    fn part(&mut self, id: &Id, out: &mut Vec<AccountStep>) {
        let part = self.parts.iter().find(|part| part.key == *id);
        if let Some(stages) = part.and_then(|part| part.part) {
            let id = id.clone();
            out.push(AccountStep::Part { id, stages });
        }
    }
}
