//! Between the disk and the screens: an entry is said to be saved as soon as it is on disk, and worked in after that.

use super::opening::{program, tell, wait_for};
use super::pty::{Home, Session};
use super::stopping::{Faulty, options};
use struck::tui::terminal::run;

/// Not a test: a face that works in what was written once a file stands, run on a terminal by the tests below.
#[test]
#[ignore = "a program for other tests"]
fn a_face_that_works_in_for_long() {
    let home = std::env::var("HOME").unwrap();
    let opening = move |_: &mut dyn FnMut(u64)| {
        let faulty = Faulty {
            works: Some(["working", "worked"].map(|name| format!("{home}/{name}"))),
            ..Faulty::open()
        };
        Ok(Box::new(faulty) as Box<_>)
    };
    let code = run(Box::new(opening), options()).unwrap();
    std::process::exit(code);
}

/// A look saved on the pad of the only tray, and not yet worked in.
fn saved() -> (Home, Session) {
    let home = Home::new();
    home.command(&["add", super::STICK]);
    let mut session = program(&home, "terminal::saving::a_face_that_works_in_for_long");
    session.wait("Weigela florida");
    session.types("\n4 3 0 1\n", "Saved: 26-001: ");
    wait_for(home.path().join("working").to_str().unwrap());
    // Not said before: the line is whole on the disk.
    assert_eq!(home.lines().len(), 2);
    assert!(home.lines()[1].ends_with("\"}"));
    (home, session)
}

#[test]
fn what_is_saved_is_said_before_it_is_worked_in_and_keys_wait_for_that_in_order() {
    let (home, mut session) = saved();
    // A tray, the same again, and what belongs to the bench after them.
    let ahead = ["s", "24 Kerria japonica, softwood, at bench A\n", "s\n"];
    for (keys, rows) in ahead.into_iter().zip([20, 22, 24]) {
        session.keys(keys);
        // A new size is drawn at once: by then the keys before it were read, and none was acted on.
        session.resize((80, rows));
        session.wait_until("the new size", |screen| {
            let hints = screen.lines().nth(usize::from(rows) - 1);
            hints.is_some_and(|line| line.starts_with("Enter save"))
                && screen.contains("Saved: 26-001: ")
        });
    }
    assert_eq!(home.lines().len(), 2);
    tell(&home, "worked");
    session.wait("Bench: 3 open");
    session.types("uu", "Withdrawn: 24 Kerria japonica stuck.");
    session.types("1\n", "nothing yet 23 of 23");
    session.types("24\n", "1 too many");
    session.keys("\x15");
    session.types("\x08", "Bench: 2 open");
    session.keys("q");
    assert_eq!(session.end().0, 0);
    let lines = home.lines();
    let codes: Vec<bool> = ["26-001", "26-001", "26-002", "26-003"]
        .iter()
        .zip(&lines)
        .map(|(code, line)| line.contains(&format!("\"batch\":\"{code}\"")))
        .collect();
    assert_eq!(codes, [true; 4], "{lines:?}");
    assert_eq!(lines.len(), 5);
}

#[test]
fn an_end_before_it_is_worked_in_loses_nothing_and_offers_nothing_twice() {
    for signal in [None, Some(15)] {
        let (home, mut session) = saved();
        session.keys("s24 Ker");
        match signal {
            None => assert_eq!(session.hang_up(), 129),
            Some(signal) => {
                session.signal(signal);
                assert_eq!(session.end().0, 143);
            }
        }
        assert_eq!(home.lines().len(), 2);
        let again = home.open();
        let screen = again.wait("4 rooted, 3 callused");
        assert!(
            !screen.contains("unfinished") && !screen.contains("broke off"),
            "{screen}"
        );
    }
}
