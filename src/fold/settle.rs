//! Amends and withdraws, of one another too: what stands in the end. It does not know to which batch an entry belongs.
//!
//! Nobody can amend `of`, so each amend or withdraw points at one entry for good, and an entry is settled once
//! all that point at it are. What is left over then points round in a ring, and is void.

use super::id_index::IdIndex;
use super::parts::in_parts;
use crate::model::entry::{Amend, Climate, Entry, Withdraw};
use crate::model::fault::{BookFault, Crc, Fault, FaultKind, LineFault, Origin};
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use foldhash::{HashMap, HashSet};
use std::cmp::Ordering;

/// An entry as one of its copies states it.
#[derive(Debug)]
pub struct StatedEntry {
    /// The entry.
    pub entry: PackedEntry,
    /// The line that states it.
    pub origin: Origin,
    /// What its checksum says.
    pub crc: Crc,
}

/// One entry for each id.
pub struct StatedEntries<'a> {
    /// As the first copy of each states it.
    pub first: &'a [StatedEntry],
    /// By place, those for which another copy counts: mostly none.
    pub instead: HashMap<usize, StatedEntry>,
    /// The places of those whose first copy amends or withdraws.
    pub corrections: &'a [usize],
    /// Where each id stands.
    pub index: &'a IdIndex,
}

impl<'a> StatedEntries<'a> {
    /// The entry at a place.
    fn at(&'a self, at: usize) -> &'a StatedEntry {
        self.instead.get(&at).unwrap_or_else(|| &self.first[at])
    }

    /// The place of an id.
    fn find(&self, id: &Id) -> Option<usize> {
        self.index.find(id, |at| &self.first[at as usize].entry.id)
    }

    /// The places of all amends and withdraws, and of the entries at which they point by `target`, in their order: few
    /// beside those that nothing touches.
    fn touched(&self, target: impl Fn(&StatedEntry) -> Option<Id>) -> Vec<usize> {
        let others = self.instead.keys().copied();
        let mut touched: Vec<usize> = self.corrections.iter().copied().chain(others).collect();
        touched.retain(|at| target(self.at(*at)).is_some());
        let pointed_at = touched
            .iter()
            .filter_map(|at| self.find(&target(self.at(*at))?));
        let pointed_at: Vec<usize> = pointed_at.collect();
        touched.extend(pointed_at);
        touched.sort_unstable();
        touched.dedup();
        touched
    }
}

/// Lines that are named by a withdraw or an amend, but are no entry of that id.
pub enum NamedLine {
    /// A damaged line.
    Damaged(LineFault),
    /// A line whose entry bears this id of its own.
    Bears(Id),
    /// A copy of an entry of which other contents exist, told apart when copies are chosen.
    OneOfSeveral,
}

/// What stands.
#[derive(Default)]
pub struct Settled {
    /// The entries that stand, in fold order; no amends and withdraws, no climate lines.
    pub standing: Vec<Standing>,
    /// The climate lines among those that stand, in fold order.
    pub climate: Vec<Standing>,
    /// The entries that were withdrawn, in fold order, amends and withdraws left out.
    pub withdrawn: Vec<Standing>,
    /// The amends and withdraws themselves, in fold order.
    pub corrections: Vec<Correction>,
    /// Codes that sticks and parts bore before they were amended.
    pub former_codes: HashMap<Id, Vec<String>>,
    /// Lines that a withdraw in force names.
    pub settled_lines: HashSet<Id>,
    /// What does not fit.
    pub faults: Vec<Fault>,
    /// How many faults were settled by a withdraw or an amend.
    pub settled: usize,
}

impl Settled {
    /// Takes the faults of ids that several lines bear; one that is withdrawn is settled, whatever its lines say.
    pub fn take_clashes(&mut self, clashes: Vec<Fault>) {
        if clashes.is_empty() {
            return;
        }
        let corrections = self.corrections.iter().filter(|one| !one.in_force);
        let gone = corrections.map(|one| &one.standing);
        let gone = gone.chain(&self.withdrawn);
        let gone: HashSet<&Id> = gone.map(|standing| &standing.entry.id).collect();
        let is_gone = |fault: &Fault| fault.id.as_ref().is_some_and(|id| gone.contains(id));
        let (settled, open): (Vec<Fault>, Vec<Fault>) = clashes.into_iter().partition(is_gone);
        self.settled += settled.len();
        self.faults.extend(open);
    }
}

/// Fewer entries than this are not worth a thread.
const FEW: usize = 4096;

/// What has become of an entry.
enum State {
    Pending,
    Gone,
    Stands { entry: PackedEntry, amended: bool },
}

/// Settles amends and withdraws, on so many threads.
pub fn settle(
    stated: &StatedEntries<'_>,
    lines: &HashMap<Id, NamedLine>,
    threads: usize,
) -> Settled {
    let mut work = Work::new(stated, lines);
    work.run();
    while work.break_ring() {
        work.run();
    }
    work.void_rings();
    work.end(threads)
}

/// The amends and withdraws, and the entries at which they point: few beside those that nothing touches, which simply
/// stand.
struct Work<'a> {
    all: &'a StatedEntries<'a>,
    /// Their places among all, in that order; all other lists go by the place in this one.
    touched: Vec<usize>,
    lines: &'a HashMap<Id, NamedLine>,
    /// The entry at which each amend or withdraw points.
    target: Vec<Option<usize>>,
    /// The amends and withdraws that point at each entry.
    sources: HashMap<usize, Vec<usize>>,
    /// How many of those are not settled yet.
    waiting: Vec<usize>,
    state: Vec<State>,
    queue: Vec<usize>,
    out: Settled,
}

impl<'a> Work<'a> {
    fn new(all: &'a StatedEntries<'a>, lines: &'a HashMap<Id, NamedLine>) -> Self {
        let target = |stated: &StatedEntry| {
            let of = stated.entry.target()?;
            Some(match lines.get(&of) {
                Some(NamedLine::Bears(id)) => id.clone(),
                _ => of,
            })
        };
        let touched = all.touched(target);
        let by_id: HashMap<&Id, usize> = touched
            .iter()
            .enumerate()
            .map(|(at, place)| (&all.at(*place).entry.id, at))
            .collect();
        let mut work = Self {
            all,
            lines,
            target: vec![None; touched.len()],
            sources: HashMap::default(),
            waiting: vec![0; touched.len()],
            state: touched.iter().map(|_| State::Pending).collect(),
            queue: Vec::new(),
            out: Settled::default(),
            touched,
        };
        for at in 0..work.touched.len() {
            let target = target(work.stated(at)).and_then(|of| by_id.get(&of));
            if let Some(&target) = target {
                work.target[at] = Some(target);
                work.sources.entry(target).or_default().push(at);
                work.waiting[target] += 1;
            }
        }
        let free = (0..work.touched.len()).filter(|at| work.waiting[*at] == 0);
        work.queue = free.collect();
        work
    }

    fn stated(&self, at: usize) -> &'a StatedEntry {
        self.all.at(self.touched[at])
    }

    fn run(&mut self) {
        while let Some(at) = self.queue.pop() {
            // One of a ring may be in the queue for two reasons.
            if !matches!(self.state[at], State::Pending) {
                continue;
            }
            self.state[at] = self.judge(at);
            self.without_target(at);
            if let Some(target) = self.target[at] {
                self.waiting[target] -= 1;
                if self.waiting[target] == 0 && matches!(self.state[target], State::Pending) {
                    self.queue.push(target);
                }
            }
        }
    }

    /// What becomes of an entry whose amends and withdraws are all settled.
    fn judge(&mut self, at: usize) -> State {
        let mut amends = Vec::new();
        for &source in self.sources.get(&at).into_iter().flatten() {
            match &self.state[source] {
                State::Stands { entry, .. } if is_withdraw(entry) => return State::Gone,
                State::Stands { entry, .. } => amends.push((source, entry.clone())),
                State::Pending | State::Gone => {}
            }
        }
        amends.sort_by(|(_, a), (_, b)| a.fold_order(b));
        let stated = &self.stated(at).entry;
        if amends.is_empty() {
            let (entry, amended) = (stated.clone(), false);
            return State::Stands { entry, amended };
        }
        let mut entry = stated.whole();
        let mut amended = false;
        for (source, amend) in amends {
            let Some(it) = amend.get::<Amend>() else {
                continue;
            };
            match entry.amended(&it.set) {
                Ok(result) => {
                    self.keep_former_code(&entry, &result);
                    entry = result;
                    amended = true;
                }
                Err(why) => {
                    let of = it.target;
                    self.report(source, BookFault::AmendVoid { of, why });
                }
            }
        }
        let entry = match amended {
            true => entry.into(),
            false => stated.clone(),
        };
        State::Stands { entry, amended }
    }

    fn keep_former_code(&mut self, before: &Entry, after: &Entry) {
        if let Some(code) = before
            .kind
            .code_begun()
            .filter(|code| Some(*code) != after.kind.code_begun())
        {
            let codes = self.out.former_codes.entry(before.id.clone()).or_default();
            codes.push(code.to_owned());
        }
    }

    /// An amend or withdraw in force that points at no entry: at a line, or at nothing yet.
    fn without_target(&mut self, at: usize) {
        let State::Stands { entry, .. } = &self.state[at] else {
            return;
        };
        let (None, Some(of)) = (self.target[at], entry.target()) else {
            return;
        };
        let line = self.lines.get(&of);
        if is_withdraw(entry) && line.is_some() {
            self.out.settled_lines.insert(of);
            return;
        }
        let fault = match line {
            Some(NamedLine::Damaged(LineFault::Entry(why))) => BookFault::AmendVoid {
                of,
                why: why.clone(),
            },
            _ => BookFault::MissingTarget { of },
        };
        self.report(at, fault);
    }

    fn report(&mut self, at: usize, fault: BookFault) {
        let fault = fault_of(self.stated(at), fault);
        self.out.faults.push(fault);
    }

    /// Takes out one of a ring that a withdrawal from outside takes out; whether there was one.
    fn break_ring(&mut self) -> bool {
        let in_force = |source: &usize| match &self.state[*source] {
            State::Stands { entry, .. } => is_withdraw(entry),
            _ => false,
        };
        let withdrawn = |at: &usize| {
            matches!(self.state[*at], State::Pending)
                && self.sources.get(at).is_some_and(|s| s.iter().any(in_force))
        };
        // All at once: which one comes first must not matter.
        self.queue = (0..self.touched.len()).filter(withdrawn).collect();
        !self.queue.is_empty()
    }

    /// What is still pending points round in rings.
    fn void_rings(&mut self) {
        for at in 0..self.touched.len() {
            if !matches!(self.state[at], State::Pending) {
                continue;
            }
            self.state[at] = State::Gone;
            if let Some(of) = self.stated(at).entry.target() {
                self.report(at, BookFault::Ring { of });
            }
        }
    }

    fn end(self, threads: usize) -> Settled {
        let all = self.all.first.len();
        let ended = in_parts(self.all.first, threads, FEW, |first, part| {
            // What follows is added to the first part.
            let mut ended = Ended::with_room(if first == 0 { all } else { part.len() });
            let touched = self.touched.iter().zip(&self.state);
            let before = self.touched.partition_point(|at| *at < first);
            let mut touched = touched.skip(before).peekable();
            for at in first..first + part.len() {
                let state = touched.next_if(|(touched, _)| **touched == at);
                ended.take(self.all.at(at), state.map(|(_, state)| state));
            }
            ended
        });
        let mut ended = ended.into_iter();
        let mut whole = ended.next().unwrap_or_default();
        ended.for_each(|part| whole.append(part));
        whole.settled(self.out)
    }
}

/// What has become of some entries that follow one another.
#[derive(Default)]
struct Ended {
    /// Those that stand and came in fold order.
    standing: Vec<Standing>,
    /// Those that stand and came later than their turn.
    late: Vec<Standing>,
    climate: Vec<Standing>,
    withdrawn: Vec<Standing>,
    corrections: Vec<Correction>,
    faults: Vec<Fault>,
    settled: usize,
}

impl Ended {
    fn with_room(entries: usize) -> Self {
        Self {
            standing: Vec::with_capacity(entries),
            ..Self::default()
        }
    }

    /// Takes the next entry, in that state if anything touches it.
    fn take(&mut self, stated: &StatedEntry, state: Option<&State>) {
        let (entry, amended, withdrawn) = match state {
            None => (stated.entry.clone(), false, false),
            Some(State::Stands { entry, amended }) => (entry.clone(), *amended, false),
            Some(State::Pending | State::Gone) => (stated.entry.clone(), false, true),
        };
        match stated.crc == Crc::Wrong {
            true if amended || withdrawn => self.settled += 1,
            true => self.faults.push(fault_of(stated, BookFault::WrongCrc)),
            false => {}
        }
        let standing = Standing {
            entry,
            origin: stated.origin,
            amended,
        };
        if standing.entry.name().corrects() {
            self.corrections.push(Correction {
                standing,
                in_force: !withdrawn,
            });
        } else if withdrawn {
            self.withdrawn.push(standing);
        } else if standing.entry.is::<Climate>() {
            self.climate.push(standing);
        } else if follows(self.standing.last(), &standing) {
            self.standing.push(standing);
        } else {
            self.late.push(standing);
        }
    }

    /// Adds what follows.
    fn append(&mut self, mut next: Self) {
        self.late.append(&mut next.late);
        let last = self.standing.last();
        let late = next.standing.partition_point(|it| !follows(last, it));
        self.late.extend(next.standing.drain(..late));
        self.standing.append(&mut next.standing);
        self.climate.append(&mut next.climate);
        self.withdrawn.append(&mut next.withdrawn);
        self.corrections.append(&mut next.corrections);
        self.faults.append(&mut next.faults);
        self.settled += next.settled;
    }

    /// All of it, in fold order, with what was found before.
    fn settled(mut self, found: Settled) -> Settled {
        self.late.sort_by(in_order);
        put_in(&mut self.standing, self.late);
        self.climate.sort_by(in_order);
        self.withdrawn.sort_by(in_order);
        self.corrections
            .sort_by(|a, b| in_order(&a.standing, &b.standing));
        let mut faults = found.faults;
        faults.append(&mut self.faults);
        Settled {
            standing: self.standing,
            climate: self.climate,
            withdrawn: self.withdrawn,
            corrections: self.corrections,
            faults,
            settled: found.settled + self.settled,
            ..found
        }
    }
}

/// The order in which two entries fold.
pub fn in_order(a: &Standing, b: &Standing) -> Ordering {
    a.entry.fold_order(&b.entry)
}

/// Puts some entries in their places among all, both in fold order. They are mostly few, and their places are sought from
/// the end in steps that double; what stands behind a place moves once.
fn put_in(all: &mut Vec<Standing>, late: Vec<Standing>) {
    let (mut end, mut by) = (all.len(), late.len());
    // Room at the end, written over below.
    all.extend_from_slice(&late);
    for it in late.into_iter().rev() {
        let goes_before = |held: &Standing| in_order(held, &it).is_le();
        let mut step = 1;
        while step < end && !goes_before(&all[end - step]) {
            step *= 2;
        }
        let from = end.saturating_sub(step);
        let place = from + all[from..end].partition_point(goes_before);
        for at in (place..end).rev() {
            all.swap(at, at + by);
        }
        by -= 1;
        all[place + by] = it;
        end = place;
    }
}

/// Whether one may stand behind another, or behind nothing.
pub fn follows(last: Option<&Standing>, next: &Standing) -> bool {
    last.is_none_or(|last| in_order(last, next).is_le())
}

fn fault_of(stated: &StatedEntry, fault: BookFault) -> Fault {
    Fault {
        origin: stated.origin,
        id: Some(stated.entry.id.clone()),
        batch: None,
        wrong: FaultKind::Book(fault),
    }
}

fn is_withdraw(entry: &PackedEntry) -> bool {
    entry.is::<Withdraw>()
}

// An entry that stands: amends applied, not withdrawn. It is shared, never copied.

/// An entry as it stands once amends and withdraws are settled.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// The entry, amends applied.
    pub entry: PackedEntry,
    /// Where it was written.
    pub origin: Origin,
    /// Whether an amend changed it.
    pub amended: bool,
}

impl Standing {
    /// Whether another is of that very entry: cheap when shared, by content otherwise.
    pub(super) fn is_same(&self, other: &Self) -> bool {
        self.entry == other.entry && self.origin == other.origin && self.amended == other.amended
    }
}

/// An amend or a withdraw, kept for those who read the journal itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// The amend or withdraw itself.
    pub standing: Standing,
    /// Whether it holds: it is neither withdrawn itself nor one of a ring.
    pub in_force: bool,
}
