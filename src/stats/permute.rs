//! Permutation of whole replicates within strata: p values. It must not split a replicate.
//!
//! Under no difference the arms' labels could have fallen on the replicates of a stratum in any
//! arrangement; p is the share of arrangements at least as far out as the one observed (Fisher 1935,
//! *The Design of Experiments*; Edgington & Onghena 2007, *Randomization Tests*).

use super::arrange::{ALL_UP_TO, Layout};

/// Slack within which two statistics count as equal.
pub const SLACK: f64 = 1e-9;

/// Drawn arrangements when there are too many to look at all.
pub const DRAWS: usize = 9_999;

/// One replicate: `sum` over the `weight` cuttings in it (rooted of stuck; days of stuck), so that
/// sum/weight is its share or mean. A mean of replicates' shares takes weight 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Replicate {
    /// The arm, 0 or 1 (or more, for a test of several arms).
    pub arm: u8,
    /// What is added up over the replicate.
    pub sum: f64,
    /// How many it is added over; one of 0 adds nothing.
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

impl Draw {
    /// The usual settings: all up to 100 000, else 9 999 drawn.
    #[must_use]
    pub fn seeded(seed: u64) -> Self {
        Self {
            seed,
            draws: DRAWS,
            all_up_to: ALL_UP_TO,
        }
    }
}

/// The outcome of a permutation test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Permuted {
    /// The statistic as observed.
    pub observed: f64,
    /// Share of arrangements at least as far out, either side; (1+b)/(B+1) when drawn.
    pub p: f64,
    /// Share of arrangements with a statistic at most the observed one.
    pub p_lower: f64,
    /// Share of arrangements with a statistic at least the observed one.
    pub p_upper: f64,
    /// Arrangements looked at, the observed one included.
    pub arrangements: usize,
    /// Whether these were all there are.
    pub exact: bool,
    /// All there are, M; may be infinite.
    pub possible: f64,
    /// The smallest p that these numbers could give, k/M.
    pub smallest_p: f64,
    /// Replicates permuted.
    pub replicates: usize,
}

/// Which statistics count as far out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sides {
    /// Far from the expected value, either way: differences. The expected value is the mean over all
    /// arrangements; when they are drawn it is taken as 0, where it is for a pooled difference (the
    /// mean of a draw lies a little off and would part arrangements that tie on either side).
    Both,
    /// Large: sums of squares.
    Upper,
}

/// Permutes the labels of `layout` and compares `statistic` of each arrangement with that of the
/// observed one. None when the observed statistic is not finite (an arm without replicates, say).
/// Arrangements for which it is not finite count as far out.
pub fn test(
    layout: &Layout,
    draw: Draw,
    sides: Sides,
    mut statistic: impl FnMut(&[u8]) -> f64,
) -> Option<Permuted> {
    let observed = statistic(layout.labels());
    if !observed.is_finite() {
        return None;
    }
    let mut all = Vec::new();
    let exact = layout.each(draw.seed, draw.draws, draw.all_up_to, |labels| {
        all.push(statistic(labels));
    });
    let share = |far: &dyn Fn(f64) -> bool| {
        all.iter().filter(|&&t| !t.is_finite() || far(t)).count() as f64 / all.len() as f64
    };
    let p_lower = share(&|t| t <= observed + SLACK);
    let p_upper = share(&|t| t >= observed - SLACK);
    let p = match sides {
        Sides::Upper => p_upper,
        Sides::Both => {
            let centre = if exact { finite_mean(&all) } else { 0.0 };
            share(&|t| (t - centre).abs() >= (observed - centre).abs() - SLACK)
        }
    };
    Some(Permuted {
        observed,
        p,
        p_lower,
        p_upper,
        arrangements: all.len(),
        exact,
        possible: layout.arrangements(),
        smallest_p: layout.smallest_p(),
        replicates: layout.labels().len(),
    })
}

fn finite_mean(values: &[f64]) -> f64 {
    let finite = || values.iter().filter(|v| v.is_finite());
    finite().sum::<f64>() / finite().count() as f64
}

/// Replicates' labels as a layout.
#[must_use]
pub fn layout_of(strata: &[Vec<Replicate>]) -> Layout {
    let labels = |stratum: &Vec<Replicate>| stratum.iter().map(|r| r.arm).collect();
    Layout::new(&strata.iter().map(labels).collect::<Vec<_>>())
}

/// The difference of arm 0 less arm 1, pooled over strata with Mantel–Haenszel weights n₁n₂/(n₁+n₂):
/// two-sided permutation test. None when no stratum has both arms.
#[must_use]
pub fn difference(strata: &[Vec<Replicate>], draw: Draw) -> Option<Permuted> {
    let pooled = Pooled::new(strata);
    test(&layout_of(strata), draw, Sides::Both, |labels| {
        pooled.difference(labels)
    })
}

/// Several arms at once: permutation test of the weighted between-arm sum of squares Σ nₐ dₐ², where
/// dₐ is the mean of an arm's sums less what its strata's means would give it. With one stratum this
/// is the between-arm sum of squares of an analysis of variance. None under two arms.
#[must_use]
pub fn several(strata: &[Vec<Replicate>], draw: Draw) -> Option<Permuted> {
    let layout = layout_of(strata);
    let pooled = Pooled::new(strata);
    if layout.arms() < 2 {
        return None;
    }
    let mut per_arm = vec![(0.0, 0.0); layout.arms()];
    test(&layout, draw, Sides::Upper, |labels| {
        pooled.between(labels, &mut per_arm)
    })
}

/// Sums and weights laid out flat beside the labels, with each stratum's mean taken off the sums:
/// then the Mantel–Haenszel numerator n₁n₂/n (p₁ − p₂) is just the sum over arm 0.
pub(crate) struct Pooled {
    /// sum − weight × stratum mean, and weight, of each replicate.
    pub(crate) units: Vec<(f64, f64)>,
    /// End and total weight of each stratum.
    strata: Vec<(usize, f64)>,
}

impl Pooled {
    pub(crate) fn new(strata: &[Vec<Replicate>]) -> Self {
        let mut pooled = Self {
            units: Vec::new(),
            strata: Vec::new(),
        };
        for stratum in strata {
            let weight: f64 = stratum.iter().map(|r| r.weight).sum();
            let sum = stratum.iter().map(|r| r.sum).sum::<f64>();
            let mean = if weight > 0.0 { sum / weight } else { 0.0 };
            let centred = stratum.iter().map(|r| (r.sum - r.weight * mean, r.weight));
            pooled.units.extend(centred);
            pooled.strata.push((pooled.units.len(), weight));
        }
        pooled
    }

    /// Numerator and denominator of the Mantel–Haenszel difference under these labels.
    pub(crate) fn parts(&self, labels: &[u8]) -> (f64, f64) {
        let (mut above, mut below, mut start) = (0.0, 0.0, 0);
        for &(end, total) in &self.strata {
            let mut weight = 0.0;
            for (unit, &label) in self.units[start..end].iter().zip(&labels[start..end]) {
                if label == 0 {
                    above += unit.0;
                    weight += unit.1;
                }
            }
            if total > 0.0 {
                below += weight * (total - weight) / total;
            }
            start = end;
        }
        (above, below)
    }

    fn difference(&self, labels: &[u8]) -> f64 {
        let (above, below) = self.parts(labels);
        if below > 0.0 { above / below } else { f64::NAN }
    }

    fn between(&self, labels: &[u8], per_arm: &mut [(f64, f64)]) -> f64 {
        per_arm.fill((0.0, 0.0));
        for (unit, &label) in self.units.iter().zip(labels) {
            let arm = &mut per_arm[usize::from(label)];
            arm.0 += unit.0;
            arm.1 += unit.1;
        }
        per_arm
            .iter()
            .filter(|arm| arm.1 > 0.0)
            .map(|arm| arm.0 * arm.0 / arm.1)
            .sum()
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
