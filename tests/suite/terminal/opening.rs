//! The page that stands while a journal is read.

use super::pty::{Home, Session};
use super::stopping::{Faulty, door, options};
use std::time::{Duration, Instant};
use struck::app::failure::Failure;
use struck::tui::terminal::run;

/// Not a test: a face whose journal is read once a file of that name stands, run on a terminal by the tests below.
#[test]
#[ignore = "a program for other tests"]
fn a_face_whose_journal_is_long() {
    let home = std::env::var("HOME").unwrap();
    let opening = move |tell: &mut dyn FnMut(u64)| {
        tell(65_536);
        wait_for(&format!("{home}/read"));
        if std::fs::exists(format!("{home}/gone")).unwrap() {
            return Err(Failure::could("The disk is gone."));
        }
        Ok(Box::new(door()) as Box<_>)
    };
    match run(Box::new(opening), options()) {
        Ok(code) => assert_eq!(code, 0),
        Err(failure) => println!("{failure}"),
    }
}

/// Waits until a file stands.
pub fn wait_for(file: &str) {
    while !std::fs::exists(file).unwrap() {
        std::thread::sleep(Duration::from_millis(1));
    }
}

/// Not a test: a face that looks for others' entries for long, run on a terminal by a test below.
#[test]
#[ignore = "a program for another test"]
fn a_face_that_follows_for_long() {
    let home = std::env::var("HOME").unwrap();
    let opening = move |_: &mut dyn FnMut(u64)| {
        let faulty = Faulty {
            waits: Some(["looking", "looked"].map(|name| format!("{home}/{name}"))),
            ..Faulty::open()
        };
        Ok(Box::new(faulty) as Box<_>)
    };
    assert_eq!(run(Box::new(opening), options()).unwrap(), 0);
}

fn face(name: &str) -> (Home, Session) {
    let home = Home::new();
    home.command(&["add", super::STICK]);
    let session = program(&home, &format!("terminal::opening::{name}"));
    (home, session)
}

/// One of the programs among these tests, on a terminal.
pub fn program(home: &Home, name: &str) -> Session {
    let this = std::env::current_exe().unwrap();
    let arguments = [
        name,
        "--exact",
        "--ignored",
        "--nocapture",
        "--test-threads=1",
    ];
    Session::begin((80, 24), home.builder(this.to_str().unwrap(), &arguments))
}

fn opened() -> (Home, Session) {
    let (home, session) = face("a_face_whose_journal_is_long");
    let page = session.wait("Reading the journal: 65536 lines");
    assert!(
        page.contains("Nothing of it is shown before all of it is read"),
        "{page}"
    );
    (home, session)
}

/// Makes the file that a program waits for.
pub fn tell(home: &Home, name: &str) {
    std::fs::write(home.path().join(name), "").unwrap();
}

#[test]
fn a_key_leaves_while_the_journal_is_read() {
    for key in ["q", "\x03", "26\x03"] {
        let (_home, mut session) = opened();
        session.keys(key);
        assert_eq!(session.end(), (0, true), "{key:?}");
    }
}

#[test]
fn the_page_goes_on_where_no_more_lines_come() {
    let (_home, mut session) = opened();
    session.wait("Reading the journal: 65536 lines after 1 s.");
    session.wait("Reading the journal: 65536 lines after 2 s.");
    session.keys("q");
    assert_eq!(session.end(), (0, true));
}

#[test]
fn what_is_typed_while_the_journal_is_read_is_heard_by_the_bench() {
    let (home, mut session) = opened();
    session.resize((90, 20));
    session.keys("c21 q");
    session.wait_bytes("the page anew", |bytes| {
        let sent = String::from_utf8_lossy(bytes);
        sent.matches("65536").count() > 1
    });
    tell(&home, "read");
    session.wait("21 q");
    session.keys("\x03");
    assert_eq!(session.end(), (0, true));
}

#[test]
fn a_journal_that_cannot_be_opened_gives_the_terminal_back_and_says_why() {
    let (home, session) = opened();
    tell(&home, "gone");
    tell(&home, "read");
    session.wait("The disk is gone.");
    assert_eq!(session.end(), (0, true));
}

#[test]
fn no_key_waits_while_others_entries_are_looked_for_and_what_is_saved_waits_for_them() {
    let (home, mut session) = face("a_face_that_follows_for_long");
    session.wait("Weigela florida");
    wait_for(home.path().join("looking").to_str().unwrap());
    session.types("c21 8", "21 8");
    // The draft is safe all the same.
    let is_kept = || {
        let folders = std::fs::read_dir(home.path().join("state/struck")).unwrap();
        let drafts = folders.flat_map(|it| std::fs::read_dir(it.unwrap().path().join("drafts")));
        let texts = drafts
            .flatten()
            .map(|it| std::fs::read_to_string(it.unwrap().path()));
        texts.flatten().any(|text| text.contains("21 8"))
    };
    let begun = Instant::now();
    while !is_kept() {
        assert!(begun.elapsed() < Duration::from_secs(30), "never kept");
        std::thread::sleep(Duration::from_millis(5));
    }
    home.command(&[
        "add",
        "stick 12 Kerria japonica, softwood, at bench A, mist",
    ]);
    session.keys("0\n");
    tell(&home, "looked");
    session.wait("Saved");
    session.wait("Kerria japonica");
    session.keys("q");
    assert_eq!(session.end(), (0, true));
    assert_eq!(home.lines().len(), 3);
}
