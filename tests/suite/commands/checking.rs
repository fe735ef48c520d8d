//! `check` finds each planted fault and nothing else, and the catalogue for contributors is made from them.

use super::run::{Home, samples};
use serde_json::Value;
use std::fmt::Write;
use struck::text::faults;

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

/// The name that `check` gives first.
fn first_name(out: &str) -> &str {
    let (_, rest) = out.split_once("named ").unwrap();
    rest.split_whitespace().next().unwrap()
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
    let name = first_name(&said.out);
    let settle = home.struck(&["add", &format!("withdraw {name}")]);
    assert_eq!(settle.code, 0, "{}", settle.err);
    let said = home.struck(&["check"]);
    assert_eq!(said.code, 0, "{}", said.out);
    assert!(said.out.contains("1 settled"), "{}", said.out);
}

/// Faults whose advice is no line.
const BY_OTHER_MEANS: [&str; 1] = ["newer-version"];

/// What is typed for each fault, as its advice says; `NAME` is the name that `check` gives. All others are withdrawn.
const MENDED_BY: [(&str, &str); 10] = [
    (
        "ambiguous-batch",
        "amend NAME: id 01JZ0000000000000000000003",
    ),
    ("backwards", "amend NAME: rooted 7"),
    ("before-stick", "amend NAME: on 2026-06-22"),
    ("code-twice", "amend NAME: code 26-002"),
    ("day-ahead", "amend NAME: on 2026-06-23"),
    ("discard-unexplained", "amend NAME: why surplus"),
    ("more-than-remain", "amend NAME: black 2"),
    ("more-than-remain", "amend 26-001: stuck 26"),
    ("unknown-batch", "amend NAME: batch 26-001"),
    ("unknown-word", "amend NAME: wood softwood"),
];

/// The verbs and fields that an advice or a line names: `amend on`, `withdraw`.
fn act(line: &str) -> String {
    let (head, set) = line.split_once(": ").unwrap_or((line, ""));
    let word = |text: &str| text.split(' ').next().unwrap_or_default().to_owned();
    format!("{} {}", word(head), word(set))
}

#[test]
fn a_line_as_the_advice_says_it_mends_each_fault() {
    let typed = |name: &'static str| {
        let own = MENDED_BY.iter().filter(move |(fault, _)| *fault == name);
        own.map(|(_, line)| *line).chain(["withdraw NAME"])
    };
    let held = faults::ALL.iter().map(|held| (held.name, held.mend));
    let left_out = |name: &str| ELSEWHERE.contains(&name) || BY_OTHER_MEANS.contains(&name);
    for (fault, advice) in held.filter(|(name, _)| !left_out(name)) {
        for line in typed(fault) {
            let home = Home::with_sample(&format!("damaged/{fault}.jsonl"));
            let said = home.struck(&["check"]).out;
            let of_fault = said.split(&format!(" {fault}: ")).nth(1).unwrap();
            let line = line.replace("NAME", first_name(of_fault));
            let added = home.struck(&["add", &line]);
            assert_eq!(added.code, 0, "{line}: {}", added.err);
            let after = home.struck(&["check"]);
            assert!(
                !after.out.contains(&format!(" {fault}: ")) && after.code == 0,
                "{line}: {}",
                after.out
            );
        }
        let said: Vec<String> = advice.split("struck add \"").skip(1).map(act).collect();
        let first = typed(fault).next().map(act);
        assert!(
            said.contains(&first.unwrap()),
            "{fault}: {said:?} is not what was typed"
        );
    }
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
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/src/text/FAULTS.md");
    let page = std::fs::read_to_string(path).unwrap();
    let (_, rest) = page
        .split_once("<!-- catalogue, made by the test commands::checking -->\n")
        .unwrap();
    let (held, _) = rest.split_once("<!-- end of catalogue -->").unwrap();
    let made = catalogue();
    assert!(
        held == made,
        "The catalogue in src/text/FAULTS.md is out of date. It should be:\n{made}"
    );
}
