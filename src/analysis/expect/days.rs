//! Days to root of those that root: one distribution within batches, its place differing between batches and
//! groups, all spreads from the journal. It knows nothing of shares.
//!
//! ln T = m + s·W with W standard normal (log-normal) or smallest extreme value (Weibull), whichever has the greater
//! likelihood; m of a batch is normal around its group's with spread τ, and groups are pooled as in
//! [`crate::stats::pooling`]. A batch speaks for m by its intervals of rooting; while cuttings wait, also by how many
//! have rooted so far, its share being any beforehand and integrated out. (The intervals *given* rooting by the last
//! examination would need no share, but of few rooted lately they say that any late m will do.)
//!
//! A wood stage has its own pace in every group: m is λ·ln(first look of its stage / first look of one not recorded)
//! later, the days of first looks being common practice ([`practice`]) and λ one more unknown that is integrated over. Without
//! it a journal of softwood in spring would foretell its first semi-ripe cuttings by softwood alone.

use super::groups::Groups;
use super::multiple::Moments;
use super::observed::Observed;
use super::practice::practice;
use crate::fold::intervals::IntervalStatus;
use crate::model::listed::Wood;
use crate::stats::distributions::Family;
use crate::stats::distributions::Lookup;
use crate::stats::pooled::{LEAST, LogSum, OwnWord, Pooled, by_leaf, half_normal};
use crate::stats::pooling::{
    Bell, Direction, Grid, PriorSettings, Spot, Spreads, normalised, weights,
};
use crate::stats::sampled::evenly;
use crate::stats::workers;
use std::collections::HashMap;
use std::sync::LazyLock;

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
/// From one point of the grid of ln days to the next.
const STEP: f64 = 0.05;
/// Wood stages differ in days as first looks do by common practice, to such a power; normal around 1 beforehand.
const POWERS: [f64; 7] = [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0];
/// Spread of that prior.
const POWER_SPREAD: f64 = 1.0;

/// The days of rooting, as learnt.
#[derive(Clone, Debug)]
pub(super) struct Days {
    pub grid: Grid,
    pub form: Lookup,
    /// Scale within batches, in ln days.
    pub scale: f64,
    places: Pooled,
    /// What each unit shows, if anything.
    curves: Vec<Option<PlaceCurve>>,
    /// Of the spreads between batches.
    bells: [Bell; BETWEEN.len()],
    /// Of the wood stages' paces, by row of starts.
    powers: Vec<f64>,
}

/// Members of one unit: batches that share a fate.
pub(super) type Unit<'a> = (usize, Vec<&'a Observed>);

impl Days {
    /// Learns from units, each with its leaf.
    pub fn learn(groups: &Groups, units: &[Unit<'_>]) -> Self {
        let paces: Vec<f64> = units
            .iter()
            .map(|(_, members)| pace(members[0].wood))
            .collect();
        let grid = grid(units, &paces);
        let (form, scale) = best_form(units);
        let passing = Passing::new(&grid, &form, scale, units);
        let curves = workers::map(units.len(), |at| passing.curve(&units[at].1));
        // Where no stage has a pace of its own, nothing tells of the power.
        let powers = if paces.iter().any(|pace| *pace != 0.0) {
            POWERS.to_vec()
        } else {
            vec![1.0]
        };
        let before = PriorSettings {
            starts: &starts(&powers),
            row: BETWEEN.len(),
            spreads: &SPREADS,
            root: &grid.normal(NO_HISTORY.0, NO_HISTORY.1),
        };
        let bells = BETWEEN.map(|between| grid.bell(between));
        // All batches of a leaf are of one wood stage.
        let mut of_leaf = vec![0.0; groups.len()];
        for ((leaf, _), pace) in units.iter().zip(&paces) {
            of_leaf[*leaf] = *pace;
        }
        let mut told = BETWEEN.map(|_| None);
        let mut leaves = |start: usize| {
            let at = start % BETWEEN.len();
            let sums: &mut Vec<Vec<f64>> = told[at].get_or_insert_with(|| {
                let sum = |those: &[usize]| {
                    let mut sum = LogSum::new(grid.len);
                    for curve in those.iter().filter_map(|&unit| curves[unit].as_ref()) {
                        sum.add(curve.height, &curve.spread(grid.len, &bells[at]));
                    }
                    sum.sums()
                };
                by_leaf(units.iter().map(|unit| unit.0), groups.len(), sum)
            });
            let power = powers[start / BETWEEN.len()];
            let each = sums.iter().zip(&of_leaf);
            each.map(|(sum, pace)| moved(sum, -steps(&grid, power, *pace), |edge| edge))
                .collect()
        };
        Self {
            places: Pooled::learn(&groups.tree, grid, &before, &mut leaves),
            grid,
            curves,
            bells,
            powers,
            form,
            scale,
        }
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

    /// Day by which a part of those that root have, where the place has these chances on the grid.
    pub fn day_by(&self, places: &[f64], part: f64) -> f64 {
        let places: Vec<(f64, f64)> = self.grid.points().zip(places.iter().copied()).collect();
        let by = |day: f64| -> f64 { places.iter().map(|(m, p)| p * self.by(day, *m)).sum() };
        let (mut low, mut high) = (0.1_f64, 3000.0_f64);
        for _ in 0..40 {
            let middle = (low * high).sqrt();
            if by(middle) < part {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }

    /// From a batch's place to the ln of its middle day.
    pub fn middle_step(&self) -> f64 {
        self.scale * self.form.family.standard_quantile(0.5)
    }

    /// What a unit shows of its place; nothing if its intervals tell nothing.
    pub fn curve(&self, unit: usize) -> Option<&PlaceCurve> {
        self.curves.get(unit)?.as_ref()
    }

    /// What all other units say of the place of a batch of that wood at a spot; `unit`: its own, if it was learnt from.
    pub fn prior(&self, spot: Spot, wood: Option<Wood>, unit: Option<usize>) -> Vec<f64> {
        let mut sum = vec![0.0; self.grid.len];
        let mut said = BETWEEN.map(|_| None);
        let mut own = unit.map(|unit| {
            move |start: usize| {
                let at = start % BETWEEN.len();
                let said: &mut Vec<f64> = said[at].get_or_insert_with(|| self.says(unit, at));
                let power = self.powers[start / BETWEEN.len()];
                moved(said, -steps(&self.grid, power, pace(wood)), |edge| edge)
            }
        });
        let own = own.as_mut().map(|own| own as OwnWord<'_>);
        for (start, mean) in self.places.by_start(spot, own) {
            let bell = &self.bells[start % BETWEEN.len()];
            let values = bell.spread(&mean, Direction::Down);
            let steps = steps(&self.grid, self.powers[start / BETWEEN.len()], pace(wood));
            let values = moved(&values, steps, |_| 0.0);
            sum.iter_mut().zip(values).for_each(|(s, v)| *s += v);
        }
        sum
    }

    /// What a unit says of its group's place under a spread between batches.
    fn says(&self, unit: usize, between: usize) -> Vec<f64> {
        let Some(curve) = self.curve(unit) else {
            return vec![0.0; self.grid.len];
        };
        let up = curve.spread(self.grid.len, &self.bells[between]);
        up.into_iter()
            .map(|w| curve.height + w.max(LEAST).ln())
            .collect()
    }

    /// A batch's place by what all others say and its own curve, as a mean.
    pub fn middle(&self, prior: &[f64], curve: Option<&PlaceCurve>) -> f64 {
        let own = curve.map(|curve| curve.weights(self.grid.len));
        let logs = prior.iter().enumerate().map(|(at, p)| {
            let own = own.as_ref().map_or(0.0, |own| own[at].max(NOTHING).ln());
            p.max(LEAST).ln() + own
        });
        let weights = normalised(&logs.collect::<Vec<_>>());
        self.grid.points().zip(weights).map(|(m, w)| m * w).sum()
    }

    /// Middle and spreads of the ln of the middle day of a batch at a spot of which nothing is known.
    pub fn middle_moments(&self, spot: Spot, wood: Option<Wood>) -> Moments {
        let each = self.places.by_start(spot, None).map(|(start, mean)| {
            let steps = steps(&self.grid, self.powers[start / BETWEEN.len()], pace(wood));
            let later = self.grid.step * steps as f64;
            let points = self.grid.points().zip(mean);
            let between = BETWEEN[start % BETWEEN.len()];
            (
                between,
                points.map(move |(m, w)| (m + later, w)).collect::<Vec<_>>(),
            )
        });
        let place = Moments::gathered(each);
        Moments {
            mean: place.mean + self.middle_step(),
            ..place
        }
    }
}

/// How much longer than one not recorded cuttings of a wood stage take, in ln days, by common practice.
fn pace(wood: Option<Wood>) -> f64 {
    let first = |wood| f64::from(practice(wood).first);
    (first(wood) / first(None)).ln()
}

/// A pace to a power in whole steps of the grid.
fn steps(grid: &Grid, power: f64, pace: f64) -> isize {
    (power * pace / grid.step).round() as isize
}

/// Values moved up the grid by so many steps; beyond its ends they are what `edge` makes of the last.
fn moved(values: &[f64], steps: isize, edge: fn(f64) -> f64) -> Vec<f64> {
    let last = values.len() as isize - 1;
    let at = |at: isize| match at - steps {
        from if from < 0 => edge(values[0]),
        from if from > last => edge(values[last as usize]),
        from => values[from as usize],
    };
    (0..=last).map(at).collect()
}

/// Log priors of the starts: a row of spreads between batches for each power.
fn starts(powers: &[f64]) -> Vec<f64> {
    let between = half_normal(&BETWEEN, SPREADS.scale);
    let of = |power: &f64| {
        let prior = -0.5 * ((power - 1.0) / POWER_SPREAD).powi(2);
        between
            .iter()
            .map(move |log| log + prior)
            .collect::<Vec<_>>()
    };
    powers.iter().flat_map(of).collect()
}

/// From well before the first day of rooting to well after the last, in ln days, whatever the wood stage.
fn grid(units: &[Unit<'_>], paces: &[f64]) -> Grid {
    let (mut low, mut high) = (30.0_f64.ln(), 60.0_f64.ln());
    for ((_, members), &pace) in units.iter().zip(paces) {
        let reached = members
            .iter()
            .flat_map(|seen| seen.of_status(IntervalStatus::Reached));
        for right in reached.filter_map(|piece| piece.right) {
            let ln = f64::from(right.max(2)).ln();
            low = low.min(ln).min(ln - pace);
            high = high.max(ln).max(ln - pace);
        }
        (low, high) = (
            low.min(30.0_f64.ln() + pace),
            high.max(60.0_f64.ln() + pace),
        );
    }
    let (low, high) = (low - 0.9, high + 0.7);
    Grid {
        low,
        step: STEP,
        len: ((high - low) / STEP).ceil() as usize + 1,
    }
}

/// A likelihood so much smaller than the greatest is none.
const NOTHING: f64 = 1e-30;

/// What a unit shows of its place: its likelihood on the grid.
#[derive(Clone, Debug)]
pub(super) struct PlaceCurve {
    /// The first point of the grid at which it is anything.
    first: usize,
    /// The likelihoods from there on as far as they are, the greatest 1.
    likely: Vec<f64>,
    /// Log of the greatest.
    height: f64,
}

impl PlaceCurve {
    fn new(logs: &[f64]) -> Self {
        let height = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let likely = weights(logs);
        let first = likely.iter().position(|w| *w > NOTHING).unwrap_or(0);
        let last = likely.iter().rposition(|w| *w > NOTHING).unwrap_or(0);
        Self {
            first,
            likely: likely[first..=last].to_vec(),
            height,
        }
    }

    /// The likelihoods on a grid of so many points.
    pub fn weights(&self, len: usize) -> Vec<f64> {
        let mut out = vec![0.0; len];
        out[self.first..self.first + self.likely.len()].copy_from_slice(&self.likely);
        out
    }

    /// What it says of its group's place, but for its height.
    fn spread(&self, len: usize, bell: &Bell) -> Vec<f64> {
        bell.spread(&self.weights(len), Direction::Up)
    }
}

/// The logarithms of the chances of each interval of rooting on the grid, worked out once for all units.
struct Passing<'a> {
    grid: &'a Grid,
    form: &'a Lookup,
    scale: f64,
    intervals: HashMap<(u32, u32), usize>,
    logs: Vec<Vec<f64>>,
}

impl<'a> Passing<'a> {
    fn new(grid: &'a Grid, form: &'a Lookup, scale: f64, units: &[Unit<'_>]) -> Self {
        let mut intervals = HashMap::new();
        let seen = units.iter().flat_map(|(_, members)| members);
        for piece in seen.flat_map(|seen| seen.of_status(IntervalStatus::Reached)) {
            if let Some(right) = piece.right {
                let next = intervals.len();
                intervals.entry((piece.left, right)).or_insert(next);
            }
        }
        let mut each = vec![(0, 0); intervals.len()];
        for (&days, &number) in &intervals {
            each[number] = days;
        }
        let logs = workers::map(each.len(), |number| {
            let (left, right) = each[number];
            let by = |t| by(form, scale, t);
            let at = |m| (by(right)(m) - by(left)(m)).max(FLOOR).ln();
            grid.points().map(at).collect()
        });
        Self {
            grid,
            form,
            scale,
            intervals,
            logs,
        }
    }

    /// What the members of one unit show; none if they tell nothing.
    fn curve(&self, members: &[&Observed]) -> Option<PlaceCurve> {
        let tells =
            |seen: &&Observed| seen.reached * seen.worth > 0.0 || !seen.closed && seen.examined > 0;
        if !members.iter().any(tells) {
            return None;
        }
        let mut sum = vec![0.0; self.grid.len];
        for seen in members {
            for piece in seen.of_status(IntervalStatus::Reached) {
                let days = piece.right.map(|right| (piece.left, right));
                let Some(&number) = days.and_then(|days| self.intervals.get(&days)) else {
                    continue;
                };
                let weight = piece.weight * seen.worth;
                let each = sum.iter_mut().zip(&self.logs[number]);
                each.for_each(|(sum, log)| *sum += weight * log);
            }
            if let Some(counts) = seen_of_open(seen) {
                let by = by(self.form, self.scale, seen.examined);
                let each = sum.iter_mut().zip(self.grid.points());
                each.for_each(|(sum, m)| *sum += over_any_share(counts, by(m)));
            }
        }
        Some(PlaceCurve::new(&sum))
    }
}

/// By day `t`, for a place m the share of those that root which has.
fn by(form: &Lookup, scale: f64, t: u32) -> impl Fn(f64) -> f64 {
    let ln = ln_day(t);
    move |m| match t {
        0 => 0.0,
        _ => form.below((ln - m) / scale),
    }
}

/// Reached, lost and waiting of a batch of which some are still to come, worth what was counted.
fn seen_of_open(seen: &Observed) -> Option<[f64; 3]> {
    let open = !seen.closed && seen.examined > 0;
    open.then(|| [seen.reached, seen.lost, seen.waiting].map(|count| count * seen.worth))
}

/// ln of the days of ten years: they are asked for millions of times.
static LN_DAYS: LazyLock<Vec<f64>> =
    LazyLock::new(|| (0..3653).map(|day| f64::from(day).ln()).collect());

fn ln_day(day: u32) -> f64 {
    let known = LN_DAYS.get(day as usize).copied();
    known.unwrap_or_else(|| f64::from(day).ln())
}

/// Log-likelihood of the intervals of those that rooted, and of how many had while others wait.
fn likelihood(form: &Lookup, scale: f64, members: &[&Observed], m: f64) -> f64 {
    let by = |t: u32| by(form, scale, t)(m);
    let mut sum = 0.0;
    for seen in members {
        for piece in seen.of_status(IntervalStatus::Reached) {
            let Some(right) = piece.right else { continue };
            let weight = piece.weight * seen.worth;
            sum += weight * (by(right) - by(piece.left)).max(FLOOR).ln();
        }
        if let Some(counts) = seen_of_open(seen) {
            sum += over_any_share(counts, by(seen.examined));
        }
    }
    sum
}

/// Points of the share that is integrated out.
const SHARES: usize = 48;

/// The shares with their logarithms and those of the rest: they are asked for hundreds of thousands of times.
static SHARE_LOGS: LazyLock<[(f64, f64, f64); SHARES]> = LazyLock::new(|| {
    std::array::from_fn(|at| {
        let share = (at as f64 + 0.5) / SHARES as f64;
        (share, share.ln(), (-share).ln_1p())
    })
});

/// Log of ∫ πʳ (1 − π)ˡ (1 − πF)ʷ dπ: r reached, l lost first, w waiting, F the part of those that reach which has by then.
pub(super) fn over_any_share([reached, lost, waiting]: [f64; 3], by: f64) -> f64 {
    let logs = SHARE_LOGS.each_ref().map(|(share, ln, ln_rest)| {
        reached * ln + lost * ln_rest + waiting * (-share * by).ln_1p()
    });
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = logs.iter().map(|log| (log - top).exp()).sum();
    top + (sum / SHARES as f64).ln()
}

/// What is believed of the scale within batches before any tells: ln of 0.3, give or take a factor of 1.6 (common practice).
const SCALE: (f64, f64) = (-1.204, 0.5);

/// So many batches tell of the family and the scale within batches as well as all do.
const ENOUGH: usize = 2_000;

/// The family and the scale within batches that are the most likely by what was believed and by each batch that tells,
/// at its best place.
fn best_form(units: &[Unit<'_>]) -> (Lookup, f64) {
    let tells =
        |members: &&Vec<&Observed>| members.iter().any(|seen| seen.reached * seen.worth >= 5.0);
    let told = units.iter().map(|(_, members)| members).filter(tells);
    let told: Vec<&Vec<&Observed>> = evenly(told.collect(), ENOUGH);
    let mut best = (
        Lookup::new(Family::LogNormal),
        SCALE.0.exp(),
        f64::NEG_INFINITY,
    );
    if told.is_empty() {
        return (best.0, best.1);
    }
    for family in [Family::LogNormal, Family::Weibull] {
        let form = Lookup::new(family);
        let height = |ln_scale: f64| -> f64 {
            let of = workers::map(told.len(), |at| best_place(&form, ln_scale.exp(), told[at]));
            of.iter().sum::<f64>() - 0.5 * ((ln_scale - SCALE.0) / SCALE.1).powi(2)
        };
        let (ln_scale, top) = golden(&height, (0.06_f64).ln(), (0.9_f64).ln());
        if top > best.2 {
            best = (form, ln_scale.exp(), top);
        }
    }
    (best.0, best.1)
}

/// The greatest likelihood over the place, looked for around the middle of the intervals.
fn best_place(form: &Lookup, scale: f64, members: &[&Observed]) -> f64 {
    let rough: Vec<(f64, f64)> = members
        .iter()
        .flat_map(|seen| seen.of_status(IntervalStatus::Reached))
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
