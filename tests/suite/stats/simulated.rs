//! What the tests promise, shown by simulation with fixed seeds: error rates, power, coverage.

use struck::stats::counts::BetaBinomial;
use struck::stats::dice::Dice;
use struck::stats::invert;
use struck::stats::permute;
use struck::stats::permute::{Draw, Replicate};
use struck::stats::power::{Design, FEWEST_BATCHES};
use struck::stats::tables::{WholeTable, fisher_exact};

/// A simulated trial: batches of twenty-four cuttings, so many an arm, of these shares.
fn trial(dice: &mut Dice, batches: u32, shares: [f64; 2], rho: f64) -> Vec<Replicate> {
    const CUTTINGS: u32 = 24;
    let mut replicates = Vec::new();
    for (arm, share) in (0u8..).zip(shares) {
        let counts = BetaBinomial::new(share, rho).unwrap().counts(CUTTINGS);
        for _ in 0..batches {
            replicates.push(Replicate {
                arm,
                sum: counts.draw(dice.unit()) as f64,
                weight: f64::from(CUTTINGS),
            });
        }
    }
    replicates
}

/// Fisher's p of the cuttings thrown together by arm.
fn pooled_fisher(replicates: &[Replicate]) -> f64 {
    let count = |arm: u8, of: fn(&Replicate) -> f64| -> u32 {
        let members = replicates.iter().filter(|r| r.arm == arm);
        members.map(of).sum::<f64>() as u32
    };
    let yes = |r: &Replicate| r.sum;
    let no = |r: &Replicate| r.weight - r.sum;
    fisher_exact(WholeTable {
        yes: [count(0, yes), count(1, yes)],
        no: [count(0, no), count(1, no)],
    })
    .p
}

#[test]
fn whole_batches_keep_their_error_rate_where_cuttings_one_by_one_do_not() {
    const TRIALS: u32 = 1000;
    let mut dice = Dice::new(20_260);
    let (mut whole, mut single) = (0u32, 0u32);
    for _ in 0..TRIALS {
        // No difference; batches differ with a correlation of 0.2.
        let replicates = trial(&mut dice, 6, [0.6, 0.6], 0.2);
        single += u32::from(pooled_fisher(&replicates) <= 0.05);
        let tested = permute::difference(&[replicates], Draw::seeded(1)).unwrap();
        whole += u32::from(tested.p <= 0.05);
    }
    let rate = |count: u32| f64::from(count) / f64::from(TRIALS);
    // 5 % within three standard errors; the test is discrete, so it may fall a little short.
    let error = (0.05f64 * 0.95 / f64::from(TRIALS)).sqrt();
    assert!((rate(whole) - 0.05).abs() < 3.0 * error, "{}", rate(whole));
    // Design effect 1 + 23 × 0.2 = 5.6: z is 2.4 times too large, and about 40 % pass 1.96.
    assert!(rate(single) > 0.3, "{}", rate(single));
}

#[test]
fn planned_trials_reach_their_power() {
    const TRIALS: u32 = 300;
    for (seed, shares, rho, cuttings) in [
        (1, [0.5, 0.75], 0.1, 24),
        (2, [0.3, 0.6], 0.2, 50),
        (3, [0.6, 0.9], 0.1, 12),
        (4, [0.05, 0.25], 0.1, 24),
        (5, [0.2, 0.9], 0.2, 10),
        (6, [0.5, 0.8], 0.0, 1),
    ] {
        let design = Design::new(shares, rho, cuttings).unwrap();
        let batches = design.batches_needed(0.8, 0.05, 500).unwrap();
        let found = design.simulate(batches, 0.05, TRIALS, seed);
        let reach = 0.8 - 3.0 * found.standard_error;
        assert!(found.value >= reach, "{design:?} {batches} {found:?}");
        // Not by waste: half as many fall short, or cannot reach the level at all.
        let half = design.simulate(batches / 2, 0.05, TRIALS, seed);
        assert!(half.value < 0.75, "{design:?} {batches} {half:?}");
    }
}

#[test]
fn too_few_batches_or_no_difference_have_no_answer() {
    let design = |shares| Design::new(shares, 0.1, 24).unwrap();
    let clear = design([0.01, 0.99]);
    assert_eq!(clear.power(FEWEST_BATCHES - 1, 0.05), 0.0);
    assert_eq!(clear.batches_needed(0.8, 0.05, 500), Some(FEWEST_BATCHES));
    assert_eq!(design([0.5, 0.5]).batches_needed(0.8, 0.05, 500), None);
    assert!(Design::new([0.5, 1.1], 0.1, 24).is_err());
    assert!(Design::new([0.5, 0.6], 0.1, 0).is_err());
}

#[test]
fn one_cutting_a_batch_needs_what_the_published_formula_says() {
    // Casagrande, Pike & Smith 1978: 84.5 an arm for 0.5 against 0.75 at 90 % power.
    let single = Design::new([0.5, 0.75], 0.0, 1).unwrap();
    assert_eq!(single.batches_needed(0.9, 0.05, 500), Some(85));
}

#[test]
fn inverted_intervals_hold_as_often_as_they_say() {
    const TRIALS: u32 = 200;
    let draw = Draw {
        draws: 499,
        all_up_to: 1000.0,
        ..Draw::seeded(1)
    };
    for (seed, batches, rho, share) in [
        (1, 4, 0.3, 0.3),
        (2, 5, 0.0, 0.95),
        (3, 5, 0.3, 0.6),
        (4, 8, 0.1, 0.3),
        (5, 8, 0.3, 0.95),
    ] {
        let mut dice = Dice::new(seed);
        let mut held = 0;
        for _ in 0..TRIALS {
            // A true difference of 0.1 or so in the second arm, where there is room.
            let other = if share > 0.9 { share } else { share + 0.1 };
            let replicates = trial(&mut dice, batches, [share, other], rho);
            let found = invert::interval(&[replicates], 0.95, draw)
                .unwrap()
                .interval;
            let truth = share - other;
            held += u32::from(found.low - 1e-9 <= truth && truth <= found.high + 1e-9);
        }
        // 95 % less three standard errors; the smallest trials hold more often than they say.
        let rate = f64::from(held) / f64::from(TRIALS);
        assert!(rate >= 0.904, "{batches} {rho} {share}: {rate}");
    }
}

#[test]
fn three_batches_an_arm_bound_nothing() {
    let mut dice = Dice::new(9);
    let replicates = trial(&mut dice, 3, [0.1, 0.9], 0.1);
    let tested = permute::difference(std::slice::from_ref(&replicates), Draw::seeded(1)).unwrap();
    assert_eq!((tested.arrangements, tested.smallest_p), (20, 0.1));
    let found = invert::interval(&[replicates], 0.95, Draw::seeded(1)).unwrap();
    assert_eq!(found.interval.low, f64::NEG_INFINITY);
    assert_eq!(found.interval.high, f64::INFINITY);
    assert!(found.value < 0.0);
}
