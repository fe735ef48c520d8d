//! Recording with keys, and what it costs.

use super::face::Face;

/// Two places, a few batches.
pub const NURSERY: &[&str] = &[
    "2026-05-10 stick 24 Weigela florida 'Variegata', softwood, at bench A/1, mist",
    "2026-05-12 stick 84 Escallonia 'Apple Blossom', softwood, at bench A/2, mist",
    "2026-05-20 stick 120 Lavandula angustifolia 'Hidcote', softwood, at frame 2, frame",
    "2026-06-10 stick 40 Philadelphus coronarius, softwood, at bench A/3, mist",
    "2026-06-07 look 26-001: callused 8, rooted 4",
    "2026-06-07T08:10:00+02:00 climate bench A: air 24.5, rh 88, medium 21",
];

/// Acts, the keys that they take with the cursor on the batch, and the most that they may take.
const COSTS: &[(&str, &str, usize, &str)] = &[
    (
        "a look with three one-digit counts",
        "<Enter>4 3 0 1<Enter>",
        9,
        "look",
    ),
    (
        "the same, label in hand",
        "002<Enter>4 3 0 1<Enter>",
        12,
        "look",
    ),
    ("another tray like the last", "s<Enter>", 2, "stick"),
    ("the same, another number", "s120<Enter>", 6, "stick"),
    (
        "a climate note at this place",
        "c24 82 21<Enter>",
        10,
        "climate",
    ),
    (
        "potted, and the rest given up",
        "p18 g<Enter>",
        8,
        "discard",
    ),
    ("a part moved", "m50 fra=<Enter>", 9, "move"),
    ("look again later", "a14<Enter>", 4, "look"),
    ("undo", "uu", 2, "withdraw"),
];

#[test]
fn acts_cost_no_more_keys_than_promised() {
    for (act, keys, most, kind) in COSTS {
        let mut face = Face::new(NURSERY, (80, 24));
        face.keys("002");
        face.keys("s24 Weigela florida, softwood, at bench A<Enter>");
        let before = face.lines(kind).len();
        let cost = face.cost(keys);
        assert!(cost <= *most, "{act}: {cost} keys");
        assert_eq!(
            face.lines(kind).len(),
            before + 1,
            "{act}\n{}",
            face.screen()
        );
    }
}
