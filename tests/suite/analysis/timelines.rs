//! Timelines of groups: published data sets carried from entries to figures, small groups by hand,
//! and the laws that hold for any book.

use crate::fold::lives::{book_of, date, entry, life};
use crate::stats::{Expected, assert_close, expected, published};
use struck::analysis::timeline::{
    Figure, MilestoneFigures, Missing, QuantileDay, Timeline, TimelineCaution, TimelineGroup,
    TimelineOptions, timeline,
};
use struck::fold::batch::Milestone;
use struck::fold::batch::Milestone::{Bottom, Callus, Root};
use struck::fold::interval_rows::{IntervalRow, interval_rows};
use struck::fold::selection::{ExclusionReason, Selection};
use struck::model::entry::Entry;
use struck::model::filter::GroupKey;
use struck::stats::npmle::{Among, Quantile, quantile, reached_by};
use struck::text::timelines::caution;

/// The timeline without resampling.
fn plain(entries: &[Entry]) -> Timeline {
    let options = TimelineOptions {
        resamples: 0,
        ..TimelineOptions::default()
    };
    timeline(&book_of(entries), &options, &mut |_, _| true).unwrap()
}

/// The one group of a timeline.
fn only(timeline: Timeline) -> TimelineGroup {
    let [group] = <[TimelineGroup; 1]>::try_from(timeline.groups).unwrap();
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
fn mass_at(figure: &MilestoneFigures, support: &str) -> f64 {
    let ends = support.trim_matches(['(', ']']).split(';');
    let ends: Vec<f64> = ends.map(|end| end.parse().unwrap()).collect();
    if ends[1].is_infinite() {
        return figure.later;
    }
    let same = |m: &&struck::stats::npmle::Mass| m.after == ends[0] && m.by == ends[1];
    figure.curve.iter().find(same).map_or(0.0, |m| m.mass)
}

/// The median of all, read off the curve itself: these looks are too far apart for a day to be told.
fn median(figures: &MilestoneFigures) -> Quantile {
    quantile(&figures.curve, 0.5, Among::All).unwrap()
}

/// A figure that has a value.
fn value<T: Copy>(figure: Figure<T>) -> T {
    *figure.value().unwrap()
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
        let figure = group.figures(Root);
        assert!(figure.gap <= 1e-8);
        let of_set = |row: &&Expected| row.dataset == file && row.group == name;
        for row in rows.iter().filter(of_set) {
            let found = match row.quantity.as_str() {
                "loglik" => figure.loglik,
                "mass" => mass_at(figure, &row.arg),
                "S(t)" => 1.0 - reached_by(&figure.curve, row.arg.parse().unwrap()),
                "quantile_linear_interp" if row.arg == "0.5" => median(figure).at,
                "quantile_interval_lo" if row.arg == "0.5" => median(figure).after,
                "quantile_interval_hi" if row.arg == "0.5" => median(figure).by,
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
    let mut last: Option<(String, String, TimelineGroup)> = None;
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
        let figure = group.figures(Root);
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
    let root = it.figures(Root);
    let masses = |list: &[struck::stats::npmle::Mass]| -> Vec<(f64, f64, f64)> {
        list.iter()
            .map(|m| (m.after, m.by, (m.mass * 24.0 * 1e6).round() / 1e6))
            .collect()
    };
    assert_eq!(masses(&root.curve), [(0.0, 20.0, 6.0), (20.0, 30.0, 6.0)]);
    assert_eq!(masses(&root.lost), [(20.0, 30.0, 4.0), (30.0, 40.0, 8.0)]);
    assert_close(root.later, 0.0, 1e-12);
    let strike = value(it.strike);
    assert_close(strike.value, 0.5, 1e-9);
    assert_eq!(strike.by_day, 40);
    // One batch has no correlation of its own, and no other batch tells one: 0.15 on 4 degrees of freedom. By hand: the
    // design effect is 1 + 23 · 0.15 = 4.45, n = 24 / 4.45 = 5.393258, t at 97.5 % on 4 is 2.776445 (any t table);
    // half = t √(.25/n + t²/(4n²)) / (1 + t²/n) = .383523.
    assert_close(strike.deff, 4.45, 1e-12);
    assert_close(strike.low, 0.5 - 0.383_523, 1e-5);
    assert_close(strike.high, 0.5 + 0.383_523, 1e-5);
    assert_eq!(it.cautions, [TimelineCaution::OneReplicate]);
    assert_eq!(
        (value(it.yielded).value, value(it.yielded).batches),
        (0.5, 1)
    );
    // A tenth of 24 is 2.4 of the 6 in (0,20]: somewhere there, and no look tells where. Half is the 12th: day 30. 90 %
    // never came.
    let [p10, p50, p90] = root.days.all.0;
    let early = value(p10);
    assert_eq!((early.after, early.by), (0, 20));
    assert_eq!(early.at, Figure::Missing(Missing::TooWide));
    assert_close(value(value(p50).at), 30.0, 1e-6);
    let half = Missing::ShareNotReached {
        reached: strike.value,
        by_day: 40,
    };
    assert_eq!(p90.missing(), Some(half));
    // Of the 12 that rooted, 90 % is 10.8, so 4.8 of the 6 in (20,30]: day 28.
    let [_, p50, p90] = root.days.reached.0;
    assert_eq!((value(p50).after, value(p50).by), (0, 20));
    assert_close(value(value(p90).at), 28.0, 1e-6);
    assert_eq!(early.low, Figure::Missing(Missing::NotResampled));
    // The bottom was looked for and never seen: nought, not null, since the batch is closed.
    assert_eq!(value(it.figures(Bottom).reached).value, 0.0);
}

#[test]
fn too_soon_is_no_zero() {
    let it = only(plain(&life(24, &[(10, "look how=tug")])));
    assert_eq!(it.strike, Figure::Missing(Missing::TooSoon));
    assert_eq!(it.yielded, Figure::Missing(Missing::NoneClosed));
    let callus = it.figures(Callus);
    assert_eq!(callus.reached, Figure::Missing(Missing::NotExamined));
    let half = callus.days.all.0[1];
    assert_eq!(half, Figure::Missing(Missing::NotExamined));
    assert_eq!(it.size.watched, 24.0);
    assert_eq!(it.figures(Callus).later, 1.0);
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
    // (Cochran 1977, 6.9): 3/2 · (36 + 0 + 36) / 60² = 0.03; binomial 0.25 / 60; the ratio 7.2 is that of a correlation
    // of 6.2 / 19 = 0.326316. No batch is closed, so that the journal tells none: 0.15 on 4 degrees of freedom. Pooled:
    // (4 · 0.15 + 2 · 0.326316) / 6 = 0.208772; deff 1 + 19 · 0.208772 = 4.966667; t on 6 degrees of freedom at 97.5 %
    // is 2.446912 (any t table).
    let it = only(plain(&batches(&[4, 10, 16], "")));
    let strike = value(it.strike);
    assert_close(strike.correlation, (0.6 + 2.0 * 6.2 / 19.0) / 6.0, 1e-9);
    assert_close(strike.deff, 4.966_667, 1e-6);
    let square: f64 = 2.446_912 * 2.446_912;
    let n = 60.0 / strike.deff;
    let half = (square * (0.25 / n + square / (4.0 * n * n))).sqrt() / (1.0 + square / n);
    assert_close(strike.low, 0.5 - half, 1e-6);
    assert_close(strike.high, 0.5 + half, 1e-6);
    assert!(it.cautions.is_empty());
}

#[test]
fn a_batch_alone_is_not_surer_than_two() {
    // Three closed batches of one kind teach that batches differ; one of another kind rooted whole. Its range must
    // admit that, and be no narrower than if it were two batches of as many cuttings.
    let mut entries = Vec::new();
    let closed = |code: &str, taxon: &str, stuck: u32, rooted: u32, out: &mut Vec<Entry>| {
        let stick = format!("stick batch={code} taxon={taxon} stuck={stuck} place={code}");
        out.push(entry(&format!("{code}0"), 0, &stick));
        let look = format!("look batch={code} how=lift rooted={rooted}");
        out.push(entry(&format!("{code}1"), 30, &look));
        let gone = format!("discard batch={code} count={stuck} why=given-up");
        out.push(entry(&format!("{code}2"), 31, &gone));
    };
    for (code, rooted) in [("A", 6), ("B", 14), ("C", 20)] {
        closed(code, "Weigela", 24, rooted, &mut entries);
    }
    closed("D", "Hebe", 24, 24, &mut entries);
    closed("E", "Cistus", 24, 24, &mut entries);
    closed("F", "Cistus", 24, 24, &mut entries);
    let found = plain(&entries);
    let strike = |taxon: &str| {
        let group = found.groups.iter().find(|group| group.taxon == taxon);
        value(group.unwrap().strike)
    };
    let (one, two) = (strike("Hebe"), strike("Cistus"));
    assert_eq!((one.value, two.value), (1.0, 1.0));
    // As if batches never differed, Wilson's interval for 24 of 24 would begin at 86 %.
    assert!(one.low < 0.6, "{one:?}");
    assert!(one.low < two.low, "{one:?} {two:?}");
    assert_close(
        one.correlation,
        found.correlations[Root as usize].correlation,
        1e-12,
    );
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
    let strike = value(it.strike);
    assert_close(strike.value, 0.75, 1e-7);
    // Leaving out each: 1 − 14/40 · 5/10 = .825, 1 − 20/40 · 8/16 = .75, 1 − 26/40 · 13/26 = .675.
    // Variance 2/3 · (.075² + 0 + .075²) = .0075; binomial .75 · .25 / 60 = .003125; their ratio 2.4 is that of a
    // correlation of 1.4 / 19, pooled with 0.15 on 4 degrees of freedom.
    assert_close(strike.correlation, (0.6 + 2.0 * 1.4 / 19.0) / 6.0, 1e-6);
    assert_eq!(strike.by_day, 60);
}

#[test]
fn days_are_resampled_from_five_replicates_on() {
    let days = |n: usize, resamples: usize, seed: u64| {
        let rooted: Vec<u32> = (0..n as u32).map(|i| 8 + i % 5 * 2).collect();
        let options = TimelineOptions {
            resamples,
            seed,
            ..TimelineOptions::default()
        };
        let book = book_of(&batches(&rooted, ""));
        only(timeline(&book, &options, &mut |_, _| true).unwrap())
    };
    let four = days(4, 199, 1);
    let few = Missing::FewReplicates { have: 4, need: 5 };
    let day = value(four.figures(Root).days.all.0[0]);
    assert_eq!(
        (day.low, day.high),
        (Figure::Missing(few), Figure::Missing(few))
    );
    let five = days(5, 199, 1);
    let [p10, p50, p90] = five.figures(Root).days.all.0;
    // A tenth came by day 30 in every resample, and after day 0: the ends are those of the looks.
    let p10 = value(p10);
    assert_eq!((value(p10.low), value(p10.high)), (0.0, 30.0));
    // 60 of 100 rooted, so half did; but not in every resample, whose day is then beyond the last.
    let p50 = value(p50);
    assert_eq!(value(p50.low), 0.0);
    assert_eq!(p50.high, Figure::Missing(Missing::Beyond { day: 30 }));
    assert!(p90.value().is_none());
    assert_eq!(five, days(5, 199, 1));
}

#[test]
fn a_day_that_looks_cannot_tell_is_not_told() {
    // Seventeen batches looked at once each, on days 23 to 37: no look says when anything rooted.
    let mut entries = Vec::new();
    for n in 0..17_u64 {
        let stick = format!("stick batch=B{n} taxon=Weigela stuck=20 place=p{n}");
        entries.push(entry(&format!("{n:03}"), 0, &stick));
        let look = format!("look batch=B{n} rooted={}", 10 + n % 7);
        entries.push(entry(&format!("{n:03}a"), 23 + n * 14 / 16, &look));
    }
    let book = book_of(&entries);
    let it = only(timeline(&book, &TimelineOptions::default(), &mut |_, _| true).unwrap());
    for day in it.figures(Root).days.reached.0 {
        let day: QuantileDay = value(day);
        assert_eq!(day.at, Figure::Missing(Missing::TooWide), "{day:?}");
        assert!(day.by >= 23);
        assert_eq!(value(day.low), 0.0, "a range no surer than the looks");
    }
    // Looks a week apart tell it from the second on, wider ones do not: a fortnight, and half the day itself.
    let wide = |days: &[u64]| {
        let looks: Vec<(u64, String)> = days
            .iter()
            .zip([0, 12, 24])
            .map(|(day, rooted)| (*day, format!("look how=lift rooted={rooted}")))
            .collect();
        let looks: Vec<(u64, &str)> = looks
            .iter()
            .map(|(day, text)| (*day, text.as_str()))
            .collect();
        let it = only(plain(&life(24, &looks)));
        value(it.figures(Root).days.all.0[1]).at.missing()
    };
    assert_eq!(wide(&[20, 34, 40]), None);
    assert_eq!(wide(&[20, 35, 40]), Some(Missing::TooWide));
    assert_eq!(wide(&[6, 12, 40]), None);
    assert_eq!(wide(&[5, 12, 40]), Some(Missing::TooWide));
}

#[test]
fn callus_comes_before_root_and_root_before_bottom_in_every_figure() {
    // Bottoms were looked for once, early, in the quick batch alone; roots again and again in all.
    let entries = [
        entry("1", 0, "stick batch=A taxon=Hebe stuck=20 place=a"),
        entry("2", 0, "stick batch=B taxon=Hebe stuck=20 place=b"),
        entry("1a", 8, "look batch=A how=lift rooted=2"),
        entry("1b", 14, "look batch=A how=lift rooted=4 bottom=8"),
        entry("1c", 15, "pot batch=A count=12"),
        entry("2a", 21, "look batch=B how=tug rooted=2"),
        entry("2b", 28, "look batch=B how=tug rooted=11"),
        entry("2c", 35, "look batch=B how=tug rooted=18"),
    ];
    in_order(&only(plain(&entries)));
    let bottom = only(plain(&entries)).figures(Bottom).days.reached.0[1];
    assert_eq!(
        bottom,
        Figure::Missing(Missing::OutOfOrder { beside: Root })
    );
}

/// Law: shares fall and days rise from callus to root to bottom.
pub fn in_order(group: &TimelineGroup) {
    for pair in [[Callus, Root], [Root, Bottom], [Callus, Bottom]] {
        let [first, second] = pair.map(|milestone| group.figures(milestone));
        if let (Some(a), Some(b)) = (first.reached.value(), second.reached.value()) {
            assert!(a.value >= b.value - 1e-9, "{pair:?} {a:?} {b:?}");
        }
        let days = [
            (first.days.all, second.days.all),
            (first.days.reached, second.days.reached),
        ];
        for (first, second) in days {
            for (a, b) in first.0.iter().zip(&second.0) {
                if let (Some(a), Some(b)) = (a.value(), b.value()) {
                    assert!(a.by <= b.by, "{pair:?} {a:?} {b:?}");
                    assert!(a.at_or_by() <= b.at_or_by() + 1e-9, "{pair:?} {a:?} {b:?}");
                }
            }
        }
    }
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
        let options = TimelineOptions {
            by: by.to_vec(),
            resamples: 0,
            ..TimelineOptions::default()
        };
        let timeline = timeline(&book_of(&entries), &options, &mut |_, _| true).unwrap();
        let values = |group: &TimelineGroup| {
            let values = group
                .by
                .iter()
                .map(|(_, value)| value.clone().unwrap_or("-".into()));
            values.collect::<Vec<_>>().join(",")
        };
        let group = |g: &TimelineGroup| format!("{} [{}] {}", g.taxon, values(g), g.size.batches);
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
    let options = TimelineOptions {
        about: Selection {
            again: true,
            ..Selection::default()
        },
        resamples: 0,
        ..TimelineOptions::default()
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
    let texts: Vec<String> = it.cautions.iter().map(caution).collect();
    assert_eq!(
        texts,
        [
            "only one batch: how far batches differ is taken from the journal's other groups",
            "1 look counted from spoken guesses",
            "1 look at a part of the batch, counted as the whole",
            "3 cuttings discarded without a reason, counted as not rooted yet",
            "fewer callused than before in 1 batch",
            "callused already on the day of sticking in 1 batch, counted on the first day",
            "fewer rooted than before in 1 batch",
            "rooted already on the day of sticking in 1 batch, counted on the first day",
        ]
    );
}

#[test]
fn what_is_seen_at_sticking_alone_is_the_share_of_the_first_day() {
    let it = only(plain(&life(40, &[(0, "look rooted=10")])));
    let root = it.figures(Root);
    assert_close(value(root.reached).value, 0.25, 1e-9);
}

#[test]
fn work_can_be_watched_and_stopped() {
    let book = book_of(&batches(&[4, 6, 8, 10, 12], ""));
    let mut seen = Vec::new();
    let whole = timeline(&book, &TimelineOptions::default(), &mut |done, of| {
        seen.push((done, of));
        true
    });
    assert!(whole.is_some());
    assert!(seen.is_sorted() && seen.last() == Some(&(3, 3)));
    let mut left = 2;
    let stopped = timeline(&book, &TimelineOptions::default(), &mut |_, _| {
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
    let options = TimelineOptions {
        about: Selection {
            as_of: Some(date(25)),
            ..Selection::default()
        },
        resamples: 0,
        ..TimelineOptions::default()
    };
    let it = only(timeline(&book_of(&entries), &options, &mut |_, _| true).unwrap());
    assert_eq!(value(it.strike).value, 0.25);
    assert_eq!(it.yielded, Figure::Missing(Missing::NoneClosed));
    assert_eq!(
        Milestone::ALL.map(|m| it.figures(m).later),
        [0.75, 0.75, 1.0]
    );
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
    let options = TimelineOptions {
        resamples: 99,
        ..TimelineOptions::default()
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
    let found = interval_rows(&book, &Selection::default());
    let lines: Vec<String> = found.rows.iter().map(|row| row.cells().join(",")).collect();
    let facts = "A,X1,Weigela,softwood,2026,bench A/2,mist,on,X1";
    // 3 of 10 seen, 38 remaining: 11.4.
    let expected = [
        format!("{facts},callus,0,20,2,lost"),
        format!("{facts},callus,0,,38,not-yet"),
        format!("{facts},root,0,20,11.4,reached"),
        format!("{facts},root,0,20,2,lost"),
        format!("{facts},root,20,,26.6,not-yet"),
        format!("{facts},bottom,0,20,2,lost"),
        // The seven seen without roots had none at the bottom either; of the others nobody knows.
        format!("{facts},bottom,0,,31,not-yet"),
        format!("{facts},bottom,20,,7,not-yet"),
    ];
    assert_eq!(lines, expected);
    assert_eq!(found.skipped[0].batch, "B");
    assert_eq!(
        IntervalRow::HEADINGS.join(","),
        "batch,stick,taxon,wood,season,place,trial,arm,replicate,milestone,left,right,weight,status"
    );
}
