//! Editing a line.

use struck::tui::field::TextField;
use struck::tui::keys::KeyPress;

fn typed(start: &str, presses: &[KeyPress]) -> (String, String) {
    let mut field = TextField::new(start);
    for press in presses {
        field.press(*press);
    }
    (field.text().to_owned(), field.before().to_owned())
}

#[test]
fn editing_moves_by_whole_letters() {
    // An e with its accent as a mark of its own is one letter to the eye.
    let (text, before) = typed("the\u{301}", &[KeyPress::Left, KeyPress::Char('x')]);
    assert_eq!((text.as_str(), before.as_str()), ("thxe\u{301}", "thx"));
    let (text, _) = typed("the\u{301}", &[KeyPress::Backspace]);
    assert_eq!(text, "th");
}

#[test]
fn words_and_lines_are_cut() {
    assert_eq!(typed("bench A", &[KeyPress::Ctrl('w')]).0, "bench ");
    assert_eq!(typed("bench A", &[KeyPress::Ctrl('u')]).0, "");
    assert_eq!(
        typed("bench", &[KeyPress::Home, KeyPress::Delete]).0,
        "ench"
    );
}

#[test]
fn a_paste_keeps_one_line_and_no_controls() {
    let mut field = TextField::default();
    field.insert("two\nlines\x1b[31m\tand a tab");
    assert_eq!(field.text(), "two lines[31m and a tab");
    field.insert(&"x".repeat(9000));
    assert!(field.text().len() <= 4000);
}

#[test]
fn a_completion_replaces_what_stands_before_the_cursor() {
    let mut field = TextField::new("24 weig");
    field.complete(3, "Weigela florida");
    assert_eq!(field.text(), "24 Weigela florida");
    // A place that is none of the text's changes nothing.
    field.complete(90, "x");
    assert_eq!(field.text(), "24 Weigela florida");
}

#[test]
fn a_cursor_is_within_a_word_while_a_letter_stands_at_it() {
    let mut field = TextField::new("at frme 2");
    assert!(!field.is_within_word());
    field.press(KeyPress::Left);
    assert!(field.is_within_word());
    field.press(KeyPress::Left);
    assert!(!field.is_within_word());
}

#[test]
fn a_field_opens_before_its_end() {
    let field = TextField::before_the_end("look 001: rooted 4, on 2026-06-14", ", on 2026-06-14");
    assert_eq!(field.before(), "look 001: rooted 4");
    let whole = TextField::before_the_end("look 001", ", on 2026-06-14");
    assert_eq!(whole.before(), "look 001");
}
