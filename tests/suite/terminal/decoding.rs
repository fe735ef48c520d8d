//! Bytes of a terminal as keys: every sequence, however it is cut, and those that break off.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use struck::tui::effect::Message;
use struck::tui::keys::KeyPress;
use struck::tui::terminal::Decoder;

/// What some bytes are, after which nothing more comes.
fn decoded(pieces: &[&[u8]]) -> Vec<String> {
    let mut decoder = Decoder::default();
    for piece in pieces {
        decoder.feed(piece);
    }
    while decoder.patience().is_some() {
        decoder.give_up();
    }
    shortly(&mut decoder)
}

fn shortly(decoder: &mut Decoder) -> Vec<String> {
    let mut out = Vec::new();
    for message in decoder.messages() {
        match message {
            Message::Presses(presses) => out.extend(presses.iter().map(KeyPress::to_string)),
            Message::Paste(text) => out.push(format!("paste {text}")),
            other => panic!("{other:?}"),
        }
    }
    out
}

/// Sequences and the keys they are: ECMA-48 (1991) for cursor keys and their parameters, section 8.3; the tilde forms by
/// the VT220's programmer manual; the rest common practice of terminals.
const KEYS: &[(&str, &[&str])] = &[
    ("a", &["a"]),
    ("\u{fc}\u{4e2d}", &["\u{fc}", "\u{4e2d}"]),
    (
        "\r\n\t\x7f\x08",
        &["Enter", "Enter", "Tab", "Backspace", "Backspace"],
    ),
    ("\x01\x1a\0", &["Ctrl-A", "Ctrl-Z", "Ctrl- "]),
    ("\x1b[A\x1b[B\x1b[C\x1b[D", &["Up", "Down", "Right", "Left"]),
    ("\x1bOA\x1bOH\x1bOF", &["Up", "Home", "End"]),
    ("\x1b[1;5A\x1b[1;2D", &["Up", "Left"]),
    (
        "\x1b[H\x1b[F\x1b[1~\x1b[4~\x1b[7~\x1b[8~",
        &["Home", "End", "Home", "End", "Home", "End"],
    ),
    (
        "\x1b[3~\x1b[5~\x1b[6~\x1b[Z",
        &["Delete", "PageUp", "PageDown", "Shift-Tab"],
    ),
    // Function keys, focus, the mouse, answers that nobody asked for: nothing.
    (
        "\x1bOP\x1b[15~\x1b[[A\x1b[I\x1b[<0;3;4M\x1b]11;rgb:0/0/0\x07\x1bP1$r\x1b\\\x1b[?1;2cx",
        &["x"],
    ),
    // With the alternate key a letter is no command; Enter stays Enter.
    ("\x1bax\x1b\u{fc}y\x1b\rz", &["x", "y", "Enter", "z"]),
    ("\x1b\x1b", &["Esc", "Esc"]),
    ("\x1b", &["Esc"]),
    (
        "\x1b[200~two\nlines \x1b[A\x1b[201~z",
        &["paste two\nlines \x1b[A", "z"],
    ),
];

#[test]
fn every_sequence_is_its_key_however_it_is_cut() {
    for (text, keys) in KEYS {
        let bytes = text.as_bytes();
        assert_eq!(decoded(&[bytes]), *keys, "{text:?}");
        for cut in 0..bytes.len() {
            let (first, rest) = bytes.split_at(cut);
            assert_eq!(decoded(&[first, rest]), *keys, "{text:?} at {cut}");
        }
    }
}

#[test]
fn the_late_tail_of_a_sequence_types_nothing() {
    for (begun, tail) in [
        ("\x1b[", "A"),
        ("\x1b[1;", "5A"),
        ("\x1bO", "B"),
        ("\x1b", "[A"),
        ("\x1b", "OA"),
    ] {
        let mut decoder = Decoder::default();
        decoder.feed(begun.as_bytes());
        decoder.give_up();
        let before = shortly(&mut decoder);
        assert_eq!(
            before,
            if begun == "\x1b" { vec!["Esc"] } else { vec![] },
            "{begun:?}"
        );
        decoder.feed(tail.as_bytes());
        decoder.feed(b"x");
        assert_eq!(shortly(&mut decoder), ["x"], "{begun:?} {tail:?}");
    }
}

#[test]
fn after_a_sequence_was_given_up_the_next_key_but_one_moment_later_counts() {
    for begun in ["\x1b[", "\x1bO", "\x1b[1;", "\x1b]0;title", "\x1b"] {
        let mut decoder = Decoder::default();
        decoder.feed(begun.as_bytes());
        let mut waits = 0;
        while decoder.patience().is_some() {
            decoder.give_up();
            waits += 1;
        }
        assert!(waits <= 2, "{begun:?}");
        shortly(&mut decoder);
        decoder.feed(b"4A");
        assert_eq!(shortly(&mut decoder), ["4", "A"], "{begun:?}");
    }
}

#[test]
fn a_paste_without_its_end_is_a_paste_and_then_over() {
    let mut decoder = Decoder::default();
    decoder.feed(b"\x1b[200~half a paste");
    assert!(shortly(&mut decoder).is_empty());
    decoder.give_up();
    assert_eq!(shortly(&mut decoder), ["paste half a paste"]);
    decoder.feed(b"\x1b[201~q");
    assert_eq!(shortly(&mut decoder), ["q"]);
}

/// Something that a terminal sends whole, and the keys that it is.
fn drawn(dice: &mut ChaCha8Rng) -> (Vec<u8>, Vec<String>) {
    let number = dice.random_range(0..KEYS.len() + 4);
    if let Some((text, keys)) = KEYS.get(number) {
        let bytes = text.as_bytes().to_vec();
        return (bytes, keys.iter().map(|key| (*key).to_owned()).collect());
    }
    let letter = char::from_u32(dice.random_range(0x20..0x3000)).unwrap_or('x');
    if number == KEYS.len() {
        // A paste of anything but its own end mark.
        let text: String = (0..dice.random_range(0..30))
            .map(|_| ['a', ' ', '\n', '\x1b', '[', '2', '0', letter][dice.random_range(0..8)])
            .collect();
        let text = text.replace("201", "");
        return (
            format!("\x1b[200~{text}\x1b[201~").into_bytes(),
            vec![format!("paste {text}")],
        );
    }
    if letter.is_control() {
        return (b"x".to_vec(), vec!["x".to_owned()]);
    }
    (
        letter.to_string().into_bytes(),
        vec![KeyPress::Char(letter).to_string()],
    )
}

/// Sequences drawn by lot, cut anywhere, with beginnings between them that nothing follows: every whole one is its keys,
/// and a beginning that was given up types nothing but the Escape that it may have been.
fn sequences_drawn_by_lot(seed: u64, count: usize) {
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    let mut decoder = Decoder::default();
    for number in 0..count {
        let (bytes, keys) = drawn(&mut dice);
        // An Escape alone is one only once nothing has followed; a key with the alternate key waits for nothing.
        let waits = bytes.ends_with(&[0x1b]);
        let mut rest = &bytes[..];
        while !rest.is_empty() {
            let (piece, after) = rest.split_at(dice.random_range(1..=rest.len()));
            decoder.feed(piece);
            rest = after;
        }
        let mut got = shortly(&mut decoder);
        if waits {
            decoder.give_up();
            got.extend(shortly(&mut decoder));
            decoder.give_up();
        }
        assert_eq!(got, keys, "seed {seed}, sequence {number}: {bytes:x?}");
        assert_eq!(decoder.patience(), None, "seed {seed}, sequence {number}");
        if dice.random_range(0..4) == 0 {
            let begun = [
                "\x1b[", "\x1bO", "\x1b[1;", "\x1b]0;", "\x1bP", "\x1b", "\x1b[<0;",
            ][dice.random_range(0..7)];
            decoder.feed(begun.as_bytes());
            assert!(decoder.patience().is_some(), "{begun:?}");
            while decoder.patience().is_some() {
                decoder.give_up();
            }
            let typed = shortly(&mut decoder);
            let escape: &[&str] = if begun == "\x1b" { &["Esc"] } else { &[] };
            assert_eq!(typed, escape, "seed {seed}, sequence {number}: {begun:?}");
        }
    }
}

#[test]
fn sequences_drawn_by_lot_are_their_keys_however_they_are_cut() {
    sequences_drawn_by_lot(20_260_614, 20_000);
}

/// A million and more: `tests/proof/run --full`.
#[test]
#[ignore = "long: for the proof at full size"]
fn a_million_sequences_are_their_keys() {
    for seed in 0..20 {
        sequences_drawn_by_lot(seed, 100_000);
    }
    println!("PROOF 2000000 cases");
}

/// Each byte beyond the longest paste once made all of it be looked through for its end.
#[test]
fn a_paste_beyond_the_longest_is_cut_there_and_ends_at_its_mark() {
    let mut decoder = Decoder::default();
    decoder.feed(b"\x1b[200~");
    let longest = 8 << 20;
    decoder.feed(&vec![b'x'; longest + 300_000]);
    decoder.feed(b"\x1b[20 \x1b\x1b[201~q");
    let got = shortly(&mut decoder);
    assert_eq!(got.len(), 2);
    assert_eq!(got[0].len(), "paste ".len() + longest);
    assert_eq!(got[1], "q");
}
