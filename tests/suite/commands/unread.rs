//! A journal of which a file cannot be read: every answer that rests on it says so at its top.

use super::run::Home;
use serde_json::Value;

/// How an answer is printed.
#[derive(Clone, Copy, PartialEq)]
pub enum Form {
    /// Words on standard output.
    Text,
    /// One object with `--json`.
    Json,
    /// A table, which has no room for words: standard error tells.
    Csv,
    /// The answer itself goes to standard error.
    Said,
}

use Form::{Csv, Json, Said, Text};

/// Every command that reads a journal, its arguments set off by `|`, and its forms.
pub const ANSWERS: &[(&str, &[Form])] = &[
    ("batches", &[Text, Json]),
    ("batches|--failed", &[Text, Json]),
    ("batches|--csv", &[Csv]),
    ("show|26-001", &[Text, Json]),
    ("due", &[Text, Json]),
    ("timeline|weigela|--resamples|19", &[Text, Json]),
    ("season", &[Text, Json]),
    ("compare|--by|wood", &[Text, Json]),
    ("forecast|26-002", &[Text, Json]),
    ("plan|weigela|--want|60|--by|2027-09-30", &[Text, Json]),
    ("lay-out|weigela|--arms|mist,box|--batches|2", &[Text]),
    // Too little to tell by: it fails.
    ("lay-out|weigela|--arms|mist,box", &[Said]),
    ("intervals|--taxon|weigela", &[Csv, Json]),
    ("check", &[Text, Json]),
    ("climate|mist bench", &[Text, Json]),
    ("climate|batch|26-001", &[Text, Json]),
    (
        "climate|matters|--draws|99|--resamples|19|--taxon|weigela",
        &[Text, Json],
    ),
    ("climate|import|LOG|--place|mist bench", &[Text, Json]),
    (
        "climate|import|LOG|--place|mist bench|--write",
        &[Text, Json],
    ),
    ("import|OLD", &[Text, Json]),
    ("export|NEW|--resamples|0", &[Text]),
    // A part of a journal is not published.
    ("publish|NEW|--as|ashfield", &[Said]),
    ("print|labels", &[Csv]),
    ("print|looks", &[Csv]),
    ("print|season", &[Csv]),
    ("print|taxon|weigela", &[Csv]),
    ("print|calendar", &[Csv]),
    ("add|look 26-001: rooted 1|--dry-run", &[Said]),
    ("add|remark the fog nozzle drips", &[Said]),
    // What is said not to be there may stand in the file.
    ("show|26-999", &[Said]),
    ("batches|--taxon|nothing", &[Said]),
    ("add|look 26-999: rooted 1", &[Said]),
];

/// Commands that rest on no journal.
const WITHOUT_JOURNAL: [&str; 8] = [
    "pool",
    "mix",
    "cautions",
    "sample",
    "help",
    "completions",
    "man",
    "print|sticking",
];

const HEAD: &str = "! A part of the journal could not be read, so this is without it:\n  HOME/journal/a.jsonl: It is a folder, not a file.\n  See `struck check --explain`.\n";

fn home_with_a_file_unread() -> Home {
    let home = Home::with_sample("first-days").wide(100);
    std::fs::create_dir(home.journal().join("a.jsonl")).unwrap();
    std::fs::write(
        home.path().join("log.csv"),
        "time,air C,rh %\n2026-08-01 09:00,20,80\n",
    )
    .unwrap();
    home
}

#[test]
fn every_answer_says_at_its_top_what_could_not_be_read() {
    let home = home_with_a_file_unread();
    let [log, old, new] = ["log.csv", "old.csv", "new"].map(|name| home.path().join(name));
    std::fs::write(&old, "Plant,Stuck,Date stuck\nWeigela,24,2021-06-05\n").unwrap();
    for (words, forms) in ANSWERS {
        for form in *forms {
            let mut words: Vec<&str> = words.split('|').collect();
            for word in &mut words {
                *word = match *word {
                    "LOG" => log.to_str().unwrap(),
                    "OLD" => old.to_str().unwrap(),
                    "NEW" => new.to_str().unwrap(),
                    other => other,
                };
            }
            if *form == Json {
                words.push("--json");
            }
            let said = home.struck(&words);
            let case = format!("{words:?}: {} {}", said.out, said.err);
            match form {
                Text => {
                    assert!(said.out.starts_with(&format!("{HEAD}\n")), "{case}");
                    assert!(
                        !said.err.contains("could not be read"),
                        "told twice: {case}"
                    );
                }
                Json => {
                    let answer: Value = serde_json::from_str(&said.out).unwrap();
                    let keys: Vec<&String> = answer.as_object().unwrap().keys().collect();
                    assert_eq!(keys[..2], ["struck", "unread"], "{case}");
                    let unread = answer["unread"].as_array().unwrap();
                    assert_eq!(unread.len(), 1, "{case}");
                    let file = unread[0]["file"].as_str().unwrap();
                    assert!(file.ends_with("/journal/a.jsonl"), "{case}");
                    assert_eq!(unread[0]["reason"], "It is a folder, not a file.", "{case}");
                    assert!(said.err.starts_with(HEAD), "{case}");
                }
                Csv => {
                    assert!(said.err.starts_with(HEAD), "{case}");
                    assert!(!said.out.contains("could not be read"), "{case}");
                }
                Said => {
                    assert!(said.err.starts_with(HEAD), "{case}");
                    assert_eq!(said.err.matches(HEAD).count(), 1, "{case}");
                }
            }
        }
    }
}

#[test]
fn of_a_journal_that_was_read_whole_no_answer_says_so() {
    let home = Home::with_sample("first-days");
    assert!(
        !home
            .struck(&["batches"])
            .done()
            .contains("could not be read")
    );
    let answer: Value = serde_json::from_str(&home.struck(&["batches", "--json"]).done()).unwrap();
    assert_eq!(answer["unread"], Value::Array(Vec::new()));
}

#[test]
fn no_command_that_reads_a_journal_is_left_out() {
    let home = Home::new().wide(200);
    for command in super::shapes::listed(&home.struck(&["--help"]).out) {
        let mut names = super::shapes::listed(&home.struck(&[&command, "--help"]).out);
        names
            .iter_mut()
            .for_each(|inner| *inner = format!("{command}|{inner}"));
        names.push(command.clone());
        for name in names {
            let tried = ANSWERS.iter().any(|(words, _)| {
                words
                    .strip_prefix(&*name)
                    .is_some_and(|rest| rest.is_empty() || rest.starts_with('|'))
            });
            let exempt = [&*command, &*name]
                .iter()
                .any(|word| WITHOUT_JOURNAL.contains(word));
            assert!(tried != exempt, "{name}");
        }
    }
}
