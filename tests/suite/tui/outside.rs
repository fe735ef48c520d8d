//! Letters outside a field: bursts and pastes are a search, digits a code, capitals the same keys.

use super::face::{Face, copied, journal, presses};
use super::recording::NURSERY;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;
use struck::tui::effect::Message;

#[test]
fn a_burst_of_letters_is_a_search_and_never_commands() {
    let mut face = Face::new(NURSERY, (80, 24));
    // Typed as commands these would discard, undo and quit.
    face.happen(Message::Presses(presses("lavandula dudq")));
    let screen = face.screen();
    assert!(!face.ended);
    assert!(screen.starts_with("Find a batch"), "{screen}");
    assert!(screen.contains("> lavandula dudq"), "{screen}");
}

#[test]
fn a_paste_is_a_search_and_its_line_breaks_press_nothing() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.happen(Message::Paste("apple\nblossom\r\n".into()));
    let screen = face.screen();
    assert!(screen.contains("> apple blossom"), "{screen}");
    assert!(screen.contains("26-002"), "{screen}");
    assert_eq!(face.lines("look").len(), 1);
}

#[test]
fn a_search_goes_to_what_it_found() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("fhidcote<Enter>");
    assert!(face.screen().starts_with("003 "), "{}", face.screen());
    face.keys("<Backspace>");
    assert!(face.screen().contains("\n> 003"), "{}", face.screen());
}

#[test]
fn digits_jump_at_once() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("3");
    assert!(face.screen().contains("\n> 003"), "{}", face.screen());
    face.keys("4");
    assert!(face.screen().contains("\n> 004"), "{}", face.screen());
    face.keys("9");
    assert!(
        face.screen().contains("No open batch 9"),
        "{}",
        face.screen()
    );
}

#[test]
fn a_code_begun_is_over_once_something_else_is_done() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("s24 Weigela florida<Enter>");
    for n in 0..8 {
        face.keys("s<Enter>");
        assert!(face.screen().contains("Saved"), "{n}");
    }
    // With 013 there, 1, something else, then 3 is 003 all the same.
    face.keys("1c21 90<Enter>3");
    assert!(face.screen().contains("\n> 003"), "{}", face.screen());
}

#[test]
fn what_was_entered_already_is_told_and_stops_nobody() {
    for size in super::gallery::SIZES {
        let mut face = Face::new(NURSERY, size);
        face.keys("001<Enter>4 8<Enter><Enter>4 8");
        let told = "Same as entered today 09:30 by Ana.";
        assert!(face.screen().contains(told), "{}", face.screen());
        face.keys(" 1");
        assert!(!face.screen().contains(told), "{}", face.screen());
        face.keys("<Esc><Esc>p4<Enter>");
        face.keys("p4");
        assert!(face.screen().contains(told), "{}", face.screen());
        face.keys("<Enter>");
        assert_eq!(face.lines("pot").len(), 2, "{}", face.screen());
        // Taken back it was not entered, and equal trays are no slip.
        face.keys("uup4");
        assert!(face.screen().contains(told), "{}", face.screen());
        face.keys("<Esc><Esc>uup4");
        assert!(!face.screen().contains(told), "{}", face.screen());
        face.keys("<Esc><Esc>s24 Weigela florida<Enter>s24 Weigela florida");
        assert!(!face.screen().contains("Same as"), "{}", face.screen());
    }
}

#[test]
fn keys_act_on_the_batch_whose_label_is_shown() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("002").keys("s24 Hebe, at frame 2<Enter>");
    let screen = face.keys("<Enter>").screen();
    assert!(screen.contains("005 Hebe"), "{screen}");
    // A part that was moved has its own label.
    face.keys("<Esc><Esc>001m4 to frame 2<Enter>");
    let screen = face.keys("<Enter>").screen();
    assert!(screen.contains("006 Weigela"), "{screen}");
}

#[test]
fn nothing_is_offered_within_a_word() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("s24 Hebe, at lavan bench<Left><Left><Left><Left><Left><Left>");
    assert!(face.screen().contains("= Lavandula"), "{}", face.screen());
    face.keys("<Left>");
    assert!(!face.screen().contains("= Lavandula"), "{}", face.screen());
}

#[test]
fn the_bench_tells_of_what_still_stands_there() {
    let mut face = Face::new(NURSERY, (80, 24));
    let screen = face.keys("001<Enter>8 6<Enter>p8<Enter>").screen();
    assert!(screen.contains("6 callused, today"), "{screen}");
}

#[test]
fn a_line_emptied_at_a_slip_is_put_back_by_the_key_that_takes_words() {
    for (opens, line) in [
        ("s", "24 Weigela florida, softwood, in sand"),
        ("l", "climate bench A: air 24.5, rh 88"),
        ("001n", "the leaves hang"),
    ] {
        for size in super::gallery::SIZES {
            let mut face = Face::new(NURSERY, size);
            face.keys(&format!("{opens}{line}<Esc>"));
            assert!(face.screen().contains("\n>\n"), "{}", face.screen());
            assert!(face.screen().contains("= "), "{}", face.screen());
            face.keys("=");
            let start: String = line.chars().take(30).collect();
            assert!(face.screen().contains(&start), "{}", face.screen());
            // Emptied and left it is gone: two presses are no slip.
            face.keys("<Esc><Esc>").keys(opens);
            assert!(!face.screen().contains(&start), "{}", face.screen());
        }
    }
}

#[test]
fn a_pad_emptied_at_a_slip_is_put_back_but_never_on_another_batch() {
    for size in super::gallery::SIZES {
        let mut face = Face::new(NURSERY, size);
        let screen = face.keys("001<Enter>4 8 0 2<Esc>").screen();
        assert!(screen.contains("= 4 8 0 2"), "{screen}");
        face.keys("=<Enter>");
        let look = face.lines("look").pop().unwrap();
        assert!(look.contains("\"blackened\":2"), "{look}");
        let screen = face.keys("001w4 8<Esc><Enter>").screen();
        assert!(!screen.contains("= 4 8"), "{screen}");
        // That the rest was not looked at comes back with it.
        face.keys("<Esc><Esc>001<Enter>4 8.<Esc>=<Enter>");
        let look = face.lines("look").pop().unwrap();
        assert!(look.contains("\"seen\":12"), "{look}");
    }
}

#[test]
fn a_capital_is_the_same_key() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("F");
    assert!(face.screen().starts_with("Find a batch"));
}

#[test]
fn no_single_key_and_no_enter_destroys() {
    let all = (' '..='~').map(|c| c.to_string());
    let folder = journal(NURSERY);
    for key in all.chain(["<Enter>", "<Backspace>", "<Esc>"].map(String::from)) {
        let mut face = Face::over(&copied(&folder), (80, 24), Charset::Utf8, Colours::None);
        face.keys("001<Enter>4 8<Enter>");
        face.keys(&key).keys("<Enter>");
        assert_eq!(
            face.lines("withdraw").len() + face.lines("discard").len(),
            0,
            "{key}"
        );
    }
}

#[test]
fn a_new_size_keeps_what_is_chosen() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("3").resize((40, 12));
    assert!(face.screen().contains("\n> 003"), "{}", face.screen());
    face.resize((200, 60));
    assert!(face.screen().contains("\n> 003"), "{}", face.screen());
}

#[test]
fn no_size_is_too_small_to_draw() {
    for size in [(1, 1), (5, 2), (12, 3), (20, 5)] {
        for keys in ["", "001<Enter>4", "s24 Weigela<Enter>", "p18 g", "fa", "b"] {
            let mut face = Face::new(NURSERY, size);
            let screen = face.keys(keys).screen();
            assert_eq!(screen.split('\n').count(), usize::from(size.1));
        }
    }
}
