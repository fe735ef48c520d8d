//! How often a difference is found where there is none: arms of unequal number, size and spread. A short check of
//! what the calibration states at length; before the statistic was studentised these were 26, 12, 8, 4 and 15 %.

use struck::stats::counts::BetaBinomial;
use struck::stats::dice::Dice;
use struck::stats::permute::{Draw, Replicate, Studentised};

/// Batches, cuttings in each, correlation within them.
type ArmShape = (u32, u32, f64);

fn rate(arms: [ArmShape; 2], trials: u32, seed: u64) -> f64 {
    let mut dice = Dice::new(seed);
    let models =
        arms.map(|(_, cuttings, rho)| BetaBinomial::new(0.6, rho).unwrap().counts(cuttings));
    let mut found = 0;
    for _ in 0..trials {
        let mut stratum = Vec::new();
        for (arm, ((batches, cuttings, _), model)) in (0u8..).zip(arms.iter().zip(&models)) {
            stratum.extend((0..*batches).map(|_| Replicate {
                arm,
                sum: model.draw(dice.unit()) as f64,
                weight: f64::from(*cuttings),
            }));
        }
        let draw = Draw {
            draws: 299,
            all_up_to: 500.0,
            ..crate::stats::seeded(2)
        };
        let test = Studentised::new(&[stratum], draw).unwrap().permuted();
        found += u32::from(test.p <= 0.05);
    }
    f64::from(found) / f64::from(trials)
}

#[test]
fn unequal_arms_keep_the_level() {
    const TRIALS: u32 = 400;
    for (arms, most) in [
        ([(4, 12, 0.1), (12, 48, 0.1)], 0.07),
        ([(4, 12, 0.1), (12, 24, 0.1)], 0.07),
        ([(3, 24, 0.1), (9, 24, 0.1)], 0.07),
        ([(5, 24, 0.1), (5, 24, 0.1)], 0.07),
        ([(4, 24, 0.3), (12, 24, 0.04)], 0.09),
    ] {
        let found = rate(arms, TRIALS, 5);
        let error = (most * (1.0 - most) / f64::from(TRIALS)).sqrt();
        assert!(found <= most + 2.0 * error, "{arms:?}: {found}");
    }
}
