//! The program's answers on twenty fixed simulated journals, in six digits, as one value: once they change, what was tried
//! before tells nothing of them. It judges nothing.

use super::simulated::kinds::{self, PLAIN};
use super::simulated::plants::{SimulatedTruth, first_day};
use super::simulated::ways::{Way, World, journal};
use chrono::{Days, NaiveDate};
use sha2::{Digest, Sha256};
use std::fmt::Write;
use struck::analysis::expect::Model;
use struck::analysis::forecast::BatchForecast;
use struck::analysis::plan::{PlantsWanted, plans};
use struck::analysis::timeline::{TimelineOptions, timeline};
use struck::analysis::trials::{TrialOptions, compare};
use struck::fold::Book;
use struck::fold::batch::Milestone;
use struck::model::filter::GroupKey;
use struck::stats::dice::Dice;

/// The value of the answers.
pub fn fingerprint() -> String {
    let mut answers = String::new();
    for at in 0..20 {
        answers.push_str(&answer(at));
    }
    let digest = Sha256::digest(answers.as_bytes());
    digest[..8].iter().fold(String::new(), |mut out, byte| {
        let _ = write!(out, "{byte:02x}");
        out
    })
}

/// The journal of a number, and the day on which it is asked.
fn book(at: u64) -> (Book, NaiveDate) {
    if at < 8 {
        return ways(at);
    }
    if at < 14 {
        let truth = kinds::Truth {
            batches: 16,
            taxa: 3,
            semi_ripe: at.is_multiple_of(2).then_some(0.405),
            weibull: at.is_multiple_of(3),
            ..PLAIN
        };
        let asked = NaiveDate::from_ymd_opt(2024, 3, 1).unwrap();
        return (kinds::simulated(&truth, at), asked);
    }
    let truth = SimulatedTruth {
        season: [0.3, 0.06],
        ..SimulatedTruth::default()
    };
    let mut dice = Dice::new(at);
    let mut entries = Vec::new();
    for n in 0..10 {
        let season = truth.season(&mut dice);
        let life = truth.life(&format!("S{n}"), 40 * n, (30, 7), season, &mut dice);
        entries.extend(life.entries);
    }
    (Book::from_entries(entries), first_day() + Days::new(400))
}

fn ways(at: u64) -> (Book, NaiveDate) {
    let closed = at.is_multiple_of(2);
    let world = World {
        every: 5 + at,
        together: at == 5,
        season: if at == 3 { 0.4 } else { 0.0 },
        parts: if at == 2 { 0.3 } else { 0.0 },
        potted_at: if at.is_multiple_of(3) { 0.5 } else { 2.0 },
        thrown_out: if at.is_multiple_of(4) { 0.2 } else { 0.0 },
        closed: closed.then_some(84),
        until: if closed { 1_000 } else { 60 },
        ..World::default()
    };
    let way = |wood: &str, strike: f64, days: f64| Way {
        facts: format!("wood={wood} place=bench"),
        batches: (5, 24),
        strike,
        days,
        spread: 0.4,
        stuck: (0, 5),
    };
    let both = [way("softwood", 0.7, 21.0), way("semi-ripe", 0.5, 26.0)];
    let entries = journal(&world, &both, at);
    let asked = NaiveDate::from_ymd_opt(2024, 4, 20).unwrap();
    (Book::from_entries(entries), asked)
}

/// Six digits of each number.
fn digits(out: &mut String, numbers: &[f64]) {
    for number in numbers {
        let _ = write!(out, "{number:.5e};");
    }
}

fn answer(at: u64) -> String {
    let (book, asked) = book(at);
    let mut out = String::new();
    seen(&book, &mut out);
    compared(&book, &mut out);
    let model = Model::learn(&book, asked, &[]);
    expected(&book, &model, &mut out);
    planned(&book, &model, asked, &mut out);
    out
}

fn seen(book: &Book, out: &mut String) {
    let options = TimelineOptions {
        by: vec![GroupKey::Wood],
        resamples: 99,
        ..TimelineOptions::default()
    };
    let found = timeline(book, &options, &mut |_, _| true).unwrap();
    for group in &found.groups {
        if let Some(strike) = group.strike.value() {
            digits(out, &[strike.value, strike.low, strike.high]);
        }
        for milestone in Milestone::ALL {
            let days = &group.figures(milestone).days;
            for day in days.reached.0.iter().filter_map(|day| day.value()) {
                let ends = [day.at.value(), day.low.value(), day.high.value()];
                ends.into_iter()
                    .flatten()
                    .for_each(|day| digits(out, &[*day]));
            }
        }
    }
}

fn compared(book: &Book, out: &mut String) {
    let options = TrialOptions {
        by: vec![GroupKey::Wood],
        draws: 499,
        ..TrialOptions::default()
    };
    let answer = compare(book, &options, &mut |_, _| true).unwrap();
    for pair in answer.comparisons.iter().flat_map(|it| &it.pairs) {
        let (strike, days) = (&pair.strike, &pair.days);
        let _ = write!(out, "{:?}{:?}", strike.verdict.kind, days.verdict.kind);
        let tests = [strike.permutation, days.permutation];
        tests
            .iter()
            .flatten()
            .for_each(|test| digits(out, &[test.p]));
        for apart in [strike.difference, days.difference].into_iter().flatten() {
            digits(out, &[apart.value, apart.alone.low, apart.alone.high]);
        }
    }
}

fn expected(book: &Book, model: &Model, out: &mut String) {
    for forecast in book
        .batches()
        .iter()
        .filter_map(|batch| BatchForecast::new(model, batch))
    {
        digits(out, &[forecast.count.mean]);
        let days = [forecast.half, forecast.potting].into_iter().flatten();
        days.for_each(|day| digits(out, &[day.middle, day.p80.low, day.p80.high]));
        let _ = write!(out, "{:?}{:?};", forecast.count.p80, forecast.failing);
    }
}

fn planned(book: &Book, model: &Model, asked: NaiveDate, out: &mut String) {
    let wanted = PlantsWanted {
        taxon: (*book.batches()[0].taxon).clone(),
        wood: None,
        plants: 40,
        by: asked + Days::new(500),
        assurance: 0.9,
        target: None,
    };
    let found = plans(book, model, &[wanted], None, &mut |_, _| true).unwrap();
    for offer in found.plans.iter().flat_map(|plan| &plan.offers) {
        let _ = write!(out, "{}{:?};", offer.stick, offer.latest);
        digits(out, &[offer.chance, offer.share, offer.days.assured]);
    }
}
