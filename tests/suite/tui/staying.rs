//! What stays while moving between screens and from sitting to sitting: the filter, who is entering, the
//! cautions given.

use super::face::{Face, desk, journal, now};
use super::views::{LINES, SIZES};
use struck::app::record::Transaction;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;
use struck::tui::record::reading;

/// The screens that a grower moves between, by the keys that lead to them from the bench.
const SCREENS: &[&str] = &[
    "", "i", "v", "v<Enter>", "j", "j<Enter>", "y", "h", "l", "s", "<Enter>",
];

#[test]
fn who_is_entering_is_seen_on_every_screen_at_every_size() {
    let folder = journal(LINES);
    for size in SIZES {
        for keys in SCREENS {
            let mut face = Face::over(&folder, size, Charset::Utf8, Colours::None);
            face.state.common.by = "Rosalind".into();
            let screen = face.keys(keys).screen();
            assert!(screen.contains("Rosalind"), "{keys} {size:?}\n{screen}");
        }
    }
}

#[test]
fn nobody_named_is_someone_and_how_to_say_who_is_seen() {
    for size in SIZES {
        let mut face = Face::as_user("", &journal(LINES), size);
        let screen = face.screen();
        assert!(screen.contains("someone"), "{screen}");
        assert!(
            screen.contains("b someone") || screen.contains("b says who"),
            "{screen}"
        );
        let asked = face.keys("b").screen();
        assert!(asked.contains("No name"), "{asked}");
        let named = face.keys("Jo<Enter>").screen();
        assert!(
            named.contains("Jo") && !named.contains("someone"),
            "{named}"
        );
    }
}

#[test]
fn a_number_chooses_who_among_the_journals_names() {
    let mut face = Face::new(LINES, (40, 12));
    face.keys("bJo<Enter>001n dry<Enter>bMei<Enter>001n wet<Enter>b");
    let names = face.screen();
    let line = names.lines().find(|line| line.contains("Jo")).unwrap();
    let number = line.trim().chars().next().unwrap();
    face.keys(&number.to_string());
    assert_eq!(face.state.common.by, "Jo", "{names}");
}

#[test]
fn who_was_entering_is_remembered_by_the_next_sitting() {
    let folder = journal(LINES);
    Face::over(&folder, (40, 12), Charset::Utf8, Colours::None).keys("bJo<Enter>");
    let next = Face::over(&folder, (40, 12), Charset::Utf8, Colours::None);
    assert_eq!(next.state.common.by, "Jo");
    let private = std::fs::metadata(sitting_file(&folder)).unwrap();
    use std::os::unix::fs::PermissionsExt;
    assert_eq!(private.permissions().mode() & 0o777, 0o600);
}

fn sitting_file(folder: &tempfile::TempDir) -> std::path::PathBuf {
    let mut folders = std::fs::read_dir(folder.path().join("state")).unwrap();
    folders.next().unwrap().unwrap().path().join("sitting")
}

#[test]
fn a_caution_given_to_a_person_today_is_not_given_again_after_a_restart() {
    let folder = journal(LINES);
    let spray = "001tspray, with soap";
    let open = || Face::over(&folder, (80, 24), Charset::Utf8, Colours::None);
    let first = open().keys(spray).screen();
    assert!(
        first.contains("Sprays:"),
        "not saved, so given again:\n{first}"
    );
    let mut face = open();
    // What was left unfinished is thrown out first.
    face.keys("xx");
    let second = face.keys(spray).screen();
    assert!(second.contains("Sprays:"), "{second}");
    face.keys("<Enter>");
    let third = open().keys(spray).screen();
    assert!(!third.contains("Sprays:"), "{third}");
    let mut other = open();
    other.keys("xxbMei<Enter>");
    let fourth = other.keys(spray).screen();
    assert!(fourth.contains("Sprays:"), "another person:\n{fourth}");
    // And on another day to the same person.
    let kept = std::fs::read_to_string(sitting_file(&folder)).unwrap();
    assert!(kept.contains("caution\t2026-06-14\tAna\tspray"), "{kept}");
}

#[test]
fn the_filter_holds_on_every_screen_and_one_key_drops_it() {
    let folder = journal(LINES);
    for size in SIZES {
        let mut face = Face::over(&folder, size, Charset::Utf8, Colours::None);
        let all = face.screen();
        let bench = face.keys("*lavandula<Enter>").screen();
        assert!(bench.contains("Only lavandula"), "{bench}");
        assert!(
            !bench.contains("Virginal") && bench.contains("Hidcote"),
            "{bench}"
        );
        for keys in ["v", "j", "y", "h", "i"] {
            let screen = face.keys(keys).screen();
            assert!(
                screen.contains("Only lavandula"),
                "{keys} {size:?}\n{screen}"
            );
            assert!(!screen.contains("Weigela"), "{keys} {size:?}\n{screen}");
            assert!(
                !screen.contains("Philadelphus"),
                "{keys} {size:?}\n{screen}"
            );
            face.keys("<Backspace>");
        }
        assert_eq!(face.keys("#.,").screen(), all, "{size:?}");
    }
}

#[test]
fn the_filter_on_the_pages_takes_corrections_of_what_is_meant_and_every_fault() {
    let mut face = Face::new(LINES, (80, 24));
    face.keys("002<Enter>3k<Enter>");
    face.keys("j*philadelphus<Enter>");
    let screen = face.screen();
    assert!(screen.contains("Philadelphus"), "{screen}");
    assert!(screen.contains("look 26-002"), "{screen}");
    assert!(!screen.contains("26-001"), "{screen}");
    face.keys("!!");
    let screen = face.screen();
    assert!(screen.contains("withdraw"), "{screen}");
}

#[test]
fn a_batch_that_no_list_shows_is_opened_when_found() {
    let mut face = Face::new(LINES, (80, 24));
    face.keys("*lavandula<Enter>fvirginal<Enter>");
    let screen = face.screen();
    assert!(screen.starts_with("002 Philadelphus"), "{screen}");
    face.keys("<Backspace>");
    assert!(face.screen().starts_with("Bench"), "{}", face.screen());
}

#[test]
fn entries_left_unfinished_are_offered_one_after_the_other() {
    let folder = journal(LINES);
    let open = || Face::over(&folder, (80, 24), Charset::Utf8, Colours::None);
    open().keys("001n first");
    // The second sitting leaves the first one's on offer, and one of its own.
    let mut second = open();
    assert!(second.screen().contains("first"), "{}", second.screen());
    second.keys("001n second");
    drop(second);
    let mut third = open();
    assert!(third.screen().contains("first"), "{}", third.screen());
    let screen = third.keys("xx").screen();
    assert!(screen.contains("Left unfinished"), "{screen}");
    assert!(screen.contains("second"), "{screen}");
    let screen = third.keys("z").screen();
    assert!(screen.contains("> second"), "{screen}");
    let screen = third.keys("<Enter>").screen();
    assert!(!screen.contains("Left unfinished"), "{screen}");
}

#[test]
fn what_is_taken_up_is_kept_before_the_one_on_offer_is_dropped() {
    let folder = journal(LINES);
    let open = || Face::over(&folder, (80, 24), Charset::Utf8, Colours::None);
    open().keys("001n nearly done");
    let mut face = open();
    // Its own draft cannot be written: a folder stands where it would lie.
    let mut locks = drafts(&folder);
    locks.retain(|path| path.extension().is_some_and(|end| end == "lock"));
    let own = locks.iter().map(|lock| lock.with_extension("draft"));
    for taken in own.filter(|draft| !draft.exists()) {
        std::fs::create_dir_all(taken.join("taken")).unwrap();
    }
    let screen = face.keys("z").screen();
    assert!(screen.contains("> nearly done"), "{screen}");
    // Now the link drops: the old one is there yet.
    drop(face);
    let texts = drafts(&folder).into_iter().filter(|path| path.is_file());
    let texts: Vec<String> = texts
        .filter_map(|path| std::fs::read_to_string(path).ok())
        .collect();
    assert!(
        texts.iter().any(|text| text.contains("nearly done")),
        "{texts:?}"
    );
}

/// What lies in the folder of drafts.
fn drafts(folder: &tempfile::TempDir) -> Vec<std::path::PathBuf> {
    let drafts = sitting_file(folder).with_file_name("drafts");
    let files = std::fs::read_dir(drafts).unwrap();
    files.map(|file| file.unwrap().path()).collect()
}

/// The entries of a line, as they are handed in.
fn transaction(face: &Face, line: &str) -> Transaction {
    let act = reading::act(
        &[reading::read(line, &face.state.common)],
        &face.state.common,
    );
    Transaction {
        at: None,
        by: None,
        entries: act.unwrap().entries,
    }
}

/// An entry that is saved, and the draft that it was typed as, kept with the line that it became: as by a program that
/// was killed before it took the draft away.
#[test]
fn a_draft_that_was_saved_is_put_right_and_not_entered_again() {
    let folder = journal(&["2026-05-20 stick 24 Weigela florida, at bench A"]);
    let open = || Face::over(&folder, (80, 24), Charset::Utf8, Colours::Sixteen);
    let potted = transaction(&open(), "pot 26-001 3");
    let mut desk = desk(&folder, now());
    let key = desk.book().batches()[0].key.to_string();
    let mut prepared = desk.prepare(potted).unwrap();
    let text = format!("pot\t{key}\t\t3");
    desk.keep_line(&text, prepared.lines().unwrap()).unwrap();
    assert!(open().screen().contains("Left unfinished: pot 26-001: 3"));
    desk.save(&mut prepared).unwrap();
    drop(desk);
    let mut face = open();
    let screen = face.screen();
    assert!(
        screen.contains("Saved before it broke off: pot 26-001: 3"),
        "{screen}"
    );
    face.keys("z");
    assert!(face.screen().contains("Amend"), "{}", face.screen());
    assert_eq!(face.lines("pot").len(), 1);
}

/// Where the first write of an act may stand, what is changed in it before it is saved again amends it.
#[test]
fn a_changed_retry_of_an_act_that_stands_amends_it() {
    let folder = journal(&["2026-05-20 stick 24 Weigela florida, at bench A"]);
    let face = Face::over(&folder, (80, 24), Charset::Utf8, Colours::Sixteen);
    let mut desk = desk(&folder, now());
    let mut first = desk.prepare(transaction(&face, "pot 26-001 3")).unwrap();
    let changed = desk.prepare(transaction(&face, "pot 26-001 4")).unwrap();
    // While the first does not stand, the changed one takes its place.
    assert_eq!(
        desk.instead_of(&first, changed.clone(), false).unwrap(),
        changed
    );
    desk.save(&mut first).unwrap();
    let mut again = desk.instead_of(&first, changed, false).unwrap();
    for _ in 0..2 {
        desk.save(&mut again).unwrap();
        assert_eq!(desk.book().batches()[0].counts.potted, 4);
    }
}

/// Two writers of one machine that allot at the same moment: under the lock the later one takes the next code.
#[test]
fn two_writers_at_once_give_one_code_to_one_batch() {
    let folder = journal(&["2026-05-20 stick 24 Weigela florida, at bench A"]);
    let face = Face::over(&folder, (80, 24), Charset::Utf8, Colours::Sixteen);
    let line = "stick 12 Escallonia rubra, at bench A";
    let (mut one, mut other) = (desk(&folder, now()), desk(&folder, now()));
    let mut first = one.prepare(transaction(&face, line)).unwrap();
    let mut second = other.prepare(transaction(&face, line)).unwrap();
    one.save(&mut first).unwrap();
    other.save(&mut second).unwrap();
    let codes: Vec<String> = other
        .book()
        .batches()
        .iter()
        .map(|batch| batch.code.clone())
        .collect();
    assert_eq!(codes, ["26-001", "26-002", "26-003"]);
    // Said as it was saved.
    assert_eq!(second.entries()[0].kind.code_begun(), Some("26-003"));
}
