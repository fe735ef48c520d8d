//! The estimate of curves against published data sets, as worked by reference programs
//! (R packages npsurv, interval, survival and cmprsk; see `tests/data/published/README.md`).

use super::{Expected, assert_close, expected, intervals, lost_first, published};
use struck::stats::npmle::{Among, quantile, reached_by};
use struck::stats::npmle::{Estimate, Mass, Row, estimate};

/// An exact day t is the interval (t − 1, t]; a wait that ends unmet on day t is (t, ∞).
fn days(file: &str, group: &str) -> Vec<Row> {
    let records = published(file).into_iter().filter(|r| r[2] == group);
    let row = |r: Vec<String>| {
        let day: f64 = r[0].parse().unwrap();
        match r[1].as_str() {
            "0" => Row::not_yet(day, 1.0),
            "1" => Row::reached(day - 1.0, day, 1.0),
            _ => Row::lost(day - 1.0, day, 1.0),
        }
    };
    records.map(row).collect()
}

fn certified(rows: &[Row]) -> Estimate {
    let found = estimate(rows).unwrap();
    assert!(found.gap <= Estimate::CERTIFIED, "gap {}", found.gap);
    found
}

/// The mass of the support interval written `(l;r]`; infinite r is the mass beyond.
fn mass_at(found: &Estimate, support: &str) -> f64 {
    let ends: Vec<f64> = support
        .trim_matches(['(', ']'])
        .split(';')
        .map(|end| end.parse().unwrap())
        .collect();
    if ends[1].is_infinite() {
        return found.later;
    }
    let same = |m: &&Mass| m.after == ends[0] && m.by == ends[1];
    found.curve.iter().find(same).map_or(0.0, |m| m.mass)
}

fn check_interval_row(found: &Estimate, row: &Expected) -> bool {
    let q = || quantile(&found.curve, row.arg.parse().unwrap(), Among::All);
    let value = match row.quantity.as_str() {
        "loglik" => found.loglik,
        "mass" => mass_at(found, &row.arg),
        "S(t)" => 1.0 - reached_by(&found.curve, row.arg.parse().unwrap()),
        "quantile_interval_lo" => q().map_or(found.tau, |q| q.after),
        "quantile_interval_hi" => q().map_or(f64::INFINITY, |q| q.by),
        "quantile_linear_interp" => q().unwrap().at,
        // Parametric fits and tests of two groups are checked beside their own code.
        _ => return false,
    };
    row.check(value);
    true
}

#[test]
fn interval_censored_sets_match_their_published_estimates() {
    let rows = expected("expected_interval_censored");
    let curves = [
        ("cosmesis", "RT"),
        ("cosmesis", "RCT"),
        ("cosmesis", "pooled"),
    ];
    let mut checked = 0;
    for (file, group) in curves.into_iter().chain([("marijuana", "all")]) {
        let found = certified(&intervals(file, group));
        let listed = |r: &&Expected| r.dataset == file && r.group == group;
        let masses = rows
            .iter()
            .filter(listed)
            .filter(|r| r.quantity == "mass")
            .count();
        let beyond = usize::from(found.later > 0.0);
        assert_eq!(
            masses,
            found.curve.len() + beyond,
            "support of {file} {group}"
        );
        checked += rows
            .iter()
            .filter(listed)
            .filter(|r| check_interval_row(&found, r))
            .count();
    }
    assert_eq!(checked, 114);
}

#[test]
fn exact_days_give_the_product_limit_estimate() {
    let rows = expected("expected_km_cif_lifetable");
    // Greenwood errors, their intervals, tests by the unit and the life table are not ours, and
    // km_quantile follows the mid-point convention of another program.
    let rows: Vec<_> = rows.iter().filter(|r| r.quantity == "km_S").collect();
    assert_eq!(rows.len(), 36);
    for row in rows {
        let found = certified(&days(&row.dataset, &row.group));
        row.check(1.0 - reached_by(&found.curve, row.arg.parse().unwrap()));
    }
}

#[test]
fn exact_days_with_two_outcomes_give_the_cumulative_incidence() {
    let rows = expected("expected_km_cif_lifetable");
    // The standard errors beside them (infinitesimal jackknife, Aalen) are not ours.
    let rows: Vec<_> = rows
        .iter()
        .filter(|r| r.quantity.starts_with("aj_cif"))
        .collect();
    assert_eq!(rows.len(), 30);
    for row in rows {
        let found = certified(&days(&row.dataset, &row.group));
        let cause = if row.quantity.ends_with('1') {
            &found.curve
        } else {
            &found.lost
        };
        row.check(reached_by(cause, row.arg.parse().unwrap()));
    }
}

#[test]
fn one_interval_inside_the_other_takes_all_the_mass() {
    // By hand: (2, 3] lies in both, so it alone carries mass and the likelihood is 1.
    let found = certified(&[Row::reached(0.0, 5.0, 3.0), Row::reached(2.0, 3.0, 1.0)]);
    assert_eq!(
        found.curve,
        [Mass {
            after: 2.0,
            by: 3.0,
            mass: 1.0
        }]
    );
    assert_close(found.loglik, 0.0, 1e-12);
}

#[test]
fn losses_compete_by_hand() {
    // Four units: one reached in (0, 1], one lost in (0, 1], of the two left one reached in
    // (1, 2] and one was not yet at 2: masses 1/4 each, beyond 1/4.
    let rows = [
        Row::reached(0.0, 1.0, 1.0),
        Row::lost(0.0, 1.0, 1.0),
        Row::reached(1.0, 2.0, 1.0),
        Row::not_yet(2.0, 1.0),
    ];
    let found = certified(&rows);
    assert_close(found.reached(), 0.5, 1e-12);
    assert_close(lost_first(&found), 0.25, 1e-12);
    assert_close(found.later, 0.25, 1e-12);
    assert_close(found.loglik, 4.0 * 0.25_f64.ln(), 1e-12);
    assert_eq!((found.tau, found.n), (2.0, 4.0));
}
