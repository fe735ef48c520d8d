//! Sun's log-rank test against the R package interval 1.1-1.0 (Fay & Shaw 2010), whose form
//! 'logrank1' it is, and a complete enumeration of sixteen rows.

use super::{Expected, assert_close, expected, intervals};
use struck::stats::logrank::{LogRank, log_rank_within, sun_scores};
use struck::stats::npmle::Row;

/// The rows on Sun's scores in their permutation form. Finkelstein's and Wilcoxon-type scores
/// and the score-test form are other methods.
fn listed(dataset: &str) -> Vec<Expected> {
    let rows = expected("expected_interval_censored").into_iter();
    let ours = |r: &Expected| {
        let q = &r.quantity;
        r.dataset == dataset && q.contains("logrank1") && !q.contains("scoretest")
    };
    rows.filter(ours).collect()
}

#[test]
fn the_two_treatments_differ_as_published() {
    let (first, second) = (intervals("cosmesis", "RCT"), intervals("cosmesis", "RT"));
    let found = log_rank(&first, &second).unwrap();
    let other = log_rank(&second, &first).unwrap();
    let rows = listed("cosmesis");
    assert_eq!(rows.len(), 4);
    for row in rows {
        row.check(match (row.quantity.as_str(), row.group.as_str()) {
            ("ictest_logrank1_pclt_p", _) => found.p,
            ("ictest_logrank1_pclt_stat", _) => found.z,
            ("U_logrank1", "RCT") => found.u,
            ("U_logrank1", "RT") => other.u,
            (quantity, _) => panic!("{quantity} is not checked"),
        });
    }
    assert_eq!(found.n, (48.0, 46.0));
}

/// The two groups compared without strata.
fn log_rank(first: &[Row], second: &[Row]) -> Option<LogRank> {
    log_rank_within(&[[first.to_vec(), second.to_vec()]])
}

/// Sums of eight of the sixteen scores, for every choice of eight.
fn arrangements(scores: &[f64]) -> Vec<f64> {
    let chosen = (0..1_u32 << 16).filter(|set| set.count_ones() == 8);
    let sum = |set: u32| {
        let picked = scores.iter().enumerate().filter(|(i, _)| set >> i & 1 == 1);
        picked.map(|(_, score)| score).sum()
    };
    chosen.map(sum).collect()
}

#[test]
fn sixteen_rows_match_row_by_row_and_when_enumerated() {
    let groups = ["RCT", "RT"].map(|group| intervals("cosmesis_small16", group));
    let pooled = groups.concat();
    let scores = sun_scores(&pooled).unwrap();
    let u: f64 = scores[..8].iter().sum();
    assert_close(log_rank(&groups[0], &groups[1]).unwrap().u, u, 1e-12);
    let every = arrangements(&scores);
    assert_eq!(every.len(), 12_870);
    let share = |met: &dyn Fn(f64) -> bool| {
        every.iter().filter(|sum| met(**sum)).count() as f64 / every.len() as f64
    };
    let rows = listed("cosmesis_small16");
    assert_eq!(rows.len(), 20);
    for row in rows {
        row.check(match row.quantity.as_str() {
            "perm_U_logrank1" => u,
            "perm_exact_lower_p_logrank1" => share(&|sum| sum <= u + 1e-9),
            "perm_exact_upper_p_logrank1" => share(&|sum| sum >= u - 1e-9),
            "perm_exact_two_sided_abs_p_logrank1" => share(&|sum| sum.abs() >= u.abs() - 1e-9),
            "score_logrank1" => scores[row.arg[3..].parse::<usize>().unwrap() - 1],
            quantity => panic!("{quantity} is not checked"),
        });
    }
}

#[test]
fn counts_stand_for_repeated_rows_and_losses_for_waiting() {
    let first = [Row::reached(2.0, 5.0, 3.0), Row::lost(7.0, 9.0, 2.0)];
    let second = [Row::reached(4.0, 8.0, 2.0), Row::not_yet(9.0, 4.0)];
    let singly = |rows: &[Row]| -> Vec<Row> {
        let one = |r: &Row| vec![Row { weight: 1.0, ..*r }; r.weight as usize];
        rows.iter().flat_map(one).collect()
    };
    let counted = log_rank(&first, &second).unwrap();
    let repeated = log_rank(&singly(&first), &singly(&second)).unwrap();
    assert_close(counted.z, repeated.z, 1e-9);
    let waiting = [first[0], Row::not_yet(7.0, 2.0)];
    assert_eq!(log_rank(&waiting, &second).unwrap(), counted);
    assert!(counted.u > 0.0, "the first group was sooner");
}

#[test]
fn nothing_to_compare_is_no_test() {
    let rows = [Row::not_yet(5.0, 3.0)];
    assert_eq!(log_rank(&rows, &rows), None);
    assert_eq!(log_rank(&[], &[Row::reached(1.0, 2.0, 5.0)]), None);
}
