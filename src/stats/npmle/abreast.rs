//! The maximum under several weights side by side, by a primal-dual interior-point method. It gives no curve that may lie
//! further than so much from the maximum.
//!
//! With mass p_j in cell j, probability s_i of range i, weight w_i, and n their sum, the maximum is where each range pulls
//! with y_i = w_i / s_i, each cell's slack d_j = n - Σ y_i over the ranges that cover it is not negative, and p_j d_j = 0
//! (Koenker & Mizera 2014, *Journal of the American Statistical Association* 109:674, whose dual problem has these y).
//! Newton steps seek p_j d_j = a share of what it is in the mean, foreseen and corrected as by Mehrotra (1992, *SIAM Journal
//! on Optimization* 2:575). Their unknowns are the running totals of the masses, of which every range touches two: a net of
//! springs (`net`). No cell is ever shut on the way, so that all lanes do the same.

use super::axis::{Axis, Span, Tie};
use super::net::Nets;
use super::rows::{Estimate, Mass};
use crate::stats::lanes::Lanes;
use crate::stats::wide::{Simd, Work, widely};

/// Lanes that take more steps than this are left to the other solver: most take 6 to 12.
const STEPS: u32 = 30;
/// Rounds of the EM algorithm that come first; after one the masses sum to 1, and steps keep their sum.
const ROUNDS: u32 = 3;
/// The part of the start that is alike in all cells; the rest is the near estimate's.
const EVEN: f64 = 0.5;
/// The part of the way to where something would turn negative.
const SHORT_OF: f64 = 0.995;
/// So stiff is what holds a cell shut that a lane does not have.
const SHUT: f64 = 1e30;
/// In place of zeros that nothing hangs on.
const TINY: f64 = 1e-200;
/// A mass below this counts as none.
const DUST: f64 = 1e-9;

/// The curves under each of these weights, sought from the estimate of similar ones: no distribution has a log-likelihood
/// higher by more than `gap`. None where the maximum was not come so near.
pub(super) fn curves(
    axis: &Axis,
    weights: &[Vec<f64>],
    near: &Estimate,
    gap: f64,
) -> Vec<Option<Vec<Mass>>> {
    widely(Curves {
        axis,
        weights,
        near,
        gap,
    })
}

struct Curves<'a> {
    axis: &'a Axis,
    weights: &'a [Vec<f64>],
    near: &'a Estimate,
    gap: f64,
}

impl Work for Curves<'_> {
    type Output = Vec<Option<Vec<Mass>>>;

    #[inline(always)]
    fn work<S: Simd>(self, simd: S) -> Self::Output {
        let lanes = Lanes::<S>::COUNT;
        let mut abreast = Abreast::new(simd, self.axis, self.gap);
        let mut beside = vec![0.0; lanes * self.axis.rows.len()];
        let mut out = Vec::with_capacity(self.weights.len());
        for some in self.weights.chunks(lanes) {
            // Where there are fewer, the last fills the other lanes.
            for lane in 0..lanes {
                let Some(weights) = some.get(lane).or(some.last()) else {
                    continue;
                };
                let each = beside.chunks_exact_mut(lanes).zip(weights);
                for ((beside, weight), row) in each.zip(&self.axis.rows) {
                    beside[lane] = if row.is_placed() { *weight } else { 0.0 };
                }
            }
            out.extend(
                abreast
                    .curves(&beside, self.near)
                    .into_iter()
                    .take(some.len()),
            );
        }
        out
    }
}

/// A range under each lane's weights.
#[derive(Debug, Clone, Copy)]
struct Range<S: Simd> {
    weight: Lanes<S>,
    /// y: its weight over its probability, once at the maximum.
    pull: Lanes<S>,
    /// One over its probability, and one over its pull.
    inverse: [Lanes<S>; 2],
    /// By how much a step changes its probability and its pull.
    step: [Lanes<S>; 2],
}

impl<S: Simd> Range<S> {
    /// How stiffly it ties its two totals.
    #[inline(always)]
    fn stiffness(&self) -> Lanes<S> {
        self.pull * self.inverse[0]
    }

    /// The pull to aim at, were its probability to stay, seen from where its step would lead.
    #[inline(always)]
    fn aim(&self) -> Lanes<S> {
        (self.weight - self.step[0] * self.step[1]) * self.inverse[0]
    }
}

/// A cell in each lane.
#[derive(Debug, Clone, Copy)]
struct Cell<S: Simd> {
    /// 1 where the lane has it, else 0.
    is_there: Lanes<S>,
    /// When it begins.
    after: Lanes<S>,
    mass: Lanes<S>,
    slack: Lanes<S>,
    /// One over its mass, and one over its slack.
    inverse: [Lanes<S>; 2],
    /// By how much a step changes its mass and its slack.
    step: [Lanes<S>; 2],
}

impl<S: Simd> Cell<S> {
    /// The slack at which its product with the mass would be `product`, were the mass to stay, seen from where its step
    /// would lead.
    #[inline(always)]
    fn aim(&self, product: Lanes<S>) -> Lanes<S> {
        (product - self.step[0] * self.step[1]) * self.inverse[0]
    }
}

/// As many problems of one axis as there are lanes.
struct Abreast<'a, S: Simd> {
    simd: S,
    axis: &'a Axis,
    /// Where a lane is done.
    gap: f64,
    ranges: Vec<Range<S>>,
    cells: Vec<Cell<S>>,
    nets: Nets<S>,
    /// The sum of the weights.
    n: Lanes<S>,
    /// How many cells there are.
    count: Lanes<S>,
    /// Running totals of the masses, from 0 to 1.
    totals: Vec<Lanes<S>>,
    /// By how much the pull of all ranges that cover a cell exceeds that on the cell before.
    pulls: Vec<Lanes<S>>,
    /// How far a step moves the inner totals, by rank.
    moved: Vec<Lanes<S>>,
    /// And all totals, in order.
    shifts: Vec<Lanes<S>>,
}

impl<'a, S: Simd> Abreast<'a, S> {
    fn new(simd: S, axis: &'a Axis, gap: f64) -> Self {
        let none = Lanes::all(simd, 0.0);
        let range = Range {
            weight: none,
            pull: none,
            inverse: [none; 2],
            step: [none; 2],
        };
        let cell = Cell {
            is_there: none,
            after: none,
            mass: none,
            slack: none,
            inverse: [none; 2],
            step: [none; 2],
        };
        let cells = axis.cells.len();
        Self {
            simd,
            axis,
            gap,
            ranges: vec![range; axis.ranges.len()],
            cells: vec![cell; cells],
            nets: Nets::new(simd, &axis.totals),
            n: none,
            count: none,
            totals: vec![none; cells + 1],
            pulls: vec![none; cells + 1],
            moved: vec![none; cells - 1],
            shifts: vec![none; cells + 1],
        }
    }

    #[inline(always)]
    fn all(&self, number: f64) -> Lanes<S> {
        Lanes::all(self.simd, number)
    }

    /// Seeks the maximum under weights that are given row by row, each row's lanes side by side. Gives each lane's curve,
    /// none where it is not near enough.
    #[inline(always)]
    fn curves(&mut self, weights: &[f64], near: &Estimate) -> Vec<Option<Vec<Mass>>> {
        let rows = weights.chunks_exact(Lanes::<S>::COUNT);
        for (range, weights) in self.ranges.iter_mut().zip(rows) {
            range.weight = Lanes::read(self.simd, weights);
        }
        self.lay_out();
        self.start(near);
        let gaps = self.maximise();
        self.read(gaps)
    }

    /// Which cells each lane has, and when each begins: where an end that closes follows one that opens.
    #[inline(always)]
    fn lay_out(&mut self) {
        let (none, one) = (self.all(0.0), self.all(1.0));
        let never = self.all(f64::NEG_INFINITY);
        for cell in &mut self.cells {
            cell.is_there = none;
        }
        for ends in &self.axis.ends {
            let mut opened = never;
            for end in ends {
                let weight = self.ranges[end.row].weight;
                let Some(cell) = end.cell else {
                    opened = self.all(end.day).where_positive(weight, opened);
                    continue;
                };
                let cell = &mut self.cells[cell];
                let ends_one = weight.where_above(opened, never, none);
                cell.is_there = one.where_positive(ends_one, cell.is_there);
                cell.after = opened.where_positive(ends_one, cell.after);
                opened = never.where_positive(ends_one, opened);
            }
        }
        let (mut last_wait, mut last_event) = (never, never);
        self.n = none;
        for (range, row) in self.ranges.iter().zip(&self.axis.rows) {
            self.n += range.weight;
            let last = match row.event() {
                None => (&mut last_wait, row.left),
                Some(_) => (&mut last_event, row.right),
            };
            let day = self.all(last.1).max(*last.0);
            *last.0 = day.where_positive(range.weight, *last.0);
        }
        // Where all events end before the last wait does.
        let waits = one.where_above(last_wait, never, none);
        self.cells[self.axis.later()].is_there = none.where_above(last_event, last_wait, waits);
        self.count = none;
        for cell in &self.cells {
            self.count += cell.is_there;
        }
    }

    /// Masses between those of a near estimate and equal ones, after a few rounds of EM; pulls that go with them, and
    /// slacks to these.
    #[inline(always)]
    fn start(&mut self, near: &Estimate) {
        let (none, later) = (self.all(0.0), self.axis.later());
        let even = self.all(EVEN) / self.count;
        for cell in &mut self.cells {
            cell.mass = even;
        }
        let rest = self.all(1.0 - EVEN);
        let mut add =
            |cell: usize, mass: f64| self.cells[cell].mass += rest * Lanes::all(self.simd, mass);
        let place = |days: &[f64], mass: &Mass| days.partition_point(|day| *day < mass.by);
        for mass in &near.curve {
            add(place(&self.axis.reached, mass), mass.mass);
        }
        for mass in &near.lost {
            add(
                self.axis.cells.len() - 1 - place(&self.axis.lost, mass),
                mass.mass,
            );
        }
        add(later, near.later);
        for cell in &mut self.cells {
            cell.mass = cell.mass * cell.is_there;
        }
        for _ in 0..ROUNDS {
            self.weigh_apart();
            let each = self.all(1.0) / self.n;
            let mut slope = none;
            for (cell, pull) in self.cells.iter_mut().zip(&self.pulls) {
                slope += *pull;
                cell.mass = cell.mass * slope * each;
            }
        }
        let most = self.weigh_apart();
        // A little above the highest slope, so that no slack is nothing.
        let level = most + (most - self.n) * self.all(0.1) + self.n * self.all(0.01);
        let mut slope = none;
        for (cell, pull) in self.cells.iter_mut().zip(&self.pulls) {
            slope += *pull;
            cell.slack = (level - slope).where_positive(cell.is_there, self.n);
        }
    }

    /// Running totals of the masses.
    #[inline(always)]
    fn add_up(&mut self) {
        let mut total = self.all(0.0);
        for (cell, sum) in self.cells.iter().zip(&mut self.totals[1..]) {
            total += cell.mass;
            *sum = total;
        }
    }

    /// The pulls that the masses alone ask for, and the highest slope of any cell.
    #[inline(always)]
    fn weigh_apart(&mut self) -> Lanes<S> {
        self.add_up();
        let (none, tiny) = (self.all(0.0), self.all(TINY));
        self.pulls.fill(none);
        for (range, span) in self.ranges.iter_mut().zip(&self.axis.ranges) {
            let sum = (self.totals[span.end] - self.totals[span.start]).max(tiny);
            range.pull = range.weight / sum;
            self.pulls[span.start] += range.pull;
            self.pulls[span.end] -= range.pull;
        }
        self.highest()
    }

    /// The highest slope of the likelihood in the mass of any cell.
    #[inline(always)]
    fn highest(&self) -> Lanes<S> {
        let (mut slope, mut most) = (self.all(0.0), self.all(0.0));
        for (cell, pull) in self.cells.iter().zip(&self.pulls) {
            slope += *pull;
            most = most.max(slope * cell.is_there);
        }
        // No number, if any slope is none.
        most + self.all(0.0) * slope
    }

    /// Steps until every lane's gap is small; gives the gaps.
    #[inline(always)]
    fn maximise(&mut self) -> Lanes<S> {
        let (none, one) = (self.all(0.0), self.all(1.0));
        let mut open = one;
        let mut steps = 0;
        loop {
            self.weigh();
            let gap = self.highest() - self.n;
            open = open.where_above(gap, self.all(self.gap), none);
            // What is no number is above nothing, and not taken for near enough in the end.
            if open.largest() <= 0.0 || steps == STEPS {
                return gap;
            }
            steps += 1;
            self.nets.take_out(&self.axis.totals);
            let mean = self.product([none; 2]) / self.count;
            let foreseen = self.aim_at(none);
            let left = self.product(foreseen) / self.count;
            let share = left / mean.max(self.all(TINY));
            let go = self.aim_at(share * share * left);
            self.go(go.map(|part| part * open));
        }
    }

    /// The inverses of everything, how stiff springs are, and the pulls that the masses alone ask for.
    #[inline(always)]
    fn weigh(&mut self) {
        let (one, tiny, shut) = (self.all(1.0), self.all(TINY), self.all(SHUT));
        let none = self.all(0.0);
        self.add_up();
        self.nets.loosen();
        self.pulls.fill(none);
        for (range, span) in self.ranges.iter_mut().zip(&self.axis.ranges) {
            let sum = self.totals[span.end] - self.totals[span.start];
            let both = one / (sum * range.pull).max(tiny);
            range.inverse = [range.pull * both, sum * both];
            range.step = [none; 2];
            let pull = range.weight * range.inverse[0];
            self.pulls[span.start] += pull;
            self.pulls[span.end] -= pull;
            tie(&mut self.nets, span, range.stiffness());
        }
        for (cell, span) in self.cells.iter_mut().zip(&self.axis.cells) {
            let both = cell.is_there / (cell.mass * cell.slack).max(tiny);
            cell.inverse = [cell.slack * both, cell.mass * both];
            cell.step = [none; 2];
            let stiffness = cell.slack * cell.inverse[0];
            tie(
                &mut self.nets,
                span,
                stiffness.where_positive(cell.is_there, shut),
            );
        }
    }

    /// Σ p_j d_j after these parts of the step.
    #[inline(always)]
    fn product(&self, [of_mass, of_slack]: [Lanes<S>; 2]) -> Lanes<S> {
        let mut sum = self.all(0.0);
        for cell in &self.cells {
            let mass = cell.mass + of_mass * cell.step[0];
            let slack = cell.slack + of_slack * cell.step[1];
            sum += mass * slack;
        }
        sum
    }

    /// The step towards pulls that fit the probabilities and p_j d_j = `aim`, seen from where the step before would lead;
    /// gives how much of it masses, and how much of it pulls and slacks, can go.
    #[inline(always)]
    fn aim_at(&mut self, aim: Lanes<S>) -> [Lanes<S>; 2] {
        let none = self.all(0.0);
        self.pulls.fill(none);
        for (range, span) in self.ranges.iter().zip(&self.axis.ranges) {
            let pull = range.aim();
            self.pulls[span.start] += pull;
            self.pulls[span.end] -= pull;
        }
        let mut before = none;
        let pulls = self.cells.iter().zip(&self.pulls).enumerate();
        for (at, (cell, pull)) in pulls {
            let slack = cell.aim(aim);
            if let Some(node) = at.checked_sub(1) {
                self.moved[self.axis.totals.rank(node)] = before - slack - *pull;
            }
            before = slack;
        }
        self.nets.settle(&self.axis.totals, &mut self.moved);
        for (node, shift) in (0..self.axis.totals.nodes()).zip(&mut self.shifts[1..]) {
            *shift = self.moved[self.axis.totals.rank(node)];
        }
        let (mut of_mass, mut of_slack) = (none, none);
        for (range, span) in self.ranges.iter_mut().zip(&self.axis.ranges) {
            let by = self.shifts[span.end] - self.shifts[span.start];
            let pull = range.aim() - range.pull - range.stiffness() * by;
            range.step = [by, pull];
            of_slack = of_slack.max(none - pull * range.inverse[1]);
        }
        for (cell, span) in self.cells.iter_mut().zip(&self.axis.cells) {
            let by = (self.shifts[span.end] - self.shifts[span.start]) * cell.is_there;
            let slack = cell.aim(aim) - cell.slack - cell.slack * cell.inverse[0] * by;
            cell.step = [by, slack * cell.is_there];
            of_mass = of_mass.max(none - by * cell.inverse[0]);
            of_slack = of_slack.max(none - cell.step[1] * cell.inverse[1]);
        }
        let short_of = self.all(SHORT_OF);
        [of_mass, of_slack].map(|most| short_of / most.max(short_of))
    }

    /// Goes these parts of the step.
    #[inline(always)]
    fn go(&mut self, [of_mass, of_slack]: [Lanes<S>; 2]) {
        for range in &mut self.ranges {
            range.pull += of_slack * range.step[1];
        }
        for cell in &mut self.cells {
            cell.mass += of_mass * cell.step[0];
            cell.slack += of_slack * cell.step[1];
        }
    }

    /// The curve of each lane whose gap is small.
    #[inline(always)]
    fn read(&self, gaps: Lanes<S>) -> Vec<Option<Vec<Mass>>> {
        let lanes = Lanes::<S>::COUNT;
        let mut numbers = vec![0.0; lanes];
        gaps.write(&mut numbers);
        // The slopes of all mass are n in the mean: where the highest is below, masses have gone astray.
        let is_near = |gap: &f64| (gap.abs() <= self.gap).then(Vec::new);
        let mut curves: Vec<Option<Vec<Mass>>> = numbers.iter().map(is_near).collect();
        let (mut after, mut mass) = (vec![0.0; lanes], vec![0.0; lanes]);
        for (cell, &by) in self.cells.iter().zip(&self.axis.reached) {
            cell.after.write(&mut after);
            cell.mass.write(&mut mass);
            for ((curve, &after), &mass) in curves.iter_mut().zip(&after).zip(&mass) {
                if let Some(curve) = curve.as_mut().filter(|_| mass > DUST) {
                    curve.push(Mass { after, by, mass });
                }
            }
        }
        curves
    }
}

/// Ties two totals together.
#[inline(always)]
fn tie<S: Simd>(nets: &mut Nets<S>, span: &Span, stiffness: Lanes<S>) {
    match span.tie {
        Tie::Spring(spring) => nets.stiffen(spring, stiffness),
        Tie::Ground(rank) => nets.hold(rank, stiffness),
        Tie::Fixed => {}
    }
}

#[cfg(test)]
mod tests {
    use super::{Axis, Curves, Estimate, Mass};
    use crate::stats::dice::Dice;
    use crate::stats::npmle::{Reweighed, Row, estimate};
    use crate::stats::wide::narrowly;
    use pulp::Scalar;

    /// Rows of some batches, each looked at on days of its own.
    fn rows(dice: &mut Dice, batches: usize) -> Vec<Row> {
        let mut rows = Vec::new();
        for _ in 0..batches {
            // Some were looked at before the day from which days are counted.
            let mut before = 0.0 - 9.0 * f64::from(dice.below(3));
            for _ in 0..1 + dice.below(6) {
                let day = before + f64::from(1 + dice.below(12));
                rows.push(Row::reached(before, day, f64::from(dice.below(9))));
                rows.push(Row::lost(before, day, f64::from(dice.below(3))));
                before = day;
            }
            rows.push(Row::not_yet(before, f64::from(dice.below(7))));
        }
        rows.retain(|row| row.weight > 0.0);
        rows
    }

    /// Weights as of resamples.
    fn draws(dice: &mut Dice, rows: &[Row], count: usize) -> Vec<Vec<f64>> {
        let mut times = |row: &Row| row.weight * [0.0, 0.0, 1.0, 1.0, 2.0][dice.place(5)];
        (0..count)
            .map(|_| rows.iter().map(&mut times).collect())
            .collect()
    }

    fn each(mut check: impl FnMut(&Axis, &[Vec<f64>], &Estimate)) {
        for seed in 0..60 {
            let mut dice = Dice::new(seed);
            let rows = rows(&mut dice, 2 + seed as usize % 14);
            let weights = draws(&mut dice, &rows, 13);
            check(&Axis::new(&rows), &weights, &estimate(&rows).unwrap());
        }
    }

    /// The likelihood's logarithm that a curve, with masses lost and later, has under weights.
    fn loglik(axis: &Axis, weights: &[f64], masses: &[f64]) -> f64 {
        let rows = axis.ranges.iter().zip(weights).filter(|(_, w)| **w > 0.0);
        let each = rows.map(|(range, weight)| {
            let sum: f64 = masses[range.start..range.end].iter().sum();
            weight * sum.ln()
        });
        each.sum()
    }

    #[test]
    fn they_come_as_near_to_the_maximum_as_they_say() {
        let mut found = 0;
        each(|axis, weights, near| {
            let gaps = [1e-4, Estimate::CERTIFIED].into_iter();
            for (weights, gap) in weights.iter().zip(gaps.cycle()) {
                let mut abreast = super::Abreast::new(Scalar, axis, gap);
                let Some(best) = Reweighed::new(&axis.rows).estimate(weights, None) else {
                    assert!(abreast.curves(weights, near)[0].is_none());
                    continue;
                };
                if abreast.curves(weights, near)[0].is_none() {
                    continue;
                }
                found += 1;
                let mut masses = vec![0.0; axis.cells.len()];
                for (cell, mass) in abreast.cells.iter().zip(&mut masses) {
                    cell.mass.write(std::slice::from_mut(mass));
                }
                let short = best.loglik - loglik(axis, weights, &masses);
                assert!((-2e-8..=gap + 2e-8).contains(&short), "{short} short");
            }
        });
        assert!(found > 760, "{found} of 780 near enough");
    }

    #[test]
    fn no_curve_hangs_on_its_neighbours_or_on_how_many_there_are() {
        each(|axis, weights, near| {
            let narrow = narrowly(Curves {
                axis,
                weights,
                near,
                gap: 1e-4,
            });
            assert_eq!(super::curves(axis, weights, near, 1e-4), narrow);
            let back: Vec<Vec<f64>> = weights.iter().rev().cloned().collect();
            let mut back: Vec<Option<Vec<Mass>>> = super::curves(axis, &back, near, 1e-4);
            back.reverse();
            assert_eq!(back, narrow);
        });
    }
}
