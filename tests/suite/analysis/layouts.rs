//! Planning a trial: how large, from the journal's own spread, followed by simulated trials; which tray gets
//! which arm.

use crate::fold::lives::{book_of, entry};
use struck::analysis::trials::design::{
    MOST_ARMS, PlannedSize, TooLittle, TrialWanted, layout, size,
};
use struck::fold::selection::Selection;
use struck::stats::counts::BetaBinomial;
use struck::stats::dice::Dice;
use struck::stats::permute::{Draw, Replicate, Studentised};

/// A nursery's closed batches: two years of one taxon, sixty cuttings a batch, a correlation of 0.08.
fn rooted_and_looked_at_once() -> struck::fold::Book {
    let mut dice = Dice::new(41);
    let counts = BetaBinomial::new(0.62, 0.08).unwrap().counts(60);
    let mut entries = Vec::new();
    for n in 0..24 {
        let rooted = counts.draw(dice.unit()) as u32;
        let stick = format!("stick batch=N{n} taxon=Cistus stuck=60 wood=softwood place=p{n}");
        entries.push(entry(&format!("{n:03}a"), 0, &stick));
        let lost = 60 - rooted;
        let look = format!("look batch=N{n} how=lift rooted={rooted} lost.blackened={lost}");
        entries.push(entry(&format!("{n:03}b"), 50, &look));
        if rooted > 0 {
            let pot = format!("pot batch=N{n} count={rooted}");
            entries.push(entry(&format!("{n:03}c"), 51, &pot));
        }
    }
    book_of(&entries)
}

fn wanted(arms: u32, worth: f64) -> TrialWanted {
    TrialWanted {
        about: Selection::default(),
        worth,
        arms,
        cuttings: 24,
        power: 0.8,
        alpha: 0.05,
        seed: 1,
    }
}

/// How often whole-replicate tests of trials of that size find the difference that it was planned for.
fn found(size: &PlannedSize, level: f64, trials: u32) -> f64 {
    let mut dice = Dice::new(977);
    let arms = size.shares.map(|share| {
        BetaBinomial::new(share, size.rho)
            .unwrap()
            .counts(size.cuttings)
    });
    let mut found = 0;
    for _ in 0..trials {
        let mut stratum = Vec::new();
        for (arm, counts) in (0u8..).zip(&arms) {
            stratum.extend((0..size.batches.unwrap()).map(|_| Replicate {
                arm,
                sum: counts.draw(dice.unit()) as f64,
                weight: f64::from(size.cuttings),
            }));
        }
        let draw = Draw {
            draws: 999,
            all_up_to: 1000.0,
            ..crate::stats::seeded(5)
        };
        found += u32::from(Studentised::new(&[stratum], draw).unwrap().permuted().p <= level);
    }
    f64::from(found) / f64::from(trials)
}

#[test]
fn a_trial_as_large_as_planned_finds_what_it_was_planned_for() {
    let book = rooted_and_looked_at_once();
    for (arms, worth) in [(2, 0.25), (3, 0.35)] {
        let size = size(&book, &wanted(arms, worth)).unwrap();
        assert_eq!(size.seen, 24);
        // Drawn with 0.62 and 0.08.
        assert!((size.share - 0.62).abs() < 0.08, "{size:?}");
        assert!((0.03..0.16).contains(&size.rho), "{size:?}");
        let level = 0.05 / f64::from(size.pairs);
        let trials = 300;
        let power = found(&size, level, trials);
        // Three standard errors below 0.8; and not by waste.
        let error = (0.8f64 * 0.2 / f64::from(trials)).sqrt();
        assert!(power >= 0.8 - 3.0 * error, "{arms}: {power} with {size:?}");
        assert!(power < 0.95, "{arms}: {power} with {size:?}");
    }
}

#[test]
fn more_arms_take_more_batches_and_nonsense_is_refused() {
    let book = rooted_and_looked_at_once();
    let batches = |arms| size(&book, &wanted(arms, 0.4)).unwrap().batches.unwrap();
    assert!(batches(2) < batches(4));
    for arms in [0, 1, MOST_ARMS + 1] {
        assert_eq!(size(&book, &wanted(arms, 0.4)), Err(TooLittle::OutOfRange));
    }
    let none = size(&book_of(&[]), &wanted(2, 0.4));
    assert_eq!(none, Err(TooLittle::NoBatch));
}

#[test]
fn every_block_holds_each_arm_once_in_an_order_of_its_own() {
    let arms = ["mist", "box", "frame"].map(str::to_owned);
    let places = ["bench 1", "bench 2"].map(str::to_owned);
    let trays = layout(&arms, 40, &places, 7);
    assert_eq!(trays.len(), 120);
    let mut orders = std::collections::BTreeSet::new();
    for block in trays.chunks(arms.len()) {
        let order: Vec<&str> = block.iter().map(|tray| tray.arm.as_str()).collect();
        let mut sorted = order.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, ["box", "frame", "mist"]);
        orders.insert(order);
    }
    // All six orders come up in forty blocks: a chance of one in 250 that one is missing.
    assert_eq!(orders.len(), 6);
    for place in &places {
        let here = || {
            trays
                .iter()
                .filter(|tray| tray.place.as_ref() == Some(place))
        };
        assert_eq!(here().count(), 60);
        assert!(here().zip(1..).all(|(tray, spot)| tray.spot == spot));
        let order: Vec<&str> = here().map(|tray| tray.arm.as_str()).collect();
        assert!(
            order
                .windows(3)
                .all(|run| run.iter().any(|arm| *arm != run[0]))
        );
    }
    assert_eq!(layout(&arms, 40, &places, 7), trays);
    assert_ne!(layout(&arms, 40, &places, 8), trays);
}
