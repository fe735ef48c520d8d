//! Percentile bootstrap of whole replicates, seeded. It must not draw single units, nor know
//! what statistic it resamples.

use super::shares::Interval;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Fewest replicates from which days are resampled.
pub const FEWEST_REPLICATES: usize = 5;

/// How to resample; part of what a figure reports.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resampling {
    /// How many resamples, B; 999 by custom.
    pub resamples: usize,
    /// Seed of the generator.
    pub seed: u64,
    /// Confidence level, e.g. 0.95.
    pub level: f64,
}

/// A seeded stream of draws that stays the same across versions: ChaCha with eight rounds.
#[derive(Debug, Clone)]
pub struct Draws(ChaCha8Rng);

impl Draws {
    /// The stream of a seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        Self(ChaCha8Rng::from_seed(key))
    }

    /// A whole number from 0 up to, not including, `bound` (0 if that is 0); unbiased.
    pub fn below(&mut self, bound: usize) -> usize {
        let wide = bound.max(1) as u64;
        // Draws above the largest multiple of the bound are drawn again.
        let limit = u64::MAX - u64::MAX % wide;
        loop {
            let draw = self.0.next_u64();
            if draw < limit {
                return (draw % wide) as usize;
            }
        }
    }

    /// A number from 0 up to, not including, 1, in steps of 2⁻⁵³.
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// Percentile intervals (Efron & Tibshirani 1993, chapter 13) of K statistics at once.
///
/// `statistics` is given how often each of the `replicates` was drawn; a value that a resample
/// cannot give is infinite and sorts last, so that an infinite end reads 'beyond'.
/// `None` for fewer than [`FEWEST_REPLICATES`] replicates or without resamples.
pub fn percentile_intervals<const K: usize>(
    replicates: usize,
    how: &Resampling,
    mut statistics: impl FnMut(&[usize]) -> [f64; K],
) -> Option<[Interval; K]> {
    if replicates < FEWEST_REPLICATES || how.resamples == 0 {
        return None;
    }
    let mut draws = Draws::new(how.seed);
    let mut values: [Vec<f64>; K] = std::array::from_fn(|_| Vec::with_capacity(how.resamples));
    let mut times = vec![0; replicates];
    for _ in 0..how.resamples {
        times.fill(0);
        for _ in 0..replicates {
            times[draws.below(replicates)] += 1;
        }
        for (list, value) in values.iter_mut().zip(statistics(&times)) {
            list.push(if value.is_nan() { f64::INFINITY } else { value });
        }
    }
    Some(values.map(|mut list| {
        list.sort_by(f64::total_cmp);
        percentile(&list, how.level)
    }))
}

/// The ends of the middle `level` of sorted values: the k-th from either side, k = (B + 1) tail.
fn percentile(sorted: &[f64], level: f64) -> Interval {
    let count = sorted.len();
    let tail = (1.0 - level) / 2.0;
    let k = ((count as f64 + 1.0) * tail + 1e-9).floor() as usize;
    let k = k.clamp(1, count);
    Interval {
        low: sorted[k - 1],
        high: sorted[count - k],
    }
}
