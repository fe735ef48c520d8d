//! `check` finds each planted fault and nothing else, and the catalogue for contributors is made from them.

use super::run::{Home, samples};
use serde_json::Value;
use std::fmt::Write;
use struck::words::faults;

/// Faults that no small file in the repository can show, with where they are tested.
const ELSEWHERE: [&str; 3] = ["not-a-file", "unreadable", "too-long"];

fn names_found(file: &str) -> Vec<(String, String)> {
    let said = Home::with_sample(&format!("damaged/{file}.jsonl")).struck(&["check", "--json"]);
    let value: Value = serde_json::from_str(&said.out).unwrap();
    let text = |fault: &Value, name: &str| fault[name].as_str().unwrap().to_owned();
    value["faults"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| (text(f, "name"), text(f, "reason")))
        .collect()
}

#[test]
fn each_damaged_sample_shows_its_own_fault() {
    for held in faults::ALL
        .iter()
        .filter(|held| !ELSEWHERE.contains(&held.name))
    {
        let found = names_found(held.name);
        assert!(!found.is_empty(), "{} is not found", held.name);
        // Two batches of one code are a notice in themselves, whichever entry they confuse.
        let other = |(name, _): &&(String, String)| {
            name != held.name && (held.name != "ambiguous-batch" || name != "code-twice")
        };
        assert_eq!(found.iter().find(other), None, "in {}", held.name);
    }
    let files = std::fs::read_dir(samples().join("damaged"))
        .unwrap()
        .count();
    assert_eq!(files, faults::ALL.len() - ELSEWHERE.len(), "a file a fault");
}

#[test]
fn damage_hides_no_good_line() {
    for held in faults::ALL
        .iter()
        .filter(|held| !ELSEWHERE.contains(&held.name))
    {
        let said = Home::with_sample(&format!("damaged/{}.jsonl", held.name))
            .struck(&["batches", "--json"])
            .done();
        let value: Value = serde_json::from_str(&said).unwrap();
        assert!(
            !value["batches"].as_array().unwrap().is_empty(),
            "{}",
            held.name
        );
    }
}

#[test]
fn a_damaged_line_is_settled_by_a_later_one() {
    let home = Home::with_sample("damaged/not-json.jsonl");
    let said = home.struck(&["check"]);
    assert_eq!(said.code, 3);
    let name = said
        .out
        .split("named ")
        .nth(1)
        .unwrap()
        .lines()
        .next()
        .unwrap()
        .to_owned();
    let settle = home.struck(&["add", &format!("withdraw {name}")]);
    assert_eq!(settle.code, 0, "{}", settle.err);
    let said = home.struck(&["check"]);
    assert_eq!(said.code, 0, "{}", said.out);
    assert!(said.out.contains("1 settled"), "{}", said.out);
}

#[test]
fn explain_tells_what_it_means_and_how_to_mend_it() {
    for held in faults::ALL
        .iter()
        .filter(|held| !ELSEWHERE.contains(&held.name))
    {
        let said = Home::with_sample(&format!("damaged/{}.jsonl", held.name))
            .struck(&["check", "--explain"]);
        assert!(
            said.out.contains(held.meaning) && said.out.contains(held.mend),
            "{}:\n{}",
            held.name,
            said.out
        );
    }
    insta::assert_snapshot!(
        Home::with_sample("damaged/wrong-crc.jsonl")
            .struck(&["check", "--explain"])
            .out
    );
}

/// The catalogue as the page for contributors has it.
fn catalogue() -> String {
    let mut out = String::new();
    for held in &faults::ALL {
        writeln!(out, "- **{}**. {} {}", held.name, held.meaning, held.mend).unwrap();
        match ELSEWHERE.contains(&held.name) {
            true => writeln!(
                out,
                "  (no sample: it takes a file that no repository holds)"
            )
            .unwrap(),
            false => {
                let (_, reason) = names_found(held.name)
                    .into_iter()
                    .find(|(name, _)| name == held.name)
                    .unwrap();
                writeln!(out, "  `check` on `damaged/{}.jsonl`: {reason}", held.name).unwrap();
            }
        }
    }
    out
}

#[test]
fn the_catalogue_is_made_from_the_samples() {
    let page =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/DEVELOPERS.md")).unwrap();
    let (_, rest) = page
        .split_once("<!-- catalogue, made by the test commands::checking -->\n")
        .unwrap();
    let (held, _) = rest.split_once("<!-- end of catalogue -->").unwrap();
    let made = catalogue();
    assert!(
        held == made,
        "The catalogue in DEVELOPERS.md is out of date. It should be:\n{made}"
    );
}
