//! Permutation of whole replicates within strata: a studentised test of a difference and the interval from
//! inverting it. It must not split a replicate.
//!
//! Under no difference the arms' labels could have fallen on the replicates of a stratum in any arrangement; p is
//! the share of arrangements with a statistic at least as far from 0 as the one observed (Fisher 1935, *The Design
//! of Experiments*). The statistic is the difference over its standard error, so that arms of unequal number, size
//! or spread keep the level (Janssen 1997, *Statistics & Probability Letters* 36:9; Chung & Romano 2013, *Annals of
//! Statistics* 41:484).
//!
//! The difference is the weighted least-squares estimate of a common difference beside one mean for each stratum,
//! each replicate weighing as many units as it holds: with shares that is the Mantel–Haenszel difference, weights
//! n₁n₂/(n₁+n₂). Its standard error is cluster-robust with each squared residual over one less its leverage (Bell &
//! McCaffrey 2002, *Survey Methodology* 28:169; for equal replicates in one stratum Welch's, in pairs the paired t's).

use super::arrange::Layout;
use super::shares::Interval;

/// Relative slack within which two statistics count as equal.
const SLACK: f64 = 1e-9;

/// Drawn arrangements when there are too many to look at all.
pub const DRAWS: usize = 9_999;

/// One replicate: `sum` over the `weight` units in it (rooted of stuck; days of those that rooted), so that
/// sum/weight is its share or mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Replicate {
    /// The arm, 0 or 1.
    pub arm: u8,
    /// What is added up over the replicate.
    pub sum: f64,
    /// How many units it is added over; a replicate of 0 is left out.
    pub weight: f64,
}

/// Seed and size of the draw when not all arrangements are looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// The seed.
    pub seed: u64,
    /// Arrangements drawn, not counting the observed one.
    pub draws: usize,
    /// All arrangements are looked at up to this many.
    pub all_up_to: f64,
}

/// The outcome of a permutation test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Permuted {
    /// Share of arrangements at least as far out, either side; (1 + b)/(B + 1) when drawn.
    pub p: f64,
    /// Arrangements looked at, the observed one included.
    pub arrangements: usize,
    /// Whether these were all there are.
    pub exact: bool,
    /// The smallest p that these numbers could give: the share of arrangements whose statistic equals the largest.
    pub smallest_p: f64,
}

/// What one arrangement says under a shift δ of arm 0: the difference is `above` − `slope`·δ, its squared standard
/// error `square` − 2 `mixed`·δ + `shifted`·δ².
#[derive(Debug, Clone, Copy)]
struct Arrangement {
    above: f64,
    slope: f64,
    square: f64,
    mixed: f64,
    shifted: f64,
}

impl Arrangement {
    /// The squared statistic: 0 where the difference is, infinite where only the standard error is.
    fn squared(&self, shift: f64, tiny: f64) -> f64 {
        let difference = self.above - self.slope * shift;
        let variance = self.square - 2.0 * self.mixed * shift + self.shifted * shift * shift;
        if difference.abs() <= tiny {
            // Rounding alone: arrangements without a difference are as far apart as one another.
            0.0
        } else if variance > tiny * tiny {
            difference * difference / variance
        } else {
            f64::INFINITY
        }
    }
}

/// A test of the difference of arm 0 less arm 1, all its arrangements looked at once.
#[derive(Debug, Clone)]
pub struct Studentised {
    observed: Arrangement,
    all: Vec<Arrangement>,
    exact: bool,
    /// What counts as nothing beside the shares.
    tiny: f64,
    replicates: usize,
    strata: usize,
}

impl Studentised {
    /// Permutes the labels of the replicates within each stratum. None when no stratum has both arms.
    #[must_use]
    pub fn new(strata: &[Vec<Replicate>], draw: Draw) -> Option<Self> {
        let kept: Vec<Vec<Replicate>> = strata
            .iter()
            .map(|stratum| stratum.iter().filter(|r| r.weight > 0.0).copied().collect())
            .filter(|stratum: &Vec<Replicate>| !stratum.is_empty())
            .collect();
        let labels = |stratum: &Vec<Replicate>| stratum.iter().map(|r| r.arm).collect();
        let layout = Layout::new(&kept.iter().map(labels).collect::<Vec<_>>());
        let mut units = Units::new(&kept);
        let observed = units.arranged(layout.labels())?;
        let mut all = Vec::new();
        let exact = layout.each(draw.seed, draw.draws, draw.all_up_to, |labels| {
            all.extend(units.arranged(labels));
        });
        let largest = units.shares.iter().map(|share| share.abs());
        Some(Self {
            observed,
            all,
            exact,
            tiny: 1e-10 * largest.fold(1e-6, f64::max),
            replicates: layout.labels().len(),
            strata: units.strata.len(),
        })
    }

    /// The difference, arm 0 less arm 1.
    #[must_use]
    pub fn difference(&self) -> f64 {
        self.observed.above
    }

    /// Its cluster-robust standard error.
    #[must_use]
    pub fn standard_error(&self) -> f64 {
        self.observed.square.max(0.0).sqrt()
    }

    /// Degrees of freedom of the standard error: replicates less strata less one, at least one.
    #[must_use]
    pub fn freedom(&self) -> f64 {
        self.replicates.saturating_sub(self.strata + 1).max(1) as f64
    }

    /// The test of no difference.
    #[must_use]
    pub fn permuted(&self) -> Permuted {
        let squares = self.all.iter().map(|it| it.squared(0.0, self.tiny));
        let largest = squares.fold(0.0, f64::max);
        Permuted {
            p: self.share_as_far(0.0, self.observed.squared(0.0, self.tiny)),
            arrangements: self.all.len(),
            exact: self.exact,
            smallest_p: self.share_as_far(0.0, largest),
        }
    }

    /// The share of arrangements whose squared statistic, arm 0 shifted back by `shift`, is at least `bar`.
    fn share_as_far(&self, shift: f64, bar: f64) -> f64 {
        let bar = bar * (1.0 - SLACK);
        let far = self
            .all
            .iter()
            .filter(|it| it.squared(shift, self.tiny) >= bar);
        far.count() as f64 / self.all.len() as f64
    }

    fn p_of_shift(&self, shift: f64) -> f64 {
        self.share_as_far(shift, self.observed.squared(shift, self.tiny))
    }

    /// The interval at `level` (0.95): all differences that the test does not reject, found by going out from the
    /// estimate until it does. Every replicate of arm 0 is taken to have δ more than it would have had in arm 1
    /// (Ernst 2004, *Statistical Science* 19:676). An end is infinite when these numbers can reject nothing there.
    #[must_use]
    pub fn interval(&self, level: f64) -> Interval {
        let alpha = 1.0 - level + SLACK;
        let (low, high) = (self.end(alpha, -1.0), self.end(alpha, 1.0));
        // Whole counts tie at no difference and nowhere near it, so the test may hold at 0 while it rejects what is
        // close by. An interval that left 0 out would then contradict its own test.
        if self.p_of_shift(0.0) > alpha {
            return Interval {
                low: low.min(0.0),
                high: high.max(0.0),
            };
        }
        Interval { low, high }
    }

    fn end(&self, alpha: f64, way: f64) -> f64 {
        /// Beyond this many standard errors the test rejects nothing more.
        const FAR: f64 = 1e6;
        let unit = self.standard_error().max(1e3 * self.tiny);
        let at = |steps: f64| self.difference() + way * steps * unit;
        let (mut held, mut rejected) = (0.0, 1.0);
        while self.p_of_shift(at(rejected)) > alpha {
            held = rejected;
            rejected *= 1.6;
            if rejected > FAR {
                return way * f64::INFINITY;
            }
        }
        while rejected - held > 1e-6 * rejected {
            let middle = 0.5 * (held + rejected);
            if self.p_of_shift(at(middle)) > alpha {
                held = middle;
            } else {
                rejected = middle;
            }
        }
        at(held)
    }
}

/// So many replicates are worked on side by side.
const ABREAST: usize = 4;

/// A sum in as many parts.
type Parts = [f64; ABREAST];

/// All replicates beside the labels, each quantity in a list of its own. Every stratum is filled up to a multiple of
/// [`ABREAST`] with replicates of no weight, which change no sum.
struct Units {
    /// Shares less their stratum's mean.
    shares: Vec<f64>,
    /// 1 in the observed arm 0, less its stratum's mean.
    observed: Vec<f64>,
    weights: Vec<f64>,
    strata: Vec<UnitStratum>,
    /// 1 in arm 0 of the arrangement under way.
    first: Vec<f64>,
}

/// Where a stratum stands.
struct UnitStratum {
    /// Among the units, filled up.
    units: std::ops::Range<usize>,
    /// Among the labels.
    labels: std::ops::Range<usize>,
    /// Its total weight.
    total: f64,
    /// The weight of arm 0 in the arrangement under way.
    weight: f64,
}

impl Units {
    fn new(strata: &[Vec<Replicate>]) -> Self {
        let (mut shares, mut observed, mut weights) = (Vec::new(), Vec::new(), Vec::new());
        let (mut places, mut label) = (Vec::new(), 0);
        for stratum in strata {
            let total: f64 = stratum.iter().map(|r| r.weight).sum();
            let mean = stratum.iter().map(|r| r.sum).sum::<f64>() / total;
            let first = stratum.iter().filter(|r| r.arm == 0);
            let part = first.map(|r| r.weight).sum::<f64>() / total;
            let start = shares.len();
            let end = start + stratum.len().next_multiple_of(ABREAST);
            shares.extend(stratum.iter().map(|r| r.sum / r.weight - mean));
            observed.extend(
                stratum
                    .iter()
                    .map(|r| f64::from(u8::from(r.arm == 0)) - part),
            );
            weights.extend(stratum.iter().map(|r| r.weight));
            for list in [&mut shares, &mut observed, &mut weights] {
                list.resize(end, 0.0);
            }
            places.push(UnitStratum {
                units: start..end,
                labels: label..label + stratum.len(),
                total,
                weight: 0.0,
            });
            label += stratum.len();
        }
        Self {
            first: vec![0.0; shares.len()],
            shares,
            observed,
            weights,
            strata: places,
        }
    }

    /// The difference and its variance under these labels, as functions of the shift.
    fn arranged(&mut self, labels: &[u8]) -> Option<Arrangement> {
        let (mut above, mut slope, mut below) = (0.0, 0.0, 0.0);
        for stratum in &mut self.strata {
            let units = stratum.units.clone();
            let first = &mut self.first[units.clone()];
            for (first, label) in first.iter_mut().zip(&labels[stratum.labels.clone()]) {
                *first = f64::from(u8::from(*label == 0));
            }
            // Shares are centred, so what the other arm holds is the same with the other sign.
            let sums = arm_sums(
                first,
                [&self.shares, &self.observed, &self.weights].map(|list| &list[units.clone()]),
            );
            above += sums[0];
            slope += sums[1];
            stratum.weight = sums[2];
            below += stratum.weight * (stratum.total - stratum.weight) / stratum.total;
        }
        if below <= 0.0 {
            return None;
        }
        let mut out = Arrangement {
            above: above / below,
            slope: slope / below,
            square: 0.0,
            mixed: 0.0,
            shifted: 0.0,
        };
        for stratum in &self.strata {
            let units = stratum.units.clone();
            let lists = [&self.first, &self.shares, &self.observed, &self.weights];
            let sums = spread(lists.map(|list| &list[units.clone()]), stratum, below, &out);
            out.square += sums[0];
            out.mixed += sums[1];
            out.shifted += sums[2];
        }
        Some(out)
    }
}

/// Lists of one length, [`ABREAST`] of each at a time.
fn abreast(lists: [&[f64]; 4]) -> impl Iterator<Item = [&Parts; 4]> {
    let [a, b, c, d] = lists.map(|list| list.as_chunks::<ABREAST>().0.iter());
    let pairs = a.zip(b).zip(c.zip(d));
    pairs.map(|((a, b), (c, d))| [a, b, c, d])
}

/// Over arm 0: the sums of weighted shares, of weights by the observed arm, of weights.
fn arm_sums(first: &[f64], [shares, observed, weights]: [&[f64]; 3]) -> [f64; 3] {
    let mut sums: [Parts; 3] = [[0.0; ABREAST]; 3];
    for [first, share, observed, weight] in abreast([first, shares, observed, weights]) {
        for at in 0..ABREAST {
            let weight = first[at] * weight[at];
            sums[0][at] += weight * share[at];
            sums[1][at] += weight * observed[at];
            sums[2][at] += weight;
        }
    }
    sums.map(|parts| parts.iter().sum())
}

/// A stratum's part of the squared standard error: of the shares, of shares by observed arm, of the observed arm.
fn spread(
    [first, shares, observed, weights]: [&[f64]; 4],
    stratum: &UnitStratum,
    below: f64,
    of: &Arrangement,
) -> [f64; 3] {
    let (part, even, by) = (
        stratum.weight / stratum.total,
        1.0 / stratum.total,
        1.0 / below,
    );
    let mut sums: [Parts; 3] = [[0.0; ABREAST]; 3];
    for [first, share, observed, weight] in abreast([first, shares, observed, weights]) {
        for at in 0..ABREAST {
            let side = first[at] - part;
            let pull = weight[at] * side * by;
            let rest = 1.0 - weight[at] * (even + side * side * by);
            // A replicate that alone decides its own fit says nothing of spread.
            let scale = if rest > SLACK {
                pull * pull / rest
            } else {
                0.0
            };
            let share = share[at] - of.above * side;
            let moved = observed[at] - of.slope * side;
            sums[0][at] += scale * share * share;
            sums[1][at] += scale * share * moved;
            sums[2][at] += scale * moved * moved;
        }
    }
    sums.map(|parts| parts.iter().sum())
}

/// Holm's correction: p values for several tests made at once, in the order given (Holm 1979,
/// *Scandinavian Journal of Statistics* 6:65). Each is at most 1 and at least the p it came from.
#[must_use]
pub fn holm(ps: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..ps.len()).collect();
    order.sort_by(|&a, &b| ps[a].total_cmp(&ps[b]));
    let mut corrected = vec![1.0; ps.len()];
    let mut floor = 0.0f64;
    for (rank, &index) in order.iter().enumerate() {
        floor = floor.max(ps[index] * (ps.len() - rank) as f64).min(1.0);
        corrected[index] = floor;
    }
    corrected
}
