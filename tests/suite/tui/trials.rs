//! What can be compared, a comparison's arms, their batches: reached and used by typed keys; and that leaving
//! stops the work.

use super::face::Face;
use super::gallery::{at, sample};
use struck::tui::effect::Effect;
use struck::tui::effect::Message;
use struck::tui::effect::Query;
use struck::tui::keys::KeyPress;
use struck::tui::update::update;

/// An invented trial of three covers: four batches each in the box and under mist, one in the frame, and one
/// there that nobody looked at.
pub const COVERS: &[&str] = &[
    "2026-04-01 stick 24 Escallonia rubra, softwood, at box/1, trial covers, arm box",
    "2026-04-01 stick 24 Escallonia rubra, softwood, at box/2, trial covers, arm box",
    "2026-04-01 stick 24 Escallonia rubra, softwood, at box/3, trial covers, arm box",
    "2026-04-01 stick 24 Escallonia rubra, softwood, at box/4, trial covers, arm box",
    "2026-04-01 stick 24 Escallonia rubra, softwood, at mist/5, trial covers, arm mist",
    "2026-04-01 stick 24 Escallonia rubra, softwood, at mist/6, trial covers, arm mist",
    "2026-04-01 stick 24 Escallonia rubra, softwood, at mist/7, trial covers, arm mist",
    "2026-04-01 stick 24 Escallonia rubra, softwood, at mist/8, trial covers, arm mist",
    "2026-04-01 stick 24 Escallonia rubra, softwood, at frame/9, trial covers, arm frame",
    "2026-04-01 stick 24 Escallonia rubra, softwood, at frame/9, trial covers, arm frame",
    "2026-04-22 look 26-001: callused 9, rooted 5",
    "2026-04-22 look 26-002: callused 9, rooted 5",
    "2026-04-22 look 26-003: callused 9, rooted 4",
    "2026-04-22 look 26-004: callused 9, rooted 5",
    "2026-04-22 look 26-005: callused 9, rooted 2",
    "2026-04-22 look 26-006: callused 9, rooted 2",
    "2026-04-22 look 26-007: callused 9, rooted 3",
    "2026-04-22 look 26-008: callused 9, rooted 3",
    "2026-04-22 look 26-009: callused 9, rooted 3",
    "2026-05-20 look 26-001: rooted 20, blackened 4",
    "2026-05-20 look 26-002: rooted 21, blackened 3",
    "2026-05-20 look 26-003: rooted 19, blackened 5",
    "2026-05-20 look 26-004: rooted 22, blackened 2",
    "2026-05-20 look 26-005: rooted 11, blackened 13",
    "2026-05-20 look 26-006: rooted 9, blackened 15",
    "2026-05-20 look 26-007: rooted 14, blackened 10",
    "2026-05-20 look 26-008: rooted 12, blackened 12",
    "2026-05-20 look 26-009: rooted 15, blackened 9",
];

fn covers() -> Face {
    Face::new(COVERS, (80, 24))
}

#[test]
fn the_verdict_stands_beneath_and_the_stage_changes() {
    let mut face = covers();
    let screen = face.keys("=<Enter>").screen();
    assert!(
        screen.starts_with("rooted by day 49: trial covers"),
        "{screen}"
    );
    // 82 of 96 against 46 of 96; of the 70 arrangements 2 are as far apart, and by Holm p is twice that.
    let verdict =
        "By day 49, undecided: box: 37 points more rooted than mist (95 %: 24 to 51), but";
    assert!(screen.contains(verdict), "{screen}");
    let screen = face.keys("o").screen();
    assert!(screen.starts_with("callused"), "{screen}");
    let screen = face.keys("oo").screen();
    assert!(screen.starts_with("rooted by day 49"), "{screen}");
}

#[test]
fn batches_are_reached_from_their_arm_and_those_left_out_say_why() {
    let mut face = covers();
    let screen = face.keys("=<Enter><Enter>").screen();
    assert!(screen.starts_with("box, day 49"), "{screen}");
    assert!(screen.contains("20 of 24"), "{screen}");
    let screen = face.keys("<Enter>").screen();
    assert!(screen.starts_with("001 Escallonia rubra"), "{screen}");
    let screen = face.keys("<Backspace><Backspace>...<Enter>").screen();
    assert!(screen.contains("never looked at"), "{screen}");
}

#[test]
fn the_chosen_arm_is_held_against_each_that_it_meets() {
    let mut face = covers();
    let verdict = |face: &Face| {
        let screen = face.screen();
        let line = screen
            .lines()
            .find(|line| line.starts_with("By day 49, undecided"));
        line.unwrap_or_default().to_owned()
    };
    face.keys("=<Enter>");
    let first = verdict(&face);
    face.keys("~");
    let second = verdict(&face);
    assert_ne!(first, second, "{}", face.screen());
    face.keys("~");
    assert_eq!(verdict(&face), first);
}

#[test]
fn a_taxon_is_compared_by_the_grouping_of_its_list() {
    let mut face = at(&sample("nursery"), "2026-08-20T09:00:00+01:00");
    face.keys("v");
    let down = (0..20).find(|_| {
        let screen = face.screen();
        let here = screen
            .lines()
            .any(|line| line.starts_with("> Escallonia 'Apple"));
        if !here {
            face.keys(".");
        }
        here
    });
    assert!(down.is_some(), "{}", face.screen());
    let screen = face.keys("=").screen();
    assert!(screen.contains(": Escallonia"), "{screen}");
    assert!(screen.contains("by wood"), "{screen}");
    assert!(screen.contains("30 points more rooted than"), "{screen}");
}

#[test]
fn the_filter_narrows_what_can_be_compared() {
    let mut face = covers();
    let screen = face.keys("*weigela<Enter>=").screen();
    assert!(screen.contains("Only weigela"), "{screen}");
    assert!(screen.contains("Nothing to compare yet"), "{screen}");
}

/// The question that a press asks, unanswered.
fn asked_by(face: &mut Face, press: KeyPress) -> Query {
    let effects = update(&mut face.state, Message::Presses(vec![press]));
    let mut asked = effects.into_iter().filter_map(|effect| match effect {
        Effect::Ask(question) => Some(question),
        _ => None,
    });
    asked.next().unwrap()
}

/// The question that opening the chosen comparison asks, unanswered.
fn asked(face: &mut Face) -> Query {
    face.keys("=");
    asked_by(face, KeyPress::Enter)
}

#[test]
fn an_answer_that_comes_late_is_its_own_stages() {
    let mut face = covers();
    let rooted = asked(&mut face);
    let callused = asked_by(&mut face, KeyPress::Char('o'));
    face.happen(Message::Answer(rooted.answer().unwrap()));
    let screen = face.screen();
    assert!(screen.contains("Working out"), "{screen}");
    face.happen(Message::Answer(callused.answer().unwrap()));
    let screen = face.screen();
    assert!(
        screen.contains("callused %") && !screen.contains("Working out"),
        "{screen}"
    );
    // Of the bottom nothing came yet; of the roots it is there.
    face.keys("o");
    let screen = face.keys("o").screen();
    assert!(
        screen.contains("rooted %") && !screen.contains("Working out"),
        "{screen}"
    );
}

#[test]
fn the_figures_come_off_the_input_path() {
    let mut face = covers();
    let question = asked(&mut face);
    // Keys are taken and the screen is drawn while nothing has come.
    assert!(face.screen().contains("Working out"), "{}", face.screen());
    face.keys(".i");
    face.happen(Message::Answer(question.answer().unwrap()));
    assert!(face.screen().contains("undecided"), "{}", face.screen());
}

#[test]
fn leaving_stops_the_work_and_a_late_answer_falls_to_the_ground() {
    let mut face = covers();
    let question = asked(&mut face);
    let effects = update(&mut face.state, Message::Presses(vec![KeyPress::Backspace]));
    // The thread that works it out is told: it stops what this screen asked.
    let (asker, _) = question.concern();
    assert!(
        matches!(effects.as_slice(), [Effect::Left(left)] if *left == asker),
        "{effects:?}"
    );
    let before = face.screen();
    face.happen(Message::Answer(question.answer().unwrap()));
    assert_eq!(face.screen(), before);
}
