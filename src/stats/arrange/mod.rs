//! Every way, or a seeded draw of ways, to hand two arms' labels to whole replicates within strata.
//! It must not know what is measured on them.

use draws::{Draws, read_labels};

mod draws;

pub use draws::{ABREAST, BLOCK, Block, blocks_of, set_labels};

/// Arrangements are all looked at up to this many; beyond it they are drawn.
pub const ALL_UP_TO: f64 = 100_000.0;

/// The labels (arm 0 or 1) of all replicates, stratum after stratum, as they were observed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    labels: Vec<u8>,
    /// End of each stratum in `labels`.
    ends: Vec<usize>,
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
        Self { labels, ends }
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

    /// M, the number of arrangements: the product over strata of the ways to choose one arm's replicates, C(n, n₁).
    /// Infinite when too large for a floating-point number.
    #[must_use]
    pub fn arrangements(&self) -> f64 {
        let per_stratum = self.strata().map(|range| {
            let labels = &self.labels[range];
            let chosen = labels.iter().filter(|label| **label == 0).count();
            let rest = labels.len() - chosen;
            let ways = |ways: f64, taken: usize| ways * (rest + taken) as f64 / taken as f64;
            (1..=chosen).fold(1.0, ways).round()
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
        let mut labels = self.labels.clone();
        self.draw(seed, draws, |blocks, filled| {
            for lane in 0..filled {
                let mut block = 0;
                for range in self.strata() {
                    read_labels(&blocks[block..], lane, &mut labels[range.clone()]);
                    block += blocks_of(range.len());
                }
                visit(&labels);
            }
        });
    }

    /// Calls `visit` with the arrangement observed and then `draws` seeded ones, up to eight at a time: the blocks of
    /// stratum after stratum, and how many of their arrangements count.
    pub fn draw(&self, seed: u64, draws: usize, visit: impl FnMut(&[Block], usize)) {
        let strata = self.strata().map(|range| &self.labels[range]);
        Draws::new(strata).each(seed, draws, visit);
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
