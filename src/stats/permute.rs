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
    /// The difference and its squared standard error.
    fn shifted(&self, shift: f64) -> (f64, f64) {
        let variance = self.square - 2.0 * self.mixed * shift + self.shifted * shift * shift;
        (self.above - self.slope * shift, variance)
    }

    /// The squared statistic: 0 where the difference is, infinite where only the standard error is.
    fn squared(&self, shift: f64, tiny: f64) -> f64 {
        let (difference, variance) = self.shifted(shift);
        if difference.abs() <= tiny {
            // Rounding alone: arrangements without a difference are as far apart as one another.
            0.0
        } else if variance > tiny * tiny {
            difference * difference / variance
        } else {
            f64::INFINITY
        }
    }

    /// Whether the squared statistic is at least `bar`, without dividing for it.
    fn is_as_far(&self, shift: f64, bar: f64, tiny: f64) -> bool {
        let (difference, variance) = self.shifted(shift);
        let is_none = difference.abs() <= tiny;
        let is_far = (variance <= tiny * tiny) | (difference * difference >= bar * variance);
        (is_none & (bar <= 0.0)) | (!is_none & is_far)
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
        let mut observed = Vec::new();
        units.take(layout.labels(), &mut observed);
        units.finish(&mut observed);
        let observed = observed.first().copied()?;
        let mut all = Vec::with_capacity(layout.visits(draw.draws, draw.all_up_to));
        let exact = layout.each(draw.seed, draw.draws, draw.all_up_to, |labels| {
            units.take(labels, &mut all);
        });
        units.finish(&mut all);
        let largest = units.units.iter().map(|unit| unit.share.abs());
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
        let each = self.all.iter();
        let far = each.filter(|it| it.is_as_far(shift, bar, self.tiny));
        far.count() as f64 / self.all.len() as f64
    }

    /// Whether the test, arm 0 shifted back by `shift`, has a p above `alpha`: no more arrangements are looked at than
    /// settle it.
    fn holds(&self, shift: f64, alpha: f64) -> bool {
        let bar = self.observed.squared(shift, self.tiny) * (1.0 - SLACK);
        let mut far = 0;
        self.all.chunks(ABREAST * 32).any(|some| {
            let each = some.iter().map(|it| it.is_as_far(shift, bar, self.tiny));
            far += each.map(usize::from).sum::<usize>();
            far as f64 / self.all.len() as f64 > alpha
        })
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
        if self.holds(0.0, alpha) {
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
        while self.holds(at(rejected), alpha) {
            held = rejected;
            rejected *= 1.6;
            if rejected > FAR {
                return way * f64::INFINITY;
            }
        }
        while rejected - held > 1e-6 * rejected {
            let middle = 0.5 * (held + rejected);
            if self.holds(at(middle), alpha) {
                held = middle;
            } else {
                rejected = middle;
            }
        }
        at(held)
    }
}

/// So many arrangements are worked on side by side: a bit of a byte for each.
const ABREAST: usize = u8::BITS as usize;

/// A quantity of each.
type Lanes = [f64; ABREAST];

/// By a replicate's bits: 1 for each arrangement that has it in arm 0.
const FIRST: [Lanes; 1 << ABREAST] = {
    let mut out = [[0.0; ABREAST]; 1 << ABREAST];
    let mut bits = 0;
    while bits < out.len() {
        let mut lane = 0;
        while lane < ABREAST {
            out[bits][lane] = ((bits >> lane) & 1) as f64;
            lane += 1;
        }
        bits += 1;
    }
    out
};

/// A quantity of each by its place.
#[inline(always)]
fn each(of: impl Fn(usize) -> f64) -> Lanes {
    std::array::from_fn(of)
}

/// A replicate beside its label, with what does not depend on the arrangement.
struct Unit {
    weight: f64,
    /// Its share less its stratum's mean.
    share: f64,
    /// 1 in the observed arm 0, less its stratum's mean.
    observed: f64,
    /// One less the leverage that it has from its stratum's mean.
    rest: f64,
}

/// Where a stratum stands among the units, and one over its total weight.
struct UnitStratum {
    units: std::ops::Range<usize>,
    even: f64,
}

/// All replicates, with a few arrangements of their labels under way.
struct Units {
    units: Vec<Unit>,
    strata: Vec<UnitStratum>,
    /// By unit a bit for each arrangement: whether it is in arm 0.
    firsts: Vec<u8>,
    /// How many arrangements are under way.
    filled: usize,
    /// By stratum the share of its weight that is in arm 0, of each arrangement.
    parts: Vec<Lanes>,
}

impl Units {
    fn new(strata: &[Vec<Replicate>]) -> Self {
        let (mut units, mut places) = (Vec::new(), Vec::new());
        for stratum in strata {
            let total: f64 = stratum.iter().map(|r| r.weight).sum();
            let mean = stratum.iter().map(|r| r.sum).sum::<f64>() / total;
            let first = stratum.iter().filter(|r| r.arm == 0);
            let part = first.map(|r| r.weight).sum::<f64>() / total;
            let start = units.len();
            units.extend(stratum.iter().map(|r| Unit {
                weight: r.weight,
                share: r.sum / r.weight - mean,
                observed: f64::from(u8::from(r.arm == 0)) - part,
                rest: 1.0 - r.weight / total,
            }));
            places.push(UnitStratum {
                units: start..units.len(),
                even: 1.0 / total,
            });
        }
        Self {
            firsts: vec![0; units.len()],
            parts: vec![[0.0; ABREAST]; places.len()],
            units,
            strata: places,
            filled: 0,
        }
    }

    /// Takes up an arrangement; once there are as many as are worked on at once, what they say is added to `out`.
    fn take(&mut self, labels: &[u8], out: &mut Vec<Arrangement>) {
        let bit = 1_u8 << self.filled;
        for (first, label) in self.firsts.iter_mut().zip(labels) {
            *first |= if *label == 0 { bit } else { 0 };
        }
        self.filled += 1;
        if self.filled == ABREAST {
            self.finish(out);
        }
    }

    /// Adds what the arrangements under way say to `out`: nothing where no stratum has both arms.
    fn finish(&mut self, out: &mut Vec<Arrangement>) {
        let filled = std::mem::take(&mut self.filled);
        let found = self.arranged();
        out.extend(found.into_iter().take(filled).flatten());
        self.firsts.fill(0);
    }

    /// The difference and its variance under each arrangement's labels, as functions of the shift.
    fn arranged(&mut self) -> [Option<Arrangement>; ABREAST] {
        let (mut above, mut slope, mut below) = ([0.0; ABREAST], [0.0; ABREAST], [0.0; ABREAST]);
        for (stratum, part) in self.strata.iter().zip(&mut self.parts) {
            let mut first = [0.0; ABREAST];
            let firsts = &self.firsts[stratum.units.clone()];
            for (unit, bits) in self.units[stratum.units.clone()].iter().zip(firsts) {
                // Shares are centred, so what the other arm holds is the same with the other sign.
                let (share, observed) = (unit.weight * unit.share, unit.weight * unit.observed);
                let is_first = &FIRST[usize::from(*bits)];
                for lane in 0..ABREAST {
                    above[lane] += is_first[lane] * share;
                    slope[lane] += is_first[lane] * observed;
                    first[lane] += is_first[lane] * unit.weight;
                }
            }
            for lane in 0..ABREAST {
                part[lane] = first[lane] * stratum.even;
                below[lane] += first[lane] * (1.0 - part[lane]);
            }
        }
        let by = below.map(|below| 1.0 / below);
        let above = std::array::from_fn(|lane| above[lane] * by[lane]);
        let slope = std::array::from_fn(|lane| slope[lane] * by[lane]);
        let squares = self.squares(&above, &slope, &by);
        std::array::from_fn(|lane| {
            let [square, mixed, shifted] = squares.map(|sums| sums[lane]);
            (below[lane] > 0.0).then(|| Arrangement {
                above: above[lane],
                slope: slope[lane],
                square,
                mixed,
                shifted,
            })
        })
    }

    /// The squared standard errors: of the shares, of shares by observed arm, of the observed arm.
    fn squares(&self, above: &Lanes, slope: &Lanes, by: &Lanes) -> [Lanes; 3] {
        let mut sums = [[0.0; ABREAST]; 3];
        for (stratum, part) in self.strata.iter().zip(&self.parts) {
            let firsts = &self.firsts[stratum.units.clone()];
            for (unit, bits) in self.units[stratum.units.clone()].iter().zip(firsts) {
                let is_first = &FIRST[usize::from(*bits)];
                let square = unit.weight * unit.weight;
                let side = each(|lane| is_first[lane] - part[lane]);
                let pull = each(|lane| side[lane] * side[lane] * by[lane]);
                let rest = each(|lane| unit.rest - unit.weight * pull[lane]);
                let scale = each(|lane| square * pull[lane] / rest[lane]);
                // A replicate that alone decides its own fit says nothing of spread.
                let scale = each(|lane| if rest[lane] > SLACK { scale[lane] } else { 0.0 });
                let share = each(|lane| unit.share - above[lane] * side[lane]);
                let moved = each(|lane| unit.observed - slope[lane] * side[lane]);
                let scaled = each(|lane| scale[lane] * share[lane]);
                sums[0] = each(|lane| sums[0][lane] + scaled[lane] * share[lane]);
                sums[1] = each(|lane| sums[1][lane] + scaled[lane] * moved[lane]);
                sums[2] = each(|lane| sums[2][lane] + scale[lane] * moved[lane] * moved[lane]);
            }
        }
        sums.map(|sums| std::array::from_fn(|lane| sums[lane] * by[lane]))
    }
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
