//! What the tests promise, shown by simulation with fixed seeds: error rates, power, coverage.

use struck::stats::counts::BetaBinomial;
use struck::stats::dice::Dice;
use struck::stats::permute::{Draw, Replicate, Studentised};
use struck::stats::power::{Assurance, Design, EstimatedSpread, OpenDesigns};

/// The fewest batches an arm with which a two-sided permutation test can reach p ≤ 0.05 at all: of 4 + 4 there are 70
/// arrangements, 2/70 ≤ 0.05 < 2/20.
const FEWEST_BATCHES: u32 = 4;

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
        let tested = Studentised::new(&[replicates], crate::stats::seeded(1))
            .unwrap()
            .permuted();
        whole += u32::from(tested.p <= 0.05);
    }
    let rate = |count: u32| f64::from(count) / f64::from(TRIALS);
    // 5 % within three standard errors; the test is discrete, so it may fall a little short.
    let error = (0.05f64 * 0.95 / f64::from(TRIALS)).sqrt();
    assert!((rate(whole) - 0.05).abs() < 3.0 * error, "{}", rate(whole));
    // Design effect 1 + 23 × 0.2 = 5.6: z is 2.4 times too large, and about 40 % pass 1.96.
    assert!(rate(single) > 0.3, "{}", rate(single));
}

/// Designs of which share and correlation are as good as known.
fn known(shares: [f64; 2], value: f64, cuttings: u32) -> OpenDesigns {
    let freedom = 1e9;
    OpenDesigns::new(shares, EstimatedSpread { value, freedom }, cuttings).unwrap()
}

fn needed(design: &OpenDesigns, power: f64) -> Option<u32> {
    let wanted = Assurance {
        power,
        alpha: 0.05,
        limit: 500,
    };
    wanted.fewest(|batches| design.power(batches, 0.05))
}

/// An assurance asks more than a power at the figures seen, and the more the less they are known on: average power is
/// a concave mean there (O'Hagan, Stevens & Campbell 2005).
#[test]
fn an_assurance_takes_more_batches_the_less_is_known() {
    let batches = |freedom: f64| {
        let spread = EstimatedSpread {
            value: 0.1,
            freedom,
        };
        let open = OpenDesigns::new([0.5, 0.75], spread, 24).unwrap();
        needed(&open, 0.8).unwrap()
    };
    let sure = needed(&known([0.5, 0.75], 0.1, 24), 0.8).unwrap();
    assert!(
        sure <= batches(40.0) && batches(40.0) < batches(8.0),
        "{sure}"
    );
    assert!(batches(8.0) < batches(3.0));
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
        let design = known(shares, rho, cuttings);
        let batches = needed(&design, 0.8).unwrap();
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
    let design = |shares| known(shares, 0.1, 24);
    let clear = design([0.01, 0.99]);
    assert_eq!(clear.power(FEWEST_BATCHES - 1, 0.05), 0.0);
    assert_eq!(needed(&clear, 0.8), Some(FEWEST_BATCHES));
    assert_eq!(needed(&design([0.5, 0.5]), 0.8), None);
    assert!(Design::new([0.5, 1.1], 0.1, 24).is_err());
    assert!(Design::new([0.5, 0.6], 0.1, 0).is_err());
}

#[test]
fn one_cutting_a_batch_needs_what_the_published_formula_says() {
    // Casagrande, Pike & Smith 1978: 84.5 an arm for 0.5 against 0.75 at 90 % power.
    let single = known([0.5, 0.75], 0.0, 1);
    assert_eq!(needed(&single, 0.9), Some(85));
}

#[test]
fn inverted_intervals_hold_as_often_as_they_say() {
    const TRIALS: u32 = 200;
    let draw = Draw {
        draws: 499,
        all_up_to: 1000.0,
        ..crate::stats::seeded(1)
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
            let found = Studentised::new(&[replicates], draw)
                .unwrap()
                .interval(0.95);
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
    let test = Studentised::new(&[replicates], crate::stats::seeded(1)).unwrap();
    let tested = test.permuted();
    assert_eq!((tested.arrangements, tested.smallest_p), (20, 0.1));
    let found = test.interval(0.95);
    assert_eq!(found.low, f64::NEG_INFINITY);
    assert_eq!(found.high, f64::INFINITY);
    assert!(test.difference() < 0.0);
}
