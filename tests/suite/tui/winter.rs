//! Winter on the bench: batches that nobody has looked at for long are one line a place, and a place can be laid to rest
//! until a day. And what a failing batch's page says to do.

use super::face::Face;
use super::gallery::{at, sample};
use super::views::SIZES;

const NOVEMBER: &str = "2026-11-29T09:00:00+00:00";
const AUGUST: &str = "2026-08-20T09:00:00+01:00";

fn bench(now: &str, size: (u16, u16)) -> Face {
    let mut face = at(&sample("nursery"), now);
    face.resize(size);
    face
}

/// The screen as one line of words.
fn words(face: &Face) -> String {
    let screen = face.screen();
    screen.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn batches_not_looked_at_for_long_are_one_line_a_place() {
    for size in SIZES {
        let mut face = bench(NOVEMBER, size);
        face.keys("<PageUp>");
        let screen = words(&face);
        assert!(
            screen.contains("9 not looked at") || size.0 < 64,
            "{size:?}: {screen}"
        );
        let said = if size.0 < 64 {
            "+7 unseen"
        } else {
            "and 7 more, not looked at since 20 Aug"
        };
        let mut all = screen;
        for _ in 0..3 {
            face.keys(" ");
            all.push_str(&words(&face));
        }
        assert!(all.contains(said), "{size:?}: {all}");
        assert!(!all.contains("017 "), "{size:?}: {all}");
    }
}

#[test]
fn enter_shows_the_batches_of_a_place_one_by_one_and_digits_go_to_any() {
    let mut face = bench(NOVEMBER, (160, 45));
    assert!(words(&face).contains("and 7 more"), "{}", face.screen());
    face.keys("012<Enter>");
    let shown = words(&face);
    assert!(!shown.contains("and 7 more"), "{shown}");
    assert!(shown.contains("017 "), "{shown}");
    let mut face = bench(NOVEMBER, (80, 24));
    face.keys("014i");
    assert!(face.screen().contains("014 Choisya"), "{}", face.screen());
}

#[test]
fn a_place_is_laid_to_rest_until_a_day() {
    let mut face = bench(NOVEMBER, (80, 24));
    let before = face.lines("remark").len();
    face.keys("014aplace 1 Mar<Enter>");
    assert_eq!(face.lines("remark").len(), before + 1, "{}", face.screen());
    let rested = bench_words_after(&mut face);
    assert!(!rested.contains("12 not looked at"), "{rested}");
    assert!(
        rested.contains("look Mon 1 Mar") || rested.contains("look 1 Mar"),
        "{rested}"
    );
}

/// The bench after what was entered, from its top.
fn bench_words_after(face: &mut Face) -> String {
    face.keys("<PageUp><PageUp><PageUp>");
    let mut out = words(face);
    face.keys(" ");
    out.push_str(&words(face));
    out
}

#[test]
fn a_failing_batch_says_what_is_wrong_first_and_what_to_do_in_full() {
    for size in SIZES {
        let mut face = bench(AUGUST, size);
        face.keys("f016<Enter>i");
        let page = words(&face);
        let [failing, usual] = ["Failing", "Rooting as usual"].map(|word| page.find(word));
        assert!(failing.is_some(), "{size:?}: {page}");
        assert!(
            usual.is_none_or(|at| Some(at) > failing),
            "{size:?}: {page}"
        );
        face.keys("i");
        let mut full = words(&face);
        face.keys(" ");
        full.push_str(&words(&face));
        assert!(
            full.contains("Failing: blackening spreads"),
            "{size:?}: {full}"
        );
        assert!(
            full.contains("stick again from clean wood"),
            "{size:?}: {full}"
        );
    }
}
