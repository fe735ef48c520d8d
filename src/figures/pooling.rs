//! Partial pooling on a grid: groups within groups whose means differ by normal deviations of unknown spread.
//! It must not know what the mean is of, nor how its likelihood came about.
//!
//! Every node of the tree has a mean on one common grid; a child's mean is normal around its parent's, with a
//! spread of its own for each level. Leaves bring log-likelihoods of their mean. Messages are passed up and down the
//! tree (Pearl 1988, *Probabilistic Reasoning in Intelligent Systems*, chapter 4), which on a tree is exact, and the
//! spreads are integrated over a coarse grid of their values instead of being plugged in (Gelman 2006, *Bayesian
//! Analysis* 1:515, half-normal priors for spreads; quadrature as in Rue, Martino & Chopin 2009, *Journal of the
//! Royal Statistical Society B* 71:319).

/// Equally spaced points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// The first point.
    pub low: f64,
    /// From one to the next, above 0.
    pub step: f64,
    /// How many.
    pub len: usize,
}

impl Grid {
    /// The point of that number.
    #[must_use]
    pub fn at(&self, place: usize) -> f64 {
        self.low + self.step * place as f64
    }

    /// All points.
    pub fn points(&self) -> impl Iterator<Item = f64> + '_ {
        (0..self.len).map(|place| self.at(place))
    }

    /// Log of a normal density at the points, but for a constant.
    #[must_use]
    pub fn normal(&self, mean: f64, spread: f64) -> Vec<f64> {
        let at = |x: f64| -0.5 * ((x - mean) / spread).powi(2);
        self.points().map(at).collect()
    }

    /// Weights spread by a normal deviation of that spread, each column of chances summing to 1: `out[j]` is
    /// Σᵢ wᵢ·N(j; i) going down to a child, or Σᵢ N(i; j)·wᵢ going up to a parent.
    #[must_use]
    pub fn spread(&self, weights: &[f64], spread: f64, way: Way) -> Vec<f64> {
        let reach = ((4.5 * spread / self.step).ceil() as usize).min(self.len);
        let half = |apart: usize| {
            let z = self.step * apart as f64 / spread.max(1e-9);
            (-0.5 * z * z).exp()
        };
        // The bell from its one end to the other, its middle at `reach`.
        let bell: Vec<f64> = (0..=2 * reach).map(|at| half(at.abs_diff(reach))).collect();
        let mut beside = vec![0.0; reach + 1];
        for apart in 1..=reach {
            beside[apart] = beside[apart - 1] + bell[reach + apart];
        }
        let around = |at: usize| at.saturating_sub(reach)..(at + reach + 1).min(self.len);
        let over = |at: usize| {
            let here = around(at);
            &bell[here.start + reach - at..here.end + reach - at]
        };
        // The part of the bell that lies on the grid, by its middle.
        let within = |at: usize| {
            let [before, after] = [at, self.len - 1 - at].map(|room| beside[room.min(reach)]);
            bell[reach] + before + after
        };
        let mut out = vec![0.0; self.len];
        match way {
            Way::Up => {
                for (at, out) in out.iter_mut().enumerate() {
                    *out = dot(over(at), &weights[around(at)]) / within(at);
                }
            }
            Way::Down => {
                for (at, &weight) in weights.iter().enumerate() {
                    if weight > 0.0 {
                        let share = weight / within(at);
                        for (out, bell) in out[around(at)].iter_mut().zip(over(at)) {
                            *out += share * bell;
                        }
                    }
                }
            }
        }
        out
    }
}

/// The sum of products, in four sums side by side: it is most of what forecasts cost.
fn dot(one: &[f64], other: &[f64]) -> f64 {
    let (ones, others) = (one.chunks_exact(4), other.chunks_exact(4));
    let rest: f64 = ones
        .remainder()
        .iter()
        .zip(others.remainder())
        .map(|(a, b)| a * b)
        .sum();
    let mut sums = [0.0; 4];
    for (a, b) in ones.zip(others) {
        for at in 0..4 {
            sums[at] += a[at] * b[at];
        }
    }
    sums.iter().sum::<f64>() + rest
}

/// Which way a deviation is spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// From what is known of a child to what it says of its parent.
    Up,
    /// From what is known of a parent to what it says of a child.
    Down,
}

/// Groups within groups: for each level, from the leaves up, the parent of each node in the next level. The
/// nodes of the last level have the one root for their parent.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Tree {
    /// `up[0][leaf]` is a node of level 1, and so on; in the last level every number is 0.
    pub up: Vec<Vec<usize>>,
}

impl Tree {
    fn levels(&self) -> usize {
        self.up.len()
    }

    fn nodes(&self, level: usize) -> usize {
        self.up.get(level).map_or(1, Vec::len)
    }
}

/// One value of what else is unknown (such as the spread within leaves), with the leaves' log-likelihoods under it.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    /// Log of its prior weight.
    pub log_prior: f64,
    /// For each leaf the log-likelihood at each point of the grid.
    pub leaves: Vec<Vec<f64>>,
}

/// What is believed of the spreads before any leaf is seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Spreads<'a> {
    /// The values tried at every level, ascending, about equally far apart in their logarithm.
    pub tried: &'a [f64],
    /// Scale of the half-normal prior.
    pub scale: f64,
}

/// One setting of the unknown spreads, with what it makes of the tree.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// Its posterior weight; the weights sum to 1.
    pub weight: f64,
    /// The number of its start.
    pub start: usize,
    /// The spread of each level's nodes around their parents.
    pub spreads: Vec<f64>,
    /// For each leaf, what all *other* leaves say of its mean; sums to 1.
    pub others: Vec<Vec<f64>>,
    /// Beliefs by level above the leaves (first level 1, last the root) and node; each sums to 1.
    beliefs: Vec<Vec<Vec<f64>>>,
}

/// A place in the tree that is asked about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spot {
    /// A leaf that is there.
    Leaf(usize),
    /// A new leaf whose nearest known forebear is that node of that level (1 and up; the root is the last).
    Below {
        /// The level, from 1.
        level: usize,
        /// The node.
        node: usize,
    },
}

impl Setting {
    /// What is believed of the mean of a new leaf, or of a leaf that is there by all leaves but its own.
    #[must_use]
    pub fn mean_at(&self, grid: &Grid, spot: Spot) -> Vec<f64> {
        match spot {
            Spot::Leaf(leaf) => self.others[leaf].clone(),
            Spot::Below { level, node } => {
                let held = self.beliefs[level - 1][node].clone();
                let below = self.spreads[..level].iter().rev();
                below.fold(held, |mean, &spread| grid.spread(&mean, spread, Way::Down))
            }
        }
    }
}

/// Settings lighter than this beside the heaviest are left out.
const LIGHT: f64 = 0.01;
/// No more settings than these are kept.
const MOST: usize = 32;

/// The pooled tree: settings by weight, heaviest first. `root`: log prior of the root's mean on the grid. Empty
/// only if nothing has a likelihood above 0.
#[must_use]
pub fn pool(
    tree: &Tree,
    grid: &Grid,
    starts: &[Start],
    spreads: &Spreads<'_>,
    root: &[f64],
) -> Vec<Setting> {
    let mut search = Search {
        tree,
        grid,
        spreads,
        root,
        found: Vec::new(),
    };
    for (number, start) in starts.iter().enumerate() {
        search.climb(number, start.log_prior, &start.leaves, &mut Vec::new());
    }
    let mut found = search.found;
    found.sort_by(|a, b| b.2.total_cmp(&a.2));
    let Some(top) = found.first().map(|f| f.2).filter(|top| top.is_finite()) else {
        return Vec::new();
    };
    found.retain(|f| (f.2 - top).exp() >= LIGHT);
    found.truncate(MOST);
    let whole: f64 = found.iter().map(|f| (f.2 - top).exp()).sum();
    let settings = found.into_iter().map(|(start, tried, height)| {
        let weight = (height - top).exp() / whole;
        setting(
            tree,
            grid,
            root,
            &starts[start].leaves,
            start,
            tried,
            weight,
        )
    });
    settings.collect()
}

/// The search through all settings, sharing what settings have in common.
struct Search<'a> {
    tree: &'a Tree,
    grid: &'a Grid,
    spreads: &'a Spreads<'a>,
    root: &'a [f64],
    /// Start, spreads, log of the posterior weight.
    found: Vec<(usize, Vec<f64>, f64)>,
}

impl Search<'_> {
    fn climb(&mut self, start: usize, so_far: f64, nodes: &[Vec<f64>], tried: &mut Vec<f64>) {
        let level = tried.len();
        if level == self.tree.levels() {
            let top = nodes.first().map_or(self.root, Vec::as_slice);
            let joint: Vec<f64> = top.iter().zip(self.root).map(|(a, b)| a + b).collect();
            let (weights, height) = linear(&joint);
            let sum: f64 = weights.iter().sum();
            self.found
                .push((start, tried.clone(), so_far + height + sum.ln()));
            return;
        }
        for &spread in self.spreads.tried {
            // Half-normal, with the spacing of values that lie evenly in their logarithm.
            let z = spread / self.spreads.scale;
            let prior = spread.ln() - 0.5 * z * z;
            let above = upward(self.tree, self.grid, level, nodes, spread);
            tried.push(spread);
            self.climb(start, so_far + prior, &above, tried);
            tried.pop();
        }
    }
}

/// exp of logs less their greatest, and that greatest.
fn linear(logs: &[f64]) -> (Vec<f64>, f64) {
    let height = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if !height.is_finite() {
        return (vec![0.0; logs.len()], f64::NEG_INFINITY);
    }
    (logs.iter().map(|l| (l - height).exp()).collect(), height)
}

/// What a node says of its parent's mean, in logs.
fn message(grid: &Grid, node: &[f64], spread: f64) -> Vec<f64> {
    let (weights, height) = linear(node);
    let up = grid.spread(&weights, spread, Way::Up);
    up.into_iter()
        .map(|w| height + w.max(1e-280).ln())
        .collect()
}

/// Log-likelihoods of the next level's nodes.
fn upward(
    tree: &Tree,
    grid: &Grid,
    level: usize,
    nodes: &[Vec<f64>],
    spread: f64,
) -> Vec<Vec<f64>> {
    let mut above = vec![vec![0.0; grid.len]; tree.nodes(level + 1)];
    for (node, &parent) in nodes.iter().zip(&tree.up[level]) {
        // A leaf that says nothing adds nothing.
        if node.iter().all(|&l| l == 0.0) {
            continue;
        }
        for (sum, said) in above[parent].iter_mut().zip(message(grid, node, spread)) {
            *sum += said;
        }
    }
    above
}

/// The way down under one setting: beliefs of all nodes, and for leaves what the others say.
fn setting(
    tree: &Tree,
    grid: &Grid,
    root: &[f64],
    leaves: &[Vec<f64>],
    start: usize,
    spreads: Vec<f64>,
    weight: f64,
) -> Setting {
    let mut levels = vec![leaves.to_vec()];
    for (level, &spread) in spreads.iter().enumerate() {
        let above = upward(tree, grid, level, &levels[level], spread);
        levels.push(above);
    }
    // Log of what comes from above to each node of the level under way.
    let mut from_above = vec![root.to_vec()];
    let mut beliefs = Vec::new();
    for level in (0..tree.levels()).rev() {
        let here = &levels[level + 1];
        let both = here.iter().zip(&from_above);
        let believed: Vec<Vec<f64>> = both
            .map(|(own, above)| own.iter().zip(above).map(|(a, b)| a + b).collect())
            .collect();
        let down = levels[level].iter().zip(&tree.up[level]);
        from_above = down
            .map(|(node, &parent)| {
                let mut rest = believed[parent].clone();
                if node.iter().any(|&l| l != 0.0) {
                    let said = message(grid, node, spreads[level]);
                    rest.iter_mut().zip(said).for_each(|(r, s)| *r -= s);
                }
                let spread = grid.spread(&linear(&rest).0, spreads[level], Way::Down);
                spread.into_iter().map(|w| w.max(1e-280).ln()).collect()
            })
            .collect();
        beliefs.push(believed.iter().map(|b| normalised(b)).collect());
    }
    beliefs.reverse();
    Setting {
        weight,
        start,
        spreads,
        others: from_above.iter().map(|f| normalised(f)).collect(),
        beliefs,
    }
}

/// exp of logs, scaled to sum to 1.
#[must_use]
pub fn normalised(logs: &[f64]) -> Vec<f64> {
    let (mut weights, _) = linear(logs);
    let sum: f64 = weights.iter().sum();
    if sum > 0.0 {
        weights.iter_mut().for_each(|w| *w /= sum);
    }
    weights
}
