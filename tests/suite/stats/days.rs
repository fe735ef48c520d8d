//! Quantiles and shares read off curves small enough to work by hand.

use super::assert_close;
use struck::stats::npmle::Mass;
use struck::stats::npmle::{Among, quantile, reached_by};

const CURVE: [Mass; 2] = [
    Mass {
        after: 10.0,
        by: 14.0,
        mass: 0.5,
    },
    Mass {
        after: 20.0,
        by: 30.0,
        mass: 0.25,
    },
];

#[test]
fn quantiles_of_all_stop_at_the_share_that_reached() {
    let half = quantile(&CURVE, 0.5, Among::All).unwrap();
    assert_eq!((half.after, half.by, half.at), (10.0, 14.0, 14.0));
    let most = quantile(&CURVE, 0.6, Among::All).unwrap();
    assert_eq!((most.after, most.by), (20.0, 30.0));
    assert_close(most.at, 24.0, 1e-9);
    assert_eq!(quantile(&CURVE, 0.9, Among::All), None);
}

#[test]
fn quantiles_of_those_that_reached_divide_by_their_share() {
    let half = quantile(&CURVE, 0.5, Among::Reached).unwrap();
    assert_close(half.at, 13.0, 1e-9);
    let last = quantile(&CURVE, 1.0, Among::Reached).unwrap();
    assert_close(last.at, 30.0, 1e-9);
    assert_eq!(quantile(&[], 0.5, Among::Reached), None);
}

#[test]
fn a_mass_a_hair_short_of_the_quantile_still_counts() {
    let curve = [
        Mass {
            mass: 0.5 - 1e-10,
            ..CURVE[0]
        },
        CURVE[1],
    ];
    assert_eq!(quantile(&curve, 0.5, Among::All).unwrap().by, 14.0);
}

#[test]
fn shares_grow_linearly_inside_an_interval() {
    assert_close(reached_by(&CURVE, 10.0), 0.0, 0.0);
    assert_close(reached_by(&CURVE, 12.0), 0.25, 1e-12);
    assert_close(reached_by(&CURVE, 25.0), 0.625, 1e-12);
    assert_close(reached_by(&CURVE, 99.0), 0.75, 1e-12);
}
