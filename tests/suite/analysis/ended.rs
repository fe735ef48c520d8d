//! How trials ended: what a grower asks first, on journals made by hand and simulated ones.

use crate::fold::lives::{book_of, entry};
use crate::support::simulated::ways::{Way, World, book, journal};
use struck::analysis::trials::answer::VerdictKind;
use struck::analysis::trials::answer::{
    ArmPair, Basis, Comparison, ComparisonCaution, Fact, Trials, WhyLeftOut,
};
use struck::analysis::trials::{TrialOptions, compare};
use struck::fold::Book;
use struck::fold::batch::Milestone;
use struck::fold::selection::{IncludedBatch, Selection, select};
use struck::model::entry::Entry;
use struck::model::filter::GroupKey;
use struck::text::comparison::worded;

fn asked(by: &[GroupKey]) -> TrialOptions {
    TrialOptions {
        by: by.to_vec(),
        milestones: vec![Milestone::Root],
        draws: 999,
        ..TrialOptions::default()
    }
}

fn answer(book: &Book, options: &TrialOptions) -> Trials {
    worded(compare(book, options, &mut |_, _| true).unwrap())
}

fn root(book: &Book, by: &[GroupKey]) -> Comparison {
    answer(book, &asked(by)).comparisons.remove(0)
}

fn only(comparison: &Comparison) -> &ArmPair {
    assert_eq!(comparison.pairs.len(), 1, "{comparison:?}");
    &comparison.pairs[0]
}

/// A batch of 24 with what had rooted by each look; at the last all that rooted is potted, the rest given up.
fn ended(out: &mut Vec<Entry>, facts: &str, looks: &[(u64, u32)]) {
    let n = out.len();
    // Each from plants of its own: batches of one bucket would be one replicate.
    let own = if facts.contains("source=") {
        String::new()
    } else {
        format!("source=s{n}")
    };
    let stick = format!("stick batch=E{n:04} taxon=Weigela stuck=24 {facts} {own}");
    out.push(entry(&format!("{n:04}a"), 0, &stick));
    for (at, (day, rooted)) in looks.iter().enumerate() {
        let look = format!("look batch=E{n:04} how=lift rooted={rooted}");
        out.push(entry(&format!("{n:04}b{at}"), *day, &look));
    }
    let (day, rooted) = looks[looks.len() - 1];
    let pot = format!("pot batch=E{n:04} count={rooted}");
    out.push(entry(&format!("{n:04}c"), day, &pot));
    let rest = format!("discard batch=E{n:04} count={} why=given-up", 24 - rooted);
    out.push(entry(&format!("{n:04}d"), day, &rest));
}

/// Six softwood batches of which 65–70 % rooted and that were cleared by day 38, six semi-ripe of which 83 % rooted
/// by day 55. Cut at day 38 softwood looked 35 points better.
#[test]
fn the_slower_arm_that_roots_more_is_the_better_one() {
    let mut entries = Vec::new();
    for rooted in [16, 16, 17, 15, 16, 17] {
        let looks = [(20, rooted / 2), (30, rooted - 2), (38, rooted)];
        ended(&mut entries, "wood=softwood", &looks);
    }
    for rooted in [20, 20, 19, 21, 20, 20] {
        let looks = [(20, 0), (38, 8), (55, rooted)];
        ended(&mut entries, "wood=semi-ripe", &looks);
    }
    let comparison = root(&book_of(&entries), &[GroupKey::Wood]);
    assert_eq!(comparison.basis, Basis::AsTheyEnded);
    let pair = only(&comparison);
    let shares: Vec<f64> = comparison
        .arms
        .iter()
        .map(|arm| arm.reached.unwrap().value)
        .collect();
    assert!((shares[0] - 97.0 / 144.0).abs() < 1e-12 && (shares[1] - 120.0 / 144.0).abs() < 1e-12);
    assert_eq!(pair.strike.verdict.kind, VerdictKind::Difference);
    let text = &pair.strike.verdict.text;
    let wanted = "As they ended, semi-ripe: 16 points more rooted than softwood";
    assert!(text.starts_with(wanted), "{text}");
    // And it is softwood that was the sooner, of those that rooted.
    let days = &pair.days.verdict;
    assert_eq!(days.kind, VerdictKind::Difference, "{days:?}");
    assert!(
        days.text.starts_with("Of those rooted, softwood: "),
        "{}",
        days.text
    );
    assert!(
        days.text.contains(" sooner than semi-ripe"),
        "{}",
        days.text
    );
    // By a day when that is asked for, and it says so.
    let by_day = TrialOptions {
        by_day: Some(38),
        ..asked(&[GroupKey::Wood])
    };
    let comparison = answer(&book_of(&entries), &by_day).comparisons.remove(0);
    assert_eq!(
        comparison.basis,
        Basis::ByDay {
            day: 38,
            asked: true
        }
    );
    let text = &only(&comparison).strike.verdict.text;
    assert!(text.starts_with("By day 38, softwood: "), "{text}");
    let late = |it: &ComparisonCaution| matches!(it, ComparisonCaution::StillComing { arm: 1, .. });
    assert!(
        comparison.cautions.iter().any(late),
        "{:?}",
        comparison.cautions
    );
}

/// Which batches are judged depends on their age alone: a young one that was cleared early counts no more than a
/// young one that is doing well.
#[test]
fn young_batches_are_left_out_closed_or_not_and_counted() {
    let mut entries = Vec::new();
    for arm in ["a", "b"] {
        for _ in 0..3 {
            let facts = format!("arm={arm} trial=t");
            ended(&mut entries, &facts, &[(20, 6), (40, 16)]);
        }
    }
    for (code, lost) in [("X", 20), ("Y", 0)] {
        let stick = format!("stick batch={code} taxon=Weigela stuck=24 arm=a trial=t");
        entries.push(entry(&format!("{code}1"), 20, &stick));
        let look = format!("look batch={code} how=lift rooted=2 lost.blackened={lost}");
        entries.push(entry(&format!("{code}2"), 40, &look));
    }
    let comparison = root(&book_of(&entries), &[GroupKey::Arm]);
    let young: Vec<&str> = comparison
        .left_out
        .iter()
        .filter(|left| {
            matches!(
                left.reason,
                WhyLeftOut::TooYoung {
                    age: 20,
                    judged_from: 40
                }
            )
        })
        .map(|left| left.batch.as_str())
        .collect();
    // Three of five are judged: fewer than 80 of 100, so the headline is by a day, and the others wait.
    assert_eq!(
        comparison.basis,
        Basis::ByDay {
            day: 20,
            asked: false
        }
    );
    assert_eq!(comparison.arms[0].too_young, 2);
    assert!(young.is_empty() && comparison.left_out.is_empty());
    let pair = only(&comparison);
    assert!(pair.strike.verdict.text.starts_with("By day 20, "));
    // Days are told of those judged as they ended alone.
    assert_eq!(pair.days.difference.unwrap().value, 0.0);
}

/// Of a plant of which too few have ended nothing is judged, and its batches are named: none is lost from the answer.
#[test]
fn a_batch_that_is_not_judged_is_named_with_its_reason() {
    let mut entries = Vec::new();
    for arm in ["a", "b"] {
        for _ in 0..8 {
            let facts = format!("arm={arm} trial=t");
            ended(&mut entries, &facts, &[(20, 6), (40, 16)]);
        }
        let code = format!("new{arm}");
        let stick = format!("stick batch={code} taxon=Hebe stuck=24 arm={arm} trial=t");
        entries.push(entry(&format!("{code}1"), 0, &stick));
        let look = format!("look batch={code} how=lift rooted=9");
        entries.push(entry(&format!("{code}2"), 40, &look));
    }
    let comparison = root(&book_of(&entries), &[GroupKey::Arm]);
    assert_eq!(comparison.basis, Basis::AsTheyEnded);
    let judged: usize = comparison.arms.iter().map(|arm| arm.batches.len()).sum();
    let left: Vec<(&str, &WhyLeftOut)> = comparison
        .left_out
        .iter()
        .map(|it| (it.batch.as_str(), &it.reason))
        .collect();
    assert_eq!(judged, 16);
    let reason = &WhyLeftOut::TooFewEnded;
    assert_eq!(left, [("newa", reason), ("newb", reason)]);
    assert_eq!(
        struck::text::verdicts::left_out(reason),
        "too few of its kind have ended to tell how long they take"
    );
}

fn equal_ways(
    world: &World,
    batches: [(u32, u32); 2],
    spread: [f64; 2],
    stuck: [u64; 2],
) -> [Way; 2] {
    let _ = world;
    [0, 1].map(|at| Way {
        facts: format!("trial=t arm={}", ["a", "b"][at]),
        batches: batches[at],
        strike: 0.65,
        days: 27.0,
        spread: spread[at],
        stuck: (stuck[at], 0),
    })
}

/// Two equal arms stuck on successive days and all looked at on the same days: cut at the shorter arm's last look, the
/// other lost its last interval, and a difference was found in 20 of 20 such trials.
#[test]
fn arms_looked_at_on_one_day_of_different_ages_do_not_differ_for_that() {
    let world = World {
        every: 10,
        together: true,
        closed: None,
        until: 30,
        ..World::default()
    };
    let ways = equal_ways(&world, [(6, 24); 2], [0.3; 2], [0, 1]);
    let (mut found, mut sum) = (0, 0.0);
    for seed in 0..20 {
        let comparison = root(&book(&world, &ways, seed), &[GroupKey::Arm]);
        assert_eq!(
            comparison.basis,
            Basis::ByDay {
                day: 29,
                asked: false
            }
        );
        let pair = only(&comparison);
        found += u32::from(pair.strike.verdict.kind == VerdictKind::Difference);
        sum += pair.strike.difference.unwrap().value;
        assert!(pair.strike.filled > 0.0);
    }
    assert!(found <= 3, "{found} of 20");
    assert!((sum / 20.0).abs() < 0.06, "{}", sum / 20.0);
}

/// Of arms that root as fast and not as many, days are no other way of saying how many.
#[test]
fn days_do_not_repeat_the_share() {
    let world = World::default();
    let mut ways = equal_ways(&world, [(6, 24); 2], [0.2; 2], [0, 0]);
    (ways[0].strike, ways[1].strike) = (0.35, 0.9);
    let (mut strikes, mut days) = (0, 0);
    for seed in 0..40 {
        let comparison = root(&book(&world, &ways, seed), &[GroupKey::Arm]);
        assert_eq!(comparison.basis, Basis::AsTheyEnded);
        let pair = only(&comparison);
        strikes += u32::from(pair.strike.verdict.kind == VerdictKind::Difference);
        days += u32::from(pair.days.verdict.kind == VerdictKind::Difference);
    }
    assert!(strikes >= 36, "{strikes} of 40");
    assert!(days <= 6, "{days} of 40");
}

/// Every batch of 3 000 ppm is semi-ripe and every one of 1 000 softwood: by wood the ways are told as done, by
/// hormone there is nothing to compare like with like.
#[test]
fn a_fact_that_goes_along_is_told_with_the_ways() {
    let mut entries = Vec::new();
    for (facts, all) in [
        ("wood=softwood hormone=IBA_1000_ppm", [14, 15, 16, 15, 14]),
        ("wood=semi-ripe hormone=IBA_3000_ppm", [20, 20, 21, 19, 20]),
    ] {
        for rooted in all {
            let hormone = facts.split_once("hormone=IBA_").unwrap().1;
            let ppm = hormone.trim_end_matches("_ppm");
            let wood = facts.split(' ').next().unwrap();
            let facts = format!("{wood} source=s{} medium=m{ppm}", entries.len());
            ended(&mut entries, &facts, &[(20, rooted / 2), (45, rooted)]);
        }
    }
    let comparison = root(&book_of(&entries), &[GroupKey::Wood]);
    let pair = only(&comparison);
    let medium = Fact::Key(GroupKey::Medium);
    assert_eq!(pair.goes_along, [medium], "{:?}", pair.likeness);
    assert_eq!(pair.strike.verdict.kind, VerdictKind::Difference);
    let text = &pair.strike.verdict.text;
    assert!(
        text.starts_with(
            "As they ended, semi-ripe, with m3000: 22 points more rooted than softwood, with m1000; which of the two did it cannot be told"
        ),
        "{text}"
    );
    let by_medium = root(&book_of(&entries), &[GroupKey::Medium]);
    assert!(by_medium.pairs.is_empty(), "{:?}", by_medium.pairs);
    assert_eq!(by_medium.basis, Basis::Nothing);
}

/// Some of a fact goes with the arms: it is named, and the verdict is not told by it.
#[test]
fn a_fact_that_partly_differs_is_named() {
    let mut entries = Vec::new();
    for (wood, places) in [
        ("softwood", [1, 1, 1, 1, 1, 2]),
        ("semi-ripe", [2, 2, 2, 2, 1, 1]),
    ] {
        for place in places {
            let facts = format!("wood={wood} place=p{place} source=s{}", entries.len());
            ended(&mut entries, &facts, &[(20, 8), (45, 16)]);
        }
    }
    let comparison = root(&book_of(&entries), &[GroupKey::Wood]);
    let pair = only(&comparison);
    assert!(pair.goes_along.is_empty());
    let place = pair
        .likeness
        .iter()
        .find(|it| it.key == Fact::Key(GroupKey::Place))
        .unwrap();
    assert!((0.3..0.8).contains(&place.v), "{place:?}");
}

/// A trial that took nothing away and that ended whole: its shares are the batches' own accounts, and the difference
/// has their sign, on simulated journals of every sort.
#[test]
fn closed_batches_are_compared_by_their_own_accounts() {
    for seed in 0..12 {
        let world = World {
            parts: if seed % 2 == 0 { 0.3 } else { 0.0 },
            potted_at: if seed % 3 == 0 { 0.5 } else { 2.0 },
            thrown_out: if seed % 4 == 0 { 0.2 } else { 0.0 },
            together: seed % 5 == 0,
            ..World::default()
        };
        let mut ways = equal_ways(&world, [(4, 24), (6, 18)], [0.6, 0.3], [0, 0]);
        ways[1].strike = 0.5;
        let book = book(&world, &ways, seed);
        let comparison = root(&book, &[GroupKey::Arm]);
        assert_eq!(comparison.basis, Basis::AsTheyEnded, "{seed}");
        let (batches, _) = select(&book, &Selection::default());
        for arm in &comparison.arms {
            let (mut rooted, mut stuck, mut potted) = (0.0, 0, 0);
            let mine = |it: &&IncludedBatch| it.batch.stick.arm.as_deref() == Some(&arm.name);
            for it in batches.iter().filter(mine) {
                rooted += it.account.milestone(Milestone::Root).reached;
                stuck += it.account.stuck;
                potted += it.batch.counts.potted;
            }
            assert_eq!(arm.stuck, stuck, "{seed}");
            let share = arm.reached.unwrap().value;
            assert!(
                (share - rooted / f64::from(stuck)).abs() < 1e-9,
                "{seed} {arm:?}"
            );
            if world.parts == 0.0 {
                // None is lost after it rooted here, so what was potted is what rooted.
                assert!(
                    (share - f64::from(potted) / f64::from(stuck)).abs() < 1e-9,
                    "{seed} {arm:?}"
                );
            }
        }
        let [first, second] = [0, 1].map(|at: usize| comparison.arms[at].reached.unwrap().value);
        let apart = only(&comparison).strike.difference.unwrap().value;
        assert!((apart - (first - second)).abs() < 1e-9);
    }
}

/// Renaming arms and reading entries in any order change nothing but names and signs.
#[test]
fn names_of_arms_and_the_order_of_entries_change_nothing() {
    for (seed, closed) in [(1, Some(84)), (2, None), (3, Some(84))] {
        let world = World {
            closed,
            until: if closed.is_some() { 1000 } else { 60 },
            parts: 0.3,
            ..World::default()
        };
        let ways = equal_ways(&world, [(9, 24), (10, 12)], [0.5, 0.2], [0, 3]);
        let mut swapped = ways.clone();
        swapped[0].facts = "trial=t arm=b".to_owned();
        swapped[1].facts = "trial=t arm=a".to_owned();
        let plain = root(&book(&world, &ways, seed), &[GroupKey::Arm]);
        let mut entries = journal(&world, &ways, seed);
        entries.reverse();
        let (half, rest) = entries.split_at(entries.len() / 3);
        let turned: Vec<Entry> = rest.iter().chain(half).cloned().collect();
        assert_eq!(root(&book_of(&turned), &[GroupKey::Arm]), plain);
        let other = root(&book(&world, &swapped, seed), &[GroupKey::Arm]);
        assert_eq!(plain.basis, other.basis);
        let (one, two) = (only(&plain), only(&other));
        let (p, q) = (
            one.strike.permutation.unwrap(),
            two.strike.permutation.unwrap(),
        );
        assert_eq!(
            (p.p, p.smallest_p, p.arrangements),
            (q.p, q.smallest_p, q.arrangements)
        );
        assert_eq!(one.strike.verdict.kind, two.strike.verdict.kind);
        let (d, e) = (
            one.strike.difference.unwrap(),
            two.strike.difference.unwrap(),
        );
        assert!((d.value + e.value).abs() < 1e-9);
        assert!(
            (d.interval.low + e.interval.high).abs() < 1e-6,
            "{d:?} {e:?}"
        );
        assert_eq!(plain.arms[0].reached, other.arms[1].reached);
    }
}
