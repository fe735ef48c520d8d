//! `publish` and `pool`: what a nursery hands out and what it keeps, and what many nurseries say together.

use super::run::{Home, nursery};
use crate::pool_maker::PoolPlan;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

/// A pool of simulated nurseries, published under a folder.
pub fn published(folder: &Path, nurseries: usize) -> PathBuf {
    let plan = PoolPlan {
        nurseries,
        taxa: 2,
        grown: 2,
        wood_effect: 1.0,
        open: true,
        ..PoolPlan::default()
    };
    for part in plan.parts() {
        let file = part.file();
        let path = folder.join(&file.name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, file.bytes).unwrap();
    }
    folder.to_owned()
}

/// As [`published`], with all that can be told beside the figures: other names, one of them disputed, a part cut short,
/// one that came twice.
pub fn troubled(folder: &Path) -> PathBuf {
    published(folder, 8);
    let mut files = files_below(folder);
    files.sort();
    let alias = |nursery: &str, taxon: &str, alias: &str| {
        let mut writer = struck::handover::published::PartWriter::new(nursery, 2030);
        let alias = struck::analysis::pool::PooledAlias {
            taxon: taxon.to_owned(),
            alias: alias.to_owned(),
        };
        let plan = PoolPlan {
            nurseries: 1,
            seasons: 1,
            taxa: 1,
            grown: 1,
            batches: 1,
            ..PoolPlan::default()
        };
        for part in plan.parts() {
            for (mut facts, measures, intervals) in part.batches {
                facts.nursery = nursery.to_owned();
                facts.season = 2030;
                facts.taxon = taxon.to_owned();
                let personal = struck::analysis::pool::PersonalFacts::default();
                writer.batch(&facts, &measures, &personal).unwrap();
                for interval in &intervals {
                    writer.interval(&facts, &measures, interval).unwrap();
                }
            }
        }
        writer.alias(&alias).unwrap();
        let (file, _) = writer.finish();
        let path = folder.join(format!("nursery={nursery}")).join(&file.name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, file.bytes).unwrap();
    };
    alias("alder", "Ruta montana", "Hebe simulataab");
    alias("birch", "Cistus ladanifer", "Weigela simulataaa");
    alias("cedar", "Ruta graveolens", "Weigela simulataaa");
    let whole = fs::read(&files[0]).unwrap();
    fs::write(&files[0], &whole[..whole.len() / 2]).unwrap();
    fs::copy(&files[1], folder.join("twice.jsonl")).unwrap();
    folder.to_owned()
}

fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut out = Vec::new();
    for item in fs::read_dir(folder).unwrap() {
        let path = item.unwrap().path();
        if path.is_dir() {
            out.extend(files_below(&path));
        } else {
            out.push(path);
        }
    }
    out.sort();
    out
}

/// What stands in all files below a folder.
pub fn texts_below(folder: &Path) -> String {
    let files = files_below(folder);
    files
        .iter()
        .map(|path| fs::read_to_string(path).unwrap())
        .collect()
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

#[test]
fn one_nursery_pooled_gives_what_its_journal_gives() {
    let home = nursery();
    let pool = home.path().join("pool");
    let pool = pool.to_str().unwrap();
    assert_eq!(home.struck(&["publish", pool, "--as", "ashfield"]).code, 0);
    let asked = ["--by", "wood,cover", "--resamples", "99", "--json"];
    let own = json(
        &home
            .struck(&[&["timeline"], asked.as_slice()].concat())
            .done(),
    );
    let mut pooled = json(
        &home
            .struck(&[&["pool", pool, "timeline"], asked.as_slice()].concat())
            .done(),
    );
    let groups = pooled["groups"].as_array_mut().unwrap();
    for group in groups {
        assert_eq!(
            group.as_object_mut().unwrap().remove("nurseries"),
            Some(1.into())
        );
    }
    assert_eq!(pooled["groups"], own["groups"]);
    assert_eq!(pooled["correlations"], own["correlations"]);
    assert!(own["groups"].as_array().unwrap().len() > 40);
}

#[test]
fn nothing_personal_is_published_unless_asked_for() {
    let home = nursery();
    let added = home.struck(&[
        "add",
        "stick 24 Weigela florida, semi-ripe, at bench Q \"from the back gate\"",
        "--at",
        "2026-05-01",
    ]);
    assert_eq!(added.code, 0, "{}", added.err);
    let pool = home.path().join("pool");
    let publish = |with: &[&str]| {
        let words = [
            &["publish", pool.to_str().unwrap(), "--as", "ashfield"],
            with,
        ]
        .concat();
        assert_eq!(home.struck(&words).code, 0);
        texts_below(&pool)
    };
    let batches = json(&home.struck(&["batches", "--json"]).done());
    let batches = batches["batches"].as_array().unwrap();
    let told = |text: &str, key: &str| {
        batches.iter().any(|it| {
            it[key]
                .as_str()
                .is_some_and(|value| text.contains(&format!("\"{value}\"")))
        })
    };
    let plain = publish(&[]);
    for key in ["batch", "stick", "stuck_on", "place"] {
        assert!(!told(&plain, key), "{key} was published");
    }
    assert!(!plain.contains("\"trial\":") && !plain.contains("\"arm\":"));
    let keeps = |text: &str| {
        ["\"by\":", "\"note\":", "\"place\":", "\"stuck_on\":"].map(|key| text.contains(key))
    };
    assert_eq!(keeps(&plain), [false; 4]);
    let days = publish(&["--with", "days,places"]);
    assert_eq!(
        (
            told(&days, "stuck_on"),
            told(&days, "place"),
            told(&days, "batch")
        ),
        (true, true, false)
    );
    assert_eq!(
        keeps(&publish(&["--with", "people"])),
        [true, false, false, false]
    );
}

#[test]
fn published_anew_it_replaces_its_own_and_nobody_elses() {
    let home = nursery();
    let pool = published(&home.path().join("pool"), 2);
    let others = texts_below(&pool);
    let name = pool.to_str().unwrap();
    assert_eq!(home.struck(&["publish", name, "--as", "ashfield"]).code, 0);
    let first = files_below(&pool.join("nursery=ashfield"));
    assert_eq!(home.struck(&["add", "look 26-010: rooted 1"]).code, 0);
    assert_eq!(home.struck(&["publish", name, "--as", "ashfield"]).code, 0);
    let second = files_below(&pool.join("nursery=ashfield"));
    assert_eq!(first.len(), second.len());
    let changed = first.iter().filter(|path| !second.contains(path)).count();
    assert_eq!(changed, 1, "one season has other rows, and so another part");
    // Nothing is left of what was written aside, and other nurseries' folders are as they were.
    let names: Vec<_> = fs::read_dir(&pool)
        .unwrap()
        .map(|it| it.unwrap().file_name())
        .collect();
    assert_eq!(names.len(), 3, "{names:?}");
    fs::rename(pool.join("nursery=ashfield"), home.path().join("kept")).unwrap();
    assert_eq!(texts_below(&pool), others);
    // The manifest is right about every file.
    let kept = home.path().join("kept");
    let manifest = json(&fs::read_to_string(kept.join("manifest.json")).unwrap());
    for part in manifest["parts"].as_array().unwrap() {
        let bytes = fs::read(kept.join(part["path"].as_str().unwrap())).unwrap();
        let text = String::from_utf8(bytes.clone()).unwrap();
        let count = |row: &str| text.matches(&format!("{{\"row\":\"{row}\"")).count();
        assert_eq!(part["bytes"], bytes.len());
        assert_eq!(part["rows"], text.lines().count());
        assert_eq!(part["batches"], count("batch"));
        assert_eq!(part["intervals"], count("interval"));
    }
    assert_eq!(manifest["program"], env!("CARGO_PKG_VERSION"));
    assert_eq!(manifest["left_out"]["batches"]["never looked at"], 3);
}

#[test]
fn a_name_that_another_journal_took_is_refused() {
    let (home, other) = (
        nursery(),
        Home::with_sample("damaged").at(super::run::NURSERY_NOW),
    );
    let pool = home.path().join("pool");
    let name = pool.to_str().unwrap();
    assert_eq!(home.struck(&["publish", name, "--as", "ashfield"]).code, 0);
    let before = texts_below(&pool);
    let said = other.struck(&["publish", name, "--as", "ashfield"]);
    assert_eq!(said.code, 1);
    assert!(
        said.err.contains("is not what this journal published"),
        "{}",
        said.err
    );
    assert_eq!(texts_below(&pool), before);
    for wrong in ["../up", "a b", "", "ä"] {
        assert_eq!(
            home.struck(&["publish", name, "--as", wrong]).code,
            2,
            "{wrong}"
        );
    }
}

#[test]
fn what_does_not_count_is_told_by_name() {
    let home = Home::new().wide(100);
    let pool = troubled(&home.path().join("pool"));
    let said = home.struck(&[
        "pool",
        pool.to_str().unwrap(),
        "timeline",
        "--resamples",
        "19",
    ]);
    assert_eq!(said.code, 0, "{}", said.err);
    insta::assert_snapshot!(said.out);
}

#[test]
fn arms_are_compared_within_nurseries() {
    let home = Home::new().wide(100);
    let pool = published(&home.path().join("pool"), 12);
    let name = pool.to_str().unwrap();
    let said = home.struck(&["pool", name, "compare", "--by", "wood"]);
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    insta::assert_snapshot!(said.out);
    let few = home.struck(&[
        "pool",
        &format!("{name}/nursery=nursery-00001"),
        "compare",
        "--by",
        "wood",
    ]);
    assert!(
        few.out
            .replace('\n', " ")
            .contains("This is of 1 nursery alone"),
        "{}",
        few.out
    );
    for (asked, told) in [
        ("place", "do not say 'place'"),
        ("colour", "nothing to group by"),
    ] {
        let said = home.struck(&["pool", name, "compare", "--by", asked]);
        assert_eq!(said.code, 2);
        assert!(said.err.contains(told), "{}", said.err);
    }
}

#[test]
fn the_next_batch_is_told_of_a_nursery_like_these_or_of_one() {
    let home = Home::new().wide(100);
    let pool = published(&home.path().join("pool"), 12);
    let name = pool.to_str().unwrap();
    insta::assert_snapshot!(home.struck(&["pool", name, "expect"]).done());
    let one = [
        "pool",
        name,
        "expect",
        "--nursery",
        "nursery-00003",
        "--json",
    ];
    let (any, one) = (
        json(&home.struck(&["pool", name, "expect", "--json"]).done()),
        json(&home.struck(&one).done()),
    );
    let width = |it: &Value| {
        let next = &it["expectations"][0]["next"]["p80"];
        next[1].as_i64().unwrap() - next[0].as_i64().unwrap()
    };
    assert_eq!(one["expectations"][0]["own"], true);
    assert!(
        width(&one) < width(&any),
        "a nursery's own batches narrow what is expected of it"
    );
}

#[test]
fn engines_pipes_give_the_same_bytes() {
    let home = Home::new();
    let pool = published(&home.path().join("pool"), 6);
    let asked = ["--by", "cover", "--resamples", "39", "--json"];
    let folders = home
        .struck(
            &[
                &["pool", pool.to_str().unwrap(), "timeline"],
                asked.as_slice(),
            ]
            .concat(),
        )
        .done();
    let rows: Vec<String> = texts_below(&pool)
        .lines()
        .map(|line| format!("{line}\n"))
        .collect();
    let reduce = |some: &[String]| {
        let said = home.struck_fed(
            &["pool", "reduce", "--by", "cover"],
            some.concat().as_bytes(),
        );
        assert_eq!(said.code, 0, "{}", said.err);
        said.out
    };
    // Cut in the middle of parts, each piece by itself, then the pieces together, one of them twice.
    let (first, rest) = rows.split_at(rows.len() / 3);
    let pieces = [reduce(rest), reduce(first)];
    let whole = reduce(&[pieces[0].clone(), pieces[1].clone(), pieces[0].clone()]);
    for fed in [
        pieces.concat(),
        whole.clone(),
        reduce(&[whole]),
        rows.concat(),
    ] {
        let said = home.struck_fed(
            &[&["pool", "curve"], asked.as_slice()].concat(),
            fed.as_bytes(),
        );
        assert_eq!((said.code, said.out == folders), (0, true), "{}", said.err);
    }
    let said = home.struck_fed(
        &["pool", "curve", "--by", "medium"],
        pieces.concat().as_bytes(),
    );
    assert_eq!(said.code, 2);
    assert!(
        said.err.contains("not told apart by medium"),
        "{}",
        said.err
    );
}

/// A journal of so many batches by the program's own writer, its codes from 26-001 on.
fn journal_of(name: &str, batches: usize, home: &Home) {
    let lines: String = (1..=batches)
        .flat_map(|at| {
            let stick = format!(
                "{{\"v\":1,\"id\":\"{name}S{at:04}\",\"at\":\"2026-05-0{}\",\"kind\":\"stick\",\"batch\":\"26-{at:03}\",\"taxon\":\"Weigela florida\",\"stuck\":24}}\n",
                1 + at % 9
            );
            let look = format!(
                "{{\"v\":1,\"id\":\"{name}L{at:04}\",\"at\":\"2026-06-01\",\"kind\":\"look\",\"batch\":\"26-{at:03}\",\"stick\":\"{name}S{at:04}\",\"how\":\"lift\",\"seen\":24,\"rooted\":3}}\n"
            );
            [stick, look]
        })
        .collect();
    fs::create_dir_all(home.journal()).unwrap();
    fs::write(home.journal().join(format!("{name}.jsonl")), lines).unwrap();
}

#[test]
fn several_nurseries_in_one_folder_are_told_in_one_line() {
    let home = Home::new().wide(200);
    (0..40).for_each(|at| journal_of(&format!("nursery{at}"), 30 + at, &home));
    let said = home.struck(&["check"]);
    assert_eq!(
        (said.code, said.out.lines().count()),
        (0, 3),
        "{}",
        said.out
    );
    assert!(said.out.contains("several nurseries"), "{}", said.out);
    assert!(
        said.out.contains("`struck publish`") && said.out.contains("`struck pool`"),
        "{}",
        said.out
    );
    assert_eq!(home.struck(&["check", "--strict"]).code, 3);
    let told = json(&home.struck(&["check", "--json"]).done());
    assert_eq!(
        (&told["several_nurseries"]["files"], &told["faults"]),
        (&40.into(), &Value::Array(Vec::new()))
    );
}

#[test]
fn a_few_codes_twice_or_a_file_copied_are_no_second_nursery() {
    let home = Home::new();
    journal_of("first", 40, &home);
    journal_of("second", 5, &home);
    fs::copy(
        home.journal().join("first.jsonl"),
        home.journal().join("first-conflict.jsonl"),
    )
    .unwrap();
    let told = json(&home.struck(&["check", "--json"]).done());
    assert_eq!(told["several_nurseries"], Value::Null);
    let twice = told["faults"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|it| it["name"] == "code-twice")
        .count();
    assert_eq!(twice, 5);
}

/// The pool of the first page.
#[test]
fn the_first_page_shows_what_a_pool_prints() {
    let home = Home::new();
    let pool = published(&home.path().join("society"), 8);
    let page = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md")).unwrap();
    let (_, block) = page.split_once("$ struck pool society ").unwrap();
    let (asked, shown) = block.split_once('\n').unwrap();
    let words: Vec<&str> = ["pool", pool.to_str().unwrap()]
        .into_iter()
        .chain(asked.split(' '))
        .collect();
    let printed = home.struck(&words).done();
    assert_eq!(shown.split_once("```").unwrap().0, printed, "{printed}");
}
