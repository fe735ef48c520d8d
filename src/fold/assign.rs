//! To which batch each entry belongs. It folds no batch; it only watches when a batch is used up, since a code
//! that two open batches bear says nothing.
//!
//! The `stick` field decides. Without it the code means the latest batch that bears or ever bore it and began on
//! or before the entry's day (a part begins with its move). If two of them were open that day the entry is left
//! out. A batch is open on a day if cuttings remained on its bench when the day began, or it began that day.

use super::outline::{Meaning, Named, Outline, OutlineRow};
use super::settle::Settled;
use crate::model::entry::BatchReference;
use crate::model::fault::BookFault;
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use crate::model::takes::Takes;
use crate::model::text::folded;
use chrono::NaiveDate;
use foldhash::{HashMap, HashSet};
use std::cell::OnceCell;

/// Which entry is whose.
#[derive(Default)]
pub struct Assigned {
    /// The batches, a parent always before its parts: for each the number of the batch that it was split from.
    pub parents: Vec<Option<usize>>,
    /// The entries of each batch.
    pub entries: EntryNumbers,
    /// Entries left out, with the reason.
    pub faults: Vec<(u32, BookFault)>,
    /// How many went quietly along with a withdrawn stick.
    pub hushed: usize,
}

/// The entries of all batches by number, batch by batch, held as one list.
#[derive(Debug, Default)]
pub struct EntryNumbers {
    numbers: Vec<u32>,
    /// Where each batch's begin, and where the last one's end.
    begin: Vec<u32>,
}

impl EntryNumbers {
    /// Those of a batch: the one that began it, then the others in fold order.
    #[must_use]
    pub fn of_batch(&self, batch: usize) -> &[u32] {
        let bound = |at: usize| self.begin.get(at).map(|it| *it as usize);
        let range = bound(batch).zip(bound(batch + 1));
        range.map_or(&[], |(from, to)| &self.numbers[from..to])
    }

    /// As these, with more given to batches: batch and entry, each entry later than all before it.
    #[must_use]
    pub fn with(&self, given: &[(u32, u32)]) -> Self {
        let mut given = given.to_vec();
        given.sort_unstable();
        let mut out = Self {
            numbers: Vec::with_capacity(self.numbers.len() + given.len()),
            begin: Vec::with_capacity(self.begin.len()),
        };
        let mut given = given.into_iter().peekable();
        let mut copied = 0;
        for (batch, from) in (0..).zip(&self.begin) {
            // What the batches before this one were given stands before it.
            while let Some((_, entry)) = given.next_if(|(to, _)| *to < batch) {
                let before = *from as usize;
                out.numbers.extend_from_slice(&self.numbers[copied..before]);
                out.numbers.push(entry);
                copied = before;
            }
            let more = out.numbers.len() - copied;
            out.begin
                .push(from + u32::try_from(more).unwrap_or(u32::MAX));
        }
        out.numbers.extend_from_slice(&self.numbers[copied..]);
        out
    }

    /// Puts together what was given to the batches that these entries began: batch and entry, in any order.
    fn new(began: impl ExactSizeIterator<Item = u32> + Clone, given: &[(u32, u32)]) -> Self {
        let mut begin = vec![0; began.len() + 1];
        for (batch, _) in given {
            begin[*batch as usize + 1] += 1;
        }
        let mut sum = 0;
        for (at, own) in (0..).zip(&mut begin) {
            sum += *own + u32::from(at > 0);
            *own = sum;
        }
        let mut numbers = vec![0; sum as usize];
        let mut next = begin.clone();
        let own = (0..).zip(began).chain(given.iter().copied());
        for (batch, entry) in own {
            let place = &mut next[batch as usize];
            numbers[*place as usize] = entry;
            *place += 1;
        }
        // A day's parting moves were given out before its other entries.
        for bounds in begin.windows(2) {
            numbers[bounds[0] as usize + 1..bounds[1] as usize].sort_unstable();
        }
        Self { numbers, begin }
    }
}

/// Assigns all standing entries, of which the outline says what each means.
pub fn assign(settled: &Settled, outline: &Outline) -> Assigned {
    let mut work = Work::new(settled, outline);
    let mut rows = outline.rows().peekable();
    let mut of_day: Vec<(u32, OutlineRow)> = Vec::new();
    while let Some(first) = rows.next() {
        let day = first.1.day;
        of_day.clear();
        of_day.push(first);
        while let Some(next) = rows.next_if(|(_, row)| row.day == day) {
            of_day.push(next);
        }
        work.day(&of_day);
    }
    let began = work.batches.iter().map(|own| own.began);
    work.out.entries = EntryNumbers::new(began, &work.given);
    work.out.parents = work.batches.iter().map(|own| own.parent).collect();
    work.out
}

/// A batch while entries are given out.
struct BatchState {
    parent: Option<usize>,
    /// The number of the entry that began it.
    began: u32,
    day: NaiveDate,
    per_plant: u32,
    remain: u32,
    used_up: Option<NaiveDate>,
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
    outline: &'a Outline,
    batches: Vec<BatchState>,
    /// What was given to batches: batch and entry.
    given: Vec<(u32, u32)>,
    by_key: HashMap<&'a Id, usize>,
    /// Whether any entry may name its batch by a code alone: else none is gathered.
    codes_matter: bool,
    by_code: HashMap<String, Vec<usize>>,
    /// All batches that begin on any day, so that an entry dated before its own gets that fault; mostly never asked for.
    to_come: OnceCell<Beginnings<'a>>,
    withdrawn: HashSet<&'a Id>,
    withdrawn_codes: HashMap<String, NaiveDate>,
    out: Assigned,
}

/// The day on which each standing stick or part begins, by its id and by its codes.
#[derive(Default)]
struct Beginnings<'a> {
    by_id: HashMap<&'a Id, NaiveDate>,
    by_code: HashMap<String, NaiveDate>,
}

impl<'a> Work<'a> {
    fn new(settled: &'a Settled, outline: &'a Outline) -> Self {
        let begins = outline.rows().filter(|(_, row)| row.begins()).count();
        let mut work = Self {
            settled,
            outline,
            batches: Vec::with_capacity(begins),
            given: Vec::with_capacity(settled.standing.len()),
            codes_matter: outline.rows().any(|(_, row)| row.may_go_by_code()),
            by_key: HashMap::default(),
            by_code: HashMap::default(),
            to_come: OnceCell::new(),
            withdrawn: HashSet::default(),
            withdrawn_codes: HashMap::default(),
            out: Assigned::default(),
        };
        work.by_key.reserve(begins);
        let withdrawn = settled.withdrawn.iter().map(|standing| &standing.entry);
        for entry in withdrawn.filter(|entry| entry.kind().code_begun().is_some()) {
            work.withdrawn.insert(&entry.id);
            for code in work.codes(entry) {
                let day = entry.at.day();
                work.withdrawn_codes.entry(code).or_insert(day);
            }
        }
        work
    }

    fn to_come(&self) -> &Beginnings<'a> {
        self.to_come.get_or_init(|| {
            let mut all = Beginnings::default();
            for (at, row) in self.outline.rows().filter(|(_, row)| row.begins()) {
                let entry = self.entry(at);
                all.by_id.insert(&entry.id, row.day);
                for code in self.codes(entry) {
                    all.by_code.entry(code).or_insert(row.day);
                }
            }
            all
        })
    }

    /// All codes that a batch bears or ever bore, folded; none where they do not matter.
    fn codes(&self, entry: &PackedEntry) -> Vec<String> {
        if !self.codes_matter {
            return Vec::new();
        }
        let former = self.settled.former_codes.get(&entry.id);
        let former = former.into_iter().flatten().map(String::as_str);
        let kind = entry.kind();
        let given = kind.code_begun().into_iter().chain(former);
        let mut codes: Vec<String> = given.map(folded).collect();
        codes.sort_unstable();
        codes.dedup();
        codes
    }

    /// A day's entries: first the sticks, then the moves that make parts, then all others.
    fn day(&mut self, rows: &[(u32, OutlineRow)]) {
        for (at, row) in rows {
            if let Meaning::Begins { stuck, per_plant } = row.meaning {
                self.begin(*at, row.day, None, (stuck, per_plant));
            }
        }
        let is_parting = |(_, row): &&(u32, OutlineRow)| matches!(row.meaning, Meaning::Parts(_));
        self.part_moves(rows.iter().filter(is_parting).collect());
        for (at, row) in rows {
            if let Meaning::Takes(takes) = row.meaning {
                self.give(*at, row, takes);
            }
        }
    }

    /// A part may be split on the day it was made, so a move waits until its own batch is known.
    fn part_moves(&mut self, mut moves: Vec<&(u32, OutlineRow)>) {
        loop {
            let before = moves.len();
            moves.retain(|(at, row)| !self.part(*at, row, false));
            if moves.len() == before {
                break;
            }
        }
        for (at, row) in moves {
            self.part(*at, row, true);
        }
    }

    /// Makes a part if its batch is known; whether the move is done with.
    fn part(&mut self, at: u32, row: &OutlineRow, last_call: bool) -> bool {
        let Meaning::Parts(count) = row.meaning else {
            return true;
        };
        match self.find(at, row) {
            BatchMatch::Batch(parent) => {
                self.give_to(parent, at);
                let count = count.min(self.batches[parent].remain);
                let per_plant = self.batches[parent].per_plant;
                self.remove(parent, count, row.day);
                self.begin(at, row.day, Some(parent), (count, per_plant));
                true
            }
            BatchMatch::Withdrawn => {
                self.withdrawn.insert(&self.entry(at).id);
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

    fn begin(
        &mut self,
        at: u32,
        day: NaiveDate,
        parent: Option<usize>,
        (remain, per_plant): (u32, u32),
    ) {
        let entry = self.entry(at);
        let number = self.batches.len();
        for code in self.codes(entry) {
            self.by_code.entry(code).or_default().push(number);
        }
        self.by_key.insert(&entry.id, number);
        self.batches.push(BatchState {
            parent,
            began: at,
            day,
            per_plant,
            remain,
            used_up: None,
        });
    }

    fn give(&mut self, at: u32, row: &OutlineRow, takes: Takes) {
        match self.find(at, row) {
            BatchMatch::Batch(batch) => {
                self.give_to(batch, at);
                let per_plant = self.batches[batch].per_plant;
                self.remove(batch, takes.from_bench(per_plant), row.day);
            }
            BatchMatch::Withdrawn => self.out.hushed += 1,
            BatchMatch::Not(fault) => self.out.faults.push((at, fault)),
        }
    }

    fn give_to(&mut self, batch: usize, entry: u32) {
        // There are no more batches than entries, which have as wide a number.
        let batch = u32::try_from(batch).unwrap_or(u32::MAX);
        self.given.push((batch, entry));
    }

    fn entry(&self, at: u32) -> &'a PackedEntry {
        &self.settled.standing[at as usize].entry
    }

    fn remove(&mut self, batch: usize, count: u32, day: NaiveDate) {
        let own = &mut self.batches[batch];
        if own.remain > 0 && count >= own.remain {
            own.used_up = Some(day);
        }
        own.remain = own.remain.saturating_sub(count);
    }

    /// The batch that an entry names.
    fn find(&self, at: u32, row: &OutlineRow) -> BatchMatch {
        if let Named::Stick(bytes) = row.named {
            // As most often: nothing of the entry itself is needed.
            let key = Id::from_ulid(u128::from_be_bytes(bytes));
            if let Some(batch) = self.by_key.get(&key) {
                return BatchMatch::Batch(*batch);
            }
        }
        match self.entry(at).kind().batch_named() {
            Some(named) => self.find_named(named, row.day),
            // Only entries that name a batch are asked about.
            None => BatchMatch::Withdrawn,
        }
    }

    fn find_named(&self, named: BatchReference<'_>, day: NaiveDate) -> BatchMatch {
        let BatchReference { code, stick } = named;
        let unknown = || {
            let code = code.to_owned();
            BatchMatch::Not(BookFault::UnknownBatch { code })
        };
        let Some(key) = stick else {
            return self.find_by_code(code, day).unwrap_or_else(unknown);
        };
        if let Some(batch) = self.by_key.get(key) {
            return BatchMatch::Batch(*batch);
        }
        if self.withdrawn.contains(key) {
            return BatchMatch::Withdrawn;
        }
        match self.to_come().by_id.get(key).copied() {
            Some(stuck_on) if stuck_on > day => {
                BatchMatch::Not(BookFault::BeforeStick { stuck_on })
            }
            _ => unknown(),
        }
    }

    fn find_by_code(&self, code: &str, day: NaiveDate) -> Option<BatchMatch> {
        let folded = folded(code);
        let candidates = self.by_code.get(&folded).map_or(&[][..], Vec::as_slice);
        let is_open = |batch: &&usize| {
            let own = &self.batches[**batch];
            own.used_up.map_or(own.remain > 0, |used_up| used_up >= day)
        };
        if candidates.iter().filter(is_open).count() > 1 {
            let code = code.to_owned();
            return Some(BatchMatch::Not(BookFault::AmbiguousBatch { code }));
        }
        let latest = candidates.iter().max_by_key(|batch| {
            let own = &self.batches[**batch];
            (own.day, own.began)
        });
        if let Some(latest) = latest {
            return Some(BatchMatch::Batch(*latest));
        }
        if self.withdrawn_codes.get(&folded).is_some_and(|d| *d <= day) {
            return Some(BatchMatch::Withdrawn);
        }
        let codes = &self.to_come().by_code;
        let stuck_on = *codes.get(&folded).filter(|d| **d > day)?;
        Some(BatchMatch::Not(BookFault::BeforeStick { stuck_on }))
    }
}
