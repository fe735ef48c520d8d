//! Partial pooling on a grid against the published analysis of the eight schools, closed forms, and its own laws.

use super::assert_close;
use struck::stats::pooling::{
    Direction, Grid, PriorSettings, Setting, Spot, Spreads, Tree, normalised, pool,
};

const GRID: Grid = Grid {
    low: -60.0,
    step: 0.5,
    len: 281,
};

fn normal(y: f64, sd: f64) -> Vec<f64> {
    GRID.points()
        .map(|x| -0.5 * ((y - x) / sd).powi(2))
        .collect()
}

fn posterior(settings: &[Setting], leaves: &[Vec<f64>], leaf: usize) -> Vec<f64> {
    let mut sum = vec![0.0; GRID.len];
    for setting in settings {
        let others = setting.mean_at(&GRID, Spot::Leaf(leaf));
        let logs: Vec<f64> = others
            .iter()
            .zip(&leaves[leaf])
            .map(|(o, l)| o.max(1e-280).ln() + l)
            .collect();
        sum.iter_mut()
            .zip(normalised(&logs))
            .for_each(|(s, p)| *s += setting.weight * p);
    }
    sum
}

fn pooled(tree: &Tree, leaves: &[Vec<f64>], spreads: &Spreads<'_>, root: &[f64]) -> Vec<Setting> {
    let before = PriorSettings {
        starts: &[0.0],
        row: 1,
        spreads,
        root,
    };
    pool(tree, &GRID, &before, &mut |_| leaves.to_vec())
}

fn quantile(chances: &[f64], q: f64) -> f64 {
    let mut sum = 0.0;
    for (at, chance) in chances.iter().enumerate() {
        if sum + chance >= q {
            return GRID.at(at) - GRID.step * (0.5 - (q - sum) / chance);
        }
        sum += chance;
    }
    f64::NAN
}

/// Coaching effects of Rubin 1981, as analysed in Gelman et al., *Bayesian Data Analysis*, 3rd edition, section 5.5:
/// table 5.3 gives posterior quantiles (2.5, 25, 50, 75, 97.5 %) under a uniform prior on the spread, by 200
/// simulations; values from memory of the printed table.
#[test]
fn the_eight_schools_are_shrunk_as_published() {
    let effects = [28.0, 8.0, -3.0, 7.0, -1.0, 1.0, 18.0, 12.0];
    let errors = [15.0, 10.0, 16.0, 11.0, 9.0, 11.0, 10.0, 18.0];
    let medians = [10.0, 8.0, 7.0, 8.0, 5.0, 6.0, 10.0, 8.0];
    let leaves: Vec<Vec<f64>> = effects
        .iter()
        .zip(errors)
        .map(|(&y, sd)| normal(y, sd))
        .collect();
    let tree = Tree {
        up: vec![vec![0; 8]],
    };
    let tried: Vec<f64> = (0..30).map(|k| 0.25 * 1.22_f64.powi(k)).collect();
    let spreads = Spreads {
        tried: &tried,
        scale: 1e6,
    };
    let root = vec![0.0; GRID.len];
    let settings = pooled(&tree, &leaves, &spreads, &root);
    for (school, median) in medians.into_iter().enumerate() {
        let found = quantile(&posterior(&settings, &leaves, school), 0.5);
        assert!(
            (found - median).abs() < 1.6,
            "school {school}: {found} for {median}"
        );
    }
    let first = posterior(&settings, &leaves, 0);
    assert!(
        (quantile(&first, 0.25) - 7.0).abs() < 2.5,
        "{}",
        quantile(&first, 0.25)
    );
    assert!(
        (quantile(&first, 0.75) - 16.0).abs() < 2.5,
        "{}",
        quantile(&first, 0.75)
    );
}

/// One leaf under a known normal root: the posterior mean is precision-weighted (conjugate normal, closed form).
#[test]
fn one_leaf_is_the_conjugate_normal() {
    let leaves = vec![normal(20.0, 6.0)];
    let tree = Tree { up: vec![vec![0]] };
    let spreads = Spreads {
        tried: &[5.0],
        scale: 10.0,
    };
    let settings = pooled(&tree, &leaves, &spreads, &normal(2.0, 7.0));
    let found = posterior(&settings, &leaves, 0);
    let mean: f64 = GRID.points().zip(&found).map(|(x, p)| x * p).sum();
    let (data, prior) = (1.0 / 36.0, 1.0 / (25.0 + 49.0));
    assert_close(mean, (20.0 * data + 2.0 * prior) / (data + prior), 1e-3);
    // A new leaf knows nothing but the root: its spread is both deviations and what is left of the root's.
    let fresh = settings[0].mean_at(&GRID, Spot::Below { level: 1, node: 0 });
    let mean: f64 = GRID.points().zip(fresh.iter()).map(|(x, p)| x * p).sum();
    let root = (20.0 / (36.0 + 25.0) + 2.0 / 49.0) / (1.0 / (36.0 + 25.0) + 1.0 / 49.0);
    assert_close(mean, root, 1e-3);
}

#[test]
fn spreading_keeps_chances_and_widens() {
    let narrow = normalised(&normal(10.0, 3.0));
    let wide = GRID.spread(&narrow, 4.0, Direction::Down);
    assert_close(wide.iter().sum(), 1.0, 1e-12);
    let variance: f64 = GRID
        .points()
        .zip(&wide)
        .map(|(x, p)| p * (x - 10.0).powi(2))
        .sum();
    assert_close(variance, 9.0 + 16.0, 0.05);
    // A constant stays one on the way up.
    for value in GRID.spread(&vec![2.0; GRID.len], 4.0, Direction::Up) {
        assert_close(value, 2.0, 1e-12);
    }
}

#[test]
fn weights_sum_to_one_and_like_leaves_are_believed_close() {
    let tree = Tree {
        up: vec![vec![0, 0, 1], vec![0, 0]],
    };
    let leaves = vec![normal(10.0, 1.0), normal(10.5, 1.0), normal(10.2, 1.0)];
    let spreads = Spreads {
        tried: &[0.5, 2.0, 8.0],
        scale: 5.0,
    };
    let settings = pooled(&tree, &leaves, &spreads, &vec![0.0; GRID.len]);
    assert_close(settings.iter().map(|s| s.weight).sum(), 1.0, 1e-12);
    assert!(
        settings[0].spreads.iter().all(|&s| s < 8.0),
        "{:?}",
        settings[0].spreads
    );
    let none = PriorSettings {
        starts: &[],
        row: 1,
        spreads: &spreads,
        root: &[0.0; 281],
    };
    assert!(pool(&tree, &GRID, &none, &mut |_| leaves.clone()).is_empty());
}

/// Starts in two rows of five, the likeliest at an end: it is found from the middle, and what is far from it is not asked.
#[test]
fn the_likeliest_start_is_found_and_the_unlikely_are_passed_over() {
    let tree = Tree { up: vec![vec![0]] };
    let starts = [
        -60.0, -45.0, -30.0, -15.0, 0.0, -90.0, -75.0, -60.0, -45.0, -3.0,
    ];
    let before = PriorSettings {
        starts: &starts,
        row: 5,
        spreads: &Spreads {
            tried: &[5.0],
            scale: 10.0,
        },
        root: &vec![0.0; GRID.len],
    };
    let mut asked = Vec::new();
    let settings = pool(&tree, &GRID, &before, &mut |start| {
        asked.push(start);
        vec![normal(20.0, 6.0)]
    });
    let kept: Vec<usize> = settings.iter().map(|setting| setting.start).collect();
    assert_eq!(kept, [4, 9]);
    let whole = 1.0 + f64::exp(-3.0);
    assert_close(settings[0].weight, 1.0 / whole, 1e-12);
    asked.sort_unstable();
    asked.dedup();
    assert!(!asked.contains(&0) && !asked.contains(&5), "{asked:?}");
}
