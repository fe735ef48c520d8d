//! One word a thing and one thing a word, on every stored screen, in the help and on the first page.

use std::path::{Path, PathBuf};
use std::process::Command;
use struck::tui::keys::{KeyContext, TABLE};
use struck::tui::pad::SIGNS;

/// A thing and the word that is shown for it. What the journal's own lines say, and what is understood when typed, is
/// wider.
struct Word {
    thing: &'static str,
    shown: &'static str,
    /// Words that are not shown for it.
    never: &'static [&'static str],
    /// Words that could mean another thing as well, with all that they may stand in.
    only: &'static [(&'static str, &'static [&'static str])],
}

const fn word(
    thing: &'static str,
    shown: &'static str,
    never: &'static [&'static str],
    only: &'static [(&'static str, &'static [&'static str])],
) -> Word {
    Word {
        thing,
        shown,
        never,
        only,
    }
}

#[rustfmt::skip]
const WORDS: &[Word] = &[
    word("looks from tray to tray, one after the other", "a round", &["walk", "walks"], &[]),
    word("to take an entry out of all counts by a later line", "withdraw",
        &["take back", "takes back", "taken back", "took back", "taking back", "take it back", "takes it back"], &[]),
    word("to withdraw the last act of the sitting, by its key", "undo", &["revert"],
        &[("undo", &["u undo"]), ("undoes", &["undoes the last act"])]),
    word("to change an entry by a later line", "amend",
        &["put right", "puts right", "mend", "mends", "mended", "mending", "amends right"], &[]),
    word("plants to have by a day", "target",
        &["plants wanted", "wanted by", "are wanted", "was wanted", "were wanted", "k wanted"], &[]),
    word("one side of a trial", "arm", &["both ways", "two ways", "ways of doing", "side of a trial", "sides"], &[]),
    word("to take cuttings or plants away unsold", "discard", &["throw out", "throws out", "thrown out", "threw out", "throw away"], &[]),
    word("failed cuttings, cut and stuck anew", "stuck again", &["re-stuck", "restick", "stuck anew"], &[("restuck", &[])]),
    word("to look on a later day", "look again", &[],
        &[("again", &["look again", "stick again", "stuck again", "--again", "again ##", "again on", "again in"])]),
    word("sold plants", "sold", &["gone"], &[]),
    word("dead cuttings or plants", "lost", &["gone", "damped off", "dead ones"], &[]),
    word("plants fit to sell", "saleable", &["plants ready", "ready plants", "fit for sale"], &[("ready", &["ready to pot", "ready #", "ready ready"])]),
    word("a batch with cuttings on the bench, or with none left", "open, closed", &["cleared"], &[("closed", &["closed batch", "closed batches", "batch is closed", ", closed", "closed frame", "# closed"])]),
    word("roots that show at the bottom of the tray or pot", "roots at bottom", &["to the bottom"], &[("bottom", &["at bottom", "at the bottom", "to bottom", "reach the bottom", "bottom heat", "bottom #", "root, callus or bottom"])]),
    word("the share that roots", "rooted %", &["strike", "strike rate"], &[]),
    word("what the cuttings stand in", "medium", &["the mix", "potting mix"], &[]),
    word("the figures of many nurseries together", "pool", &["federation", "consortium", "pooled data"], &[]),
    word("to hand this journal's figures to a pool", "publish", &["upload", "uploads", "submit", "submits", "contribute", "contributes"], &[]),
    word("an entry that only says something", "remark", &["n note", "writes a note"], &[]),
];

/// A text that people read, and where it stands.
struct Shown {
    source: String,
    text: String,
    /// Whether names of fields stand in it, which are the journal's own.
    names_fields: bool,
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// As it is read: over the ends of lines, any digit as `#`, without what is only understood when typed.
fn spoken(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    let mut rest = words.join(" ").to_lowercase();
    rest = rest.replace(|c: char| c.is_ascii_digit(), "#");
    while let Some(from) = rest.find("(also ") {
        let Some(to) = rest[from..].find(')') else {
            break;
        };
        rest.replace_range(from..=from + to, "");
    }
    let words: Vec<&str> = rest.split_whitespace().collect();
    words.join(" ")
}

/// Where a phrase stands as whole words.
fn places(text: &str, phrase: &str) -> Vec<usize> {
    let is_part = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
    let found = text.match_indices(phrase).map(|(at, _)| at);
    found
        .filter(|at| {
            let (before, after) = (&text[..*at], &text[at + phrase.len()..]);
            !is_part(before.chars().next_back()) && !is_part(after.chars().next())
        })
        .collect()
}

fn around(text: &str, at: usize) -> &str {
    let from = (0..=at.saturating_sub(50))
        .rev()
        .find(|i| text.is_char_boundary(*i));
    let to = (at + 60..=text.len()).find(|i| text.is_char_boundary(*i));
    &text[from.unwrap_or(0)..to.unwrap_or(text.len())]
}

/// Whether the word at `at` stands in one of the phrases.
fn stands_in(text: &str, at: usize, word: &str, phrases: &[&str]) -> bool {
    phrases.iter().any(|phrase| {
        phrase.match_indices(word).any(|(inside, _)| {
            at.checked_sub(inside).is_some_and(|from| {
                text.get(from..)
                    .is_some_and(|rest| rest.starts_with(phrase))
            })
        })
    })
}

fn breaches(shown: &Shown) -> Vec<String> {
    let text = spoken(&shown.text);
    let mut found = Vec::new();
    for word in WORDS {
        let never = word.never.iter().flat_map(|other| places(&text, other));
        let only = word.only.iter().filter(|_| !shown.names_fields);
        let only = only.flat_map(|(other, phrases)| {
            let text = &text;
            let at = places(text, other).into_iter();
            at.filter(move |at| !stands_in(text, *at, other, phrases))
        });
        found.extend(never.chain(only).map(|at| {
            format!(
                "{}: {} is `{}`: …{}…",
                shown.source,
                word.thing,
                word.shown,
                around(&text, at)
            )
        }));
    }
    found
}

fn stored() -> Vec<Shown> {
    let mut out = Vec::new();
    let mut folders = vec![root().join("tests/suite")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|it| it == "snap") && !is_shape(&path) {
                let text = std::fs::read_to_string(&path).unwrap();
                let text = text.splitn(3, "---\n").nth(2).unwrap().to_owned();
                let source = path.file_name().unwrap().to_string_lossy().into_owned();
                let names_fields = source.contains("handing_out");
                out.push(Shown {
                    source,
                    text,
                    names_fields,
                });
            }
        }
    }
    out
}

/// The shapes of JSON answers: names of fields, which scripts read.
fn is_shape(path: &Path) -> bool {
    path.parent()
        .is_some_and(|folder| folder.ends_with("shapes"))
}

/// The help of a command, and of all below it.
fn helps(command: &[String], out: &mut Vec<Shown>) {
    let mut program = Command::new(env!("CARGO_BIN_EXE_struck"));
    let said = program.args(command).arg("--help").output().unwrap();
    let text = String::from_utf8(said.stdout).unwrap();
    if let Some((_, rest)) = text.split_once("\nCommands:\n") {
        let rows = rest.lines().take_while(|line| !line.is_empty());
        for name in rows.filter_map(|line| line.strip_prefix("  ")?.split(' ').next()) {
            if !name.is_empty() && name != "help" {
                helps(&[command, &[name.to_owned()]].concat(), out);
            }
        }
    }
    let source = format!("struck {} --help", command.join(" "));
    out.push(Shown {
        source,
        text,
        names_fields: false,
    });
}

/// The pages of keys, whole: a stored screen holds their first lines alone.
fn key_pages() -> Shown {
    let rows = TABLE.iter().flat_map(|row| {
        let press = row.presses[0].to_string();
        [format!("{press} {}", row.hint), row.help.to_owned()]
    });
    let headings = KeyContext::ALL.iter().map(|it| it.heading().to_owned());
    let signs = SIGNS.iter().map(|(_, what)| (*what).to_owned());
    let lines: Vec<String> = rows.chain(headings).chain(signs).collect();
    Shown {
        source: "the pages of keys".to_owned(),
        text: lines.join("\n"),
        names_fields: false,
    }
}

fn all_shown() -> Vec<Shown> {
    let mut out = stored();
    helps(&[], &mut out);
    out.push(key_pages());
    let page: PathBuf = root().join("README.md");
    out.push(Shown {
        source: "README.md".to_owned(),
        text: std::fs::read_to_string(page).unwrap(),
        names_fields: false,
    });
    out
}

#[test]
fn each_thing_has_one_word_wherever_it_is_shown() {
    let shown = all_shown();
    assert!(shown.len() > 150, "{}", shown.len());
    let found: Vec<String> = shown.iter().flat_map(breaches).collect();
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

/// Every word that is not shown is found where it is planted, over the end of a line and beside a stop as well.
#[test]
fn planted_words_are_found() {
    let planted = |text: &str, names_fields: bool| {
        breaches(&Shown {
            source: "planted".to_owned(),
            text: text.to_owned(),
            names_fields,
        })
    };
    for word in WORDS {
        for other in word.never {
            let broken = format!("Then {}.\n", other.replace(' ', "\n  "));
            let found = planted(&broken, true);
            assert!(
                found.iter().any(|it| it.contains(word.thing)),
                "{other}: {found:?}"
            );
        }
        for (other, phrases) in word.only {
            let found = planted(&format!("The {other}, thus."), false);
            assert!(found.iter().any(|it| it.contains(word.thing)), "{other}");
            assert_eq!(planted(&format!("The {other}, thus."), true), [""; 0]);
            for phrase in *phrases {
                let text = format!("The {phrase} thus.").replace('#', "7");
                assert_eq!(planted(&text, false), [""; 0]);
            }
        }
    }
    let sound = "w round  ! withdraw  discard (also throw out)\nA boardwalk is no amendment.";
    assert_eq!(planted(sound, false), [""; 0]);
}

/// An allowance that no text needs any more is struck from the table.
#[test]
fn every_allowance_is_needed() {
    let shown = all_shown();
    let texts: Vec<String> = shown.iter().map(|it| spoken(&it.text)).collect();
    for (_, phrases) in WORDS.iter().flat_map(|word| word.only) {
        for phrase in *phrases {
            assert!(
                texts.iter().any(|text| text.contains(phrase)),
                "`{phrase}` stands nowhere any more: strike it from the table"
            );
        }
    }
}
