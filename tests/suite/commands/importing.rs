//! `import`: tables of old records of many shapes, what became of every row; one import, taken back, repeated, and
//! made on two machines. The tables are of our own making.

use super::run::{Home, Said};
use std::fs;
use std::path::{Path, PathBuf};

/// Tables as text: a name, and the bytes.
fn text_shapes() -> Vec<(&'static str, Vec<u8>)> {
    let utf16 = |text: &str| {
        let mut bytes = vec![0xff, 0xfe];
        bytes.extend(text.encode_utf16().flat_map(u16::to_le_bytes));
        bytes
    };
    let latin = |text: &str| {
        text.chars()
            .map(|c| u32::from(c) as u8)
            .collect::<Vec<u8>>()
    };
    vec![
        (
            "german-semicolons.csv",
            latin(
                "Pflanze;Anzahl;Gesteckt;Bewurzelt;Bemerkung\r\n\
                 Weigela florida;24;05.06.2023;20;schön\r\n\
                 Lavandula angustifolia;50;21.08.2023;41;k\u{fc}hl, na\u{df}\r\n",
            ),
        ),
        (
            "tabs-utf16.tsv",
            utf16("Plant\tCuttings\tDate stuck\tType\nChoisya ternata\t30\t14 Aug 2023\tsemi-ripe\n"),
        ),
        (
            "ambiguous-days.csv",
            b"plant,stuck,date\nWeigela,24,3/4/2023\nEscallonia,30,5/6/2023\n".to_vec(),
        ),
        (
            "month-first.csv",
            b"plant,stuck,date\nWeigela,24,6/4/2023\nEscallonia,30,6/25/2023\n".to_vec(),
        ),
        (
            "names-apart.csv",
            b"Genus,Species,Cultivar,Qty,Date taken,Percent rooted,Date counted\n\
              Lavandula,angustifolia,\"'Hidcote'\",50,2022-08-20,82%,2022-10-10\n\
              Ceanothus,thyrsiflorus,,36,2022-08-22,50%,2022-10-10\n\
              ,,,12,2022-08-23,50%,2022-10-10\n"
                .to_vec(),
        ),
        (
            "serial-days.csv",
            b"Plant,No,Date stuck,Date potted,No potted\nFuchsia,60,44378,44411,52\n".to_vec(),
        ),
        (
            "title-above.csv",
            b"Cuttings 2022\n\nTray no,Plant,Number stuck,Stuck on,Rooted,Rotted,Checked\n\
              A1,Philadelphus,18,9 June 2022,12,4,30 June 2022\n\
              A2,Philadelphus,18,9 June 2022,15,4,30 June 2022\n"
                .to_vec(),
        ),
        (
            "no-count-day.csv",
            b"Plant,Stuck,Date stuck,Rooted,Dead\nWeigela,24,2021-06-05,20,4\nDeutzia,24,,18,6\n".to_vec(),
        ),
        (
            "quoted-lines.csv",
            b"Plant|Stuck|Date stuck|Notes\nWeigela|two dozen|2021-06-05|\"first line\nsecond, \"\"quoted\"\"\"\nDeutzia|24|2021-06-06|=1+1\n"
                .to_vec(),
        ),
        (
            "no-heading.csv",
            b"Weigela,24,2021-06-05\nDeutzia,30,2021-06-06\n".to_vec(),
        ),
        (
            "words-unknown.csv",
            b"Plant,Stuck,Date stuck,Wood stage,Hormone,Strength,Cover\n\
              Weigela,24,2021-06-05,soft tips,IBA,1000,mist\n\
              Choisya,24,2021-08-05,semi-hardwood,none,,lidded box\n"
                .to_vec(),
        ),
        (
            "before-sticking.csv",
            b"Plant,Stuck,Date stuck,Date rooted\nWeigela,24,2021-06-05,2021-05-28\nDeutzia,20,2021-06-05,2021-07-01\n"
                .to_vec(),
        ),
        (
            "callus-with-rooted.csv",
            b"Plant,Stuck,Date stuck,Callused,Rooted,Dead,Date counted,IBA ppm\n\
              Weigela,24,2021-06-05,20,18,4,2021-07-05,1000\n\
              Deutzia,30,2021-06-05,25,10,2,2021-07-05,0\n"
                .to_vec(),
        ),
        (
            "outcome-not-understood.csv",
            b"Plant,Stuck,Date stuck,Rooted,Date counted\nWeigela,24,2021-06-05,most,2021-07-05\n\
              Deutzia,30,2021-06-05,20,2027-07-05\nHebe,30,2021-06-05,20,2021-07-05\nHebe,30,2021-06-05,20,2021-07-05\n"
                .to_vec(),
        ),
        (
            "codes-twice.csv",
            b"Code,Plant,Stuck,Date stuck\n23-001,Weigela,24,2023-06-05\n23-001,Deutzia,30,2023-06-06\n".to_vec(),
        ),
    ]
}

fn stored(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/records")
        .join(name)
}

/// Puts a table into a home; gives its path.
fn put(home: &Home, name: &str, bytes: &[u8]) -> PathBuf {
    let path = home.path().join(name);
    fs::write(&path, bytes).unwrap();
    path
}

fn import(home: &Home, table: &Path, more: &[&str]) -> Said {
    let mut words = vec!["import", table.to_str().unwrap()];
    words.extend(more);
    home.struck(&words)
}

/// Every shape, as it is understood without any help.
#[test]
fn what_becomes_of_every_row_of_every_shape() {
    let mut shapes = text_shapes();
    for name in ["workbook.xlsx", "old-workbook.xls", "open.ods"] {
        shapes.push((name, fs::read(stored(name)).unwrap()));
    }
    let mut out = String::new();
    for (name, bytes) in shapes {
        let home = Home::new().wide(100);
        let table = put(&home, name, &bytes);
        let said = import(&home, &table, &[]);
        assert_eq!(said.code, 0, "{name}: {}", said.err);
        assert!(!home.journal().exists(), "{name}: something was written");
        out.push_str(&format!("=== {name}\n{}\n", said.out));
    }
    insta::assert_snapshot!(out);
}

/// Days that read two ways are settled once, in the mapping; so is a day of counting.
#[test]
fn the_mapping_settles_what_the_table_does_not_tell() {
    let home = Home::new();
    let shapes = text_shapes();
    let bytes = |wanted: &str| &shapes.iter().find(|(name, _)| *name == wanted).unwrap().1;
    let table = put(&home, "a.csv", bytes("ambiguous-days.csv"));
    import(&home, &table, &[]);
    let mapping = home.path().join("a.csv.struck.toml");
    let text = fs::read_to_string(&mapping).unwrap();
    let text = text.replace("# day_order = \"day-month\"", "day_order = \"month-day\"");
    fs::write(&mapping, text).unwrap();
    let said = import(
        &home,
        &table,
        &["--with", mapping.to_str().unwrap(), "--write"],
    );
    assert_eq!(said.code, 0, "{}", said.err);
    let lines = home.lines().join("\n");
    assert!(
        lines.contains(r#""at":"2023-03-04""#) && lines.contains(r#""at":"2023-05-06""#),
        "{lines}"
    );

    let table = put(&home, "b.csv", bytes("no-count-day.csv"));
    import(&home, &table, &[]);
    let mapping = home.path().join("b.csv.struck.toml");
    let text = fs::read_to_string(&mapping).unwrap();
    let text = text.replace(
        "# counted_on = \"2024-09-01\"",
        "counted_on = \"2021-08-01\"",
    );
    let text = text.replace("clear_counted = false", "clear_counted = true");
    fs::write(&mapping, text).unwrap();
    let said = import(&home, &table, &["--write"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let lines = home.lines().join("\n");
    assert!(
        lines.contains(r#""at":"2021-08-01","kind":"look""#)
            && lines.contains(r#""seen":20,"rooted":20,"lost":{"unknown":4}"#)
            && lines.contains(r#""kind":"pot""#),
        "{lines}"
    );
    // The row without a day of sticking became nothing.
    assert!(!lines.contains("Deutzia"), "{lines}");
    assert_eq!(home.struck(&["check", "--strict"]).code, 0);
}

/// Written once, it is there once, however often it is written; taken back it is gone in one write; written again it
/// is there again.
#[test]
fn one_import_is_one_act() {
    let home = Home::with_sample("first-days");
    let before = home.lines().len();
    let table = put(
        &home,
        "old.xlsx",
        &fs::read(stored("workbook.xlsx")).unwrap(),
    );
    let said = import(&home, &table, &["--write"]);
    assert!(
        said.err
            .contains("Saved: 3 batches, 5 entries; 2 before, 5 now"),
        "{}{}",
        said.out,
        said.err
    );
    let written = home.lines().len();
    assert!(written > before);
    let said = import(&home, &table, &["--write"]);
    assert!(said.err.contains("Saved: 0 batches"), "{}", said.err);
    assert_eq!(home.lines().len(), written);
    let said = import(&home, &table, &["--withdraw"]);
    assert!(
        said.err.contains("Withdrawn: 3 batches; 5 before, 2 now"),
        "{}",
        said.err
    );
    assert_eq!(home.lines().len(), written + 3);
    let said = import(&home, &table, &["--withdraw"]);
    assert_eq!(said.code, 1, "{}", said.err);
    let said = import(&home, &table, &["--write"]);
    assert!(said.err.contains("Saved: 3 batches"), "{}", said.err);
    assert_eq!(home.struck(&["check", "--strict"]).code, 0);
}

/// What was brought in is found also after the mapping has changed so that rows make no batch any more.
#[test]
fn a_mapping_that_understands_less_still_takes_all_back() {
    let home = Home::new();
    let table = put(
        &home,
        "old.csv",
        b"Plant,Stuck,Date stuck\nWeigela,24,2021-06-05\nDeutzia,30,2021-06-06\n",
    );
    assert_eq!(import(&home, &table, &["--write"]).code, 0);
    let mapping = put(&home, "less.toml", b"[columns]\n\"Plant\" = \"plant\"\n");
    let with = mapping.to_str().unwrap();
    let said = import(&home, &table, &["--with", with, "--write"]);
    assert!(
        said.code == 1 && said.err.contains("--withdraw"),
        "{}",
        said.err
    );
    let said = import(&home, &table, &["--with", with, "--withdraw"]);
    assert!(
        said.err.contains("Withdrawn: 2 batches; 2 before, 0 now"),
        "{}",
        said.err
    );
}

/// A record of how it ended, with one day, feeds the share that rooted and no day.
#[test]
fn records_of_the_end_alone_feed_strike_and_not_days() {
    let home = Home::new();
    let mut rows = String::from("Plant,Stuck,Date stuck,Rooted,Dead,Date counted\n");
    for (at, rooted) in [18, 20, 15, 22, 17, 19].into_iter().enumerate() {
        rows.push_str(&format!(
            "Weigela florida,24,2021-06-{:02},{rooted},2,2021-08-{:02}\n",
            at + 1,
            at + 9
        ));
    }
    let table = put(&home, "ended.csv", rows.as_bytes());
    assert_eq!(import(&home, &table, &["--write"]).code, 0);
    let figures: serde_json::Value = serde_json::from_str(
        &home
            .struck(&["timeline", "weigela", "--json", "--resamples", "19"])
            .out,
    )
    .unwrap();
    let group = &figures["groups"][0];
    // 111 of 144 by hand.
    let strike = group["strike"]["value"].as_f64().unwrap();
    assert!((strike - 111.0 / 144.0).abs() < 1e-6, "{strike}");
    let root = &group["milestones"]["root"]["days"]["reached"]["p50"];
    assert!(
        root["at"].is_null() && root["at_why"]["missing"] == "too-wide",
        "{root}"
    );
}

/// Two machines that import the same table before they meet agree to the letter.
#[test]
fn the_same_table_on_two_machines_counts_once() {
    let (one, other) = (Home::new(), Home::new());
    for home in [&one, &other] {
        let table = put(
            home,
            "old.xlsx",
            &fs::read(stored("workbook.xlsx")).unwrap(),
        );
        assert_eq!(import(home, &table, &["--write"]).code, 0);
    }
    for file in fs::read_dir(other.journal()).unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_some_and(|e| e == "jsonl") {
            fs::copy(&path, one.journal().join("other-machine.jsonl")).unwrap();
        }
    }
    assert_eq!(one.struck(&["check", "--strict"]).code, 0);
    let said = one.struck(&["batches", "--csv"]);
    assert_eq!(
        said.out.matches("Weigela florida").count(),
        1,
        "{}",
        said.out
    );
}

/// A table read differently than before is not written beside what stands.
#[test]
fn a_changed_mapping_is_refused_until_the_first_import_is_taken_back() {
    let home = Home::new();
    let table = put(
        &home,
        "old.csv",
        b"Plant,Stuck,Date stuck\nWeigela,24,2021-06-05\n",
    );
    import(&home, &table, &["--write"]);
    import(&home, &table, &[]);
    let mapping = home.path().join("old.csv.struck.toml");
    let text = fs::read_to_string(&mapping).unwrap();
    fs::write(
        &mapping,
        format!("{text}\n[words.plant]\n\"Weigela\" = \"Weigela florida\"\n"),
    )
    .unwrap();
    let said = import(&home, &table, &["--write"]);
    assert!(
        said.code == 1 && said.err.contains("--withdraw"),
        "{}",
        said.err
    );
    assert_eq!(import(&home, &table, &["--withdraw"]).code, 0);
    assert_eq!(import(&home, &table, &["--write"]).code, 0);
    assert!(home.lines().join("\n").contains("Weigela florida"));
}

/// Each fault names the file and what to do, and writes nothing.
#[test]
fn what_is_no_table_or_no_mapping_is_told() {
    let home = Home::new();
    let bad = [
        ("empty.csv", &b""[..], "holds no rows"),
        (
            "picture.csv",
            &b"\x89PNG\x0d\x0a\x1a\x0a\x00\x01\x02\x03"[..],
            "neither a table",
        ),
        (
            "broken.xlsx",
            &b"PK\x03\x04 not a workbook"[..],
            "does not open",
        ),
    ];
    for (name, bytes, told) in bad {
        let table = put(&home, name, bytes);
        let said = import(&home, &table, &["--write"]);
        assert!(
            said.code == 1 && said.err.contains(told) && said.err.contains(name),
            "{name}: {}",
            said.err
        );
    }
    let table = put(
        &home,
        "good.csv",
        b"Plant,Stuck,Date stuck\nWeigela,24,2021-06-05\n",
    );
    for (mapping, told) in [
        ("columns = 3", "columns"),
        ("[columns]\n\"Plant\" = \"colour\"", "`colour` is no role"),
        ("[columns]\n\"Weather\" = \"plant\"", "no column `Weather`"),
        (
            "day_order = \"back\"",
            "neither \"day-month\" nor \"month-day\"",
        ),
        ("counted_on = \"soon\"", "`soon` is no day"),
        ("heading_line = 9", "no row on line 9"),
        (
            "colour = 1",
            "line 1 of the mapping, `colour = 1`, does not read: unknown field `colour`",
        ),
        (
            "day_order = \"day-month\"\n[columns",
            "line 2 of the mapping, `[columns`, does not read",
        ),
    ] {
        let path = put(&home, "m.toml", mapping.as_bytes());
        let said = import(
            &home,
            &table,
            &["--with", path.to_str().unwrap(), "--write"],
        );
        assert!(
            said.code == 1 && said.err.contains(told) && said.err.contains("m.toml"),
            "{mapping}: {}",
            said.err
        );
    }
    let said = import(&home, &table, &["--sheet", "Old", "--write"]);
    assert!(
        said.code == 1 && said.err.contains("no sheet `Old`"),
        "{}",
        said.err
    );
    assert!(!home.journal().exists() || home.lines().is_empty());
}

/// Where no column is known for what a batch needs, the page says which, and by which word the mapping has it.
#[test]
fn columns_that_a_batch_needs_and_has_not_are_named() {
    let home = Home::new();
    let table = put(&home, "odd.csv", b"foo,bar\nWeigela,2\n");
    let said = import(&home, &table, &[]);
    for named in [
        "number stuck (`stuck`)",
        "day of sticking (`date_stuck`)",
        "under [columns] in the mapping",
    ] {
        let told = said.out.replace('\n', " ");
        assert!(told.contains(named), "{named}: {}", said.out);
    }
}
