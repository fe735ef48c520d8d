//! A batch's life and the taxa, by typed keys, as stored screens at every size, on a small journal and
//! on the sample nursery.

use super::face::Face;
use chrono::DateTime;
use std::sync::Arc;
use struck::desk::sample;
use struck::screens::ink::Colours;
use struck::screens::message::Message;
use struck::words::clean::Charset;
use tempfile::TempDir;

const SIZES: [(u16, u16); 4] = [(40, 12), (40, 20), (80, 24), (160, 45)];

const SMALL: &[&str] = &[
    "2026-05-04 stick 24 Escallonia rubra, softwood, at bench A/3, mist",
    "2026-05-05T08:00:00+02:00 climate bench A: air 18.5, rh 92, medium 20",
    "2026-05-18 look 26-001: callused 10",
    "2026-05-20T08:00:00+02:00 climate bench A: air 21, rh 88, medium 21",
    "2026-05-25 look 26-001: callused 8, rooted 9, blackened 2",
    "2026-05-26 treat 26-001: wean",
    "2026-06-08 look 26-001: callused 3, rooted 14, bottom 5",
];

fn small(size: (u16, u16), glyphs: Charset) -> Face {
    Face::over(&super::face::journal(SMALL), size, glyphs, Colours::None)
}

fn sample_folder() -> Arc<TempDir> {
    let folder = Arc::new(TempDir::new().unwrap());
    sample::write(&folder.path().join("journal"), sample::SEED).unwrap();
    folder
}

fn sampled(folder: &Arc<TempDir>, size: (u16, u16), glyphs: Charset) -> Face {
    let mut face = Face::over(folder, size, glyphs, Colours::None);
    let now = DateTime::parse_from_rfc3339("2026-08-20T09:00:00+01:00").unwrap();
    face.happen(Message::Now(now));
    face
}

/// Compares with the stored screen of that name.
fn stored(name: &str, size: (u16, u16), glyphs: Charset, screen: &str) {
    let form = match glyphs {
        Charset::Ascii => "ascii",
        Charset::Utf8 => "utf8",
    };
    let name = format!("{name}-{}x{}-{form}", size.0, size.1);
    if glyphs == Charset::Ascii {
        assert!(screen.is_ascii(), "{name} is not plain:\n{screen}");
    }
    insta::assert_snapshot!(name, screen);
}

/// Every size, both character sets.
fn at_every_size(name: &str, face: impl Fn((u16, u16), Charset) -> Face, keys: &str) {
    for glyphs in [Charset::Utf8, Charset::Ascii] {
        for size in SIZES {
            let mut face = face(size, glyphs);
            face.keys(keys);
            stored(name, size, glyphs, &face.screen());
        }
    }
}

#[test]
fn a_small_batch_at_every_size() {
    at_every_size("batch-small", small, "i");
}

#[test]
fn taxa_and_one_of_them_of_a_small_journal() {
    at_every_size("taxa-small", small, "v");
    at_every_size("taxon-small", small, "v<Enter>");
}

#[test]
fn the_sample_nursery_at_every_size() {
    let folder = sample_folder();
    let face = |size, glyphs| sampled(&folder, size, glyphs);
    at_every_size("batch-sample", face, "i");
    at_every_size("taxa-sample", face, "v");
    at_every_size("taxon-sample", face, "v...<Enter>");
}

#[test]
fn an_entry_is_amended_and_taken_back_by_a_line() {
    let mut face = small((80, 24), Charset::Utf8);
    face.keys("ik");
    assert!(face.screen().contains("withdraw "), "{}", face.screen());
    face.keys("wrong tray<Enter>");
    assert_eq!(face.lines("withdraw").len(), 1, "{}", face.screen());
    let screen = face.screen();
    assert!(!screen.contains("5 bottom"), "{screen}");
    face.keys(",<Enter>, wilted 3<Enter>");
    assert_eq!(face.lines("amend").len(), 1, "{}", face.screen());
    assert!(face.screen().contains("amended: look"), "{}", face.screen());
}

#[test]
fn the_grouping_changes_and_a_batch_is_reached_from_its_taxon() {
    let mut face = small((80, 24), Charset::Utf8);
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
        face.screen().contains("No batch was looked at yet"),
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
