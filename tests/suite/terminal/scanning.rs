//! A scanner that types on the bench: a code that ends in Enter opens the batch's look pad, and no letter in it is a command.

use super::pty::{Home, Session};

/// Two trays, one of them with a letter of a second writer in its code.
fn bench() -> (Home, Session) {
    let home = Home::new();
    home.command(&[
        "add",
        "--at",
        "2026-05-11",
        "stick 24 Escallonia rubra, softwood, at bench A/1",
    ]);
    let line = r#"{"v":1,"id":"K4","at":"2026-05-12","kind":"stick","batch":"26-k004","taxon":"Weigela florida","stuck":30,"place":"bench A/2"}"#;
    std::fs::write(home.path().join("journal/other.jsonl"), format!("{line}\n")).unwrap();
    let mut session = home.open();
    session.wait("Bench: 2 open");
    session.keys("");
    (home, session)
}

/// The pad of the tray with the letter.
fn is_pad(screen: &str) -> bool {
    screen.contains("Weigela florida") && screen.contains("30 here") && screen.contains("rooted")
}

fn scanned(keys: &str) {
    let (home, mut session) = bench();
    let before = home.lines();
    session.keys(keys);
    session.wait_until("the look pad", is_pad);
    // Nothing was entered, and nothing taken back.
    assert_eq!(home.lines(), before);
    session.types("4 3 0 1\n", "Saved: 26-k004: ");
    assert_eq!(home.lines().len(), before.len() + 1);
    session.types("q", "");
    let (_, clean) = session.end();
    assert!(clean);
}

#[test]
fn a_scan_that_is_typed_opens_the_look_pad() {
    scanned("26-k004\n");
}

#[test]
fn a_scan_with_paste_marks_opens_it_too_whether_enter_is_inside_them_or_after() {
    scanned("\x1b[200~26-k004\n\x1b[201~");
    scanned("\x1b[200~26-k004\x1b[201~\n");
}

#[test]
fn a_scan_of_no_batch_is_a_search_and_no_command() {
    let (home, mut session) = bench();
    let before = home.lines();
    session.keys("26-kkp9\n");
    session.wait("Find a batch");
    assert_eq!(home.lines(), before);
}
