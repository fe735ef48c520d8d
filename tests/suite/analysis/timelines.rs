//! Timelines of groups: published data sets carried from entries to figures, small groups by hand,
//! and the laws that hold for any book.

use crate::fold::lives::{book_of, date, entry, life};
use crate::stats::{Expected, assert_close, expected, published};
use struck::analysis::timeline::say::{Caution, Reason};
use struck::analysis::timeline::{Group, MilestoneFigure, Options, Timeline, timeline};
use struck::fold::batch::Milestone;
use struck::fold::batch::Milestone::{Bottom, Callus, Root};
use struck::fold::interval_rows::{IntervalRow, interval_rows};
use struck::fold::selection::{ExclusionReason, Selection};
use struck::model::entry::Entry;
use struck::model::filter::GroupKey;
use struck::stats::days::reached_by;

/// The timeline without resampling.
fn plain(entries: &[Entry]) -> Timeline {
    let options = Options {
        resamples: 0,
        ..Options::default()
    };
    timeline(&book_of(entries), &options, &mut |_, _| true).unwrap()
}

/// The one group of a timeline.
fn only(timeline: Timeline) -> Group {
    let [group] = <[Group; 1]>::try_from(timeline.groups).unwrap();
    group
}

/// A batch of one cutting for a subject: looked at in vain on the last day without the event, and
/// with success on the first day with it.
fn subject(out: &mut Vec<Entry>, left: u64, right: Option<u64>, end: &str) {
    let n = out.len();
    let code = format!("S{n}");
    out.push(entry(
        &format!("{n:05}"),
        0,
        &format!("stick batch={code} taxon=Salix stuck=1 place=p{n}"),
    ));
    if left > 0 || right.is_none() {
        out.push(entry(
            &format!("{n:05}a"),
            left,
            &format!("look batch={code} how=lift"),
        ));
    }
    if let Some(day) = right {
        out.push(entry(
            &format!("{n:05}b"),
            day,
            &format!("look batch={code} {end}"),
        ));
    }
}

/// Subjects (L, R, group, count) of a published file; `pooled` and `all` take every row.
fn interval_censored(file: &str, group: &str) -> Vec<Entry> {
    let mut out = Vec::new();
    let every = ["pooled", "all"].contains(&group);
    for record in published(file).iter().filter(|r| every || r[2] == group) {
        for _ in 0..record.get(3).map_or(1, |count| count.parse().unwrap()) {
            subject(
                &mut out,
                record[0].parse().unwrap(),
                record[1].parse().ok(),
                "rooted=1",
            );
        }
    }
    out
}

/// Subjects (time, event, group): event 1 roots on its day, 2 is lost on it, 0 is watched until it.
fn exact_days(file: &str, group: &str) -> Vec<Entry> {
    let mut out = Vec::new();
    for record in published(file).iter().filter(|r| r[2] == group) {
        let day: u64 = record[0].parse().unwrap();
        match record[1].as_str() {
            "0" => subject(&mut out, day, None, ""),
            "1" => subject(&mut out, day - 1, Some(day), "rooted=1"),
            _ => subject(&mut out, day - 1, Some(day), "how=glance lost.other=1"),
        }
    }
    out
}

/// The mass at the support interval written `(l;r]`; infinite r is the mass beyond.
fn mass_at(figure: &MilestoneFigure, support: &str) -> f64 {
    let ends = support.trim_matches(['(', ']']).split(';');
    let ends: Vec<f64> = ends.map(|end| end.parse().unwrap()).collect();
    if ends[1].is_infinite() {
        return figure.later;
    }
    let same = |m: &&struck::stats::npmle::Mass| m.after == ends[0] && m.by == ends[1];
    figure.curve.iter().find(same).map_or(0.0, |m| m.mass)
}

#[test]
fn published_interval_censored_sets_come_out_as_published() {
    // Finkelstein & Wolfe 1985, Turnbull & Weiss 1978; values by R npsurv and interval.
    let rows = expected("expected_interval_censored");
    let mut checked = 0;
    for (file, name) in [
        ("cosmesis", "RT"),
        ("cosmesis", "RCT"),
        ("cosmesis", "pooled"),
        ("marijuana", "all"),
    ] {
        let group = only(plain(&interval_censored(file, name)));
        let figure = group.of(Root);
        assert!(figure.gap <= 1e-8);
        let of_set = |row: &&Expected| row.dataset == file && row.group == name;
        for row in rows.iter().filter(of_set) {
            let found = match row.quantity.as_str() {
                "loglik" => figure.loglik,
                "mass" => mass_at(figure, &row.arg),
                "S(t)" => 1.0 - reached_by(&figure.curve, row.arg.parse().unwrap()),
                "quantile_linear_interp" if row.arg == "0.5" => figure.all.days[1].unwrap().at,
                "quantile_interval_lo" if row.arg == "0.5" => {
                    f64::from(figure.all.days[1].unwrap().after)
                }
                "quantile_interval_hi" if row.arg == "0.5" => {
                    f64::from(figure.all.days[1].unwrap().by)
                }
                _ => continue,
            };
            row.check(found);
            checked += 1;
        }
    }
    assert_eq!(checked, 4 + 40 + 35 + 12);
}

#[test]
fn published_exact_days_come_out_as_kaplan_meier_and_aalen_johansen() {
    // Klein & Moeschberger's transplants (two outcomes), the leukaemia sets; by R survival.
    let rows = expected("expected_km_cif_lifetable");
    let mut checked = 0;
    let mut last: Option<(String, String, Group)> = None;
    for row in rows
        .iter()
        .filter(|r| r.quantity == "km_S" || r.quantity.starts_with("aj_cif"))
    {
        let known = last
            .take()
            .filter(|(set, name, _)| *set == row.dataset && *name == row.group);
        let (_, _, group) = last.insert(known.unwrap_or_else(|| {
            let group = only(plain(&exact_days(&row.dataset, &row.group)));
            (row.dataset.clone(), row.group.clone(), group)
        }));
        let figure = group.of(Root);
        let day = row.arg.parse().unwrap();
        row.check(match row.quantity.as_str() {
            "km_S" => 1.0 - reached_by(&figure.curve, day),
            "aj_cif_cause1" => reached_by(&figure.curve, day),
            _ => reached_by(&figure.lost, day),
        });
        checked += 1;
    }
    assert_eq!(checked, 66);
}

#[test]
fn one_closed_batch_by_hand() {
    // 24 stuck; on day 20 6 are rooted, by day 30 12 of 20 with 4 lost; all 12 potted that day, the
    // other 8 given up on day 40. Nothing is left to chance: 6 in (0,20], 6 in (20,30], 4 lost in
    // (20,30], 8 in (30,40].
    let it = only(plain(&life(
        24,
        &[
            (20, "look rooted=6"),
            (30, "look rooted=12 lost.blackened=4"),
            (30, "pot count=12"),
            (40, "discard count=8 why=given-up"),
        ],
    )));
    assert_eq!(
        (it.size.batches, it.size.replicates, it.size.stuck),
        (1, 1, 24)
    );
    assert_eq!((it.size.lost, it.size.watched), (4, 0.0));
    let root = it.of(Root);
    let masses = |list: &[struck::stats::npmle::Mass]| -> Vec<(f64, f64, f64)> {
        list.iter()
            .map(|m| (m.after, m.by, (m.mass * 24.0 * 1e6).round() / 1e6))
            .collect()
    };
    assert_eq!(masses(&root.curve), [(0.0, 20.0, 6.0), (20.0, 30.0, 6.0)]);
    assert_eq!(masses(&root.lost), [(20.0, 30.0, 4.0), (30.0, 40.0, 8.0)]);
    assert_close(root.later, 0.0, 1e-12);
    let strike = it.strike.unwrap();
    assert_close(strike.value, 0.5, 1e-9);
    assert_eq!(strike.by_day, 40);
    // Wilson, 12 of 24 at 95 %: (0.3143, 0.6857); by hand: half = z √(.25/24 + z²/(4·24²)) /
    // (1 + z²/24) = 1.959964 · √(.0104167 + .0016674) / 1.160061 = 0.185725.
    assert_close(strike.low, 0.5 - 0.185_725, 1e-5);
    assert_close(strike.high, 0.5 + 0.185_725, 1e-5);
    assert_eq!(strike.deff, None);
    assert_eq!(it.cautions, [Caution::OneReplicate]);
    assert_eq!(
        (it.yielded.unwrap().value, it.yielded.unwrap().batches),
        (0.5, 1)
    );
    // A tenth of 24 is 2.4 of the 6 in (0,20]: day 8. Half is the 12th: day 30. 90 % never came.
    let [p10, p50, p90] = root.all.days;
    assert_close(p10.unwrap().at, 8.0, 1e-6);
    assert_close(p50.unwrap().at, 30.0, 1e-6);
    assert_eq!(p90, None);
    // Of the 12 that rooted, a tenth is 1.2 of 6: day 4; half day 20; 90 % is 10.8: day 28.
    let [p10, p50, p90] = root.of_reached.days;
    assert_close(p10.unwrap().at, 4.0, 1e-6);
    assert_close(p50.unwrap().at, 20.0, 1e-6);
    assert_close(p90.unwrap().at, 28.0, 1e-6);
    let reason = |path: &str| {
        it.reasons
            .iter()
            .find(|(p, _)| p == path)
            .map(|(_, r)| r.to_string())
    };
    assert_eq!(
        reason("milestones.root.days.all.p90").as_deref(),
        Some("only 50 % got there by day 40")
    );
    assert_eq!(
        reason("milestones.root.days.all.p10.low").as_deref(),
        Some("resampling was left out")
    );
    // The bottom was looked for and never seen: nought, not null, since the batch is closed.
    assert_eq!(it.of(Bottom).reached.unwrap().value, 0.0);
}

#[test]
fn too_soon_is_no_zero() {
    let it = only(plain(&life(24, &[(10, "look how=tug")])));
    assert_eq!((it.strike, it.yielded), (None, None));
    let reason = |path: &str| it.reasons.iter().find(|(p, _)| p == path).map(|(_, r)| *r);
    assert_eq!(reason("strike"), Some(Reason::TooSoon));
    assert_eq!(reason("yield"), Some(Reason::NoneClosed));
    assert_eq!(reason("milestones.root.reached"), Some(Reason::TooSoon));
    assert_eq!(
        reason("milestones.callus.reached"),
        Some(Reason::NotExamined)
    );
    assert_eq!(
        reason("milestones.callus.days.all.p50"),
        Some(Reason::NotExamined)
    );
    assert_eq!(it.size.watched, 24.0);
    assert_eq!(it.of(Callus).later, 1.0);
}

/// Batches of one taxon in places of their own, each with its number rooted of 20 by day 30.
fn batches(rooted: &[u32], last: &str) -> Vec<Entry> {
    let mut out = Vec::new();
    for (n, rooted) in rooted.iter().enumerate() {
        let stick = format!("stick batch=B{n} taxon=Weigela stuck=20 place=p{n}");
        out.push(entry(&format!("{n:03}"), 0, &stick));
        let look = format!("look batch=B{n} rooted={rooted} {last}");
        out.push(entry(&format!("{n:03}a"), 30, &look));
    }
    out
}

#[test]
fn shares_allow_for_the_spread_between_batches() {
    // 4, 10, 16 of 20, all followed to day 30: share 0.5. Between-batch variance of the ratio
    // (Cochran 1977, 6.9): 3/2 · (36 + 0 + 36) / 60² = 0.03; binomial 0.25 / 60; deff 7.2. So
    // n = 60 / 7.2 = 8 1/3 and t on 2 degrees of freedom at 97.5 %, 4.302653 (any t table):
    // half = 4.302653 · √(.25/8.3333 + 18.51282/(4·69.4444)) / (1 + 18.51282/8.3333) = 0.415261.
    let it = only(plain(&batches(&[4, 10, 16], "")));
    let strike = it.strike.unwrap();
    assert_close(strike.deff.unwrap(), 7.2, 1e-9);
    let square: f64 = 4.302_652_73 * 4.302_652_73;
    let n = 60.0 / 7.2;
    let half = (square * (0.25 / n + square / (4.0 * n * n))).sqrt() / (1.0 + square / n);
    assert_close(strike.low, 0.5 - half, 1e-7);
    assert_close(strike.high, 0.5 + half, 1e-7);
    assert!(it.cautions.is_empty());
}

#[test]
fn censored_shares_are_jackknifed() {
    // The third batch was last seen on day 30, the others on day 60 too, so the third is not
    // followed to day 60. By hand: 4 + 10 + 16 of 60 in (0,30]; of the 16 + 10 waiting in the two
    // others 8 + 5 more by day 60. The likelihood's maximum is
    // the product-limit one: S(30) = 1/2, S(60) = 1/2 · (1 − 13/26) = 1/4.
    let mut entries = batches(&[4, 10, 16], "");
    entries.push(entry("000b", 60, "look batch=B0 rooted=12"));
    entries.push(entry("001b", 60, "look batch=B1 rooted=15"));
    let it = only(plain(&entries));
    let strike = it.strike.unwrap();
    assert_close(strike.value, 0.75, 1e-7);
    // Leaving out each: 1 − 14/40 · 5/10 = .825, 1 − 20/40 · 8/16 = .75, 1 − 26/40 · 13/26 = .675.
    // Variance 2/3 · (.075² + 0 + .075²) = .0075; binomial .75 · .25 / 60 = .003125; deff 2.4.
    assert_close(strike.deff.unwrap(), 2.4, 1e-6);
    assert_eq!(strike.by_day, 60);
}

#[test]
fn days_are_resampled_from_five_replicates_on() {
    let days = |n: usize, resamples: usize, seed: u64| {
        let rooted: Vec<u32> = (0..n as u32).map(|i| 8 + i % 5 * 2).collect();
        let options = Options {
            resamples,
            seed,
            ..Options::default()
        };
        let book = book_of(&batches(&rooted, ""));
        only(timeline(&book, &options, &mut |_, _| true).unwrap())
    };
    let four = days(4, 199, 1);
    let day = four.of(Root).all.days[0].unwrap();
    assert_eq!((day.low, day.high), (None, None));
    let missing = |group: &Group, path: &str| {
        group
            .reasons
            .iter()
            .find(|(p, _)| p == path)
            .map(|(_, reason)| *reason)
    };
    let few = Reason::FewReplicates { have: 4, need: 5 };
    assert_eq!(
        missing(&four, "milestones.root.days.all.p10.low"),
        Some(few)
    );
    let five = days(5, 199, 1);
    let [p10, p50, p90] = five.of(Root).all.days;
    let p10 = p10.unwrap();
    assert!(p10.low.unwrap() <= p10.at && p10.at <= p10.high.unwrap());
    // 60 of 100 rooted, so half did; but not in every resample, whose day is then beyond the last.
    let p50 = p50.unwrap();
    assert!(p50.low.is_some() && p50.high.is_none());
    let path = "milestones.root.days.all.p50.high";
    assert_eq!(missing(&five, path), Some(Reason::Beyond { day: 30 }));
    assert_eq!(p90, None);
    assert_eq!(five, days(5, 199, 1));
    assert_ne!(five.of(Root).all, days(5, 199, 2).of(Root).all);
}

#[test]
fn groups_are_by_taxon_and_any_keys() {
    let stick = |id: &str, text: &str| entry(id, 0, &format!("stick stuck=10 {text}"));
    let entries = [
        stick(
            "1",
            "batch=A taxon=Weigela_florida wood=softwood place=bench_A/1",
        ),
        stick(
            "2",
            "batch=B taxon=weigela_florida wood=semi-ripe place=Bench_a/2",
        ),
        stick("3", "batch=C taxon=Escallonia wood=softwood place=frame"),
        stick("4", "batch=D taxon=Weigela_florida place=frame"),
        entry("1a", 20, "look batch=A rooted=5"),
        entry("2a", 20, "look batch=B rooted=5"),
        entry("3a", 20, "look batch=C rooted=5"),
        entry("4a", 20, "look batch=D rooted=5"),
    ];
    let told = |by: &[GroupKey]| -> Vec<String> {
        let options = Options {
            by: by.to_vec(),
            resamples: 0,
            ..Options::default()
        };
        let timeline = timeline(&book_of(&entries), &options, &mut |_, _| true).unwrap();
        let values = |group: &Group| {
            let values = group
                .by
                .iter()
                .map(|(_, value)| value.clone().unwrap_or("-".into()));
            values.collect::<Vec<_>>().join(",")
        };
        let group = |g: &Group| format!("{} [{}] {}", g.taxon, values(g), g.size.batches);
        timeline.groups.iter().map(group).collect()
    };
    assert_eq!(told(&[]), ["Escallonia [] 1", "Weigela florida [] 3"]);
    assert_eq!(
        told(&[GroupKey::Wood]),
        [
            "Escallonia [softwood] 1",
            "Weigela florida [semi-ripe] 1",
            "Weigela florida [softwood] 1",
            "Weigela florida [-] 1",
        ]
    );
    assert_eq!(
        told(&[GroupKey::Place]),
        [
            "Escallonia [frame] 1",
            "Weigela florida [bench A] 2",
            "Weigela florida [frame] 1"
        ]
    );
}

#[test]
fn what_is_left_out_is_named_with_its_reason() {
    let entries = [
        entry("Z1", 0, "stick batch=A taxon=Weigela stuck=10"),
        entry("2", 0, "stick batch=B taxon=Weigela stuck=10"),
        entry(
            "3",
            0,
            "stick batch=C taxon=Weigela stuck=10 aside=wrong_label",
        ),
        entry("4", 0, "stick batch=D taxon=Weigela stuck=10 again=Z1"),
        entry("5", 0, "stick batch=E taxon=Weigela stuck=10"),
        entry("6", 5, "move batch=E count=10 into=F place=frame"),
        entry("1a", 20, "look batch=A rooted=5"),
        entry("4a", 20, "look batch=D rooted=1"),
        entry("5a", 20, "look batch=F rooted=1"),
    ];
    let it = plain(&entries);
    let skipped: Vec<_> = it
        .skipped
        .iter()
        .map(|s| (s.batch.as_str(), s.reason.clone()))
        .collect();
    assert_eq!(
        skipped,
        [
            ("B", ExclusionReason::NeverLooked),
            ("C", ExclusionReason::Aside("wrong label".into())),
            ("D", ExclusionReason::Again),
            ("E", ExclusionReason::Parted),
        ]
    );
    assert_eq!(it.groups[0].size.batches, 2);
    let options = Options {
        about: Selection {
            again: true,
            ..Selection::default()
        },
        resamples: 0,
        ..Options::default()
    };
    let again = timeline(&book_of(&entries), &options, &mut |_, _| true).unwrap();
    assert_eq!(again.groups[0].size.batches, 3);
}

#[test]
fn cautions_are_counted() {
    let it = only(plain(&life(
        40,
        &[
            (0, "look rooted=1"),
            (10, "look about.rooted=few"),
            (20, "look seen=10 rooted=4"),
            (30, "look rooted=20"),
            (40, "look rooted=18"),
            (50, "discard count=3"),
        ],
    )));
    let texts: Vec<String> = it.cautions.iter().map(ToString::to_string).collect();
    assert_eq!(
        texts,
        [
            "one replicate: the spread between batches is unknown",
            "1 look read from spoken guesses",
            "1 look at a part of the batch, taken for the whole",
            "3 cuttings discarded without a reason, counted as not yet",
            "fewer callused than before in 1 batch",
            "callus seen on the day of sticking in 1 batch, put in the first day",
            "fewer rooted than before in 1 batch",
            "root seen on the day of sticking in 1 batch, put in the first day",
        ]
    );
}

#[test]
fn what_is_seen_at_sticking_alone_is_the_share_of_the_first_day() {
    let it = only(plain(&life(40, &[(0, "look rooted=10")])));
    let root = it.of(Root);
    assert_close(root.reached.unwrap().value, 0.25, 1e-9);
}

#[test]
fn work_can_be_watched_and_stopped() {
    let book = book_of(&batches(&[4, 6, 8, 10, 12], ""));
    let mut seen = Vec::new();
    let whole = timeline(&book, &Options::default(), &mut |done, of| {
        seen.push((done, of));
        true
    });
    assert!(whole.is_some());
    assert!(seen.is_sorted() && seen.last() == Some(&(3, 3)));
    let mut left = 100;
    let stopped = timeline(&book, &Options::default(), &mut |_, _| {
        left -= 1;
        left > 0
    });
    assert!(stopped.is_none());
}

#[test]
fn as_of_a_day_nothing_later_is_seen() {
    let entries = life(
        24,
        &[
            (20, "look rooted=6"),
            (30, "look rooted=12"),
            (31, "pot count=24"),
        ],
    );
    let options = Options {
        about: Selection {
            as_of: Some(date(25)),
            ..Selection::default()
        },
        resamples: 0,
        ..Options::default()
    };
    let it = only(timeline(&book_of(&entries), &options, &mut |_, _| true).unwrap());
    assert_eq!((it.strike.unwrap().value, it.yielded), (0.25, None));
    assert_eq!(Milestone::ALL.map(|m| it.of(m).later), [0.75, 0.75, 1.0]);
}

#[test]
fn the_order_of_lines_changes_nothing() {
    let mut entries = batches(&[4, 9, 11, 16, 2, 7], "lost.mould=1");
    entries.push(entry("002b", 41, "look batch=B2 seen=7 rooted=5"));
    entries.push(entry(
        "003b",
        44,
        "move batch=B3 count=7 into=P place=frame",
    ));
    entries.push(entry("003c", 50, "look batch=P rooted=7"));
    let options = Options {
        resamples: 99,
        ..Options::default()
    };
    let told = |entries: &[Entry]| {
        let found = timeline(&book_of(entries), &options, &mut |_, _| true).unwrap();
        format!("{found:?}")
    };
    let first = told(&entries);
    entries.reverse();
    assert_eq!(told(&entries), first);
    entries.rotate_left(5);
    assert_eq!(told(&entries), first);
}

#[test]
fn intervals_go_out_as_a_table() {
    let entries = [
        entry(
            "X1",
            0,
            "stick batch=A taxon=Weigela stuck=40 wood=softwood place=bench_A/2 trial=mist arm=on",
        ),
        entry(
            "X2",
            20,
            "look batch=A how=tug seen=10 rooted=3 lost.mould=2",
        ),
        entry("X3", 0, "stick batch=B taxon=Weigela stuck=10"),
    ];
    let book = book_of(&entries);
    let (rows, skipped) = interval_rows(&book, &Selection::default());
    let lines: Vec<String> = rows.iter().map(|row| row.cells().join(",")).collect();
    let facts = "A,X1,Weigela,softwood,2026,bench A/2,mist,on,X1";
    // 3 of 10 seen, 38 remaining: 11.4.
    let expected = [
        format!("{facts},callus,0,20,2,lost"),
        format!("{facts},callus,0,,38,not-yet"),
        format!("{facts},root,0,20,11.4,reached"),
        format!("{facts},root,0,20,2,lost"),
        format!("{facts},root,20,,26.6,not-yet"),
        format!("{facts},bottom,0,20,2,lost"),
        format!("{facts},bottom,0,,38,not-yet"),
    ];
    assert_eq!(lines, expected);
    assert_eq!(skipped[0].batch, "B");
    assert_eq!(
        IntervalRow::HEADINGS.join(","),
        "batch,stick,taxon,wood,season,place,trial,arm,replicate,milestone,left,right,weight,status"
    );
}
