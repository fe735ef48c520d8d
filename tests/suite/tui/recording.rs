//! Recording with keys, and what it costs: in presses, and in bytes to the terminal. The tables of the page for
//! contributors are made here.

use super::face::Face;
use super::gallery::SIZES;
use std::fmt::Write;

/// Two places, a few batches.
pub const NURSERY: &[&str] = &[
    "2026-05-10 stick 24 Weigela florida 'Variegata', softwood, at bench A/1, mist",
    "2026-05-12 stick 84 Escallonia 'Apple Blossom', softwood, at bench A/2, mist",
    "2026-05-20 stick 120 Lavandula angustifolia 'Hidcote', softwood, at frame 2, frame",
    "2026-06-10 stick 40 Philadelphus coronarius, softwood, at bench A/3, mist",
    "2026-06-07 look 26-001: callused 8, rooted 4",
    "2026-06-07T08:10:00+02:00 climate bench A: air 24.5, rh 88, medium 21",
];

/// An act and its cost.
struct Cost {
    act: &'static str,
    /// The keys that lead to where it begins.
    before: &'static str,
    keys: &'static str,
    /// A name within the keys, which is typed besides what it may cost.
    name: &'static str,
    /// The most presses that it may take.
    most: usize,
    /// A kind of entry, and how many of it are written.
    writes: (&'static str, usize),
}

const fn cost(
    act: &'static str,
    before: &'static str,
    keys: &'static str,
    most: usize,
    writes: (&'static str, usize),
) -> Cost {
    Cost {
        act,
        before,
        keys,
        name: "",
        most,
        writes,
    }
}

/// What is done at a bench in a morning, and what it may cost.
const COSTS: &[Cost] = &[
    cost(
        "a look with three one-digit counts, cursor on the batch",
        "002",
        "<Enter>4 3 0 1<Enter>",
        9,
        ("look", 1),
    ),
    cost(
        "the same, label in hand",
        "",
        "002<Enter>4 3 0 1<Enter>",
        12,
        ("look", 1),
    ),
    cost("in a round: pass", "001w", "<Enter>", 1, ("look", 0)),
    cost(
        "in a round: nothing yet",
        "002w",
        "0<Enter>",
        2,
        ("look", 1),
    ),
    cost(
        "in a round: dead ones picked out",
        "001w",
        "12k<Enter>",
        4,
        ("look", 1),
    ),
    cost(
        "another tray like the last",
        "002",
        "s<Enter>",
        2,
        ("stick", 1),
    ),
    cost(
        "the same, another number",
        "002",
        "s120<Enter>",
        6,
        ("stick", 1),
    ),
    Cost {
        name: "Philadelphus coronarius",
        ..cost(
            "another taxon and number, all else as today",
            "002",
            "s40 Philadelphus coronarius<Enter>",
            12,
            ("stick", 1),
        )
    },
    cost(
        "a climate note at this place",
        "002",
        "c24 82 21<Enter>",
        10,
        ("climate", 1),
    ),
    cost(
        "potted, and the rest given up",
        "002",
        "p18 g<Enter>",
        8,
        ("discard", 1),
    ),
    cost(
        "looked at, potted, and the rest given up, in one act",
        "002",
        "<Enter>50 9 0 3 50p g<Enter>",
        18,
        ("discard", 1),
    ),
    cost(
        "potted, and the rest stuck again, in one act",
        "002",
        "p18 s<Enter><Enter>",
        8,
        ("stick", 1),
    ),
    cost("a part moved", "002", "m50 fra=<Enter>", 9, ("move", 1)),
    cost(
        "look again in so many days",
        "002",
        "a14<Enter>",
        4,
        ("look", 1),
    ),
    cost("undo", "002", "uu", 2, ("withdraw", 1)),
];

#[test]
fn acts_cost_no_more_keys_than_promised() {
    let mut table = String::from("| act | keys | presses | may take |\n|---|---|---|---|\n");
    for one in COSTS {
        let mut face = Face::new(NURSERY, (80, 24));
        face.keys("002s24 Weigela florida, softwood, at bench A<Enter>");
        // A key ends the label; it chooses nothing.
        face.keys("<Esc>").keys(one.before);
        let before = face.lines(one.writes.0).len();
        let cost = face.cost(one.keys) - one.name.len();
        let (act, most) = (one.act, one.most);
        assert!(cost <= most, "{act}: {cost} keys");
        let written = face.lines(one.writes.0).len() - before;
        assert_eq!(written, one.writes.1, "{act}\n{}", face.screen());
        let keys = one.keys.replace(['<', '>'], " ");
        let keys = keys.split_whitespace().collect::<Vec<_>>().join(" ");
        let (cost, most) = match one.name {
            "" => (cost.to_string(), most.to_string()),
            _ => (
                format!("{cost} and the name"),
                format!("{most} and the name"),
            ),
        };
        writeln!(table, "| {act} | `{keys}` | {cost} | {most} |").unwrap();
    }
    held("key presses", &table);
}

/// Screens on which the chosen batch's life does not stand beside the list.
const WITHOUT_LIFE: &[(u16, u16)] = &[SIZES[0], SIZES[1], SIZES[2]];
/// Screens on which it does. Another batch then has another picture, which has to be sent.
const WITH_LIFE: &[(u16, u16)] = &[SIZES[3]];

/// The screens, what is done, the keys that lead there, the keys measured, and the bytes that one of them may send: on
/// average, and at most.
type KeyBytes = (
    &'static [(u16, u16)],
    &'static str,
    &'static str,
    &'static str,
    u64,
    u64,
);

const BYTES: &[KeyBytes] = &[
    (
        &SIZES,
        "a letter or figure typed on the look pad",
        "001<Enter>",
        "4 3 0 1",
        40,
        200,
    ),
    (
        &SIZES,
        "a letter typed into a line",
        "n",
        "leaves yellow at the edge",
        40,
        200,
    ),
    (
        &SIZES,
        "a letter of a sticking, words on offer",
        "s",
        "24 lavandula",
        40,
        200,
    ),
    (WITHOUT_LIFE, "another batch chosen", "", "..,", 80, 200),
    (
        WITH_LIFE,
        "another batch chosen, its life beside the list",
        "",
        "..,",
        200,
        250,
    ),
    (
        &SIZES,
        "a screen opened or left",
        "",
        "i<Esc>j<Esc>v<Esc>y<Esc>h<Esc>f<Esc>",
        2500,
        5000,
    ),
];

#[test]
fn keys_send_no_more_bytes_than_promised() {
    let mut table = String::from("| key | bytes on average | at most |\n|---|---|---|\n");
    for (sizes, what, before, keys, mean, most) in BYTES {
        for size in *sizes {
            let mut face = Face::new(NURSERY, *size);
            face.keys(before);
            let sent: Vec<u64> = face.bytes(keys).iter().map(|(_, bytes)| *bytes).collect();
            let seen = sent.iter().sum::<u64>() / sent.len() as u64;
            let longest = sent.iter().max().unwrap();
            println!("{what} at {size:?}: {seen}, {longest}");
            assert!(
                seen <= *mean && longest <= most,
                "{what} at {size:?}: {sent:?}"
            );
        }
        writeln!(table, "| {what} | {mean} | {most} |").unwrap();
    }
    held("bytes", &table);
}

/// Holds a table of the tests' page to what was found.
fn held(name: &str, table: &str) {
    let page = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/README.md");
    let page = std::fs::read_to_string(page).unwrap();
    let begin = format!("<!-- {name}, made by the test tui::recording -->\n\n");
    let held = page
        .split_once(&begin)
        .and_then(|(_, rest)| rest.split_once("\n<!-- end -->"));
    let held = held.map_or("", |(held, _)| held);
    assert!(
        held == table,
        "The table of {name} in tests/README.md should be:\n{table}"
    );
}
