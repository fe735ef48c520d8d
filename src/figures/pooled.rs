//! What units say of their leaves' means, pooled over a tree of groups, and what it makes of any spot with or without
//! a unit's own word. It must not know what the mean is of.

use super::pooling::{Grid, Setting, Spot, Spreads, Start, Tree, Way, normalised, pool};

/// Means of groups within groups, as learnt from units.
#[derive(Debug, Clone)]
pub struct Pooled {
    /// The grid of means.
    pub grid: Grid,
    settings: Vec<Setting>,
    starts: Vec<Start>,
    /// By start, what each unit says of its leaf.
    own: Vec<Vec<Vec<f64>>>,
}

/// What is believed before any unit is seen.
#[derive(Debug, Clone)]
pub struct Before<'a> {
    /// For each start the log of its prior weight.
    pub starts: &'a [f64],
    /// Of the spreads between groups.
    pub spreads: &'a Spreads<'a>,
    /// Log prior of the root's mean on the grid.
    pub root: &'a [f64],
}

impl Pooled {
    /// Learns from units. `leaves`: the leaf of each unit; `says`: for a start and a unit the log-likelihood of its
    /// leaf's mean at each point of the grid.
    #[must_use]
    pub fn learn(
        tree: &Tree,
        grid: Grid,
        leaves: &[usize],
        before: &Before<'_>,
        says: &dyn Fn(usize, usize) -> Vec<f64>,
    ) -> Self {
        let count = tree.up.first().map_or(0, Vec::len);
        let (mut starts, mut own) = (Vec::new(), Vec::new());
        for (number, &log_prior) in before.starts.iter().enumerate() {
            let said: Vec<Vec<f64>> = (0..leaves.len()).map(|unit| says(number, unit)).collect();
            let mut sums = vec![vec![0.0; grid.len]; count];
            for (&leaf, said) in leaves.iter().zip(&said) {
                sums[leaf].iter_mut().zip(said).for_each(|(l, s)| *l += s);
            }
            starts.push(Start {
                log_prior,
                leaves: sums,
            });
            own.push(said);
        }
        Self {
            settings: pool(tree, &grid, &starts, before.spreads, before.root),
            grid,
            starts,
            own,
        }
    }

    /// How many units it was learnt from.
    #[must_use]
    pub fn told(&self) -> usize {
        self.own.first().map_or(0, Vec::len)
    }

    /// Each setting's weight, the number of its start, and what is believed under it of the mean at a spot; `unit`: a
    /// unit of that leaf whose own word is left out.
    pub fn means(
        &self,
        spot: Spot,
        unit: Option<usize>,
    ) -> impl Iterator<Item = (f64, usize, Vec<f64>)> + '_ {
        let each = self.settings.iter();
        each.map(move |setting| {
            (
                setting.weight,
                setting.start,
                self.mean(setting, spot, unit),
            )
        })
    }

    fn mean(&self, setting: &Setting, spot: Spot, unit: Option<usize>) -> Vec<f64> {
        let mean = setting.mean_at(&self.grid, spot);
        let Spot::Leaf(leaf) = spot else {
            return mean;
        };
        let mut said = self.starts[setting.start].leaves[leaf].clone();
        if let Some(unit) = unit {
            let own = &self.own[setting.start][unit];
            said.iter_mut().zip(own).for_each(|(s, o)| *s -= o);
        }
        let logs = mean.iter().zip(&said).map(|(m, s)| m.max(1e-280).ln() + s);
        normalised(&logs.collect::<Vec<_>>())
    }

    /// Chances of a new unit's own value, normal around the mean of its leaf with a spread for each start.
    #[must_use]
    pub fn around(&self, spot: Spot, unit: Option<usize>, spreads: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; self.grid.len];
        for (weight, start, mean) in self.means(spot, unit) {
            let value = self.grid.spread(&mean, spreads[start], Way::Down);
            sum.iter_mut()
                .zip(value)
                .for_each(|(s, v)| *s += weight * v);
        }
        sum
    }
}

/// Log priors of spreads between units that lie evenly in their logarithm: half-normal of that scale.
#[must_use]
pub fn half_normal(tried: &[f64], scale: f64) -> Vec<f64> {
    let of = |spread: &f64| spread.ln() - 0.5 * (spread / scale).powi(2);
    tried.iter().map(of).collect()
}
