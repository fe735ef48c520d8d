//! Nodes tied to one another and to the ground by springs, several nets of one shape side by side: how far pulls move the
//! nodes. It must not know what a node is.
//!
//! The matrix is a weighted graph's Laplacian. Nodes are taken out one by one, and what ties them is added up and never
//! subtracted, so that every number is right to its last digits however stiff some springs are (Grassmann, Taksar & Heyman
//! 1985, *Operations Research* 33:1107).

use crate::stats::lanes::Lanes;
use crate::stats::wide::Simd;

/// Which springs there can be, and in which order nodes are taken out.
#[derive(Debug)]
pub(super) struct NetShape {
    /// When the turn of each node comes.
    ranks: Vec<usize>,
    /// In order of rank.
    turns: Vec<Turn>,
    springs: usize,
}

/// What there is to do when a node is taken out.
#[derive(Debug)]
struct Turn {
    /// The first of its springs; the others follow.
    first: usize,
    /// The ranks that it is still tied to, rising.
    others: Vec<usize>,
    /// The springs between each two of these, which take over from its own: the first with each later one, and so on.
    between: Vec<usize>,
}

impl NetShape {
    /// Of so many nodes, tied as these pairs say. The one with the fewest ties is always taken out next (minimum degree:
    /// Tinney & Walker 1967, *Proceedings of the IEEE* 55:1801).
    pub(super) fn new(nodes: usize, pairs: impl Iterator<Item = (usize, usize)>) -> Self {
        let mut tied = vec![Nodes::none(nodes); nodes];
        for (a, b) in pairs.filter(|(a, b)| a != b) {
            tied[a].add(b);
            tied[b].add(a);
        }
        let mut left: Vec<usize> = (0..nodes).collect();
        let mut ranks = vec![0; nodes];
        let mut taken = Vec::with_capacity(nodes);
        for rank in 0..nodes {
            let fewest = (0..left.len()).min_by_key(|at| tied[left[*at]].count());
            let node = left.remove(fewest.unwrap_or(0));
            ranks[node] = rank;
            let others = std::mem::replace(&mut tied[node], Nodes::none(0));
            for other in others.each() {
                tied[other].join(&others);
                tied[other].remove(other);
                tied[other].remove(node);
            }
            taken.push(others);
        }
        let mut springs = 0;
        let turn = |others: &Nodes| {
            let mut others: Vec<usize> = others.each().map(|node| ranks[node]).collect();
            others.sort_unstable();
            let first = springs;
            springs += others.len();
            Turn {
                first,
                others,
                between: Vec::new(),
            }
        };
        let turns: Vec<Turn> = taken.iter().map(turn).collect();
        let mut shape = Self {
            ranks,
            turns,
            springs,
        };
        for rank in 0..nodes {
            let others = &shape.turns[rank].others;
            let pairs = others.iter().enumerate().flat_map(|(at, low)| {
                let later = others[at + 1..].iter();
                later.map(|high| shape.between(*low, *high))
            });
            shape.turns[rank].between = pairs.collect();
        }
        shape
    }

    /// How many nodes there are.
    pub(super) fn nodes(&self) -> usize {
        self.ranks.len()
    }

    /// When the turn of a node comes.
    pub(super) fn rank(&self, node: usize) -> usize {
        self.ranks[node]
    }

    /// The spring between two nodes that are tied.
    pub(super) fn spring(&self, a: usize, b: usize) -> usize {
        let (a, b) = (self.ranks[a], self.ranks[b]);
        self.between(a.min(b), a.max(b))
    }

    /// The spring between two ranks.
    fn between(&self, low: usize, high: usize) -> usize {
        let turn = &self.turns[low];
        turn.first + turn.others.partition_point(|other| *other < high)
    }
}

/// A set of nodes.
#[derive(Debug, Clone)]
struct Nodes(Vec<u64>);

impl Nodes {
    /// None, with room for so many.
    fn none(room: usize) -> Self {
        Self(vec![0; room.div_ceil(64)])
    }

    fn add(&mut self, node: usize) {
        self.0[node / 64] |= 1 << (node % 64);
    }

    fn remove(&mut self, node: usize) {
        self.0[node / 64] &= !(1 << (node % 64));
    }

    fn join(&mut self, other: &Self) {
        for (own, other) in self.0.iter_mut().zip(&other.0) {
            *own |= other;
        }
    }

    fn count(&self) -> u32 {
        self.0.iter().map(|word| word.count_ones()).sum()
    }

    fn each(&self) -> impl Iterator<Item = usize> + '_ {
        let words = self.0.iter().enumerate();
        words.flat_map(|(at, word)| {
            (0..64)
                .filter(move |bit| word >> bit & 1 == 1)
                .map(move |bit| 64 * at + bit)
        })
    }
}

/// Nets of one shape, each with its own stiffness of every spring.
#[derive(Debug)]
pub(super) struct Nets<S: Simd> {
    none: Lanes<S>,
    one: Lanes<S>,
    springs: Vec<Lanes<S>>,
    /// What ties each rank to the ground.
    ground: Vec<Lanes<S>>,
    /// One over all that ties each rank when its turn comes.
    softness: Vec<Lanes<S>>,
    /// The part that each spring has in all that ties its lower rank then.
    parts: Vec<Lanes<S>>,
}

impl<S: Simd> Nets<S> {
    /// Without a spring yet.
    pub(super) fn new(simd: S, shape: &NetShape) -> Self {
        let none = Lanes::all(simd, 0.0);
        Self {
            none,
            one: Lanes::all(simd, 1.0),
            springs: vec![none; shape.springs],
            ground: vec![none; shape.nodes()],
            softness: vec![none; shape.nodes()],
            parts: vec![none; shape.springs],
        }
    }

    /// Loosens all springs.
    #[inline(always)]
    pub(super) fn loosen(&mut self) {
        self.springs.fill(self.none);
        self.ground.fill(self.none);
    }

    /// Makes a spring stiffer.
    #[inline(always)]
    pub(super) fn stiffen(&mut self, spring: usize, by: Lanes<S>) {
        self.springs[spring] += by;
    }

    /// Ties a rank more to the ground.
    #[inline(always)]
    pub(super) fn hold(&mut self, rank: usize, by: Lanes<S>) {
        self.ground[rank] += by;
    }

    /// Takes all nodes out, one by one.
    #[inline(always)]
    pub(super) fn take_out(&mut self, shape: &NetShape) {
        for (rank, turn) in shape.turns.iter().enumerate() {
            let own = turn.first..turn.first + turn.others.len();
            let grounded = self.ground[rank];
            let mut whole = grounded;
            for spring in &self.springs[own.clone()] {
                whole += *spring;
            }
            let softness = self.one / whole;
            self.softness[rank] = softness;
            for (part, spring) in self.parts[own.clone()]
                .iter_mut()
                .zip(&self.springs[own.clone()])
            {
                *part = *spring * softness;
            }
            let mut between = turn.between.iter();
            for (other, at) in turn.others.iter().zip(own.clone()) {
                let part = self.parts[at];
                self.ground[*other] += part * grounded;
                for (later, spring) in (at + 1..own.end).zip(&mut between) {
                    let taken_over = part * self.springs[later];
                    self.springs[*spring] += taken_over;
                }
            }
        }
    }

    /// How far each rank is moved by the pulls in `moved`, once all are taken out.
    #[inline(always)]
    pub(super) fn settle(&self, shape: &NetShape, moved: &mut [Lanes<S>]) {
        for (rank, turn) in shape.turns.iter().enumerate() {
            let pull = moved[rank];
            for (other, part) in turn.others.iter().zip(&self.parts[turn.first..]) {
                moved[*other] += *part * pull;
            }
        }
        for (rank, turn) in shape.turns.iter().enumerate().rev() {
            let mut by = moved[rank] * self.softness[rank];
            for (other, part) in turn.others.iter().zip(&self.parts[turn.first..]) {
                by += *part * moved[*other];
            }
            moved[rank] = by;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{NetShape, Nets};
    use crate::stats::dice::Dice;
    use crate::stats::lanes::Lanes;
    use pulp::Scalar;

    #[test]
    fn nodes_settle_where_all_springs_hold_the_pulls() {
        for seed in 0..200 {
            let mut dice = Dice::new(seed);
            let nodes = 1 + dice.place(90);
            let count = dice.place(4 * nodes);
            let mut pairs: Vec<(usize, usize)> = (1..nodes).map(|node| (node - 1, node)).collect();
            pairs.extend((0..count).map(|_| (dice.place(nodes), dice.place(nodes))));
            pairs.retain(|(a, b)| a != b);
            let shape = NetShape::new(nodes, pairs.iter().copied());
            let mut nets = Nets::new(Scalar, &shape);
            // From soft to stiff by a factor of a million million.
            let mut stiffness = || 10.0_f64.powf(12.0 * dice.unit() - 6.0);
            let springs: Vec<f64> = pairs.iter().map(|_| stiffness()).collect();
            let ground: Vec<f64> = (0..nodes).map(|_| stiffness()).collect();
            for (&(a, b), by) in pairs.iter().zip(&springs) {
                nets.stiffen(shape.spring(a, b), Lanes::all(Scalar, *by));
            }
            for (node, by) in ground.iter().enumerate() {
                nets.hold(shape.rank(node), Lanes::all(Scalar, *by));
            }
            let pulls: Vec<f64> = (0..nodes).map(|_| dice.unit() - 0.5).collect();
            let mut moved = vec![Lanes::all(Scalar, 0.0); nodes];
            for (node, pull) in pulls.iter().enumerate() {
                moved[shape.rank(node)] = Lanes::all(Scalar, *pull);
            }
            nets.take_out(&shape);
            nets.settle(&shape, &mut moved);
            let at = |node| {
                let mut at = 0.0;
                moved[shape.rank(node)].write(std::slice::from_mut(&mut at));
                at
            };
            let mut held: Vec<f64> = ground
                .iter()
                .enumerate()
                .map(|(n, by)| by * at(n))
                .collect();
            let mut size: Vec<f64> = held.iter().map(|force| force.abs()).collect();
            for (&(a, b), by) in pairs.iter().zip(&springs) {
                for (node, other) in [(a, b), (b, a)] {
                    held[node] += by * (at(node) - at(other));
                    size[node] += by * (at(node).abs() + at(other).abs());
                }
            }
            for ((held, pull), size) in held.iter().zip(&pulls).zip(&size) {
                assert!(
                    (held - pull).abs() <= 1e-12 * (1.0 + size),
                    "{held} for {pull} from {seed}"
                );
            }
        }
    }
}
