//! The page that stands while a journal is read.

use super::pty::{Home, Session};
use super::stopping::{door, options};
use std::time::Duration;
use struck::app::failure::Failure;
use struck::tui::terminal::run;

/// Not a test: a face whose journal is read once a file of that name stands, run on a terminal by the tests below.
#[test]
#[ignore = "a program for other tests"]
fn a_face_whose_journal_is_long() {
    let home = std::env::var("HOME").unwrap();
    let opening = move |tell: &mut dyn FnMut(u64)| {
        tell(65_536);
        while !std::fs::exists(format!("{home}/read")).unwrap() {
            std::thread::sleep(Duration::from_millis(1));
        }
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

fn opened() -> (Home, Session) {
    let home = Home::new();
    home.command(&["add", super::STICK]);
    let this = std::env::current_exe().unwrap();
    let name = "terminal::opening::a_face_whose_journal_is_long";
    let arguments = [
        name,
        "--exact",
        "--ignored",
        "--nocapture",
        "--test-threads=1",
    ];
    let session = Session::begin((80, 24), home.builder(this.to_str().unwrap(), &arguments));
    let page = session.wait("Reading the journal: 65536 lines so far.");
    assert!(
        page.contains("Nothing of it is shown before all of it is read"),
        "{page}"
    );
    (home, session)
}

fn tell(home: &Home, name: &str) {
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
