//! What the look pad takes beside its counts: a day, a note, a glance; and a scanned label while it is open.

use super::face::{Face, presses};
use super::recording::NURSERY;
use struck::tui::effect::Message;

const LAPTOP: (u16, u16) = (80, 24);
const PHONE: (u16, u16) = (40, 12);

#[test]
fn a_look_of_yesterday_is_saved_of_yesterday() {
    for (typed, at) in [
        ("2 3 0 1 yesterday", "2026-06-13"),
        ("2r 3c 1k 12 jun", "2026-06-12"),
        ("2 3 0 1 fri 16:30", "2026-06-12T16:30"),
    ] {
        let mut face = Face::new(NURSERY, PHONE);
        let pad = face.keys(&format!("002<Enter>{typed}")).screen();
        assert!(pad.contains(", of "), "the day is read along: {pad}");
        face.keys("<Enter>");
        let look = face.lines("look").pop().unwrap();
        assert!(look.contains(&format!("\"at\":\"{at}")), "{typed}: {look}");
        assert!(look.contains("\"rooted\":2"), "{look}");
    }
    // A day that has yet to come is no day of a look.
    let mut face = Face::new(NURSERY, LAPTOP);
    let said = face.keys("002<Enter>2 tomorrow<Enter>").screen();
    assert!(said.contains("has yet to come"), "{said}");
    assert_eq!(face.lines("look").len(), 1);
}

#[test]
fn a_look_of_a_day_before_others_counts_what_remained_then() {
    let lines = [NURSERY, &["2026-06-13 look 26-002: rooted 10, blackened 4"]].concat();
    let mut face = Face::new(&lines, LAPTOP);
    let pad = face.keys("002<Enter>3 1 5 Jun").screen();
    assert!(pad.contains("of 84"), "{pad}");
    face.keys("<Enter>");
    let look = face.lines("look").pop().unwrap();
    assert!(look.contains("\"seen\":84"), "{look}");
}

#[test]
fn a_note_goes_with_the_look_and_alone_is_a_remark() {
    let mut face = Face::new(NURSERY, LAPTOP);
    face.keys("002<Enter>2 3 \"dry at the edge? 1/2 of it = thin.<Enter>");
    let look = face.lines("look").pop().unwrap();
    assert!(
        look.contains("\"note\":\"dry at the edge? 1/2 of it = thin.\""),
        "in a note signs are text: {look}"
    );
    face.keys("003<Enter>\"mice<Enter>");
    let remark = face.lines("remark").pop().unwrap();
    assert!(
        remark.contains("26-003") && remark.contains("mice"),
        "{remark}"
    );
    // It stands on the pad again when the look is put right.
    let pad = face.keys("002<Enter>=").screen();
    assert!(pad.contains("2r 3c \"dry at the edge"), "{pad}");
    face.keys("<Backspace>!<Enter>");
    let amend = face.lines("amend").pop().unwrap();
    assert!(amend.contains("thin.!"), "{amend}");
    assert!(
        !amend.contains("rooted"),
        "only the note is amended: {amend}"
    );
}

#[test]
fn a_glance_is_one_sign_and_says_nothing_of_stages() {
    let mut face = Face::new(NURSERY, PHONE);
    face.keys("002<Enter>y<Enter>");
    let look = face.lines("look").pop().unwrap();
    assert!(look.contains("\"how\":\"glance\""), "{look}");
    assert!(!look.contains("seen") && !look.contains("rooted"), "{look}");
    let said = face.keys("003<Enter>4 y").screen();
    assert!(said.contains("A glance shows the dead alone"), "{said}");
    // A day alone is no look.
    let said = face.keys("<Esc>yesterday<Enter>").screen();
    assert!(said.contains("Nothing is counted"), "{said}");
}

#[test]
fn eighteen_tugged_may_be_typed_in_one() {
    let mut face = Face::new(NURSERY, LAPTOP);
    face.keys("002<Enter>18t<Enter>");
    let look = face.lines("look").pop().unwrap();
    assert!(
        look.contains(r#""how":"tug","seen":84,"rooted":18"#),
        "{look}"
    );
}

#[test]
fn the_signs_of_the_pad_are_one_key_away_on_a_phone() {
    let mut face = Face::new(NURSERY, PHONE);
    let pad = face.keys("001<Enter>").screen();
    assert!(pad.contains("? signs"), "{pad}");
    let mut all = face.keys("?").screen();
    for _ in 0..2 {
        all.push_str(&face.keys(" ").screen());
    }
    for sign in [
        "18p",
        "potted",
        "3 Jun",
        "its day",
        "a note",
        "looked, no count",
    ] {
        assert!(all.contains(sign), "{sign}: {all}");
    }
}

/// A scanner's keys come at one moment.
fn scan(face: &mut Face, keys: &str) {
    face.happen(Message::Presses(presses(keys)));
}

#[test]
fn a_label_scanned_while_a_look_is_typed_goes_into_no_box_of_it() {
    let mut face = Face::new(NURSERY, LAPTOP);
    face.keys("001<Enter>4 8");
    scan(&mut face, "26-002<Enter>");
    let pad = face.screen();
    assert!(pad.contains("002 Escallonia"), "{pad}");
    assert!(
        pad.contains("Not saved yet, it waits below: look 26-001: 4 8"),
        "{pad}"
    );
    assert_eq!(face.lines("look").len(), 1, "nothing was saved by it");
    // The scanned one first, then what waited: as it stood.
    let below = face.keys("2<Enter>").screen();
    assert!(
        below.contains("001 Weigela") && below.contains("> 4 8"),
        "{below}"
    );
    face.keys(" 0 1<Enter>");
    let looks = face.lines("look");
    assert_eq!(looks.len(), 3, "{}", face.screen());
    assert!(looks[2].contains("26-001") && looks[2].contains("\"blackened\":1"));
}

#[test]
fn counts_that_arrive_in_one_burst_are_counts_and_the_own_label_changes_nothing() {
    let mut face = Face::new(NURSERY, LAPTOP);
    face.keys("002<Enter>");
    scan(&mut face, "4 3 0 1<Enter>");
    let look = face.lines("look").pop().unwrap();
    assert!(
        look.contains("26-002") && look.contains("\"rooted\":4"),
        "{look}"
    );
    face.keys("002<Enter>5");
    scan(&mut face, "26-002<Enter>");
    let pad = face.screen();
    assert!(pad.contains("This is the pad of 26-002"), "{pad}");
    assert!(pad.contains("> 5"), "{pad}");
    // A tray that is done with is told, and goes into no box either.
    face.keys("<Esc><Esc>001d24, given up<Enter>002<Enter>5");
    face.happen(Message::Paste("26-001\r".into()));
    let pad = face.screen();
    assert!(
        pad.contains("26-001 is closed") && pad.contains("> 5"),
        "{pad}"
    );
}

#[test]
fn a_label_scanned_on_a_round_is_looked_at_and_the_round_goes_on_where_it_was() {
    let mut face = Face::new(NURSERY, LAPTOP);
    face.keys("o001w");
    scan(&mut face, "26-003<Enter>");
    assert!(face.screen().contains("003 L"), "{}", face.screen());
    let round = face.keys("7<Enter>").screen();
    assert!(round.contains("1 of 4"), "{round}");
}
