//! Stored screens: every kind at every size, in UTF-8 and in ASCII.

use super::face::{Face, journal};
use super::recording::NURSERY;
use super::views::LINES as SEASONS;
use insta::assert_snapshot;
use struck::screens::ink::Colours;
use struck::words::clean::Charset;

const SIZES: [(u16, u16); 4] = [(40, 12), (40, 20), (80, 24), (160, 45)];

/// A screen's name, the journal that it is drawn on, and the keys that lead to it.
const SCREENS: &[(&str, &[&str], &str)] = &[
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
    ("pages", NURSERY, "001<Enter>4<Enter>jkk"),
    ("pages-empty", &[], "<Esc><Esc>j"),
    ("pages-search", NURSERY, "jfescal"),
    ("entry", NURSERY, "j.<Enter>"),
    ("seasons", NURSERY, "y"),
    ("seasons-empty", &[], "<Esc><Esc>y"),
    ("seasons-two", SEASONS, "y<Enter>"),
    ("only", NURSERY, "*weigela, softwood"),
    ("help", NURSERY, "h"),
    ("undo", NURSERY, "001<Enter>4<Enter>u"),
];

/// A screen with zeros for what is drawn by lot: an id, the end of a machine's file name.
fn without_chance(screen: &str) -> String {
    let mut out = String::new();
    for word in screen.split_inclusive([' ', ',', '.', '\n']) {
        let bare = word.trim_end_matches([' ', ',', '.', '\n']);
        let is_id = bare.len() == 26 && bare.starts_with("01");
        let known = match bare.strip_prefix("shed-ana-") {
            Some(lot) => bare.len() - lot.len(),
            None if is_id => 0,
            None => bare.len(),
        };
        out.push_str(&bare[..known]);
        out.push_str(&"0".repeat(bare.len() - known));
        out.push_str(&word[bare.len()..]);
    }
    out
}

#[test]
fn screens_are_as_stored() {
    for (name, lines, keys) in SCREENS {
        for size in SIZES {
            for (glyphs, set) in [(Charset::Utf8, "utf8"), (Charset::Ascii, "ascii")] {
                // Each on a journal of its own, so that what one writes no other sees.
                let folder = journal(lines);
                let mut face = Face::over(&folder, size, glyphs, Colours::Sixteen);
                face.keys(keys);
                let screen = without_chance(&face.screen());
                if glyphs == Charset::Ascii {
                    assert!(screen.is_ascii(), "{name} at {size:?}:\n{screen}");
                }
                assert_snapshot!(format!("{name}-{}x{}-{set}", size.0, size.1), screen);
            }
        }
    }
}

#[test]
fn no_colour_changes_no_sign() {
    let folder = journal(NURSERY);
    let coloured = Face::over(&folder, (80, 24), Charset::Utf8, Colours::Sixteen).screen();
    let plain = Face::over(&folder, (80, 24), Charset::Utf8, Colours::None);
    assert_eq!(plain.screen(), coloured);
    assert!(
        plain.screen().contains("\n> 0"),
        "the chosen batch is marked by a sign"
    );
    assert_eq!(plain.colours(), 1, "the terminal's own ink alone");
}
