//! Judges forecasts by batches whose end is known: how often intervals held, and scores beside plain rivals. It
//! makes no journal.

use crate::crps;
use crate::rows::Row;
use chrono::NaiveDate;
use struck::analysis::expect::model::BatchState;
use struck::analysis::expect::{Forecast, Model};
use struck::analysis::forecast::forecasts;
use struck::fold::Book;
use struck::fold::batch::Batch;
use struck::fold::batch::Milestone;
use struck::fold::intervals::{Account, IntervalStatus, accounts};
use struck::model::id::Id;
use struck::stats::clusters::{Cluster, common_rho};
use struck::stats::counts::BetaBinomial;
use struck::stats::counts::Discrete;
use struck::stats::workers::share_out;

/// How the intervals of one kind fared.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tally {
    /// Forecasts judged.
    pub of: f64,
    /// Chance that the intervals of [`CHANCES`] claim, summed: a count cannot be cut finer than one.
    pub claimed: [f64; 3],
    /// How often they held.
    pub held: [f64; 3],
    /// Scores of the forecast, the taxon's mean, the pooled mean, summed.
    pub scores: [f64; 3],
    /// Sum of squares over batches, or journals, of how much more each held than was claimed: they share a fate.
    pub squares: [f64; 3],
}

impl Tally {
    fn add(&mut self, claimed: [f64; 3], held: [f64; 3], scores: [f64; 3]) {
        self.plus(&Self {
            of: 1.0,
            claimed,
            held,
            scores,
            squares: [0.0; 3],
        });
    }

    /// Takes what was added so far as the forecasts of one batch, or one journal.
    fn closed(mut self) -> Self {
        self.squares = [0, 1, 2].map(|at| (self.held[at] - self.claimed[at]).powi(2));
        self
    }

    pub fn plus(&mut self, other: &Self) {
        self.of += other.of;
        for at in 0..3 {
            self.claimed[at] += other.claimed[at];
            self.held[at] += other.held[at];
            self.squares[at] += other.squares[at];
        }
        let sums = self.scores.iter_mut().zip(other.scores);
        sums.for_each(|(sum, score)| *sum += score);
    }

    /// The rows of it; none of fewer than ten, which tell nothing of how often an interval holds.
    pub fn rows(&self, about: &str, what: &str) -> Vec<Row> {
        let share = |sum: f64| sum / self.of;
        let row = |at: usize| {
            let claimed = share(self.claimed[at]);
            Row {
                about: about.to_owned(),
                what: format!("{what}, {:.0} %", 100.0 * CHANCES[at]),
                claimed,
                bounds: [claimed, 1.0],
                held: share(self.held[at]),
                error: share(self.squares[at].sqrt()),
                of: self.of,
                scores: Some(self.scores.map(share)),
            }
        };
        (0..CHANCES.len())
            .filter(|_| self.of >= 10.0)
            .map(row)
            .collect()
    }
}

/// The chances whose intervals are judged.
pub const CHANCES: [f64; 3] = [0.5, 0.8, 0.9];

/// Counts, and days half rooted, as of one part of the looks.
#[derive(Clone, Copy, Debug, Default)]
pub struct Judged {
    pub counts: Tally,
    pub days: Tally,
}

impl Judged {
    pub fn plus(&mut self, other: &Self) {
        self.counts.plus(&other.counts);
        self.days.plus(&other.days);
    }

    /// Takes all of it as the forecasts of one batch, or one journal.
    pub fn closed(self) -> Self {
        Self {
            counts: self.counts.closed(),
            days: self.days.closed(),
        }
    }
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

/// The parts of a batch's looks that forecasts are judged at; nothing: on the day of sticking.
pub const PARTS: [f64; 4] = [0.0, 0.25, 0.5, 0.75];

fn half(account: &Account) -> Option<Half> {
    let root = account.milestone(Milestone::Root);
    let mut sum = 0.0;
    let reached = root
        .pieces
        .iter()
        .filter(|p| p.status == IntervalStatus::Reached);
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
    let each = batches.iter().zip(accounts(&batches, None, 1));
    each.filter(|(batch, account)| {
        let counts = batch.stick.aside.is_none() && batch.stick.again.is_none();
        counts && account.is_closed() && account.stuck > 0 && batch.inspections.len() > 2
    })
    .map(|(batch, account)| End {
        batch,
        reached: account.milestone(Milestone::Root).reached.round() as usize,
        of: account.stuck,
        half: half(&account),
    })
    .collect()
}

/// The rivals: a beta-binomial of the taxon's mean and of the pooled mean, cut to what is still possible; and the days
/// of the taxon's and of all batches.
struct Rivals<'a> {
    rho: f64,
    known: Vec<&'a End<'a>>,
}

impl<'a> Rivals<'a> {
    /// Of all batches but one, whose end is known by then.
    fn learn(ends: &'a [End<'a>], but: usize) -> Self {
        let others = ends.iter().enumerate().filter(|(at, _)| *at != but);
        Self::of(others.map(|(_, end)| end).collect())
    }

    fn of(known: Vec<&'a End<'a>>) -> Self {
        let mut groups: std::collections::BTreeMap<String, Vec<Cluster>> = Default::default();
        for end in &known {
            let reached = (end.reached as u32).min(end.of);
            let group = groups.entry(end.batch.taxon.key()).or_default();
            group.push(Cluster {
                reached,
                of: end.of,
            });
        }
        let groups: Vec<Vec<Cluster>> = groups.into_values().collect();
        Self {
            rho: common_rho(&groups).unwrap_or(0.05),
            known,
        }
    }

    fn of_taxon(&self, end: &End<'_>) -> Vec<&'a End<'a>> {
        let own = |e: &&&End<'_>| e.batch.taxon.key() == end.batch.taxon.key();
        self.known.iter().filter(own).copied().collect()
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

    fn judge(&self, judged: &mut Judged, now: &Forecast, end: &End<'_>) {
        let own = self.of_taxon(end);
        let pooled = mean(&self.known).unwrap_or(0.6);
        let means = [mean(&own).unwrap_or(pooled), pooled];
        let counts = means.map(|mean| self.counts(mean, end, now));
        judge_count(&mut judged.counts, now, end, &counts);
        let days = [own.as_slice(), &self.known].map(|of| {
            let halves = of.iter().filter_map(|e| Some(e.half?.at));
            halves.collect::<Vec<f64>>()
        });
        judge_days(&mut judged.days, now, end, days);
    }
}

fn mean(ends: &[&End<'_>]) -> Option<f64> {
    let (x, n) = ends.iter().fold((0.0, 0.0), |(x, n), end| {
        (x + end.reached as f64, n + f64::from(end.of))
    });
    (n > 0.0).then(|| x / n)
}

/// Judges every closed batch, each left out while learning, as of each part of its looks.
pub fn left_out(book: &Book) -> [Judged; 4] {
    let ends = ends(book);
    let mut out = [Judged::default(); 4];
    let each = share_out(ends.len(), &mut |_| true, |at, _| {
        Some(one(book, &ends, at))
    });
    for judged in each.into_iter().flatten() {
        let sums = out.iter_mut().zip(judged);
        sums.for_each(|(sum, judged)| sum.plus(&judged.closed()));
    }
    out
}

/// Judges one batch, left out while learning.
fn one(book: &Book, ends: &[End<'_>], at: usize) -> [Judged; 4] {
    let end = &ends[at];
    let all: Vec<&Batch> = book.batches().iter().map(AsRef::as_ref).collect();
    let last = NaiveDate::from_ymd_opt(2100, 1, 1).unwrap();
    let mut out = [Judged::default(); 4];
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
    for (part, judged) in PARTS.iter().zip(&mut out) {
        let on = day_seen(end.batch, *part);
        let place = all.iter().position(|b| b.key == end.batch.key).unwrap();
        let account = &accounts(&all, Some(on), 1)[place];
        if account.is_closed() || account.stuck != end.of {
            continue;
        }
        let season = model.season(book.season(end.batch.stuck_on));
        let now = model.forecast_state(&BatchState::new(end.batch, account, on, season));
        rivals.judge(judged, &now, end);
    }
    out
}

/// The day of the look that ends a part of a batch's looks.
fn day_seen(batch: &Batch, part: f64) -> NaiveDate {
    if part == 0.0 {
        return batch.stuck_on;
    }
    let looks = &batch.inspections;
    let seen = ((part * looks.len() as f64).round() as usize).clamp(1, looks.len() - 1);
    looks[seen - 1].day
}

fn judge_count(tally: &mut Tally, now: &Forecast, end: &End<'_>, rivals: &[Discrete; 2]) {
    let ranges = CHANCES.map(|chance| now.count_range(chance));
    let claimed = ranges.map(|(low, high)| now.count.at_least(low) - now.count.at_least(high + 1));
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
    let by = |day: f64| {
        let before = when.draws.partition_point(|draw| *draw <= day);
        before as f64 / when.draws.len().max(1) as f64
    };
    let (low, high) = (by(half.after), by(half.by));
    let held = CHANCES.map(|chance| 0.5 * (1.0 - chance)).map(|tail: f64| {
        let inside = (high.min(1.0 - tail) - low.max(tail)).max(0.0);
        if high > low {
            inside / (high - low)
        } else {
            f64::from(u8::from(tail <= low && low <= 1.0 - tail))
        }
    });
    tally.add(CHANCES, held, [own, taxon.unwrap_or(pooled), pooled]);
}

/// Forecasts made on days from what was written by then, judged by what came: open batches then, closed since.
pub fn on_days(book: &Book, days: &[NaiveDate]) -> Judged {
    let ends = ends(book);
    let mut by_batch = vec![Judged::default(); ends.len()];
    for &on in days {
        let model = Model::learn(book, on, &[]);
        let made = forecasts(book, &model, &|_| true);
        let is_closed = |end: &&End<'_>| {
            let counts = end.batch.counts_on(on);
            counts.is_some_and(|counts| counts.remain() == 0)
        };
        let rivals = Rivals::of(ends.iter().filter(is_closed).collect());
        let open = made
            .batches
            .iter()
            .filter_map(|one| model.forecast(book.batch(&one.stick)?));
        for now in open {
            let now = &now;
            let same = |end: &End<'_>| end.batch.key == now.key && end.of == now.stuck;
            if let Some(at) = ends.iter().position(same) {
                rivals.judge(&mut by_batch[at], now, &ends[at]);
            }
        }
    }
    let mut all = Judged::default();
    by_batch.into_iter().for_each(|one| all.plus(&one.closed()));
    all
}
