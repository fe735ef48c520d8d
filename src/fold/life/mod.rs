//! The life of one batch: its own entries, in fold order, become its counts, inspections and faults.
//! It decides neither which entries are its own nor what stands.
//!
//! The ladder, all in cuttings but `ready` and `sold`, which are plants:
//! - From the bench leave `lost`, `discard`, `pot`, parts, and `ready` straight from the bench; never more than remain.
//!   `lost` and `discard` take the lowest stage first, `pot` and `ready` the highest, a part takes each stage in
//!   proportion (largest remainder): nobody said which.
//! - What is potted grows on until `ready` (from pots) or discarded from pots. A plant holds up to `per_plant`
//!   cuttings and at least one, so as many plants can be made ready as cuttings grow on, and never more.
//! - `sold` comes off the plants ready and not yet sold. A `discard` from pots takes those growing on first, then
//!   those ready (also those ready from the bench: they stand in pots too).

mod bench;
mod look;

use self::bench::Stages;
use self::look::Watch;
use super::batch::{Batch, BatchCounts, Event, Fall, Inspection, Tally};
use super::names::ByName;
use super::settle::Standing;
use crate::model::composite::{Heat, Lost};
use crate::model::entry::{Discard, Kind, Look, Move, Pot, Ready, Sold, Stick};
use crate::model::fault::{BookFault, lost_field};
use crate::model::id::Id;
use crate::model::listed::{CountedFrom, Cover, DiscardReason, LookMethod};
use crate::model::taxon::Taxon;
use chrono::NaiveDate;
use std::sync::Arc;
use thin_vec::ThinVec;

/// What a batch begins with.
pub(super) struct Birth {
    /// The entry that began it: its stick, or the move that made the part.
    pub event: Standing,
    /// Its facts; `stuck` and `batch` are its own.
    pub stick: Arc<Stick>,
    /// The name read.
    pub taxon: Arc<Taxon>,
    /// The clock's start.
    pub stuck_on: NaiveDate,
    /// The batch that it was split from, and its cuttings by stage.
    pub part: Option<(Id, Stages)>,
    /// Where it stands at first.
    pub place: Option<String>,
    /// What covers it at first.
    pub cover: Option<Cover>,
    /// Bottom heat at first.
    pub heat: Option<Heat>,
}

impl Birth {
    /// What a batch begins with by its stick; nothing if the entry is of another kind.
    pub fn from_stick(event: &Standing, names: &mut NamesRead) -> Option<Self> {
        let stick = event.entry.get::<Stick>()?;
        Some(Self {
            event: event.clone(),
            stuck_on: event.entry.at.day(),
            part: None,
            place: stick.place.as_ref().map(ToString::to_string),
            cover: stick.cover,
            heat: stick.heat_c,
            taxon: Arc::clone(names.get_or_make(&stick.taxon, |name| Arc::new(Taxon::parse(name)))),
            stick: Arc::new(stick),
        })
    }
}

/// The names of taxa read so far.
pub(super) type NamesRead = ByName<Arc<Taxon>>;

/// A batch whose entries are folded.
pub(super) struct FoldedLife {
    /// The batch.
    pub batch: Batch,
    /// Its faults, each with the number of the event that shows it.
    pub faults: Vec<(usize, BookFault)>,
    /// The parts that left it.
    pub parts: Vec<Birth>,
}

/// Folds a batch's own entries, given in fold order without the one that began it.
pub(super) fn live<'a>(
    birth: Birth,
    entries: impl ExactSizeIterator<Item = &'a Standing> + Clone,
) -> FoldedLife {
    // They lie far apart.
    entries.clone().for_each(|standing| standing.entry.fetch());
    let mut life = Life::new(birth, entries.len());
    for standing in entries {
        life.take(standing);
    }
    life.end()
}

/// The milestones of which a look at a batch on a day would count fewer than there must be, callus first.
#[must_use]
pub fn falls(batch: &Batch, look: &Look, day: NaiveDate) -> Vec<Fall> {
    let mut events = batch.events.iter().map(Event::standing);
    let Some(event) = events.next() else {
        return Vec::new();
    };
    let mut life = Life::new(
        Birth {
            event,
            stick: Arc::clone(&batch.stick),
            taxon: Arc::clone(&batch.taxon),
            stuck_on: batch.stuck_on,
            part: batch.parent.clone().zip(batch.part),
            place: None,
            cover: None,
            heat: None,
        },
        batch.events.len(),
    );
    events.for_each(|standing| life.take(&standing));
    life.look(look, day);
    let last = life.batch.inspections.pop();
    last.map_or_else(Vec::new, |inspection| inspection.falls.into())
}

/// A batch while its entries are taken in.
struct Life {
    batch: Batch,
    /// Cuttings in pots that are not ready.
    growing: u32,
    /// Plants ready and not yet sold.
    saleable: u32,
    watch: Watch,
    /// As it stood before the first tally of a day, since when nothing but losses left: another of that day puts it right.
    before: Option<Before>,
    faults: Vec<(usize, BookFault)>,
    parts: Vec<Birth>,
}

/// The watch before a day's first tally.
struct Before {
    day: NaiveDate,
    watch: Watch,
    /// How many faults had been found.
    faults: usize,
}

impl Life {
    /// With room for what so many entries mostly make: an event and an inspection each.
    fn new(birth: Birth, entries: usize) -> Self {
        let bench = match &birth.part {
            None => [birth.stick.stuck, 0, 0, 0],
            Some((_, stages)) => *stages,
        };
        let entry = birth.event.entry.clone();
        let again_on = entry.get::<Move>().and_then(|it| it.again_on);
        let batch = Batch {
            key: entry.id.clone(),
            code: birth.stick.batch.to_string(),
            parent: birth.part.as_ref().map(|(parent, _)| parent.clone()),
            part: birth.part.map(|(_, stages)| stages),
            counts: BatchCounts {
                stuck: bench::total(&bench),
                bench,
                ..BatchCounts::default()
            },
            taxon: birth.taxon,
            stick: birth.stick,
            stuck_on: birth.stuck_on,
            place: birth.place,
            cover: birth.cover,
            heat: birth.heat,
            inspections: Vec::with_capacity(entries),
            events: Vec::with_capacity(entries + 1),
            again_on,
            faults: Vec::new(),
        };
        let mut life = Self {
            batch,
            growing: 0,
            saleable: 0,
            watch: Watch::default(),
            before: None,
            faults: Vec::new(),
            parts: Vec::new(),
        };
        life.note_event(&birth.event);
        life
    }

    fn end(mut self) -> FoldedLife {
        self.batch.faults = self.faults.iter().map(|(_, fault)| fault.clone()).collect();
        FoldedLife {
            batch: self.batch,
            faults: self.faults,
            parts: self.parts,
        }
    }

    fn take(&mut self, standing: &Standing) {
        self.note_event(standing);
        let day = standing.entry.at.day();
        let stood = self.batch.counts.remain();
        match standing.entry.kind() {
            Kind::Look(it) => self.look(&it, day),
            Kind::Pot(it) => self.pot(&it, day),
            Kind::Ready(it) => self.ready(&it, day),
            Kind::Sold(it) => self.sold(&it),
            Kind::Discard(it) => self.discard(&it, day),
            Kind::Move(it) => self.relocate(&it, standing),
            Kind::Remark(it) => self.batch.again_on = it.again_on.or(self.batch.again_on),
            Kind::Stick(_)
            | Kind::Treat(_)
            | Kind::Climate(_)
            | Kind::Place(_)
            | Kind::Taxon(_)
            | Kind::Nursery(_)
            | Kind::Target(_)
            | Kind::Amend(_)
            | Kind::Withdraw(_) => {}
        }
        let remain = self.batch.counts.remain();
        if remain < stood && !standing.entry.is::<Look>() {
            self.before = None;
        }
        if let Some(last) = self.batch.inspections.last_mut().filter(|i| i.day == day) {
            last.remain = remain;
        }
    }

    fn note_event(&mut self, standing: &Standing) {
        self.batch.events.push(Event {
            entry: standing.entry.clone(),
            origin: standing.origin,
            age: self.age(standing.entry.at.day()),
            amended: standing.amended,
        });
    }

    /// Days since sticking.
    fn age(&self, day: NaiveDate) -> u32 {
        let days = day.signed_duration_since(self.batch.stuck_on).num_days();
        u32::try_from(days).unwrap_or(0)
    }

    fn report(&mut self, fault: BookFault) {
        let event = self.batch.events.len().saturating_sub(1);
        self.faults.push((event, fault));
    }

    /// The number if there are so many, else what there is, and a fault.
    fn fit(&mut self, field: &str, said: u32, remain: u32) -> u32 {
        let mut faults = Vec::new();
        let fits = look::fit(field, said, remain, &mut faults);
        faults.into_iter().for_each(|fault| self.report(fault));
        fits
    }

    /// The inspection of a day, begun if there is none.
    fn inspection(&mut self, day: NaiveDate) -> Option<&mut Inspection> {
        let remain = self.batch.counts.remain();
        let age = self.age(day);
        let inspections = &mut self.batch.inspections;
        if inspections.last().is_none_or(|last| last.day != day) {
            inspections.push(Inspection {
                day,
                age,
                how: None,
                tally: None,
                lost: Lost::default(),
                potted: 0,
                discarded: ThinVec::new(),
                remain,
                remain_at_tally: remain,
                falls: ThinVec::new(),
            });
        }
        inspections.last_mut()
    }

    fn look(&mut self, it: &Look, day: NaiveDate) {
        let mut lost = Lost::default();
        for (cause, said) in it.lost.iter().flat_map(|lost| lost.each()) {
            let n = self.fit(&lost_field(cause), said, self.batch.counts.remain());
            bench::take_lowest(&mut self.batch.counts.bench, n);
            lost.add(cause, n);
            self.batch.counts.lost.add(cause, n);
        }
        self.watch.lost(lost.total());
        if let Some(before) = &mut self.before {
            before.watch.lost(lost.total());
        }
        self.batch.again_on = it.again_on;
        let remain = self.batch.counts.remain();
        let (tally, faults) = look::tally(it, remain);
        faults.into_iter().for_each(|fault| self.report(fault));
        let falls = match &tally {
            Some(tally) => self.tallied(tally, remain, day),
            None => Vec::new(),
        };
        if let Some(inspection) = self.inspection(day) {
            for (cause, n) in lost.each() {
                inspection.lost.add(cause, n);
            }
            if tally.is_some() {
                inspection.how = tally.map(|t| t.how);
                inspection.tally = tally;
                inspection.remain_at_tally = remain;
                inspection.falls = falls.into();
            } else if inspection.how.is_none() {
                inspection.how = Some(LookMethod::Glance);
            }
        }
    }

    /// Takes in a tally; gives the milestones of which it counts too few.
    fn tallied(&mut self, tally: &Tally, remain: u32, day: NaiveDate) -> Vec<Fall> {
        look::apply(tally, &mut self.batch.counts.bench);
        match &self.before {
            Some(before) if before.day == day => {
                self.watch = before.watch.clone();
                let mut at = 0;
                self.faults.retain(|(_, fault)| {
                    at += 1;
                    at <= before.faults || !matches!(fault, BookFault::Backwards { .. })
                });
            }
            _ => {
                self.before = Some(Before {
                    day,
                    watch: self.watch.clone(),
                    faults: self.faults.len(),
                });
            }
        }
        let whole = tally.seen == remain && tally.about.is_none();
        let falls = match whole {
            true => self.watch.whole_look(tally),
            false => Vec::new(),
        };
        for fall in &falls {
            self.report(BookFault::Backwards {
                milestone: fall.milestone.word(),
                expected: fall.expected,
                seen: fall.seen,
            });
        }
        falls
    }

    fn pot(&mut self, it: &Pot, day: NaiveDate) {
        let n = self.fit("count", it.count, self.batch.counts.remain());
        let taken = bench::take_highest(&mut self.batch.counts.bench, n);
        self.watch.potted(&taken);
        self.batch.counts.potted += n;
        self.growing += n;
        if let Some(inspection) = self.inspection(day) {
            inspection.potted += n;
        }
        if !self.batch.is_open() && it.place.is_some() {
            self.batch.place = it.place.as_ref().map(ToString::to_string);
        }
    }

    fn ready(&mut self, it: &Ready, day: NaiveDate) {
        let per_plant = self.batch.stick.per_plant.unwrap_or(1).max(1);
        let from_bench = it.from == Some(CountedFrom::Bench);
        let stock = match from_bench {
            true => self.batch.counts.remain(),
            false => self.growing,
        };
        let plants = self.fit("count", it.count, stock);
        let cuttings = plants.saturating_mul(per_plant).min(stock);
        if from_bench {
            let taken = bench::take_highest(&mut self.batch.counts.bench, cuttings);
            self.watch.potted(&taken);
            self.batch.counts.ready_from_bench += plants;
            self.batch.counts.finished_on_bench += cuttings;
            if let Some(inspection) = self.inspection(day) {
                inspection.potted += cuttings;
            }
        } else {
            self.growing -= cuttings;
        }
        self.batch.counts.ready += plants;
        self.saleable += plants;
    }

    fn sold(&mut self, it: &Sold) {
        let n = self.fit("count", it.count, self.saleable);
        self.saleable -= n;
        self.batch.counts.sold += n;
    }

    fn discard(&mut self, it: &Discard, day: NaiveDate) {
        if it.from == Some(CountedFrom::Pots) {
            let n = self.fit("count", it.count, self.growing + self.saleable);
            let young = n.min(self.growing);
            self.growing -= young;
            self.saleable -= n - young;
            self.batch.counts.lost_in_pots += n;
            return;
        }
        let n = self.fit("count", it.count, self.batch.counts.remain());
        let taken = bench::take_lowest(&mut self.batch.counts.bench, n);
        match it.why.and_then(DiscardReason::cause) {
            Some(cause) => self.batch.counts.lost.add(cause, n),
            None => self.batch.counts.given_up += n,
        }
        if it.why.is_none_or(DiscardReason::takes_alive) {
            self.watch.gone(&taken);
        } else {
            self.watch.lost(n);
        }
        if it.why.is_none() {
            self.report(BookFault::DiscardUnexplained);
        }
        if let Some(inspection) = self.inspection(day) {
            match inspection
                .discarded
                .iter_mut()
                .find(|(why, _)| *why == it.why)
            {
                Some((_, sum)) => *sum += n,
                None => inspection.discarded.push((it.why, n)),
            }
        }
    }

    fn relocate(&mut self, it: &Move, standing: &Standing) {
        let (Some(count), Some(code)) = (it.count, &it.into) else {
            let place = it.place.as_ref().map(ToString::to_string);
            self.batch.place = place.or(self.batch.place.take());
            self.batch.cover = it.cover.or(self.batch.cover);
            self.batch.heat = it.heat_c.or(self.batch.heat);
            self.batch.again_on = it.again_on.or(self.batch.again_on);
            return;
        };
        let n = self.fit("count", count, self.batch.counts.remain());
        let taken = bench::take_evenly(&mut self.batch.counts.bench, n);
        self.batch.counts.stuck -= n;
        self.watch.split();
        let mut stick = Stick::clone(&self.batch.stick);
        stick.stuck = n;
        stick.batch.clone_from(code);
        self.parts.push(Birth {
            event: standing.clone(),
            stick: Arc::new(stick),
            taxon: Arc::clone(&self.batch.taxon),
            stuck_on: self.batch.stuck_on,
            part: Some((self.batch.key.clone(), taken)),
            place: match &it.place {
                Some(place) => Some(place.to_string()),
                None => self.batch.place.clone(),
            },
            cover: it.cover.or(self.batch.cover),
            heat: it.heat_c.or(self.batch.heat),
        });
    }
}
