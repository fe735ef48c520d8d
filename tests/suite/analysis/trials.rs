//! Comparisons: published trials carried from entries to verdicts, laws, and simulated trials.

use crate::fold::lives::{book_of, entry};
use crate::stats::{assert_close, expected, published};
use struck::analysis::trials::answer::VerdictKind;
use struck::analysis::trials::answer::{ArmPair, Basis, Comparison, WhyLeftOut};
use struck::analysis::trials::{TrialOptions, compare};
use struck::fold::Book;
use struck::fold::batch::Milestone;
use struck::model::entry::Entry;
use struck::model::filter::GroupKey;
use struck::stats::counts::BetaBinomial;
use struck::stats::dice::Dice;
use struck::stats::permute::{Draw, Replicate, Studentised};
use struck::stats::power::{Assurance, EstimatedSpread, OpenDesigns};

fn root(book: &Book, by: &[GroupKey], within: &[GroupKey]) -> Comparison {
    let options = TrialOptions {
        by: by.to_vec(),
        within: within.to_vec(),
        milestones: vec![Milestone::Root],
        ..TrialOptions::default()
    };
    let mut answer = compare(book, &options, &mut |_, _| true).unwrap();
    answer.comparisons.remove(0)
}

/// The same by arm, with few resamples for the days' ranges: shares are permuted in every arrangement all
/// the same.
fn quick(book: &Book) -> Comparison {
    let options = TrialOptions {
        milestones: vec![Milestone::Root],
        ..TrialOptions::default()
    };
    let mut answer = compare(book, &options, &mut |_, _| true).unwrap();
    answer.comparisons.remove(0)
}

/// A batch with one look on day 60: counts by treatment have no days.
fn counted(out: &mut Vec<Entry>, facts: &str, rooted: u32, stuck: u32) {
    let n = out.len();
    let stick = format!("stick batch=T{n} taxon=Acer stuck={stuck} {facts}");
    out.push(entry(&format!("{n:05}a"), 0, &stick));
    let look = format!("look batch=T{n} how=lift rooted={rooted}");
    out.push(entry(&format!("{n:05}b"), 60, &look));
}

/// Cuttings aged 5, rooted of 12 by position and strength of IBA (Yifru 2005, MSc thesis, University
/// of Hannover; data set `rooting` of the R package pairwiseCI).
fn rooting(arms: &[&str]) -> Vec<Entry> {
    let mut out = Vec::new();
    for r in published("rooting_cuttings_age5") {
        if arms.contains(&r[2].as_str()) {
            let piece = if r[1] == "B" { "base" } else { "tip" };
            let facts = format!("trial=age_5 arm={} piece={piece}", r[2]);
            counted(&mut out, &facts, r[4].parse().unwrap(), 12);
        }
    }
    out
}

fn check(dataset: &str, quantity: &str, found: f64) {
    let rows = expected("expected_counts_tests");
    let row = rows
        .iter()
        .find(|r| r.dataset == dataset && r.quantity == quantity);
    row.unwrap().check(found);
}

fn only(comparison: &Comparison) -> &ArmPair {
    assert_eq!(comparison.pairs.len(), 1);
    &comparison.pairs[0]
}

#[test]
fn the_published_rooting_trial_gives_the_permutation_p_of_whole_replicates() {
    let book = book_of(&rooting(&["0", "0.5"]));
    let comparison = root(&book, &[GroupKey::Arm], &[]);
    let pair = only(&comparison);
    assert_eq!(
        comparison.basis,
        Basis::ByDay {
            day: 60,
            asked: false
        }
    );
    assert_eq!(pair.replicates, [8, 8]);
    let (test, apart) = (
        pair.strike.permutation.unwrap(),
        pair.strike.difference.unwrap(),
    );
    let set = "rooting_cuttings_age5_IBA0_vs_0.5";
    check(set, "clusterperm_diff_pooled", apart.value);
    check(set, "clusterperm_diff_pooled_p_two_sided_abs", test.p);
    assert_eq!((test.arrangements, test.exact), (12_870, true));
    let fisher = pair.strike.second_opinions.fisher_p.unwrap();
    check(
        "rooting_cuttings_age5_collapsed_IBA0_vs_0.5",
        "fisher_p_two.sided",
        fisher,
    );
    assert!(test.p > 100.0 * fisher);
    assert_eq!(pair.strike.verdict.kind, VerdictKind::Difference);
}

#[test]
fn the_published_rooting_trial_within_positions_gives_the_published_tests() {
    let book = book_of(&rooting(&["0", "0.5"]));
    let comparison = root(&book, &[GroupKey::Arm], &[GroupKey::Piece]);
    let pair = only(&comparison);
    assert_eq!(pair.strata, 2);
    let second = &pair.strike.second_opinions;
    let set = "rooting_cuttings_age5_cmh_IBA0_vs_0.5_strata_position";
    check(set, "cmh_chisq_cc", second.cmh_corrected.unwrap().chi2);
    check(set, "cmh_chisq_nocc", second.cmh.unwrap().chi2);
    check(set, "mh_common_OR", second.mh_odds_ratio.unwrap());
    // Computed in R 4.2.
    assert_close(pair.strike.difference.unwrap().value, -0.302_083_3, 1e-6);
    assert!(second.icc.unwrap() > 0.0 && second.design_effect.unwrap() > 1.0);
}

#[test]
fn three_arms_are_corrected() {
    let book = book_of(&rooting(&["0", "0.5", "2"]));
    let comparison = root(&book, &[GroupKey::Arm], &[]);
    let tests: Vec<_> = comparison
        .pairs
        .iter()
        .map(|p| p.strike.permutation.unwrap())
        .collect();
    // Holm: thrice the smallest, and no later one below it.
    assert_close(tests[0].p_holm, 3.0 * 0.019_580_419_58, 1e-9);
    assert_close(tests[1].p_holm, tests[0].p_holm, 1e-9);
    check(
        "rooting_cuttings_age5_IBA0_vs_2",
        "clusterperm_diff_pooled_p_two_sided_abs",
        tests[1].p,
    );
    assert_eq!(
        comparison.pairs[0].strike.verdict.kind,
        VerdictKind::Undecided
    );
}

#[test]
fn an_unreplicated_trial_is_undecided_whatever_tests_by_the_cutting_say() {
    // Plum root cuttings, 240 a cell: Bartlett 1935, JRSS Supplement 2:248.
    let mut entries = Vec::new();
    for (r, length) in published("plum_cuttings_time_by_alive")
        .iter()
        .zip(["long", "short"])
    {
        for (arm, at) in [("now", 1), ("spring", 3)] {
            let facts = format!("trial=time arm={arm} medium={length}");
            counted(&mut entries, &facts, r[at].parse().unwrap(), 240);
        }
    }
    let book = book_of(&entries);
    let comparison = root(&book, &[GroupKey::Arm], &[GroupKey::Medium]);
    let pair = only(&comparison);
    let test = pair.strike.permutation.unwrap();
    assert_eq!((test.arrangements, test.exact), (4, true));
    assert_close(test.p, 0.5, 1e-12);
    let second = &pair.strike.second_opinions;
    // Difference and Greenland–Robins error computed in R 4.2.
    assert_close(pair.strike.difference.unwrap().value, 0.308_333_3, 1e-6);
    assert_close(second.standard_error.unwrap(), 0.029_128_8, 1e-6);
    let set = "plum_cuttings_time_by_alive";
    check(set, "cmh_chisq_cc", second.cmh_corrected.unwrap().chi2);
    check(set, "cmh_chisq_nocc", second.cmh.unwrap().chi2);
    check(set, "mh_common_OR", second.mh_odds_ratio.unwrap());
    assert_eq!(pair.strike.verdict.kind, VerdictKind::Undecided);
    assert_eq!(test.smallest_p, 0.5);
    assert_eq!(second.icc, None);
    assert_eq!(pair.strike.verdict.batches_needed, None);
}

#[test]
fn scores_of_the_published_cosmetic_trial_come_out_as_published() {
    // Finkelstein & Wolfe 1985; z and p by R interval (Sun's scores, permutation form).
    let mut out = Vec::new();
    let women = published("cosmesis").into_iter();
    for r in women.flat_map(|r| vec![r.clone(); r[3].parse().unwrap()]) {
        let n = out.len();
        let stick = format!("stick batch=S{n} taxon=Salix stuck=1 trial=c arm={}", r[2]);
        out.push(entry(&format!("{n:05}"), 0, &stick));
        let left: u64 = r[0].parse().unwrap();
        let right: Option<u64> = r[1].parse().ok();
        if left > 0 || right.is_none() {
            let look = format!("look batch=S{n} how=lift");
            out.push(entry(&format!("{n:05}a"), left, &look));
        }
        if let Some(day) = right {
            let look = format!("look batch=S{n} how=lift rooted=1");
            out.push(entry(&format!("{n:05}b"), day, &look));
        }
    }
    let comparison = root(&book_of(&out), &[GroupKey::Arm], &[]);
    let score = only(&comparison).days.score_test.unwrap();
    assert_close(score.z, 2.668_387, 1e-5);
    assert_close(score.p, 0.007_621_64, 1e-5);
    assert!(
        comparison
            .left_out
            .iter()
            .all(|it| matches!(it.reason, WhyLeftOut::NotFollowed { .. }))
    );
}

/// A trial of two arms with `m` batches of `cuttings` each, counts beta-binomial.
fn simulated(dice: &mut Dice, shares: [f64; 2], rho: f64, (m, cuttings): (u32, u32)) -> Vec<Entry> {
    let mut out = Vec::new();
    for (arm, share) in ["a", "b"].into_iter().zip(shares) {
        let counts = BetaBinomial::new(share, rho).unwrap().counts(cuttings);
        for _ in 0..m {
            let rooted = counts.draw(dice.unit()) as u32;
            counted(&mut out, &format!("trial=s arm={arm}"), rooted, cuttings);
        }
    }
    out
}

/// Simulates trials on two threads, each with a seed of its own, and counts those that meet each wish.
fn count_of<const N: usize>(
    trials: u32,
    seed: u64,
    one: impl Fn(&mut Dice) -> [bool; N] + Sync,
) -> [f64; N] {
    let half = |seed| {
        let mut dice = Dice::new(seed);
        let mut met = [0_u32; N];
        for _ in 0..trials / 2 {
            for (count, is) in met.iter_mut().zip(one(&mut dice)) {
                *count += u32::from(is);
            }
        }
        met
    };
    let [first, second] = std::thread::scope(|scope| {
        let other = scope.spawn(|| half(seed + 1000));
        [half(seed), other.join().unwrap()]
    });
    std::array::from_fn(|at| f64::from(first[at] + second[at]) / f64::from(trials))
}

/// Three standard errors of a share that is met with probability `p`.
fn three_errors(p: f64, trials: u32) -> f64 {
    3.0 * (p * (1.0 - p) / f64::from(trials)).sqrt()
}

/// Holds what replicates and what cuttings reject where nothing differs.
fn rejects_rightly(trials: u32) {
    let [permuted, fisher] = count_of(trials, 11, |dice| {
        let comparison = quick(&book_of(&simulated(dice, [0.6, 0.6], 0.1, (5, 24))));
        let strike = &only(&comparison).strike;
        [
            strike.permutation.unwrap().p <= 0.05,
            strike.second_opinions.fisher_p.unwrap() <= 0.05,
        ]
    });
    // Of ten replicates there are 252 layouts, so that the level is spent in steps, and sums that tie make the steps
    // wider: an exact test never goes over it, and stays a little under (0.0375 in 4000 trials).
    let margin = three_errors(0.05, trials);
    assert!(
        (0.03 - margin..=0.05 + margin).contains(&permuted),
        "{permuted}"
    );
    // Well above it.
    assert!(fisher > 0.12, "{fisher}");
}

#[test]
fn with_no_true_difference_whole_replicates_reject_in_one_of_twenty_and_cuttings_too_often() {
    // A thousand trials of replicates alone stand in figures::simulated; these go from entries to tests.
    rejects_rightly(400);
}

/// How often the interval holds the true difference of `shares`.
fn coverage(m: u32, rho: f64, shares: [f64; 2], (trials, draws): (u32, usize)) -> f64 {
    let mut dice = Dice::new(u64::from(m) * 1000 + (rho * 100.0) as u64);
    let models = shares.map(|share| BetaBinomial::new(share, rho).unwrap().counts(24));
    let draw = Draw {
        draws,
        all_up_to: 1_000.0,
        ..crate::stats::seeded(3)
    };
    let mut held = 0;
    for _ in 0..trials {
        let mut stratum = Vec::new();
        for (arm, model) in (0u8..).zip(&models) {
            stratum.extend((0..m).map(|_| Replicate {
                arm,
                sum: model.draw(dice.unit()) as f64,
                weight: 24.0,
            }));
        }
        let ends = Studentised::new(&[stratum], draw).unwrap().interval(0.95);
        let truth = shares[0] - shares[1];
        held += u32::from(ends.low - 1e-9 <= truth && truth <= ends.high + 1e-9);
    }
    f64::from(held) / f64::from(trials)
}

#[test]
fn intervals_hold_as_often_as_stated_in_cells_of_the_grid() {
    // Under four an arm nothing is excluded; else at most three standard errors below 95 of 100.
    assert_close(coverage(3, 0.1, [0.6, 0.6], (50, 999)), 1.0, 1e-12);
    for (m, rho, share) in [(5, 0.0, 0.6), (5, 0.1, 0.3), (8, 0.3, 0.6)] {
        let held = coverage(m, rho, [share, share - 0.15], (600, 499));
        assert!(
            held >= 0.95 - three_errors(0.95, 600),
            "{m} {rho} {share}: {held}"
        );
    }
}

#[test]
fn a_planned_trial_reaches_its_power() {
    let spread = EstimatedSpread {
        value: 0.05,
        freedom: 1e9,
    };
    let designs = OpenDesigns::new([0.7, 0.45], spread, 24).unwrap();
    let wanted = Assurance {
        power: 0.8,
        alpha: 0.05,
        limit: 99,
    };
    let m = wanted.fewest(|m| designs.power(m, 0.05)).unwrap();
    let trials = 200;
    let [found] = count_of(trials, 5, |dice| {
        let comparison = quick(&book_of(&simulated(dice, [0.7, 0.45], 0.05, (m, 24))));
        [only(&comparison).strike.verdict.kind == VerdictKind::Difference]
    });
    assert!(
        found > 0.8 - three_errors(0.8, trials),
        "{found} of {trials} with {m}"
    );
}

#[test]
fn what_is_not_recorded_or_alone_or_not_followed_is_left_out_and_named() {
    let mut entries = Vec::new();
    counted(&mut entries, "wood=softwood place=a", 6, 12);
    counted(&mut entries, "wood=semi-ripe place=b", 9, 12);
    counted(&mut entries, "place=c", 9, 12);
    entries.push(entry(
        "x1",
        0,
        "stick batch=X taxon=Weigela stuck=9 wood=softwood",
    ));
    entries.push(entry("x2", 60, "look batch=X how=lift rooted=3"));
    entries.push(entry(
        "y1",
        0,
        "stick batch=Y taxon=Acer stuck=9 wood=softwood place=d",
    ));
    entries.push(entry("y2", 20, "look batch=Y how=lift rooted=3"));
    // Four of five are watched to day 60, which is enough to compare by that day.
    for place in ["e", "f", "g"] {
        counted(&mut entries, &format!("wood=softwood place={place}"), 6, 12);
    }
    let comparison = root(&book_of(&entries), &[GroupKey::Wood], &[]);
    let names: Vec<&str> = comparison
        .arms
        .iter()
        .map(|arm| arm.name.as_str())
        .collect();
    assert_eq!(names, ["softwood", "semi-ripe"]);
    let reason = |code: &str| {
        let left = comparison.left_out.iter().find(|it| it.batch == code);
        left.map(|it| it.reason.clone())
    };
    assert_eq!(
        reason("T4"),
        Some(WhyLeftOut::NotRecorded {
            key: GroupKey::Wood
        })
    );
    assert!(matches!(reason("X"), Some(WhyLeftOut::Alone { .. })));
    assert_eq!(reason("Y"), Some(WhyLeftOut::NotFollowed { to: 60 }));
    assert_eq!(comparison.left_out.len(), 3);
}

#[test]
fn the_order_of_reading_changes_nothing_and_a_stop_stops() {
    let mut entries = rooting(&["0", "0.5", "2"]);
    let forth = root(&book_of(&entries), &[GroupKey::Arm], &[GroupKey::Piece]);
    entries.reverse();
    let back = root(&book_of(&entries), &[GroupKey::Arm], &[GroupKey::Piece]);
    assert_eq!(forth, back);
    let stopped = compare(&book_of(&entries), &TrialOptions::default(), &mut |_, _| {
        false
    });
    assert!(stopped.is_none());
}
