//! Laws that the estimate of curves keeps on random rows.

use super::{assert_close, lost_first};
use proptest::prelude::*;
use struck::stats::npmle::{
    Among, Estimate, Mass, Outcome, Reweighed, Row, estimate, quantile, resampled_quantile,
};

fn row() -> impl Strategy<Value = Row> {
    let weight = prop_oneof![Just(1.0), (1..40_u32).prop_map(f64::from), 0.05..9.0];
    (0..60_u32, 1..30_u32, 0..3_u8, weight).prop_map(|(left, length, kind, weight)| {
        let (left, right) = (f64::from(left), f64::from(left + length));
        match kind {
            0 => Row::reached(left, right, weight),
            1 => Row::lost(left, right, weight),
            _ => Row::not_yet(left, weight),
        }
    })
}

fn rows() -> impl Strategy<Value = Vec<Row>> {
    prop::collection::vec(row(), 1..80)
}

/// Share that the masses give to a row; a mass counts if its interval lies within the row.
fn probability(found: &Estimate, row: &Row) -> f64 {
    let within = |m: &&Mass| m.after >= row.left && m.by <= row.right;
    let sum = |masses: &[Mass]| masses.iter().filter(within).map(|m| m.mass).sum::<f64>();
    match row.event() {
        Some(Outcome::Reached) => sum(&found.curve),
        Some(Outcome::Lost) => sum(&found.lost),
        None => sum(&found.curve) + sum(&found.lost) + found.later,
    }
}

/// Plain EM over every unit day of either outcome and the time beyond: slow, and no code shared.
fn plain_em(rows: &[Row], rounds: usize) -> f64 {
    let (days, later) = (90, 180);
    let covers = |row: &Row, cell: usize| {
        let day = (cell % days) as f64;
        let inside = day >= row.left && day + 1.0 <= row.right;
        match row.event() {
            Some(Outcome::Reached) => cell < days && inside,
            Some(Outcome::Lost) => cell >= days && cell < later && inside,
            None => cell == later || day >= row.left,
        }
    };
    let n: f64 = rows.iter().map(|r| r.weight).sum();
    let sum = |row: &Row, masses: &[f64]| -> f64 {
        masses
            .iter()
            .enumerate()
            .filter(|(c, _)| covers(row, *c))
            .map(|(_, m)| m)
            .sum()
    };
    let mut masses = vec![1.0 / 181.0; 181];
    for _ in 0..rounds {
        let mut next = vec![0.0; 181];
        for row in rows {
            let share = row.weight / n / sum(row, &masses);
            for cell in (0..181).filter(|&c| covers(row, c)) {
                next[cell] += masses[cell] * share;
            }
        }
        masses = next;
    }
    rows.iter()
        .map(|row| row.weight * sum(row, &masses).ln())
        .sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn random_rows_are_certified_and_masses_sum_to_one(rows in rows()) {
        let found = estimate(&rows).unwrap();
        prop_assert!(found.gap <= Estimate::CERTIFIED, "gap {} after {}", found.gap, found.iterations);
        let masses = || found.curve.iter().chain(&found.lost);
        prop_assert!(masses().all(|m| m.mass > 0.0 && m.after < m.by && m.by <= found.tau));
        assert_close(found.reached() + lost_first(&found) + found.later, 1.0, 1e-12);
        prop_assert!(found.later >= 0.0);
        for curve in [&found.curve, &found.lost] {
            prop_assert!(curve.windows(2).all(|pair| pair[0].by <= pair[1].after));
        }
    }

    #[test]
    fn the_likelihood_is_that_of_the_masses_and_its_gradient_within_bounds(rows in rows()) {
        let found = estimate(&rows).unwrap();
        let n: f64 = rows.iter().map(|r| r.weight).sum();
        let loglik: f64 = rows.iter().map(|r| r.weight * probability(&found, r).ln()).sum();
        assert_close(found.loglik, loglik, 1e-9 * n);
        // The certificate, computed day by day instead of cell by cell.
        for day in 0..90 {
            for outcome in [Outcome::Reached, Outcome::Lost] {
                let at = |r: &&Row| {
                    let day = f64::from(day);
                    let inside = r.left <= day && day + 1.0 <= r.right;
                    inside && r.event().is_none_or(|seen| seen == outcome)
                };
                let pull = rows.iter().filter(at).map(|r| r.weight / probability(&found, r));
                prop_assert!(pull.sum::<f64>() <= n + 1e-7);
            }
        }
    }

    #[test]
    fn the_order_of_rows_changes_nothing(rows in rows(), seed in any::<u64>()) {
        let mut shuffled = rows.clone();
        let mut dice = struck::stats::dice::Dice::stream(seed, 0);
        for last in (1..shuffled.len()).rev() {
            shuffled.swap(last, dice.place(last + 1));
        }
        prop_assert_eq!(estimate(&rows), estimate(&shuffled));
    }

    #[test]
    fn splitting_weights_changes_no_probability(rows in rows(), part in 0.1..0.9) {
        let split: Vec<Row> = rows
            .iter()
            .flat_map(|r| [part, 1.0 - part].map(|p| Row { weight: r.weight * p, ..*r }))
            .collect();
        let (one, two) = (estimate(&rows).unwrap(), estimate(&split).unwrap());
        assert_close(one.loglik, two.loglik, 1e-8);
        for row in &rows {
            assert_close(probability(&one, row), probability(&two, row), 1e-4);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn plain_em_never_climbs_higher(rows in rows()) {
        let found = estimate(&rows).unwrap();
        prop_assert!(found.loglik >= plain_em(&rows, 300) - 1e-8);
    }
}

#[test]
fn too_little_data_is_a_value() {
    assert_eq!(estimate(&[]), None);
    let none = [
        Row::reached(1.0, 2.0, 0.0),
        Row::lost(3.0, 3.0, 1.0),
        Row::not_yet(1.0, -1.0),
    ];
    assert_eq!(estimate(&none), None);
    let nan = Row::reached(f64::NAN, 2.0, 1.0);
    assert_eq!(
        estimate(&[
            nan,
            Row {
                weight: f64::NAN,
                ..Row::not_yet(1.0, 1.0)
            }
        ]),
        None
    );
    let waiting = estimate(&[Row::not_yet(4.0, 2.0), Row::not_yet(9.0, 1.0)]).unwrap();
    assert_eq!((waiting.later, waiting.tau, waiting.gap), (1.0, 9.0, 0.0));
    let one = estimate(&[Row::lost(4.0, 6.0, 0.25)]).unwrap();
    assert_eq!(
        one.lost,
        [Mass {
            after: 4.0,
            by: 6.0,
            mass: 1.0
        }]
    );
    assert_eq!((one.reached(), one.n), (0.0, 0.25));
}

proptest! {
    #[test]
    fn an_estimate_sought_from_another_is_as_good(rows in rows(), others in rows()) {
        // Even from one of quite other rows: the certificate bounds both from above.
        let (found, other) = (estimate(&rows).unwrap(), estimate(&others).unwrap());
        let weights: Vec<f64> = rows.iter().map(|row| row.weight).collect();
        let near = Reweighed::new(&rows).estimate(&weights, Some(&other)).unwrap();
        prop_assert!(near.gap <= 1e-8, "gap {}", near.gap);
        prop_assert!((near.loglik - found.loglik).abs() <= 2e-8);
        let sum = near.reached() + lost_first(&near) + near.later;
        prop_assert!((sum - 1.0).abs() < 1e-9);
    }

    #[test]
    fn rows_weighed_anew_have_the_estimate_of_rows_of_that_weight(
        rows in rows(),
        times in prop::collection::vec(0..4_u32, 80),
    ) {
        let all = Reweighed::new(&rows);
        let weights: Vec<f64> = rows.iter().zip(&times).map(|(row, n)| row.weight * f64::from(*n)).collect();
        let kept = rows.iter().zip(&weights).map(|(row, &weight)| Row { weight, ..*row });
        let kept: Vec<Row> = kept.collect();
        let (found, again) = (estimate(&kept), all.estimate(&weights, None));
        prop_assert_eq!(found.is_some(), again.is_some());
        let (Some(found), Some(again)) = (found, again) else { return Ok(()) };
        prop_assert_eq!((found.tau, found.later > 0.0), (again.tau, again.later > 0.0));
        prop_assert!((found.n - again.n).abs() < 1e-9 * found.n);
        prop_assert!(again.gap <= Estimate::CERTIFIED, "gap {}", again.gap);
        prop_assert!((found.loglik - again.loglik).abs() <= 2e-8);
        // One sought from the whole sample is certified and has the same days, and so has a resample.
        let whole = estimate(&rows).unwrap();
        let near = all.estimate(&weights, Some(&whole)).unwrap();
        prop_assert!(near.gap <= Estimate::CERTIFIED, "gap {}", near.gap);
        prop_assert!((found.loglik - near.loglik).abs() <= 2e-8);
        let beside = vec![rows.iter().map(|row| row.weight).collect(), weights];
        let resampled = all.resample(&beside, &whole).pop().flatten().unwrap();
        for q in [0.1, 0.5, 0.9] {
            let days = quantile(&found.curve, q, Among::All).is_some();
            let close = (found.reached() - q).abs() < 1e-3;
            prop_assert!(close || days == quantile(&near.curve, q, Among::All).is_some());
            prop_assert!(close || days == resampled_quantile(&resampled, q, Among::All).is_some());
        }
    }
}
