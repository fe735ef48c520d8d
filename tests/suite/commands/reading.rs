//! The reading commands on the sample journals: tables at several widths, JSON that repeats to the byte, exit codes.

use super::run::{Home, nursery};
use serde_json::Value;

#[test]
fn the_first_days_print_true_timelines() {
    insta::assert_snapshot!(Home::with_sample("first-days").struck(&["timeline"]).done());
    insta::assert_snapshot!(
        Home::with_sample("first-days")
            .struck(&["timeline", "weigela"])
            .done()
    );
    insta::assert_snapshot!(
        Home::with_sample("first-days")
            .struck(&["show", "1"])
            .done()
    );
    insta::assert_snapshot!(Home::with_sample("first-days").struck(&["batches"]).done());
}

#[test]
fn tables_fit_the_width() {
    for width in [40, 60, 80, 120, 160] {
        for command in [
            &["timeline", "--resamples", "0"][..],
            &["batches"],
            &["timeline", "--by", "wood,cover", "--resamples", "0"],
        ] {
            let said = nursery().wide(width).struck(command).done();
            let table = said.split("\n\n").next().unwrap();
            for line in table.lines() {
                assert!(struck::text::clean::width(line) <= width, "{width}: {line}");
            }
        }
    }
    insta::assert_snapshot!(nursery().struck(&["timeline", "--resamples", "0"]).done());
    insta::assert_snapshot!(
        nursery()
            .wide(40)
            .struck(&["timeline", "camellia", "--resamples", "0"])
            .done()
    );
}

#[test]
fn ascii_is_ascii() {
    for command in [
        &["--ascii", "batches"][..],
        &["--ascii", "timeline", "--resamples", "0"],
        &["--ascii", "show", "26-007"],
    ] {
        assert!(nursery().struck(command).done().is_ascii());
    }
}

#[test]
fn json_repeats_to_the_byte_whatever_the_files_are_called() {
    let home = nursery();
    let once = home
        .struck(&["timeline", "--json", "--resamples", "49", "--by", "wood"])
        .done();
    assert_eq!(
        once,
        home.struck(&["timeline", "--json", "--resamples", "49", "--by", "wood"])
            .done()
    );
    for (number, item) in std::fs::read_dir(home.journal()).unwrap().enumerate() {
        let path = item.unwrap().path();
        if path.extension().is_some_and(|e| e == "jsonl") {
            std::fs::rename(&path, path.with_file_name(format!("{}.jsonl", 9 - number))).unwrap();
        }
    }
    assert_eq!(
        once,
        home.struck(&["timeline", "--json", "--resamples", "49", "--by", "wood"])
            .done()
    );
}

#[test]
fn timeline_json_has_the_documented_shape() {
    let said = nursery()
        .struck(&[
            "timeline",
            "--json",
            "--resamples",
            "19",
            "--seed",
            "7",
            "--by",
            "wood",
        ])
        .done();
    let value: Value = serde_json::from_str(&said).unwrap();
    let keys = |value: &Value| {
        value
            .as_object()
            .unwrap()
            .keys()
            .cloned()
            .collect::<Vec<_>>()
            .join(" ")
    };
    assert_eq!(
        keys(&value),
        "struck unread as_of level seed resamples correlations groups skipped"
    );
    assert_eq!(
        (value["seed"].as_u64(), value["resamples"].as_u64()),
        (Some(7), Some(19))
    );
    let groups = value["groups"].as_array().unwrap();
    assert!(groups.len() > 20);
    for group in groups {
        assert_eq!(
            keys(group),
            "taxon by batches replicates stuck lost watched strike yield milestones cautions"
        );
        assert_eq!(keys(&group["milestones"]), "callus root bottom");
        for milestone in group["milestones"].as_object().unwrap().values() {
            assert_eq!(keys(milestone), "curve lost later gap reached days");
            let mass = |list: &Value| {
                list.as_array()
                    .unwrap()
                    .iter()
                    .map(|m| m["mass"].as_f64().unwrap())
                    .sum::<f64>()
            };
            let total = mass(&milestone["curve"])
                + mass(&milestone["lost"])
                + milestone["later"].as_f64().unwrap();
            assert!((total - 1.0).abs() < 1e-6, "{total}");
            assert!(milestone["gap"].as_f64().unwrap() <= 1e-8);
            for name in ["all", "reached"] {
                assert_eq!(keys(&milestone["days"][name]), "p10 p50 p90");
            }
        }
        nulls_have_reasons(group);
    }
}

/// Every null figure of a group says why: a whole one beside its value, an end of a range or a day under its own name.
fn nulls_have_reasons(group: &Value) {
    fn walk(value: &Value, path: &str) {
        let Value::Object(fields) = value else { return };
        for (name, inner) in fields {
            let why = match name.as_str() {
                "value" => &value["missing"],
                _ => &value[format!("{name}_why")]["missing"],
            };
            assert!(
                !inner.is_null() || why.is_string(),
                "{path}.{name} is null without a reason"
            );
            walk(inner, &format!("{path}.{name}"));
        }
    }
    for name in ["strike", "yield", "milestones"] {
        walk(&group[name], name);
    }
}

#[test]
fn intervals_are_csv_whose_weights_sum_to_what_was_stuck() {
    let said = nursery()
        .struck(&["intervals", "--csv", "--taxon", "weigela"])
        .done();
    let mut reader = csv::Reader::from_reader(said.as_bytes());
    let heads = reader
        .headers()
        .unwrap()
        .iter()
        .collect::<Vec<_>>()
        .join(",");
    assert_eq!(
        heads,
        "batch,stick,taxon,wood,season,place,trial,arm,replicate,milestone,left,right,weight,status"
    );
    let mut weights = std::collections::BTreeMap::new();
    for record in reader.records() {
        let record = record.unwrap();
        assert_eq!(record[11].is_empty(), &record[13] == "not-yet");
        *weights
            .entry((record[1].to_owned(), record[9].to_owned()))
            .or_insert(0.0) += record[12].parse::<f64>().unwrap();
    }
    let batches: Value = serde_json::from_str(
        &nursery()
            .struck(&["batches", "--json", "--taxon", "weigela"])
            .done(),
    )
    .unwrap();
    for batch in batches["batches"].as_array().unwrap() {
        for milestone in ["callus", "root", "bottom"] {
            let Some(sum) = weights.get(&(
                batch["stick"].as_str().unwrap().to_owned(),
                milestone.to_owned(),
            )) else {
                continue;
            };
            assert!(
                (sum - batch["counts"]["stuck"].as_f64().unwrap()).abs() < 1e-6,
                "{batch}"
            );
        }
    }
}

#[test]
fn the_filters_are_shared() {
    let count = |arguments: &[&str]| -> usize {
        let value: Value = serde_json::from_str(&nursery().struck(arguments).done()).unwrap();
        value["batches"].as_array().unwrap().len()
    };
    let all = count(&["batches", "--json"]);
    let soft = count(&["batches", "--json", "--wood", "softwood"]);
    let by_season: usize = (2023..=2026)
        .map(|y| count(&["batches", "--json", "--season", &y.to_string()]))
        .sum();
    assert!(0 < soft && soft < all && all >= 150, "{soft} of {all}");
    assert_eq!(by_season, all);
    assert_eq!(
        count(&[
            "batches",
            "--json",
            "--since",
            "2024-01-01",
            "--until",
            "2024-12-31"
        ]),
        count(&["batches", "--json", "--season", "2024"])
    );
    assert!(count(&["batches", "--json", "--place", "mist bench"]) > 10);
    assert_eq!(
        count(&["batches", "--json", "--taxon", "laurustinus"]),
        count(&["batches", "--json", "--taxon", "Viburnum tinus"])
    );
}

#[test]
fn batches_are_sorted_and_given_as_csv_as_in_json() {
    let home = nursery();
    let answer = |arguments: &[&str]| -> Vec<Value> {
        let all = [&["batches", "--json"], arguments].concat();
        let value: Value = serde_json::from_str(&home.struck(&all).done()).unwrap();
        value["batches"].as_array().unwrap().clone()
    };
    let rooted = |batch: &Value| batch["rooted"]["share"].as_f64();
    let sorted: Vec<f64> = answer(&["--sort", "rooted"])
        .iter()
        .filter_map(rooted)
        .collect();
    assert!(sorted.len() > 100 && sorted.is_sorted(), "{sorted:?}");
    let lost: Vec<u64> = answer(&["--sort", "lost"])
        .iter()
        .map(|batch| batch["lost"].as_u64().unwrap())
        .collect();
    assert!(lost[0] > 0 && lost.iter().rev().is_sorted(), "{lost:?}");
    let all = answer(&["--sort", "code"]);
    for batch in &all {
        let counts = &batch["counts"];
        let sum: u64 = counts["lost"]
            .as_object()
            .unwrap()
            .values()
            .map(|count| count.as_u64().unwrap())
            .sum();
        assert_eq!(batch["lost"], sum, "{batch}");
        assert_eq!(batch["open"], batch["outcome"] == "open", "{batch}");
        assert_ne!(
            batch["rooted"]["share"].is_null(),
            batch["rooted"]["missing"].is_null()
        );
        if let Some(share) = rooted(batch) {
            let stuck = counts["stuck"].as_f64().unwrap();
            let count = batch["rooted"]["count"].as_f64().unwrap();
            assert!((share - count / stuck).abs() < 1e-8, "{batch}");
        }
    }
    let csv = home.struck(&["batches", "--csv", "--sort", "code"]).done();
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let rows: Vec<std::collections::BTreeMap<String, String>> =
        reader.deserialize().map(Result::unwrap).collect();
    assert_eq!(rows.len(), all.len());
    for (row, batch) in rows.iter().zip(&all) {
        assert_eq!(batch["batch"], row["batch"]);
        assert_eq!(batch["outcome"], row["outcome"]);
        assert_eq!(batch["lost"].to_string(), row["lost"]);
        assert_eq!(batch["counts"]["potted"].to_string(), row["potted"]);
        assert_eq!(rooted(batch).is_none(), row["rooted_share"].is_empty());
    }
}

#[test]
fn failed_batches_stand_with_their_losses_and_their_air() {
    let said = nursery().struck(&["batches", "--failed", "--json"]).done();
    let value: Value = serde_json::from_str(&said).unwrap();
    let failed = value["batches"].as_array().unwrap();
    assert!(!failed.is_empty());
    let rooted_share = |batch: &Value| batch["rooted"]["share"].as_f64().unwrap_or(0.0);
    for batch in failed {
        assert_eq!(batch["open"], false, "{batch}");
        assert!(rooted_share(batch) < 0.5, "{batch}");
        let days: u64 = batch["air_days"]
            .as_object()
            .unwrap()
            .values()
            .map(|count| count.as_u64().unwrap())
            .sum();
        // Both the day of sticking and the last day are days of its stay.
        assert_eq!(days, batch["day"].as_u64().unwrap() + 1, "{batch}");
    }
    insta::assert_snapshot!(nursery().struck(&["batches", "--failed"]).done());
    insta::assert_snapshot!(
        nursery()
            .wide(40)
            .struck(&["batches", "--failed", "--taxon", "camellia"])
            .done()
    );
}

#[test]
fn exit_codes_are_as_documented() {
    assert_eq!(nursery().struck(&["check"]).code, 0);
    assert_eq!(nursery().struck(&["show", "26-999"]).code, 1);
    assert_eq!(nursery().struck(&["timeline", "--by", "colour"]).code, 2);
    assert_eq!(nursery().struck(&["no-such-command"]).code, 2);
    assert_eq!(
        Home::with_sample("damaged/not-json.jsonl")
            .struck(&["check"])
            .code,
        3
    );
    assert_eq!(
        Home::with_sample("damaged/code-twice.jsonl")
            .struck(&["check"])
            .code,
        0
    );
    assert_eq!(
        Home::with_sample("damaged/code-twice.jsonl")
            .struck(&["check", "--strict"])
            .code,
        3
    );
    let said = Home::new().struck(&["timeline"]);
    assert_eq!(said.code, 1);
    assert!(
        said.err.contains("struck add"),
        "an absent journal says how to begin: {}",
        said.err
    );
}

#[test]
fn in_a_pipe_there_is_no_progress() {
    let said = nursery().struck(&["timeline", "--resamples", "99"]);
    assert_eq!(said.err, "");
    assert!(!said.out.contains('\r') && !said.out.contains('\u{1b}'));
}

#[test]
fn notes_under_timelines_fit_the_width() {
    for width in [40, 80] {
        for command in [&["timeline"][..], &["timeline", "weigela"]] {
            let said = nursery().wide(width).struck(command).done();
            let notes = said.split_once("In brackets").unwrap().1;
            for line in notes.lines() {
                assert!(struck::text::clean::width(line) <= width, "{line}");
            }
        }
    }
}

#[test]
fn stages_told_by_a_part_looked_at_say_by_how_large_a_part() {
    let home = Home::new();
    home.struck(&["add", "stick 24 Weigela florida"]);
    home.struck(&["add", "look 001: seen 5, rooted 5"]);
    let said = home.struck(&["show", "001"]).done();
    assert!(said.contains("24 rooted (by 5 of 24 looked at)"), "{said}");
    home.struck(&["add", "look 001: rooted 6"]);
    let said = home.struck(&["show", "001"]).done();
    assert!(!said.contains("looked at)"), "{said}");
}
