//! Arrangements of labels: all of them, each once, and how many cannot be told apart.

use std::collections::BTreeSet;

use struck::stats::arrange::Layout;
use struck::stats::dice::Dice;
use struck::stats::permute::{Replicate, Studentised};

fn all(layout: &Layout) -> Vec<Vec<u8>> {
    let mut seen = Vec::new();
    assert!(layout.each(0, 0, 1e6, |labels| seen.push(labels.to_vec())));
    seen
}

#[test]
fn every_arrangement_is_visited_once() {
    for (strata, number) in [
        (vec![vec![0, 0, 1, 1]], 6),
        (vec![vec![1, 0], vec![0, 1, 1]], 6),
        (vec![vec![0, 1, 1, 0, 1, 1]], 15),
        (vec![vec![0, 0], vec![1]], 1),
        (vec![vec![], vec![0, 1]], 2),
    ] {
        let layout = Layout::new(&strata);
        let seen = all(&layout);
        assert_eq!((seen.len(), layout.arrangements()), (number, number as f64));
        assert_eq!(seen.iter().collect::<BTreeSet<_>>().len(), number);
        assert!(seen.contains(&layout.labels().to_vec()));
        // Within each stratum the labels are only moved about.
        for range in layout.strata() {
            let sorted = |labels: &[u8]| {
                let mut part = labels[range.clone()].to_vec();
                part.sort_unstable();
                part
            };
            let wanted = sorted(layout.labels());
            assert!(seen.iter().all(|labels| sorted(labels) == wanted));
        }
    }
}

#[test]
fn too_many_arrangements_are_drawn_after_the_observed_one() {
    let layout = Layout::new(&[(0..200).map(|i| (i % 2) as u8).collect()]);
    assert!(layout.arrangements() > 1e50);
    let mut seen = Vec::new();
    assert!(!layout.each(5, 20, 1e5, |labels| seen.push(labels.to_vec())));
    assert_eq!((seen.len(), seen[0].as_slice()), (21, layout.labels()));
    let ones = |labels: &Vec<u8>| labels.iter().filter(|&&label| label == 1).count();
    assert!(seen.iter().all(|labels| ones(labels) == 100));
    let enormous = Layout::new(&[(0..4000).map(|i| (i % 2) as u8).collect()]);
    assert_eq!(enormous.arrangements(), f64::INFINITY);
}

#[test]
fn a_replicate_of_nothing_changes_nothing() {
    let one = |arm: u8, sum: f64, weight: f64| Replicate { arm, sum, weight };
    let trial = vec![vec![one(0, 3.0, 12.0), one(1, 9.0, 12.0)]];
    let mut with = trial.clone();
    with.push(vec![one(0, 0.0, 0.0), one(1, 0.0, 0.0)]);
    let plain = Studentised::new(&trial, crate::stats::seeded(1)).unwrap();
    let padded = Studentised::new(&with, crate::stats::seeded(1)).unwrap();
    assert_eq!(plain.difference(), padded.difference());
    assert_eq!(plain.permuted(), padded.permuted());
}

#[test]
fn dice_are_fair_and_pinned() {
    let mut dice = Dice::new(1);
    let mut faces = [0u32; 6];
    for _ in 0..60_000 {
        faces[dice.below(6) as usize] += 1;
    }
    // χ² on five degrees of freedom is below 20.5 in 99.9 % of draws.
    let chi2: f64 = faces
        .iter()
        .map(|&n| (f64::from(n) - 1e4).powi(2) / 1e4)
        .sum();
    assert!(chi2 < 20.5, "{faces:?}");
    let mut cards: Vec<u8> = (0..10).collect();
    Dice::new(2).shuffle(&mut cards);
    let mut again: Vec<u8> = (0..10).collect();
    Dice::new(2).shuffle(&mut again);
    assert_eq!(cards, again);
    let draws: Vec<f64> = (0..1000).map(|_| dice.unit()).collect();
    assert!(draws.iter().all(|u| (0.0..1.0).contains(u)));
}
