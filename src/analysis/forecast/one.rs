//! The forecast of one batch: its own evidence weighed with what all the others say. It learns nothing.

use super::evidence::{Evidence, Scales, Waiting};
use super::later::{Later, MultipleDraws, first_ready};
use super::learn::ready_to_pot;
use super::seen::Seen;
use super::shares::SHARE_LOGS;
use super::{Forecast, Held, Model, Range, When};
use crate::fold::batch::Batch;
use crate::fold::intervals::Account;
use crate::stats::betabin::BetaBinomial;
use crate::stats::dice::Dice;
use crate::stats::discrete::Discrete;
use crate::stats::pooling::Spot;
use chrono::NaiveDate;
use std::borrow::Cow;

/// Bins of the chance that a waiting cutting roots.
const BINS: usize = 96;
/// Draws of days.
const DRAWS: usize = 240;
/// Attempts at a draw that agrees with what has not come yet.
const ATTEMPTS: usize = 12;

/// A batch's place and share by all that is known: cells with their chances.
struct Posterior {
    /// In ln days, with what becomes of those that wait.
    places: Vec<(f64, Waiting)>,
    /// Number of the place, share, chance.
    cells: Vec<(usize, f64, f64)>,
}

impl Model {
    /// The forecast of a batch that the model has seen; nothing if it has not, or nothing of it remains.
    #[must_use]
    pub fn forecast(&self, batch: &Batch) -> Option<Forecast> {
        let held = self.held.get(&batch.key)?;
        let worked_out = self.evidence.get(&batch.key);
        let evidence = match worked_out {
            Some(evidence) => Cow::Borrowed(evidence),
            None => {
                let prior = self
                    .days
                    .prior(self.spot(&held.seen), held.seen.wood, held.unit);
                Cow::Owned(Evidence::of(&held.seen, self.scales(), &prior))
            }
        };
        Some(self.judged(held, &evidence))
    }

    /// The forecast of a batch that the model was not learnt from, as it stood at the end of a day: for judging
    /// forecasts by batches whose end is known.
    #[must_use]
    pub fn forecast_left_out(&self, batch: &Batch, account: &Account, on: NaiveDate) -> Forecast {
        let seen = Seen::of(batch, account, on);
        let prior = self.days.prior(self.spot(&seen), seen.wood, None);
        let evidence = Evidence::of(&seen, self.scales(), &prior);
        let held = Held {
            ready: ready_to_pot(batch, account, &seen, on),
            sold: first_ready(batch, on),
            age: age(batch, on),
            unit: None,
            seen,
        };
        self.judged(&held, &evidence)
    }

    pub(super) fn scales(&self) -> Scales<'_> {
        Scales {
            days: &self.days,
            losses: &self.losses,
            callus: self.callus.as_ref(),
        }
    }

    fn spot(&self, seen: &Seen) -> Spot {
        self.groups.spot(&seen.taxon, seen.wood)
    }

    fn judged(&self, held: &Held, evidence: &Evidence) -> Forecast {
        let seen = &held.seen;
        let spot = self.spot(seen);
        let posterior = posterior(evidence, &self.shares.prior(spot, held.unit), self, seen);
        let draws = self.draws(held, &posterior, spot);
        let of = |at: usize| -> Vec<f64> {
            let each = draws.iter().map(|draw| draw[at]);
            each.filter(|day| day.is_finite()).collect()
        };
        let seen_or =
            |day: Option<f64>, at: usize| when(day.map_or_else(|| of(at), |day| vec![day]));
        Forecast {
            key: seen.key.clone(),
            stuck: seen.stuck,
            rooted: seen.reached,
            waiting: seen.waiting,
            looked: seen.looked,
            count: outlook_of(seen, &posterior).count(self.mishap),
            half: when(of(0)),
            potting: seen_or(held.ready, 1),
            ready_to_pot: held.ready.is_some(),
            sale: seen_or(held.sold, 2),
            on_sale: held.sold.is_some(),
            // What it was learnt from itself is no other's.
            kin: self
                .kin(&seen.taxon, seen.wood)
                .without(u32::from(held.unit.is_some())),
        }
    }

    /// Draws of the days half rooted, ready for potting, ready for sale.
    fn draws(&self, held: &Held, posterior: &Posterior, spot: Spot) -> Vec<[f64; 3]> {
        let seen = &held.seen;
        if posterior.cells.is_empty() {
            return Vec::new();
        }
        let mut dice = Dice::new(365);
        let cells = Cumulative::new(posterior.cells.iter().map(|c| c.2));
        let potting = Later::draws(&self.later.potting, spot);
        let sale = Later::draws(self.later.saleable(), spot);
        // What has not come yet comes after the day on which that was last seen.
        let looked = f64::from(seen.examined);
        let age = f64::from(held.age);
        let mut out = Vec::with_capacity(DRAWS);
        for at in 0..DRAWS {
            let unit = (at as f64 + dice.unit()) / DRAWS as f64;
            let (place, pi, _) = posterior.cells[cells.at(unit)];
            let (m, ref waiting) = posterior.places[place];
            let more = binomial(seen.waiting.round() as u32, waiting.roots(pi), &mut dice);
            let half = self.half_day(seen, m, f64::from(more), &mut dice);
            let rooting = self.days.quantile(0.5, m);
            let mut after = |draws: &MultipleDraws, day: f64| {
                let draw = |dice: &mut Dice| rooting * draws.draw(dice.unit(), dice.unit());
                let first = (0..ATTEMPTS)
                    .map(|_| draw(&mut dice))
                    .find(|found| *found > day);
                first.unwrap_or(day + 1.0)
            };
            let pot = after(&potting, looked);
            out.push([half, pot, after(&sale, age)]);
        }
        out
    }

    /// The day by which half of `reached` and `more` have rooted: seen already, or an order statistic of those to come.
    fn half_day(&self, seen: &Seen, m: f64, more: f64, dice: &mut Dice) -> f64 {
        let whole = seen.reached + more;
        if whole < 0.5 {
            return f64::NAN;
        }
        if seen.reached >= 0.5 * whole
            && let Some(day) = seen.half_of(whole)
        {
            return day;
        }
        let wanted = (0.5 * whole - seen.reached).ceil().max(1.0);
        // The j-th smallest of n uniforms is beta-distributed with j and n − j + 1.
        let unit = beta(wanted, (more - wanted + 1.0).max(1.0), dice);
        let rooted = self.days.by(f64::from(seen.examined), m);
        let left = (rooted + (1.0 - rooted) * unit).clamp(1e-9, 1.0 - 1e-9);
        self.days.quantile(left, m).max(f64::from(seen.examined))
    }
}

fn posterior(evidence: &Evidence, shares: &[f64], model: &Model, seen: &Seen) -> Posterior {
    let (mut cells, mut places) = (Vec::new(), Vec::new());
    let all = evidence.logs.iter().flatten().copied();
    let top = all.fold(f64::NEG_INFINITY, f64::max);
    for (&(place, prior), logs) in evidence.places.iter().zip(&evidence.logs) {
        let m = model.days.grid.at(place);
        for (((pi, ..), log), share_prior) in SHARE_LOGS.iter().zip(logs).zip(shares) {
            let chance = prior * share_prior * (log - top).exp();
            cells.push((places.len(), *pi, chance));
        }
        places.push((m, Waiting::at(seen, model.scales(), m)));
    }
    let most = cells.iter().map(|c| c.2).fold(0.0, f64::max);
    cells.retain(|c| c.2 > 1e-7 * most);
    let whole: f64 = cells.iter().map(|c| c.2).sum();
    cells.iter_mut().for_each(|c| c.2 /= whole.max(1e-300));
    Posterior { places, cells }
}

/// What is foretold of a batch's count: what was counted stands, each of the others roots with a chance that differs
/// between cells of the posterior.
#[derive(Clone, Debug)]
pub(super) struct Outlook {
    /// Rooted for sure.
    pub certain: u32,
    /// Cuttings of which that is still open.
    pub open: u32,
    /// Chances that one of these roots, with their weights.
    pub chances: Vec<(f64, f64)>,
}

impl Outlook {
    /// The count in the end; those open share a fate with that correlation.
    fn count(&self, rho: f64) -> Discrete {
        let (certain, open) = (self.certain as usize, self.open);
        let mut weights = vec![0.0; certain + open as usize + 1];
        for &(p, weight) in &self.chances {
            if let Ok(model) = BetaBinomial::new(p, rho) {
                let counts = model.counts(open);
                let into = weights[certain..].iter_mut();
                into.zip(counts.chances())
                    .for_each(|(w, c)| *w += weight * c);
            }
        }
        Discrete::from_weights(weights).unwrap_or_else(|| Discrete::certain(certain))
    }
}

/// The outlook of a batch by its evidence and all the others.
pub(super) fn outlook(model: &Model, held: &Held) -> Outlook {
    let spot = model.spot(&held.seen);
    let prior = model.days.prior(spot, held.seen.wood, held.unit);
    let evidence = Evidence::of(&held.seen, model.scales(), &prior);
    let posterior = posterior(
        &evidence,
        &model.shares.prior(spot, held.unit),
        model,
        &held.seen,
    );
    outlook_of(&held.seen, &posterior)
}

fn outlook_of(seen: &Seen, posterior: &Posterior) -> Outlook {
    // Where only a part was seen, the rest is known no better than one waiting or rooted by the batch's share.
    let certain = (seen.reached * seen.worth).round();
    let waiting = seen.waiting * seen.worth;
    let unseen = (seen.reached + seen.waiting - certain - waiting).max(0.0);
    let open = (seen.reached + seen.waiting - certain).round().max(0.0);
    let mut bins = vec![0.0; BINS + 1];
    for &(place, pi, chance) in &posterior.cells {
        let (_, those) = &posterior.places[place];
        let any = pi / (pi + (1.0 - pi) * those.alive).max(1e-12);
        let whole = (waiting + unseen).max(1e-9);
        let mean = (waiting * those.roots(pi) + unseen * any) / whole;
        let place = mean.clamp(0.0, 1.0) * BINS as f64;
        let low = (place as usize).min(BINS - 1);
        bins[low] += chance * (low as f64 + 1.0 - place);
        bins[low + 1] += chance * (place - low as f64);
    }
    let chances = bins.into_iter().enumerate().filter(|(_, w)| *w > 1e-6);
    Outlook {
        certain: certain as u32,
        open: open as u32,
        chances: chances
            .map(|(at, w)| (at as f64 / BINS as f64, w))
            .collect(),
    }
}

/// Numbers by their chances.
#[derive(Clone, Debug)]
pub(super) struct Cumulative(Vec<f64>);

impl Cumulative {
    pub fn new(chances: impl Iterator<Item = f64>) -> Self {
        let mut sum = 0.0;
        let sums: Vec<f64> = chances
            .map(|c| {
                sum += c;
                sum
            })
            .collect();
        Self(sums)
    }

    pub fn at(&self, unit: f64) -> usize {
        let whole = self.0.last().copied().unwrap_or(0.0);
        let place = self.0.partition_point(|sum| *sum < unit * whole);
        place.min(self.0.len().saturating_sub(1))
    }
}

/// A standard normal draw (Box & Muller 1958, *Annals of Mathematical Statistics* 29:610).
fn normal(dice: &mut Dice) -> f64 {
    let radius = (-2.0 * (1.0 - dice.unit()).ln()).sqrt();
    radius * (std::f64::consts::TAU * dice.unit()).cos()
}

/// A gamma draw of shape `a` ≥ 1 by the cube-root normal approximation (Wilson & Hilferty 1931, *Proceedings of the
/// National Academy of Sciences* 17:684).
fn gamma(a: f64, dice: &mut Dice) -> f64 {
    let ninth = 1.0 / (9.0 * a);
    let root = 1.0 - ninth + normal(dice) * ninth.sqrt();
    a * root.max(0.0).powi(3)
}

fn beta(a: f64, b: f64, dice: &mut Dice) -> f64 {
    let (x, y) = (gamma(a, dice), gamma(b, dice));
    x / (x + y).max(1e-12)
}

fn binomial(n: u32, p: f64, dice: &mut Dice) -> u32 {
    if n > 40 && p > 0.05 && p < 0.95 {
        let n = f64::from(n);
        let draw = n * p + normal(dice) * (n * p * (1.0 - p)).sqrt();
        return draw.round().clamp(0.0, n) as u32;
    }
    (0..n).map(|_| u32::from(dice.unit() < p)).sum()
}

/// Days since sticking.
pub(super) fn age(batch: &Batch, on: NaiveDate) -> u32 {
    u32::try_from((on - batch.stuck_on).num_days()).unwrap_or(0)
}

pub(super) fn when(mut draws: Vec<f64>) -> Option<When> {
    draws.sort_by(f64::total_cmp);
    let at = |q: f64| {
        let place = q * (draws.len() - 1) as f64;
        let low = place as usize;
        let high = (low + 1).min(draws.len() - 1);
        draws[low] + (draws[high] - draws[low]) * (place - low as f64)
    };
    let range = |tail: f64| Range {
        low: at(tail),
        high: at(1.0 - tail),
    };
    (!draws.is_empty()).then(|| When {
        middle: at(0.5),
        half: range(0.25),
        wide: range(0.1),
        draws: draws.clone(),
    })
}
