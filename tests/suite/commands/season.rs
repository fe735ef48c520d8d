//! `season` on the sample nursery: stored pages, JSON that repeats, findings held against what is true of it.

use super::run::nursery;
use serde_json::Value;

#[test]
fn a_season_in_review_is_as_stored() {
    for columns in [40, 80] {
        let said = nursery().wide(columns).struck(&["season", "2025"]).done();
        for line in said.lines() {
            assert!(
                struck::text::clean::width(line) <= columns,
                "{columns}: {line}"
            );
        }
        // One letter apart in wet light: never both on a page.
        assert!(!said.contains("struck "), "{said}");
        insta::assert_snapshot!(format!("season-2025-{columns}"), said);
    }
    let early = nursery()
        .wide(80)
        .struck(&["season", "2026", "--on", "2026-06-20"])
        .done();
    insta::assert_snapshot!("season-2026-early", early);
}

#[test]
fn json_repeats_and_agrees_with_what_is_true() {
    let home = nursery().wide(80);
    let said = home.struck(&["season", "2025", "--json"]).done();
    assert_eq!(said, home.struck(&["season", "2025", "--json"]).done());
    let value: Value = serde_json::from_str(&said).unwrap();
    let keys: Vec<_> = value.as_object().unwrap().keys().cloned().collect();
    assert_eq!(
        keys.join(" "),
        "struck unread season from to as_of seed taxa sums wanted kinds ways still_rooting next text"
    );
    // What is preferred by wood stage is what is true of the sample (truth.csv).
    let truth = std::fs::read_to_string(super::run::samples().join("nursery/truth.csv")).unwrap();
    let strike = |taxon: &str, wood: &str| -> f64 {
        let line = truth
            .lines()
            .find(|l| l.starts_with(&format!("{taxon},{wood},")));
        line.unwrap().split(',').nth(2).unwrap().parse().unwrap()
    };
    let mut preferred = 0;
    for next in value["next"].as_array().unwrap() {
        let way = &next["way"];
        if next["what"] != "prefer" || way["by"] != "wood" {
            continue;
        }
        preferred += 1;
        let taxon = way["taxon"].as_str().unwrap();
        let name = |at: usize| way["arms"][at]["name"].as_str().unwrap();
        assert!(strike(taxon, name(0)) > strike(taxon, name(1)), "{taxon}");
    }
    assert!(preferred > 0, "{said}");
}

#[test]
fn the_latest_season_is_told_unless_one_is_named() {
    let home = nursery().wide(80);
    let said = home.struck(&["season"]).done();
    assert!(said.starts_with("Season 2026, as far as"), "{said}");
    let none = home.struck(&["season", "1999"]);
    assert!(none.done().contains("No batch was stuck."));
    assert_eq!(home.struck(&["season", "99999999"]).code, 2);
}
