//! The program on a real terminal: what it sends, what it leaves behind, what survives.

mod decoding;
mod dropped;
mod morning;
mod opening;
mod pty;
mod saving;
mod scanning;
mod stopping;

use pty::{Home, Session};

const STICK: &str = "stick 24 Weigela florida, softwood, at bench A, mist";

/// A session open on the bench of a journal of one batch.
fn on_one_batch() -> (Home, Session) {
    let home = Home::new();
    home.command(&["add", STICK]);
    let session = home.open();
    session.wait("Weigela florida");
    (home, session)
}

#[test]
fn an_empty_journal_teaches_its_first_entry_by_making_it() {
    let home = Home::new();
    let mut session = home.open();
    session.wait("Stick 26-001");
    session.types("24 Weigela florida, softwood, at bench A\n", "Saved");
    session.types("q", "");
    let (code, clean) = session.end();
    assert_eq!((code, clean), (0, true));
    let lines = home.lines();
    assert_eq!(lines.len(), 1);
    assert!(
        lines[0].contains("\"taxon\":\"Weigela florida\""),
        "{}",
        lines[0]
    );
    assert!(lines[0].contains("\"by\":\"ana\""), "{}", lines[0]);
}

#[test]
fn the_terminal_is_asked_nothing() {
    let home = Home::new();
    let mut session = home.open();
    session.wait("Stick 26-001");
    session.types("<", "<");
    let sent = String::from_utf8_lossy(&session.bytes()).into_owned();
    for query in [
        "\x1b[6n",
        "\x1b[c",
        "\x1b[0c",
        "\x1b[>",
        "\x1b[?u",
        "\x1b]11;?",
        "\x1bP",
    ] {
        assert!(!sent.contains(query), "asked {query:?}");
    }
}

#[test]
fn a_dropped_link_keeps_what_was_being_typed() {
    // With the terminal's signals, and without any (a process of another session).
    for leads in [true, false] {
        let home = Home::new();
        home.command(&["add", STICK]);
        let mut session = home.open_sized((80, 24), leads);
        session.wait("Weigela florida");
        session.types("\n4 3 0 1", "nothing yet 16 of 24");
        let code = session.hang_up();
        assert_eq!(code, 129, "leads: {leads}");
        assert_eq!(home.lines().len(), 1);
        let mut again = home.open();
        again.wait("Left unfinished: look 26-001: 4 3 0 1");
        again.types("z", "nothing yet 16 of 24");
        again.types("\n", "Saved");
        assert_eq!(home.lines().len(), 2);
        again.keys("q");
        assert_eq!(again.end(), (0, true));
        let third = home.open();
        let screen = third.wait("Bench");
        assert!(!screen.contains("unfinished"), "{screen}");
    }
}

#[test]
fn signals_leave_the_terminal_clean_and_the_draft_kept() {
    for (signal, code) in [(15, 143), (2, 130), (1, 129)] {
        let (home, mut session) = on_one_batch();
        session.types("\n7", "nothing yet 17 of 24");
        session.signal(signal);
        assert_eq!(session.end(), (code, true), "signal {signal}");
        home.open().wait("Left unfinished: look 26-001: 7");
    }
}

#[test]
fn what_another_session_writes_appears_by_itself() {
    let (home, mut session) = on_one_batch();
    session.types("\n4 3", "nothing yet 17 of 24");
    home.command(&["add", "look 001: rooted 2, black 1"]);
    // The counts that the pad starts from follow, what is typed stays.
    let screen = session.wait("nothing yet 16 of 23");
    assert!(screen.contains("> 4 3"), "{screen}");
}

#[test]
fn a_new_size_is_drawn_at_once() {
    let home = Home::new();
    home.command(&["add", STICK]);
    let mut session = home.open();
    session.wait("Bench: 1 open");
    session.resize((40, 12));
    let screen = session.wait_until("the low form", |screen| screen.starts_with("bench A"));
    assert!(screen.contains("> 001 Weigela"), "{screen}");
    session.keys("q");
    assert_eq!(session.end(), (0, true));
}

#[test]
fn the_first_key_after_a_new_size_is_heard_at_once() {
    let home = Home::new();
    home.command(&["add", STICK]);
    let mut session = home.open();
    session.wait("Bench: 1 open");
    session.types("\n", "nothing yet 24 of 24");
    for (turn, size) in [(40, 20), (80, 24), (40, 20), (60, 20)]
        .into_iter()
        .enumerate()
    {
        session.resize(size);
        session.wait_until("the new size", |screen| {
            screen
                .lines()
                .all(|line| line.chars().count() <= usize::from(size.0))
        });
        let typed = "1 ".repeat(turn + 1);
        session.types("1", &format!("> {}", typed.trim_end()));
        session.keys(" ");
    }
    assert_eq!(session.hang_up(), 129);
}

#[test]
fn a_missing_journal_is_asked_about_and_one_that_was_there_is_refused() {
    let home = Home::new();
    let mut session = home.open_plainly();
    session.wait("There is no journal at ");
    session.keys("n\n");
    session.wait("No journal was begun.");
    assert!(!home.path().join("journal").exists());
    let mut session = home.open_plainly();
    session.wait("Begin a new one there?");
    session.types("y\n", "Stick 26-001");
    session.types("24 Weigela florida, softwood, at bench A\n", "Saved");
    session.keys("q");
    assert_eq!(session.end(), (0, true));
    // As when its disk is not mounted: the folder is there, and empty.
    let journal = home.path().join("journal");
    std::fs::rename(&journal, home.path().join("elsewhere")).unwrap();
    for make_empty in [false, true] {
        if make_empty {
            std::fs::create_dir(&journal).unwrap();
        }
        home.open_plainly()
            .wait("is missing: entries were saved in it");
    }
    std::fs::remove_dir(&journal).unwrap();
    std::fs::rename(home.path().join("elsewhere"), &journal).unwrap();
    home.open_plainly().wait("Weigela florida");
}

/// Beginnings of sequences that nothing follows: what a hand types by accident, or a link cuts off.
#[test]
fn sequences_that_break_off_hold_up_no_key_no_news_and_no_signal() {
    for begun in [
        "\x1b[",
        "\x1bO",
        "\x1b[1;",
        "\x1b[200~paste",
        "\x1b]0;t",
        "\x1bP",
    ] {
        let (home, mut session) = on_one_batch();
        session.types("\n7", "nothing yet 17 of 24");
        session.keys(begun);
        home.command(&["add", "look 001: black 1"]);
        session.wait("of 23");
        session.signal(15);
        assert_eq!(session.end(), (143, true), "{begun:?}");
        home.open().wait("Left unfinished: look 26-001: 7");
    }
}

/// The keys after such a beginning count again: at once, or once its tail is no longer waited for.
#[test]
fn the_keys_after_a_sequence_that_broke_off_are_typed() {
    let (_home, mut session) = on_one_batch();
    session.types("n", "Remark: 26-001");
    // A paste whose end is lost appears by itself, and is over.
    session.keys("\x1b[200~half a paste");
    session.wait("half a paste");
    session.types(" and more", "half a paste and more");
    // The alternate key held by a slip: what a hand goes on to type is not taken for the tail for long, even where every
    // key of it could be one.
    for (slip, typed) in [
        ("\x1b[", "4 3 0 1 7 9 8 2"),
        ("\x1bP", "abcdefgh"),
        ("\x1b]", "ijklmnop"),
    ] {
        session.keys(slip);
        for key in typed.chars() {
            std::thread::sleep(std::time::Duration::from_millis(120));
            session.keys(&key.to_string());
        }
        let kept: String = typed.chars().skip(4).collect();
        session.wait(&kept);
    }
    session.types("\n", "Saved");
    session.keys("q");
    assert_eq!(session.end(), (0, true));
}

#[test]
fn signals_end_it_within_a_second_whatever_it_waits_for() {
    for begun in ["\x1b[", "\x1b[200~paste", "\x1bP", "\u{e4}"] {
        for (signal, code) in [(15, 143), (2, 130), (1, 129)] {
            let (home, mut session) = on_one_batch();
            session.types("\n7", "nothing yet 17 of 24");
            session.keys(begun);
            let sent = std::time::Instant::now();
            session.signal(signal);
            assert_eq!(session.end(), (code, true), "{begun:?} {signal}");
            // Of its own time it takes some milliseconds; the rest is the machine's, busy with other tests.
            let took = sent.elapsed();
            assert!(
                took < std::time::Duration::from_secs(5),
                "{begun:?}: {took:?}"
            );
            home.open().wait("Left unfinished: look 26-001: 7");
        }
    }
}

#[test]
fn what_cannot_be_kept_while_typing_is_told_and_tried_again_at_every_key() {
    let (home, mut session) = on_one_batch();
    // As when the disk of the state folder is full: no draft can be written aside.
    let state = home.path().join("state/struck");
    let folder = std::fs::read_dir(&state).unwrap().next().unwrap().unwrap();
    let (drafts, away) = (folder.path().join("drafts"), folder.path().join("away"));
    std::fs::rename(&drafts, &away).unwrap();
    std::fs::write(&drafts, "").unwrap();
    session.types("\n4", "What you type cannot be kept");
    session.types(" 3", "nothing yet 17 of 24");
    session.wait("What you type cannot be kept");
    std::fs::remove_file(&drafts).unwrap();
    std::fs::rename(&away, &drafts).unwrap();
    session.keys(" 0");
    session.wait_until("the line taken away", |screen| {
        screen.contains("4 3 0") && !screen.contains("cannot be kept")
    });
    assert_eq!(session.hang_up(), 129);
    home.open().wait("Left unfinished: look 26-001: 4 3 0");
}

#[test]
fn a_note_as_long_as_a_line_may_be_is_pasted_and_saved_whole() {
    let (home, mut session) = on_one_batch();
    session.types("n", "Remark: 26-001");
    let longest = struck::tui::field::NOTE;
    let mut note = "drip ".repeat(longest / 5 + 1);
    note.truncate(longest - 3);
    note.push_str("end");
    session.keys(&format!("\x1b[200~{note}\x1b[201~"));
    session.wait("end");
    session.types("\n", "Saved");
    let lines = home.lines();
    assert!(
        lines[1].len() <= 1 << 20 && lines[1].len() > longest,
        "{}",
        lines[1].len()
    );
    assert!(lines[1].contains(&format!("\"note\":\"{note}\"")));
    // More than that is told with both counts, and kept until it is agreed to.
    session.types("n", "Remark: 26-001");
    session.keys(&format!("\x1b[200~{note} and more\x1b[201~"));
    session.wait("end");
    session.types(
        "\n",
        &format!(
            "Only {longest} of the {} characters pasted fit.",
            longest + 9
        ),
    );
    assert_eq!(home.lines().len(), 2);
    // A line that grows beyond its limit as it is written is refused in words, and nothing is lost.
    session.keys("\x15");
    let quotes = "\"".repeat(longest);
    session.keys(&format!("\x1b[200~{quotes}\x1b[201~"));
    session.types("\n", "at most 1048576 are written");
    assert_eq!(home.lines().len(), 2);
    assert_eq!(session.hang_up(), 129);
    home.open().wait("Left unfinished: ");
}

#[test]
fn a_burst_of_many_bytes_without_marks_is_read_to_its_end() {
    let (home, mut session) = on_one_batch();
    session.types("n", "Remark: 26-001");
    let note = "drip ".repeat(700);
    session.keys(&note);
    session.types("end", "drip end");
    session.types("\n", "Saved");
    let lines = home.lines();
    assert!(
        lines[1].contains(&format!("{note}end")),
        "{}",
        lines[1].len()
    );
}

#[test]
fn a_note_pasted_may_be_long_and_a_line_cut_is_told_before_it_is_saved() {
    let (home, mut session) = on_one_batch();
    session.types("n", "Remark: 26-001");
    let note = "drip ".repeat(2_000) + "end";
    session.keys(&format!("\x1b[200~{note}\x1b[201~"));
    session.wait("drip end");
    session.types("\n", "Saved");
    assert!(home.lines()[1].contains(&note));
    session.types("l", "Any entry");
    let line = "remark ".to_owned() + &"drop ".repeat(1_000);
    session.keys(&format!("\x1b[200~{line}\x1b[201~"));
    session.wait("drop");
    session.types(
        "\n",
        "Only 4000 of the 5007 characters pasted fit. Enter once more saves them alone.",
    );
    assert_eq!(home.lines().len(), 2);
    session.types("\n", "Saved");
    assert_eq!(home.lines().len(), 3);
}

#[test]
fn a_window_that_claims_to_be_huge_and_a_terminal_that_takes_no_orders_end_nothing() {
    let (home, mut session) = on_one_batch();
    session.resize((u16::MAX, u16::MAX));
    session.resize((80, 24));
    session.types("\n7", "nothing yet 17 of 24");
    session.signal(15);
    assert_eq!(session.end(), (143, true));
    let mut dumb = home.builder(pty::PROGRAM, &[]);
    dumb.env("TERM", "dumb");
    let session = pty::Session::begin((80, 24), dumb);
    session.wait("takes no orders");
    assert!(!session.bytes().contains(&0x1b));
}
