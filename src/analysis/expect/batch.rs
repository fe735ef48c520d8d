//! The forecast of one batch: its own evidence weighed with what all the others say. It learns nothing.

use super::evidence::Evidence;
use super::ladder::Rung;
use super::model::{BatchState, DayForecast, DaySpan, Forecast, Model};
use super::multiple::MultipleDraws;
use super::multiple::{Cumulative, beta, binomial};
use super::observed::Observed;
use super::outlook::{Posterior, outlook_of, posterior};
use super::ready::ReadyTimes;
use crate::fold::batch::Batch;
use crate::stats::dice::Dice;
use crate::stats::pooling::Spot;

/// Draws of days.
const DRAWS: usize = 240;
/// Attempts at a draw that agrees with what has not come yet.
const ATTEMPTS: usize = 12;
/// Days past the expected day of closing after which a batch not looked at since counts for nothing (our own rule).
const LOST_AFTER: f64 = 30.0;
/// A loss seen going on is taken to go on for so many days at least, and at most (our own rule: one look, six).
const GOES_ON: [f64; 2] = [7.0, 42.0];

impl Model {
    /// The forecast of a batch that the model has seen; nothing if it has not, or nothing of it remains.
    #[must_use]
    pub fn forecast(&self, batch: &Batch) -> Option<Forecast> {
        let held = self.held.get(&batch.key)?;
        let mut forecast = match self.evidence.get(&batch.key) {
            Some(evidence) => self.judged(held, evidence),
            None => self.forecast_state(held),
        };
        forecast.failing = self.failing(batch).to_vec();
        Some(forecast)
    }

    /// Whether nobody has looked at an open batch for so long that nothing is known of it now: since well past the day on
    /// which it should have been cleared, and no later look was asked for.
    #[must_use]
    pub fn is_lost_sight_of(&self, batch: &Batch) -> bool {
        let Some(held) = self
            .held
            .get(&batch.key)
            .filter(|held| is_unseen(held, 0.0))
        else {
            return false;
        };
        let posterior = match self.evidence.get(&batch.key) {
            Some(evidence) => self.posterior_of(held, evidence),
            None => self.posterior_of(held, &self.evidence_of(held)),
        };
        is_unseen(held, self.closing_day(place(&posterior)))
    }

    /// The day since sticking on which a batch of that place in ln days is expected to be cleared.
    fn closing_day(&self, place: Option<(f64, f64)>) -> f64 {
        let rooting = place.map_or(30.0, |(m, _)| self.days.quantile(0.5, m));
        rooting * self.closing.exp()
    }

    /// The forecast of a batch in this state.
    #[must_use]
    pub fn forecast_state(&self, state: &BatchState) -> Forecast {
        self.judged(state, &self.evidence_of(state))
    }

    /// The evidence of a batch, its place weighed by what all others say.
    pub(super) fn evidence_of(&self, held: &BatchState) -> Evidence {
        let observed = &held.observed;
        let spot = self.spot(observed);
        let prior = self.day_prior(spot, observed.wood, held.unit, held.season);
        Evidence::new(observed, self.scales(), &prior)
    }

    /// What is known of a batch by its evidence and by all others.
    fn posterior_of(&self, held: &BatchState, evidence: &Evidence) -> Posterior {
        let seen = &held.observed;
        let shares = self.share_prior(self.spot(seen), held.unit, held.season);
        posterior(evidence, &shares, self, seen)
    }

    fn judged(&self, held: &BatchState, evidence: &Evidence) -> Forecast {
        let seen = &held.observed;
        let spot = self.spot(seen);
        let posterior = self.posterior_of(held, evidence);
        let draws = self.draws(held, &posterior, spot);
        let draws_at = |at: usize| -> Vec<f64> {
            let each = draws.iter().map(|draw| draw[at]);
            each.filter(|day| day.is_finite()).collect()
        };
        let potting = when(held.ready.map_or_else(|| draws_at(1), |day| vec![day]));
        let place = place(&posterior);
        let unseen = f64::from(held.age.saturating_sub(seen.looked));
        let to_come = potting.as_ref().map_or(0.0, |when| when.middle) - f64::from(seen.looked);
        let goes_on = to_come.max(unseen).clamp(GOES_ON[0], GOES_ON[1]);
        let survive = (1.0 - held.pace).powf(goes_on);
        let outlook = outlook_of(seen, &posterior).kept(survive);
        Forecast {
            key: seen.key.clone(),
            stuck: seen.stuck,
            rooted: seen.reached,
            waiting: seen.waiting,
            looked: seen.looked,
            count: outlook.count(self.setback),
            half: when(draws_at(0)),
            potting,
            ready_to_pot: held.ready.is_some(),
            times: self.batch_times(held, place, spot),
            age: held.age,
            unseen_days: unseen as u32,
            standing: survive * (-self.weekly_loss * unseen / 7.0).exp(),
            is_lost_sight_of: is_unseen(held, self.closing_day(place)),
            failing: Vec::new(),
            // What it was learnt from itself is no other's.
            kin: self
                .kin(&seen.taxon, seen.wood)
                .without(u32::from(held.unit.is_some())),
        }
    }

    /// When each of a batch's cuttings is as far as the journal knows the way.
    fn batch_times(&self, held: &BatchState, place: Option<(f64, f64)>, spot: Spot) -> ReadyTimes {
        let (ratio, within) = self.ratio(spot);
        let Some((m, variance)) = place else {
            return self.times(spot, held.observed.wood, held.season, ratio, within);
        };
        let rooting = m + self.days.middle_step();
        let mut lots = held.lots.clone();
        lots.rooting = rooting;
        let (mean, spread) = match self.rung() {
            Rung::Ready => self.growth.sale.own(spot, &lots),
            Rung::Potted | Rung::Rooted => (ratio.mean, ratio.shared + ratio.between),
        };
        ReadyTimes {
            centre: rooting + mean,
            shared: 0.0,
            own: (variance + spread).sqrt(),
            within,
        }
    }

    /// Draws of the days half rooted, and ready for potting.
    fn draws(&self, held: &BatchState, posterior: &Posterior, spot: Spot) -> Vec<[f64; 2]> {
        let seen = &held.observed;
        if posterior.cells.is_empty() {
            return Vec::new();
        }
        let mut dice = Dice::new(365);
        let cells = Cumulative::new(posterior.cells.iter().map(|c| c.2));
        let potting = self.growth.potting.draws(spot);
        // What has not come yet comes after the day on which that was last seen.
        let looked = f64::from(seen.examined);
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
            out.push([half, after(&potting, looked)]);
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
    let range = |tail: f64| DaySpan {
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

/// Whether nobody has looked at an open batch for so many days past the day on which it should have been cleared.
fn is_unseen(held: &BatchState, closing: f64) -> bool {
    let seen = &held.observed;
    let since = closing.max(f64::from(seen.looked)) + LOST_AFTER;
    !seen.closed && !held.rests && f64::from(held.age) > since
}

/// Mean and variance of a batch's place.
fn place(posterior: &Posterior) -> Option<(f64, f64)> {
    let each = || {
        posterior
            .cells
            .iter()
            .map(|&(at, _, w)| (posterior.places[at].0, w))
    };
    let whole: f64 = each().map(|(_, w)| w).sum();
    if whole <= 0.0 {
        return None;
    }
    let mean = each().map(|(m, w)| m * w).sum::<f64>() / whole;
    let square: f64 = each().map(|(m, w)| w * (m - mean).powi(2)).sum();
    Some((mean, square / whole))
}
