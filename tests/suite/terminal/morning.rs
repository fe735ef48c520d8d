//! A morning's work at the real program by real key presses, a dropped link in the middle of it; then the
//! journal that it left, line by line. It trusts no code of the program for that.

use super::pty::Home;
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// Keys, and what the screen shows once they have done their work.
type Step = (&'static str, &'static str);

/// Nine trays stand on the bench from earlier days; three are stuck before the round.
const STICKING: &[Step] = &[
    ("s", "Stick 26-010"),
    (
        "24 Weigela florida, softwood, at bench A/10, mist\n",
        "Saved: 24 Weigela florida stuck.",
    ),
    ("s", "Stick 26-011"),
    ("\n", "Saved: 24 Weigela florida stuck."),
    ("s", "Stick 26-012"),
    (
        "40 Philadelphus coronarius\n",
        "Saved: 40 Philadelphus coronarius stuck.",
    ),
];

/// A round of twelve: lifts, a loss without a lift, a guess, nothing yet, and passes, which write nothing.
const ROUND: &[Step] = &[
    ("o", "Bench, walking: "),
    ("1", "> 001"),
    ("w", "1 of 12"),
    ("4 3 0 1\n", "2 of 12"),
    ("\n", "3 of 12"),
    ("0\n", "4 of 12"),
    ("6r2c\n", "5 of 12"),
    ("2k\n", "6 of 12"),
    ("\n", "7 of 12"),
    ("0 0 0 0 1\n", "8 of 12"),
    ("mr\n", "9 of 12"),
    ("3 2 1 +14\n", "10 of 12"),
    ("\n", "11 of 12"),
    ("\n", "12 of 12"),
    ("\n", "Round done: bench A."),
];

/// Single looks, a tug among them, the air, a slip taken back.
const SINGLE: &[Step] = &[
    ("2", "> 002"),
    ("\n", "002 Escallonia rubra"),
    ("2 1\n", "Saved: 26-002: 2 rooted"),
    ("6", "> 006"),
    ("\n", "006 Escallonia rubra"),
    ("1 4\n", "Saved: 26-006: 1 rooted"),
    ("l", "Any entry"),
    ("look 007: tug, rooted 5\n", "Saved: look 26-007: tug"),
    ("c", "Climate: bench A"),
    ("24.5 82 21\n", "bench A: 24.5 °C, 82 % rh, medium 21.0"),
    ("c", "Climate: bench A"),
    // A figure was left out.
    ("4.5 82 21\n", "bench A: 4.5 °C, 82 % rh, medium 21.0"),
    ("u", "Press u once more to withdraw: climate"),
    ("u", "bench A: 24.5 °C, 82 % rh, medium 21.0"),
];

/// A potting of what is rooted with the look before it, the rest given up; a part moved.
const POTTING: &[Step] = &[
    ("4", "> 004"),
    ("\n", "004 Escallonia rubra"),
    ("8r 8p\n", "Saved: 26-004: 8 rooted"),
    ("5", "> 005"),
    ("p", "Pot: 26-005"),
    ("6 g, 9 cm\n", "Saved: pot 26-005 6"),
    ("1", "> 001"),
    ("m", "Move: 26-001"),
    ("8 frame 2\n", "Saved: move 26-"),
    ("3", "> 003"),
    ("n", "Remark: 26-003"),
    ("leaves yel", "> leaves yel"),
];

/// After the link was dropped there: the entry is offered, completed, and one more is made.
const AFTER: &[Step] = &[
    ("z", "> leaves yel"),
    ("low, again in 3 days\n", "Saved: remark"),
    ("3", "> 003"),
    ("c", "Climate: bench A"),
    ("26 78 22\n", ": 26.0 °C, 78 % rh, medium 22.0"),
];

/// What the journal then says, entry by entry, in the order of its lines.
const SAID: &[&str] = &[
    r#"stick 26-001 {"taxon":"Escallonia rubra","stuck":24,"wood":"softwood","place":"bench A/1","cover":"mist"}"#,
    r#"stick 26-002 {"taxon":"Escallonia rubra","stuck":24,"wood":"softwood","place":"bench A/2","cover":"mist"}"#,
    r#"stick 26-003 {"taxon":"Escallonia rubra","stuck":24,"wood":"softwood","place":"bench A/3","cover":"mist"}"#,
    r#"stick 26-004 {"taxon":"Escallonia rubra","stuck":24,"wood":"softwood","place":"bench A/4","cover":"mist"}"#,
    r#"stick 26-005 {"taxon":"Escallonia rubra","stuck":24,"wood":"softwood","place":"bench A/5","cover":"mist"}"#,
    r#"stick 26-006 {"taxon":"Escallonia rubra","stuck":24,"wood":"softwood","place":"bench A/6","cover":"mist"}"#,
    r#"stick 26-007 {"taxon":"Escallonia rubra","stuck":24,"wood":"softwood","place":"bench A/7","cover":"mist"}"#,
    r#"stick 26-008 {"taxon":"Escallonia rubra","stuck":24,"wood":"softwood","place":"bench A/8","cover":"mist"}"#,
    r#"stick 26-009 {"taxon":"Escallonia rubra","stuck":24,"wood":"softwood","place":"bench A/9","cover":"mist"}"#,
    r#"stick 26-010 {"taxon":"Weigela florida","stuck":24,"wood":"softwood","place":"bench A/10","cover":"mist"}"#,
    r#"stick 26-011 {"taxon":"Weigela florida","stuck":24,"wood":"softwood","place":"bench A/10","cover":"mist"}"#,
    r#"stick 26-012 {"taxon":"Philadelphus coronarius","stuck":40,"wood":"softwood","place":"bench A/10","cover":"mist"}"#,
    r#"look 26-001 {"how":"lift","seen":23,"callused":3,"rooted":4,"bottom":0,"lost":{"blackened":1}}"#,
    r#"look 26-003 {"how":"lift","seen":24,"rooted":0}"#,
    r#"look 26-004 {"how":"lift","seen":24,"callused":2,"rooted":6}"#,
    r#"look 26-005 {"how":"glance","lost":{"blackened":2}}"#,
    r#"look 26-007 {"how":"lift","seen":23,"callused":0,"rooted":0,"bottom":0,"lost":{"wilted":1}}"#,
    r#"look 26-008 {"how":"lift","seen":24,"about":{"rooted":"most"}}"#,
    r#"look 26-009 {"how":"lift","seen":24,"callused":2,"rooted":3,"bottom":1,"again_on":"2026-06-28"}"#,
    r#"look 26-002 {"how":"lift","seen":24,"callused":1,"rooted":2}"#,
    r#"look 26-006 {"how":"lift","seen":24,"callused":4,"rooted":1}"#,
    r#"look 26-007 {"how":"tug","seen":23,"rooted":5}"#,
    r#"climate {"place":"bench A","air_c":24.5,"rh_pct":82,"medium_c":21}"#,
    r#"climate {"place":"bench A","air_c":4.5,"rh_pct":82,"medium_c":21}"#,
    r#"withdraw of line 24 {}"#,
    r#"look 26-004 {"how":"lift","seen":24,"rooted":8}"#,
    r#"pot 26-004 {"count":8}"#,
    r#"pot 26-005 {"count":6,"container":"9 cm"}"#,
    r#"discard 26-005 {"count":16,"why":"given-up"}"#,
    r#"move 26-001 into 26-013 {"place":"frame 2","count":8}"#,
    r#"remark 26-003 {"again_on":"2026-06-17","note":"leaves yellow"}"#,
    r#"climate {"place":"bench A","air_c":26,"rh_pct":78,"medium_c":22}"#,
];

/// Lines, counted from 1, that one act wrote: of one moment, side by side.
const TOGETHER: &[(usize, usize)] = &[(26, 27), (28, 29)];

#[test]
fn a_morning_s_work_is_in_the_journal_to_the_letter() {
    let home = Home::new();
    for day in 1..=9 {
        let line = format!("stick 24 Escallonia rubra, softwood, at bench A/{day}, mist");
        home.command(&["add", "--at", &format!("2026-05-1{day}"), &line]);
    }
    let mut session = home.open();
    session.wait("Bench: 9 open");
    for (keys, until) in [STICKING, ROUND, SINGLE, POTTING].concat() {
        session.types(keys, until);
    }
    assert_eq!(session.hang_up(), 129);
    let mut session = home.open();
    session.wait("Left unfinished: remark 26-003: leaves yel. z goes on with it");
    for (keys, until) in AFTER {
        session.types(keys, until);
    }
    session.keys("q");
    assert_eq!(session.end(), (0, true));
    let said = proved(&home);
    assert_eq!(said, SAID, "{}", said.join("\n"));
    let lines = home.lines();
    for (one, other) in TOGETHER {
        let moment =
            |line: usize| lines[line - 1].split("\"id\":\"").nth(1).unwrap()[..10].to_owned();
        assert_eq!(moment(*one), moment(*other), "lines {one} and {other}");
    }
    let checked = home.command(&["check", "--strict"]);
    assert!(checked.contains("32 entries"), "{checked}");
    let third = home.open();
    assert!(
        !third.wait("Bench, walking: ").contains("unfinished"),
        "offered twice"
    );
}

/// The journal's lines without what is checked here of every one: version, id, time, who, checksum, and
/// that the batch meant is the one that bears the code.
fn proved(home: &Home) -> Vec<String> {
    let mut ids: Vec<String> = Vec::new();
    let mut batches: BTreeMap<String, String> = BTreeMap::new();
    let mut out = Vec::new();
    for line in home.lines() {
        let (_, sum) = line.rsplit_once(",\"crc\":\"").unwrap();
        let covered = line.len() - ",\"crc\":\"00000000\"}".len();
        assert_eq!(
            sum,
            format!("{:08x}\"}}", crc32c(&line.as_bytes()[..covered])),
            "{line}"
        );
        let mut fields: Map<String, Value> = serde_json::from_str(&line).unwrap();
        let mut take = |name: &str| match fields.shift_remove(name) {
            Some(Value::String(text)) => text,
            other => other.map_or_else(String::new, |value| value.to_string()),
        };
        assert_eq!(take("v"), "1", "{line}");
        let id = take("id");
        // Made in order, of one machine: text order is time order, and none stands twice.
        assert!(
            id.len() == 26 && ids.last().is_none_or(|last| *last < id),
            "{line}"
        );
        let (kind, code, stick, of) = (take("kind"), take("batch"), take("stick"), take("of"));
        let (at, by, into) = (take("at"), take("by"), take("into"));
        take("crc");
        let earlier = kind == "stick" && at.starts_with("2026-05-1") && by.is_empty();
        assert!(
            earlier || (at == "2026-06-14T09:30:00+02:00" && by == "ana"),
            "{line}"
        );
        match kind.as_str() {
            "stick" => assert_eq!(batches.insert(code.clone(), id.clone()), None, "{line}"),
            _ if code.is_empty() => assert_eq!(stick, "", "{line}"),
            _ => assert_eq!(batches.get(&code), Some(&stick), "{line}"),
        }
        let mut said = vec![kind];
        said.extend([code].into_iter().filter(|code| !code.is_empty()));
        if !of.is_empty() {
            let which = ids.iter().position(|id| *id == of).unwrap();
            said.push(format!("of line {}", which + 1));
        }
        if !into.is_empty() {
            batches.insert(into.clone(), id.clone());
            said.push(format!("into {into}"));
        }
        said.push(Value::Object(fields).to_string());
        ids.push(id);
        out.push(said.join(" "));
    }
    out
}

/// CRC-32C bit by bit (RFC 3720, section 12.1: polynomial 0x1EDC6F41, here with its bits turned round).
fn crc32c(bytes: &[u8]) -> u32 {
    let mut sum = u32::MAX;
    for byte in bytes {
        sum ^= u32::from(*byte);
        for _ in 0..8 {
            let out = sum & 1;
            sum >>= 1;
            sum ^= 0x82F6_3B78 * out;
        }
    }
    !sum
}

#[test]
fn the_checksum_used_here_is_the_published_one() {
    // RFC 3720, appendix B.4: 32 bytes of zeros, of ones, and 0 to 31; there as bytes, lowest first.
    assert_eq!(crc32c(&[0; 32]), 0x8A91_36AA);
    assert_eq!(crc32c(&[0xFF; 32]), 0x62A8_AB43);
    assert_eq!(crc32c(&(0..32).collect::<Vec<u8>>()), 0x46DD_794E);
}
