//! A batch's life and the taxa, by typed keys, on a small journal.

use super::face::Face;

pub const SMALL: &[&str] = &[
    "2026-05-04 stick 24 Escallonia rubra, softwood, at bench A/3, mist",
    "2026-05-05T08:00:00+02:00 climate bench A: air 18.5, rh 92, medium 20",
    "2026-05-18 look 26-001: callused 10",
    "2026-05-20T08:00:00+02:00 climate bench A: air 21, rh 88, medium 21",
    "2026-05-25 look 26-001: callused 8, rooted 9, blackened 2",
    "2026-05-26 treat 26-001: wean",
    "2026-06-08 look 26-001: callused 3, rooted 14, bottom 5",
];

#[test]
fn an_entry_is_amended_and_taken_back() {
    let mut face = Face::new(SMALL, (80, 24));
    face.keys("i!!");
    assert_eq!(face.lines("withdraw").len(), 1, "{}", face.screen());
    let screen = face.screen();
    assert!(!screen.contains("5 bottom"), "{screen}");
    // Of those lost none was seen alive: the number seen is put right with it.
    face.keys(",e, wilted 3<Enter>");
    let amends = face.lines("amend");
    assert_eq!(amends.len(), 1, "{}", face.screen());
    assert!(amends[0].contains("\"seen\":"), "{amends:?}");
    assert!(
        face.keys("<Up>").screen().contains("amended: look"),
        "{}",
        face.screen()
    );
}

#[test]
fn the_grouping_changes_and_a_batch_is_reached_from_its_taxon() {
    let mut face = Face::new(SMALL, (80, 24));
    face.keys("v");
    assert!(face.screen().contains("Taxa by wood"));
    assert!(face.screen().contains("softwood"));
    face.keys("o");
    assert!(!face.screen().contains("softwood"), "{}", face.screen());
    face.keys("o");
    assert!(
        face.screen().contains("Taxa by season"),
        "{}",
        face.screen()
    );
    face.keys("<Enter><Enter>");
    assert!(
        face.screen().contains("001 Escallonia rubra, day 41"),
        "{}",
        face.screen()
    );
    // The look pad opens from here, and the way back is the way here.
    face.keys("e");
    assert!(face.screen().contains("rooted"));
    face.keys("<Esc><Backspace><Backspace>");
    assert!(
        face.screen().contains("Taxa by season"),
        "{}",
        face.screen()
    );
}

#[test]
fn too_little_is_said_in_words() {
    let lines = &["2026-06-01 stick 12 Weigela florida, batch 26-001"];
    let mut face = Face::new(lines, (80, 24));
    face.keys("v");
    assert!(
        face.screen().contains("No batch has been looked at yet"),
        "{}",
        face.screen()
    );
    face.keys("<Backspace>i");
    assert!(
        face.screen().contains("Not lifted yet"),
        "{}",
        face.screen()
    );
}
