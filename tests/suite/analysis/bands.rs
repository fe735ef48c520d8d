//! The pointwise band of a curve: against published intervals, against the strike's own interval, and the
//! laws that hold of any.

use crate::fold::lives::{book_of, entry};
use crate::stats::assert_close;
use struck::analysis::timeline::{TimelineGroup, TimelineOptions, timeline};
use struck::fold::batch::Milestone;
use struck::fold::batch::Milestone::Root;
use struck::model::entry::Entry;
use struck::stats::correlation::{CorrelationPrior, correlated_share};
use struck::stats::npmle::reached_by;
use struck::stats::shares::{Count, cluster_variance, wilson};

fn banded(entries: &[Entry]) -> TimelineGroup {
    let options = TimelineOptions {
        resamples: 0,
        band: true,
        ..TimelineOptions::default()
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

fn on(group: &TimelineGroup, milestone: Milestone, day: u32) -> (f64, f64) {
    let band = &group.figures(milestone).band;
    let point = band.iter().find(|point| point.day == day);
    let point = point.unwrap_or_else(|| panic!("no day {day} in {band:?}"));
    (point.low, point.high)
}

#[test]
fn one_replicate_has_wilsons_interval_of_fewer_cuttings_on_each_day() {
    // Newcombe 1998, Stat Med 17:857, table I: 81 of 263 gives 0.2553 to 0.3662 (from memory; the digits
    // below are statsmodels' proportion_confint). One batch of 263 has the journal's correlation of 0.15: it is as good
    // as 263 / 40.3 cuttings, and is told with t on 4 degrees of freedom.
    let plain = wilson(81.0, 263.0, 1.959_963_985);
    assert_close(plain.low, 0.255_288_519_9, 1e-6);
    assert_close(plain.high, 0.366_209_577, 1e-6);
    let group = banded(&batches(&[(263, 81)]));
    let prior = CorrelationPrior::UNINFORMED;
    for (day, rooted) in [(20, 81.0), (10, 0.0)] {
        let wanted = correlated_share(rooted / 263.0, &[263.0], 0.0, &prior, 0.95);
        assert_close(wanted.deff, 1.0 + 262.0 * 0.15, 1e-9);
        let (low, high) = on(&group, Root, day);
        assert_close(low, wanted.interval.low, 1e-9);
        assert_close(high, wanted.interval.high, 1e-9);
    }
}

#[test]
fn like_batches_have_the_interval_of_their_shares() {
    // With batches of one size the jackknife's variance of a mean is the variance between batches over
    // their number (Efron & Tibshirani 1993, 11.5), which the shares of a trial's arms are widened by.
    let each = [(40, 22), (40, 30), (40, 12), (40, 26), (40, 35), (40, 19)];
    let book = book_of(&batches(&each));
    let options = TimelineOptions {
        resamples: 0,
        band: true,
        ..TimelineOptions::default()
    };
    let found = timeline(&book, &options, &mut |_, _| true).unwrap();
    let group = &found.groups[0];
    let counts: Vec<Count> = each
        .iter()
        .map(|(n, x)| Count {
            x: f64::from(*x),
            n: f64::from(*n),
        })
        .collect();
    let share = counts.iter().map(|c| c.x).sum::<f64>() / 240.0;
    let variance = cluster_variance(&counts);
    let prior = found.correlations[Root as usize];
    let wanted = correlated_share(share, &[40.0; 6], variance, &prior, 0.95).interval;
    let (low, high) = on(group, Root, 20);
    assert_close(low, wanted.low, 1e-6);
    assert_close(high, wanted.high, 1e-6);
    let strike = group.strike.value().unwrap();
    let (low, high) = on(group, Root, strike.by_day);
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
        let figure = group.figures(milestone);
        for point in &figure.band {
            let share = reached_by(&figure.curve, f64::from(point.day));
            assert!((0.0..=1.0).contains(&point.low), "{point:?}");
            assert!(point.low <= share + 1e-12, "{share} {point:?}");
            assert!(share <= point.high + 1e-12, "{share} {point:?}");
            assert!(point.high <= 1.0, "{point:?}");
        }
    }
    let unasked = TimelineOptions {
        resamples: 0,
        ..TimelineOptions::default()
    };
    let plain = timeline(&book_of(&entries), &unasked, &mut |_, _| true).unwrap();
    let plain = plain.groups.into_iter().next().unwrap();
    assert!(plain.milestones.iter().all(|figure| figure.band.is_empty()));
    assert_eq!(plain.strike, group.strike, "the band changes no figure");
}
