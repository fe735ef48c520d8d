//! A studentised test as an answer tells it: p, the difference with its intervals, and what several pairs of arms take from
//! one another. It makes no test and gives no verdict.

use super::answer::{Difference, PermutationTest};
use crate::stats::permute::{Permutation, Studentised, holm};

/// The levels that a pair's intervals are given at.
#[derive(Clone, Copy)]
pub(in crate::analysis) struct Levels {
    /// Of this pair alone.
    pub alone: f64,
    /// Shared among all pairs (Bonferroni).
    pub shared: f64,
}

impl Levels {
    /// Of so many pairs, each by itself at `alone`.
    pub(in crate::analysis) fn among(pairs: usize, alone: f64) -> Self {
        Self {
            alone,
            shared: 1.0 - (1.0 - alone) / pairs.max(1) as f64,
        }
    }
}

/// Every two of so many arms, the first before the second.
pub(in crate::analysis) fn every_two(arms: usize) -> impl Iterator<Item = [usize; 2]> {
    (0..arms).flat_map(move |first| (first + 1..arms).map(move |second| [first, second]))
}

/// The test before its correction.
pub(in crate::analysis) fn permutation<const COLUMNS: usize>(
    test: &Permutation<COLUMNS>,
) -> PermutationTest {
    let permuted = test.permuted();
    PermutationTest {
        p: permuted.p,
        p_holm: permuted.p,
        arrangements: permuted.arrangements,
        exact: permuted.exact,
        smallest_p: permuted.smallest_p,
    }
}

/// The difference with its intervals by inverting the test.
pub(in crate::analysis) fn inverted(test: &Studentised, levels: Levels) -> Difference {
    let alone = test.interval(levels.alone);
    let interval = if levels.shared > levels.alone {
        test.interval(levels.shared)
    } else {
        alone
    };
    Difference {
        value: test.difference(),
        interval,
        alone,
    }
}

/// Corrects the tests of all pairs for how many they are.
pub(in crate::analysis) fn correct<'t>(tests: impl Iterator<Item = &'t mut PermutationTest>) {
    let mut tests: Vec<&mut PermutationTest> = tests.collect();
    let ps: Vec<f64> = tests.iter().map(|test| test.p).collect();
    for (test, corrected) in tests.iter_mut().zip(holm(&ps)) {
        test.p_holm = corrected;
    }
}
