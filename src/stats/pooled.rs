//! What units show of their leaves' means, pooled over a tree of groups; and what follows for any spot of the tree, with
//! or without a unit's own evidence. It must not know what the mean is of.

use super::pooling::{Direction, Grid, PriorSettings, Setting, Spot, Tree, pool, product, weights};
use super::workers;

/// Means of groups within groups, as learnt from units.
#[derive(Debug, Clone)]
pub struct Pooled {
    /// The grid of means.
    pub grid: Grid,
    settings: Vec<Setting>,
    /// One for each start; empty for a start without weight.
    said: Vec<Said>,
}

/// The log-likelihoods under one start.
#[derive(Debug, Clone, Default)]
struct Said {
    /// What each unit shows of its leaf.
    units: Vec<Vec<f64>>,
    /// What all units together show of each leaf.
    leaves: Vec<Vec<f64>>,
}

impl Pooled {
    /// Learns from units. `leaves`: the leaf of each unit; `says`: for a start and a unit the log-likelihood of its
    /// leaf's mean at each point of the grid.
    #[must_use]
    pub fn learn(
        tree: &Tree,
        grid: Grid,
        leaves: &[usize],
        before: &PriorSettings<'_>,
        says: &(dyn Fn(usize, usize) -> Vec<f64> + Sync),
    ) -> Self {
        let count = tree.up.first().map_or(0, Vec::len);
        let mut all = vec![Said::default(); before.starts.len()];
        let mut start = |number: usize| {
            let units: Vec<Vec<f64>> = workers::map(leaves.len(), |unit| says(number, unit));
            let mut sums = vec![vec![0.0; grid.len]; count];
            for (&leaf, said) in leaves.iter().zip(&units) {
                sums[leaf].iter_mut().zip(said).for_each(|(l, s)| *l += s);
            }
            all[number] = Said {
                units,
                leaves: sums.clone(),
            };
            sums
        };
        let settings = pool(tree, &grid, before, &mut start);
        for (number, said) in all.iter_mut().enumerate() {
            if settings.iter().all(|setting| setting.start != number) {
                *said = Said::default();
            }
        }
        Self {
            grid,
            settings,
            said: all,
        }
    }

    /// Each setting's weight, the number of its start, and what is believed under it of the mean at a spot; `unit`: a
    /// unit of that leaf whose own word is left out.
    pub fn means(
        &self,
        spot: Spot,
        unit: Option<usize>,
    ) -> impl Iterator<Item = (f64, usize, Vec<f64>)> + '_ {
        let own: Vec<Option<Vec<f64>>> = (0..self.said.len())
            .map(|start| self.of_leaf(start, spot, unit))
            .collect();
        self.settings.iter().map(move |setting| {
            let mean = setting.mean_at(&self.grid, spot);
            let mean = match &own[setting.start] {
                Some(own) => product(&mean, own),
                None => mean,
            };
            (setting.weight, setting.start, mean)
        })
    }

    /// What the units of a leaf show of its mean, relative to the likeliest.
    fn of_leaf(&self, start: usize, spot: Spot, unit: Option<usize>) -> Option<Vec<f64>> {
        let Spot::Leaf(leaf) = spot else { return None };
        let said = &self.said[start];
        let mut logs = said.leaves.get(leaf)?.clone();
        if let Some(unit) = unit {
            logs.iter_mut()
                .zip(&said.units[unit])
                .for_each(|(l, s)| *l -= s);
        }
        Some(weights(&logs))
    }

    /// Chances of a new unit's own value, normal around the mean of its leaf with a spread for each start.
    #[must_use]
    pub fn around(&self, spot: Spot, unit: Option<usize>, spreads: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; self.grid.len];
        for (start, mean) in self.by_start(spot, unit) {
            let values = self.grid.spread(&mean, spreads[start], Direction::Down);
            sum.iter_mut().zip(values).for_each(|(s, v)| *s += v);
        }
        sum
    }

    /// The starts that have weight, each with its chances of the mean at a spot, as `means`; all together sum to 1.
    pub fn by_start(
        &self,
        spot: Spot,
        unit: Option<usize>,
    ) -> impl Iterator<Item = (usize, Vec<f64>)> {
        let mut sums: Vec<Option<Vec<f64>>> = vec![None; self.said.len()];
        for (weight, start, mean) in self.means(spot, unit) {
            let sum = sums[start].get_or_insert_with(|| vec![0.0; self.grid.len]);
            sum.iter_mut().zip(mean).for_each(|(s, m)| *s += weight * m);
        }
        let each = sums.into_iter().enumerate();
        each.filter_map(|(start, sum)| Some((start, sum?)))
    }
}

/// Log priors of spreads between units that lie evenly in their logarithm: half-normal of that scale.
#[must_use]
pub fn half_normal(tried: &[f64], scale: f64) -> Vec<f64> {
    let of = |spread: &f64| spread.ln() - 0.5 * (spread / scale).powi(2);
    tried.iter().map(of).collect()
}
