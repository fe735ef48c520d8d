//! Whether what figures state holds, each tried on simulated journals: levels, powers, how often ranges hold. A run is one
//! journal; what is true of it is the simulator's. It sums nothing up.

use super::claims::{Claim, Experiment, Found};
use super::simulated::plants::{SimulatedLife, SimulatedTruth, first_day};
use super::simulated::ranges::held_ranges;
use super::simulated::ways::{Way, World, book};
use super::simulated::writing::entry;
use chrono::{Days, NaiveDate};
use std::collections::HashMap;
use struck::analysis::expect::Model;
use struck::analysis::plan::{PlantsWanted, plans};
use struck::analysis::trials::answer::VerdictKind;
use struck::analysis::trials::design::{TrialWanted, size};
use struck::analysis::trials::{TrialOptions, compare};
use struck::fold::Book;
use struck::fold::batch::Milestone;
use struck::fold::selection::Selection;
use struck::model::entry::Entry;
use struck::model::taxon::Taxon;
use struck::stats::counts::BetaBinomial;
use struck::stats::dice::Dice;
use struck::stats::permute::{Draw, Replicate, Studentised};

/// All that is tried on simulated journals, but forecasts of single batches.
pub fn experiments() -> Vec<Experiment> {
    let mut all = ranges();
    all.extend(levels());
    all.push(Experiment::new(
        "trials laid out from 12 batches",
        [400, 200],
        POWER,
        laid_out,
    ));
    all.extend(seasons());
    all.extend(losses());
    all
}

// How often ranges of a timeline hold.

const RANGE: Claim = Claim::at_least("95 % range of the share holds", 0.95);
const RANGES: &[Claim] = &[
    RANGE,
    Claim::at_least("95 % range of the day of 10 % holds", 0.88),
    Claim::at_least("95 % range of the day of 50 % holds", 0.88),
    Claim::at_least("95 % range of the day of 90 % holds", 0.88),
    Claim::at_least("95 % ranges of days hold on average", 0.92),
];
const WIDE: &[Claim] = &[Claim::at_least("95 % range of the share holds", 0.91)];

/// Standard deviation of a batch's effect on the logit of its share: correlations near 0.1, and near 0.25.
const SPREADS: [f64; 2] = [0.7, 1.2];

fn ranges() -> Vec<Experiment> {
    let mut out = Vec::new();
    for (batches, runs) in [
        (1, [600, 0]),
        (2, [600, 0]),
        (5, [450, 180]),
        (10, [300, 0]),
    ] {
        for (at, spread) in SPREADS.into_iter().enumerate() {
            let wide = if at == 1 {
                ", batches that differ most"
            } else {
                ""
            };
            let name = format!("timeline of {batches} batches{wide}");
            let days = at == 0 && batches >= 5;
            let claims = match (days, at) {
                (true, _) => RANGES,
                (_, 1) => WIDE,
                _ => &[RANGE],
            };
            let runs = if days { runs } else { [600, 0] };
            let run = move |seed| ranges_of(batches, spread, days, seed);
            out.push(Experiment::new(&name, runs, claims, run));
        }
    }
    out
}

fn ranges_of(batches: u32, spread: f64, days: bool, seed: u64) -> Vec<Found> {
    let every = [5, 9, 14][seed as usize % 3];
    let held = held_ranges(batches, every, spread, if days { 999 } else { 0 }, seed);
    let mut out = vec![Found::of(held.share == Some(true))];
    if days {
        let each = held.days.map(Found::of);
        let mean = Found::sum(&each);
        out.extend(each);
        out.push(mean);
    }
    out
}

// How often a difference is found where there is none.

const LEVEL: &[Claim] = &[
    Claim::at_most("a difference of strike where there is none", 0.07),
    Claim::at_most("a difference of days where there is none", 0.07),
    Claim::between("95 % interval of the difference holds", 0.95, [0.93, 1.0]),
];
const LEVEL_WIDE: &[Claim] = &[
    Claim::at_most("a difference of strike where there is none", 0.09),
    Claim::at_most("a difference of days where there is none", 0.09),
    Claim::between("95 % interval of the difference holds", 0.95, [0.91, 1.0]),
];

/// A trial by its name: runs, batches and cuttings of either arm, their spreads, days by which one is stuck later, all else.
type Trial = (&'static str, [u64; 2], [u32; 4], [f64; 2], u64, World);

fn levels() -> Vec<Experiment> {
    let ended = World::default;
    let one_day = || World {
        every: 10,
        together: true,
        closed: None,
        until: 30,
        ..World::default()
    };
    let few = 0.7;
    let rows: [Trial; 6] = [
        (
            "4 batches of 12 against 12 of 48",
            [1000, 600],
            [4, 12, 12, 48],
            [few; 2],
            0,
            ended(),
        ),
        (
            "4 batches of 12 against 12 of 24",
            [1000, 0],
            [4, 12, 12, 24],
            [few; 2],
            0,
            ended(),
        ),
        (
            "3 batches against 9",
            [1000, 0],
            [3, 24, 9, 24],
            [few; 2],
            0,
            ended(),
        ),
        (
            "5 batches against 5",
            [1000, 0],
            [5, 24, 5, 24],
            [few; 2],
            0,
            ended(),
        ),
        (
            "4 against 12 with three times the spread",
            [1000, 0],
            [4, 24, 12, 24],
            [1.2, 0.4],
            0,
            ended(),
        ),
        (
            "6 against 6 stuck on successive days, looked at on one",
            [1000, 500],
            [6, 24, 6, 24],
            [few; 2],
            1,
            one_day(),
        ),
    ];
    let each = rows
        .into_iter()
        .map(|(name, runs, sizes, spreads, later, world)| {
            let claims = if spreads[0] > spreads[1] {
                LEVEL_WIDE
            } else {
                LEVEL
            };
            let run = move |seed| false_differences(&world, sizes, spreads, later, seed);
            Experiment::new(name, runs, claims, run)
        });
    each.collect()
}

fn false_differences(
    world: &World,
    [few, small, many, large]: [u32; 4],
    spreads: [f64; 2],
    later: u64,
    seed: u64,
) -> Vec<Found> {
    let way = |at: usize, batches| Way {
        facts: format!("trial=t wood=softwood arm={}", ["a", "b"][at]),
        batches,
        // Around one half the means are alike whatever the spreads.
        strike: if spreads[0] > spreads[1] { 0.5 } else { 0.6 },
        days: 27.0,
        spread: spreads[at],
        stuck: (later * at as u64, 0),
    };
    let ways = [way(0, (few, small)), way(1, (many, large))];
    let options = TrialOptions {
        milestones: vec![Milestone::Root],
        draws: 999,
        ..TrialOptions::default()
    };
    let answer = compare(&book(world, &ways, seed), &options, &mut |_, _| true).unwrap();
    let pair = &answer.comparisons[0].pairs[0];
    let is = |kind| Found::of(kind == VerdictKind::Difference);
    let interval = pair.strike.difference.map(|it| it.alone);
    let holds = interval.is_none_or(|it| it.low <= 1e-9 && it.high >= -1e-9);
    vec![
        is(pair.strike.verdict.kind),
        is(pair.days.verdict.kind),
        Found::of(holds),
    ]
}

// Whether trials laid out find what they were laid out for.

const POWER: &[Claim] = &[Claim::at_least("a difference of 25 points is found", 0.8)];

/// Twelve closed batches of sixty, of a share and a correlation drawn anew; the trial laid out from them, once.
fn laid_out(seed: u64) -> Vec<Found> {
    let mut dice = Dice::new(9_000 + seed);
    let (share, rho) = (0.45 + 0.35 * dice.unit(), 0.03 + 0.12 * dice.unit());
    let counts = BetaBinomial::new(share, rho).unwrap().counts(60);
    let mut entries = Vec::new();
    for n in 0..12 {
        let rooted = counts.draw(dice.unit()) as u32;
        let lost = 60 - rooted;
        let lines = [
            (
                0,
                format!("stick taxon=Cistus stuck=60 wood=softwood place=p{n}"),
            ),
            (
                50,
                format!("look how=lift rooted={rooted} lost.blackened={lost}"),
            ),
            (51, format!("pot count={rooted}")),
        ];
        for (at, (day, text)) in lines.into_iter().enumerate() {
            if !text.ends_with("count=0") {
                let id = format!("{n:03}{at}");
                entries.push(entry(
                    &id,
                    first_day() + Days::new(day),
                    &format!("{text} batch=N{n}"),
                ));
            }
        }
    }
    let wanted = TrialWanted {
        about: Selection::default(),
        worth: 0.25,
        arms: 2,
        cuttings: 24,
        power: 0.8,
        alpha: 0.05,
        seed,
    };
    let found = size(&Book::from_entries(entries), &wanted);
    let Ok(Some(batches)) = found.map(|size| size.batches) else {
        return vec![Found::NONE];
    };
    let other = if share > 0.5 {
        share - 0.25
    } else {
        share + 0.25
    };
    let mut replicates = Vec::new();
    for (arm, share) in (0_u8..).zip([share, other]) {
        let counts = BetaBinomial::new(share, rho).unwrap().counts(24);
        replicates.extend((0..batches).map(|_| Replicate {
            arm,
            sum: counts.draw(dice.unit()) as f64,
            weight: 24.0,
        }));
    }
    let draw = Draw {
        draws: 999,
        seed: 5,
        all_up_to: 1000.0,
    };
    let test = Studentised::new(&[replicates], draw).unwrap();
    vec![Found::of(test.permuted().p <= 0.05)]
}

// Whether plans keep their word, and ranges of fresh batches hold in odd years.

const PLAN: &[Claim] = &[Claim::between(
    "a plan at 0.9 holds by its day",
    0.9,
    [0.87, 0.93],
)];
const FRESH: &[Claim] = &[
    Claim::at_least("50 % range of the count rooted holds", 0.5),
    Claim::at_least("80 % range of the count rooted holds", 0.8),
    Claim::at_least("90 % range of the count rooted holds", 0.9),
];

fn seasons() -> Vec<Experiment> {
    let even = SimulatedTruth::default();
    let odd = SimulatedTruth {
        season: [0.6, 0.12],
        ..even
    };
    vec![
        Experiment::new(
            "plans, seasons alike, plants in lots",
            [300, 0],
            PLAN,
            move |seed| kept(&even, seed),
        ),
        Experiment::new(
            "plans, odd seasons, plants in lots",
            [300, 200],
            PLAN,
            move |seed| kept(&odd, seed),
        ),
        Experiment::new(
            "batches just stuck, seasons alike",
            [300, 0],
            FRESH,
            move |seed| fresh(&even, seed),
        ),
        Experiment::new(
            "batches just stuck, odd seasons",
            [300, 200],
            FRESH,
            move |seed| fresh(&odd, seed),
        ),
    ]
}

/// Four closed seasons of six batches each.
fn past(truth: &SimulatedTruth, dice: &mut Dice) -> Vec<Entry> {
    let mut entries = Vec::new();
    for year in 0..4_u64 {
        let season = truth.season(dice);
        for n in 0..6 {
            let code = format!("Y{year}{n}");
            let life = truth.life(&code, 365 * year + 6 * n, (40, 7), season, dice);
            entries.extend(life.entries);
        }
    }
    entries
}

/// The first day of the fifth season.
const NOW: u64 = 365 * 4;

fn on(day: u64) -> NaiveDate {
    first_day() + Days::new(day)
}

/// What is planned in the fifth season is stuck on the day named and lived to its end.
fn kept(truth: &SimulatedTruth, seed: u64) -> Vec<Found> {
    let mut dice = Dice::new(20_000 + seed);
    let book = Book::from_entries(past(truth, &mut dice));
    let model = Model::learn(&book, on(NOW - 1), &[]);
    let wanted = PlantsWanted {
        taxon: Taxon::parse("Weigela florida"),
        wood: None,
        plants: 20 + dice.below(80),
        by: on(NOW + 330),
        assurance: 0.9,
        target: None,
    };
    let (plants, by) = (wanted.plants, wanted.by);
    let found = plans(&book, &model, &[wanted], None, &mut |_, _| true).unwrap();
    let Some((offer, latest)) = found.plans[0]
        .offers
        .first()
        .and_then(|it| Some((it, it.latest?)))
    else {
        return vec![Found::NONE];
    };
    let day = (latest - first_day()).num_days() as u64;
    let season = truth.season(&mut dice);
    let mut ready = 0;
    for (at, &stuck) in offer.batches.iter().enumerate() {
        let life = truth.life(&format!("P{at}"), day, (stuck, 7), season, &mut dice);
        ready += Book::from_entries(life.entries).batches()[0]
            .counts_on(by)
            .map_or(0, |counts| counts.ready);
    }
    vec![Found::of(ready >= plants)]
}

/// Three batches just stuck in the fifth season.
fn fresh(truth: &SimulatedTruth, seed: u64) -> Vec<Found> {
    let mut dice = Dice::new(30_000 + seed);
    let mut entries = past(truth, &mut dice);
    let season = truth.season(&mut dice);
    let lives: Vec<SimulatedLife> = (0..3)
        .map(|n| truth.life(&format!("F{n}"), NOW + n, (40, 7), season, &mut dice))
        .collect();
    entries.extend(lives.iter().map(|life| life.entries[0].clone()));
    let book = Book::from_entries(entries);
    let model = Model::learn(&book, on(NOW + 3), &[]);
    let mut out = vec![Found::NONE; 3];
    for (n, life) in lives.iter().enumerate() {
        let batch = book.by_code(&format!("F{n}")).next().unwrap();
        let forecast = model.forecast(batch).unwrap();
        for (found, chance) in out.iter_mut().zip([0.5, 0.8, 0.9]) {
            let (low, high) = forecast.count_range(chance);
            let held = Found::of((low..=high).contains(&(life.rooted as usize)));
            *found = Found::sum(&[*found, held]);
        }
    }
    out
}

// Whether failing batches are told, and sound ones are not.

const FAILING: &[Claim] = &[
    Claim::at_most("called failing with ordinary losses", 0.05),
    Claim::at_least("spreading rot is told", 0.8),
    Claim::at_least("rot told before 15 % are blackened", 0.5),
];
/// Where a tenth die in the first fortnight as it is, rot is told later.
const EARLY: &[Claim] = &[
    Claim::at_most("called failing with ordinary losses", 0.05),
    Claim::at_least("spreading rot is told", 0.8),
];

fn losses() -> Vec<Experiment> {
    let tried = |name: &str, runs, claims: &[Claim], dying, tray| {
        let count = claims.len();
        let run = move |seed| failing(dying, tray, seed)[..count].to_vec();
        Experiment::new(name, runs, claims, run)
    };
    vec![
        tried(
            "failing, trays of 40 each week",
            [40, 0],
            FAILING,
            0.02,
            (40, 7),
        ),
        tried(
            "failing, trays of 80 every 4 days",
            [40, 8],
            FAILING,
            0.02,
            (80, 4),
        ),
        tried(
            "failing, losses in the first weeks",
            [40, 8],
            EARLY,
            0.05,
            (40, 7),
        ),
    ]
}

/// Twenty batches of ordinary losses behind, twenty beside, and ten in which rot about doubles from look to look. Of those that
/// will not root, `dying` dies each day; a tray has so many cuttings and is looked at every so many days.
fn failing(dying: f64, tray: (u32, u32), seed: u64) -> Vec<Found> {
    let truth = SimulatedTruth {
        strike: 1.27,
        dying,
        ..SimulatedTruth::default()
    };
    let mut dice = Dice::new(40_000 + seed);
    let mut entries = Vec::new();
    for n in 0..20 {
        let life = truth.life(&format!("H{n}"), 2 * n, tray, [0.0; 2], &mut dice);
        entries.extend(life.entries);
        let life = truth.life(&format!("S{n}"), 365 + n % 7, tray, [0.0; 2], &mut dice);
        entries.extend(life.entries);
    }
    let (stuck, every) = tray;
    for n in 0..10 {
        let facts =
            format!("taxon=Weigela_florida wood=softwood stuck={stuck} place=r{n} batch=R{n}");
        entries.push(entry(
            &format!("R{n}-0"),
            on(365),
            &format!("stick {facts}"),
        ));
        let mut lost = 1 + dice.below(2);
        for look in 1..=4 {
            let text = format!("look how=lift lost.blackened={lost} batch=R{n}");
            let day = on(365 + u64::from(every * look));
            entries.push(entry(&format!("R{n}-{look}"), day, &text));
            lost = lost * 3 / 2 + 1 + dice.below(2);
        }
    }
    let book = Book::from_entries(entries);
    let mut alarmed: HashMap<String, f64> = HashMap::new();
    for look in 2..8 {
        let asked = on(365 + u64::from(every * look) - 1);
        let model = Model::learn(&book, asked, &[]);
        for batch in book.batches().iter().filter(|it| it.stuck_on >= on(365)) {
            if !model.failing(batch).is_empty() {
                let counts = batch.counts_on(asked).unwrap();
                let lost = f64::from(counts.stuck - counts.remain() - counts.potted);
                let share = lost / f64::from(stuck);
                alarmed.entry(batch.code.clone()).or_insert(share);
            }
        }
    }
    let called = |letter: char| {
        alarmed
            .iter()
            .filter(move |(code, _)| code.starts_with(letter))
    };
    let told = called('R').count() as f64;
    let early = called('R').filter(|(_, share)| **share < 0.15).count() as f64;
    vec![
        Found {
            held: called('S').count() as f64,
            of: 20.0,
        },
        Found {
            held: told,
            of: 10.0,
        },
        Found {
            held: early,
            of: told,
        },
    ]
}
