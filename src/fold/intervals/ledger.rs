//! The accounting of one batch for one milestone, step by step. It knows no entry and no date.
//!
//! E ever reached, of them D lost, P potted, G discarded; the other `remain` are on the bench.

use super::account::{Backwards, MilestoneAccount, WeightedInterval};
use super::level::{Fall, Level};
use crate::fold::batch::Milestone;

/// What is told from sums of fractions is nothing below this.
const CRUMB: f64 = 1e-9;

/// The last day of some kind and the one before it: what happens on a day came after the last
/// such day before that day.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Days {
    last: u32,
    earlier: u32,
}

impl Days {
    fn before(self, day: u32) -> u32 {
        if self.last < day {
            self.last
        } else {
            self.earlier
        }
    }

    fn mark(&mut self, day: u32) {
        if day > self.last {
            *self = Self {
                last: day,
                earlier: self.last,
            };
        }
    }
}

/// An examination of the milestone: `count` at or past it among `seen` of all that remained.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Examined {
    pub(super) day: u32,
    pub(super) count: u32,
    pub(super) seen: u32,
    /// Read from spoken guesses.
    pub(super) guessed: bool,
}

/// The examinations so far.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Exams {
    days: Days,
    any: bool,
    /// Whether the last one saw all that remained, and counted.
    whole: bool,
    /// How many the last one saw.
    seen: f64,
}

/// How many have left the bench.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Off {
    /// Potted, lost or cleared away: their end was seen.
    ended: f64,
    /// Discarded alive while they waited.
    waiting: f64,
}

/// The running account.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct MilestoneLedger {
    milestone: Milestone,
    /// Whether falls are pooled, since some look saw only a part of the batch.
    pub(super) fall: Fall,
    began: f64,
    remain: f64,
    /// E, look by look.
    level: Level,
    /// D + P + G: reached, and no longer on the bench.
    gone: f64,
    /// Lost since the milestone was last examined, oldest first.
    pending: Vec<WeightedInterval>,
    settled: Vec<WeightedInterval>,
    looks: Days,
    exams: Exams,
    off: Off,
    backwards: Vec<Backwards>,
}

impl MilestoneLedger {
    /// Begins with `stuck` cuttings of which none has reached the milestone.
    pub(super) fn new(milestone: Milestone, stuck: u32) -> Self {
        Self {
            milestone,
            fall: Fall::Kept,
            began: f64::from(stuck),
            remain: f64::from(stuck),
            level: Level::default(),
            gone: 0.0,
            pending: Vec::new(),
            settled: Vec::new(),
            looks: Days::default(),
            exams: Exams::default(),
            off: Off::default(),
            backwards: Vec::new(),
        }
    }

    /// Those on the bench that have reached it, as far as is known: losses not yet settled took
    /// the others first.
    fn reached_on_bench(&self) -> f64 {
        (self.level.now() - self.gone).clamp(0.0, self.remain)
    }

    /// `count` found dead or cleared away on `day`; whether they had reached the milestone is settled when it
    /// is next examined.
    pub(super) fn lose(&mut self, day: u32, count: u32) {
        let weight = f64::from(count);
        self.pending
            .push(WeightedInterval::lost(self.looks.before(day), day, weight));
        self.remain -= weight;
        self.off.ended += weight;
    }

    /// `count` potted on `day`, the furthest first.
    pub(super) fn pot(&mut self, day: u32, count: u32) {
        let count = f64::from(count);
        let known = self.reached_on_bench().min(count);
        let rest = count - known;
        self.gone += known;
        if rest > CRUMB && self.milestone.implied_by_potting() {
            let between = (self.exams.days.before(day), day);
            let total = self.level.now() + rest;
            self.level.push(between, total, count, self.fall);
            self.gone += rest;
        } else if rest > CRUMB {
            self.settled.push(WeightedInterval::not_yet(day, rest));
        }
        self.remain -= count;
        self.off.ended += count;
    }

    /// `count` discarded alive on `day`, the least advanced first.
    pub(super) fn discard(&mut self, day: u32, count: u32) {
        let count = f64::from(count);
        let waiting = (self.remain - self.reached_on_bench()).min(count);
        self.gone += count - waiting;
        self.settled.push(WeightedInterval::not_yet(day, waiting));
        self.off.waiting += waiting;
        self.remain -= count;
    }

    /// A part of `count` leaves, `reached` of them past the milestone as the fold has it. The part
    /// takes its share of every day on which the milestone was reached, so that nothing is
    /// counted twice, and waits from the same examination on.
    pub(super) fn part(&mut self, count: u32, reached: u32) -> Self {
        let count = f64::from(count);
        let on_bench = self.reached_on_bench();
        let waiting = self.remain - on_bench;
        let most = on_bench.min(count);
        let least = (count - waiting).clamp(0.0, most);
        let reached = f64::from(reached).clamp(least, most);
        let ever = self.level.now();
        let share = if ever > 0.0 { reached / ever } else { 0.0 };
        let part = Self {
            began: count,
            remain: count,
            level: self.level.part(share),
            gone: 0.0,
            pending: Vec::new(),
            settled: Vec::new(),
            off: Off::default(),
            backwards: Vec::new(),
            ..self.clone()
        };
        self.began -= count;
        self.remain -= count;
        part
    }

    /// The milestone is examined.
    pub(super) fn examine(&mut self, exam: &Examined) {
        let seen = f64::from(exam.seen);
        let share = f64::from(exam.count.min(exam.seen)) / seen;
        let on_bench = self.remain * share;
        let missing = (self.level.now() - self.gone - on_bench).max(0.0);
        self.settle(missing);
        let whole = seen >= self.remain - CRUMB && !exam.guessed;
        let counted = on_bench + self.gone;
        if self.level.now() > counted + CRUMB && whole && self.exams.whole {
            self.backwards.push(Backwards {
                day: exam.day,
                expected: self.level.now() - self.gone,
                seen: on_bench,
            });
        }
        let between = (self.exams.days.before(exam.day), exam.day);
        self.level.push(between, counted, seen, self.fall);
        self.exams.days.mark(exam.day);
        self.exams = Exams {
            any: true,
            whole,
            seen,
            ..self.exams
        };
    }

    /// Any look: what is found dead later died later.
    pub(super) fn look(&mut self, day: u32) {
        self.looks.mark(day);
    }

    /// Settles the losses: the latest of them had reached the milestone, as many as are missing;
    /// the others were lost first.
    fn settle(&mut self, missing: f64) {
        let mut missing = missing;
        while let Some(mut loss) = self.pending.pop() {
            let late = missing.min(loss.weight);
            missing -= late;
            self.gone += late;
            loss.weight -= late;
            self.settled.push(loss);
        }
    }

    /// Closes the account: losses never followed by an examination took the others first, and
    /// all that is left waits from the last examination on.
    pub(super) fn close(mut self) -> MilestoneAccount {
        let forced = self.level.now() - self.gone - self.remain;
        self.settle(forced.max(0.0));
        let reached = self.level.now();
        let gains = self.level.gains();
        let at_sticking = gains.iter().filter(|(_, right, _)| *right == 0);
        let at_sticking: f64 = at_sticking.map(|(_, _, weight)| weight).sum();
        // What had it at sticking is put in the first day, so that look tells of the first day's end.
        let examined = self.exams.days.last.max(u32::from(at_sticking > 0.0));
        let mut pieces: Vec<WeightedInterval> = gains
            .into_iter()
            .map(|(left, right, weight)| WeightedInterval::reached(left, right, weight))
            .collect();
        pieces.append(&mut self.settled);
        let taken: f64 = pieces.iter().map(|piece| piece.weight).sum();
        let watched = (self.began - taken).max(0.0);
        pieces.push(WeightedInterval::not_yet(examined, watched));
        pieces.retain(|piece| piece.weight > CRUMB);
        MilestoneAccount {
            reached,
            watched,
            counted: (self.exams.seen + self.off.ended).min(self.began - self.off.waiting),
            examined: self.exams.any || reached > 0.0,
            at_sticking,
            pieces: merged(pieces),
            backwards: self.backwards,
        }
    }
}

/// Pieces in order of time and status, like ones joined.
fn merged(mut pieces: Vec<WeightedInterval>) -> Vec<WeightedInterval> {
    pieces.sort_by_key(|piece| (piece.status, piece.left, piece.right));
    pieces.dedup_by(|piece, before| {
        let like =
            (piece.status, piece.left, piece.right) == (before.status, before.left, before.right);
        if like {
            before.weight += piece.weight;
        }
        like
    });
    pieces
}
