//! The shape of every command's JSON on the sample journals: each key with the sorts of its values, as stored in
//! `shapes/` and explained in `src/cli/JSON.md`.

use super::pooling;
use super::run::{Home, NURSERY_NOW};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// A command's name, and what it is asked: which sample journal, and the arguments behind its name.
type Asked = (
    &'static str,
    &'static [(&'static str, &'static [&'static str])],
);

/// A logger's file, which the arguments name as `LOG`.
const LOG: &str = "time,air C,rh %,colour\n2026-08-01 09:00,20,80,red\n2026-08-01 10:00,21,,red\nnonsense,20,80,red\n";

/// Old records, which the arguments name as `OLD`.
const OLD: &str = "Code,Plant,Stuck,Date stuck,Wood,Rooted,Date counted,Colour\n23-001,Weigela,24,2023-06-05,soft tips,20,2023-07-10,red\n\
,Hebe,24,,softwood,,,\n23-002,Weigella,24,2023-06-05,softwood,30,2023-07-10,\n";

/// Enough questions of each command that every key of its answers stands in one of them.
const COMMANDS: &[Asked] = &[
    ("batches", &[("nursery", &[]), ("nursery", &["--failed"])]),
    (
        "show",
        &[("nursery", &["26-010"]), ("nursery", &["25-010"])],
    ),
    (
        "due",
        &[
            ("nursery", &["--days", "60"]),
            ("nursery", &["--on", "2025-07-25"]),
            ("nursery", &["--on", "2024-07-15"]),
        ],
    ),
    (
        "timeline",
        &[
            (
                "nursery",
                &["weigela", "--by", "wood,season", "--resamples", "19"],
            ),
            ("nursery", &["hebe", "--resamples", "19"]),
            ("damaged", &["--resamples", "19"]),
        ],
    ),
    ("season", &[("nursery", &["2025"])]),
    (
        "compare",
        &[
            ("nursery", &["--by", "wood", "--taxon", "escallonia"]),
            ("nursery", &["--trial", "choisya with and without"]),
        ],
    ),
    (
        "forecast",
        &[
            ("nursery", &["weigela"]),
            ("nursery", &["26-010", "--want", "60", "--by", "2027-05-01"]),
        ],
    ),
    (
        "plan",
        &[
            ("nursery", &[]),
            (
                "nursery",
                &["weigela", "--want", "60", "--by", "2027-09-30"],
            ),
        ],
    ),
    (
        "lay-out",
        &[
            (
                "nursery",
                &[
                    "weigela",
                    "--arms",
                    "mist, frame",
                    "--at",
                    "mist bench, frame",
                ],
            ),
            ("nursery", &["ruta", "--arms", "mist,box", "--batches", "2"]),
        ],
    ),
    ("intervals", &[("nursery", &["--taxon", "weigela"])]),
    ("check", &[("nursery", &[]), ("damaged", &[])]),
    ("climate", &[("nursery", &["mist", "bench"])]),
    ("climate batch", &[("nursery", &["25-010"])]),
    (
        "climate matters",
        &[(
            "nursery",
            &["--draws", "99", "--resamples", "19", "--taxon", "weigela"],
        )],
    ),
    (
        "climate import",
        &[("nursery", &["LOG", "--place", "mist bench"])],
    ),
    (
        "mix",
        &[
            ("nursery", &["convert", "0.3%", "--of", "IBA"]),
            (
                "nursery",
                &["thin", "1%", "3000ppm", "--make", "250ml", "--of", "K-IBA"],
            ),
            ("nursery", &["disinfect", "5.25%", "--parts", "1:9"]),
        ],
    ),
    ("cautions", &[("nursery", &[])]),
    (
        "pool timeline",
        &[("nursery", &["POOL", "--by", "cover", "--resamples", "19"])],
    ),
    ("pool curve", &[("nursery", &["--resamples", "19"])]),
    ("pool compare", &[("nursery", &["POOL", "--by", "wood"])]),
    (
        "pool expect",
        &[
            ("nursery", &["POOL"]),
            ("nursery", &["POOL", "--nursery", "nursery-00001"]),
        ],
    ),
    ("import", &[("nursery", &["OLD"])]),
];

/// Each key by its path, with the sorts of value that stand there.
#[derive(Default)]
struct Shape(BTreeMap<String, BTreeSet<&'static str>>);

impl Shape {
    fn add(&mut self, path: &str, value: &Value) {
        let sort = match value {
            Value::Null => "nothing",
            Value::Bool(_) => "yes or no",
            Value::Number(_) => "number",
            Value::String(_) => "text",
            Value::Array(items) if items.is_empty() => "list",
            Value::Object(fields) if fields.is_empty() => "object",
            Value::Array(items) => {
                let inner = format!("{path}[]");
                return items.iter().for_each(|item| self.add(&inner, item));
            }
            Value::Object(fields) => {
                let dot = if path.is_empty() { "" } else { "." };
                return fields
                    .iter()
                    .for_each(|(name, value)| self.add(&format!("{path}{dot}{name}"), value));
            }
        };
        self.0.entry(path.to_owned()).or_default().insert(sort);
    }

    fn text(&self) -> String {
        let line = |(path, sorts): (&String, &BTreeSet<&str>)| {
            let sorts: Vec<&str> = sorts.iter().copied().collect();
            format!("{path}: {}\n", sorts.join(", "))
        };
        self.0.iter().map(line).collect()
    }
}

fn answer(command: &str, sample: &str, asked: &[&str]) -> Value {
    let home = Home::with_sample(sample).at(NURSERY_NOW);
    let log = home.path().join("log.csv");
    std::fs::write(&log, LOG).unwrap();
    let old = home.path().join("old.csv");
    std::fs::write(&old, OLD).unwrap();
    let asked = asked.iter().map(|word| match *word {
        "LOG" => log.to_str().unwrap(),
        "OLD" => old.to_str().unwrap(),
        word => word,
    });
    let mut words: Vec<&str> = command.split(' ').chain(asked).chain(["--json"]).collect();
    let pool = home.path().join("pool");
    let mut fed = Vec::new();
    if command.starts_with("pool ") {
        pooling::troubled(&pool);
        let whole = pooling::published(&home.path().join("whole"), 2);
        fed = pooling::texts_below(&whole).into_bytes();
    }
    // The folders stand before what is asked of them.
    if let Some(at) = words.iter().position(|word| *word == "POOL") {
        words.remove(at);
        words.insert(1, pool.to_str().unwrap());
    }
    let said = home.struck_fed(&words, &fed);
    assert!([0, 3].contains(&said.code), "{words:?}: {}", said.err);
    serde_json::from_str(&said.out).unwrap()
}

#[test]
fn every_commands_json_has_the_stored_shape_and_its_version() {
    for (command, questions) in COMMANDS {
        let mut shape = Shape::default();
        for (sample, asked) in *questions {
            let answer = answer(command, sample, asked);
            let first = answer.as_object().unwrap().iter().next().unwrap();
            assert_eq!(first, (&"struck".to_owned(), &Value::from(1)), "{command}");
            shape.add("", &answer);
        }
        insta::with_settings!({ snapshot_path => "shapes", prepend_module_to_snapshot => false }, {
            insta::assert_snapshot!(command.replace(' ', "-"), shape.text());
        });
    }
}

/// Whether the help of a command offers JSON.
fn offers_json(home: &Home, command: &str) -> bool {
    let words: Vec<&str> = command.split(' ').chain(["--help"]).collect();
    home.struck(&words).out.contains("--json")
}

/// The commands that a help page lists.
pub fn listed(help: &str) -> Vec<String> {
    let Some((_, list)) = help.split_once("Commands:\n") else {
        return Vec::new();
    };
    list.lines()
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.strip_prefix("  ")?.split_whitespace().next())
        .filter(|word| *word != "help")
        .map(str::to_owned)
        .collect()
}

#[test]
fn no_command_with_json_is_left_out() {
    let home = Home::new().wide(200);
    let mut commands = Vec::new();
    for command in listed(&home.struck(&["--help"]).out) {
        for inner in listed(&home.struck(&[&command, "--help"]).out) {
            // The mixes give one answer, whichever is asked for.
            if command != "mix" {
                commands.push(format!("{command} {inner}"));
            }
        }
        commands.push(command);
    }
    assert!(commands.len() > 18, "{commands:?}");
    let page = concat!(env!("CARGO_MANIFEST_DIR"), "/src/cli/JSON.md");
    let page = std::fs::read_to_string(page).unwrap();
    for command in commands {
        let stored = COMMANDS.iter().any(|(name, _)| *name == command);
        assert_eq!(offers_json(&home, &command), stored, "{command}");
        let told = page.contains(&format!("## `{command}`"));
        assert_eq!(told, stored, "JSON.md on {command}");
    }
}
