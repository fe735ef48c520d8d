//! Amends and withdraws, of one another too: what stands in the end. It does not know to which batch an entry belongs.
//!
//! Nobody can amend `of`, so each amend or withdraw points at one entry for good, and an entry is settled once
//! all that point at it are. What is left over then points round in a ring, and is void.

use crate::model::entry::{Entry, Kind};
use crate::model::fault::{BookFault, Fault, FaultKind, LineFault, Origin};
use crate::model::id::Id;
use foldhash::{HashMap, HashSet};
use std::sync::Arc;

/// An entry as one of its copies states it.
pub struct StatedEntry<'a> {
    /// The entry.
    pub entry: &'a Arc<Entry>,
    /// The line that states it.
    pub origin: Origin,
    /// Whether its checksum does not fit.
    pub wrong_crc: bool,
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
    /// The entries that stand, in fold order; no amends and withdraws.
    pub standing: Vec<Standing>,
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

/// What has become of an entry.
enum State {
    Pending,
    Gone,
    Stands { entry: Arc<Entry>, amended: bool },
}

/// Settles amends and withdraws.
pub fn settle(stated: &[StatedEntry<'_>], lines: &HashMap<Id, NamedLine>) -> Settled {
    let mut work = Work::new(stated, lines);
    work.run();
    while work.break_ring() {
        work.run();
    }
    work.void_rings();
    work.end()
}

/// The amends and withdraws, and the entries at which they point: few beside those that nothing touches, which simply
/// stand.
struct Work<'a> {
    all: &'a [StatedEntry<'a>],
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
    fn new(all: &'a [StatedEntry<'a>], lines: &'a HashMap<Id, NamedLine>) -> Self {
        let target = |stated: &StatedEntry<'a>| {
            let of = stated.entry.kind.target()?;
            Some(match lines.get(of) {
                Some(NamedLine::Bears(id)) => id,
                _ => of,
            })
        };
        let pointed_at: HashSet<&Id> = all.iter().filter_map(target).collect();
        let mut touched = Vec::new();
        if !pointed_at.is_empty() {
            let is_touched = |stated: &StatedEntry<'_>| {
                stated.entry.kind.target().is_some() || pointed_at.contains(&stated.entry.id)
            };
            touched.extend((0..all.len()).filter(|at| is_touched(&all[*at])));
        }
        let by_id: HashMap<&Id, usize> = touched
            .iter()
            .enumerate()
            .map(|(at, place)| (&all[*place].entry.id, at))
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
            let target = target(work.stated(at)).and_then(|of| by_id.get(of));
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

    fn stated(&self, at: usize) -> &'a StatedEntry<'a> {
        &self.all[self.touched[at]]
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
                State::Stands { entry, .. } => amends.push((source, Arc::clone(entry))),
                State::Pending | State::Gone => {}
            }
        }
        amends.sort_by(|(_, a), (_, b)| a.fold_order(b));
        let mut entry = Arc::clone(self.stated(at).entry);
        let mut amended = false;
        for (source, amend) in amends {
            let Kind::Amend(it) = &amend.kind else {
                continue;
            };
            match entry.amended(&it.set) {
                Ok(result) => {
                    self.keep_former_code(&entry, &result);
                    entry = Arc::new(result);
                    amended = true;
                }
                Err(why) => {
                    let of = it.target.clone();
                    self.report(source, BookFault::AmendVoid { of, why });
                }
            }
        }
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
        let (None, Some(of)) = (self.target[at], entry.kind.target()) else {
            return;
        };
        let of = of.clone();
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
            if let Some(of) = self.stated(at).entry.kind.target() {
                let of = of.clone();
                self.report(at, BookFault::Ring { of });
            }
        }
    }

    fn end(mut self) -> Settled {
        let states = std::mem::take(&mut self.state);
        let mut touched = self.touched.iter().zip(states).peekable();
        let out = &mut self.out;
        out.standing.reserve_exact(self.all.len());
        for (at, stated) in self.all.iter().enumerate() {
            let state = touched.next_if(|(place, _)| **place == at);
            let (entry, amended, withdrawn) = match state.map(|(_, state)| state) {
                None => (Arc::clone(stated.entry), false, false),
                Some(State::Stands { entry, amended }) => (entry, amended, false),
                Some(State::Pending | State::Gone) => (Arc::clone(stated.entry), false, true),
            };
            match stated.wrong_crc {
                true if amended || withdrawn => out.settled += 1,
                true => out.faults.push(fault_of(stated, BookFault::WrongCrc)),
                false => {}
            }
            let standing = Standing {
                entry,
                origin: stated.origin,
                amended,
            };
            if standing.entry.kind.target().is_some() {
                out.corrections.push(Correction {
                    standing,
                    in_force: !withdrawn,
                });
            } else if withdrawn {
                out.withdrawn.push(standing);
            } else {
                out.standing.push(standing);
            }
        }
        // Mostly they are in order as they come, and few comparisons tell.
        let in_order = |a: &Standing, b: &Standing| a.entry.fold_order(&b.entry);
        out.standing.sort_by(in_order);
        out.withdrawn.sort_by(in_order);
        out.corrections
            .sort_by(|a, b| in_order(&a.standing, &b.standing));
        self.out
    }
}

fn fault_of(stated: &StatedEntry<'_>, fault: BookFault) -> Fault {
    Fault {
        origin: stated.origin,
        id: Some(stated.entry.id.clone()),
        batch: None,
        wrong: FaultKind::Book(fault),
    }
}

fn is_withdraw(entry: &Entry) -> bool {
    matches!(entry.kind, Kind::Withdraw(_))
}

// An entry that stands: amends applied, not withdrawn. It is shared, never copied.

/// An entry as it stands once amends and withdraws are settled.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// The entry, amends applied.
    pub entry: Arc<Entry>,
    /// Where it was written.
    pub origin: Origin,
    /// Whether an amend changed it.
    pub amended: bool,
}

/// An amend or a withdraw, kept for those who read the journal itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// The amend or withdraw itself.
    pub standing: Standing,
    /// Whether it holds: it is neither withdrawn itself nor one of a ring.
    pub in_force: bool,
}
