//! The journal's pages: climate lines like others, lines as they stand in their file, notices as `check` tells
//! them, what went along with a batch; and one way to take an entry back, here and on the batch.

use super::face::{Face, journal};
use super::views::{LINES, SIZES};
use std::sync::Arc;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;
use tempfile::TempDir;

const AIR: &[&str] = &[
    "2026-05-12 stick 20 Lavandula angustifolia 'Hidcote', softwood, at bench 1",
    "2026-06-02T08:00:00+02:00 climate bench 1: air 21, rh 88",
    "2026-06-09 look 26-001: 14 rooted, 2 blackened",
    "2026-06-10T08:00:00+02:00 climate bench 1: air 31, rh 70",
];

fn with_line(lines: &[&str], more: &str) -> Arc<TempDir> {
    let folder = journal(lines);
    let file = folder.path().join("journal").join("by-hand.jsonl");
    std::fs::write(file, more).unwrap();
    folder
}

fn over(folder: &Arc<TempDir>, size: (u16, u16)) -> Face {
    Face::over(folder, size, Charset::Utf8, Colours::None)
}

#[test]
fn a_climate_line_is_amended_like_any_other() {
    let mut face = Face::new(AIR, (80, 24));
    face.keys("je");
    let line = face.screen();
    assert!(line.contains("air 31"), "{line}");
    face.keys(", leaf 15<Enter>");
    let amend = face.lines("amend");
    assert_eq!(amend.len(), 1, "{}", face.screen());
    assert!(amend[0].contains("\"set\":{\"leaf_c\":15"), "{amend:?}");
    let screen = face.screen();
    assert!(
        screen.contains("amended: climate bench 1: air 31, rh 70, leaf 15"),
        "{screen}"
    );
}

#[test]
fn a_climate_line_is_withdrawn_like_any_other_and_stays_to_be_seen() {
    let mut face = Face::new(AIR, (80, 24));
    face.keys("j!!");
    assert_eq!(face.lines("withdraw").len(), 1, "{}", face.screen());
    let screen = face.screen();
    assert!(
        screen.contains("withdrawn: climate bench 1: air 31"),
        "{screen}"
    );
}

#[test]
fn a_line_is_seen_as_it_stands_in_its_file_and_cleaned() {
    let bad =
        "{\"v\":1,\"at\":\"2026-06-01\",\"kind\":\"look\",\"note\":\"\u{202e}\u{1b}]0;x\u{7}\"\n";
    let folder = with_line(LINES, bad);
    for size in SIZES {
        let mut face = over(&folder, size);
        let mut seen = face.keys("j<Enter>").screen();
        for _ in 0..4 {
            seen.push_str(&face.keys(" ").screen());
        }
        let words = seen.split_whitespace().collect::<String>();
        assert!(words.contains("Thelineasitstands:"), "{size:?}\n{seen}");
        assert!(words.contains("\"kind\":\"look\""), "{size:?}\n{seen}");
        assert!(
            words.contains("\\x1b") && words.contains("<U+202E>"),
            "{size:?}\n{seen}"
        );
        assert!(!seen.contains('\u{1b}') && !seen.contains('\u{202e}'));
    }
}

#[test]
fn what_is_to_be_done_about_a_fault_is_never_cut_without_a_sign() {
    let folder = with_line(LINES, "not a line\n");
    for size in SIZES {
        let mut face = over(&folder, size);
        let screen = face.keys("j").screen();
        assert!(screen.contains("To do: "), "{size:?}\n{screen}");
        let foot: Vec<&str> = screen.lines().collect();
        let whole = screen.contains("The line is not JSON") || screen.contains("lines more");
        assert!(whole, "{size:?}\n{}", foot.join("\n"));
        let mut seen = face.keys("<Enter>").screen();
        seen.push_str(&face.keys(" ").screen());
        let words = seen.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("settle the line"), "{size:?}\n{seen}");
    }
}

#[test]
fn a_damaged_line_is_settled_from_the_pages() {
    let folder = with_line(LINES, "not a line\n");
    let mut face = over(&folder, (80, 24));
    face.keys("j!");
    assert!(
        face.screen()
            .contains("Press ! once more to withdraw: by-hand.jsonl, line 1"),
        "{}",
        face.screen()
    );
    face.keys("!");
    assert_eq!(face.lines("withdraw").len(), 1, "{}", face.screen());
    assert!(
        face.state.common.book.faults().is_empty(),
        "{}",
        face.screen()
    );
}

#[test]
fn dates_ahead_are_told_as_check_tells_them() {
    let ahead = "{\"v\":1,\"id\":\"AHEAD1\",\"at\":\"2126-06-01\",\"kind\":\"remark\",\"note\":\"slip\"}\n\
        {\"v\":1,\"id\":\"AHEAD2\",\"at\":\"2126-06-02\",\"kind\":\"climate\",\"place\":\"bench 1\",\"air_c\":20}\n";
    let folder = with_line(LINES, ahead);
    let screen = over(&folder, (80, 24)).keys("j").screen();
    assert!(screen.contains("2 faults and notices"), "{screen}");
    assert!(
        screen.contains("Dated 2126-06-01, which has yet to come."),
        "{screen}"
    );
    assert!(
        screen.contains("Dated 2126-06-02, which has yet to come."),
        "{screen}"
    );
}

#[test]
fn entries_that_went_along_with_a_batch_are_shown_as_gone() {
    let mut face = Face::new(AIR, (80, 24));
    // To the stick, the oldest line, and back.
    face.keys("j...!!");
    assert_eq!(face.lines("withdraw").len(), 1, "{}", face.screen());
    let screen = face.screen();
    assert!(
        screen.contains("withdrawn with its batch: look 26-001"),
        "{screen}"
    );
    assert!(screen.contains("withdrawn: stick"), "{screen}");
    assert!(
        screen.contains("withdraw of stick 26-001, 12 May"),
        "{screen}"
    );
    assert!(
        !screen.contains("withdrawn with its batch: climate"),
        "{screen}"
    );
}

#[test]
fn an_entry_is_taken_back_the_same_way_on_its_batch_and_never_by_one_key_or_enter() {
    let mut face = Face::new(LINES, (80, 24));
    face.keys("001i!");
    assert!(face.lines("withdraw").is_empty());
    assert!(
        face.screen()
            .contains("Press ! once more to withdraw: look"),
        "{}",
        face.screen()
    );
    face.keys("<Enter>");
    assert!(face.lines("withdraw").is_empty(), "{}", face.screen());
    face.keys("!!");
    assert_eq!(face.lines("withdraw").len(), 1, "{}", face.screen());
    // Undo takes the taking back back.
    face.keys("uu");
    assert_eq!(face.lines("withdraw").len(), 2);
    assert!(face.screen().contains("look: "), "{}", face.screen());
}
