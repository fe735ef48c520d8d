//! Text that means harm, in the journal and from the clipboard: every screen shows it as harmless text at every size.

use super::face::Face;
use super::stored::{ANYWHERE, FURTHER};
use crate::commands::hostile::{HARM, fill, tame};
use std::sync::Arc;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;
use struck::tui::effect::Message;
use tempfile::TempDir;

#[test]
fn no_screen_lets_harm_through() {
    let folder = Arc::new(TempDir::new().unwrap());
    fill(&folder.path().join("journal"));
    let mut face = Face::over(&folder, (80, 24), Charset::Utf8, Colours::Sixteen);
    for (name, keys) in ANYWHERE.iter().chain(FURTHER) {
        face.restart();
        face.keys(keys);
        for size in [(40, 12), (80, 24), (160, 45)] {
            for glyphs in [Charset::Utf8, Charset::Ascii] {
                let screen = face.glyphs(glyphs).resize(size).screen();
                tame(&format!("screen {name} at {size:?}"), &screen);
            }
        }
        face.glyphs(Charset::Utf8)
            .happen(Message::Paste(HARM.into()));
        tame(&format!("screen {name} after a paste"), &face.screen());
    }
}
