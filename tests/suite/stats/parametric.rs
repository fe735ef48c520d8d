//! Parametric fits against R survival 3.5.3 (survreg, interval2), and recovery of known values.

use super::{assert_close, expected, intervals};
use struck::stats::bootstrap::Draws;
use struck::stats::npmle::Row;
use struck::stats::parametric::{Family, Fit, fit};

const FAMILIES: [(&str, Family); 3] = [
    ("weibull", Family::Weibull),
    ("lognormal", Family::LogNormal),
    ("loglogistic", Family::LogLogistic),
];

#[test]
fn fits_match_the_published_ones() {
    let mut checked = 0;
    for row in expected("expected_interval_censored") {
        let Some((family, quantity)) = row.quantity.split_once('_') else {
            continue;
        };
        let Some((_, family)) = FAMILIES.iter().find(|f| f.0 == family) else {
            continue;
        };
        let found = fit(&intervals(&row.dataset, &row.group), *family).unwrap();
        row.check(match quantity {
            "intercept" => found.intercept,
            "scale" => found.scale,
            "loglik" => found.loglik,
            "se_intercept" => found.se_intercept(),
            "se_logscale" => found.se_logscale(),
            "quantile" => found.quantile(row.arg.parse().unwrap()),
            other => panic!("{other} is not checked"),
        });
        checked += 1;
    }
    assert_eq!(checked, 108);
}

#[test]
fn quantile_and_share_are_inverse() {
    for (_, family) in FAMILIES {
        let covariance = [[1.0, 0.0], [0.0, 1.0]];
        let known = Fit {
            family,
            intercept: 3.2,
            scale: 0.4,
            loglik: 0.0,
            covariance,
            n: 1.0,
        };
        for q in [0.01, 0.2, 0.5, 0.93] {
            assert_close(known.reached_by(known.quantile(q)), q, 1e-12);
        }
        assert_eq!(known.reached_by(0.0), 0.0);
    }
}

#[test]
fn known_values_are_recovered_within_their_errors() {
    for (_, family) in FAMILIES {
        let covariance = [[1.0, 0.0], [0.0, 1.0]];
        let truth = Fit {
            family,
            intercept: 3.0,
            scale: 0.3,
            loglik: 0.0,
            covariance,
            n: 1.0,
        };
        let mut draws = Draws::new(11);
        let look = |draws: &mut Draws| {
            let (day, every) = (truth.quantile(draws.unit()), 2.0 + 5.0 * draws.unit());
            let left = (day / every).floor() * every;
            match left > 35.0 {
                true => Row::not_yet(35.0, 1.0),
                false => Row::reached(left, left + every, 1.0),
            }
        };
        let rows: Vec<Row> = (0..3000).map(|_| look(&mut draws)).collect();
        let found = fit(&rows, family).unwrap();
        assert!(
            (found.intercept - 3.0).abs() < 4.0 * found.se_intercept(),
            "{found:?}"
        );
        assert!(
            (found.scale.ln() - 0.3_f64.ln()).abs() < 4.0 * found.se_logscale(),
            "{found:?}"
        );
    }
}

#[test]
fn a_likelihood_without_maximum_gives_no_fit() {
    for (_, family) in FAMILIES {
        assert_eq!(fit(&[], family), None);
        assert_eq!(fit(&[Row::not_yet(9.0, 4.0)], family), None);
        assert_eq!(fit(&[Row::reached(10.0, 14.0, 50.0)], family), None);
        assert_eq!(fit(&[Row::lost(10.0, 14.0, 50.0)], family), None);
    }
}
