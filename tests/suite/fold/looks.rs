//! What a look says, by the rules of the journal's format, version 1.

use crate::support::lines::book;
use std::sync::Arc;
use struck::fold::batch::{Batch, Tally};
use struck::model::fault::BookFault;
use struck::model::listed::LookMethod;

/// A batch of 20 with these looks, each a day later, told by their fields.
fn batch(looks: &[&str]) -> Arc<Batch> {
    let dated = looks.iter().zip(2..).map(|(fields, day)| (day, *fields));
    batch_on(&dated.collect::<Vec<_>>())
}

/// The same with looks on these days of the month.
fn batch_on(looks: &[(u32, &str)]) -> Arc<Batch> {
    let mut lines = vec![
        r#"{"id":"s","at":"2026-06-01","kind":"stick","batch":"26-001","taxon":"Weigela","stuck":20}"#
            .to_owned(),
    ];
    for (at, (day, fields)) in looks.iter().enumerate() {
        lines.push(format!(
            r#"{{"id":"l{at}","at":"2026-06-{day:02}","kind":"look","batch":"26-001",{fields}}}"#
        ));
    }
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    Arc::clone(&book(&lines).batches()[0])
}

fn tally(batch: &Batch) -> Tally {
    batch.inspections.last().unwrap().tally.unwrap()
}

fn excess(field: &str, said: u32, remain: u32) -> BookFault {
    let field = field.into();
    BookFault::MoreThanRemain {
        field,
        said,
        remain,
    }
}

#[test]
fn a_lift_examines_all_stages_and_absent_ones_are_none() {
    let batch = batch(&[r#""how":"lift","callused":5,"rooted":3"#]);
    let tally = tally(&batch);
    assert_eq!(
        (tally.callus, tally.root, tally.bottom),
        (Some(8), Some(3), Some(0))
    );
    assert_eq!(batch.counts.bench, [12, 5, 3, 0]);
}

#[test]
fn a_tug_examines_only_root() {
    let batch = batch(&[
        r#""callused":5,"rooted":3"#,
        r#""how":"tug","rooted":6,"callused":9"#,
    ]);
    let tally = tally(&batch);
    assert_eq!(
        (tally.callus, tally.root, tally.bottom),
        (None, Some(6), None)
    );
    assert_eq!(batch.counts.bench, [12, 2, 6, 0]);
}

#[test]
fn under_examines_only_the_bottom() {
    let batch = batch(&[r#""callused":5,"rooted":3"#, r#""how":"under","bottom":4"#]);
    let tally = tally(&batch);
    assert_eq!(
        (tally.callus, tally.root, tally.bottom),
        (None, None, Some(4))
    );
    assert_eq!(batch.counts.bench, [12, 4, 0, 4]);
}

#[test]
fn a_glance_says_nothing_but_what_was_lost() {
    let batch = batch(&[r#""rooted":3"#, r#""how":"glance","lost":{"blackened":2}"#]);
    assert_eq!(batch.inspections[1].tally, None);
    assert_eq!(batch.inspections[1].how, Some(LookMethod::Glance));
    assert_eq!(batch.counts.bench, [15, 0, 3, 0]);
}

#[test]
fn without_how_any_count_makes_a_lift_and_none_a_glance() {
    for fields in [
        r#""seen":20"#,
        r#""rooted":0"#,
        r#""about":{"rooted":"few"}"#,
    ] {
        assert_eq!(tally(&batch(&[fields])).how, LookMethod::Lift);
    }
    let glance = batch(&[r#""lost":{"mould":1}"#]);
    assert_eq!(glance.inspections[0].how, Some(LookMethod::Glance));
}

#[test]
fn seen_absent_is_all_that_remain_after_the_losses_of_the_look() {
    let batch = batch(&[r#""rooted":3,"lost":{"wilted":4}"#]);
    assert_eq!(tally(&batch).seen, 16);
    assert_eq!(batch.inspections[0].remain_at_tally, 16);
    assert_eq!(batch.counts.bench, [13, 0, 3, 0]);
}

#[test]
fn a_sample_stands_for_all_that_remain() {
    let batch = batch(&[r#""seen":10,"callused":4,"rooted":1"#]);
    assert_eq!(batch.counts.bench, [10, 8, 2, 0]);
    assert_eq!((tally(&batch).seen, tally(&batch).callus), (10, Some(5)));
}

#[test]
fn tallies_over_seen_are_taken_highest_stage_first() {
    let batch = batch(&[r#""seen":10,"callused":6,"rooted":8"#]);
    assert_eq!(tally(&batch).root, Some(8));
    assert_eq!(tally(&batch).callus, Some(10));
    assert_eq!(batch.faults, [excess("callused", 6, 2)]);
}

#[test]
fn more_seen_than_remain_is_clamped() {
    let batch = batch(&[r#""seen":30,"rooted":25"#]);
    assert_eq!(tally(&batch).seen, 20);
    assert_eq!(
        batch.faults,
        [excess("seen", 30, 20), excess("rooted", 25, 20)]
    );
}

#[test]
fn a_look_at_none_says_nothing_of_stages() {
    let batch = batch(&[r#""rooted":3"#, r#""seen":0"#]);
    assert_eq!(batch.inspections[1].tally, None);
    assert_eq!(batch.counts.bench, [17, 0, 3, 0]);
}

#[test]
fn guesses_are_read_in_the_middle_of_their_bands() {
    // few 1–30 %, half 30–70 %, most 70–95 %: the middles are 15.5, 50 and 82.5 % of 200.
    let read = |stuck: u32| {
        ["none", "few", "half", "most", "all"].map(|guess| {
            let stick = format!(
                r#"{{"id":"s","at":"2026-06-01","kind":"stick","batch":"1","taxon":"Weigela","stuck":{stuck}}}"#
            );
            let look = format!(
                r#"{{"id":"l","at":"2026-06-20","kind":"look","batch":"1","about":{{"rooted":"{guess}"}}}}"#
            );
            tally(&book(&[&stick, &look]).batches()[0]).root
        })
    };
    assert_eq!(read(200), [0, 31, 100, 165, 200].map(Some));
    assert_eq!(read(2), [0, 1, 1, 2, 2].map(Some));
}

#[test]
fn a_batch_that_rests_on_guesses_says_so() {
    let spoken = batch(&[r#""about":{"rooted":"half"},"callused":3"#]);
    assert!(spoken.rests_on_guesses());
    assert_eq!(
        (tally(&spoken).root, tally(&spoken).callus),
        (Some(10), Some(13))
    );
    assert!(!batch(&[r#""rooted":10"#]).rests_on_guesses());
}

#[test]
fn lost_takes_the_lowest_stage_first() {
    let batch = batch(&[r#""callused":5,"rooted":12"#, r#""lost":{"mould":5}"#]);
    assert_eq!(batch.counts.bench, [0, 3, 12, 0]);
}

#[test]
fn more_lost_than_remain_is_clamped_and_a_fault_until_amended() {
    let stick = r#"{"id":"s","at":"2026-06-01","kind":"stick","batch":"26-001","taxon":"Weigela","stuck":24}"#;
    let look = r#"{"id":"l","at":"2026-06-09","kind":"look","batch":"26-001","lost":{"blackened":20,"mould":6}}"#;
    let mend = r#"{"id":"a","at":"2026-06-10","kind":"amend","of":"s","set":{"stuck":26}}"#;
    let before = book(&[stick, look]);
    assert_eq!(before.batches()[0].faults, [excess("lost.mould", 6, 4)]);
    assert_eq!(before.batches()[0].counts.lost.total(), 24);
    assert_eq!(before.faults()[0].batch.as_deref(), Some("26-001"));
    let after = book(&[stick, look, mend]);
    assert!(after.faults().is_empty());
    assert_eq!(after.batches()[0].counts.lost.total(), 26);
}

#[test]
fn entries_of_one_day_make_one_inspection() {
    let book = book(&[
        r#"{"id":"s","at":"2026-06-01","kind":"stick","batch":"26-001","taxon":"Weigela","stuck":20}"#,
        r#"{"id":"a","at":"2026-06-09T08:00:00+02:00","kind":"look","batch":"26-001","rooted":3,"lost":{"mould":1}}"#,
        r#"{"id":"b","at":"2026-06-09T18:00:00+02:00","kind":"look","batch":"26-001","rooted":5,"lost":{"mould":2,"eaten":1}}"#,
        r#"{"id":"c","at":"2026-06-09T19:00:00+02:00","kind":"pot","batch":"26-001","count":4}"#,
        r#"{"id":"d","at":"2026-06-09T20:00:00+02:00","kind":"discard","batch":"26-001","count":2,"why":"surplus"}"#,
    ]);
    let inspections = &book.batches()[0].inspections;
    assert_eq!(inspections.len(), 1);
    let day = &inspections[0];
    assert_eq!((day.lost.total(), day.potted, day.remain), (4, 4, 10));
    assert_eq!(day.tally.unwrap().root, Some(5));
    assert_eq!(day.remain_at_tally, 16);
    assert_eq!(day.discarded.iter().map(|(_, n)| n).sum::<u32>(), 2);
}

#[test]
fn fewer_than_before_is_backwards_unless_lost() {
    let fell = batch(&[r#""rooted":8"#, r#""rooted":6"#, r#""rooted":6"#]);
    let backwards = |milestone| BookFault::Backwards {
        milestone,
        expected: 8,
        seen: 6,
    };
    assert_eq!(
        fell.faults,
        [backwards("callus"), backwards("root")],
        "told once"
    );
    let died = batch(&[r#""rooted":8"#, r#""rooted":6,"lost":{"mould":2}"#]);
    assert_eq!(died.faults, []);
    let sampled = batch(&[r#""rooted":8"#, r#""seen":10,"rooted":2"#]);
    assert_eq!(sampled.faults, [], "a sample may differ by chance");
}

#[test]
fn another_look_of_the_day_puts_the_first_right_also_of_what_goes_backwards() {
    let faults = |looks: &[(u32, &str)]| batch_on(looks).faults.len();
    // The first look of the day was the slip.
    let slip = [
        (10, r#""rooted":10"#),
        (10, r#""rooted":8"#),
        (12, r#""rooted":8"#),
    ];
    assert_eq!(faults(&slip), 0);
    let slip = [
        (10, r#""rooted":8"#),
        (12, r#""rooted":6"#),
        (12, r#""rooted":8"#),
    ];
    assert_eq!(faults(&slip), 0);
    // What it found dead is not put right, and accounts for what is missing.
    let died = [
        (10, r#""rooted":8"#),
        (12, r#""rooted":8,"lost":{"mould":2}"#),
        (12, r#""rooted":6"#),
    ];
    assert_eq!(faults(&died), 0);
    // What a look before a potting of that day told stands.
    let told = book(&[
        r#"{"id":"s","at":"2026-06-01","kind":"stick","batch":"26-001","taxon":"Weigela","stuck":20}"#,
        r#"{"id":"a","at":"2026-06-05","kind":"look","batch":"26-001","rooted":10}"#,
        r#"{"id":"b","at":"2026-06-09T08:00:00Z","kind":"look","batch":"26-001","rooted":6}"#,
        r#"{"id":"c","at":"2026-06-09T09:00:00Z","kind":"pot","batch":"26-001","count":5}"#,
        r#"{"id":"d","at":"2026-06-09T10:00:00Z","kind":"look","batch":"26-001","rooted":1}"#,
        r#"{"id":"e","at":"2026-06-09T11:00:00Z","kind":"look","batch":"26-001","rooted":1}"#,
    ]);
    let faults = &told.batches()[0].faults;
    let fell = |it: &&BookFault| {
        matches!(
            it,
            BookFault::Backwards {
                milestone: "root",
                ..
            }
        )
    };
    assert_eq!(faults.iter().filter(fell).count(), 1, "{faults:?}");
    let faults = |looks: &[(u32, &str)]| batch_on(looks).faults.len();
    // The last look of the day is the slip.
    let slip = [
        (10, r#""rooted":8"#),
        (12, r#""rooted":8"#),
        (12, r#""rooted":6"#),
    ];
    assert_eq!(faults(&slip), 2);
}

#[test]
fn look_again_stands_until_the_next_look() {
    let asked = batch(&[r#""rooted":1,"again_on":"2026-06-20""#]);
    assert_eq!(asked.again_on.unwrap().to_string(), "2026-06-20");
    let looked = batch(&[r#""rooted":1,"again_on":"2026-06-20""#, r#""rooted":2"#]);
    assert_eq!(looked.again_on, None);
}
