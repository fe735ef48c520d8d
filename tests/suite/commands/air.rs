//! `climate`, `mix` and `cautions` as the grower meets them: text at 40 and 80 columns, JSON, refusals in words.

use super::run::{Home, nursery, samples};
use insta::assert_snapshot;
use serde_json::Value;

/// What each command says on the sample nursery, at both widths.
const TOLD: &[(&str, &[&str])] = &[
    (
        "climate-place",
        &[
            "climate",
            "closed",
            "frame",
            "--since",
            "2026-06-10",
            "--until",
            "2026-06-22",
        ],
    ),
    (
        "climate-all",
        &["climate", "--until", "2025-07-04", "--since", "2025-07-01"],
    ),
    ("climate-batch", &["climate", "batch", "25-010"]),
    (
        "climate-matters",
        &["climate", "matters", "--draws", "499", "--resamples", "199"],
    ),
    (
        "climate-matters-few",
        &[
            "climate",
            "matters",
            "--taxon",
            "hebe",
            "--draws",
            "99",
            "--resamples",
            "99",
        ],
    ),
    ("mix-convert", &["mix", "convert", "0.3%", "--of", "IBA"]),
    (
        "mix-thin",
        &[
            "mix", "thin", "1%", "3000ppm", "--make", "250ml", "--of", "K-IBA",
        ],
    ),
    (
        "mix-weigh",
        &[
            "mix",
            "weigh",
            "K-IBA",
            "3000ppm",
            "--cuttings",
            "400",
            "--each",
            "0.1ml",
        ],
    ),
    (
        "mix-disinfect",
        &["mix", "disinfect", "5.25%", "--parts", "1:9"],
    ),
    ("cautions", &["cautions"]),
];

#[test]
fn said_at_forty_and_at_eighty_columns() {
    for columns in [40, 80] {
        let home = nursery().wide(columns);
        for (name, command) in TOLD {
            let said = home.struck(command).done();
            for line in said.lines() {
                assert!(
                    line.chars().count() <= columns,
                    "{name} at {columns}: {line}"
                );
            }
            assert_snapshot!(format!("{name}-{columns}"), said);
        }
    }
}

#[test]
fn json_repeats_to_the_byte() {
    let home = nursery();
    for (name, command) in TOLD.iter().filter(|(name, _)| !name.starts_with("mix")) {
        let all = [*command, &["--json"]].concat();
        assert_eq!(home.struck(&all).done(), home.struck(&all).done(), "{name}");
    }
}

/// The days that the truth behind the sample calls dry are called drying, and none of them easy.
#[test]
fn the_truths_dry_days_are_drying() {
    let truth = std::fs::read_to_string(samples().join("nursery/truth-air.csv")).unwrap();
    let home = Home::with_sample("nursery");
    let mut judged = 0;
    for row in truth.lines().skip(1).filter(|row| row.ends_with("dry")) {
        let cells: Vec<&str> = row.split(',').collect();
        let said = home
            .struck(&[
                "climate", cells[0], "--since", cells[1], "--until", cells[2], "--json",
            ])
            .done();
        let value: Value = serde_json::from_str(&said).unwrap();
        for day in value["places"][0]["days"].as_array().unwrap() {
            // Above 30 °C under a cover, heat is said before the deficit, which is there all the same.
            let warm = day["air_c"].as_f64().is_some_and(|air| air > 30.0);
            let medium = day["medium_c"].as_f64().is_some_and(|medium| medium > 27.0);
            let wanted = if warm || medium { "hot" } else { "drying" };
            assert_eq!(day["sense"], wanted, "{row}: {day}");
            assert!(
                day["vpd_kpa"].as_f64().is_some_and(|vpd| vpd > 0.85),
                "{row}: {day}"
            );
            judged += 1;
        }
    }
    assert!(judged > 9, "{judged} days");
}

/// A mix that cannot be is refused with its units, and nothing is worked out.
#[test]
fn impossible_mixes_are_refused_in_words() {
    let home = Home::new();
    for (command, code, told) in [
        (
            &["mix", "thin", "1000ppm", "3000ppm", "--make", "250ml"][..],
            1,
            "ppm",
        ),
        (
            &["mix", "weigh", "IBA", "3000ppm", "--make", "1l", "--water"],
            1,
            "250 mg/L",
        ),
        (
            &["mix", "weigh", "NAA", "3000ppm", "--make", "1l", "--water"],
            1,
            "420 mg/L",
        ),
        (&["mix", "disinfect", "5%", "--to", "10%"], 1, "%"),
        (&["mix", "convert", "5mM"], 2, "--of IBA"),
        (
            &["mix", "thin", "1%", "3000ppm", "--make", "1gal"],
            2,
            "usgal or impgal",
        ),
        (&["mix", "convert", "3 spoons"], 2, "3000ppm"),
        (&["mix", "weigh", "IBA", "3000ppm"], 2, "--make 250ml"),
    ] {
        let said = home.struck(command);
        assert_eq!(
            (said.code, said.out.as_str()),
            (code, ""),
            "{command:?}: {}",
            said.err
        );
        assert!(said.err.contains(told), "{command:?}: {}", said.err);
    }
}

/// Cautions stand beside what can hurt, and at their head that labels and rules come first.
#[test]
fn cautions_stand_beside_the_hazard() {
    let home = Home::new();
    let hormone = home
        .struck(&["mix", "convert", "0.3%", "--of", "IBA"])
        .done();
    assert!(
        hormone.contains("! Hormone: gloves") && hormone.contains("label"),
        "{hormone}"
    );
    let bleach = home
        .struck(&["mix", "disinfect", "5.25%", "--parts", "1:9"])
        .done();
    assert!(bleach.contains("Never mix bleach with acids"), "{bleach}");
    let all = home.struck(&["cautions"]).done();
    for hazard in [
        "residual-current",
        "licensed electrician",
        "breeder's licence",
        "sap",
    ] {
        assert!(all.contains(hazard), "{hazard}");
    }
}

/// The grower's own band, set with a `place` line, decides the word; degrees follow the nursery's unit.
#[test]
fn the_growers_own_band_and_unit_are_used() {
    let home = Home::new();
    let add = |line: &str| assert_eq!(home.struck(&["add", line]).code, 0, "{line}");
    add("climate bench: air 22, rh 78, medium 20");
    let word = |home: &Home| {
        let said = home.struck(&["climate", "bench", "--json"]).done();
        let value: Value = serde_json::from_str(&said).unwrap();
        value["places"][0]["days"][0]["sense"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    assert_eq!(word(&home), "easy");
    add("place bench: vpd 0.1-0.3");
    assert_eq!(word(&home), "drying");
    add("place bench: vpd 0.7-1.2");
    assert_eq!(word(&home), "wet");
    assert!(
        home.struck(&["climate", "bench"])
            .done()
            .contains("easy from 0.7 to 1.2 kPa (your own)")
    );
    add("nursery: units F");
    // 22 °C is 71.6 °F, 20 °C is 68 °F (NIST SP 811).
    let said = home.struck(&["climate", "bench"]).done();
    assert!(
        said.contains("air F") && said.contains("71.6") && said.contains("68.0"),
        "{said}"
    );
    add("stick 20 Hebe albicans, at bench");
    let said = home
        .struck(&["climate", "batch", "001", "--base", "50F"])
        .done();
    // 20 °C less 10 °C is 10 °C-days: 18 °F-days above 50 °F.
    assert!(
        said.contains("Warmth of the medium above 50.0 °F: 18 °F-days over 1 day"),
        "{said}"
    );
    let bad = home.struck(&["climate", "batch", "001", "--base", "warm"]);
    assert!(
        bad.code == 2 && bad.err.contains("5C or 41F"),
        "{}",
        bad.err
    );
}

#[test]
fn each_taxon_is_told_of_its_own_batches_alone() {
    let home = Home::new().wide(200);
    for entry in [
        "stick 20 Hebe, at bench",
        "stick 20 Hebe 'Red Edge', at bench",
        "stick 20 Hebe albicans, at bench",
    ] {
        assert_eq!(home.struck(&["add", entry]).code, 0);
    }
    let said = home.struck(&["climate", "matters", "--each"]).done();
    let alone = |start: &str| {
        said.lines()
            .find(|line| line.starts_with(start))
            .is_some_and(|line| line.contains(", 1 kept out of the figures"))
    };
    // One name is a part of the others' names.
    assert!(alone("Hebe: "), "{said}");
    assert!(alone("Hebe 'Red Edge': "), "{said}");
    assert!(alone("Hebe albicans: "), "{said}");
}

#[test]
fn columns_without_a_reading_are_left_away_and_the_days_chosen_are_told() {
    let home = Home::with_sample("nursery").at("2026-08-20T12:00:00+01:00");
    let said = home.struck(&["climate", "closed frame"]).done();
    assert!(
        !said.contains("light mol") && !said.contains("Mist mm"),
        "{said}"
    );
    assert!(said.contains("last fortnight up to its last"), "{said}");
    let asked = home.struck(&["climate", "closed frame", "--since", "2026-06-15"]);
    assert!(!asked.done().contains("last fortnight"));
}
