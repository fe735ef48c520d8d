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
use arranged::{Arrangements, Bar, SLACK, Units};

mod arranged;

pub use arranged::Replicate;

/// Drawn arrangements when there are too many to look at all.
pub const DRAWS: usize = 9_999;

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

/// A test of the difference of arm 0 less arm 1, all its arrangements looked at once. With a second column, for what a
/// shift of arm 0 takes off, it can be inverted.
#[derive(Debug, Clone)]
pub struct Permutation<const COLUMNS: usize> {
    observed: Arrangements<COLUMNS>,
    all: Arrangements<COLUMNS>,
    exact: bool,
    /// What counts as nothing beside the shares.
    tiny: f64,
    replicates: usize,
    strata: usize,
}

/// A test that can be inverted.
pub type Studentised = Permutation<2>;

/// A test that cannot, in two thirds of the time.
pub type OnlyP = Permutation<1>;

impl<const COLUMNS: usize> Permutation<COLUMNS> {
    /// Permutes the labels of the replicates within each stratum. None when no stratum has both arms.
    #[must_use]
    pub fn new(strata: &[Vec<Replicate>], draw: Draw) -> Option<Self> {
        let kept: Vec<Vec<Replicate>> = strata
            .iter()
            .map(|stratum| stratum.iter().filter(|r| r.weight > 0.0).copied().collect())
            .filter(|stratum: &Vec<Replicate>| !stratum.is_empty())
            .collect();
        let has_both = |stratum: &Vec<Replicate>| {
            [0, 1].map(|arm| stratum.iter().any(|r| r.arm == arm)) == [true; 2]
        };
        if !kept.iter().any(has_both) {
            return None;
        }
        let labels = |stratum: &Vec<Replicate>| stratum.iter().map(|r| r.arm).collect();
        let layout = Layout::new(&kept.iter().map(labels).collect::<Vec<_>>());
        let mut units = Units::new(&kept);
        let mut observed = Arrangements::with_capacity(1);
        units.take(layout.labels(), &mut observed);
        units.finish(&mut observed);
        let mut all = Arrangements::with_capacity(layout.visits(draw.draws, draw.all_up_to));
        let exact = layout.arrangements() <= draw.all_up_to;
        if exact {
            layout.every(|labels| units.take(labels, &mut all));
            units.finish(&mut all);
        } else {
            layout.draw(draw.seed, draw.draws, |blocks, filled| {
                units.arranged(blocks, filled, &mut all);
            });
        }
        Some(Self {
            observed,
            all,
            exact,
            tiny: 1e-10 * units.largest(1e-6),
            replicates: layout.labels().len(),
            strata: kept.len(),
        })
    }

    /// How often each column is taken where arm 0 is shifted back.
    fn times(shift: f64) -> [f64; COLUMNS] {
        let mut times = [-shift; COLUMNS];
        times[0] = 1.0;
        times
    }

    /// The difference, arm 0 less arm 1.
    #[must_use]
    pub fn difference(&self) -> f64 {
        self.observed.first(Self::times(0.0)).0
    }

    /// Its cluster-robust standard error.
    #[must_use]
    pub fn standard_error(&self) -> f64 {
        self.observed.first(Self::times(0.0)).1.max(0.0).sqrt()
    }

    /// Degrees of freedom of the standard error: replicates less strata less one, at least one.
    #[must_use]
    pub fn freedom(&self) -> f64 {
        self.replicates.saturating_sub(self.strata + 1).max(1) as f64
    }

    /// The test of no difference.
    #[must_use]
    pub fn permuted(&self) -> Permuted {
        let times = Self::times(0.0);
        let largest = |of: &Arrangements<COLUMNS>| of.squared(times, self.tiny).fold(0.0, f64::max);
        let share = |squared: f64| {
            let far: usize = self.all.as_far(self.bar(0.0, squared)).sum();
            far as f64 / self.all.count() as f64
        };
        Permuted {
            p: share(largest(&self.observed)),
            arrangements: self.all.count(),
            exact: self.exact,
            smallest_p: share(largest(&self.all)),
        }
    }

    /// What counts as at least as far out as a squared statistic, arm 0 shifted back.
    fn bar(&self, shift: f64, squared: f64) -> Bar<COLUMNS> {
        Bar {
            times: Self::times(shift),
            squared: squared * (1.0 - SLACK),
            tiny: self.tiny,
        }
    }
}

impl Studentised {
    /// Whether the test, arm 0 shifted back by `shift`, has a p above `alpha`: no more arrangements are looked at than
    /// settle it.
    fn holds(&self, shift: f64, alpha: f64) -> bool {
        let observed = self.observed.squared(Self::times(shift), self.tiny);
        let bar = self.bar(shift, observed.fold(0.0, f64::max));
        let count = self.all.count() as f64;
        let mut far = 0;
        self.all.as_far(bar).any(|more| {
            far += more;
            far as f64 / count > alpha
        })
    }

    /// The interval at `level` (0.95): all differences that the test does not reject, found by going out from the
    /// estimate until it does. Every replicate of arm 0 is taken to have δ more than it would have had in arm 1
    /// (Ernst 2004, *Statistical Science* 19:676). An end is infinite when these numbers can reject nothing there.
    #[must_use]
    pub fn interval(&self, level: f64) -> Interval {
        let alpha = 1.0 - level + SLACK;
        let [low, high] = [-1.0, 1.0].map(|way| self.end(alpha, way, 0.0));
        // Whole counts tie at no difference and nowhere near it, so the test may hold at 0 while it rejects what is
        // close by. An interval that left 0 out would then contradict its own test: it goes on out from there.
        if (low > 0.0 || high < 0.0) && self.holds(0.0, alpha) {
            let beyond = |way: f64| self.end(alpha, way, self.difference().abs() / self.unit());
            return Interval {
                low: if low > 0.0 {
                    beyond(-1.0).min(0.0)
                } else {
                    low
                },
                high: if high < 0.0 {
                    beyond(1.0).max(0.0)
                } else {
                    high
                },
            };
        }
        Interval { low, high }
    }

    /// What steps are measured in: the standard error, if it is more than nothing.
    fn unit(&self) -> f64 {
        self.standard_error().max(1e3 * self.tiny)
    }

    /// Where the test rejects first, going out one way from so many steps off the estimate, where it does not.
    fn end(&self, alpha: f64, way: f64, from: f64) -> f64 {
        /// Beyond this many standard errors the test rejects nothing more: rounding, which grows with their square, would
        /// soon tell arrangements apart that are as far out as one another.
        const FAR: f64 = 1e3;
        let unit = self.unit();
        let at = |steps: f64| self.difference() + way * steps * unit;
        let mut step = if from > 0.0 { 1e-6 * from } else { 1.0 };
        let (mut held, mut rejected) = (from, from + step);
        while self.holds(at(rejected), alpha) {
            held = rejected;
            step *= 1.6;
            rejected = from + step;
            if rejected > FAR {
                return way * f64::INFINITY;
            }
        }
        while rejected - held > 1e-5 * rejected {
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
