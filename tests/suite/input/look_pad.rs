//! The look pad's compact text, by example and on any text. The grammar is the project's own.

use chrono::NaiveDate;
use proptest::prelude::*;
use struck::input::look_pad::{BOXES, GUESSES, PadReading, read};
use struck::model::listed::{DiscardReason, Guess, LookMethod};
use struck::model::value::Value;

fn pad(text: &str) -> PadReading {
    let reading = read(text, Some(20), day());
    assert!(
        reading.problems.is_empty(),
        "{text}: {:?}",
        reading.problems
    );
    reading
}

fn day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 6, 14).unwrap()
}

fn boxes(text: &str) -> Vec<u32> {
    pad(text).boxes.iter().map(|n| n.unwrap_or(0)).collect()
}

#[test]
fn plain_numbers_fill_the_boxes_in_order() {
    assert_eq!(boxes("4 3 0 1")[..5], [4, 3, 0, 1, 0]);
    assert_eq!(pad("4 3 0 1").remainder(), Some(12));
    assert_eq!(boxes("1 1 1 1 1 1 1 1 1 1"), [1; 10]);
}

#[test]
fn a_number_and_its_letter_fill_any_box_in_any_order() {
    assert_eq!(boxes("4r 3c 1k")[..4], [4, 3, 0, 1]);
    assert_eq!(boxes("1K3c4R"), boxes("4r 3c 1k"));
    let letters: String = BOXES.iter().map(|one| one.letter).collect();
    assert_eq!(letters, "rcbkwmevox");
    for (at, one) in BOXES.iter().enumerate() {
        assert_eq!(pad(&format!("7{}", one.letter)).boxes[at], Some(7));
    }
    assert_eq!(boxes("4 2w")[..5], [4, 0, 0, 0, 2]);
}

#[test]
fn position_decides_between_a_guess_and_mould() {
    assert_eq!(pad("mr").about, [("rooted", Guess::Most)]);
    assert_eq!(boxes("3m")[5], 3);
    let both = pad("mr 3m hc");
    assert_eq!(
        both.about,
        [("rooted", Guess::Most), ("callused", Guess::Half)]
    );
    assert_eq!(both.lost(), 3);
    assert_eq!(both.remainder(), None);
    assert_eq!(GUESSES.map(|(letter, _)| letter), ['n', 'f', 'h', 'm', 'a']);
}

#[test]
fn pots_and_the_next_look_go_with_it() {
    let reading = pad("18r 18p 2k +14");
    assert_eq!(reading.potted, Some(18));
    assert_eq!(reading.again_on, NaiveDate::from_ymd_opt(2026, 6, 28));
    assert_eq!(reading.remainder(), Some(0));
    assert_eq!(reading.left_on_bench(), Some(0));
    assert!(pad("").boxes.iter().all(Option::is_none));
    assert_eq!(pad("0").boxes[0], Some(0));
}

#[test]
fn more_than_there_are_is_told_and_not_refused() {
    assert_eq!(pad("19r 3k").remainder(), Some(-2));
}

#[test]
fn a_box_filled_twice_and_a_stray_letter_are_problems() {
    for text in [
        "4 3r",
        "4r 4r",
        "4r mr",
        "mr fr",
        "r",
        "4z",
        "mk",
        "+",
        "1 1 1 1 1 1 1 1 1 1 1",
        "9999999",
        "18p 2p",
    ] {
        assert!(!read(text, Some(20), day()).problems.is_empty(), "{text}");
    }
}

#[test]
fn the_look_says_how_and_how_many_were_seen() {
    let number = |n: f64| Value::Number(n);
    let word = |text: &str| Value::Text(text.into());
    let look = pad("4r 1k").look();
    let dead = Value::Map(vec![("blackened".into(), number(1.0))]);
    let expected = vec![
        ("how", word("lift")),
        ("seen", number(19.0)),
        ("rooted", number(4.0)),
        ("lost", dead.clone()),
    ];
    assert_eq!(look, expected);
    assert_eq!(pad("1k").look(), [("how", word("glance")), ("lost", dead)]);
    let tugged = pad("4 t").look();
    assert_eq!(
        tugged,
        [
            ("how", word("tug")),
            ("seen", number(20.0)),
            ("rooted", number(4.0))
        ]
    );
}

#[test]
fn a_letter_by_itself_says_how_or_what_becomes_of_the_rest() {
    assert_eq!(pad("u 2b").how, Some(LookMethod::Under));
    assert_eq!(pad("4 L").how, Some(LookMethod::Lift));
    let potted = pad("4r 18p g");
    assert_eq!(
        (potted.potted, potted.rest),
        (Some(18), Some(DiscardReason::GivenUp))
    );
    assert_eq!(pad("18ps").rest, Some(DiscardReason::Restuck));
    for twice in ["t u", "g s", "t t"] {
        assert!(!read(twice, Some(20), day()).problems.is_empty(), "{twice}");
    }
}

#[test]
fn a_tug_tells_of_roots_alone_and_the_pots_holes_of_the_bottom() {
    assert_eq!(pad("4r t").untold(), [""; 0]);
    assert_eq!(pad("4r 3c t").untold(), ["callused"]);
    assert_eq!(pad("mr u").untold(), ["rooted"]);
    assert_eq!(pad("2b 1k u").untold(), [""; 0]);
    assert_eq!(pad("4r 3c 2b").untold(), [""; 0]);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_read_without_harm(text in ".{0,40}", remain in proptest::option::of(0..1_000_000_u32)) {
        let reading = read(&text, remain, day());
        for (span, _) in &reading.problems {
            prop_assert!(text.get(span.clone()).is_some());
        }
        let _ = (reading.look(), reading.remainder(), reading.left_on_bench());
    }

    #[test]
    fn numbers_with_letters_read_the_same_in_any_order(
        counts in proptest::collection::vec(proptest::option::of(0..100_u32), 10),
        seed in any::<u64>(),
    ) {
        let mut items: Vec<String> = BOXES.iter().zip(&counts)
            .filter_map(|(one, n)| n.map(|n| format!("{n}{}", one.letter))).collect();
        let straight = read(&items.join(" "), None, day());
        let turn = usize::try_from(seed % 10).unwrap();
        if !items.is_empty() {
            let turn = turn % items.len();
            items.rotate_left(turn);
        }
        prop_assert_eq!(&straight.boxes[..], &counts[..]);
        prop_assert_eq!(read(&items.concat(), None, day()), straight);
    }
}
