//! Slips put right by keys: a look on the wrong tray, a number in an old look, and what follows from either.

use super::face::Face;

/// Two trays side by side and one elsewhere; the first was looked at twice, its first look with six dead.
const TRAYS: &[&str] = &[
    "2026-05-10 stick 24 Weigela florida, softwood, at bench A/1, mist",
    "2026-05-12 stick 84 Escallonia rubra, softwood, at bench A/2, mist",
    "2026-05-12 stick 60 Hebe albicans, softwood, at frame 2, frame",
    "2026-05-28 look 26-001: callused 4, blackened 6",
    "2026-06-07 look 26-001: callused 8, rooted 4",
];

const LAPTOP: (u16, u16) = (80, 24);
const PHONE: (u16, u16) = (40, 12);

#[test]
fn a_look_on_the_wrong_tray_goes_to_the_right_one_in_one_act_and_comes_back_by_one_undo() {
    for size in [PHONE, LAPTOP] {
        let mut face = Face::new(TRAYS, size);
        // The look of 28 May, the second line of its page, was of the tray beside it.
        let asked = face.keys("001i,@").screen();
        assert!(asked.contains("Not of 26-001"), "{asked}");
        let first = asked.lines().find(|line| line.starts_with("> 26-"));
        assert!(
            first.is_some_and(|line| line.contains("26-002")),
            "the tray beside it stands first: {asked}"
        );
        let done = face.keys("<Enter>").screen();
        let amends = face.lines("amend");
        let moved = &amends[0];
        assert!(moved.contains("\"batch\":\"26-002\""), "{done}");
        // It was at all that remained: 78 of 84 then. The later look of the first tray saw all 24.
        assert!(moved.contains("\"seen\":78"), "{moved}");
        assert!(amends[1].contains("\"seen\":24"), "{amends:?}");
        let book = &face.state.common.book;
        let left: Vec<u32> = book.batches().iter().map(|b| b.counts.remain()).collect();
        assert_eq!(left, [24, 78, 60], "{done}");
        assert!(book.faults().is_empty());
        assert_eq!(book.batches()[0].partly_seen(), None);
        face.keys("uu");
        let book = &face.state.common.book;
        let left: Vec<u32> = book.batches().iter().map(|b| b.counts.remain()).collect();
        assert_eq!(left, [18, 84, 60], "{}", face.screen());
        assert_eq!(face.lines("withdraw").len(), 2);
    }
}

#[test]
fn what_one_act_wrote_goes_to_the_right_tray_together() {
    let mut face = Face::new(TRAYS, LAPTOP);
    face.keys("003<Enter>30 0 0 2 30p g<Enter>");
    let pages = face.keys("j").screen();
    assert!(pages.contains("look 26-003"), "{pages}");
    let asked = face.keys("@escal").screen();
    assert!(asked.contains("pot 30"), "{asked}");
    face.keys("<Enter>");
    assert_eq!(face.lines("amend").len(), 3, "{}", face.screen());
    let counts = |face: &Face, at: usize| face.state.common.book.batches()[at].counts;
    assert_eq!(counts(&face, 2).remain(), 60);
    assert_eq!(
        (counts(&face, 1).potted, counts(&face, 1).given_up),
        (30, 28)
    );
    face.keys("uu");
    assert_eq!(counts(&face, 1).potted, 0);
}

#[test]
fn a_look_that_does_not_fit_the_other_tray_is_refused_and_nothing_is_written() {
    let lines = [
        TRAYS,
        &["2026-06-10 stick 3 Cistus ladanifer, softwood, at bench A/4"],
        &["2026-06-12 look 26-002: rooted 9, blackened 20"],
    ]
    .concat();
    let mut face = Face::new(&lines, LAPTOP);
    let said = face.keys("002i@cist<Enter>").screen();
    assert!(face.lines("amend").is_empty(), "{said}");
    assert!(said.contains("Not of 26-002"), "it stays open: {said}");
    assert!(said.contains("Nothing was saved"), "{said}");
    // A batch that was stuck later than the look cannot be the right one.
    let said = face.keys("<Esc><Esc><Backspace>001i,@cist").screen();
    assert!(said.contains("No tray is called so"), "{said}");
    // Said in words it is refused as well.
    let id = face.state.common.book.batches()[0].events[1]
        .entry
        .id
        .clone();
    let stick = face.state.common.book.batches()[3].key.clone();
    let line = format!("<Esc><Esc><Backspace>lamend {id}: batch 26-004, stick {stick}<Enter>");
    let said = face.keys(&line).screen();
    assert!(face.lines("amend").is_empty(), "{said}");
}

#[test]
fn a_sticking_and_a_note_of_a_place_stay_where_they_are() {
    let mut face = Face::new(TRAYS, LAPTOP);
    let said = face.keys("001i,,@").screen();
    assert!(said.contains("it stays where it is"), "{said}");
    face.keys("<Backspace>lremark bench A: vent left open<Enter>");
    let said = face.keys("j@").screen();
    assert!(said.contains("it stays where it is"), "{said}");
}

#[test]
fn fewer_dead_in_an_old_look_lets_the_later_looks_at_all_see_more() {
    let mut face = Face::new(TRAYS, LAPTOP);
    let line = face.keys("001i,e").screen();
    assert!(line.contains("blackened 6"), "{line}");
    let said = face.keys("<Backspace>1").screen();
    assert!(
        said.contains("With it goes how many were seen: 23, 23."),
        "{said}"
    );
    face.keys("<Enter>");
    let amends = face.lines("amend");
    assert_eq!(amends.len(), 2, "{}", face.screen());
    assert!(amends[0].contains("\"seen\":23"), "{amends:?}");
    let batch = &face.state.common.book.batches()[0];
    assert_eq!(batch.counts.remain(), 23);
    assert_eq!(batch.partly_seen(), None);
}
