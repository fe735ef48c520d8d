//! Every table as CSV against the same command's JSON: the rows, the headings and every cell.

use super::run::nursery;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};

/// A table: what is asked, where the rows stand in the JSON, and how a path of it, its steps joined by `_`, is headed.
struct CsvTable {
    asked: &'static [&'static str],
    csv: &'static str,
    rows: fn(&Value) -> Vec<Value>,
    heading: fn(&str) -> String,
}

fn list(value: &Value, key: &str) -> Vec<Value> {
    value[key].as_array().unwrap().clone()
}

/// The fields of both, those of the second before those of the first.
fn merged(outer: &Value, inner: &Value) -> Value {
    let mut all = outer.as_object().unwrap().clone();
    all.extend(inner.as_object().cloned().unwrap_or_default());
    Value::Object(all)
}

/// Each row of a list within a list, with the fields of the outer one.
fn nested(value: &Value, outer: &str, inner: &str) -> Vec<Value> {
    list(value, outer)
        .iter()
        .flat_map(|it| {
            let mut rows = list(it, inner);
            if rows.is_empty() && inner == "offers" {
                rows.push(Value::Null);
            }
            let mut bare = it.clone();
            bare.as_object_mut().unwrap().remove(inner);
            rows.into_iter().map(move |row| merged(&bare, &row))
        })
        .collect()
}

fn plain(path: &str) -> String {
    path.to_owned()
}

fn without(path: &str, starts: &[&str]) -> String {
    let start = starts.iter().find(|start| path.starts_with(**start));
    start.map_or(path, |start| &path[start.len()..]).to_owned()
}

fn batches(path: &str) -> String {
    match path {
        "rooted_count" => "rooted_so_far".into(),
        "counts_lost" => "lost_by_cause".into(),
        _ => without(path, &["counts_"]),
    }
}

fn timeline(path: &str) -> String {
    let path = path.replace("milestones_", "").replace("days_reached_", "");
    let path = path.replace("_why_missing", "_why");
    match path.as_str() {
        "by_wood" | "by_season" => without(&path, &["by_"]),
        _ => path,
    }
}

fn kinds(path: &str) -> String {
    match path {
        "sums_lost" => "lost_by_cause".into(),
        _ => without(path, &["sums_"]),
    }
}

fn ways(path: &str) -> String {
    match path {
        "arms_0_name" => "arm".into(),
        "arms_1_name" => "against".into(),
        "difference_value" => "difference".into(),
        _ => path.replace("arms_0", "arm").replace("arms_1", "against"),
    }
}

fn days(path: &str) -> String {
    match path {
        "vpd_range_kpa_0" => "vpd_least_kpa".into(),
        "vpd_range_kpa_1" => "vpd_most_kpa".into(),
        _ => plain(path),
    }
}

fn lived(path: &str) -> String {
    path.replace("range_0", "least").replace("range_1", "most")
}

fn ties(path: &str) -> String {
    path.replace("range_0", "low").replace("range_1", "high")
}

fn arms(path: &str) -> String {
    match path {
        "name" => "arm".into(),
        "basis_kind" => "basis".into(),
        _ => path.replace("days_interval_", "days_"),
    }
}

fn pairs(path: &str) -> String {
    match path {
        "arms_0" => "arm".into(),
        "arms_1" => "against".into(),
        "replicates_0" => "replicates_arm".into(),
        "replicates_1" => "replicates_against".into(),
        "basis_kind" => "basis".into(),
        _ => path
            .replace("difference_value", "difference")
            .replace("difference_low", "low")
            .replace("difference_high", "high")
            .replace("permutation_", "")
            .replace("verdict_kind", "verdict")
            .replace("verdict_batches", "batches"),
    }
}

const TABLES: [CsvTable; 17] = [
    CsvTable {
        asked: &["batches", "--sort", "rooted"],
        csv: "--csv",
        rows: |all| list(all, "batches"),
        heading: batches,
    },
    CsvTable {
        asked: &["batches", "--failed"],
        csv: "--csv",
        rows: |all| list(all, "batches"),
        heading: batches,
    },
    CsvTable {
        asked: &["timeline", "escallonia", "--resamples", "19"],
        csv: "--csv",
        rows: |all| list(all, "groups"),
        heading: timeline,
    },
    CsvTable {
        asked: &[
            "timeline",
            "weigela",
            "--by",
            "wood,season",
            "--resamples",
            "19",
        ],
        csv: "--csv",
        rows: |all| list(all, "groups"),
        heading: timeline,
    },
    CsvTable {
        asked: &["due", "--days", "60"],
        csv: "--csv",
        rows: |all| [list(all, "due"), list(all, "coming")].concat(),
        heading: |path| path.replace("reasons_rule", "reasons"),
    },
    CsvTable {
        asked: &["forecast"],
        csv: "--csv",
        rows: |all| list(all, "batches"),
        heading: |path| path.replace("failing_rule", "failing"),
    },
    CsvTable {
        asked: &["climate", "--since", "2026-01-01"],
        csv: "--csv",
        rows: |all| nested(all, "places", "days"),
        heading: days,
    },
    CsvTable {
        asked: &["climate", "batch", "25-010"],
        csv: "--csv",
        rows: |all| list(all, "batches"),
        heading: lived,
    },
    CsvTable {
        asked: &[
            "climate",
            "matters",
            "--draws",
            "99",
            "--resamples",
            "19",
            "--taxon",
            "weigela",
        ],
        csv: "--csv",
        rows: |all| nested(all, "groups", "ties"),
        heading: ties,
    },
    CsvTable {
        asked: &["plan"],
        csv: "--csv",
        rows: |all| nested(all, "plans", "offers"),
        heading: |path| path.replace("in_hand_batches_batch", "in_hand_batches"),
    },
    CsvTable {
        asked: &["plan", "weigela", "--want", "60", "--by", "2027-09-30"],
        csv: "--csv",
        rows: |all| nested(all, "plans", "offers"),
        heading: |path| path.replace("in_hand_batches_batch", "in_hand_batches"),
    },
    CsvTable {
        asked: &["season", "2025"],
        csv: "--csv",
        rows: |all| list(all, "kinds"),
        heading: kinds,
    },
    CsvTable {
        asked: &["season", "2025"],
        csv: "--csv=wanted",
        rows: |all| list(all, "wanted"),
        heading: plain,
    },
    CsvTable {
        asked: &["season", "2025"],
        csv: "--csv=ways",
        rows: |all| list(all, "ways"),
        heading: ways,
    },
    CsvTable {
        asked: &[
            "compare", "--by", "wood", "--taxon", "hebe", "--by-day", "60",
        ],
        csv: "--csv",
        rows: |all| nested(all, "comparisons", "arms"),
        heading: arms,
    },
    CsvTable {
        asked: &["compare", "--trial", "choisya with and without"],
        csv: "--csv=pairs",
        rows: |all| nested(all, "comparisons", "pairs"),
        heading: pairs,
    },
    CsvTable {
        asked: &["intervals", "--taxon", "hebe"],
        csv: "--csv",
        rows: |all| list(all, "intervals"),
        heading: plain,
    },
];

/// Every value of a row by its heading. A list and an object stand whole as well, as one cell; so does the same key of
/// every object of a list.
fn cells(row: &Value, heading: fn(&str) -> String) -> BTreeMap<String, String> {
    fn in_words(value: &Value) -> String {
        match value {
            Value::Null => String::new(),
            Value::String(text) => text.clone(),
            Value::Array(items) => items.iter().map(in_words).collect::<Vec<_>>().join("; "),
            Value::Object(fields) => {
                let each = fields.iter().map(|(k, v)| format!("{k} {}", in_words(v)));
                each.collect::<Vec<_>>().join("; ")
            }
            other => other.to_string(),
        }
    }
    fn walk(path: &str, value: &Value, found: &mut Map<String, Value>) {
        let below = |step: &str| match path {
            "" => step.to_owned(),
            _ => format!("{path}_{step}"),
        };
        found.insert(path.to_owned(), in_words(value).into());
        match value {
            Value::Object(fields) => fields.iter().for_each(|(k, v)| walk(&below(k), v, found)),
            Value::Array(items) => {
                let of_objects: BTreeSet<&String> = items
                    .iter()
                    .filter_map(Value::as_object)
                    .flat_map(Map::keys)
                    .collect();
                for key in of_objects {
                    let each: Value = items.iter().map(|item| item[key].clone()).collect();
                    found.insert(below(key), in_words(&each).into());
                }
                for (at, item) in items.iter().enumerate() {
                    walk(&below(&at.to_string()), item, found);
                }
            }
            _ => {}
        }
    }
    let mut found = Map::new();
    walk("", row, &mut found);
    let named = found.into_iter();
    // Of two of one heading the deeper is meant: `counts.lost` gave way to `lost` by its own name.
    named
        .map(|(path, text)| (heading(&path), text.as_str().unwrap().to_owned()))
        .collect()
}

#[test]
fn every_table_as_csv_holds_what_its_json_holds() {
    let home = nursery();
    let mut compared = 0;
    for table in &TABLES {
        let ask = |form: &str| home.struck(&[table.asked, &[form]].concat()).done();
        let what = format!("struck {:?} {}", table.asked, table.csv);
        let json: Value = serde_json::from_str(&ask("--json")).unwrap();
        let expected: Vec<BTreeMap<String, String>> = (table.rows)(&json)
            .iter()
            .map(|row| cells(row, table.heading))
            .collect();
        let written = ask(table.csv);
        let mut reader = csv::Reader::from_reader(written.as_bytes());
        let headings: Vec<String> = reader.headers().unwrap().iter().map(String::from).collect();
        let each: BTreeSet<&String> = headings.iter().collect();
        assert_eq!(each.len(), headings.len(), "{what}: a heading twice");
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert!(!rows.is_empty(), "{what}");
        assert_eq!(rows.len(), expected.len(), "{what}");
        for (at, heading) in headings.iter().enumerate() {
            let is_reason = heading.ends_with("_why") || heading.ends_with("_missing");
            let ends = ["_least", "_most", "_low", "_high"];
            let is_end = ends.iter().any(|end| heading.ends_with(end));
            let known = expected.iter().any(|row| row.contains_key(heading));
            // A range that is null has no ends to be known by.
            assert!(
                known || is_reason || is_end,
                "{what}: {heading} is not in the JSON"
            );
            for (row, held) in rows.iter().zip(&expected) {
                let cell = &row[at];
                match held.get(heading) {
                    Some(value) => assert!(
                        cell == value
                            || cell.strip_prefix('\'') == Some(value)
                            || is_near(cell, value),
                        "{what}, {heading}: {cell} for {value}"
                    ),
                    // The reason of a whole figure stands for each of its parts.
                    None => assert!(cell.is_empty() || is_reason, "{what}, {heading}: {cell}"),
                }
                compared += 1;
            }
        }
        reasons(&what, &headings, &rows);
    }
    assert!(compared > 10_000, "only {compared} cells");
}

/// The weights of intervals stand in full; the JSON rounds them.
fn is_near(cell: &str, value: &str) -> bool {
    let (Ok(cell), Ok(value)) = (cell.parse::<f64>(), value.parse::<f64>()) else {
        return false;
    };
    (cell - value).abs() <= 1e-8 * value.abs()
}

/// An empty figure that has a column of reasons has one, and a figure has none.
fn reasons(what: &str, headings: &[String], rows: &[csv::StringRecord]) {
    for (at, heading) in headings.iter().enumerate() {
        let figure = match heading.strip_suffix("_missing") {
            Some(of) => headings
                .iter()
                .position(|it| *it == of || *it == format!("{of}_value")),
            None => heading
                .strip_suffix("_why")
                .and_then(|of| headings.iter().position(|it| it == of)),
        };
        for row in rows.iter().filter(|_| figure.is_some()) {
            let figure = &row[figure.unwrap_or_default()];
            assert_ne!(
                figure.is_empty(),
                row[at].is_empty(),
                "{what}, {heading}: {figure} with the reason '{}'",
                &row[at]
            );
        }
    }
}

#[test]
fn no_text_of_the_journal_is_run_by_a_spreadsheet_from_any_table() {
    let home = super::hostile::hostile_home();
    let mut cells = 0;
    for table in &TABLES[..8] {
        let asked: Vec<&str> = match table.asked[0] {
            "climate" => vec!["climate", table.csv],
            command => vec![command, table.csv],
        };
        let said = home.struck(&asked);
        assert_eq!(said.code, 0, "{asked:?}: {}", said.err);
        for row in csv::Reader::from_reader(said.out.as_bytes()).records() {
            for cell in &row.unwrap() {
                let starts = cell.trim_start().starts_with(['=', '+', '-', '@', '\t']);
                assert!(cell.parse::<f64>().is_ok() || !starts, "{asked:?}: {cell}");
                cells += 1;
            }
        }
    }
    assert!(cells > 100, "only {cells}");
}
