//! Journals to show screens on, and a screen at every size and in both character sets as one text.

use super::face::{Face, desk, settle};
use chrono::DateTime;
use std::path::Path;
use std::sync::Arc;
use struck::text::clean::Charset;
use struck::tui::canvas::{Colours, Ink};
use struck::tui::effect::Message;
use struck::tui::journal_door::JournalDoor;
use tempfile::TempDir;

/// A phone with its keyboard up, a phone, a terminal's first size, a large screen.
pub const SIZES: [(u16, u16); 4] = [(40, 12), (40, 20), (80, 24), (160, 45)];

/// The journals that come with the program, and the day on which each is looked at.
pub const SAMPLES: [(&str, &str); 4] = [
    ("empty", super::face::NOW),
    ("first-days", "2026-06-30T09:00:00+01:00"),
    ("nursery", "2026-08-20T09:00:00+01:00"),
    ("damaged", super::face::NOW),
];

/// A copy of a sample journal, which may be written to.
pub fn sample(name: &str) -> Arc<TempDir> {
    let folder = Arc::new(TempDir::new().unwrap());
    let into = folder.path().join("journal");
    std::fs::create_dir(&into).unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-journals");
    let Ok(files) = std::fs::read_dir(from.join(name)) else {
        assert_eq!(name, "empty");
        settle(&folder, None);
        return folder;
    };
    settle(&folder, Some('w'));
    for file in files {
        let path = file.unwrap().path();
        std::fs::copy(&path, into.join(path.file_name().unwrap())).unwrap();
    }
    folder
}

/// The face on that journal at that time.
pub fn at(folder: &Arc<TempDir>, now: &str) -> Face {
    let moment = DateTime::parse_from_rfc3339(now).unwrap();
    let door = JournalDoor::open(desk(folder, moment)).unwrap();
    let ink = Ink {
        colours: Colours::Sixteen,
        glyphs: Charset::Utf8,
    };
    let mut face = Face::behind(Box::new(door), folder, (80, 24), ink);
    face.again(now);
    face
}

impl Face {
    /// Begins anew on the journal as it is, past the first sticking that an empty one begins with.
    pub fn again(&mut self, now: &str) -> &mut Self {
        self.restart();
        self.happen(Message::Now(DateTime::parse_from_rfc3339(now).unwrap()));
        if self.state.number() > 0 {
            self.keys("<Backspace>");
        }
        self
    }
}

/// The screen at every size; of its ASCII form the lines that differ, with their numbers.
pub fn at_every_size(face: &mut Face) -> String {
    without_chance(&SIZES.map(|size| at_size(face, size)).concat())
}

/// As [`at_every_size`], of a screen reached by typing the keys at that size: how far a page turns hangs on it.
pub fn typed_at_every_size(face: &mut Face, now: &str, keys: &str) -> String {
    let typed = SIZES.map(|size| {
        face.again(now).resize(size).keys(keys);
        at_size(face, size)
    });
    without_chance(&typed.concat())
}

fn at_size(face: &mut Face, size: (u16, u16)) -> String {
    let plain = face.glyphs(Charset::Ascii).resize(size).screen();
    assert!(plain.is_ascii(), "{size:?}:\n{plain}");
    let screen = face.glyphs(Charset::Utf8).resize(size).screen();
    let mut out = format!("== {} x {} ==\n", size.0, size.1);
    push_lines(&mut out, &screen);
    let both = screen.lines().zip(plain.lines()).zip(1..);
    for ((_, plain), number) in both.filter(|((line, plain), _)| line != plain) {
        out.push_str(&format!("ASCII {number}: {}\n", plain.trim_end()));
    }
    out
}

/// The lines, of which many empty ones in a row are only counted.
fn push_lines(out: &mut String, screen: &str) {
    let mut empty = 0;
    for line in screen.lines().chain([""]) {
        if line.is_empty() {
            empty += 1;
            continue;
        }
        push_empty(out, empty);
        empty = 0;
        out.push_str(line);
        out.push('\n');
    }
    push_empty(out, empty - 1);
}

fn push_empty(out: &mut String, count: usize) {
    match count {
        0..=2 => out.push_str(&"\n".repeat(count)),
        many => out.push_str(&format!("({many} empty lines)\n")),
    }
}

/// What words end at.
const EDGES: [char; 5] = [' ', ',', '.', ':', '\n'];

/// A screen with zeros for what is drawn by lot: an id.
pub fn without_chance(screen: &str) -> String {
    let mut out = String::new();
    for word in screen.split_inclusive(EDGES) {
        let bare = word.trim_end_matches(EDGES);
        if bare.len() == 26 && bare.starts_with("01") {
            out.push_str(&word.replacen(bare, &"0".repeat(26), 1));
        } else {
            out.push_str(word);
        }
    }
    out
}
