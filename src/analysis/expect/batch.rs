//! The forecast of one batch: its own evidence weighed with what all the others say. It learns nothing.

use super::draws::{Cumulative, beta, binomial};
use super::evidence::{Evidence, Scales};
use super::growth::{Growth, MultipleDraws, age, first_ready, ready_to_pot};
use super::observed::Observed;
use super::outlook::{Posterior, outlook_of, posterior};
use super::{BatchState, DayForecast, DayRange, Forecast, Model};
use crate::fold::batch::Batch;
use crate::fold::intervals::Account;
use crate::stats::dice::Dice;
use crate::stats::pooling::Spot;
use chrono::NaiveDate;
use std::borrow::Cow;

/// Draws of days.
const DRAWS: usize = 240;
/// Attempts at a draw that agrees with what has not come yet.
const ATTEMPTS: usize = 12;

impl Model {
    /// The forecast of a batch that the model has seen; nothing if it has not, or nothing of it remains.
    #[must_use]
    pub fn forecast(&self, batch: &Batch) -> Option<Forecast> {
        let held = self.held.get(&batch.key)?;
        let worked_out = self.evidence.get(&batch.key);
        let evidence = match worked_out {
            Some(evidence) => Cow::Borrowed(evidence),
            None => {
                let prior =
                    self.days
                        .prior(self.spot(&held.observed), held.observed.wood, held.unit);
                Cow::Owned(Evidence::of(&held.observed, self.scales(), &prior))
            }
        };
        Some(self.judged(held, &evidence))
    }

    /// The forecast of a batch that the model was not learnt from, as it stood at the end of a day: for judging
    /// forecasts by batches whose end is known.
    #[must_use]
    pub fn forecast_left_out(&self, batch: &Batch, account: &Account, on: NaiveDate) -> Forecast {
        let seen = Observed::of(batch, account, on);
        let prior = self.days.prior(self.spot(&seen), seen.wood, None);
        let evidence = Evidence::of(&seen, self.scales(), &prior);
        let held = BatchState {
            ready: ready_to_pot(batch, account, &seen, on),
            sold: first_ready(batch, on),
            age: age(batch, on),
            unit: None,
            observed: seen,
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

    pub(super) fn spot(&self, seen: &Observed) -> Spot {
        self.groups.spot(&seen.taxon, seen.wood)
    }

    fn judged(&self, held: &BatchState, evidence: &Evidence) -> Forecast {
        let seen = &held.observed;
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
            count: outlook_of(seen, &posterior).count(self.setback),
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
    fn draws(&self, held: &BatchState, posterior: &Posterior, spot: Spot) -> Vec<[f64; 3]> {
        let seen = &held.observed;
        if posterior.cells.is_empty() {
            return Vec::new();
        }
        let mut dice = Dice::new(365);
        let cells = Cumulative::new(posterior.cells.iter().map(|c| c.2));
        let potting = Growth::draws(&self.growth.potting, spot);
        let sale = Growth::draws(self.growth.saleable(), spot);
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
    fn half_day(&self, seen: &Observed, m: f64, more: f64, dice: &mut Dice) -> f64 {
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

pub(super) fn when(mut draws: Vec<f64>) -> Option<DayForecast> {
    draws.sort_by(f64::total_cmp);
    let at = |q: f64| {
        let place = q * (draws.len() - 1) as f64;
        let low = place as usize;
        let high = (low + 1).min(draws.len() - 1);
        draws[low] + (draws[high] - draws[low]) * (place - low as f64)
    };
    let range = |tail: f64| DayRange {
        low: at(tail),
        high: at(1.0 - tail),
    };
    (!draws.is_empty()).then(|| DayForecast {
        middle: at(0.5),
        half: range(0.25),
        wide: range(0.1),
        draws: draws.clone(),
    })
}
