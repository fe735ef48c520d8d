//! Whether planned numbers do what they promise: journals of a known truth are planned on, what was planned is stuck and
//! lived to its end under the same truth.

use crate::fold::lives::{book_of, date, entry};
use struck::analysis::expect::Model;
use struck::analysis::expect::ladder::Rung;
use struck::analysis::plan::{PlantsWanted, plans};
use struck::model::entry::Entry;
use struck::model::taxon::Taxon;
use struck::stats::counts::BetaBinomial;
use struck::stats::dice::Dice;
use struck::stats::distributions::normal_quantile;

/// What is true of a taxon: shares that root, are potted of these, are ready of these; the middle ln day of rooting.
struct Kind {
    shares: [BetaBinomial; 3],
    days: f64,
}

/// Spread of ln days between batches of a taxon, and between the cuttings of a batch.
const DAYS: [f64; 2] = [0.1, 0.22];
/// Days to the first plants ready over the middle day of rooting: the middle of the logarithm, and its spread.
const READY: [f64; 2] = [1.0, 0.12];
/// The chance wanted.
const ASSURANCE: f64 = 0.9;

fn normal(dice: &mut Dice) -> f64 {
    normal_quantile(dice.unit().clamp(1e-9, 1.0 - 1e-9))
}

fn kind(dice: &mut Dice) -> Kind {
    let mut share = |low: f64, high: f64, rho: f64| {
        BetaBinomial::new(low + (high - low) * dice.unit(), rho).unwrap()
    };
    let shares = [
        share(0.35, 0.95, 0.06),
        share(0.9, 0.99, 0.03),
        share(0.75, 0.95, 0.05),
    ];
    Kind {
        shares,
        days: 30_f64.ln() + 0.3 * normal(dice),
    }
}

/// One batch lived to its end: ln of its middle day, rooted, potted, ready, and the day of the first plants ready.
struct Life {
    middle: f64,
    counts: [u32; 3],
    ready: f64,
}

fn live(kind: &Kind, stuck: u32, dice: &mut Dice) -> Life {
    let middle = kind.days + DAYS[0] * normal(dice);
    let mut left = stuck;
    let counts = kind.shares.map(|share| {
        left = share.counts(left).draw(dice.unit()) as u32;
        left
    });
    let ready = (middle + READY[0] + READY[1] * normal(dice)).exp();
    Life {
        middle,
        counts,
        ready,
    }
}

/// A past batch as the nursery wrote of it: a look every nine days, potted and cleared in the end, its plants made ready.
fn written(name: &str, taxon: &str, day: u64, kind: &Kind, dice: &mut Dice, out: &mut Vec<Entry>) {
    let stuck = 24 + dice.below(49);
    let life = live(kind, stuck, dice);
    let [rooted, potted, ready] = life.counts;
    let mut rooting: Vec<f64> = (0..rooted)
        .map(|_| (life.middle + DAYS[1] * normal(dice)).exp())
        .collect();
    rooting.sort_by(f64::total_cmp);
    let end = rooting.last().copied().unwrap_or(life.middle.exp()) + 1.0;
    let mut step = 0;
    let mut add = |age: f64, text: &str| {
        let at = day + age as u64;
        let text = format!("{text} batch={name}");
        out.push(entry(&format!("{name}{step:02}"), at, &text));
        step += 1;
    };
    add(
        0.0,
        &format!("stick taxon={taxon} stuck={stuck} wood=softwood"),
    );
    let mut age = 9.0;
    while age < end {
        let by = rooting.partition_point(|day| *day <= age);
        add(age, &format!("look rooted={by}"));
        age += 9.0;
    }
    add(age, &format!("look rooted={rooted}"));
    if potted > 0 {
        add(age, &format!("pot count={potted}"));
    }
    if stuck > potted {
        let rest = stuck - potted;
        add(age, &format!("discard count={rest} why=given-up"));
    }
    if ready > 0 {
        add(life.ready.max(age + 1.0), &format!("ready count={ready}"));
    }
}

/// The taxa of a journal.
const TAXA: usize = 5;

/// Whether what was planned on one such journal, for its first so many taxa, made the plants; and whether a batch's first
/// plants came in the days reckoned with.
fn kept(seed: u64, taxa: usize) -> Vec<[bool; 2]> {
    let mut dice = Dice::new(seed);
    let kinds: Vec<Kind> = (0..TAXA).map(|_| kind(&mut dice)).collect();
    let name = |at: usize| format!("Weigela{} species{at}", at / 2);
    let mut entries = Vec::new();
    for (at, kind) in kinds.iter().enumerate() {
        for n in 0..3 + dice.below(5) {
            let (code, day) = (format!("B{at}{n}"), u64::from(dice.below(120)));
            let taxon = name(at).replace(' ', "_");
            written(&code, &taxon, day, kind, &mut dice, &mut entries);
        }
    }
    let book = book_of(&entries);
    let model = Model::learn(&book, date(600), &[]);
    assert_eq!(model.rung(), Rung::Ready);
    let wanted: Vec<PlantsWanted> = (0..taxa)
        .map(|at| PlantsWanted {
            taxon: Taxon::parse(&name(at)),
            wood: None,
            plants: 10 + dice.below(140),
            by: date(1500),
            assurance: ASSURANCE,
            target: None,
        })
        .collect();
    let found = plans(&book, &model, &wanted, None, &mut |_, _| true).unwrap();
    let each = found.plans.iter().zip(&kinds);
    each.map(|(plan, kind)| {
        let offer = &plan.offers[0];
        assert!(offer.stick > 0, "{seed}");
        let stuck = offer.batches.iter();
        let lives: Vec<Life> = stuck.map(|&stuck| live(kind, stuck, &mut dice)).collect();
        let plants: u32 = lives.iter().map(|life| life.counts[2]).sum();
        [
            plants >= plan.wanted.plants,
            lives[0].ready <= offer.days.assured,
        ]
    })
    .collect()
}

/// How many plans on so many journals, each of so many taxa, kept each promise; and how many plans there were.
fn of(journals: u64, taxa: usize) -> ([u32; 2], u32) {
    let each: Vec<[bool; 2]> = (1..=journals).flat_map(|seed| kept(seed, taxa)).collect();
    let sum = |at: usize| each.iter().map(|kept| u32::from(kept[at])).sum();
    ([sum(0), sum(1)], each.len() as u32)
}

/// At least the assurance within sampling error: three standard errors.
fn is_met(kept: u32, of: u32) -> bool {
    let of = f64::from(of);
    f64::from(kept) / of >= ASSURANCE - 3.0 * (ASSURANCE * (1.0 - ASSURANCE) / of).sqrt()
}

/// `STRUCK_PLANNED_JOURNALS=1000` plans once on each of so many journals, and takes minutes.
#[test]
fn what_is_planned_makes_the_plants_as_often_as_assured() {
    let journals = std::env::var("STRUCK_PLANNED_JOURNALS");
    let (journals, taxa) = journals.map_or((8, TAXA), |number| (number.parse().unwrap(), 1));
    let ([plants, days], all) = of(journals, taxa);
    println!("of {all} plans {plants} made the plants, {days} in the days reckoned with");
    assert!(is_met(plants, all) && is_met(days, all), "{plants} {days}");
    // It asks for no more than it must: cuttings enough for any luck would be kept every time.
    assert!(plants < all, "{plants} of {all}");
}
