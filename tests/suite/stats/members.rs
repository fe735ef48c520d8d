//! Rows of members left out: shares to first order against each member left out in earnest.

use struck::stats::dice::Dice;
use struck::stats::members::MemberRows;
use struck::stats::npmle::{Row, estimate, reached_by};
use struck::stats::shares::jackknife_variance;

/// Cuttings of one member, looked at every few days until some day after which nothing is known.
fn member(dice: &mut Dice) -> Vec<Row> {
    let (strike, pace) = (0.3 + 0.6 * dice.unit(), 0.7 + 0.6 * dice.unit());
    let (every, until) = (5 + dice.below(9), 30 + dice.below(60));
    let look = |day: f64| (day / f64::from(every)).ceil() * f64::from(every);
    let mut rows = Vec::new();
    for _ in 0..10 + dice.below(40) {
        let root = 28.0 * pace * (0.4 * (dice.unit() + dice.unit() + dice.unit() - 1.5)).exp();
        let lost = 10.0 + 80.0 * dice.unit();
        let roots = dice.unit() < strike;
        let by = look(if roots { root } else { lost });
        rows.push(match by <= f64::from(until) {
            true if roots => Row::reached(by - f64::from(every), by, 1.0),
            true => Row::lost(by - f64::from(every), by, 1.0),
            false => Row::not_yet(f64::from(until / every * every), 1.0),
        });
    }
    rows
}

/// The standard errors of the share reached in the end: as worked out, and with each member left out in earnest.
fn errors(members: usize, dice: &mut Dice) -> [f64; 2] {
    let rows: Vec<Vec<Row>> = (0..members).map(|_| member(dice)).collect();
    let all = MemberRows::new(&rows);
    let whole = all.whole().unwrap();
    let found = all.left_out(&whole, &[whole.tau], &mut || true).unwrap();
    let without = |left_out: usize| {
        let rest = rows.iter().enumerate().filter(|(at, _)| *at != left_out);
        let rest: Vec<Row> = rest.flat_map(|(_, rows)| rows.clone()).collect();
        reached_by(&estimate(&rest).unwrap().curve, whole.tau)
    };
    let earnest: Vec<f64> = (0..members).map(without).collect();
    [&found[0], &earnest].map(|shares| jackknife_variance(shares).sqrt())
}

#[test]
fn members_left_out_to_first_order_spread_as_those_left_out_in_earnest() {
    let mut dice = Dice::new(11);
    let mut ratios = Vec::new();
    for members in [15, 25, 40, 60] {
        for _ in 0..8 {
            let [found, earnest] = errors(members, &mut dice);
            ratios.push(found / earnest);
        }
    }
    ratios.sort_by(f64::total_cmp);
    let (low, middle, high) = (ratios[0], ratios[16], ratios[31]);
    assert!((middle - 1.0).abs() < 0.01, "{middle}");
    assert!(low > 0.9 && high < 1.1, "{low} to {high}");
}

#[test]
fn of_few_members_each_is_left_out_in_earnest() {
    let mut dice = Dice::new(12);
    for members in [2, 3, 4, 5].repeat(3) {
        let [found, earnest] = errors(members, &mut dice);
        assert!((found - earnest).abs() <= 1e-6, "{found} {earnest}");
    }
}

#[test]
fn leaving_out_stops_when_told() {
    let mut dice = Dice::new(13);
    let rows: Vec<Vec<Row>> = (0..3).map(|_| member(&mut dice)).collect();
    let rows = MemberRows::new(&rows);
    let whole = rows.whole().unwrap();
    assert_eq!(rows.left_out(&whole, &[whole.tau], &mut || false), None);
}
