//! The rules of the key table.

use std::collections::{BTreeMap, BTreeSet, HashSet};
use struck::tui::keys;
use struck::tui::keys::KeyPress;
use struck::tui::keys::{Command, KeyContext, TABLE};

#[test]
fn no_key_stands_twice_in_one_context() {
    for context in KeyContext::ALL {
        let mut seen = BTreeMap::new();
        for row in TABLE.iter().filter(|row| row.context == *context) {
            for press in row.presses {
                let before = seen.insert(press.folded(), row.command);
                assert_eq!(before, None, "{press} stands twice in {context:?}");
            }
        }
    }
}

#[test]
fn letters_are_lower_case_and_match_either_case() {
    for row in TABLE {
        for press in row.presses {
            assert_eq!(*press, press.folded(), "{press} in {:?}", row.context);
            if let KeyPress::Char(c) = press {
                let shouted = KeyPress::Char(c.to_ascii_uppercase());
                let meant = keys::command(row.context, *press);
                assert_eq!(keys::command(row.context, shouted), meant);
            }
        }
    }
}

#[test]
fn every_command_can_be_reached_where_it_stands() {
    // That each command has a row is shown by the lints: without one it would never be constructed.
    for row in TABLE {
        let reached = keys::command(row.context, row.presses[0]);
        assert_eq!(reached, Some(row.command), "in {:?}", row.context);
    }
}

#[test]
fn a_wider_key_is_hidden_only_by_a_like_one() {
    // A narrower context may take a key for its own only where the wider meaning makes no sense there.
    let meant: HashSet<(Command, Command)> = HIDDEN.iter().copied().collect();
    for context in KeyContext::ALL {
        for (at, wider) in context.layers().iter().enumerate().skip(1) {
            for row in TABLE.iter().filter(|row| row.context == *wider) {
                for press in row.presses {
                    let got = keys::command(*context, *press).unwrap();
                    let hidden = got == row.command || meant.contains(&(got, row.command));
                    assert!(
                        hidden,
                        "{press} of {wider:?} is {got:?} in {context:?} ({at})"
                    );
                }
            }
        }
    }
}

/// The command that hides, and the one hidden.
const HIDDEN: &[(Command, Command)] = &[
    // Enter on a batch is the look pad: the one key of the bench.
    (Command::Look, Command::Open),
    // A week of a season holds nothing to open: the pair of seasons is what one wants there.
    (Command::Beside, Command::Open),
    // The pad offers no words, only mends.
    (Command::MendMore, Command::Complete),
];

/// What each letter and sign stands for wherever it acts, with the commands in which that shows. Letters that act
/// nowhere else than in text fields are not listed: they are text.
const MEANINGS: &[(char, &str, &[Command])] = &[
    ('a', "look again", &[Command::Again]),
    ('b', "by whom", &[Command::By]),
    ('c', "climate", &[Command::Climate]),
    ('d', "discard", &[Command::Discard]),
    ('e', "amend an entry", &[Command::Amend]),
    ('f', "find", &[Command::Find]),
    ('g', "sold", &[Command::Sold]),
    ('h', "help", &[Command::Help]),
    (
        'i',
        "inside: more about what is chosen",
        &[Command::Inside, Command::Review],
    ),
    ('j', "journal", &[Command::Pages]),
    ('k', "targets", &[Command::Targets]),
    ('l', "line", &[Command::Line]),
    ('m', "move", &[Command::Move]),
    ('n', "note", &[Command::Note]),
    (
        'o',
        "another way to see the same",
        &[
            Command::Order,
            Command::Grouping,
            Command::Band,
            Command::Stage,
            Command::Beside,
        ],
    ),
    ('p', "pot", &[Command::Pot]),
    ('q', "quit", &[Command::Quit]),
    ('r', "saleable", &[Command::Ready]),
    ('s', "stick", &[Command::Stick]),
    ('t', "treat", &[Command::Treat]),
    ('u', "undo", &[Command::Undo]),
    ('v', "taxa", &[Command::Taxa]),
    ('w', "round", &[Command::Round]),
    ('x', "drop the draft", &[Command::ThrowOut]),
    ('y', "seasons", &[Command::Seasons]),
    ('z', "take up the draft", &[Command::TakeUp]),
    ('%', "air", &[Command::Air]),
    ('!', "withdraw", &[Command::Withdraw]),
    ('@', "at the right tray", &[Command::RightTray]),
    ('<', "earlier", &[Command::Earlier]),
    ('>', "later", &[Command::Later]),
    ('~', "against", &[Command::Against]),
    ('*', "only", &[Command::Only]),
    ('#', "all", &[Command::All]),
    ('+', "look again", &[Command::Again]),
    (';', "line", &[Command::Line]),
    ('?', "help", &[Command::Help]),
    // While typing, `=` takes what is offered, and `.` and `/` say what becomes of the rest.
    (
        '=',
        "compare; take what is offered",
        &[Command::Trials, Command::Complete, Command::MendMore],
    ),
    (
        '.',
        "the next; the rest was not looked at",
        &[Command::Next, Command::MendUnseen],
    ),
    (
        '/',
        "find; the rest is lost",
        &[Command::Find, Command::MendLost],
    ),
    (',', "the one before", &[Command::Previous]),
    (' ', "a page on", &[Command::PageOn]),
    (
        '-',
        "back: a page, a batch of the round",
        &[Command::PageBack, Command::Before],
    ),
];

#[test]
fn a_letter_means_one_thing_wherever_it_acts() {
    for row in TABLE {
        for press in row.presses {
            let Some(c) = press.char() else { continue };
            let (_, meaning, commands) = MEANINGS
                .iter()
                .find(|(letter, ..)| *letter == c)
                .unwrap_or_else(|| panic!("{c} has no meaning"));
            let is_meant = commands.contains(&row.command);
            assert!(is_meant, "{c} means {meaning}, not {:?}", row.command);
        }
    }
    for (letter, meaning, commands) in MEANINGS {
        for command in *commands {
            let press = KeyPress::Char(*letter);
            let mut rows = TABLE.iter().filter(|row| row.command == *command);
            let acts = rows.any(|row| row.presses.contains(&press));
            assert!(acts, "{letter} ({meaning}) does not ask for {command:?}");
        }
    }
}

/// The look pad's signs are letters of their own behind numbers; none of them stands for two things there.
#[test]
fn a_sign_of_the_pad_means_one_thing() {
    use struck::input::look_pad::{BOXES, HOWS, RESTS};
    let boxes = BOXES.iter().map(|one| one.letter);
    let alone = HOWS
        .iter()
        .map(|(c, _)| *c)
        .chain(RESTS.iter().map(|(c, _)| *c));
    let all: Vec<char> = boxes.chain(alone).chain(['p']).collect();
    let apart: BTreeSet<char> = all.iter().copied().collect();
    assert_eq!(apart.len(), all.len(), "{all:?}");
}

#[test]
fn every_key_says_what_it_does_and_needs_no_rare_key() {
    let rare = [
        KeyPress::Esc,
        KeyPress::Tab,
        KeyPress::BackTab,
        KeyPress::Up,
        KeyPress::Down,
    ];
    let rare: BTreeSet<KeyPress> = rare.into_iter().collect();
    for row in TABLE {
        assert!(row.help.ends_with('.'), "{:?}", row.command);
        // Paging reaches the ends of a list, erasing empties a line, what is offered first is mostly meant.
        let spare = [
            Command::First,
            Command::Last,
            Command::ChooseNext,
            Command::ChoosePrevious,
            Command::Leave,
        ];
        let common = row.presses.iter().any(|press| !rare.contains(press));
        assert!(
            common || spare.contains(&row.command),
            "{:?} needs a rare key",
            row.command
        );
    }
}

#[test]
fn all_contexts_are_listed_for_the_help_page() {
    for row in TABLE {
        assert!(KeyContext::ALL.contains(&row.context), "{:?}", row.context);
    }
}
