//! The pointwise band of a curve: against published intervals, against the strike's own interval, and the
//! laws that hold of any.

use crate::fold::lives::{book_of, entry};
use crate::stats::assert_close;
use struck::analysis::timeline::{Group, Options, timeline};
use struck::fold::batch::Milestone;
use struck::fold::batch::Milestone::Root;
use struck::model::entry::Entry;
use struck::stats::days::reached_by;
use struck::stats::shares::{Count, share_of_counts};

fn banded(entries: &[Entry]) -> Group {
    let options = Options {
        resamples: 0,
        band: true,
        ..Options::default()
    };
    let found = timeline(&book_of(entries), &options, &mut |_, _| true).unwrap();
    found.groups.into_iter().next().unwrap()
}

/// Batches of so many stuck, rooted by day 20, all settled by day 30.
fn batches(each: &[(u32, u32)]) -> Vec<Entry> {
    let mut out = Vec::new();
    for (n, (stuck, rooted)) in each.iter().enumerate() {
        let stick = format!("stick batch=B{n} taxon=Salix stuck={stuck} place=p{n}");
        out.push(entry(&format!("{n}a"), 0, &stick));
        out.push(entry(
            &format!("{n}b"),
            10,
            &format!("look batch=B{n} how=lift"),
        ));
        let look = format!("look batch=B{n} rooted={rooted}");
        out.push(entry(&format!("{n}c"), 20, &look));
        let rest = stuck - rooted;
        let look = format!("look batch=B{n} rooted={rooted} lost.blackened={rest}");
        out.push(entry(&format!("{n}d"), 30, &look));
    }
    out
}

fn on(group: &Group, milestone: Milestone, day: u32) -> (f64, f64) {
    let band = &group.of(milestone).band;
    let point = band.iter().find(|point| point.day == day);
    let point = point.unwrap_or_else(|| panic!("no day {day} in {band:?}"));
    (point.low, point.high)
}

#[test]
fn one_replicate_has_wilsons_interval_on_each_day() {
    // Newcombe 1998, Stat Med 17:857, table I: 81 of 263 gives 0.2553 to 0.3662 (from memory; the digits
    // below are statsmodels' proportion_confint).
    let group = banded(&batches(&[(263, 81)]));
    let (low, high) = on(&group, Root, 20);
    assert_close(low, 0.255_288_519_9, 1e-6);
    assert_close(high, 0.366_209_577, 1e-6);
    // On the day of the look that found none: Wilson's for 0 of 263 is 0 to z²/(n + z²).
    let z2 = 1.959_963_985_f64.powi(2);
    let (low, high) = on(&group, Root, 10);
    assert_close(low, 0.0, 1e-12);
    assert_close(high, z2 / (263.0 + z2), 1e-6);
}

#[test]
fn like_batches_have_the_interval_of_their_shares() {
    // With batches of one size the jackknife's variance of a mean is the variance between batches over
    // their number (Efron & Tibshirani 1993, 11.5), which the shares of a trial's arms are widened by.
    let each = [(40, 22), (40, 30), (40, 12), (40, 26), (40, 35), (40, 19)];
    let group = banded(&batches(&each));
    let counts: Vec<Count> = each
        .iter()
        .map(|(n, x)| Count {
            x: f64::from(*x),
            n: f64::from(*n),
        })
        .collect();
    let wanted = share_of_counts(&counts, 0.95).unwrap().interval;
    let (low, high) = on(&group, Root, 20);
    assert_close(low, wanted.low, 1e-6);
    assert_close(high, wanted.high, 1e-6);
    let strike = group.strike.unwrap();
    let (low, high) = on(&group, Root, strike.by_day);
    assert_close(low, strike.low, 1e-6);
    assert_close(high, strike.high, 1e-6);
}

#[test]
fn a_curve_lies_within_its_band_and_the_band_is_not_made_unasked() {
    let mut entries = batches(&[(24, 9), (30, 25), (18, 2), (60, 31)]);
    // One that is still watched.
    entries.push(entry(
        "9a",
        0,
        "stick batch=B9 taxon=Salix stuck=50 place=p9",
    ));
    entries.push(entry("9b", 14, "look batch=B9 rooted=11"));
    let group = banded(&entries);
    for milestone in Milestone::ALL {
        let figure = group.of(milestone);
        for point in &figure.band {
            let share = reached_by(&figure.curve, f64::from(point.day));
            assert!((0.0..=1.0).contains(&point.low), "{point:?}");
            assert!(point.low <= share + 1e-12, "{share} {point:?}");
            assert!(share <= point.high + 1e-12, "{share} {point:?}");
            assert!(point.high <= 1.0, "{point:?}");
        }
    }
    let unasked = Options {
        resamples: 0,
        ..Options::default()
    };
    let plain = timeline(&book_of(&entries), &unasked, &mut |_, _| true).unwrap();
    let plain = plain.groups.into_iter().next().unwrap();
    assert!(plain.milestones.iter().all(|figure| figure.band.is_empty()));
    assert_eq!(plain.strike, group.strike, "the band changes no figure");
}
