//! Text that means harm, in every field of the journal, in names of files and in arguments: every command shows it
//! as harmless text, in every form of its answer, and JSON gives it back to the letter.

use super::run::{Home, Said};
use crate::support::harm::harm_in;
use std::fs;
use std::path::Path;

/// Terminal orders (ECMA-48, also as C1), a bell, marks that turn the reading order (UAX 9), nothing-widths, tags, a
/// flood of combining marks, and a formula (OWASP, CSV injection).
pub const HARM: &str = "=cmd|'/C calc'!A0\u{1b}[2J\u{1b}]0;owned\u{7}\u{9b}31m\u{90}q\u{9c}\u{7f}\u{202e}a\u{2066}b\u{200b}c\u{feff}\u{ad}\u{3164}\u{e0041}e\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}";

pub fn tame(what: &str, text: &str) {
    for line in text.split('\n') {
        assert_eq!(harm_in(line), None, "{what} lets harm through");
    }
}

/// A journal with harm in every field of text, once escaped as JSON can and once raw where JSON allows it.
pub fn hostile_home() -> Home {
    let home = Home::new();
    fill(&home.journal());
    let table = format!("time,air C,{HARM},rh %\n2026-06-01 09:00,20,{HARM},80\n{HARM},21,x,80\n");
    fs::write(home.path().join("log\u{1b}[2J.csv"), table).unwrap();
    home
}

/// Fills a folder with such a journal.
pub fn fill(folder: &Path) {
    fs::create_dir_all(folder).unwrap();
    let quoted = serde_json::to_string(HARM).unwrap();
    let lines = [
        r#"{"id":"S1","at":"2026-05-01","kind":"stick","batch":@,"taxon":@,"stuck":24,"medium":@,"container":@,"place":@,"blade":@,"source":@,"trial":@,"arm":"a","by":@,"note":@,"hormone":{"active":@,"ppm":3000}}"#,
        r#"{"id":"S2","at":"2026-05-01","kind":"stick","batch":"26-002","taxon":@,"stuck":24,"place":@,"trial":@,"arm":@}"#,
        r#"{"id":"L1","at":"2026-05-20","kind":"look","batch":@,"stick":"S1","rooted":3,"callused":4,"note":@,"by":@}"#,
        r#"{"id":"L2","at":"2026-05-21","kind":"look","batch":"26-002","stick":"S2","rooted":9}"#,
        r#"{"id":"P1","at":"2026-06-01","kind":"pot","batch":@,"stick":"S1","count":3,"container":@,"place":@}"#,
        r#"{"id":"M1","at":"2026-06-02","kind":"move","batch":"26-002","stick":"S2","count":5,"into":@,"place":@}"#,
        r#"{"id":"T1","at":"2026-06-02","kind":"treat","what":"spray","with":@,"place":@,"note":@}"#,
        r#"{"id":"C1","at":"2026-06-28T09:00:00+01:00","kind":"climate","place":@,"air_c":20,"rh_pct":80,"vent":@}"#,
        r#"{"id":"C2","at":"2026-06-28T10:00:00+01:00","kind":"climate","place":@,"air_c":21,"rh_pct":80}"#,
        r#"{"id":"R1","at":"2026-06-03","kind":"remark","note":@,"place":@}"#,
        r#"{"id":"A1","at":"2026-06-03","kind":"amend","of":"L1","set":{"note":@}}"#,
        r#"{"id":"W1","at":"2026-06-03","kind":"withdraw","of":"R1","why":@}"#,
        r#"{"id":"X1","at":"2026-06-03","kind":"taxon","taxon":@,"aliases":[@],"protected":true}"#,
        r#"{"id":"X2","at":"2026-06-03","kind":"place","place":@,"aliases":[@]}"#,
        // Faults that quote what they found.
        r#"{"id":"F1","at":"2026-06-03","kind":@}"#,
        r#"{"id":"F2","at":"2026-06-03","kind":"look","batch":@,"stick":"S1","how":@}"#,
        r#"{"id":"F3","at":@,"kind":"look","batch":@}"#,
        r#"{"id":"F4","at":"2026-06-03","kind":"look","batch":@,"rooted":1,"rooted":@}"#,
        r#"{"id":@,"at":"2026-06-03","kind":"remark","note":"x"}"#,
        r#"{"id":"F5","at":"2026-06-03","kind":"look","batch":@,"stick":@,"rooted":1}"#,
        r#"{"id":"F6","at":"2026-06-03","kind":"amend","of":@,"set":{@:1}}"#,
        "<<<<<<< @",
        "@",
    ];
    let escaped: String = lines
        .iter()
        .map(|line| line.replace('@', &quoted) + "\n")
        .collect();
    // The same again under other ids, with what JSON lets stand raw.
    let raw = HARM.replace(['\u{1b}', '\u{7}'], "\u{85}");
    let text: String = lines
        .iter()
        .map(|line| {
            line.replace("\"id\":\"", "\"id\":\"r")
                .replace('@', &format!("\"{raw}\""))
                + "\n"
        })
        .collect();
    fs::write(folder.join("a.jsonl"), escaped).unwrap();
    fs::write(folder.join("b\u{1b}[2J\u{9b}31m\u{202e}.jsonl"), text).unwrap();
    fs::create_dir(folder.join("c\u{1b}]0;x\u{7}.jsonl")).unwrap();
}

/// Every command with the arguments that show most; `@` stands for the harm.
const COMMANDS: &[&[&str]] = &[
    &["add", "remark bench A: @"],
    &["add", "--dry-run", "stick 24 @, at @"],
    &["add", "@ 24"],
    &["add", "look @: rooted 99"],
    &["add", "remark x", "--at", "@"],
    &["add", "remark x", "--by", "@"],
    &["batches"],
    &["batches", "--place", "@"],
    &["batches", "--since", "@"],
    &["due"],
    &["season"],
    &["forecast"],
    &["plan"],
    &["due", "--place", "@"],
    &["show", "26-002"],
    &["show", "@"],
    &["show", "none @"],
    &["timeline"],
    &["timeline", "@"],
    &["timeline", "--by", "trial,place,arm"],
    &["timeline", "--by", "@"],
    &["compare", "--trial", "@"],
    &["compare", "--by", "place"],
    &["compare", "--by", "@"],
    &[
        "lay-out",
        "--arms",
        "@,b",
        "--over",
        "@,c",
        "--name",
        "@",
        "--batches",
        "2",
    ],
    &["forecast", "@"],
    &["plan", "@", "--want", "40", "--by", "@"],
    &["plan", "cmd", "--want", "40", "--by", "2026-09-01"],
    &["lay-out", "--arms", "@"],
    &["intervals"],
    &["check", "--explain"],
    &["climate"],
    &["climate", "@"],
    &["climate", "import", "HOME/log\u{1b}[2J.csv", "--place", "@"],
    &[
        "climate",
        "import",
        "HOME/log\u{1b}[2J.csv",
        "--place",
        "@",
        "--write",
        "--column",
        "air=@",
    ],
    &["climate", "import", "HOME/@", "--place", "@"],
    &["mix", "convert", "@", "--of", "@"],
    &["mix", "disinfect", "@"],
    &["cautions"],
    &["import", "HOME/log\u{1b}[2J.csv"],
    &["import", "HOME/log\u{1b}[2J.csv", "--sheet", "@", "--write"],
    &["import", "HOME/@", "--with", "HOME/@"],
    &["export", "HOME/@"],
    &["publish", "HOME/pool", "--as", "ashfield"],
    &[
        "publish",
        "HOME/pool",
        "--as",
        "birch",
        "--with",
        "places,notes,people",
    ],
    &["publish", "HOME/@", "--as", "@"],
    &["pool", "HOME/pool", "timeline", "--by", "medium,hormone"],
    &["pool", "HOME/pool", "timeline", "@"],
    &["pool", "HOME/pool", "compare", "--by", "hormone"],
    &["pool", "HOME/pool", "expect", "--nursery", "@"],
    &["pool", "HOME/@", "timeline"],
    &["pool", "HOME/log\u{1b}[2J.csv", "timeline"],
    &["pool", "reduce", "--by", "@"],
    &["pool", "curve"],
    &["print", "labels", "--to", "HOME/@"],
    &["print", "labels", "@"],
    &["print", "labels"],
    &["print", "looks"],
    &["print", "season"],
    &["print", "taxon", "@"],
    &["completions", "@"],
    &["man", "HOME/@"],
    &["sample", "HOME/@/@"],
    &["@"],
    &["--@"],
    &["--journal", "@", "batches"],
    &["--journal", "a\0b", "batches"],
    &["help", "@"],
];

fn run(home: &Home, words: &[&str], more: &[&str]) -> Option<Said> {
    let fill = |word: &&str| {
        word.replace('@', HARM)
            .replace("HOME", home.path().to_str().unwrap())
    };
    let words: Vec<String> = words.iter().chain(more).map(fill).collect();
    // The system itself takes no argument with a zero byte in it.
    if words.iter().any(|word| word.contains('\0')) {
        return None;
    }
    Some(home.struck(&words.iter().map(String::as_str).collect::<Vec<_>>()))
}

#[test]
fn no_command_lets_harm_through() {
    let home = hostile_home();
    let mut ran = 0;
    for words in COMMANDS {
        for more in [&[][..], &["--json"], &["--csv"], &["--ascii"]] {
            let Some(said) = run(&home, words, more) else {
                continue;
            };
            let what = format!("struck {words:?} {more:?} (exit {})", said.code);
            assert!((0..=3).contains(&said.code), "{what}: {}", said.err);
            tame(&what, &said.out);
            tame(&what, &said.err);
            if more == ["--json"] && said.code != 2 && said.out.starts_with('{') {
                let _: serde_json::Value =
                    serde_json::from_str(&said.out).unwrap_or_else(|e| panic!("{what}: {e}"));
            }
            ran += usize::from(said.code != 2);
        }
    }
    assert!(ran > 40, "only {ran} runs were understood");
}

/// What was held back would be tame too: the harm is seen, spelled out, wherever a field of it is told.
#[test]
fn harm_is_shown_spelled_out_and_not_left_away() {
    let home = hostile_home();
    let spelled = "calc'!A0\\x1b[2";
    // A table cuts the name to its column.
    let cut = "=cmd|'";
    for (words, seen) in [
        (&["add", "--dry-run", "remark bench A: @"][..], spelled),
        (&["batches"], cut),
        (&["show", "26-002"], spelled),
        (&["show", "none @"], spelled),
        (&["timeline", "--by", "trial,place,arm"], cut),
        (&["compare", "--by", "@"], spelled),
        (&["intervals"], cut),
        (&["check", "--explain"], spelled),
        (&["climate"], cut),
        (&["sample", "HOME/@/@"], spelled),
        // The reader of arguments takes orders of the terminal away itself.
        (&["@"], "<U+202E>"),
    ] {
        let said = run(&home, words, &[]).unwrap();
        // A line may be broken within the text.
        let told = format!("{}{}", said.out, said.err).replace(['\n', ' '], "");
        assert!(told.contains(seen), "{words:?}: {told}");
    }
}

#[test]
fn the_table_leaves_no_command_out() {
    let help = Home::new().struck(&["--help"]).done();
    let listed = help
        .split("Commands:\n")
        .nth(1)
        .unwrap()
        .split("\n\n")
        .next()
        .unwrap();
    // Behind two spaces stands a name, behind more what was wrapped.
    let named = |line: &&str| !line.starts_with("   ");
    for line in listed.lines().filter(named) {
        let name = line.split_whitespace().next().unwrap();
        assert!(
            COMMANDS.iter().any(|words| words[0] == name),
            "{name} is tried by no row"
        );
    }
}

#[test]
fn json_gives_every_text_back_to_the_letter() {
    let home = hostile_home();
    let said = home.struck(&["show", "26-002", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&said.out).unwrap();
    assert!(
        value
            .to_string()
            .contains(&serde_json::to_string(HARM).unwrap()),
        "{}",
        said.out
    );
}

#[test]
fn a_written_line_holds_no_control_raw() {
    let home = Home::new();
    home.struck(&["add", "remark fog \u{9b}31m\u{7f}\u{202e} drips"]);
    let line = home.lines().remove(0);
    tame("the journal's own line", &line);
    let read: serde_json::Value = serde_json::from_str(&line).unwrap();
    assert!(
        read["note"].as_str().unwrap().contains("\u{202e} drips"),
        "{line}"
    );
    assert_eq!(home.struck(&["check"]).code, 0);
}

#[test]
fn no_cell_is_run_by_a_spreadsheet() {
    let said = hostile_home().struck(&["intervals", "--csv"]);
    let mut rows = csv::Reader::from_reader(said.out.as_bytes());
    let mut cells = 0;
    for row in rows.records() {
        for cell in &row.unwrap() {
            let number = cell.parse::<f64>().is_ok();
            assert!(
                number
                    || !cell
                        .trim_start()
                        .starts_with(['=', '+', '-', '@', '\t', '\r', '＝', '＋', '－', '＠']),
                "{cell:?}"
            );
            cells += 1;
        }
    }
    assert!(cells > 14);
}

#[test]
fn paths_in_the_journal_are_never_followed() {
    let home = Home::new();
    fs::create_dir_all(home.journal()).unwrap();
    let secret = home.path().join("secret");
    fs::write(&secret, "a word not to be told").unwrap();
    let path = secret.to_str().unwrap();
    let line = format!(
        r#"{{"id":"S1","at":"2026-05-01","kind":"stick","batch":"{path}","taxon":"../../{path}","stuck":24,"source":"file://{path}","place":"{path}"}}"#
    );
    fs::write(home.journal().join("a.jsonl"), line + "\n").unwrap();
    std::os::unix::fs::symlink(&secret, home.journal().join("b.jsonl")).unwrap();
    for words in [
        &["batches", "--json"][..],
        &["show", path, "--json"],
        &["check", "--explain"],
        &["intervals"],
        &["climate"],
    ] {
        let said = home.struck(words);
        assert!(
            !said.out.contains("not to be told") && !said.err.contains("not to be told"),
            "{words:?}"
        );
    }
    assert_eq!(fs::read_to_string(secret).unwrap(), "a word not to be told");
}
