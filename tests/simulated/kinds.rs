//! Simulated journals of many taxa: a share and a pace of each taxon's own, batches around them, looks now and then, all
//! cleared in the end. Pure and seeded; it judges nothing.

use super::writing::{entry, normal};
use chrono::{Days, NaiveDate};
use struck::fold::Book;
use struck::model::entry::Entry;
use struck::stats::counts::BetaBinomial;
use struck::stats::dice::Dice;
use struck::stats::distributions::normal_quantile;

/// How a simulated journal comes about: what is true of it, all of it known.
#[derive(Clone, Copy, Debug)]
pub struct Truth {
    /// Batches.
    pub batches: u32,
    /// Taxa, two to a genus.
    pub taxa: u32,
    /// Correlation of the shares of a taxon's batches.
    pub rho: f64,
    /// Spread of ln days within a batch, between batches, between taxa.
    pub spreads: [f64; 3],
    /// Days follow a Weibull distribution instead of a log-normal one.
    pub weibull: bool,
    /// Days between looks.
    pub every: u32,
    /// Chance a day that one that will not root dies.
    pub wasting: f64,
    /// If wood stages are written: ln days by which semi-ripe wood takes longer than softwood.
    pub semi_ripe: Option<f64>,
}

/// A journal in which all goes as forecasts suppose.
pub const PLAIN: Truth = Truth {
    batches: 150,
    taxa: 12,
    rho: 0.08,
    spreads: [0.25, 0.1, 0.35],
    weibull: false,
    every: 7,
    wasting: 0.015,
    semi_ripe: None,
};

/// Where wood stages are written, the first so many batches are softwood, the others semi-ripe: eleven weeks' worth.
const SOFTWOOD: u32 = 25;

/// A journal of that truth.
pub fn simulated(truth: &Truth, seed: u64) -> Book {
    let mut dice = Dice::new(seed);
    let kinds: Vec<(f64, f64)> = (0..truth.taxa)
        .map(|_| {
            let strike = 0.3 + 0.65 * dice.unit();
            let days = 3.4 + truth.spreads[2] * normal(&mut dice);
            (strike, days)
        })
        .collect();
    let mut entries = Vec::new();
    for n in 0..truth.batches {
        let taxon = dice.below(truth.taxa);
        let (strike, days) = kinds[taxon as usize];
        live(truth, n, taxon, strike, days, &mut dice, &mut entries);
    }
    Book::from_entries(entries)
}

/// One cutting: callus, root, death, in days.
type Cutting = (f64, f64, f64);

fn cuttings(truth: &Truth, stuck: u32, strike: f64, days: f64, dice: &mut Dice) -> Vec<Cutting> {
    let share = BetaBinomial::new(strike, truth.rho).unwrap().counts(stuck);
    let roots = share.draw(dice.unit()) as u32;
    let place = days + truth.spreads[1] * normal(dice);
    let [within, ..] = truth.spreads;
    (0..stuck)
        .map(|at| {
            let unit = dice.unit().clamp(1e-9, 1.0 - 1e-9);
            let w = if truth.weibull {
                (-(-unit).ln_1p()).ln()
            } else {
                normal_quantile(unit)
            };
            let root = (place + within * w).exp();
            let callus = root * (0.35 + 0.25 * dice.unit());
            if at < roots {
                return (callus, root, f64::INFINITY);
            }
            let death = -(1.0 - dice.unit()).ln() / truth.wasting;
            let callus = if dice.unit() < 0.5 {
                callus
            } else {
                f64::INFINITY
            };
            (callus, f64::INFINITY, death)
        })
        .collect()
}

fn live(
    truth: &Truth,
    n: u32,
    taxon: u32,
    strike: f64,
    days: f64,
    dice: &mut Dice,
    out: &mut Vec<Entry>,
) {
    let start = NaiveDate::from_ymd_opt(2024, 1, 1).unwrap() + Days::new(u64::from(3 * n));
    let stuck = 12 + dice.below(80);
    let mut enter = |kind: &str, day: u32, step: usize, fields: &str| {
        let at = start + Days::new(u64::from(day));
        let id = format!("{n:05}-{step:03}");
        out.push(entry(&id, at, &format!("{kind} batch=B{n} {fields}")));
    };
    let wood = ["softwood", "semi-ripe"][usize::from(n >= SOFTWOOD)];
    let wood = truth
        .semi_ripe
        .map_or_else(String::new, |_| format!("wood={wood}"));
    let taxon = format!("Genus{}_species{taxon}", taxon / 2);
    enter(
        "stick",
        0,
        0,
        &format!("taxon={taxon} stuck={stuck} {wood}"),
    );
    let later = truth.semi_ripe.filter(|_| n >= SOFTWOOD);
    let days = days + later.unwrap_or(0.0);
    let mut bench = cuttings(truth, stuck, strike, days, dice);
    let patience = 2.2 * days.exp();
    let mut day = 5 + dice.below(truth.every);
    for step in 1.. {
        let at = f64::from(day);
        let before = bench.len();
        bench.retain(|c| c.2 > at);
        let dead = (before - bench.len()) as u32;
        let rooted = bench.iter().filter(|c| c.1 <= at).count() as u32;
        let callused = bench.iter().filter(|c| c.0 <= at && c.1 > at).count() as u32;
        let told = format!("callused={callused} rooted={rooted} lost.mould={dead}");
        enter("look", day, 3 * step, &told);
        if at > patience || bench.is_empty() {
            if rooted > 0 {
                enter("pot", day, 3 * step + 1, &format!("count={rooted}"));
            }
            let rest = bench.len() as u32 - rooted;
            if rest > 0 {
                enter(
                    "discard",
                    day,
                    3 * step + 2,
                    &format!("count={rest} why=given-up"),
                );
            }
            return;
        }
        day += 1 + dice.below(2 * truth.every);
    }
}
