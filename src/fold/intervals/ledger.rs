//! The accounting of one batch for one milestone, step by step. It knows no entry and no date.
//!
//! E ever reached, of them D lost, P potted, G discarded; the other `remain` are on the bench.

use super::account::{CRUMB, MilestoneAccount, WeightedInterval};
use super::level::ReachedTotal;
use crate::fold::batch::Milestone;

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

/// A spoken guess weighs like so many cuttings seen.
const GUESS_WEIGHT: f64 = 4.0;

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
    began: f64,
    remain: f64,
    /// E, look by look.
    level: ReachedTotal,
    /// On the last day on which an earlier stage was seen on the bench: the day, and how many of those are still there
    /// for certain.
    held_back: (u32, f64),
    /// D + P + G: reached, and no longer on the bench.
    gone: f64,
    /// Lost since the milestone was last examined, oldest first.
    pending: Vec<WeightedInterval>,
    settled: Vec<WeightedInterval>,
    looks: Days,
    exams: Exams,
    /// The days of exact counts, in order.
    counted_on: Vec<u32>,
    off: Off,
}

impl MilestoneLedger {
    /// Begins with `stuck` cuttings of which none has reached the milestone.
    pub(super) fn new(milestone: Milestone, stuck: u32) -> Self {
        Self {
            milestone,
            began: f64::from(stuck),
            remain: f64::from(stuck),
            level: ReachedTotal::default(),
            held_back: (0, 0.0),
            gone: 0.0,
            pending: Vec::new(),
            settled: Vec::new(),
            looks: Days::default(),
            exams: Exams::default(),
            counted_on: Vec::new(),
            off: Off::default(),
        }
    }

    /// How many on the bench have reached the milestone, as far as is known: losses that are not settled yet are taken
    /// from the others first.
    fn reached_on_bench(&self) -> f64 {
        (self.level.now() - self.gone).clamp(0.0, self.remain)
    }

    /// `count` found dead or cleared away on `day`; whether they had reached the milestone is settled at the next
    /// exact count.
    pub(super) fn lose(&mut self, day: u32, count: u32) {
        let weight = f64::from(count);
        self.pending
            .push(WeightedInterval::lost(self.looks.before(day), day, weight));
        self.leave(weight);
        self.off.ended += weight;
    }

    /// `count` potted on `day`, the furthest first.
    pub(super) fn pot(&mut self, day: u32, count: u32) {
        let count = f64::from(count);
        let known = match self.milestone.implied_by_potting() {
            true => count,
            false => self.reached_on_bench().min(count),
        };
        if count - known > CRUMB {
            self.settled
                .push(WeightedInterval::not_yet(day, count - known));
        }
        self.take_away(day, known);
        self.leave(count);
        self.off.ended += count;
    }

    /// `count` discarded alive on `day`, the least advanced first.
    pub(super) fn discard(&mut self, day: u32, count: u32) {
        let count = f64::from(count);
        let waiting = (self.remain - self.reached_on_bench()).min(count);
        self.take_away(day, count - waiting);
        self.settled.push(WeightedInterval::not_yet(day, waiting));
        self.off.waiting += waiting;
        self.leave(count);
    }

    /// Takes off `count` cuttings that have reached the milestone.
    fn take_away(&mut self, day: u32, count: f64) {
        self.gone += count;
        if count > CRUMB {
            let between = (self.exams.days.before(day), day);
            self.level.at_least(between, self.gone);
        }
    }

    fn leave(&mut self, count: f64) {
        self.remain -= count;
        self.held_back.1 = (self.held_back.1 - count).max(0.0);
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
            held_back: (0, 0.0),
            gone: 0.0,
            pending: Vec::new(),
            settled: Vec::new(),
            off: Off::default(),
            ..self.clone()
        };
        self.began -= count;
        self.leave(count);
        part
    }

    /// The milestone is examined. A look at all that remain counts exactly; another only estimates.
    pub(super) fn examine(&mut self, exam: &Examined) {
        let seen = f64::from(exam.seen);
        let share = f64::from(exam.count.min(exam.seen)) / seen;
        let on_bench = self.remain * share;
        let between = (self.exams.days.before(exam.day), exam.day);
        let whole = seen >= self.remain - CRUMB && !exam.guessed;
        if whole {
            self.count(between, on_bench);
        } else {
            let weight = if exam.guessed { GUESS_WEIGHT } else { seen };
            self.level.estimate(between, on_bench + self.gone, weight);
        }
        self.exams.days.mark(exam.day);
        self.exams = Exams {
            any: true,
            seen,
            ..self.exams
        };
    }

    /// Takes in an exact count: `on_bench` of all that remain have reached the milestone.
    fn count(&mut self, between: (u32, u32), on_bench: f64) {
        let certain = self.level.certain();
        self.settle((certain - self.gone - on_bench).max(0.0));
        let counted = on_bench + self.gone;
        self.level.count(between, counted);
        self.counted_on.push(between.1);
    }

    /// A later milestone was counted: so many on the bench have this one behind them too. It says nothing of the others,
    /// so it is no examination, and nothing at all of a milestone that nobody looks at.
    pub(super) fn is_implied(&mut self, day: u32, later: &Examined) {
        let seen = f64::from(later.seen);
        let whole = seen >= self.remain - CRUMB && !later.guessed;
        let total = self.gone + self.remain * f64::from(later.count.min(later.seen)) / seen;
        if self.exams.any && whole && total > self.level.now() + CRUMB {
            let between = (self.exams.days.before(day), day);
            self.level.at_least(between, total);
        }
    }

    /// `count` on the bench were seen on `day` not to have reached an earlier milestone, nor this one.
    pub(super) fn hold_back(&mut self, day: u32, count: u32) {
        let count = f64::from(count);
        let most = self.gone + self.remain - count;
        self.level.at_most(day, most);
        self.held_back = (day, count);
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

    /// Closes the account: losses never followed by an exact count took the others first, and all that is left waits
    /// from the last examination on. When nothing remains, what became of all is known: that is an exact count too.
    pub(super) fn close(mut self) -> MilestoneAccount {
        if self.remain < CRUMB {
            let day = self.exams.days.last;
            self.settle((self.level.certain() - self.gone).max(0.0));
            self.level.count((day, day), self.gone);
        } else {
            let forced = self.level.now() - self.gone - self.remain;
            self.settle(forced.max(0.0));
        }
        let reached = self.level.now();
        let gains = self.level.gains();
        let at_sticking = gains.iter().filter(|((_, by), _)| *by == 0);
        let at_sticking: f64 = at_sticking.map(|(_, weight)| weight).sum();
        // What had it at sticking is put in the first day, so that look tells of the first day's end.
        let examined = self.exams.days.last.max(u32::from(at_sticking > 0.0));
        let mut pieces: Vec<WeightedInterval> = gains
            .into_iter()
            .map(|((after, by), weight)| WeightedInterval::reached(after, by, weight))
            .collect();
        pieces.append(&mut self.settled);
        let taken: f64 = pieces.iter().map(|piece| piece.weight).sum();
        let watched = (self.began - taken).max(0.0);
        let (day, held_back) = self.held_back;
        let held_back = if day > examined { held_back } else { 0.0 };
        let later = held_back.min(watched);
        pieces.push(WeightedInterval::not_yet(day, later));
        pieces.push(WeightedInterval::not_yet(examined, watched - later));
        pieces.retain(|piece| piece.weight > CRUMB);
        MilestoneAccount {
            reached,
            watched,
            counted: (self.exams.seen + self.off.ended).min(self.began - self.off.waiting),
            examined: self.exams.any || reached > 0.0,
            at_sticking,
            counted_on: self.counted_on,
            pieces: merged(pieces),
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
