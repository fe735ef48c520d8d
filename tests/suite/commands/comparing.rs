//! `compare` and `lay-out` as printed: the documented JSON, the text at forty columns, the layout to type.

use super::run::nursery;
use serde_json::Value;
use struck::text::clean::width;

fn compared(arguments: &[&str]) -> Value {
    let all = [&["compare", "--json"], arguments].concat();
    serde_json::from_str(&nursery().struck(&all).done()).unwrap()
}

/// The keys of an object that stand here, in their order, of those listed.
fn has(value: &Value, listed: &str) {
    let object = value
        .as_object()
        .unwrap_or_else(|| panic!("{listed}: {value}"));
    let wanted: Vec<&str> = listed.split(' ').collect();
    let held: Vec<&str> = object
        .keys()
        .map(String::as_str)
        .filter(|key| wanted.contains(key))
        .collect();
    assert_eq!(held, wanted);
}

/// An object of these keys, or null.
fn has_or_null(value: &Value, listed: &str) {
    if !value.is_null() {
        has(value, listed);
    }
}

#[test]
fn json_has_the_documented_shape_root_first() {
    let value = compared(&["--trial", "philadelphus mist or box"]);
    let comparisons = value["comparisons"].as_array().unwrap();
    let milestones: Vec<&str> = comparisons
        .iter()
        .map(|it| it["milestone"].as_str().unwrap())
        .collect();
    assert_eq!(milestones, ["root", "callus", "bottom"]);
    for it in comparisons {
        has(
            it,
            "milestone basis strata arms pairs defined_by left_out cautions",
        );
        let basis = it["basis"]["kind"].as_str().unwrap();
        assert!(["as-they-ended", "by-day"].contains(&basis), "{it}");
        assert!(!it["strata"].as_array().unwrap().is_empty());
        for arm in it["arms"].as_array().unwrap() {
            has(arm, "name batches replicates stuck reached days");
            has(&arm["reached"], "value low high");
            has_or_null(&arm["days"], "value interval");
        }
        for pair in it["pairs"].as_array().unwrap() {
            whole_pair(pair);
        }
    }
}

fn whole_pair(pair: &Value) {
    has(pair, "arms strike days");
    assert_eq!(pair["arms"].as_array().unwrap().len(), 2);
    let strike = &pair["strike"];
    has(
        strike,
        "difference permutation second_opinions homogeneity verdict",
    );
    has(&strike["difference"], "value low high alone");
    let second = &strike["second_opinions"];
    has(
        second,
        "fisher_p cmh cmh_corrected mh_odds_ratio icc design_effect",
    );
    has(&second["cmh"], "chi2 p");
    has(&second["cmh_corrected"], "chi2 p");
    has_or_null(&strike["homogeneity"], "chi2 df p");
    let days = &pair["days"];
    has(days, "difference permutation score_test verdict");
    has_or_null(&days["difference"], "value low high");
    has(&days["score_test"], "z p");
    for part in [strike, days] {
        has_or_null(
            &part["permutation"],
            "p p_holm arrangements exact smallest_p",
        );
        has(&part["verdict"], "kind text batches_needed cuttings");
        assert!(part["verdict"]["text"].as_str().unwrap().ends_with('.'));
        let kind = part["verdict"]["kind"].as_str().unwrap();
        assert!(
            ["difference", "no-larger-than", "undecided"].contains(&kind),
            "{kind}"
        );
    }
}

#[test]
fn one_milestone_three_arms_and_what_is_left_out_in_json() {
    let value = compared(&[
        "--by",
        "wood",
        "--taxon",
        "buddleja",
        "--milestone",
        "callus",
    ]);
    let comparisons = value["comparisons"].as_array().unwrap();
    assert_eq!(comparisons.len(), 1);
    assert_eq!(comparisons[0]["milestone"], "callus");
    let value = compared(&[
        "--by",
        "place",
        "--taxon",
        "escallonia",
        "--milestone",
        "root",
    ]);
    let it = &value["comparisons"][0];
    assert!(it["arms"].as_array().unwrap().len() > 2, "{it}");
    let left = it["left_out"].as_array().unwrap();
    assert!(!left.is_empty());
    for it in left {
        has(it, "batch reason");
        assert!(it["reason"]["kind"].is_string(), "{it}");
    }
}

/// One softwood batch of four is too young to be judged, so the wood stages are compared by a day; it is said which,
/// and that hardwood had much to come after it.
#[test]
fn a_comparison_by_a_day_says_which() {
    let asked = ["--taxon", "buddleja", "--by", "wood", "--milestone", "root"];
    let value = compared(&asked);
    let it = &value["comparisons"][0];
    assert_eq!(it["basis"]["kind"], "by-day", "{it}");
    let text = it["pairs"][0]["strike"]["verdict"]["text"]
        .as_str()
        .unwrap();
    assert!(text.starts_with("By day 56, "), "{text}");
    let value = compared(&[&asked[..], &["--by-day", "29"]].concat());
    let text = &value["comparisons"][0]["pairs"][0]["strike"]["verdict"]["text"];
    assert!(text.as_str().unwrap().starts_with("By day 29, "), "{text}");
}

#[test]
fn the_text_fits_forty_columns_with_nothing_side_by_side() {
    let said = nursery()
        .wide(40)
        .struck(&["compare", "--trial", "escallonia soft or semi"])
        .done();
    for line in said.lines() {
        assert!(width(line) <= 40, "{line}");
    }
    assert!(!said.contains('\u{2026}'), "nothing is cut:\n{said}");
    insta::assert_snapshot!(said);
}

#[test]
fn a_layout_is_typed_as_it_is_printed() {
    let said = nursery()
        .wide(70)
        .struck(&[
            "lay-out",
            "escallonia",
            "--arms",
            "mist, box, frame",
            "--worth",
            "30",
            "--over",
            "bench 1, bench 2",
            "--name",
            "covers",
        ])
        .done();
    let (words, trays) = said.split_once("\n\n").unwrap();
    assert!(words.contains("3 pairs being tested"), "{words}");
    let trays: Vec<&str> = trays.lines().collect();
    assert_eq!(trays.len() % 6, 0, "{said}");
    // Each line is an entry that the program understands.
    let home = nursery();
    for tray in trays.iter().take(2) {
        let told = home.struck(&["add", "--dry-run", tray]);
        assert_eq!(told.code, 0, "{tray}: {}", told.err);
    }
    let refused = nursery().struck(&["lay-out", "escallonia", "--arms", "mist, Mist"]);
    assert_eq!(refused.code, 2, "{}", refused.err);
    assert!(refused.err.contains("two to 8 arms"), "{}", refused.err);
}

#[test]
fn the_lines_of_a_layout_bear_the_journals_own_name_and_the_trays_spot() {
    let home = nursery();
    let arguments = ["lay-out", "weigela", "--arms", "mist,box", "--batches", "2"];
    let plain = home.struck(&arguments);
    assert_eq!(plain.code, 0, "{}", plain.err);
    assert_eq!(
        plain.out.matches("stick 24 Weigela florida, trial").count(),
        4
    );
    let placed = home.struck(&[&arguments[..], &["--at", "mist bench, frame"]].concat());
    let spots = ["mist bench/1", "mist bench/2", "frame/1", "frame/2"];
    for spot in spots {
        let wanted = format!("stick 24 Weigela florida, at {spot}, trial");
        assert_eq!(placed.out.matches(&wanted).count(), 1, "{}", placed.out);
    }
    // An arm that names a fact has it in its line, and one that is a cover is remarked where another is recorded.
    let named = home.struck(&[
        "lay-out",
        "weigela",
        "--arms",
        "IBA 1000,IBA 3000",
        "--batches",
        "1",
    ]);
    assert!(
        named.out.contains("arm IBA 1000, IBA 1000\n"),
        "{}",
        named.out
    );
    let line = named
        .out
        .lines()
        .find(|line| line.contains("IBA 3000"))
        .unwrap();
    let read = home.struck(&["add", "--dry-run", line]);
    assert!(
        read.out.contains("3000"),
        "{line}: {} {}",
        read.out,
        read.err
    );
    assert!(
        placed.err.contains("Trays of arm box stand at mist bench"),
        "{}",
        placed.err
    );
    let unknown = home.struck(&["lay-out", "nosuch", "--arms", "mist,box", "--batches", "1"]);
    assert_eq!(unknown.code, 0);
    assert!(unknown.err.contains("no taxon 'nosuch'"), "{}", unknown.err);
}

#[test]
fn a_name_found_nowhere_is_told_with_those_near_it() {
    let home = nursery();
    for (arguments, near) in [
        (
            &["compare", "--trial", "escallonia"][..],
            "escallonia soft or semi",
        ),
        (&["timeline", "wiegela"], "Weigela florida"),
        (&["batches", "--place", "mist bensh"], "mist bench"),
        (&["intervals", "--taxon", "cyanothus"], ""),
    ] {
        let said = home.struck(arguments);
        assert_eq!((said.code, said.out.as_str()), (2, ""), "{arguments:?}");
        assert!(said.err.contains("The journal has no"), "{}", said.err);
        assert!(said.err.contains(near), "{}", said.err);
    }
}
