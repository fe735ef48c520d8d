//! Every way, or a seeded draw of ways, to hand the arms' labels to whole replicates within strata.
//! It must not know what is measured on them.

use super::dice::Dice;

/// Arrangements are all looked at up to this many; beyond it they are drawn.
pub const ALL_UP_TO: f64 = 100_000.0;

/// The labels (arm 0, 1, …) of all replicates, stratum after stratum, as they were observed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    labels: Vec<u8>,
    /// End of each stratum in `labels`.
    ends: Vec<usize>,
    arms: usize,
}

impl Layout {
    /// A layout from the labels of each stratum's replicates.
    #[must_use]
    pub fn new(strata: &[Vec<u8>]) -> Self {
        let labels: Vec<u8> = strata.concat();
        let mut ends = Vec::with_capacity(strata.len());
        for stratum in strata {
            ends.push(ends.last().unwrap_or(&0) + stratum.len());
        }
        let arms = labels.iter().max().map_or(0, |&top| usize::from(top) + 1);
        Self { labels, ends, arms }
    }

    /// The labels as observed.
    #[must_use]
    pub fn labels(&self) -> &[u8] {
        &self.labels
    }

    /// The places of each stratum in the labels.
    pub fn strata(&self) -> impl Iterator<Item = std::ops::Range<usize>> + '_ {
        let starts = std::iter::once(0).chain(self.ends.iter().copied());
        starts.zip(&self.ends).map(|(start, &end)| start..end)
    }

    fn sizes(&self) -> Vec<Vec<usize>> {
        self.strata()
            .map(|range| {
                let mut sizes = vec![0; self.arms];
                for &label in &self.labels[range] {
                    sizes[usize::from(label)] += 1;
                }
                sizes
            })
            .collect()
    }

    /// M, the number of arrangements: the product over strata of multinomial coefficients
    /// (C(n, n₁) with two arms). Infinite when too large for a floating-point number.
    #[must_use]
    pub fn arrangements(&self) -> f64 {
        let per_stratum = self.sizes().into_iter().map(|sizes| {
            let (mut total, mut ways) = (0usize, 1.0f64);
            for size in sizes {
                for taken in 1..=size {
                    total += 1;
                    ways = ways * total as f64 / taken as f64;
                }
            }
            ways.round()
        });
        per_stratum.product()
    }

    /// How many arrangements [`Self::each`] visits.
    #[must_use]
    pub fn visits(&self, draws: usize, all_up_to: f64) -> usize {
        let whole = self.arrangements();
        if whole <= all_up_to {
            whole as usize
        } else {
            draws + 1
        }
    }

    /// Calls `visit` with every arrangement (the observed one among them) if there are no more than
    /// `all_up_to`; otherwise with the observed one and then `draws` seeded ones. Returns whether
    /// all were visited.
    pub fn each(&self, seed: u64, draws: usize, all_up_to: f64, visit: impl FnMut(&[u8])) -> bool {
        let exact = self.arrangements() <= all_up_to;
        if exact {
            self.every(visit);
        } else {
            self.drawn(seed, draws, visit);
        }
        exact
    }

    /// Calls `visit` with every arrangement, the observed one among them.
    pub fn every(&self, mut visit: impl FnMut(&[u8])) {
        let mut labels = self.labels.clone();
        let strata: Vec<_> = self.strata().collect();
        for range in &strata {
            labels[range.clone()].sort_unstable();
        }
        loop {
            visit(&labels);
            // Like an odometer: the first stratum that has a next arrangement stops the carry.
            let carried = strata.iter().all(|range| !step(&mut labels[range.clone()]));
            if carried {
                return;
            }
        }
    }

    fn drawn(&self, seed: u64, draws: usize, mut visit: impl FnMut(&[u8])) {
        let mut dice = Dice::new(seed);
        let mut labels = self.labels.clone();
        let strata: Vec<_> = self.strata().collect();
        visit(&labels);
        for _ in 0..draws {
            for range in &strata {
                dice.shuffle(&mut labels[range.clone()]);
            }
            visit(&labels);
        }
    }
}

/// The next arrangement in dictionary order; false, and back to the first, after the last
/// (Knuth, *The Art of Computer Programming* 4A, 7.2.1.2, algorithm L).
fn step(labels: &mut [u8]) -> bool {
    let Some(pivot) = (1..labels.len()).rev().find(|&i| labels[i - 1] < labels[i]) else {
        labels.reverse();
        return false;
    };
    let tail = pivot - 1;
    if let Some(swap) = (pivot..labels.len())
        .rev()
        .find(|&i| labels[i] > labels[tail])
    {
        labels.swap(tail, swap);
    }
    labels[pivot..].reverse();
    true
}
