//! The air of the places: reached from the bench, chosen, turned back, and a climate note made from it.

use super::face::Face;

/// A mist bench that dries out for some days with its wilted after it, a frame that drips, a box that nobody measures.
pub const LINES: &[&str] = &[
    "2026-05-01 place bench A: mist, vpd 0.3-0.9, 6 nozzles, 30 l/h each nozzle, area 8 m2",
    "2026-05-10 stick 40 Weigela florida, softwood, at bench A, mist",
    "2026-05-12 stick 30 Hebe albicans, semi-ripe, at frame",
    "2026-05-30 stick 20 Cistus monspeliensis, softwood, at box 1",
    "2026-05-20T10:00:00+02:00 climate bench A: air 22, rh 78, medium 21, mist 10s/12min",
    "2026-05-24T10:00:00+02:00 climate bench A: air 23, rh 75, medium 21, mist 10s/12min",
    "2026-05-28T10:00:00+02:00 climate bench A: air 29, rh 48, medium 23, mist 10s/30min",
    "2026-05-29T10:00:00+02:00 climate bench A: air 30, rh 45, medium 24.5, mist 10s/30min",
    "2026-05-30T10:00:00+02:00 climate bench A: air 30, rh 47, medium 24",
    "2026-06-01T10:00:00+02:00 climate bench A: air 23, rh 80, medium 21, mist 10s/12min",
    "2026-06-01 look 001: callused 10, wilted 6",
    "2026-06-08 look 001: callused 20, rooted 4, wilted 2, black 1",
    "2026-06-10T10:00:00+02:00 climate bench A: air 21, rh 82, medium 20.5, mist 10s/12min",
    "2026-05-22T10:00:00+02:00 climate frame: air 15, rh 99, vent shut",
    "2026-06-02T10:00:00+02:00 climate frame: air 16, rh 100, vent shut",
    "2026-06-05T10:00:00+02:00 climate frame: air 18, rh 92, vent a hand wide",
    "2026-06-04 treat frame: shade",
    "2026-06-06 look 002: black 11",
];

#[test]
fn cause_and_effect_stand_on_one_ruler() {
    let mut face = Face::new(LINES, (80, 24));
    // The bench begins with the most pressing, at the frame; bench A stands before it.
    let screen = face.keys("%,").screen();
    let row = |label: &str| {
        let found = screen.lines().find(|line| line.starts_with(label));
        found
            .unwrap_or_else(|| panic!("{label} in\n{screen}"))
            .to_owned()
    };
    let column = |row: &str, sign: char| {
        row.char_indices()
            .skip(8)
            .find(|(_, c)| *c == sign)
            .unwrap()
            .0
    };
    assert!(screen.contains("> bench A"), "{screen}");
    // Drying from 28 May, the mist cut that day, the wilted found on 1 June: in that order, left to right.
    let drying = column(&row("1.50"), '^');
    assert_eq!(column(&row("changed"), 'm'), drying);
    assert!(column(&row("lost"), '6') > drying);
    assert_eq!(column(&row("of"), 'w'), column(&row("lost"), '6'));
}

#[test]
fn a_climate_note_is_made_of_the_place_chosen() {
    let mut face = Face::new(LINES, (40, 20));
    face.keys("%");
    let chosen = face
        .screen()
        .lines()
        .find(|l| l.starts_with("> "))
        .unwrap()
        .to_owned();
    assert!(chosen.contains("frame"), "{chosen}");
    face.keys("cair 20, rh 90<Enter>");
    let lines = face.lines("climate");
    let last = lines.last().unwrap();
    assert!(
        last.contains("frame") && last.contains("\"rh_pct\":90"),
        "{last}"
    );
    // And it stands on the screen that it was made from.
    assert!(
        face.screen().contains("09:30, easy 0.23 kPa"),
        "{}",
        face.screen()
    );
}

#[test]
fn four_weeks_are_turned_back_and_on() {
    let mut face = Face::new(LINES, (80, 24));
    face.keys("%<");
    assert!(
        face.screen().contains("20 Apr to 17 May") || face.screen().contains("Air, 20 Apr"),
        "{}",
        face.screen()
    );
    face.keys(">");
    face.keys(">");
    assert!(
        face.screen().contains("There are no later days."),
        "{}",
        face.screen()
    );
}
