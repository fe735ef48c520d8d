//! Which clock tells the days to root better, the calendar's or the medium's degree-days: each replicate's median
//! day is told from the others of its kind by both, and the errors compared. It claims no cause.

use super::lived::{PlaceAirs, base_of, kind};
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::fold::intervals::{IntervalStatus, MilestoneAccount};
use crate::fold::past::{last_day, stays};
use crate::fold::selection::{Selection, select};
use crate::stats::association::{Paired, paired};
use crate::stats::bootstrap::Resampling;
use chrono::{Days, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};

/// Days without a reading of the medium that are bridged by the mean of the days on either side.
pub const BRIDGED: usize = 7;
/// Fewest cuttings that reached the milestone for a median.
pub const FEWEST_REACHED: f64 = 5.0;
/// Fewest replicates of a kind: two others to tell each from.
pub const FEWEST_OF_A_KIND: usize = 3;
/// Level of a verdict.
const LEVEL: f64 = 0.05;

/// What is asked: which batches, and how they are resampled.
#[derive(Clone, Debug)]
pub struct ClockQuestion {
    /// The batches meant.
    pub question: Selection,
    /// The milestone.
    pub milestone: Milestone,
    /// Base of the degree-days in °C; else each taxon's, else the usual.
    pub base: Option<f64>,
    /// Resamples, seed and level.
    pub how: Resampling,
    /// Draws of signs.
    pub draws: usize,
}

/// What the figures support.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockVerdict {
    /// Days err less.
    Days,
    /// Degree-days err less.
    DegreeDays,
    /// Neither clock is better for certain.
    Undecided,
    /// Too few to say either.
    TooFew,
}

impl ClockVerdict {
    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Days => "days",
            Self::DegreeDays => "degree-days",
            Self::Undecided => "undecided",
            Self::TooFew => "too-few",
        }
    }
}

/// The answer.
#[derive(Clone, Debug)]
pub struct ClockComparison {
    /// How many replicates were predicted from others, and of how many kinds.
    pub replicates: usize,
    /// Taxa by wood stage.
    pub kinds: usize,
    /// Replicates with a median but too few readings of the medium up to it.
    pub unread: usize,
    /// Mean absolute error of the calendar, days.
    pub days_error: Option<f64>,
    /// That of the degree-days, turned back into days.
    pub degree_days_error: Option<f64>,
    /// Error of days less that of degree-days: above 0 the medium's clock is the better.
    pub difference: Option<Paired>,
    /// The verdict.
    pub verdict: ClockVerdict,
}

/// A replicate: its median day, and the degree-days run up by the end of each day since sticking.
struct Run {
    median: f64,
    sums: Vec<f64>,
}

/// Compares the clocks.
#[must_use]
pub fn clocks(airs: &mut PlaceAirs<'_>, ask: &ClockQuestion) -> ClockComparison {
    let book = airs.book();
    let (counted, _) = select(book, &ask.question);
    let mut kinds: BTreeMap<String, Vec<Run>> = BTreeMap::new();
    let mut unread = 0;
    // One batch stands for its replicate: the first with a median.
    let mut told = BTreeSet::new();
    for one in &counted {
        let Some(median) = median(one.account.milestone(ask.milestone)) else {
            continue;
        };
        if !told.insert(one.replicate) {
            continue;
        }
        match run(airs, one.batch, median, ask.base) {
            Some(run) => kinds.entry(kind(book, one.batch)).or_default().push(run),
            None => unread += 1,
        }
    }
    kinds.retain(|_, runs| runs.len() >= FEWEST_OF_A_KIND);
    let errors: Vec<(f64, f64)> = kinds.values().flat_map(|runs| left_out(runs)).collect();
    let mean = |of: &dyn Fn(&(f64, f64)) -> f64| {
        let count = errors.len() as f64;
        (count > 0.0).then(|| errors.iter().map(of).sum::<f64>() / count)
    };
    let differences: Vec<f64> = errors.iter().map(|(days, warm)| days - warm).collect();
    let difference = paired(&differences, &ask.how, ask.draws);
    ClockComparison {
        replicates: errors.len(),
        kinds: kinds.len(),
        unread,
        days_error: mean(&|it| it.0),
        degree_days_error: mean(&|it| it.1),
        difference,
        verdict: verdict(difference.as_ref()),
    }
}

/// The first that holds: too few if no p could be small enough; the clock with the smaller error if p is at most
/// 0.05 and the interval excludes 0; else undecided.
fn verdict(difference: Option<&Paired>) -> ClockVerdict {
    let Some(it) = difference.filter(|it| it.smallest_p <= LEVEL) else {
        return ClockVerdict::TooFew;
    };
    let clear = it
        .interval
        .is_some_and(|ends| ends.low > 0.0 || ends.high < 0.0);
    match (it.p <= LEVEL && clear, it.mean > 0.0) {
        (false, _) => ClockVerdict::Undecided,
        (true, true) => ClockVerdict::DegreeDays,
        (true, false) => ClockVerdict::Days,
    }
}

/// The day by which half of those that reached it had, a straight line inside its interval; none under
/// [`FEWEST_REACHED`] cuttings.
fn median(account: &MilestoneAccount) -> Option<f64> {
    let reached = || {
        account
            .pieces
            .iter()
            .filter(|p| p.status == IntervalStatus::Reached)
    };
    let total: f64 = reached().map(|piece| piece.weight).sum();
    if total < FEWEST_REACHED {
        return None;
    }
    // The pieces of one batch lie one after the other.
    let mut sorted: Vec<_> = reached().collect();
    sorted.sort_by_key(|piece| (piece.right, piece.left));
    let mut sum = 0.0;
    for piece in sorted {
        let (left, right) = (f64::from(piece.left), f64::from(piece.right?));
        if sum + piece.weight >= 0.5 * total {
            let part = (0.5 * total - sum) / piece.weight;
            return Some(left + (right - left) * part);
        }
        sum += piece.weight;
    }
    None
}

/// The degree-days of a batch up to its median and as long after as they are known; none if they are not known up
/// to the median.
fn run(airs: &mut PlaceAirs<'_>, batch: &Batch, median: f64, base: Option<f64>) -> Option<Run> {
    let sums = sums(airs, batch, base_of(airs.book(), batch, base));
    (sums.len() as f64 >= median.ceil()).then_some(Run { median, sums })
}

/// Degree-days run up by the end of each day of a stay, up to the first gap that is too long to bridge.
fn sums(airs: &mut PlaceAirs<'_>, batch: &Batch, base: f64) -> Vec<f64> {
    let last = last_day(batch, batch.last_day());
    let mut known: BTreeMap<NaiveDate, f64> = BTreeMap::new();
    for stretch in stays(airs.book(), batch, last) {
        let Some(place) = &stretch.place else {
            continue;
        };
        let days = super::lived::within(airs.warm(place, base), &stretch, |warm| warm.day);
        known.extend(days.iter().map(|warm| (warm.day, warm.degree_days)));
    }
    let (mut out, mut sum) = (Vec::new(), 0.0);
    let mut before: Option<f64> = None;
    let mut day = batch.stuck_on + Days::new(1);
    while day <= last {
        let ahead = known.range(day..).next().map(|(on, value)| (*on, *value));
        let Some((on, value)) = ahead else { break };
        let gap = usize::try_from((on - day).num_days()).unwrap_or(usize::MAX);
        if gap > BRIDGED {
            break;
        }
        let between = before.map_or(value, |held| 0.5 * (held + value));
        for _ in 0..gap {
            sum += between;
            out.push(sum);
        }
        sum += value;
        out.push(sum);
        before = Some(value);
        day = on + Days::new(1);
    }
    out
}

impl Run {
    /// Degree-days by a day and part of a day.
    fn by(&self, day: f64) -> f64 {
        let whole = day.max(0.0).floor();
        let at = |n: f64| match n as usize {
            0 => 0.0,
            n => self
                .sums
                .get(n - 1)
                .or(self.sums.last())
                .copied()
                .unwrap_or(0.0),
        };
        at(whole) + (at(whole + 1.0) - at(whole)) * (day - whole)
    }

    /// The day by which so many degree-days were run up; beyond what is known, at the mean rate so far.
    fn day_of(&self, wanted: f64) -> f64 {
        let at = self.sums.partition_point(|sum| *sum < wanted);
        let before = at.checked_sub(1).map_or(0.0, |at| self.sums[at]);
        match self.sums.get(at) {
            Some(sum) if *sum > before => at as f64 + (wanted - before) / (sum - before),
            Some(_) => at as f64 + 1.0,
            None => {
                let rate = before / (at as f64).max(1.0);
                // A medium that never warmed gives no rate: the day is then not before the last.
                at as f64
                    + if rate > 0.0 {
                        (wanted - before) / rate
                    } else {
                        0.0
                    }
            }
        }
    }
}

/// Absolute errors of both clocks in days, each replicate predicted by the mean of the others.
fn left_out(runs: &[Run]) -> Vec<(f64, f64)> {
    let others = (runs.len() - 1) as f64;
    let days: f64 = runs.iter().map(|run| run.median).sum();
    let warm: Vec<f64> = runs.iter().map(|run| run.by(run.median)).collect();
    let sum: f64 = warm.iter().sum();
    runs.iter()
        .zip(&warm)
        .map(|(run, own)| {
            let by_days = (days - run.median) / others;
            let by_warmth = run.day_of((sum - own) / others);
            ((by_days - run.median).abs(), (by_warmth - run.median).abs())
        })
        .collect()
}
