//! Partial pooling on a grid: groups within groups whose means differ by normal deviations of unknown spread.
//! It must not know what the mean is of, nor how its likelihood came about.
//!
//! Every node of the tree has a mean on one common grid; a child's mean is normal around its parent's, with a
//! spread of its own for each level. Leaves bring log-likelihoods of their mean. Messages are passed up and down the
//! tree (Pearl 1988, *Probabilistic Reasoning in Intelligent Systems*, chapter 4), which on a tree is exact, and the
//! spreads are integrated over a coarse grid of their values instead of being plugged in (Gelman 2006, *Bayesian
//! Analysis* 1:515, half-normal priors for spreads; quadrature as in Rue, Martino & Chopin 2009, *Journal of the
//! Royal Statistical Society B* 71:319).

use super::wide::{Simd, Work, widely};
use super::workers;
use std::borrow::Cow;
use std::ops::Range;

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

    /// Weights spread by a normal deviation of that spread: [`Bell::spread`].
    #[must_use]
    pub fn spread(&self, weights: &[f64], spread: f64, way: Direction) -> Vec<f64> {
        self.bell(spread).spread(weights, way)
    }

    /// A normal deviation of that spread on the grid.
    #[must_use]
    pub fn bell(&self, spread: f64) -> Bell {
        let reach = ((4.5 * spread / self.step).ceil() as usize).min(self.len);
        let half = |apart: usize| {
            let z = self.step * apart as f64 / spread.max(1e-9);
            (-0.5 * z * z).exp()
        };
        let heights: Vec<f64> = (0..=reach).map(half).collect();
        let mut beside = vec![0.0; reach + 1];
        for apart in 1..=reach {
            beside[apart] = beside[apart - 1] + heights[apart];
        }
        let within = |at: usize| {
            let [before, after] = [at, self.len - 1 - at].map(|room| beside[room.min(reach)]);
            heights[0] + before + after
        };
        let height = |at: usize| heights.get(at.abs_diff(reach + LANES)).copied();
        let curve = (0..=2 * (reach + LANES)).map(|at| height(at).unwrap_or(0.0));
        Bell {
            reach,
            within: (0..self.len).map(within).collect(),
            curve: curve.collect(),
        }
    }
}

/// Weights lighter than this beside the heaviest are taken as nothing where they are spread.
const NOTHING: f64 = 1e-30;

/// So many points of a grid are worked on side by side.
const LANES: usize = 32;

/// A normal deviation on a grid.
#[derive(Debug, Clone, PartialEq)]
pub struct Bell {
    reach: usize,
    /// From its one end to the other, between as many zeros as there are lanes; its middle stands at the reach behind those.
    curve: Vec<f64>,
    /// The part of it that lies on the grid, by its middle.
    within: Vec<f64>,
}

impl Bell {
    /// Weights spread by the deviation, each column of chances summing to 1: `out[j]` is Σᵢ wᵢ·N(j; i) going down to a
    /// child, or Σᵢ N(i; j)·wᵢ going up to a parent.
    #[must_use]
    pub fn spread(&self, weights: &[f64], way: Direction) -> Vec<f64> {
        let least = NOTHING * weights.iter().copied().fold(0.0, f64::max);
        let first = weights.iter().position(|w| *w > least).unwrap_or(0);
        let last = weights.iter().rposition(|w| *w > least).unwrap_or(0);
        let scaled = |weights: &[f64]| -> Vec<f64> {
            let each = weights.iter().zip(&self.within);
            each.map(|(weight, within)| weight / within).collect()
        };
        let blurred = |weights: &[f64]| {
            widely(Blur {
                bell: self,
                weights,
                places: first..last + 1,
            })
        };
        match way {
            Direction::Up => scaled(&blurred(weights)),
            Direction::Down => blurred(&scaled(weights)),
        }
    }
}

/// Every weight at these places times the curve around it, summed by place.
struct Blur<'a> {
    bell: &'a Bell,
    weights: &'a [f64],
    places: Range<usize>,
}

impl Work for Blur<'_> {
    type Output = Vec<f64>;

    #[inline(always)]
    fn work<S: Simd>(self, _: S) -> Vec<f64> {
        let Bell { reach, curve, .. } = self.bell;
        let mut out = vec![0.0; self.weights.len()];
        for (block, out) in out.chunks_mut(LANES).enumerate() {
            let at = block * LANES;
            // No place further off lies under the curve.
            let low = at.saturating_sub(*reach).max(self.places.start);
            let high = (at + LANES + reach).min(self.places.end);
            let mut sums = [0.0; LANES];
            for (place, weight) in (low..high).zip(self.weights.get(low..high).unwrap_or_default())
            {
                let from = (reach + LANES + at).saturating_sub(place);
                let Some(curve) = curve.get(from..).and_then(<[f64]>::first_chunk::<LANES>) else {
                    continue;
                };
                for lane in 0..LANES {
                    sums[lane] += weight * curve[lane];
                }
            }
            out.copy_from_slice(&sums[..out.len()]);
        }
        out
    }
}

/// Which way a deviation is spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
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

/// What is believed of the spreads before any leaf is seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Spreads<'a> {
    /// The values tried at every level, ascending, about equally far apart in their logarithm.
    pub tried: &'a [f64],
    /// Scale of the half-normal prior.
    pub scale: f64,
}

/// What is believed before anything is seen. What else is unknown (such as the spread within leaves) has values of its
/// own, the starts, in rows: those beside, above and below one another are alike.
#[derive(Debug, Clone)]
pub struct PriorSettings<'a> {
    /// For each start the log of its prior weight.
    pub starts: &'a [f64],
    /// How many starts stand in a row.
    pub row: usize,
    /// Log priors of the spreads between groups.
    pub spreads: &'a Spreads<'a>,
    /// Log prior of the root's mean on the grid.
    pub root: &'a [f64],
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
    pub fn mean_at(&self, grid: &Grid, spot: Spot) -> Cow<'_, [f64]> {
        match spot {
            Spot::Leaf(leaf) => Cow::Borrowed(&self.others[leaf]),
            Spot::Below { level, node } => {
                let held = self.beliefs[level - 1][node].clone();
                let below = self.spreads[..level].iter().rev();
                Cow::Owned(below.fold(held, |mean, &spread| {
                    grid.spread(&mean, spread, Direction::Down)
                }))
            }
        }
    }
}

/// Settings lighter than this beside the heaviest are left out.
const LIGHT: f64 = 0.01;
/// No more settings than these are kept.
const MOST: usize = 32;

/// Starts and spreads so much lighter than the heaviest, in logs (a thousandth), have no neighbours looked at: those are
/// lighter still.
const STEEP: f64 = 6.9;

/// The pooled tree: settings by weight, heaviest first. `leaves`: for a start the leaves' log-likelihoods at each point
/// of the grid; asked from the middle start outwards, as far as starts have any weight. Empty only if nothing has a
/// likelihood above 0.
#[must_use]
pub fn pool(
    tree: &Tree,
    grid: &Grid,
    before: &PriorSettings<'_>,
    leaves: &mut dyn FnMut(usize) -> Vec<Vec<f64>>,
) -> Vec<Setting> {
    let bells = before.spreads.tried.iter().map(|&spread| grid.bell(spread));
    let mut search = Search {
        tree,
        before,
        bells: bells.collect(),
        found: Vec::new(),
        best: f64::NEG_INFINITY,
    };
    let starts = search.starts(leaves);
    let Search {
        bells, mut found, ..
    } = search;
    found.sort_by(|a, b| b.2.total_cmp(&a.2));
    let Some(top) = found.first().map(|f| f.2).filter(|top| top.is_finite()) else {
        return Vec::new();
    };
    found.retain(|f| (f.2 - top).exp() >= LIGHT);
    found.truncate(MOST);
    let whole: f64 = found.iter().map(|f| (f.2 - top).exp()).sum();
    let settings = found.into_iter().map(|(start, tried, height)| {
        let way: Vec<&Bell> = tried.iter().map(|&at| &bells[at]).collect();
        let (others, beliefs) = downwards(tree, before.root, &starts[start], &way);
        Setting {
            weight: (height - top).exp() / whole,
            start,
            spreads: tried.iter().map(|&at| before.spreads.tried[at]).collect(),
            others,
            beliefs,
        }
    });
    settings.collect()
}

/// The search through all settings, sharing what settings have in common.
struct Search<'a> {
    tree: &'a Tree,
    before: &'a PriorSettings<'a>,
    /// The bell curves of the spreads tried.
    bells: Vec<Bell>,
    /// Start, numbers of the spreads, log of the posterior weight.
    found: Vec<(usize, Vec<usize>, f64)>,
    /// The greatest of these.
    best: f64,
}

impl Search<'_> {
    /// Visits starts from the middle outwards; gives the leaves of those visited.
    fn starts(&mut self, leaves: &mut dyn FnMut(usize) -> Vec<Vec<f64>>) -> Vec<Vec<Vec<f64>>> {
        let (count, row) = (self.before.starts.len(), self.before.row.max(1));
        let mut visited = vec![Vec::new(); count];
        let mut asked = vec![false; count];
        let mut next = Vec::from_iter((count > 0).then_some(count / row / 2 * row + row / 2));
        while let Some(start) = next.pop() {
            if std::mem::replace(&mut asked[start], true) {
                continue;
            }
            visited[start] = leaves(start);
            let prior = self.before.starts[start];
            let height = self.climb(start, prior, &visited[start], &mut Vec::new());
            if height >= self.best - STEEP || !self.best.is_finite() {
                next.extend((start >= row).then(|| start - row));
                next.extend((start + row < count).then_some(start + row));
                next.extend((start % row > 0).then(|| start - 1));
                next.extend(((start + 1) % row > 0 && start + 1 < count).then_some(start + 1));
            }
        }
        visited
    }

    /// Tries the spreads of the level under way and above; gives the greatest height found.
    fn climb(
        &mut self,
        start: usize,
        so_far: f64,
        nodes: &[Vec<f64>],
        tried: &mut Vec<usize>,
    ) -> f64 {
        let level = tried.len();
        if level == self.tree.levels() {
            let root = self.before.root;
            let top = nodes.first().map_or(root, Vec::as_slice);
            let joint: Vec<f64> = top.iter().zip(root).map(|(a, b)| a + b).collect();
            let (weights, height) = linear(&joint);
            let height = so_far + height + weights.iter().sum::<f64>().ln();
            self.found.push((start, tried.clone(), height));
            self.best = self.best.max(height);
            return height;
        }
        let (weights, heights): (Vec<Vec<f64>>, Vec<f64>) = nodes.iter().map(|n| linear(n)).unzip();
        let so_far = so_far + heights.iter().sum::<f64>();
        let spreads = self.before.spreads;
        let mut one = |search: &mut Self, at: usize| {
            // Half-normal, with the spacing of values that lie evenly in their logarithm.
            let spread = spreads.tried[at];
            let prior = spread.ln() - 0.5 * (spread / spreads.scale).powi(2);
            let said = said(&weights, &search.bells[at]);
            let above = gathered(search.tree, level, &said, search.before.root.len());
            tried.push(at);
            let height = search.climb(start, so_far + prior, &above, tried);
            tried.pop();
            height
        };
        // From the middle outwards, as far as it rises or has weight.
        let middle = spreads.tried.len() / 2;
        let ways: [Vec<usize>; 2] = [
            (middle..spreads.tried.len()).collect(),
            (0..middle).rev().collect(),
        ];
        let (mut best, mut first) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        for way in ways {
            let mut before = first;
            for at in way {
                let height = one(self, at);
                if at == middle {
                    first = height;
                }
                best = best.max(height);
                if height < before && height < self.best - STEEP {
                    break;
                }
                before = height;
            }
        }
        best
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

/// No chance is smaller than this beside the greatest, so that a node rules nothing out for its parent.
const FLOOR: f64 = 1e-60;
/// This many such chances can be multiplied before their product is too small for a number.
const FACTORS: usize = 5;

/// What each node says of its parent's mean, the nodes' weights at most 1.
fn said(nodes: &[Vec<f64>], bell: &Bell) -> Vec<Vec<f64>> {
    workers::map(nodes.len(), |node| {
        let mut said = bell.spread(&nodes[node], Direction::Up);
        said.iter_mut().for_each(|w| *w = w.max(FLOOR));
        said
    })
}

/// Log-likelihoods of the next level's nodes on a grid of `len` points, from the evidence below them. A logarithm is
/// taken of several factors at once.
fn gathered(tree: &Tree, level: usize, said: &[Vec<f64>], len: usize) -> Vec<Vec<f64>> {
    let mut above = vec![(vec![0.0; len], vec![1.0; len], 0); tree.nodes(level + 1)];
    let take = |(logs, product, factors): &mut (Vec<f64>, Vec<f64>, usize)| {
        let sums = logs.iter_mut().zip(product);
        sums.for_each(|(log, product)| *log += std::mem::replace(product, 1.0).ln());
        *factors = 0;
    };
    for (said, &parent) in said.iter().zip(&tree.up[level]) {
        let parent = &mut above[parent];
        parent.1.iter_mut().zip(said).for_each(|(p, s)| *p *= s);
        parent.2 += 1;
        if parent.2 == FACTORS {
            take(parent);
        }
    }
    above.iter_mut().for_each(take);
    above.into_iter().map(|(logs, ..)| logs).collect()
}

/// The way down under one setting: what the other leaves say of each, and the beliefs of all nodes above.
fn downwards(
    tree: &Tree,
    root: &[f64],
    leaves: &[Vec<f64>],
    way: &[&Bell],
) -> (Vec<Vec<f64>>, Vec<Vec<Vec<f64>>>) {
    let of = |logs: &[Vec<f64>]| -> Vec<Vec<f64>> { logs.iter().map(|l| linear(l).0).collect() };
    let mut levels = vec![of(leaves)];
    let mut all_said = Vec::new();
    for (level, bell) in way.iter().enumerate() {
        let said = said(&levels[level], bell);
        levels.push(of(&gathered(tree, level, &said, root.len())));
        all_said.push(said);
    }
    // What comes from above to each node of the level under way.
    let mut from_above = vec![linear(root).0];
    let mut beliefs = Vec::new();
    for level in (0..tree.levels()).rev() {
        let both = levels[level + 1].iter().zip(&from_above);
        let believed: Vec<Vec<f64>> = both.map(|(own, above)| product(own, above)).collect();
        let (children, parents) = (&all_said[level], &tree.up[level]);
        from_above = workers::map(children.len().min(parents.len()), |child| {
            let rest = believed[parents[child]].iter().zip(&children[child]);
            let rest = rest.map(|(b, s)| b / s).collect();
            scaled(way[level].spread(&scaled(rest), Direction::Down))
        });
        beliefs.push(believed);
    }
    beliefs.reverse();
    (from_above, beliefs)
}

/// Weights times weights, scaled to sum to 1; none rules a value out, so that contradictions leave something.
fn product(one: &[f64], other: &[f64]) -> Vec<f64> {
    let floor = |w: f64| w.max(1e-150);
    let each = one.iter().zip(other);
    scaled(each.map(|(a, b)| floor(*a) * floor(*b)).collect())
}

/// exp of logs less their greatest.
#[must_use]
pub fn weights(logs: &[f64]) -> Vec<f64> {
    linear(logs).0
}

/// exp of logs, scaled to sum to 1.
#[must_use]
pub fn normalised(logs: &[f64]) -> Vec<f64> {
    scaled(linear(logs).0)
}

/// Weights scaled to sum to 1.
fn scaled(mut weights: Vec<f64>) -> Vec<f64> {
    let sum: f64 = weights.iter().sum();
    if sum > 0.0 {
        weights.iter_mut().for_each(|w| *w /= sum);
    }
    weights
}
