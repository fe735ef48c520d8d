//! Days to root of those that root: one distribution within batches, its place differing between batches and
//! groups, all spreads from the journal. It knows nothing of shares.
//!
//! ln T = m + s·W with W standard normal (log-normal) or smallest extreme value (Weibull), whichever has the greater
//! likelihood; m of a batch is normal around its group's with spread τ, and groups are pooled as in
//! [`crate::figures::pooling`]. A batch speaks for m by its intervals of rooting; while cuttings wait, by the
//! chance of these intervals *given* rooting by the last examination, which needs no share (conditional likelihood of
//! right-truncated times, Kalbfleisch & Lawless 1989, *JASA* 84:360).

use super::groups::Groups;
use super::seen::Seen;
use crate::book::intervals::Status;
use crate::figures::lookup::Lookup;
use crate::figures::parametric::Family;
use crate::figures::pooling::{Grid, Setting, Spot, Spreads, Start, Way, normalised, pool};

/// Spreads between batches of one group that are tried, in ln days.
const BETWEEN: [f64; 6] = [0.03, 0.06, 0.11, 0.18, 0.3, 0.5];
/// Spreads between groups that are tried.
const SPREADS: Spreads<'static> = Spreads {
    tried: &[0.03, 0.12, 0.3, 0.6],
    scale: 0.5,
};
/// Without any history: a month, give or take a factor of two and a quarter (common practice).
const NO_HISTORY: (f64, f64) = (3.4, 0.8);
/// No chance is smaller than this: a look that was off does not rule a day out.
const FLOOR: f64 = 1e-9;
/// Points of the grid of ln days.
const POINTS: usize = 80;

/// The days of rooting, as learnt.
#[derive(Clone, Debug)]
pub(super) struct Days {
    pub grid: Grid,
    pub form: Lookup,
    /// Scale within batches, in ln days.
    pub scale: f64,
    starts: Vec<Start>,
    settings: Vec<Setting>,
    /// By start, what each unit says of its leaf.
    own: Vec<Vec<Vec<f64>>>,
}

/// Members of one unit: batches that share a fate.
pub(super) type Unit<'a> = (usize, Vec<&'a Seen>);

impl Days {
    /// Learns from units, each with its leaf.
    pub fn learn(groups: &Groups, units: &[Unit<'_>]) -> Self {
        let grid = grid(units);
        let (form, scale) = best_form(units);
        let mut days = Self {
            grid,
            form,
            scale,
            starts: Vec::new(),
            settings: Vec::new(),
            own: Vec::new(),
        };
        let curves: Vec<Option<Vec<f64>>> = units
            .iter()
            .map(|(_, members)| days.curve(members))
            .collect();
        for spread in BETWEEN {
            let own: Vec<Vec<f64>> = curves
                .iter()
                .map(|c| days.says(c.as_deref(), spread))
                .collect();
            let mut leaves = vec![vec![0.0; grid.len]; groups.len()];
            for ((leaf, _), said) in units.iter().zip(&own) {
                leaves[*leaf]
                    .iter_mut()
                    .zip(said)
                    .for_each(|(l, s)| *l += s);
            }
            let z: f64 = spread / SPREADS.scale;
            let log_prior = spread.ln() - 0.5 * z * z;
            days.starts.push(Start { log_prior, leaves });
            days.own.push(own);
        }
        let (mean, spread) = NO_HISTORY;
        let root: Vec<f64> = grid
            .points()
            .map(|m| -0.5 * ((m - mean) / spread).powi(2))
            .collect();
        days.settings = pool(&groups.tree, &grid, &days.starts, &SPREADS, &root);
        days
    }

    /// Share that has rooted by day `t` where the place is `m`.
    pub fn by(&self, t: f64, m: f64) -> f64 {
        if t <= 0.0 {
            return 0.0;
        }
        self.form.below((t.ln() - m) / self.scale)
    }

    /// Day by which the share `q` has rooted.
    pub fn quantile(&self, q: f64, m: f64) -> f64 {
        (m + self.scale * self.form.family.standard_quantile(q)).exp()
    }

    /// Log-likelihood of m by the intervals of those that rooted; none if nothing rooted.
    pub fn curve(&self, members: &[&Seen]) -> Option<Vec<f64>> {
        let any = members.iter().any(|seen| seen.reached * seen.worth > 0.0);
        any.then(|| {
            self.grid
                .points()
                .map(|m| likelihood(&self.form, self.scale, members, m))
                .collect()
        })
    }

    /// What a curve of m says of its group's place.
    fn says(&self, curve: Option<&[f64]>, spread: f64) -> Vec<f64> {
        let Some(curve) = curve else {
            return vec![0.0; self.grid.len];
        };
        let height = curve.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = curve.iter().map(|l| (l - height).exp()).collect();
        let up = self.grid.spread(&weights, spread, Way::Up);
        up.into_iter()
            .map(|w| height + w.max(1e-280).ln())
            .collect()
    }

    /// What all other units say of the place of a batch at a spot; `unit`: its own, if it was learnt from.
    pub fn prior(&self, spot: Spot, unit: Option<usize>) -> Vec<f64> {
        let mut sum = vec![0.0; self.grid.len];
        for setting in &self.settings {
            let mut mean = setting.mean_at(&self.grid, spot);
            if let Spot::Leaf(leaf) = spot {
                let mut said = self.starts[setting.start].leaves[leaf].clone();
                if let Some(unit) = unit {
                    let own = &self.own[setting.start][unit];
                    said.iter_mut().zip(own).for_each(|(s, o)| *s -= o);
                }
                let logs: Vec<f64> = mean
                    .iter()
                    .zip(&said)
                    .map(|(m, s)| m.max(1e-280).ln() + s)
                    .collect();
                mean = normalised(&logs);
            }
            let batch = self.grid.spread(&mean, BETWEEN[setting.start], Way::Down);
            sum.iter_mut()
                .zip(batch)
                .for_each(|(s, b)| *s += setting.weight * b);
        }
        sum
    }

    /// A batch's place with all that is known, as a mean.
    pub fn middle(&self, prior: &[f64], members: &[&Seen]) -> f64 {
        let curve = self.curve(members);
        let logs = prior
            .iter()
            .enumerate()
            .map(|(at, p)| p.max(1e-280).ln() + curve.as_ref().map_or(0.0, |c| c[at]));
        let weights = normalised(&logs.collect::<Vec<_>>());
        self.grid.points().zip(weights).map(|(m, w)| m * w).sum()
    }
}

/// From well before the first day of rooting to well after the last, in ln days.
fn grid(units: &[Unit<'_>]) -> Grid {
    let seen = units.iter().flat_map(|(_, members)| members);
    let days: Vec<f64> = seen
        .flat_map(|seen| seen.of_status(Status::Reached))
        .filter_map(|p| p.right.map(|right| f64::from(right.max(2))))
        .collect();
    let low = days.iter().copied().fold(30.0, f64::min).ln() - 0.9;
    let high = days.iter().copied().fold(60.0, f64::max).ln() + 0.7;
    Grid {
        low,
        step: (high - low) / (POINTS - 1) as f64,
        len: POINTS,
    }
}

/// Log-likelihood of the intervals of those that rooted.
fn likelihood(form: &Lookup, scale: f64, members: &[&Seen], m: f64) -> f64 {
    let by = |t: u32| match t {
        0 => 0.0,
        t => form.below((f64::from(t).ln() - m) / scale),
    };
    let mut sum = 0.0;
    for seen in members {
        let mut within = 0.0;
        for piece in seen.of_status(Status::Reached) {
            let Some(right) = piece.right else { continue };
            let weight = piece.weight * seen.worth;
            within += weight;
            sum += weight * (by(right) - by(piece.left)).max(FLOOR).ln();
        }
        if !seen.closed {
            sum -= within * by(seen.examined).max(FLOOR).ln();
        }
    }
    sum
}

/// The family and the scale within batches with the greatest likelihood, each batch at its best place; a
/// log-normal scale of 0.3 where no batch tells.
fn best_form(units: &[Unit<'_>]) -> (Lookup, f64) {
    let told: Vec<&Vec<&Seen>> = units
        .iter()
        .map(|(_, members)| members)
        .filter(|members| {
            members
                .iter()
                .any(|seen| seen.closed && seen.reached >= 5.0)
        })
        .collect();
    let mut best = (Lookup::new(Family::LogNormal), 0.3, f64::NEG_INFINITY);
    if told.is_empty() {
        return (best.0, best.1);
    }
    for family in [Family::LogNormal, Family::Weibull] {
        let form = Lookup::new(family);
        let height = |ln_scale: f64| -> f64 {
            let of = told
                .iter()
                .map(|members| best_place(&form, ln_scale.exp(), members));
            of.sum()
        };
        let (ln_scale, top) = golden(&height, (0.06_f64).ln(), (0.9_f64).ln());
        if top > best.2 {
            best = (form, ln_scale.exp(), top);
        }
    }
    (best.0, best.1)
}

/// The greatest likelihood over the place, looked for around the middle of the intervals.
fn best_place(form: &Lookup, scale: f64, members: &[&Seen]) -> f64 {
    let rough: Vec<(f64, f64)> = members
        .iter()
        .flat_map(|seen| seen.of_status(Status::Reached))
        .filter_map(|p| Some((0.5 * f64::from(p.left + p.right?), p.weight)))
        .collect();
    let n: f64 = rough.iter().map(|r| r.1).sum();
    let middle = rough
        .iter()
        .map(|(day, w)| w * day.max(1.0).ln())
        .sum::<f64>()
        / n.max(1e-9);
    golden(
        &|m| likelihood(form, scale, members, m),
        middle - 0.5,
        middle + 0.7,
    )
    .1
}

/// The top of a function with one top between two ends, by golden sections (Kiefer 1953, *Proceedings of the
/// American Mathematical Society* 4:502).
fn golden(of: &dyn Fn(f64) -> f64, low: f64, high: f64) -> (f64, f64) {
    const RATIO: f64 = 0.618_033_988_749_895;
    let (mut low, mut high) = (low, high);
    let (mut a, mut b) = (high - RATIO * (high - low), low + RATIO * (high - low));
    let (mut at_a, mut at_b) = (of(a), of(b));
    for _ in 0..10 {
        if at_a > at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - RATIO * (high - low);
            at_a = of(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + RATIO * (high - low);
            at_b = of(b);
        }
    }
    if at_a > at_b { (a, at_a) } else { (b, at_b) }
}
