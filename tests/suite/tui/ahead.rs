//! Keys that come faster than the journal takes what they save: none is lost, and none meets the book of before.

use super::face::{Face, desk, journal, now, presses};
use struck::model::entry::Look;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;
use struck::tui::effect::{Door, Message};
use struck::tui::journal_door::JournalDoor;
use struck::tui::record::reading;

const THREE: &[&str] = &[
    "2026-05-20 stick 24 Weigela florida, softwood, at bench A/1",
    "2026-05-20 stick 24 Weigela florida, softwood, at bench A/2",
    "2026-05-20 stick 24 Weigela florida, softwood, at bench A/3",
];

/// Keys that all arrive at one moment, as from a link that was held up.
fn at_once(face: &mut Face, keys: &str) {
    face.happen(Message::Presses(presses(keys)));
}

/// What was seen on a tray: how many, rooted, lost.
fn seen(face: &Face, code: &str) -> Vec<(Option<u32>, Option<u32>, u32)> {
    let batch = face.state.common.book.by_code(code).next().unwrap();
    let looks = batch.events.iter().filter_map(|it| {
        let look: Look = it.entry.get()?;
        Some((look.seen, look.rooted, look.lost_in_all()))
    });
    looks.collect()
}

#[test]
fn a_round_typed_at_one_moment_goes_to_its_trays_one_after_the_other() {
    let mut face = Face::new(THREE, (80, 24));
    face.keys("o001w");
    at_once(&mut face, "4 0 0 1<Enter>2<Enter>0<Enter>");
    assert_eq!(seen(&face, "26-001"), [(Some(23), Some(4), 1)]);
    assert_eq!(seen(&face, "26-002"), [(Some(24), Some(2), 0)]);
    assert_eq!(seen(&face, "26-003"), [(Some(24), Some(0), 0)]);
    let screen = face.screen();
    assert!(screen.contains("Saved: 26-003: "), "{screen}");
}

#[test]
fn the_same_tray_again_at_one_moment_bears_the_next_code() {
    let mut face = Face::new(THREE, (80, 24));
    face.keys("s");
    at_once(
        &mut face,
        "40 Kerria japonica, softwood, at bench A<Enter>s<Enter>s<Enter>",
    );
    let batches = face.state.common.book.batches().iter();
    let kerria = batches.filter(|batch| batch.stick.taxon.contains("Kerria"));
    let codes: Vec<&str> = kerria.map(|batch| batch.code.as_str()).collect();
    assert_eq!(codes, ["26-004", "26-005", "26-006"]);
}

#[test]
fn undo_at_the_same_moment_takes_back_what_was_just_saved() {
    let mut face = Face::new(THREE, (80, 24));
    face.keys("001<Enter>");
    at_once(&mut face, "4 0 0 1<Enter>uu");
    assert_eq!(seen(&face, "26-001"), []);
    assert!(face.screen().contains("Withdrawn: "), "{}", face.screen());
    // The look after it starts from all that stand there again.
    face.keys("<Enter>");
    assert!(face.screen().contains("24 here"), "{}", face.screen());
}

#[test]
fn keys_after_what_is_refused_are_typed_where_it_stands() {
    let mut face = Face::new(THREE, (80, 24));
    face.keys("001<Enter>");
    at_once(&mut face, "30<Enter> 1");
    assert_eq!(seen(&face, "26-001"), []);
    assert!(face.screen().contains("> 30 1"), "{}", face.screen());
}

#[test]
fn a_door_checks_and_numbers_with_what_is_not_worked_in_yet() {
    let folder = journal(THREE);
    let mut door = JournalDoor::open(desk(&folder, now())).unwrap();
    let face = Face::over(&folder, (80, 24), Charset::Utf8, Colours::None);
    let common = &face.state.common;
    let act = |line: &str| reading::act(&[reading::read(line, common)], common).unwrap();
    let stick = act("stick 24 Kerria japonica, softwood, at bench A");
    let codes = [1, 2].map(|_| door.record(&stick, "Ana").unwrap().codes);
    assert_eq!(codes, [["26-004"], ["26-005"]]);
    door.record(&act("look 26-001: blackened 23"), "Ana")
        .unwrap();
    assert!(
        door.record(&act("look 26-001: rooted 2, lift"), "Ana")
            .is_err()
    );
    door.record(&act("look 26-001: rooted 1, lift"), "Ana")
        .unwrap();
}
