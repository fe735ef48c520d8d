//! Screens of a journal with entries far from today: none breaks on one.

use super::face::{Face, settle};
use super::stored::ANYWHERE;
use crate::commands::far_days::{FAR_DAYS, lines_at};
use std::sync::Arc;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;
use tempfile::TempDir;

#[test]
fn no_screen_breaks_on_an_entry_of_a_far_day() {
    for (day, time) in FAR_DAYS
        .iter()
        .zip(["T00:00:00+14:00", "", "T23:59:59-12:00"])
    {
        let folder = Arc::new(TempDir::new().unwrap());
        settle(&folder, None);
        std::fs::create_dir(folder.path().join("journal")).unwrap();
        let text = lines_at(&format!("{day}{time}"));
        std::fs::write(folder.path().join("journal/a.jsonl"), text).unwrap();
        let mut face = Face::over(&folder, (80, 24), Charset::Utf8, Colours::None);
        for (name, keys) in ANYWHERE {
            for down in ["", "."] {
                for size in [(40, 20), (80, 24)] {
                    let screen = face.resize(size).keys(down).keys(keys).screen();
                    assert!(!screen.trim().is_empty(), "{name} {day}{time} {size:?}");
                    face.keys("<Esc><Esc><Esc><Esc>");
                }
            }
        }
    }
}
