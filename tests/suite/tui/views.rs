//! The journal's pages, the seasons, the filter and the help: reached and used by keys.

use super::face::{Face, journal};
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;

/// Two seasons of an invented nursery.
pub const LINES: &[&str] = &[
    "2025-05-12 stick 20 Lavandula angustifolia 'Hidcote', softwood, at bench 1",
    "2025-06-09 look 25-001: 14 rooted, 2 blackened",
    "2025-06-02 stick 30 Weigela florida, semi-ripe, at frame 2",
    "2026-05-13 stick 24 Lavandula angustifolia 'Hidcote', softwood, at bench 1",
    "2026-06-10 look 26-001: 6 rooted, 3 callused",
    "2026-06-11 stick 10 Philadelphus 'Virginal', softwood, at bench 1",
];

pub const SIZES: [(u16, u16); 4] = [(40, 12), (40, 20), (80, 24), (160, 45)];

fn face(size: (u16, u16)) -> Face {
    Face::new(LINES, size)
}

#[test]
fn pages_stand_newest_first() {
    let mut face = face((80, 24));
    let screen = face.keys("j").screen();
    let at = |text: &str| {
        screen
            .find(text)
            .unwrap_or_else(|| panic!("{text} in\n{screen}"))
    };
    assert!(at("Philadelphus") < at("look 26-001:"), "{screen}");
    assert!(at("look 26-001:") < at("Weigela"), "{screen}");
}

#[test]
fn an_entry_is_taken_back_at_the_second_press_and_stays_to_be_seen() {
    let mut face = face((80, 24));
    face.keys("j");
    face.keys("!");
    assert!(face.lines("withdraw").is_empty());
    face.keys("!");
    assert_eq!(face.lines("withdraw").len(), 1);
    let screen = face.screen();
    assert!(screen.contains("withdrawn: "), "{screen}");
    // And the withdrawal itself is an entry like any other.
    assert!(screen.contains("withdraw "), "{screen}");
}

#[test]
fn what_goes_with_a_sticking_is_told_before_it_is_taken_back() {
    let mut face = face((80, 24));
    let mut asked = |keys: &str| {
        let screen = face.keys(keys).screen();
        let words: Vec<&str> = screen.split_whitespace().collect();
        words.join(" ")
    };
    let one = asked("001i<PageUp>!");
    assert!(
        one.contains("Press ! once more to withdraw: stick: 24 Lavandula"),
        "{one}"
    );
    assert!(
        one.contains("; with it goes the later entry of its batch"),
        "{one}"
    );
    let many = asked("<Backspace>001n dry<Enter><PageUp>!");
    assert!(
        many.contains("; with it go the 2 later entries of its batch"),
        "{many}"
    );
    let look = asked("<Esc><Down>!");
    assert!(
        look.contains("Press ! once more to withdraw: look:"),
        "{look}"
    );
    assert!(!look.contains("with it go"), "{look}");
}

#[test]
fn a_code_that_two_batches_bear_once_a_withdrawal_is_taken_back_is_told() {
    let mut face = face((80, 24));
    face.keys("s24 Hebe<Enter>uus24 Cistus<Enter>j<Down><Down>");
    let asked = face.keys("!").screen();
    assert!(
        asked.contains("Press ! once more to withdraw: withdraw"),
        "{asked}"
    );
    let told = face.keys("!").screen();
    assert!(told.contains("A second batch has the code"), "{told}");
}

#[test]
fn another_key_leaves_the_entry_as_it_is() {
    let mut face = face((80, 24));
    face.keys("j!.!");
    assert!(face.lines("withdraw").is_empty());
}

#[test]
fn pages_are_searched_by_taxon_code_and_text() {
    let mut face = face((80, 24));
    face.keys("jfwgl");
    let screen = face.screen();
    assert!(screen.contains("Weigela"), "{screen}");
    assert!(!screen.contains("Philadelphus"), "{screen}");
    face.keys("<Esc>");
    assert!(face.screen().contains("Philadelphus"));
    face.keys("fhidcote rooted");
    let screen = face.screen();
    assert!(screen.contains("25-001"), "{screen}");
    assert!(!screen.contains("Weigela"), "{screen}");
}

#[test]
fn a_long_journal_is_read_to_its_end_and_back() {
    let days: Vec<String> = (0..700)
        .map(|n| {
            let day = chrono::NaiveDate::from_ymd_opt(2024, 1, 1).unwrap() + chrono::Days::new(n);
            format!("{day} note the {n}th morning")
        })
        .collect();
    let lines: Vec<&str> = days.iter().map(String::as_str).collect();
    let mut face = Face::new(&lines, (80, 24));
    // An empty bench begins with a first sticking.
    face.keys("<Esc><Esc>j");
    assert!(face.screen().contains("the 699th"), "{}", face.screen());
    for _ in 0..80 {
        face.keys(" ");
    }
    assert!(face.screen().contains("the 0th"), "{}", face.screen());
    for _ in 0..80 {
        face.keys("-");
    }
    assert!(face.screen().contains("the 699th"), "{}", face.screen());
}

#[test]
fn faults_say_their_file_line_and_mend() {
    let folder = journal(LINES);
    let file = folder.path().join("journal").join("by-hand.jsonl");
    std::fs::write(
        file,
        "{\"v\":1,\"at\":\"2026-06-01\",\"kind\":\"look\"}\nnot a line\n",
    )
    .unwrap();
    for size in SIZES {
        let mut face = Face::over(&folder, size, Charset::Utf8, Colours::Sixteen);
        let screen = face.keys("j").screen();
        assert!(screen.contains("Fault"), "{size:?}\n{screen}");
        let screen = face.keys("<Enter>").screen();
        assert!(screen.contains("by-hand.jsonl, line"), "{size:?}\n{screen}");
        assert!(screen.contains("To do:"), "{size:?}\n{screen}");
    }
}

#[test]
fn a_season_is_told_week_by_week_and_beside_the_one_before() {
    let mut face = face((80, 24));
    let screen = face.keys("y").screen();
    assert!(
        screen.contains("2026: 2 batches of 2 taxa, 34 stuck"),
        "{screen}"
    );
    let screen = face.keys("<").screen();
    assert!(
        screen.contains("2025: 2 batches of 2 taxa, 50 stuck"),
        "{screen}"
    );
    let screen = face.keys(">o").screen();
    assert!(screen.contains("Seasons 2026 and 2025"), "{screen}");
    // To the same day of the year: 14 June.
    assert!(
        screen.contains("2025 by 14 Jun 2025: 2 batches of 2 taxa, 50 stuck; 14 rooted"),
        "{screen}"
    );
}

#[test]
fn an_earlier_season_is_cut_at_this_day_of_the_year() {
    let lines = [LINES, &["2025-07-20 look 25-002: 25 rooted"]].concat();
    let mut face = Face::new(&lines, (80, 24));
    let screen = face.keys("yo").screen();
    assert!(screen.contains("14 rooted or potted (28"), "{screen}");
    let screen = face.keys("o<").screen();
    assert!(screen.contains("39 rooted or potted (78"), "{screen}");
}

#[test]
fn the_filter_stays_while_moving_between_screens() {
    let mut face = face((80, 24));
    face.keys("y*weigela<Enter>");
    let screen = face.screen();
    assert!(screen.contains("Only weigela"), "{screen}");
    assert!(
        screen.contains("2025: 1 batch of 1 taxon, 30 stuck"),
        "{screen}"
    );
    face.keys("<Backspace>y");
    assert!(face.screen().contains("Only weigela"));
    face.keys("*<Esc><Enter>");
    assert!(
        face.screen().contains("2026: 2 batches"),
        "{}",
        face.screen()
    );
}

#[test]
fn help_says_every_key_of_where_one_was_and_finds_one() {
    let mut face = face((40, 12));
    let mut seen = face.keys("h").screen();
    assert!(seen.starts_with("On the bench"), "{seen}");
    for _ in 0..40 {
        seen.push_str(&face.keys(" ").screen());
    }
    for context in struck::tui::keys::KeyContext::ALL {
        let none = struck::tui::keys::TABLE
            .iter()
            .all(|row| row.context != *context);
        assert!(none || seen.contains(context.heading()), "{context:?}");
    }
    face.keys("fwithdraw");
    face.keys("<Esc>fwithdraws");
    let screen = face.screen();
    assert!(screen.contains("Withdraws the chosen"), "{screen}");
    assert!(!screen.contains("On the bench"), "{screen}");
}

#[test]
fn every_view_fits_every_size_in_either_charset() {
    let empty = journal(&[]);
    let some = journal(LINES);
    for folder in [&empty, &some] {
        for size in SIZES {
            for glyphs in [Charset::Utf8, Charset::Ascii] {
                for keys in ["j", "y", "y<Enter>", "yi", "v", "h"] {
                    let mut face = Face::over(folder, size, glyphs, Colours::None);
                    if std::ptr::eq(folder, &empty) {
                        face.keys("<Esc><Esc>");
                    }
                    let screen = face.keys(keys).screen();
                    let lines: Vec<&str> = screen.lines().collect();
                    let hint = lines.last().copied().unwrap_or_default();
                    // The hint line ends on a whole hint: nothing in it is cut.
                    assert!(
                        !hint.contains('…') && !hint.is_empty(),
                        "{keys} {size:?}\n{screen}"
                    );
                    assert!(
                        glyphs == Charset::Utf8 || screen.is_ascii(),
                        "{keys}\n{screen}"
                    );
                }
            }
        }
    }
}

#[test]
fn a_week_not_looked_at_tells_no_share() {
    let mut face = Face::new(&[], (80, 24));
    face.keys("20 Hebe albicans, softwood, at bench A<Enter>y");
    let unseen = face.screen();
    assert!(unseen.contains("no look yet"), "{unseen}");
    assert!(!unseen.contains("0%"), "{unseen}");
    face.keys("<Esc><Enter>0<Enter>y");
    let seen = face.screen();
    assert!(seen.contains("0 rooted or potted (0%)"), "{seen}");
    assert!(!seen.contains("no look yet"), "{seen}");
}

/// From a week, and from every paragraph of a review that is about batches, one key leads to them, each with its losses and
/// its air; and on to a batch.
#[test]
fn every_line_of_a_season_leads_to_its_batches() {
    let air = "2025-05-20 climate bench 1: air 24, rh 40";
    let lines = [LINES, &[air]].concat();
    for size in SIZES {
        let mut face = Face::new(&lines, size);
        let screen = face.keys("y<<Enter>").screen();
        for seen in [
            "25-001",
            "Lavandula",
            "lost 2 blackened",
            "dry 1, wet 0, hot 0; ",
        ] {
            assert!(screen.contains(seen), "{seen} at {size:?}:\n{screen}");
        }
        let screen = face.keys("<Enter>").screen();
        assert!(
            screen.contains("look 25-001") || screen.contains("001 Lavandula"),
            "{screen}"
        );
        face.keys("<Esc><Esc>i");
        let mut titles = std::collections::BTreeSet::new();
        for _ in 0..40 {
            let before = face.screen();
            let screen = face.keys("<Enter>").screen();
            assert_ne!(before, screen, "Enter leads nowhere at {size:?}");
            assert!(screen.contains("25-00"), "{screen}");
            titles.extend(
                screen
                    .lines()
                    .next()
                    .map(|line| line.chars().take(16).collect::<String>()),
            );
            face.keys("<Esc>.");
        }
        // The whole, and each of the two kinds.
        assert!(titles.len() >= 3, "{titles:?} at {size:?}");
    }
}
