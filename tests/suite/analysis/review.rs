//! A season in review: sums and targets by hand, comparisons whose p is known by counting, advice that is
//! never given on luck.

use crate::fold::lives::{book_of, date, entry};
use crate::support::lines::Pages;
use struck::analysis::review::{Advice, Review, ReviewOptions, review, seasons};
use struck::model::entry::Entry;
use struck::model::filter::GroupKey;

fn told(entries: &[Entry], day: u64) -> Review {
    let options = ReviewOptions::new(2026, date(day));
    review(&book_of(entries), &options, &mut |_, _| true).unwrap()
}

/// Batches of 20, one a day from the given one on, each looked at 40 days later: so many rooted of each are
/// potted, the rest given up.
fn batches(out: &mut Vec<Entry>, facts: &str, from: u64, rooted: &[u32]) {
    for (at, rooted) in (from..).zip(rooted) {
        let code = format!("N{}", out.len());
        let stick = format!("stick batch={code} stuck=20 place=p{at} {facts}");
        out.push(entry(&format!("{code}-0"), at, &stick));
        let look = format!("look batch={code} how=lift rooted={rooted}");
        out.push(entry(&format!("{code}-1"), at + 40, &look));
        let pot = format!("pot batch={code} count={rooted}");
        out.push(entry(&format!("{code}-2"), at + 40, &pot));
        let rest = format!("discard batch={code} count={} why=given-up", 20 - rooted);
        out.push(entry(&format!("{code}-3"), at + 40, &rest));
    }
}

const SOFT: &str = "taxon=Weigela_florida wood=softwood";
const RIPE: &str = "taxon=Weigela_florida wood=semi-ripe";

#[test]
fn sums_and_targets_are_those_of_the_entries() {
    let lines: &[(&str, u64, &str)] = &[
        ("t1", 0, "target taxon=Hebe count=10 by_date=2026-08-01"),
        ("t2", 0, "target taxon=Hebe count=99 by_date=2027-08-01"),
        ("t3", 1, "target taxon=Hebe count=12 by_date=2026-08-01"),
        ("t4", 1, "target taxon=Cistus count=5 by_date=2026-12-01"),
        ("a", 0, "stick batch=A taxon=Hebe wood=softwood stuck=20"),
        (
            "b",
            2,
            "look batch=A how=lift rooted=12 lost.blackened=3 lost.mould=1",
        ),
        ("c", 3, "pot batch=A count=11"),
        ("d", 4, "discard batch=A count=2 why=given-up"),
        ("e", 20, "ready batch=A count=9"),
        ("f", 21, "sold batch=A count=4"),
        ("g", 70, "ready batch=A count=1"),
        ("h", 5, "move batch=A count=1 into=A2 place=frame"),
        ("i", 6, "stick batch=B taxon=Hebe wood=semi-ripe stuck=7"),
    ];
    let entries: Vec<Entry> = lines
        .iter()
        .map(|(id, day, text)| entry(id, *day, text))
        .collect();
    let found = told(&entries, 90);
    let sum = found.whole;
    assert_eq!((sum.batches, sum.stuck, found.taxa), (2, 27, 1));
    // 20 less 4 lost, 11 potted, 2 given up leave 3, of which one rooted; and 7 of the other batch.
    assert_eq!(
        (sum.potted, sum.given_up, sum.remain, sum.lost.total()),
        (11, 2, 10, 4)
    );
    assert_eq!((sum.rooted, sum.ready, sum.sold), (12, 10, 4));
    let [hebe, cistus] = found.planned.as_slice() else {
        panic!("{:?}", found.planned);
    };
    // The later word on the same day stands; of ten ready nine were by 1 August (day 61).
    assert_eq!(
        (hebe.count, hebe.ready, hebe.stuck, hebe.over),
        (12, 9, 27, true)
    );
    assert_eq!((cistus.count, cistus.ready, cistus.over), (5, 0, false));
    let kinds: Vec<_> = found
        .kinds
        .iter()
        .map(|kind| (kind.wood, kind.sum.stuck))
        .collect();
    assert_eq!(kinds.len(), 2);
    assert_eq!(kinds.iter().map(|(_, n)| n).sum::<u32>(), 27);
    let short = |advice: &Advice| matches!(advice, Advice::Short { wanted } if wanted.count == 12 && wanted.ready == 9);
    assert!(found.advice.iter().any(short), "{:?}", found.advice);
}

#[test]
fn while_some_may_root_yet_nothing_is_said_not_to_pay() {
    let mut entries = Vec::new();
    for (at, code) in ["A", "B", "C", "D"].into_iter().enumerate() {
        let stick = format!("stick batch={code} taxon=Hebe stuck=40 place=p{at}");
        entries.push(entry(&format!("{code}0"), 0, &stick));
        let look = format!("look batch={code} how=lift rooted={at}");
        entries.push(entry(&format!("{code}1"), 30, &look));
        let rest = format!("discard batch={code} count=40 why=given-up");
        entries.push(entry(&format!("{code}2"), 60, &rest));
    }
    assert!(told(&entries, 40).advice.is_empty());
    let found = told(&entries, 70);
    assert!(
        matches!(found.advice[..], [Advice::DoesNotPay { .. }]),
        "{:?}",
        found.advice
    );
}

#[test]
fn one_drowned_batch_does_not_condemn_a_plant_that_did_well_before() {
    let mut entries = Vec::new();
    batches(&mut entries, SOFT, 0, &[15, 16, 14, 17, 14]);
    batches(&mut entries, SOFT, 365, &[0]);
    let pays = |season: i32, entries: &[Entry]| {
        let options = ReviewOptions::new(season, date(500));
        let found = review(&book_of(entries), &options, &mut |_, _| true).unwrap();
        let poor = |it: &&Advice| matches!(it, Advice::DoesNotPay { .. });
        found.advice.iter().filter(poor).count() == 0
    };
    assert!(pays(2027, &entries));
    // Nor does one drowned batch of a plant never stuck before; season after season of failures does.
    let mut one = Vec::new();
    batches(&mut one, SOFT, 365, &[0]);
    assert!(pays(2027, &one));
    let mut poor = Vec::new();
    batches(&mut poor, SOFT, 0, &[1, 0, 2, 1]);
    batches(&mut poor, SOFT, 365, &[0, 1, 0, 2]);
    assert!(!pays(2027, &poor));
}

/// The sample nursery's journal, folded.
fn sample_nursery() -> struck::fold::Book {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-journals/nursery");
    let mut texts = String::new();
    for file in std::fs::read_dir(folder).unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_some_and(|end| end == "jsonl") {
            texts.push_str(&std::fs::read_to_string(path).unwrap());
        }
    }
    Pages::of(&texts.lines().collect::<Vec<_>>()).book()
}

#[test]
fn no_advice_on_the_sample_contradicts_what_is_true_of_it() {
    let folder = format!("{}/sample-journals/nursery", env!("CARGO_MANIFEST_DIR"));
    let truth = std::fs::read_to_string(format!("{folder}/truth.csv")).unwrap();
    let strike = |taxon: &str, wood: &str| -> f64 {
        let of_kind = |line: &&str| line.starts_with(&format!("{taxon},{wood},"));
        let line = truth.lines().find(of_kind).unwrap();
        line.split(',').nth(2).unwrap().parse().unwrap()
    };
    let book = sample_nursery();
    let mut advised = 0;
    for season in 2023..=2026 {
        let options = ReviewOptions {
            draws: 999,
            ..ReviewOptions::new(
                season,
                chrono::NaiveDate::from_ymd_opt(2026, 8, 20).unwrap(),
            )
        };
        let found = review(&book, &options, &mut |_, _| true).unwrap();
        for advice in &found.advice {
            match advice {
                Advice::Prefer { way } => {
                    // What is true of a way is what is true of the wood that its batches were of.
                    let [better, worse] = way.arms.each_ref().map(|arm| {
                        let batches = book.batches().iter().filter(|batch| {
                            batch.taxon.shown() == way.taxon
                                && way.by.value_for(&book, batch).as_ref() == Some(&arm.name)
                        });
                        let (mut sum, mut all) = (0.0, 0.0);
                        for batch in batches {
                            let stuck = f64::from(batch.stick.stuck);
                            let wood = batch.stick.wood.map_or("", |wood| wood.word());
                            sum += stuck * strike(&way.taxon, wood);
                            all += stuck;
                        }
                        sum / all
                    });
                    assert!(better > worse, "{season} {} {:?}", way.taxon, way.arms);
                    advised += 1;
                }
                Advice::DoesNotPay { kind } => {
                    let wood = kind.wood.map_or("", |wood| wood.word());
                    assert!(strike(&kind.taxon, wood) < 0.5, "{season} {kind:?}");
                    advised += 1;
                }
                Advice::Try { .. } | Advice::Late { .. } | Advice::Short { .. } => {}
            }
        }
    }
    assert!(advised > 0, "the sample has something to advise");
}

#[test]
fn as_of_an_earlier_day_nothing_later_counts() {
    let mut entries = Vec::new();
    batches(&mut entries, SOFT, 0, &[5, 6]);
    let found = told(&entries, 20);
    assert_eq!((found.whole.batches, found.whole.rooted), (2, 0));
    assert!(found.kinds[0].strike.value().is_none());
    assert!(found.methods.is_empty());
}

#[test]
fn a_clear_difference_is_advised_with_its_figures() {
    let mut entries = Vec::new();
    batches(&mut entries, SOFT, 0, &[3, 4, 5, 6, 4, 5]);
    batches(&mut entries, RIPE, 10, &[15, 16, 17, 18, 16, 17]);
    let found = told(&entries, 120);
    let [method] = found.methods.as_slice() else {
        panic!("{:?}", found.methods.len());
    };
    assert_eq!((method.by, method.decided), (GroupKey::Wood, true));
    // Six against six, wholly apart: 2 of C(12, 6) = 924 arrangements are as far apart.
    assert!((method.p - 2.0 / 924.0).abs() < 1e-12, "{}", method.p);
    assert_eq!(method.holm, method.p);
    let names = [&method.arms[0].name, &method.arms[1].name];
    assert_eq!(names, ["semi-ripe", "softwood"]);
    assert!((method.arms[0].share - 99.0 / 120.0).abs() < 1e-9);
    assert!((method.arms[1].share - 27.0 / 120.0).abs() < 1e-9);
    assert!((method.difference.value - 0.6).abs() < 1e-9);
    assert!(method.difference.interval.low > 0.0);
    assert!(matches!(&found.advice[0], Advice::Prefer { way } if way.as_ref() == method));
    // Softwood at 27 of 120 does not pay: under half even at best.
    let poor =
        |advice: &Advice| matches!(advice, Advice::DoesNotPay { kind } if kind.sum.stuck == 120);
    assert_eq!(found.advice.iter().filter(|it| poor(it)).count(), 1);
}

#[test]
fn every_comparison_made_counts_against_each() {
    // Four against four, wholly apart: p = 2 of C(8, 4) = 70, which by itself is a difference.
    let mut entries = Vec::new();
    batches(&mut entries, SOFT, 0, &[9, 10, 11, 10]);
    batches(&mut entries, RIPE, 10, &[15, 16, 17, 16]);
    let alone = told(&entries, 120);
    assert!((alone.methods[0].p - 2.0 / 70.0).abs() < 1e-12);
    assert!(alone.methods[0].decided);
    // Beside another comparison of another taxon it is not sure enough: Holm's 2 × 0.0286 exceeds 0.05.
    let other = "taxon=Hebe wood=";
    batches(
        &mut entries,
        &format!("{other}softwood"),
        20,
        &[10, 12, 11, 9],
    );
    batches(
        &mut entries,
        &format!("{other}semi-ripe"),
        30,
        &[11, 10, 12, 10],
    );
    let both = told(&entries, 140);
    assert_eq!(both.methods.len(), 2);
    let weigela = both
        .methods
        .iter()
        .find(|it| it.taxon.starts_with("Weigela"))
        .unwrap();
    assert!((weigela.holm - 4.0 / 70.0).abs() < 1e-12);
    assert!(both.methods.iter().all(|it| !it.decided));
    let prefers = |advice: &Advice| matches!(advice, Advice::Prefer { .. });
    assert!(!both.advice.iter().any(prefers), "{:?}", both.advice.len());
}

#[test]
fn one_batch_a_side_is_not_compared() {
    let mut entries = Vec::new();
    batches(&mut entries, SOFT, 0, &[2, 3, 2, 3]);
    batches(&mut entries, RIPE, 10, &[19]);
    let found = told(&entries, 120);
    assert!(found.methods.is_empty());
}

#[test]
fn later_seasons_do_not_bear_on_an_earlier_one() {
    let mut entries = Vec::new();
    batches(&mut entries, SOFT, 0, &[3, 4, 5]);
    batches(&mut entries, RIPE, 10, &[15, 16, 17]);
    batches(&mut entries, RIPE, 365, &[1, 2, 1]);
    let book = book_of(&entries);
    let options = ReviewOptions::new(2026, date(500));
    let found = review(&book, &options, &mut |_, _| true).unwrap();
    assert_eq!(found.methods[0].arms[0].batches, 3);
    assert_eq!(seasons(&book, &options.filter), [2026, 2027]);
    let next = ReviewOptions::new(2027, date(500));
    let next = review(&book, &next, &mut |_, _| true).unwrap();
    let batches: usize = next.methods[0].arms.iter().map(|arm| arm.batches).sum();
    assert_eq!((next.whole.batches, batches), (3, 9));
}

#[test]
fn it_stops_when_told_to_and_repeats_to_the_bit() {
    let mut entries = Vec::new();
    batches(&mut entries, SOFT, 0, &[3, 4, 5]);
    batches(&mut entries, RIPE, 10, &[15, 16, 17]);
    let book = book_of(&entries);
    let options = ReviewOptions::new(2026, date(120));
    assert_eq!(review(&book, &options, &mut |_, _| false), None);
    let once = review(&book, &options, &mut |_, _| true);
    entries.reverse();
    assert_eq!(review(&book_of(&entries), &options, &mut |_, _| true), once);
}
