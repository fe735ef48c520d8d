//! To which batch each entry belongs. It folds no batch; it only watches when a batch is used up, since a code
//! that two open batches bear says nothing.
//!
//! The `stick` field decides. Without it the code means the latest batch that bears or ever bore it and began on
//! or before the entry's day (a part begins with its move). If two of them were open that day the entry is left
//! out. A batch is open on a day if cuttings remained on its bench when the day began, or it began that day.

use super::settle::Settled;
use super::settle::Standing;
use crate::model::entry::{BatchReference, Entry, Kind, Stick};
use crate::model::fault::BookFault;
use crate::model::id::Id;
use crate::model::text::folded;
use chrono::NaiveDate;
use foldhash::{HashMap, HashSet};

/// A batch and the entries that are its own.
pub struct BatchEntries {
    /// The number of the standing entry that began it.
    pub birth: usize,
    /// The batch that it was split from, by its number in the list.
    pub parent: Option<usize>,
    /// Its entries, by number, in fold order.
    pub entries: Vec<usize>,
    day: NaiveDate,
    per_plant: u32,
    remain: u32,
    used_up: Option<NaiveDate>,
}

/// Which entry is whose.
#[derive(Default)]
pub struct Assigned {
    /// The batches, a parent always before its parts.
    pub batches: Vec<BatchEntries>,
    /// Entries that name no batch, by number, in fold order.
    pub loose: Vec<usize>,
    /// Entries left out, with the reason.
    pub faults: Vec<(usize, BookFault)>,
    /// How many went quietly along with a withdrawn stick.
    pub hushed: usize,
}

/// Assigns all standing entries.
pub fn assign(settled: &Settled) -> Assigned {
    let mut work = Work::new(settled);
    let standing = &settled.standing;
    let mut from = 0;
    while from < standing.len() {
        let day = standing[from].entry.at.day();
        let same = standing[from..]
            .iter()
            .take_while(|s| s.entry.at.day() == day);
        let length = same.count();
        work.day(from..from + length);
        from += length;
    }
    // A day's parting moves were given out before its other entries.
    for own in &mut work.out.batches {
        own.entries.sort_unstable();
    }
    work.out
}

/// What an entry's naming of a batch comes to.
enum BatchMatch {
    Batch(usize),
    /// Its batch was withdrawn: it goes along quietly.
    Withdrawn,
    Not(BookFault),
}

struct Work<'a> {
    settled: &'a Settled,
    by_key: HashMap<&'a Id, usize>,
    by_code: HashMap<String, Vec<usize>>,
    /// The day on which each standing stick or part begins, and its codes, so that an entry dated before it gets that fault.
    to_come: HashMap<&'a Id, NaiveDate>,
    codes_to_come: HashMap<String, NaiveDate>,
    withdrawn: HashSet<&'a Id>,
    withdrawn_codes: HashMap<String, NaiveDate>,
    out: Assigned,
}

impl<'a> Work<'a> {
    fn new(settled: &'a Settled) -> Self {
        let mut work = Self {
            settled,
            by_key: HashMap::default(),
            by_code: HashMap::default(),
            to_come: HashMap::default(),
            codes_to_come: HashMap::default(),
            withdrawn: HashSet::default(),
            withdrawn_codes: HashMap::default(),
            out: Assigned::default(),
        };
        for (list, live) in [(&settled.standing, true), (&settled.withdrawn, false)] {
            for standing in list.iter().filter(|s| s.entry.kind.code_begun().is_some()) {
                work.expect(standing, live);
            }
        }
        work
    }

    fn expect(&mut self, standing: &'a Standing, live: bool) {
        let (id, day) = (&standing.entry.id, standing.entry.at.day());
        if live {
            self.to_come.insert(id, day);
        } else {
            self.withdrawn.insert(id);
        }
        for code in self.codes(&standing.entry) {
            let codes = match live {
                true => &mut self.codes_to_come,
                false => &mut self.withdrawn_codes,
            };
            codes.entry(code).or_insert(day);
        }
    }

    /// All codes that a batch bears or ever bore, folded.
    fn codes(&self, entry: &Entry) -> Vec<String> {
        let former = self.settled.former_codes.get(&entry.id);
        let former = former.into_iter().flatten().map(String::as_str);
        let given = entry.kind.code_begun().into_iter().chain(former);
        let mut codes: Vec<String> = given.map(folded).collect();
        codes.sort_unstable();
        codes.dedup();
        codes
    }

    /// A day's entries: first the sticks, then the moves that make parts, then all others.
    fn day(&mut self, range: std::ops::Range<usize>) {
        let settled = self.settled;
        let kind = |at: &usize| &settled.standing[*at].entry.kind;
        for at in range.clone() {
            if let Kind::Stick(it) = kind(&at) {
                self.begin(at, None, it.stuck);
            }
        }
        let parting = |at: &usize| matches!(kind(at), Kind::Move(it) if it.into.is_some());
        self.part_moves(range.clone().filter(parting).collect());
        for at in range {
            if kind(&at).code_begun().is_none() {
                self.give(at);
            }
        }
    }

    /// A part may be split on the day it was made, so a move waits until its own batch is known.
    fn part_moves(&mut self, mut moves: Vec<usize>) {
        loop {
            let before = moves.len();
            moves.retain(|at| !self.part(*at, false));
            if moves.len() == before {
                break;
            }
        }
        for at in moves {
            self.part(at, true);
        }
    }

    /// Makes a part if its batch is known; whether the move is done with.
    fn part(&mut self, at: usize, last_call: bool) -> bool {
        let settled = self.settled;
        let entry = &settled.standing[at].entry;
        let (Some(named), Kind::Move(it)) = (entry.kind.batch_named(), &entry.kind) else {
            return true;
        };
        match self.find(named, entry.at.day()) {
            BatchMatch::Batch(parent) => {
                self.out.batches[parent].entries.push(at);
                let count = it.count.unwrap_or(0).min(self.out.batches[parent].remain);
                self.remove(parent, count, entry.at.day());
                self.begin(at, Some(parent), count);
                true
            }
            BatchMatch::Withdrawn => {
                self.withdrawn.insert(&entry.id);
                self.out.hushed += 1;
                true
            }
            BatchMatch::Not(fault) if last_call => {
                self.out.faults.push((at, fault));
                true
            }
            BatchMatch::Not(_) => false,
        }
    }

    fn begin(&mut self, at: usize, parent: Option<usize>, remain: u32) {
        let entry = &self.settled.standing[at].entry;
        let number = self.out.batches.len();
        let per_plant = match parent {
            Some(parent) => self.out.batches[parent].per_plant,
            None => {
                let stick = entry.kind.get::<Stick>();
                stick.and_then(|it| it.per_plant).unwrap_or(1).max(1)
            }
        };
        for code in self.codes(entry) {
            self.by_code.entry(code).or_default().push(number);
        }
        self.by_key.insert(&entry.id, number);
        self.out.batches.push(BatchEntries {
            birth: at,
            parent,
            entries: Vec::new(),
            day: entry.at.day(),
            per_plant,
            remain,
            used_up: None,
        });
    }

    fn give(&mut self, at: usize) {
        let settled = self.settled;
        let entry = &settled.standing[at].entry;
        let Some(named) = entry.kind.batch_named() else {
            self.out.loose.push(at);
            return;
        };
        match self.find(named, entry.at.day()) {
            BatchMatch::Batch(batch) => {
                self.out.batches[batch].entries.push(at);
                let per_plant = self.out.batches[batch].per_plant;
                self.remove(
                    batch,
                    entry.kind.takes().from_bench(per_plant),
                    entry.at.day(),
                );
            }
            BatchMatch::Withdrawn => self.out.hushed += 1,
            BatchMatch::Not(fault) => self.out.faults.push((at, fault)),
        }
    }

    fn remove(&mut self, batch: usize, count: u32, day: NaiveDate) {
        let own = &mut self.out.batches[batch];
        if own.remain > 0 && count >= own.remain {
            own.used_up = Some(day);
        }
        own.remain = own.remain.saturating_sub(count);
    }

    fn find(&self, named: BatchReference<'_>, day: NaiveDate) -> BatchMatch {
        let BatchReference { code, stick } = named;
        let unknown = || {
            let code = code.to_owned();
            BatchMatch::Not(BookFault::UnknownBatch { code })
        };
        let Some(key) = stick else {
            return self.find_by_code(code, day).unwrap_or_else(unknown);
        };
        match (self.by_key.get(key), self.to_come.get(key)) {
            (Some(batch), _) => BatchMatch::Batch(*batch),
            _ if self.withdrawn.contains(key) => BatchMatch::Withdrawn,
            (None, Some(stuck_on)) if *stuck_on > day => BatchMatch::Not(BookFault::BeforeStick {
                stuck_on: *stuck_on,
            }),
            _ => unknown(),
        }
    }

    fn find_by_code(&self, code: &str, day: NaiveDate) -> Option<BatchMatch> {
        let folded = folded(code);
        let candidates = self.by_code.get(&folded).map_or(&[][..], Vec::as_slice);
        let is_open = |batch: &&usize| {
            let own = &self.out.batches[**batch];
            own.used_up.map_or(own.remain > 0, |used_up| used_up >= day)
        };
        if candidates.iter().filter(is_open).count() > 1 {
            let code = code.to_owned();
            return Some(BatchMatch::Not(BookFault::AmbiguousBatch { code }));
        }
        let latest = candidates.iter().max_by_key(|batch| {
            let own = &self.out.batches[**batch];
            (own.day, own.birth)
        });
        if let Some(latest) = latest {
            return Some(BatchMatch::Batch(*latest));
        }
        if self.withdrawn_codes.get(&folded).is_some_and(|d| *d <= day) {
            return Some(BatchMatch::Withdrawn);
        }
        let stuck_on = *self.codes_to_come.get(&folded).filter(|d| **d > day)?;
        Some(BatchMatch::Not(BookFault::BeforeStick { stuck_on }))
    }
}
