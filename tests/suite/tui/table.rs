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
