//! What units show of their leaves' means, pooled over a tree of groups; and what follows for any spot of the tree, with
//! or without a unit's own evidence. It must not know what the mean is of.

use super::pooling::{Direction, Grid, PriorSettings, Setting, Spot, Tree, pool, weights};
use super::workers;

/// Means of groups within groups, as learnt from units.
#[derive(Debug, Clone)]
pub struct Pooled {
    /// The grid of means.
    pub grid: Grid,
    settings: Vec<Setting>,
    /// By start the log-likelihoods that all units together show of each leaf; empty for a start without weight.
    leaves: Vec<Vec<Vec<f64>>>,
}

/// The log-likelihoods that a unit shows of its leaf under a start.
pub type OwnWord<'a> = &'a mut dyn FnMut(usize) -> Vec<f64>;

/// No chance is smaller than this beside others, so that contradictions leave something.
const FLOOR: f64 = 1e-150;

impl Pooled {
    /// Learns from units. `leaves`: for a start the log-likelihood of each leaf's mean at each point of the grid, by all its
    /// units.
    #[must_use]
    pub fn learn(
        tree: &Tree,
        grid: Grid,
        before: &PriorSettings<'_>,
        leaves: &mut dyn FnMut(usize) -> Vec<Vec<f64>>,
    ) -> Self {
        let mut all = vec![Vec::new(); before.starts.len()];
        let mut start = |number: usize| {
            let said = leaves(number);
            all[number].clone_from(&said);
            said
        };
        let settings = pool(tree, &grid, before, &mut start);
        for (number, said) in all.iter_mut().enumerate() {
            if settings.iter().all(|setting| setting.start != number) {
                *said = Vec::new();
            }
        }
        Self {
            grid,
            settings,
            leaves: all,
        }
    }

    /// Whether a start has any weight.
    #[must_use]
    pub fn has_weight(&self, start: usize) -> bool {
        self.settings.iter().any(|setting| setting.start == start)
    }

    /// Each setting's weight, the number of its start, and what is believed under it of the mean at a spot. `own`: what a
    /// unit of that leaf says itself, which is left out.
    pub fn means(
        &self,
        spot: Spot,
        own: Option<OwnWord<'_>>,
    ) -> impl Iterator<Item = (f64, usize, Vec<f64>)> + '_ {
        let said = self.of_leaf(spot, own);
        self.settings.iter().map(move |setting| {
            let mut mean = setting.mean_at(&self.grid, spot).into_owned();
            if let Some(said) = &said[setting.start] {
                let whole = multiply(&mut mean, said);
                mean.iter_mut().for_each(|w| *w /= whole);
            }
            (setting.weight, setting.start, mean)
        })
    }

    /// By start what the units of a leaf show of its mean, relative to the likeliest; nothing where there is no leaf.
    fn of_leaf(&self, spot: Spot, own: Option<OwnWord<'_>>) -> Vec<Option<Vec<f64>>> {
        let Spot::Leaf(leaf) = spot else {
            return vec![None; self.leaves.len()];
        };
        let mut own = own;
        let of_start = |start: usize| {
            let mut logs = self.leaves[start].get(leaf)?.clone();
            if let Some(own) = &mut own {
                logs.iter_mut().zip(own(start)).for_each(|(l, s)| *l -= s);
            }
            let mut said = weights(&logs);
            said.iter_mut().for_each(|w| *w = w.max(FLOOR));
            Some(said)
        };
        (0..self.leaves.len()).map(of_start).collect()
    }

    /// Chances of a new unit's own value, normal around the mean of its leaf with a spread for each start.
    #[must_use]
    pub fn around(&self, spot: Spot, spreads: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; self.grid.len];
        for (start, mean) in self.by_start(spot, None) {
            let values = self.grid.spread(&mean, spreads[start], Direction::Down);
            sum.iter_mut().zip(values).for_each(|(s, v)| *s += v);
        }
        sum
    }

    /// The starts that have weight, each with its chances of the mean at a spot, as `means`; all together sum to 1.
    pub fn by_start(
        &self,
        spot: Spot,
        own: Option<OwnWord<'_>>,
    ) -> impl Iterator<Item = (usize, Vec<f64>)> {
        let said = self.of_leaf(spot, own);
        let mut sums: Vec<Option<Vec<f64>>> = vec![None; self.leaves.len()];
        let mut mean = vec![0.0; self.grid.len];
        for setting in &self.settings {
            mean.copy_from_slice(&setting.mean_at(&self.grid, spot));
            let said = said[setting.start].as_ref();
            let whole = said.map_or(1.0, |said| multiply(&mut mean, said));
            let weight = setting.weight / whole;
            let sum = sums[setting.start].get_or_insert_with(|| vec![0.0; self.grid.len]);
            sum.iter_mut()
                .zip(&mean)
                .for_each(|(s, m)| *s += weight * m);
        }
        let each = sums.into_iter().enumerate();
        each.filter_map(|(start, sum)| Some((start, sum?)))
    }
}

/// Multiplies chances, none of them below the floor; gives their sum.
fn multiply(mean: &mut [f64], said: &[f64]) -> f64 {
    let each = mean.iter_mut().zip(said);
    each.for_each(|(mean, said)| *mean = mean.max(FLOOR) * said);
    mean.iter().sum()
}

/// Log priors of spreads between units that lie evenly in their logarithm: half-normal of that scale.
#[must_use]
pub fn half_normal(tried: &[f64], scale: f64) -> Vec<f64> {
    let of = |spread: &f64| spread.ln() - 0.5 * (spread / scale).powi(2);
    tried.iter().map(of).collect()
}

/// For each of `count` leaves what `sum` makes of its units, in their order; `leaves`: the leaf of each unit.
pub fn by_leaf(
    leaves: impl Iterator<Item = usize>,
    count: usize,
    sum: impl Fn(&[usize]) -> Vec<f64> + Sync,
) -> Vec<Vec<f64>> {
    let mut units = vec![Vec::new(); count];
    for (unit, leaf) in leaves.enumerate() {
        units[leaf].push(unit);
    }
    let found = workers::share_out(count, &mut |_| true, |leaf, _| Some(sum(&units[leaf])));
    found.unwrap_or_default()
}

/// A sum of logarithms of chances on a grid; a logarithm is taken of several at once.
#[derive(Debug, Clone)]
pub struct LogSum {
    logs: Vec<f64>,
    product: Vec<f64>,
}

/// No chance counts as smaller than this.
pub const LEAST: f64 = 1e-280;
/// A product that has fallen below this is taken the logarithm of before another chance could make it vanish.
const FALLEN: f64 = 1e-20;

impl LogSum {
    /// Of nothing, on so many points.
    #[must_use]
    pub fn new(len: usize) -> Self {
        Self {
            logs: vec![0.0; len],
            product: vec![1.0; len],
        }
    }

    /// Adds the logarithms of chances, and to each `height`.
    pub fn add(&mut self, height: f64, chances: &[f64]) {
        let sums = self.logs.iter_mut().zip(&mut self.product);
        for ((log, product), chance) in sums.zip(chances) {
            *log += height;
            if *product < FALLEN {
                *log += std::mem::replace(product, 1.0).ln();
            }
            *product *= chance.max(LEAST);
        }
    }

    /// The sums.
    #[must_use]
    pub fn sums(self) -> Vec<f64> {
        let each = self.logs.into_iter().zip(self.product);
        each.map(|(log, product)| log + product.ln()).collect()
    }
}
