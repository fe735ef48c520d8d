//! Judges forecasts by batches whose end is known: how often intervals held, and scores beside plain rivals. It
//! makes no journal.

use chrono::NaiveDate;
use struck::book::Book;
use struck::book::batch::Batch;
use struck::book::forecast::{Forecast, Model};
use struck::book::id::Id;
use struck::book::intervals::{Account, Status, accounts};
use struck::book::milestone::Milestone;
use struck::figures::betabin::BetaBinomial;
use struck::figures::betafit::{Cluster, common_rho};
use struck::figures::crps;
use struck::figures::discrete::Discrete;

/// How the intervals of one kind fared.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tally {
    /// Forecasts judged.
    pub of: f64,
    /// Chance that the 50 % and the 80 % intervals claim, summed: a count cannot be cut finer than one.
    pub claimed: [f64; 2],
    /// How often they held.
    pub held: [f64; 2],
    /// Scores of the forecast, the taxon's mean, the pooled mean, summed.
    pub scores: [f64; 3],
    /// Sum of squares of the difference from each rival, for its error.
    pub squares: [f64; 2],
}

impl Tally {
    fn add(&mut self, claimed: [f64; 2], held: [f64; 2], scores: [f64; 3]) {
        self.of += 1.0;
        for at in 0..2 {
            self.claimed[at] += claimed[at];
            self.held[at] += held[at];
            self.squares[at] += (scores[at + 1] - scores[0]).powi(2);
        }
        let sums = self.scores.iter_mut().zip(scores);
        sums.for_each(|(sum, score)| *sum += score);
    }

    pub fn plus(&mut self, other: &Self) {
        self.of += other.of;
        for at in 0..2 {
            self.claimed[at] += other.claimed[at];
            self.held[at] += other.held[at];
            self.squares[at] += other.squares[at];
        }
        let sums = self.scores.iter_mut().zip(other.scores);
        sums.for_each(|(sum, score)| *sum += score);
    }

    /// By how many standard errors the intervals held more often than claimed.
    pub fn off(&self, at: usize) -> f64 {
        let claimed = self.claimed[at] / self.of;
        (self.held[at] - self.claimed[at]) / (self.of * claimed * (1.0 - claimed)).sqrt().max(1e-9)
    }
}

/// Counts, and days half rooted, as of one part of the looks.
#[derive(Clone, Copy, Debug, Default)]
pub struct Judged {
    pub counts: Tally,
    pub days: Tally,
}

/// What became of a batch.
struct End<'a> {
    batch: &'a Batch,
    reached: usize,
    of: u32,
    half: Option<Half>,
}

/// The day by which half of those that rooted had: known between two looks, with a straight line inside.
#[derive(Clone, Copy, Debug)]
struct Half {
    after: f64,
    by: f64,
    at: f64,
}

/// The parts of a batch's looks that forecasts are judged at.
pub const PARTS: [f64; 3] = [0.25, 0.5, 0.75];

fn half(account: &Account) -> Option<Half> {
    let root = account.of(Milestone::Root);
    let mut sum = 0.0;
    let reached = root.pieces.iter().filter(|p| p.status == Status::Reached);
    for piece in reached {
        if sum + piece.weight >= 0.5 * root.reached - 1e-9 {
            let part = (0.5 * root.reached - sum) / piece.weight;
            let (after, by) = (f64::from(piece.left), f64::from(piece.right?));
            let at = after + part * (by - after);
            return Some(Half { after, by, at });
        }
        sum += piece.weight;
    }
    None
}

fn ends(book: &Book) -> Vec<End<'_>> {
    let batches: Vec<&Batch> = book.batches().iter().map(AsRef::as_ref).collect();
    let each = batches.iter().zip(accounts(&batches, None));
    each.filter(|(batch, account)| {
        let counts = batch.stick.aside.is_none() && batch.stick.again.is_none();
        counts && account.is_closed() && account.stuck > 0 && batch.inspections.len() > 2
    })
    .map(|(batch, account)| End {
        batch,
        reached: account.of(Milestone::Root).reached.round() as usize,
        of: account.stuck,
        half: half(&account),
    })
    .collect()
}

/// The rivals: a beta-binomial of the taxon's mean and of the pooled mean, cut to what is still possible.
struct Rivals {
    rho: f64,
    pooled: f64,
}

impl Rivals {
    fn learn(ends: &[End<'_>], but: usize) -> Self {
        let mut groups: std::collections::BTreeMap<String, Vec<Cluster>> = Default::default();
        for (_, end) in others(ends, but) {
            let cluster = Cluster {
                reached: (end.reached as u32).min(end.of),
                of: end.of,
            };
            groups
                .entry(end.batch.taxon.key())
                .or_default()
                .push(cluster);
        }
        let groups: Vec<Vec<Cluster>> = groups.into_values().collect();
        Self {
            rho: common_rho(&groups).unwrap_or(0.05),
            pooled: mean(others(ends, but).map(|(_, end)| end)).unwrap_or(0.6),
        }
    }

    fn counts(&self, mean: f64, end: &End<'_>, now: &Forecast) -> Discrete {
        let free = BetaBinomial::new(mean, self.rho).unwrap().counts(end.of);
        let (least, most) = (
            now.rooted.floor() as usize,
            (now.rooted + now.waiting).ceil() as usize,
        );
        let cut = |(n, w): (usize, &f64)| if (least..=most).contains(&n) { *w } else { 0.0 };
        let weights: Vec<f64> = free.chances().iter().enumerate().map(cut).collect();
        Discrete::from_weights(weights).unwrap_or_else(|| Discrete::certain(most))
    }
}

fn others<'a>(ends: &'a [End<'a>], but: usize) -> impl Iterator<Item = (usize, &'a End<'a>)> {
    ends.iter().enumerate().filter(move |(at, _)| *at != but)
}

fn mean<'a>(ends: impl Iterator<Item = &'a End<'a>>) -> Option<f64> {
    let (x, n) = ends.fold((0.0, 0.0), |(x, n), end| {
        (x + end.reached as f64, n + f64::from(end.of))
    });
    (n > 0.0).then(|| x / n)
}

/// Judges every `step`-th closed batch, each left out while learning, as of each part of its looks.
pub fn left_out(book: &Book, step: usize) -> [Judged; 3] {
    let ends = ends(book);
    let asked: Vec<usize> = (0..ends.len()).step_by(step).collect();
    let mut out = [Judged::default(); 3];
    std::thread::scope(|scope| {
        let ends = &ends;
        let parts = asked.chunks(asked.len().div_ceil(HANDS).max(1));
        let hands: Vec<_> = parts
            .map(|part| {
                scope.spawn(move || {
                    part.iter()
                        .map(|&at| one(book, ends, at))
                        .collect::<Vec<_>>()
                })
            })
            .collect();
        for judged in hands.into_iter().flat_map(|hand| hand.join().unwrap()) {
            for (sum, judged) in out.iter_mut().zip(&judged) {
                sum.counts.plus(&judged.counts);
                sum.days.plus(&judged.days);
            }
        }
    });
    out
}

/// Threads that share the work.
const HANDS: usize = 8;

/// Judges one batch, left out while learning.
fn one(book: &Book, ends: &[End<'_>], at: usize) -> [Judged; 3] {
    let end = &ends[at];
    let all: Vec<&Batch> = book.batches().iter().map(AsRef::as_ref).collect();
    let last = NaiveDate::from_ymd_opt(2100, 1, 1).unwrap();
    let mut out = [Judged::default(); 3];
    // A part goes with its parent: they share what is known.
    let kin: Vec<&Id> = all
        .iter()
        .filter(|b| {
            b.key == end.batch.key
                || b.parent.as_ref() == Some(&end.batch.key)
                || end.batch.parent.as_ref() == Some(&b.key)
        })
        .map(|b| &b.key)
        .collect();
    let model = Model::learn(book, last, &kin);
    let rivals = Rivals::learn(ends, at);
    let same = |e: &&End<'_>| e.batch.taxon.key() == end.batch.taxon.key();
    let taxon = mean(others(ends, at).map(|(_, e)| e).filter(same)).unwrap_or(rivals.pooled);
    let days = |of: &dyn Fn(&End<'_>) -> bool| -> Vec<f64> {
        let each = others(ends, at).map(|(_, e)| e).filter(|e| of(e));
        each.filter_map(|e| Some(e.half?.at)).collect()
    };
    for (part, judged) in PARTS.iter().zip(&mut out) {
        let looks = &end.batch.inspections;
        let seen = ((part * looks.len() as f64).round() as usize).clamp(1, looks.len() - 1);
        let on = looks[seen - 1].day;
        let place = all.iter().position(|b| b.key == end.batch.key).unwrap();
        let account = &accounts(&all, Some(on))[place];
        if account.is_closed() || account.stuck != end.of {
            continue;
        }
        let now = model.forecast_left_out(end.batch, account, on);
        let others = [taxon, rivals.pooled].map(|mean| rivals.counts(mean, end, &now));
        judge_count(&mut judged.counts, &now, end, &others);
        let own = days(&|e| e.batch.taxon.key() == end.batch.taxon.key());
        judge_days(&mut judged.days, &now, end, [own, days(&|_| true)]);
    }
    out
}

fn judge_count(tally: &mut Tally, now: &Forecast, end: &End<'_>, rivals: &[Discrete; 2]) {
    let ranges = [0.5, 0.8].map(|chance| now.count_range(chance));
    let claimed = ranges.map(|(low, high)| now.at_least(low) - now.at_least(high + 1));
    let held = ranges.map(|(low, high)| f64::from(u8::from((low..=high).contains(&end.reached))));
    let [taxon, pooled] = [0, 1].map(|at| crps::of_counts(&rivals[at], end.reached));
    tally.add(
        claimed,
        held,
        [crps::of_counts(&now.count, end.reached), taxon, pooled],
    );
}

/// Days are judged while half rooted is still to come. The day is known only between two looks, so an interval holds
/// in part: by the share of the forecast's own chance between them that lies inside it, which averages to what is claimed
/// if forecasts are true (the probability integral transform of a value known to an interval: Czado, Gneiting & Held 2009,
/// *Biometrics* 65:1254).
fn judge_days(tally: &mut Tally, now: &Forecast, end: &End<'_>, rivals: [Vec<f64>; 2]) {
    let (Some(half), Some(when)) = (end.half, &now.half) else {
        return;
    };
    if now.rooted >= 0.5 * end.reached as f64 || end.reached < 4 {
        return;
    }
    let [taxon, pooled] = rivals.map(|sample| crps::of_sample(&sample, half.at));
    let (Some(own), Some(pooled)) = (crps::of_sample(&when.draws, half.at), pooled) else {
        return;
    };
    let (low, high) = (when.by(half.after), when.by(half.by));
    let held = [0.25, 0.1].map(|tail: f64| {
        let inside = (high.min(1.0 - tail) - low.max(tail)).max(0.0);
        if high > low {
            inside / (high - low)
        } else {
            f64::from(u8::from(tail <= low && low <= 1.0 - tail))
        }
    });
    tally.add([0.5, 0.8], held, [own, taxon.unwrap_or(pooled), pooled]);
}

/// Forecasts made on a day from what was written by then, judged by what came: open batches then, closed since.
pub fn on_day(book: &Book, on: NaiveDate) -> Judged {
    let ends = ends(book);
    let model = Model::learn(book, on, &[]);
    let made = model.forecasts(book);
    let mut judged = Judged::default();
    for now in &made.batches {
        let Some(end) = ends
            .iter()
            .find(|end| end.batch.key == now.key && end.of == now.stuck)
        else {
            continue;
        };
        let none = [0, 1].map(|_| Discrete::certain(end.reached));
        judge_count(&mut judged.counts, now, end, &none);
        judge_days(&mut judged.days, now, end, [0, 1].map(|_| vec![0.0]));
    }
    judged
}
