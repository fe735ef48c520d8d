//! Mixes as typed and worded. Dilutions and molar masses are held against published ones.

use struck::stats::mixing::{IBA, K_IBA, NAA};
use struck::text::mixing::{
    MixProblem, conversions, enough, liquid, must_be_likely, must_be_thinned, must_dissolve,
    parted, parts, strength, substance, thinning, volume, weighing,
};

#[test]
fn strengths_come_to_the_same_however_written() {
    for text in ["0.3%", "3000ppm", "3000 mg/l", "3 g/L", "3mg/ml"] {
        assert_eq!(strength(text, None).unwrap(), 3000.0, "{text}");
    }
    // 24.6 mM IBA is 5000 ppm: a Douglas-fir trial's abstract, New Forests.
    let ppm = strength("24.6mM", Some(&IBA)).unwrap();
    assert!((ppm - 5000.0).abs() < 5.0, "{ppm}");
}

#[test]
fn what_can_be_read_two_ways_is_refused() {
    assert_eq!(strength("5mM", None), Err(MixProblem::MolesOfWhat));
    assert_eq!(volume("1 gal"), Err(MixProblem::Gallon));
    for text in ["0,3%", "3000", "ppm", "3 spoons", ""] {
        assert!(
            matches!(strength(text, None), Err(MixProblem::Strength(_))),
            "{text}"
        );
    }
    assert!(substance("aspirin").is_err());
    assert!(parts("1 to 9").is_err());
}

#[test]
fn impossible_mixes_are_refused() {
    assert!(matches!(
        thinning(1000.0, 3000.0, 250.0, "water"),
        Err(MixProblem::Impossible(_))
    ));
    assert!(matches!(
        strength("120%", None),
        Err(MixProblem::Impossible(_))
    ));
    assert!(matches!(
        strength("0%", None),
        Err(MixProblem::Impossible(_))
    ));
    assert!(parted(52_500.0, 0.0, 9.0).is_err());
    assert!(enough(0, 0.1, 0.2).is_err());
}

#[test]
fn water_holds_no_more_iba_than_published() {
    // 250 mg/L: USDA National Organic Program, technical evaluation report on IBA, 2011.
    assert!(must_dissolve(&IBA, 250.0).is_ok());
    assert!(matches!(
        must_dissolve(&IBA, 1000.0),
        Err(MixProblem::Insoluble { .. })
    ));
    assert!(must_dissolve(&K_IBA, 10_000.0).is_ok());
    assert!(must_dissolve(&NAA, 1000.0).is_err());
}

#[test]
fn the_arithmetic_is_shown() {
    assert_eq!(
        thinning(10_000.0, 3000.0, 250.0, "plain water").unwrap(),
        [
            "250 mL x 3000 ppm / 10000 ppm = 75 mL of stock",
            "250 mL - 75 mL = 175 mL of plain water to make it up"
        ]
    );
    let (needed, line) = enough(400, 0.1, 0.2).unwrap();
    assert!((needed - 48.0).abs() < 1e-9);
    assert_eq!(line, "400 cuttings x 0.1 mL x 1.2 = 48 mL");
    let weighed = weighing(&K_IBA, 3000.0, 100.0, "plain water").unwrap();
    assert!(weighed[0].contains("= 0.3 g of K-IBA"), "{weighed:?}");
    // One gallon of 5.25 % bleach with nine of water: 0.525 % (phytosphere.com BMP 2.3; Penn State Extension).
    let (made, line) = parted(52_500.0, 1.0, 9.0).unwrap();
    assert!((made - 5250.0).abs() < 1e-9, "{line}");
}

#[test]
fn salt_and_acid_are_told_apart() {
    let lines = conversions(1000.0, Some(&IBA));
    // 241.33 / 203.24 g/mol.
    assert!(
        lines.iter().any(|l| l.contains("= 1187 ppm K-IBA")),
        "{lines:?}"
    );
}

#[test]
fn the_liquid_is_named_and_what_water_does_not_hold_is_told_or_refused() {
    let salt = liquid(Some(&K_IBA), 8000.0, false).unwrap();
    assert_eq!(salt.words, "plain water");
    let acid = liquid(Some(&IBA), 3000.0, false).unwrap();
    assert!(acid.words.contains("alcohol"), "{acid:?}");
    assert!(acid.note.unwrap().contains("250 mg/L"));
    assert!(liquid(Some(&IBA), 3000.0, true).is_err());
    assert!(liquid(None, 3000.0, false).unwrap().note.is_some());
}

#[test]
fn slips_are_asked_about_and_taken_when_meant() {
    assert!(must_be_likely(1_000_000.0, 250.0, false).is_err());
    assert!(must_be_likely(3000.0, 1e300, false).is_err());
    assert!(must_be_likely(3000.0, 1e300, true).is_ok());
    assert!(must_be_likely(3000.0, 250.0, false).is_ok());
    let asked = must_be_thinned(9.0, 1.0, false).unwrap_err().to_string();
    assert!(asked.contains("1:9") && asked.contains("--sure"), "{asked}");
    assert!(must_be_thinned(1.0, 9.0, false).is_ok());
}

#[test]
fn the_salt_of_naa_has_its_own_mass() {
    // 186.21 less H 1.008 plus K 39.098 (standard atomic weights).
    let salt = substance("k-naa").unwrap();
    assert!((salt.molar_mass - (186.21 - 1.008 + 39.098)).abs() < 0.005);
}
