//! The bench's order and signs are those of the list of what is due, and no row moves once a key was pressed.

use super::face::{Face, journal};
use super::gallery::{at, sample};
use super::recording::NURSERY;
use chrono::DateTime;
use std::sync::Arc;
use struck::analysis::due::due_on;
use struck::app::files::write_sample;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;
use struck::tui::effect::Message;
use tempfile::TempDir;

/// Codes of the bench's rows with their signs, from the top; `>` is the chosen one's.
fn rows(screen: &str) -> Vec<(char, String)> {
    let row = |line: &str| {
        let mut letters = line.chars();
        let sign = letters.next()?;
        let code = letters.as_str().strip_prefix(' ')?.split(' ').next()?;
        let is_code = code.len() >= 3 && code.ends_with(|c: char| c.is_ascii_digit());
        (is_code && "> !*+".contains(sign)).then(|| (sign, code.to_owned()))
    };
    screen.lines().filter_map(row).collect()
}

fn codes(screen: &str) -> Vec<String> {
    rows(screen).into_iter().map(|(_, code)| code).collect()
}

#[test]
fn the_deciding_order_is_the_list_s_under_each_place() {
    let folder = Arc::new(TempDir::new().unwrap());
    write_sample(&folder.path().join("journal")).unwrap();
    let mut face = Face::over(&folder, (120, 60), Charset::Utf8, Colours::None);
    let now = DateTime::parse_from_rfc3339("2026-08-20T09:00:00+01:00").unwrap();
    face.happen(Message::Now(now));
    let due = due_on(&face.state.common.book, now.date_naive());
    let list: Vec<(char, &str)> = due
        .items
        .iter()
        .map(|item| (struck::text::due::mark(item.press), item.code.as_str()))
        .collect();
    let found = rows(&face.screen());
    assert_eq!(found.len(), list.len());
    let whole = |code: &str| format!("26-{}", code.trim_start_matches("26-"));
    let seat = |code: &str| list.iter().position(|(_, c)| *c == whole(code)).unwrap();
    assert_eq!(found[0].1, list[0].1.trim_start_matches("26-"));
    for (sign, code) in found.iter().skip(1) {
        assert_eq!(*sign, list[seat(code)].0, "{code}");
    }
    // Under each heading the seats rise, and so do those of the headings' first rows that press.
    let screen = face.screen();
    let mut last = 0;
    for line in screen.lines().skip(1) {
        let here = rows(line);
        match here.first() {
            Some((_, code)) => {
                assert!(seat(code) >= last, "{code} in\n{screen}");
                last = seat(code);
            }
            None if line.starts_with(|c: char| c.is_ascii_lowercase()) => last = 0,
            None => {}
        }
    }
}

#[test]
fn no_row_moves_once_a_key_was_pressed() {
    let mut face = Face::new(NURSERY, (80, 24));
    let before = codes(&face.screen());
    assert_eq!(before, ["002", "001", "003", "004"], "{}", face.screen());
    // A heavy loss would put it first; it stays where it stood, and says so.
    face.keys("004<Enter>0 0 0 9<Enter>");
    let screen = face.screen();
    assert_eq!(codes(&screen), before, "{screen}");
    assert!(screen.contains("failing: 9 of 40 lost"), "{screen}");
    assert!(screen.contains("1 failing"), "{screen}");
    // The order is put anew when it is asked for.
    face.keys("oo");
    assert_eq!(codes(&face.screen())[0], "004", "{}", face.screen());
}

#[test]
fn what_others_write_does_not_move_a_row_either() {
    let folder = journal(NURSERY);
    let mut face = Face::over(&folder, (80, 24), Charset::Utf8, Colours::None);
    face.keys(".");
    let before = codes(&face.screen());
    let mut other = Face::over(&folder, (80, 24), Charset::Utf8, Colours::None);
    other.keys("003<Enter>0 0 0 60<Enter>");
    let snapshot = face.door.refresh().unwrap().unwrap();
    face.happen(Message::Snapshot(snapshot));
    assert_eq!(codes(&face.screen()), before);
    assert!(face.screen().contains("failing"), "{}", face.screen());
}

#[test]
fn a_batch_put_off_waits_for_its_day() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("002a14<Enter>");
    assert!(
        face.screen().contains("look Sun 28 Jun"),
        "{}",
        face.screen()
    );
}

#[test]
fn a_round_takes_the_whole_place_those_that_press_first() {
    let mut face = Face::new(NURSERY, (80, 24));
    // Bench A holds two that press and one that waits.
    face.keys("w");
    assert!(
        face.screen().contains("1 of 4 in 1 of 2 places"),
        "{}",
        face.screen()
    );
}

#[test]
fn the_heading_says_which_page_is_shown_and_pages_hold_each_row_once() {
    let mut face = at(&sample("nursery"), "2026-08-20T09:00:00+01:00");
    let first = face.screen();
    assert!(first.contains(", page 1 of 2"), "{first}");
    let second = face.keys(" ").screen();
    assert!(second.contains(", page 2 of 2"), "{second}");
    let mut shown = codes(&first);
    shown.extend(codes(&second));
    shown.sort();
    shown.dedup();
    let open = first.split(" open").next().unwrap().rsplit(' ').next();
    assert_eq!(
        open,
        Some(shown.len().to_string().as_str()),
        "{first}{second}"
    );
    let whole = face.resize((160, 45)).screen();
    assert!(!whole.contains("page"), "{whole}");
}
