//! Simulated journals whose truth is known: batches with effects of their own and of their season on strike and speed,
//! losses, looks some days apart, potting once most have rooted, plants made ready in lots. Pure and seeded. No test itself.

use super::writing::{entry, normal};
use chrono::{Days, NaiveDate};
use struck::model::entry::Entry;
use struck::stats::dice::Dice;

/// What is true of a journal.
#[derive(Clone, Copy, Debug)]
pub struct SimulatedTruth {
    /// The middle share that roots, in logits.
    pub strike: f64,
    /// The middle day of rooting, in ln days.
    pub speed: f64,
    /// Spread between batches: logits of the strike, ln days.
    pub batch: [f64; 2],
    /// Spread between seasons, of the same.
    pub season: [f64; 2],
    /// Spread of ln days between the cuttings of a batch.
    pub within: f64,
    /// Of those that will not root, the part that dies on the bench each day.
    pub dying: f64,
    /// Of those potted, the part that becomes ready.
    pub ready: f64,
    /// ln of a plant's day over its batch's middle day of rooting, and its spread between plants of a batch.
    pub growth: [f64; 2],
}

impl Default for SimulatedTruth {
    fn default() -> Self {
        Self {
            strike: 1.0,
            speed: 3.2,
            batch: [0.4, 0.1],
            season: [0.0, 0.0],
            within: 0.22,
            dying: 0.02,
            ready: 0.9,
            growth: [1.1, 0.2],
        }
    }
}

/// One batch lived to its end, with what only the simulator knows.
#[derive(Clone, Debug)]
pub struct SimulatedLife {
    /// What the nursery wrote of it.
    pub entries: Vec<Entry>,
    /// Cuttings that rooted in the end.
    pub rooted: u32,
}

/// Day 0 of these journals.
pub fn first_day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 6, 1).unwrap()
}

impl SimulatedTruth {
    /// The effects of a season on strike and speed.
    pub fn season(&self, dice: &mut Dice) -> [f64; 2] {
        self.season.map(|spread| spread * normal(dice))
    }

    /// A batch stuck on a day, in a season of those effects; looked at every `every` days, plants made ready every
    /// fortnight in lots.
    pub fn life(
        &self,
        code: &str,
        day: u64,
        (stuck, every): (u32, u32),
        season: [f64; 2],
        dice: &mut Dice,
    ) -> SimulatedLife {
        let strike = self.strike + season[0] + self.batch[0] * normal(dice);
        let share = 1.0 / (1.0 + (-strike).exp());
        let middle = self.speed + season[1] + self.batch[1] * normal(dice);
        let mut roots: Vec<f64> = Vec::new();
        let mut deaths: Vec<f64> = Vec::new();
        for _ in 0..stuck {
            if dice.unit() < share {
                roots.push((middle + self.within * normal(dice)).exp());
            } else {
                deaths.push(-(1.0 - dice.unit()).ln() / self.dying);
            }
        }
        roots.sort_by(f64::total_cmp);
        let rooted = roots.len() as u32;
        let end = roots.last().copied().unwrap_or(2.0 * middle.exp());
        let mut entries = Vec::new();
        let mut add = |age: u32, text: &str| {
            let id = format!("{code}-{:03}", entries.len());
            let at = first_day() + Days::new(day + u64::from(age));
            entries.push(entry(&id, at, &format!("{text} batch={code}")));
        };
        add(
            0,
            &format!("stick taxon=Weigela_florida wood=softwood stuck={stuck} place=p{code}"),
        );
        let (mut age, mut dead) = (every, 0);
        loop {
            let by = roots.partition_point(|root| *root <= f64::from(age)) as u32;
            let gone = deaths.iter().filter(|d| **d <= f64::from(age)).count() as u32;
            let lost = match gone - dead {
                0 => String::new(),
                n => format!(" lost.blackened={n}"),
            };
            dead = gone;
            add(age, &format!("look how=lift rooted={by}{lost}"));
            if f64::from(age) >= end {
                break;
            }
            age += every;
        }
        if rooted > 0 {
            add(age, &format!("pot count={rooted}"));
        }
        if stuck > rooted + dead {
            add(
                age,
                &format!("discard count={} why=given-up", stuck - rooted - dead),
            );
        }
        let mut ready: Vec<f64> = Vec::new();
        for _ in 0..rooted {
            let grown = (middle + self.growth[0] + self.growth[1] * normal(dice)).exp();
            if dice.unit() < self.ready {
                // What is fit for sale is found and entered at the next round, a fortnight apart.
                let found = (grown.max(f64::from(age + 1)) / 14.0).ceil() * 14.0;
                ready.push(found);
            }
        }
        ready.sort_by(f64::total_cmp);
        let mut lots = ready.clone();
        lots.dedup();
        for lot in lots {
            let count = ready.iter().filter(|day| **day == lot).count();
            add(lot as u32, &format!("ready count={count}"));
        }
        let lost_in_pots = rooted as usize - ready.len();
        if lost_in_pots > 0 {
            let last = ready.last().map_or(age + 60, |day| *day as u32);
            add(
                last,
                &format!("discard count={lost_in_pots} from=pots why=other"),
            );
        }
        SimulatedLife { entries, rooted }
    }
}
