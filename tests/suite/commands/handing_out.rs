//! `export`, `completions` and `man`: what is handed out, whole or not at all.

use super::run::{Home, NURSERY_NOW, nursery};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::process::Command;

const TABLES: [&str; 11] = [
    "batches",
    "looks",
    "events",
    "losses",
    "intervals",
    "climate_readings",
    "climate_days",
    "timeline",
    "targets",
    "taxa",
    "places",
];

type Rows = Vec<BTreeMap<String, String>>;

fn rows(folder: &Path, table: &str) -> Rows {
    let mut reader = csv::Reader::from_path(folder.join(format!("{table}.csv"))).unwrap();
    let names = reader.headers().unwrap().clone();
    let row = |record: csv::StringRecord| {
        names
            .iter()
            .zip(record.iter())
            .map(|(name, cell)| (name.to_owned(), cell.to_owned()))
            .collect()
    };
    reader
        .records()
        .map(|record| row(record.unwrap()))
        .collect()
}

fn descriptor(folder: &Path) -> serde_json::Value {
    serde_json::from_str(&fs::read_to_string(folder.join("datapackage.json")).unwrap()).unwrap()
}

/// The tables agree with one another, with the descriptor, and with what the commands print.
#[test]
fn the_tables_are_whole_and_agree() {
    let home = nursery();
    let folder = home.path().join("figures");
    let said = home.struck(&["export", folder.to_str().unwrap(), "--resamples", "19"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let package = descriptor(&folder);
    assert_eq!(package["created"], NURSERY_NOW);
    let resources = package["resources"].as_array().unwrap();
    let names: Vec<&str> = resources
        .iter()
        .map(|one| one["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, TABLES);
    for resource in resources {
        let path = folder.join(resource["path"].as_str().unwrap());
        let bytes = fs::read(&path).unwrap();
        assert_eq!(resource["bytes"], bytes.len(), "{}", path.display());
        let fields = resource["schema"]["fields"].as_array().unwrap();
        let told: Vec<&str> = fields
            .iter()
            .map(|field| field["name"].as_str().unwrap())
            .collect();
        let heading = String::from_utf8(bytes).unwrap();
        assert_eq!(heading.lines().next().unwrap(), told.join(","));
        assert!(
            fields
                .iter()
                .all(|field| !field["description"].as_str().unwrap().is_empty())
        );
    }
    let batches = rows(&folder, "batches");
    let listed: serde_json::Value =
        serde_json::from_str(&home.struck(&["batches", "--json"]).done()).unwrap();
    let listed = listed["batches"].as_array().unwrap();
    assert_eq!(batches.len(), listed.len());
    for (row, told) in batches.iter().zip(listed) {
        assert_eq!(row["batch_id"], told["stick"].as_str().unwrap());
        assert_eq!(row["lost"], told["lost"].to_string());
        assert_eq!(row["outcome"], told["outcome"].as_str().unwrap());
        assert_eq!(row["potted"], told["counts"]["potted"].to_string());
    }
    let keys: BTreeSet<&str> = batches.iter().map(|row| row["batch_id"].as_str()).collect();
    for table in ["looks", "losses", "intervals"] {
        let rows = rows(&folder, table);
        assert!(rows.len() > 50, "{table}: {}", rows.len());
        assert!(
            rows.iter()
                .all(|row| keys.contains(row["batch_id"].as_str())),
            "{table}"
        );
    }
    // Every cutting stuck has one fate for each milestone.
    let mut weights: BTreeMap<(String, String), f64> = BTreeMap::new();
    for row in rows(&folder, "intervals") {
        let key = (row["batch_id"].clone(), row["milestone"].clone());
        *weights.entry(key).or_default() += row["cuttings"].parse::<f64>().unwrap();
    }
    let stuck: BTreeMap<&str, f64> = batches
        .iter()
        .map(|row| (row["batch_id"].as_str(), row["stuck"].parse().unwrap()))
        .collect();
    for ((batch, milestone), weight) in weights {
        assert!(
            (weight - stuck[batch.as_str()]).abs() < 1e-6,
            "{batch} {milestone}: {weight}"
        );
    }
}

/// What was lost by the table of losses is what the batches say, cause by cause.
#[test]
fn losses_add_up_to_what_the_batches_say() {
    let home = nursery();
    let folder = home.path().join("figures");
    assert_eq!(
        home.struck(&["export", folder.to_str().unwrap(), "--resamples", "0"])
            .code,
        0
    );
    let causes = [
        "blackened",
        "wilted",
        "mould",
        "eaten",
        "winter",
        "other",
        "unknown",
    ];
    let mut sums: BTreeMap<(String, String), u32> = BTreeMap::new();
    for row in rows(&folder, "losses") {
        if row["from"] == "bench" {
            *sums
                .entry((row["batch_id"].clone(), row["cause"].clone()))
                .or_default() += row["count"].parse::<u32>().unwrap();
        }
    }
    for batch in rows(&folder, "batches") {
        for cause in causes {
            let told: u32 = batch[&format!("lost_{cause}")].parse().unwrap();
            let key = (batch["batch_id"].clone(), cause.to_owned());
            assert_eq!(
                sums.get(&key).copied().unwrap_or(0),
                told,
                "{} {cause}",
                batch["batch"]
            );
        }
    }
}

/// An earlier export is replaced whole; any other folder is left alone, and nothing is left aside.
#[test]
fn only_an_earlier_export_is_replaced() {
    let home = Home::with_sample("first-days");
    let folder = home.path().join("figures");
    let path = folder.to_str().unwrap();
    for _ in 0..2 {
        assert_eq!(home.struck(&["export", path]).code, 0);
    }
    let before = fs::read(folder.join("batches.csv")).unwrap();
    fs::write(folder.join("mine.txt"), "mine").unwrap();
    let said = home.struck(&["export", path, "--spreadsheet-safe"]);
    assert!(
        said.code == 1 && said.err.contains("mine.txt") && said.err.contains("Nothing was written"),
        "{}",
        said.err
    );
    assert_eq!(fs::read(folder.join("mine.txt")).unwrap(), b"mine");
    assert_eq!(fs::read(folder.join("batches.csv")).unwrap(), before);
    let other = home.path().join("photos");
    fs::create_dir(&other).unwrap();
    fs::write(other.join("bench.png"), "x").unwrap();
    assert_eq!(home.struck(&["export", other.to_str().unwrap()]).code, 1);
    let left: Vec<String> = fs::read_dir(home.path())
        .unwrap()
        .map(|item| item.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".new") || name.ends_with(".old"))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

/// Text that a spreadsheet would run is as written, or marked where that is asked for.
#[test]
fn text_is_as_written_or_marked_on_request() {
    let home = Home::new();
    let said = home.struck(&["add", "stick 24 Weigela florida, in =1+1"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let folder = home.path().join("plain");
    assert_eq!(home.struck(&["export", folder.to_str().unwrap()]).code, 0);
    assert_eq!(rows(&folder, "batches")[0]["medium"], "=1+1");
    let marked = home.path().join("marked");
    assert_eq!(
        home.struck(&["export", marked.to_str().unwrap(), "--spreadsheet-safe"])
            .code,
        0
    );
    assert_eq!(rows(&marked, "batches")[0]["medium"], "'=1+1");
    assert!(
        fs::read_to_string(marked.join("README.md"))
            .unwrap()
            .contains("Marked for spreadsheets")
    );
}

/// What every file of a small package says, so that no figure moves unseen.
#[test]
fn a_small_package_is_as_stored() {
    let home = Home::with_sample("first-days");
    let folder = home.path().join("figures");
    let said = home.struck(&["export", folder.to_str().unwrap()]);
    let mut out = format!("{}{}", said.out, said.err);
    for name in [
        "README.md",
        "batches.csv",
        "looks.csv",
        "events.csv",
        "losses.csv",
        "intervals.csv",
        "timeline.csv",
    ] {
        out.push_str(&format!(
            "=== {name}\n{}\n",
            fs::read_to_string(folder.join(name)).unwrap()
        ));
    }
    insta::assert_snapshot!(out);
}

/// The dictionary names every field.
#[test]
fn the_dictionary_is_as_stored() {
    let home = Home::with_sample("first-days");
    let folder = home.path().join("figures");
    assert_eq!(
        home.struck(&["export", folder.to_str().unwrap(), "--resamples", "0"])
            .code,
        0
    );
    insta::assert_snapshot!(fs::read_to_string(folder.join("dictionary.md")).unwrap());
}

/// The scripts hold every command, and bash takes its own.
#[test]
fn completions_hold_every_command_and_bash_reads_them() {
    let home = Home::new().wide(200);
    let help = home.struck(&["--help"]).done();
    let list = help.split_once("Commands:\n").unwrap().1;
    let commands: Vec<&str> = list
        .lines()
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.strip_prefix("  ")?.split_whitespace().next())
        .collect();
    assert!(commands.len() > 18, "{commands:?}");
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = home.struck(&["completions", shell]).done();
        for command in &commands {
            assert!(script.contains(command), "{shell}: {command}");
        }
        if shell == "bash" {
            let path = home.path().join("struck.bash");
            fs::write(&path, script).unwrap();
            let read = Command::new("bash").arg("-n").arg(&path).output().unwrap();
            assert!(read.status.success() && read.stderr.is_empty(), "{read:?}");
        }
    }
    assert_eq!(home.struck(&["completions", "abacus"]).code, 2);
}

/// A page a command, each with its name, its use and its options.
#[test]
fn every_command_has_a_manual_page() {
    let home = Home::new();
    let folder = home.path().join("man");
    let said = home.struck(&["man", folder.to_str().unwrap()]);
    assert_eq!(said.code, 0, "{}", said.err);
    for name in said.out.lines() {
        let page = fs::read_to_string(folder.join(name)).unwrap();
        assert!(
            page.contains(".SH NAME") && page.contains(".SH SYNOPSIS"),
            "{name}"
        );
        if let Ok(read) = Command::new("man")
            .args(["--warnings=all", "-l", "--pager=cat"])
            .arg(folder.join(name))
            .output()
        {
            let text = String::from_utf8_lossy(&read.stdout);
            assert!(
                read.status.success() && (text.contains("SYNOPSIS") || text.is_empty()),
                "{name}: {read:?}"
            );
        }
    }
    insta::assert_snapshot!(said.out);
}
