//! What becomes of each cutting of the invented nursery: the truth that looks then see in part.

use super::air;
use super::dice::Dice;
use super::taxa::{BATCH_DAYS_SPREAD, DAYS_SPREAD, Nature, SPREAD};
use chrono::{Days, NaiveDate};
use struck::model::listed::Cause;

/// The stages of a cutting, lowest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Nothing yet.
    Bare,
    /// Callused.
    Callused,
    /// Rooted.
    Rooted,
    /// Roots at the bottom.
    Bottom,
}

/// Longest life on the bench that is followed, in days.
pub const LONGEST: u32 = 260;

/// One cutting: the days at which it passes each milestone if it lives, and when it dies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cutting {
    callus: Option<f64>,
    root: Option<f64>,
    bottom: Option<f64>,
    death: Option<(u32, Cause)>,
}

impl Cutting {
    /// Its stage at an age in days, whether or not it lives still.
    #[must_use]
    pub fn stage(&self, age: u32) -> Stage {
        let past = |day: Option<f64>| day.is_some_and(|d| d <= f64::from(age));
        if past(self.bottom) {
            Stage::Bottom
        } else if past(self.root) {
            Stage::Rooted
        } else if past(self.callus) {
            Stage::Callused
        } else {
            Stage::Bare
        }
    }

    /// What it has died of by an age, if it has.
    #[must_use]
    pub fn dead(&self, age: u32) -> Option<Cause> {
        self.death
            .and_then(|(day, cause)| (day <= age).then_some(cause))
    }
}

/// The days that a batch's cuttings take, drawn for one cutting.
fn days(nature: &Nature, pace: f64, dice: &mut Dice) -> (f64, f64, f64) {
    let callus = pace * dice.around(nature.callus_days, DAYS_SPREAD);
    let root = callus + pace * dice.around(nature.root_days, DAYS_SPREAD);
    let bottom = root + pace * dice.around(nature.bottom_days, DAYS_SPREAD);
    (callus, root, bottom)
}

/// Draws a batch's cuttings. `place` tells where the batch stands at each age.
pub fn draw(
    nature: &Nature,
    stuck: u32,
    on: NaiveDate,
    place: &str,
    dice: &mut Dice,
) -> Vec<Cutting> {
    let strike = dice.beta(nature.strike, SPREAD);
    let pace = dice.around(1.0, BATCH_DAYS_SPREAD);
    (0..stuck)
        .map(|_| {
            let (callus, root, bottom) = days(nature, pace, dice);
            let strikes = dice.chance(strike);
            let callused = strikes || dice.chance(0.55);
            let mut cutting = Cutting {
                callus: callused.then_some(callus),
                root: strikes.then_some(root),
                bottom: strikes.then_some(bottom),
                death: None,
            };
            cutting.death = death(&cutting, on, place, dice);
            cutting
        })
        .collect()
}

/// When it dies and of what: one that will strike dies of wrong air alone, the others waste away.
fn death(cutting: &Cutting, on: NaiveDate, place: &str, dice: &mut Dice) -> Option<(u32, Cause)> {
    let wasting = if cutting.root.is_some() { 0.0 } else { 0.014 };
    (4..LONGEST).find_map(|age| {
        if cutting.stage(age) >= Stage::Rooted {
            return None;
        }
        if let Some((chance, cause)) = air::toll(place, on + Days::new(u64::from(age)))
            && dice.chance(chance)
        {
            return Some((age, cause));
        }
        dice.chance(wasting).then(|| (age, wasting_cause(dice)))
    })
}

fn wasting_cause(dice: &mut Dice) -> Cause {
    match dice.share() {
        s if s < 0.62 => Cause::Blackened,
        s if s < 0.80 => Cause::Wilted,
        s if s < 0.92 => Cause::Mould,
        s if s < 0.97 => Cause::Eaten,
        _ => Cause::Unknown,
    }
}

/// True days of those that strike, at 10, 50 and 90 %: to callus, to root, to the bottom.
/// Found by drawing many, since sums of log-normal days have no closed form.
#[must_use]
pub fn true_days(nature: &Nature, seed: u64) -> [[f64; 3]; 3] {
    const DRAWS: usize = 20_000;
    let mut dice = Dice::new(seed);
    let mut all: [Vec<f64>; 3] = Default::default();
    for _ in 0..DRAWS {
        let pace = dice.around(1.0, BATCH_DAYS_SPREAD);
        let (callus, root, bottom) = days(nature, pace, &mut dice);
        for (held, day) in all.iter_mut().zip([callus, root, bottom]) {
            held.push(day);
        }
    }
    all.map(|mut held| {
        held.sort_by(f64::total_cmp);
        [0.1, 0.5, 0.9].map(|q| held[(q * DRAWS as f64) as usize])
    })
}
