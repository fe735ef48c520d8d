//! Stored screens: every kind on journals small and large, whole and damaged, at every size, in UTF-8 and
//! in ASCII; one file a kind. `INSTA_UPDATE=always cargo test --test suite tui::stored` stores them anew.

use super::air::LINES as AIR;
use super::face::{Face, copied, journal};
use super::gallery::{
    SAMPLES, SIZES, at, at_every_size, sample, typed_at_every_size, without_chance,
};
use super::lives::SMALL;
use super::recording::NURSERY;
use super::trials::COVERS;
use super::views::LINES as SEASONS;
use insta::assert_snapshot;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;

/// A screen's name, the journal that it is drawn on, and the keys that lead to it.
pub const SCREENS: &[(&str, &[&str], &str)] = &[
    ("empty", &[], ""),
    ("bench", NURSERY, ""),
    ("bench-walking", NURSERY, "o"),
    ("pad", NURSERY, "001<Enter>4 3 0 1"),
    ("pad-too-many", NURSERY, "001<Enter>4 33 0 1"),
    ("round", NURSERY, "002w"),
    (
        "stick",
        NURSERY,
        "s120 Escallonia 'Apple Blossom', softwood, iba 3000 talc, at bench A, heat 21",
    ),
    ("label", NURSERY, "s24 Weigela florida, softwood<Enter>"),
    ("pot", NURSERY, "001p18 g, 9 cm"),
    ("line", NURSERY, "ltreat bench A: spray, with soap"),
    ("line-unread", NURSERY, "llook 001: roted 4"),
    ("find", NURSERY, "fapple"),
    ("who", NURSERY, "b"),
    ("pages", NURSERY, "001<Enter>4 8<Enter>j!!"),
    ("pages-empty", &[], "<Esc><Esc>j"),
    ("pages-search", NURSERY, "jfescal"),
    ("seasons", NURSERY, "y"),
    ("seasons-empty", &[], "<Esc><Esc>y"),
    ("seasons-two", SEASONS, "yo"),
    ("season-review", SEASONS, "yi"),
    ("season-week-batches", SEASONS, "y<Enter>"),
    ("season-review-batches", SEASONS, "yi<Enter>"),
    ("only", NURSERY, "*weigela, softwood"),
    ("air", AIR, "%"),
    ("air-other", AIR, "%."),
    ("air-empty", &[], "<Esc><Esc>%"),
    ("help", NURSERY, "h"),
    ("undo", NURSERY, "001<Enter>4 8<Enter>u"),
    ("batch", SMALL, "i"),
    ("targets", SMALL, "k"),
    (
        "targets-line",
        SMALL,
        "k<Enter>60 Weigela florida by 30 Sep",
    ),
    ("taxa", SMALL, "v"),
    ("taxon", SMALL, "v<Enter>"),
    ("trials", COVERS, "="),
    ("arms", COVERS, "=<Enter>"),
    ("arms-against", COVERS, "=<Enter>.~"),
    ("arms-callus", COVERS, "=<Enter>o"),
    ("arms-in-full", COVERS, "=<Enter>i"),
    ("arm", COVERS, "=<Enter><Enter>"),
    ("arms-left-out", COVERS, "=<Enter>...<Enter>"),
];

/// A screen's name and the keys that lead to it from the bench of any journal.
pub const ANYWHERE: &[(&str, &str)] = &[
    ("bench", ""),
    ("bench-walking", "o"),
    ("pad", "<Enter>4 3"),
    ("round", "w"),
    (
        "stick",
        "s24 Weigela florida, softwood, iba 3000 talc, at bench A",
    ),
    ("pot", "p2 g, 9 cm"),
    ("line", "lclimate bench A: air 24.5, rh 82"),
    ("caution", "ltreat bench A: spray, with soap"),
    ("note", "nleaves yellow"),
    ("find", "flav"),
    ("batch", "i"),
    ("targets", "k"),
    ("taxa", "v"),
    ("taxon", "v<Enter>"),
    ("air", "%"),
    ("seasons", "y"),
    ("seasons-two", "yo"),
    ("trials", "="),
    ("arms", "=...<Enter>"),
    ("arm", "=...<Enter><Enter>"),
    ("season-review", "y<i"),
    ("season-review-further", "y<i  "),
    ("season-week-batches", "y<.<Enter>"),
    ("season-review-batches", "y<i....<Enter>"),
    ("pages", "j"),
    ("entry", "j<Enter>"),
    ("only", "*lav"),
    ("only-bench", "*lavandula<Enter>"),
    ("help", "h"),
    ("who", "b"),
    ("pad-too-many", "<Enter>9999"),
    ("line-unread", "llook 001: roted 4"),
    ("targets-line", "k<Enter>60 Weigela florida by 30 Sep"),
    ("arms-in-full", "=...<Enter>i"),
    ("amend", "ie"),
];

/// A page further on screens that are longer than the nursery's terminal is high, typed at each size.
pub const FURTHER: &[(&str, &str)] = &[("taxon-further", "v<Enter> ")];

/// The same as [`ANYWHERE`], of screens that come of an entry: each is drawn on a journal of its own.
pub const AFTER_ENTRIES: &[(&str, &str)] = &[
    ("label", "s24 Weigela florida, softwood<Enter>"),
    ("labels", "s3x 24 Weigela florida, softwood<Enter>"),
    ("undo", "s24 Weigela florida, softwood<Enter>u"),
    (
        "stick-again",
        "s24 Weigela florida, softwood<Enter>p1 s<Enter>",
    ),
];

#[test]
fn screens_of_small_journals_are_as_stored() {
    for (name, lines, keys) in SCREENS {
        let mut face = Face::new(lines, (80, 24));
        face.keys(keys);
        assert_snapshot!(*name, at_every_size(&mut face));
    }
}

#[test]
fn screens_of_the_sample_journals_are_as_stored() {
    let mut faces: Vec<(&str, &str, Face)> = Vec::new();
    for (name, now) in SAMPLES {
        faces.push((name, now, at(&sample(name), now)));
    }
    for (name, keys) in ANYWHERE {
        let mut all = String::new();
        for (sample, now, face) in &mut faces {
            face.again(now).keys(keys);
            all.push_str(&format!("#### {sample}\n{}\n", at_every_size(face)));
        }
        assert_snapshot!(format!("samples-{name}"), all);
    }
}

#[test]
fn a_page_further_is_another_screen_and_as_stored() {
    let (name, now) = SAMPLES[2];
    let mut face = at(&sample(name), now);
    for (page, keys) in FURTHER {
        for size in SIZES.into_iter().filter(|size| size.1 <= 20) {
            let mut screen = |keys: &str| face.again(now).resize(size).keys(keys).screen();
            let [first, further] = [screen(keys.trim_end()), screen(keys)];
            assert_ne!(first, further, "{page} at {size:?}");
        }
        assert_snapshot!(
            format!("nursery-{page}"),
            typed_at_every_size(&mut face, now, keys)
        );
    }
}

#[test]
fn screens_after_entries_into_the_sample_journals_are_as_stored() {
    for (name, keys) in AFTER_ENTRIES {
        let mut all = String::new();
        for (journal, now) in SAMPLES {
            let mut face = at(&sample(journal), now);
            face.keys(keys);
            all.push_str(&format!("#### {journal}\n{}\n", at_every_size(&mut face)));
        }
        assert_snapshot!(format!("samples-{name}"), all);
    }
}

#[test]
fn a_screen_opened_at_a_size_is_as_one_brought_to_it() {
    for (name, lines, keys) in SCREENS {
        let folder = journal(lines);
        for size in SIZES {
            let copy = || copied(&folder);
            let ink = (Charset::Utf8, Colours::Sixteen);
            let mut brought = Face::over(&copy(), (80, 24), ink.0, ink.1);
            brought.keys(keys).resize(size);
            let mut opened = Face::over(&copy(), size, ink.0, ink.1);
            opened.keys(keys);
            let [opened, brought] = [opened, brought].map(|face| without_chance(&face.screen()));
            assert_eq!(opened, brought, "{name} at {size:?}");
        }
    }
}
