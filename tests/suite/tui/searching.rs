//! The search while its answers are still on their way: what is typed ahead of them, what is shown meanwhile.

use super::face::{Face, presses};
use super::views::LINES;
use struck::tui::effect::{Answer, Effect, Message};
use struck::tui::update::update;

/// Presses keys while nothing is worked out; the last question that they asked.
fn typed(face: &mut Face, keys: &str) -> Option<Answer> {
    let mut last = None;
    for press in presses(keys) {
        for effect in update(&mut face.state, Message::Presses(vec![press])) {
            match effect {
                Effect::Ask(question) => last = Some(question),
                Effect::Quit => panic!("{keys} ends the program"),
                _ => {}
            }
        }
    }
    last.and_then(|question| question.answer())
}

fn told(face: &mut Face, answer: Option<Answer>) {
    let answer = answer.expect("the keys ask something");
    face.happen(Message::Answer(answer));
}

#[test]
fn letters_stand_at_once_and_what_they_find_follows() {
    let mut face = Face::new(LINES, (80, 24));
    let first = typed(&mut face, "f");
    let opened = face.screen();
    assert!(opened.contains("Searching..."), "{opened}");
    assert!(!opened.contains("Nothing has that name."), "{opened}");
    told(&mut face, first);
    let all = face.screen();
    assert!(all.contains("Weigela"), "{all}");
    let found = typed(&mut face, "hid");
    let ahead = face.screen();
    assert!(ahead.contains("hid"), "{ahead}");
    assert!(ahead.contains("Weigela"), "what was listed stays\n{ahead}");
    told(&mut face, found);
    let found = face.screen();
    assert!(found.contains("Hidcote"), "{found}");
    assert!(!found.contains("Weigela"), "{found}");
}

#[test]
fn enter_opens_what_the_text_finds_and_not_what_was_still_listed() {
    for (keys, code) in [
        ("fphila<Enter>", "26-002"),
        ("fhidcote<Down><Enter>", "26-001"),
    ] {
        let mut face = Face::new(LINES, (80, 24));
        let first = typed(&mut face, "f");
        told(&mut face, first);
        typed(&mut face, &keys[1..]);
        let page = face.screen();
        let batch = face.state.common.book.batches();
        let batch = batch.iter().find(|batch| batch.code.as_str() == code);
        let name = batch.expect("the batch is there").taxon.shown();
        let heading = page.lines().next().unwrap_or_default();
        assert!(heading.contains(name.as_str()), "{keys}\n{page}");
        assert!(
            heading.contains(code.trim_start_matches("26-")),
            "{keys}\n{page}"
        );
    }
}

#[test]
fn an_answer_to_an_earlier_text_is_not_shown_for_a_later_one() {
    let mut face = Face::new(LINES, (80, 24));
    let first = typed(&mut face, "f");
    told(&mut face, first);
    let early = typed(&mut face, "wei");
    let late = typed(&mut face, "<Backspace><Backspace><Backspace>phil");
    told(&mut face, early);
    let before = face.screen();
    assert!(before.contains("Hidcote"), "all are still listed\n{before}");
    told(&mut face, late);
    let after = face.screen();
    assert!(after.contains("Philadelphus"), "{after}");
    assert!(!after.contains("Weigela"), "{after}");
}

#[test]
fn a_closed_batch_of_that_name_comes_before_an_open_one_with_its_letters_strewn() {
    let mut face = Face::new(
        &[
            "2026-05-13 stick 4 Philadelphus 'Virginal', softwood, at bench 1",
            "2026-06-13 pot 26-001 4",
            "2026-06-14 stick 9 Elaeagnus submacrophylla, semi-ripe, at mist bench",
        ],
        (80, 24),
    );
    let found = face.keys("fphi").screen();
    let first = found.lines().find(|line| line.starts_with("> 26"));
    assert!(
        first.is_some_and(|line| line.contains("Philadelphus")),
        "{found}"
    );
    assert!(found.contains("Elaeagnus"), "{found}");
}
