//! The strip: marks of certain width, one a cutting, shared honestly where there is no room.

use proptest::prelude::*;
use std::collections::HashSet;
use struck::fold::batch::BatchCounts;
use struck::model::composite::Lost;
use struck::model::listed::Cause;
use struck::text::clean::{Charset, width};
use struck::text::strip::{CuttingMark, strip, tally};
use unicode_width::UnicodeWidthChar;

#[test]
fn every_mark_is_one_column_wide_everywhere() {
    // UAX 11: an ambiguous sign is two columns wide in a CJK setting.
    for charset in [Charset::Utf8, Charset::Ascii] {
        let signs: HashSet<char> = CuttingMark::ALL
            .iter()
            .map(|mark| mark.sign(charset))
            .collect();
        assert_eq!(signs.len(), CuttingMark::ALL.len(), "shapes must differ");
        for sign in signs {
            assert_eq!(
                (sign.width(), sign.width_cjk()),
                (Some(1), Some(1)),
                "{sign}"
            );
            assert!(charset == Charset::Utf8 || sign.is_ascii_graphic());
        }
    }
    // The sieve holds back what it should: an ambiguous and a wide sign.
    assert_eq!('▲'.width_cjk(), Some(2));
    assert_eq!('🌱'.width(), Some(2));
    assert_eq!(CuttingMark::Bare.sign(Charset::Ascii), 'i');
}

#[test]
fn with_room_there_is_one_mark_a_cutting() {
    let drawn = strip([3, 2, 4, 5, 0, 0, 2], 40);
    assert_eq!(drawn.text(Charset::Utf8), "ʍʍʍ⋏⋏oooo||||| ¬¬");
    assert_eq!(drawn.text(Charset::Ascii), "MMMAAooooiiiii --");
    assert!(!drawn.scaled);
    assert_eq!(
        strip([0, 1, 0, 1, 2, 1, 1], 40).text(Charset::Ascii),
        "Ai uu _ -"
    );
    assert_eq!(
        strip([0, 0, 0, 0, 4, 0, 0], 40).text(Charset::Ascii),
        "uuuu"
    );
    assert_eq!(strip([0; 7], 40).text(Charset::Ascii), "");
    assert_eq!(strip([1, 2, 3, 4, 5, 6, 7], 0).text(Charset::Ascii), "");
}

#[test]
fn without_room_every_stage_keeps_a_mark() {
    // 200 cuttings, 20 columns, one of them the gap: dues 0.95, 5.70, 11.40, 0.095 and 0.855 of 19.
    let drawn = strip([10, 60, 120, 1, 0, 0, 9], 20);
    assert_eq!(drawn.text(Charset::Ascii), "MAAAAAoooooooooooi -");
    assert!(drawn.scaled);
    let first = drawn.runs[0];
    assert_eq!(
        (first.mark, first.drawn, first.cuttings),
        (CuttingMark::Bottom, 1, 10)
    );
    // Too narrow for gaps; too narrow for every kind.
    assert_eq!(
        strip([9, 9, 9, 9, 0, 0, 9], 5).text(Charset::Ascii),
        "MAoi-"
    );
    assert_eq!(strip([9, 1, 8, 7, 0, 0, 6], 3).text(Charset::Ascii), "Moi");
}

#[test]
fn every_cutting_of_a_batch_is_in_its_tally() {
    let mut lost = Lost::default();
    lost.add(Cause::Blackened, 3);
    lost.add(Cause::Eaten, 1);
    let counts = BatchCounts {
        stuck: 60,
        bench: [10, 9, 8, 7],
        lost,
        given_up: 5,
        potted: 15,
        lost_in_pots: 2,
        ready: 6,
        ready_from_bench: 2,
        finished_on_bench: 2,
        sold: 1,
    };
    let tally = tally(&counts);
    assert_eq!(tally, [7, 8, 9, 10, 17, 5, 4]);
    assert_eq!(tally.iter().sum::<u32>(), counts.stuck);
}

proptest! {
    #[test]
    fn marks_fill_the_columns_and_keep_to_the_shares(
        tally in proptest::array::uniform7(prop_oneof![Just(0u32), 1u32..5, 1u32..1_000_000]), cols in 13usize..200
    ) {
        let drawn = strip(tally, cols);
        let text = drawn.text(Charset::Utf8);
        let gaps = drawn.runs.iter().filter(|run| run.gap).count();
        let marks: usize = drawn.runs.iter().map(|run| run.drawn).sum();
        let total: u64 = tally.iter().map(|n| u64::from(*n)).sum();
        prop_assert_eq!(width(&text), marks + gaps);
        prop_assert!(width(&text) <= cols);
        prop_assert_eq!(drawn.runs.len(), tally.iter().filter(|n| **n > 0).count());
        if drawn.scaled {
            prop_assert_eq!(marks + gaps, cols);
        } else {
            prop_assert_eq!(marks as u64, total);
        }
        // Of two stages the one with more cuttings never has fewer marks.
        for a in &drawn.runs {
            for b in &drawn.runs {
                prop_assert!(a.cuttings <= b.cuttings || a.drawn >= b.drawn);
            }
        }
    }
}
