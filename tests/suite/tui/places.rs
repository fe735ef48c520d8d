//! Accidents and notes of a place as they are said, the search that finds them, and the plants in pots.

use super::face::Face;
use super::recording::NURSERY;

const LAPTOP: (u16, u16) = (80, 24);
const PHONE: (u16, u16) = (40, 12);

#[test]
fn what_befalls_a_place_is_said_as_it_is_and_stands_in_the_lives_there() {
    for (size, keys, place, note) in [
        (
            PHONE,
            "001npower cut all night<Enter>",
            "bench A",
            "power cut all night",
        ),
        (LAPTOP, "001nplace too dry<Enter>", "bench A", "too dry"),
        (LAPTOP, "003nmice<Enter>", "frame 2", "mice"),
        (
            PHONE,
            "001lvent left open at frame 2<Enter>",
            "frame 2",
            "vent left open",
        ),
    ] {
        let mut face = Face::new(NURSERY, size);
        let screen = face.keys(keys).screen();
        let remark = face.lines("remark").pop().unwrap_or(screen);
        let said = format!("\"place\":\"{place}\"");
        assert!(
            remark.contains(&said) && !remark.contains("\"batch\""),
            "{keys}: {remark}"
        );
        let said = format!("\"note\":\"{note}\"");
        assert!(remark.contains(&said), "{keys}: {remark}");
        let (there, elsewhere) = match place {
            "frame 2" => ("003i", "<Backspace>001i"),
            _ => ("001i", "<Backspace>003i"),
        };
        let begins = &note[..note.len().min(8)];
        let lived = face.keys(there).screen();
        assert!(lived.contains(begins), "{keys}: {lived}");
        let other = face.keys(elsewhere).screen();
        assert!(!other.contains(begins), "{keys}: {other}");
        let found = face.keys(&format!("<Backspace>f{note}")).screen();
        let first = found.lines().find(|line| line.starts_with("> Sun 14 Jun"));
        assert!(
            first.is_some_and(|line| line.contains("remark")),
            "{keys}: {found}"
        );
    }
    // What is of one tray alone says so, and what only begins like an accident is none.
    for (keys, note) in [
        ("ntray mice<Enter>", "mice"),
        ("nleaky pot<Enter>", "leaky pot"),
    ] {
        let mut face = Face::new(NURSERY, LAPTOP);
        face.keys("001").keys(keys);
        let remark = face.lines("remark").pop().unwrap();
        assert!(
            remark.contains("\"batch\":\"26-001\"") && remark.contains(note),
            "{remark}"
        );
    }
}

#[test]
fn a_dropped_tray_is_an_accident_that_the_search_finds_and_no_failed_cutting() {
    let mut face = Face::new(NURSERY, LAPTOP);
    face.keys("001d6, dropped<Enter>");
    let discard = face.lines("discard").pop().unwrap();
    assert!(discard.contains("\"why\":\"accident\""), "{discard}");
    let batch = &face.state.common.book.batches()[0];
    assert_eq!((batch.counts.remain(), batch.counts.lost.total()), (18, 0));
    let found = face.keys("faccident").screen();
    assert!(found.contains("discard 26-001"), "{found}");
    let page = face.keys("<Enter>").screen();
    assert!(page.starts_with("001 Weigela"), "{page}");
}

#[test]
fn one_search_finds_names_codes_places_notes_and_people() {
    let mut face = Face::new(NURSERY, LAPTOP);
    face.keys("001nleaves yellow<Enter>bBen Moor<Enter>002<Enter>3<Enter>");
    for (sought, found) in [
        ("hidcote", "26-003"),
        ("26-002", "26-002"),
        ("frame 2", "26-003"),
        ("yellow", "leaves yellow"),
        ("moor", "look 26-002"),
    ] {
        let screen = face.keys(&format!("f{sought}")).screen();
        let first = screen
            .lines()
            .find(|line| line.starts_with("> ") && line.len() > 20);
        assert!(
            first.is_some_and(|line| line.contains(found)),
            "{sought}: {screen}"
        );
        face.keys("<Esc><Esc>");
    }
}

#[test]
fn plants_in_pots_are_listed_with_what_is_expected_and_what_was_wanted() {
    // Two batches of other years went the whole way: the journal knows how long pots take.
    let lines = &[
        "2025-04-01 stick 40 Weigela florida, softwood, at bench A, mist",
        "2025-04-22 look 25-001: rooted 34",
        "2025-05-06 look 25-001: bottom 34",
        "2025-05-07 pot 25-001 34",
        "2025-07-01 ready 25-001 20",
        "2025-07-20 ready 25-001 14",
        "2025-08-01 sold 25-001 34",
        "2026-04-10 stick 40 Weigela florida, softwood, at bench A, mist",
        "2026-05-02 look 26-001: rooted 36",
        "2026-05-15 look 26-001: bottom 36",
        "2026-05-16 pot 26-001 36",
        "2026-06-10 ready 26-001 4",
        "2026-06-01 target 60 Weigela florida by 2026-09-30",
    ];
    for size in [(160, 45), (40, 20)] {
        let mut face = Face::new(lines, size);
        let mut all = face.keys("k").screen();
        assert!(all.contains("60 Weigela florida by 30 Sep"), "{all}");
        // One key puts the plants in pots first.
        all = face.keys("o").screen();
        all.push_str(&face.keys(" ").screen());
        let flat: Vec<&str> = all.split_whitespace().collect();
        let all = flat.join(" ");
        assert!(
            all.contains("36 Weigela florida, 4 saleable; target 60 by 30 Sep"),
            "{all}"
        );
        assert!(
            all.contains("26-001: 36, 4 saleable, potted 16 May, 29 d ago;"),
            "{all}"
        );
        let expected = all.split("half of the others saleable by ").nth(1);
        let expected = expected.and_then(|rest| rest.split(" 60 Weigela").next());
        let day = expected.unwrap_or_default();
        assert!(
            day.contains("Jun") || day.contains("Jul"),
            "as the year before: {day}: {all}"
        );
        assert!(!all.contains("25-001:"), "sold ones are gone: {all}");
    }
}
