//! Amends and withdraws, of one another too: what stands in the end. It does not know to which batch an entry belongs.
//!
//! Nobody can amend `of`, so each amend or withdraw points at one entry for good, and an entry is settled once
//! all that point at it are. What is left over then points round in a ring, and is void.

use crate::model::at::At;
use crate::model::entry::{Entry, Kind};
use crate::model::fault::{BookFault, Fault, FaultKind, LineFault, Origin};
use crate::model::id::Id;
use chrono::NaiveDate;
use foldhash::{HashMap, HashSet};
use std::sync::Arc;

/// An entry as one of its copies states it.
pub struct StatedEntry {
    /// The entry.
    pub entry: Arc<Entry>,
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
pub fn settle(stated: &[StatedEntry], lines: &HashMap<Id, NamedLine>) -> Settled {
    let mut work = Work::new(stated, lines);
    work.run();
    while work.break_ring() {
        work.run();
    }
    work.void_rings();
    work.end()
}

struct Work<'a> {
    stated: &'a [StatedEntry],
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
    fn new(stated: &'a [StatedEntry], lines: &'a HashMap<Id, NamedLine>) -> Self {
        let mut work = Self {
            stated,
            lines,
            target: vec![None; stated.len()],
            sources: HashMap::default(),
            waiting: vec![0; stated.len()],
            state: stated.iter().map(|_| State::Pending).collect(),
            queue: Vec::new(),
            out: Settled::default(),
        };
        if stated.iter().any(|s| s.entry.kind.target().is_some()) {
            work.point();
        }
        let free = (0..stated.len()).filter(|at| work.waiting[*at] == 0);
        work.queue = free.collect();
        work
    }

    fn point(&mut self) {
        let each = self.stated.iter().enumerate();
        let by_id: HashMap<&Id, usize> = each.clone().map(|(at, s)| (&s.entry.id, at)).collect();
        for (at, stated) in each {
            let Some(of) = stated.entry.kind.target() else {
                continue;
            };
            let target = by_id.get(of).or_else(|| match self.lines.get(of) {
                Some(NamedLine::Bears(id)) => by_id.get(id),
                _ => None,
            });
            if let Some(&target) = target {
                self.target[at] = Some(target);
                self.sources.entry(target).or_default().push(at);
                self.waiting[target] += 1;
            }
        }
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
        let mut entry = Arc::clone(&self.stated[at].entry);
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
        let stated = &self.stated[at];
        self.out.faults.push(Fault {
            origin: stated.origin,
            id: Some(stated.entry.id.clone()),
            batch: None,
            wrong: FaultKind::Book(fault),
        });
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
        self.queue = (0..self.stated.len()).filter(withdrawn).collect();
        !self.queue.is_empty()
    }

    /// What is still pending points round in rings.
    fn void_rings(&mut self) {
        for at in 0..self.stated.len() {
            if !matches!(self.state[at], State::Pending) {
                continue;
            }
            self.state[at] = State::Gone;
            if let Some(of) = self.stated[at].entry.kind.target() {
                let of = of.clone();
                self.report(at, BookFault::Ring { of });
            }
        }
    }

    fn end(mut self) -> Settled {
        let states = std::mem::take(&mut self.state);
        for (at, state) in states.into_iter().enumerate() {
            let StatedEntry {
                entry: first,
                origin,
                wrong_crc,
            } = &self.stated[at];
            let (entry, amended, withdrawn) = match state {
                State::Stands { entry, amended } => (entry, amended, false),
                _ => (Arc::clone(first), false, true),
            };
            match *wrong_crc {
                true if amended || withdrawn => self.out.settled += 1,
                true => self.report(at, BookFault::WrongCrc),
                false => {}
            }
            if entry.kind.target().is_some() {
                self.out.corrections.push(Correction {
                    standing: Standing {
                        entry,
                        origin: *origin,
                        amended,
                    },
                    in_force: !withdrawn,
                });
            } else {
                let list = match withdrawn {
                    true => &mut self.out.withdrawn,
                    false => &mut self.out.standing,
                };
                list.push(Standing {
                    entry,
                    origin: *origin,
                    amended,
                });
            }
        }
        // Comparing dates takes time, so each is read once.
        self.out.standing.sort_by_cached_key(order);
        self.out.withdrawn.sort_by_cached_key(order);
        let by_time = |one: &Correction| order(&one.standing);
        self.out.corrections.sort_by_cached_key(by_time);
        self.out
    }
}

/// Fold order as a key: day, a bare date first, instant, offset, the turn in the day's work, id.
fn order(standing: &Standing) -> (NaiveDate, Option<(i64, u32, i32)>, u8, Id) {
    let at = standing.entry.at;
    let instant = match at {
        At::Day(_) => None,
        At::Time(time) => Some((
            time.timestamp(),
            time.timestamp_subsec_nanos(),
            time.offset().local_minus_utc(),
        )),
    };
    (
        at.day(),
        instant,
        standing.entry.turn(),
        standing.entry.id.clone(),
    )
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

impl Standing {
    /// Whether it is the very same entry: cheap when shared, by content otherwise.
    pub fn is_same(&self, other: &Self) -> bool {
        (Arc::ptr_eq(&self.entry, &other.entry) || self.entry == other.entry)
            && self.origin == other.origin
            && self.amended == other.amended
    }
}
