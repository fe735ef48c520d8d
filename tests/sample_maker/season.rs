//! What the invented nursery means to stick, year by year: its usual batches and its trials.

use super::air::SPOTS;
use super::dice::Dice;
use super::life::Order;
use super::taxa::{PLANTS, Plant};
use chrono::{Days, NaiveDate};
use struck::model::listed::Wood;

/// The first and the last season of the sample.
pub const SEASONS: [i32; 2] = [2023, 2026];

/// Batches stuck beside the usual ones, to compare two ways of doing it.
struct Trial {
    name: &'static str,
    year: i32,
    plant: &'static str,
    arms: [Arm; 2],
    batches: u32,
    stuck: u32,
}

/// One side of a trial.
struct Arm {
    name: &'static str,
    wood: Wood,
    /// Number of the place in the table of places.
    spot: usize,
    /// Rooting hormone, 0 for none.
    ppm: f64,
    /// Month and day of the first sticking.
    from: (u32, u32),
}

const fn arm(name: &'static str, wood: Wood, spot: usize, ppm: f64, from: (u32, u32)) -> Arm {
    Arm {
        name,
        wood,
        spot,
        ppm,
        from,
    }
}

/// The trials. What is true of each follows from the table of taxa: the first two differ, the
/// third does not, the fourth has too few batches to tell.
const TRIALS: [Trial; 4] = [
    Trial {
        name: "escallonia soft or semi",
        year: 2024,
        plant: "Escallonia 'Apple Court'",
        arms: [
            arm("softwood", Wood::Softwood, 2, 1000.0, (6, 4)),
            arm("semi-ripe", Wood::SemiRipe, 2, 3000.0, (8, 1)),
        ],
        batches: 4,
        stuck: 48,
    },
    Trial {
        name: "ceanothus soft or semi",
        year: 2025,
        plant: "Ceanothus 'Slate Roof'",
        arms: [
            arm("softwood", Wood::Softwood, 0, 1000.0, (6, 2)),
            arm("semi-ripe", Wood::SemiRipe, 0, 3000.0, (7, 28)),
        ],
        batches: 5,
        stuck: 40,
    },
    Trial {
        name: "philadelphus mist or box",
        year: 2025,
        plant: "Philadelphus coronarius",
        arms: [
            arm("mist", Wood::Softwood, 0, 1000.0, (6, 10)),
            arm("box", Wood::Softwood, 2, 1000.0, (6, 10)),
        ],
        batches: 5,
        stuck: 30,
    },
    Trial {
        name: "choisya with and without",
        year: 2026,
        plant: "Choisya ternata",
        arms: [
            arm("IBA 1000", Wood::SemiRipe, 0, 1000.0, (6, 30)),
            arm("none", Wood::SemiRipe, 0, 0.0, (6, 30)),
        ],
        batches: 2,
        stuck: 36,
    },
];

/// Everything to be stuck in a year, by day.
pub fn orders(year: i32, dice: &mut Dice) -> Vec<Order<'static>> {
    let mut all = usual(year, dice);
    all.extend(
        TRIALS
            .iter()
            .filter(|trial| trial.year == year)
            .flat_map(|trial| tried(trial, dice)),
    );
    all.sort_by_key(|order| order.on);
    all
}

fn usual(year: i32, dice: &mut Dice) -> Vec<Order<'static>> {
    let mut all = Vec::new();
    for plant in &PLANTS {
        for nature in plant.natures {
            for stuck in nature.sizes {
                // Not everything is stuck every year.
                if dice.chance(0.2) {
                    continue;
                }
                let Some(on) = day(year, nature.wood, dice) else {
                    continue;
                };
                let spot = match (nature.wood, dice.share()) {
                    (Wood::Softwood, s) if s < 0.75 => 0,
                    (Wood::Hardwood, _) => 1,
                    (_, s) if s < 0.45 => 0,
                    (_, s) if s < 0.80 => 1,
                    (_, s) if s < 0.90 => 2,
                    _ => 3,
                };
                all.push(Order {
                    plant,
                    nature,
                    stuck: *stuck,
                    on,
                    spot: &SPOTS[spot],
                    position: (spot < 2).then(|| dice.whole(1, 6)),
                    trial: None,
                    source: dice.chance(0.4).then_some("own stock bed"),
                    ppm: nature.ppm,
                });
            }
        }
    }
    all
}

/// A day on which wood of this stage is to be had.
fn day(year: i32, wood: Wood, dice: &mut Dice) -> Option<NaiveDate> {
    let (month, first, span) = match wood {
        Wood::Softwood => (5, 18, 38),
        Wood::Hardwood => (11, 8, 18),
        _ => (7, 18, 50),
    };
    let start = NaiveDate::from_ymd_opt(year, month, first)?;
    Some(start + Days::new(u64::from(dice.whole(0, span))))
}

fn tried(trial: &Trial, dice: &mut Dice) -> Vec<Order<'static>> {
    let find = |plant: &&Plant| plant.name == trial.plant;
    let Some(plant) = PLANTS.iter().find(find) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for arm in &trial.arms {
        let Some(nature) = plant.natures.iter().find(|nature| nature.wood == arm.wood) else {
            continue;
        };
        let Some(start) = NaiveDate::from_ymd_opt(trial.year, arm.from.0, arm.from.1) else {
            continue;
        };
        for batch in 0..trial.batches {
            all.push(Order {
                plant,
                nature,
                stuck: trial.stuck,
                on: start + Days::new(u64::from(batch / 2)),
                spot: &SPOTS[arm.spot],
                position: (arm.spot < 2).then(|| dice.whole(1, 6)),
                trial: Some((trial.name, arm.name)),
                source: Some("own stock bed"),
                ppm: arm.ppm,
            });
        }
    }
    all
}
