//! From the bench to the buyer, and parts of batches, by the rules of the journal's format, version 1.

use crate::support::lines::book;
use std::sync::Arc;
use struck::fold::Book;
use struck::fold::batch::Batch;
use struck::model::fault::BookFault;
use struck::model::listed::Cause;

const STICK: &str = r#"{"id":"s","at":"2026-06-01","kind":"stick","batch":"26-001","taxon":"Weigela","stuck":20,"wood":"softwood","place":"bench A/3","cover":"mist"}"#;

/// A batch of 20 with these entries, each a day later, told by their kind and fields.
fn after(entries: &[&str]) -> Book {
    let mut lines = vec![STICK.to_owned()];
    for (at, fields) in entries.iter().enumerate() {
        let day = at + 2;
        lines.push(format!(
            r#"{{"id":"e{at}","at":"2026-06-{day:02}","batch":"26-001","kind":{fields}}}"#
        ));
    }
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    book(&lines)
}

fn batch(entries: &[&str]) -> Arc<Batch> {
    Arc::clone(&after(entries).batches()[0])
}

fn excess(said: u32, remain: u32) -> BookFault {
    let field = "count".into();
    BookFault::MoreThanRemain {
        field,
        said,
        remain,
    }
}

#[test]
fn pot_takes_the_highest_stage_first() {
    let batch = batch(&[
        r#""look","callused":5,"rooted":3,"bottom":4"#,
        r#""pot","count":6"#,
    ]);
    assert_eq!(batch.counts.bench, [8, 5, 1, 0]);
    assert_eq!(batch.counts.potted, 6);
}

#[test]
fn no_more_can_be_potted_than_remain() {
    let batch = batch(&[r#""pot","count":15"#, r#""pot","count":6"#]);
    assert_eq!(batch.counts.potted, 20);
    assert_eq!(batch.faults, [excess(6, 5)]);
    assert!(!batch.is_open());
}

#[test]
fn discard_counts_by_its_reason() {
    let batch = batch(&[
        r#""discard","count":2,"why":"mould""#,
        r#""discard","count":3,"why":"given-up""#,
        r#""discard","count":1,"why":"surplus""#,
        r#""discard","count":1"#,
    ]);
    assert_eq!(batch.counts.lost.count(Cause::Mould), 2);
    assert_eq!(batch.counts.given_up, 5);
    assert_eq!(batch.faults, [BookFault::DiscardUnexplained]);
}

#[test]
fn ready_comes_from_what_grows_on_in_pots_and_sold_from_what_is_ready() {
    let batch = batch(&[
        r#""pot","count":10"#,
        r#""discard","count":2,"from":"pots","why":"eaten""#,
        r#""ready","count":6"#,
        r#""ready","count":3"#,
        r#""sold","count":7"#,
        r#""sold","count":2"#,
    ]);
    let c = &batch.counts;
    assert_eq!((c.potted, c.lost_in_pots, c.ready, c.sold), (10, 2, 8, 8));
    assert_eq!(
        c.lost.total(),
        0,
        "losses in pots are no losses of the bench"
    );
    assert_eq!(batch.faults, [excess(3, 2), excess(2, 1)]);
}

#[test]
fn plants_ready_in_pots_can_be_discarded_last() {
    let batch = batch(&[
        r#""pot","count":10"#,
        r#""ready","count":6"#,
        r#""discard","count":5,"from":"pots","why":"winter""#,
        r#""sold","count":6"#,
    ]);
    assert_eq!(batch.faults, [excess(6, 5)]);
}

#[test]
fn ready_from_the_bench_leaves_the_bench() {
    let batch = batch(&[
        r#""look","rooted":18"#,
        r#""ready","count":15,"from":"bench""#,
    ]);
    let c = &batch.counts;
    assert_eq!(
        (c.ready, c.ready_from_bench, c.finished_on_bench, c.potted),
        (15, 15, 15, 0)
    );
    assert_eq!(c.bench, [2, 0, 3, 0]);
    assert_eq!(batch.inspections[1].potted, 15);
}

#[test]
fn a_plant_may_hold_several_cuttings() {
    let stick = STICK.replace("\"wood\"", "\"per_plant\":3,\"wood\"");
    let pot = r#"{"id":"p","at":"2026-06-20","kind":"pot","batch":"26-001","count":18}"#;
    let ready = r#"{"id":"r","at":"2026-07-20","kind":"ready","batch":"26-001","count":6}"#;
    let more = r#"{"id":"t","at":"2026-07-21","kind":"ready","batch":"26-001","count":1}"#;
    let book = book(&[&stick, pot, ready, more]);
    assert_eq!(book.batches()[0].counts.ready, 6);
    assert_eq!(book.batches()[0].faults, [excess(1, 0)]);
}

#[test]
fn a_move_of_all_moves_the_batch() {
    let book = after(&[r#""move","place":"frame","cover":"frame","heat_c":18"#]);
    let batch = &book.batches()[0];
    assert_eq!(batch.place.as_deref(), Some("frame"));
    assert_eq!(
        batch.stick.place.as_deref(),
        Some("bench A/3"),
        "the facts at sticking stay"
    );
    assert_eq!(batch.cover.map(|c| c.word()), Some("frame"));
}

#[test]
fn a_part_has_the_parents_facts_and_clock() {
    let book = after(&[
        r#""look","callused":8,"rooted":4"#,
        r#""move","count":10,"into":"26-001b","place":"case""#,
    ]);
    let (parent, part) = (&book.batches()[0], &book.batches()[1]);
    assert_eq!(part.key.to_string(), "e1");
    assert_eq!(part.parent.as_ref(), Some(&parent.key));
    assert_eq!(part.part, Some([4, 4, 2, 0]), "each stage in proportion");
    assert_eq!(parent.counts.bench, [4, 4, 2, 0]);
    assert_eq!(
        (parent.counts.stuck, part.counts.stuck, part.stick.stuck),
        (10, 10, 10)
    );
    assert_eq!(
        (part.stuck_on, part.stick.wood),
        (parent.stuck_on, parent.stick.wood)
    );
    assert_eq!(part.place.as_deref(), Some("case"));
    assert_eq!(part.cover, parent.cover);
    assert_eq!(
        book.batches()
            .iter()
            .filter(|part| part.parent.as_ref() == Some(&parent.key))
            .count(),
        1
    );
}

#[test]
fn a_part_lives_on_by_itself_and_may_be_split_again_the_same_day() {
    let book = book(&[
        STICK,
        r#"{"id":"n","at":"2026-06-08T09:00:00Z","kind":"move","batch":"26-001b","stick":"m","count":4,"into":"26-001c"}"#,
        r#"{"id":"m","at":"2026-06-08T10:00:00Z","kind":"move","batch":"26-001","count":10,"into":"26-001b"}"#,
        r#"{"id":"l","at":"2026-06-11","kind":"look","batch":"26-001b","lost":{"mould":2}}"#,
    ]);
    let remain = |code: &str| book.by_code(code).next().unwrap().counts.remain();
    assert_eq!(
        (remain("26-001"), remain("26-001b"), remain("26-001c")),
        (10, 4, 4)
    );
    assert_eq!(
        book.by_code("26-001b").next().unwrap().inspections[0].age,
        10
    );
    assert!(book.faults().is_empty());
}

#[test]
fn no_part_is_larger_than_what_remains() {
    let book = after(&[
        r#""pot","count":15"#,
        r#""move","count":10,"into":"26-001b""#,
    ]);
    assert_eq!(book.batches()[1].counts.stuck, 5);
    assert_eq!(book.batches()[0].faults, [excess(10, 5)]);
}

#[test]
fn withdrawing_a_move_puts_the_part_back() {
    let book = book(&[
        STICK,
        r#"{"id":"m","at":"2026-06-08","kind":"move","batch":"26-001","count":10,"into":"26-001b"}"#,
        r#"{"id":"l","at":"2026-06-11","kind":"look","batch":"26-001b","stick":"m","lost":{"mould":2}}"#,
        r#"{"id":"w","at":"2026-06-12","kind":"withdraw","of":"m"}"#,
    ]);
    assert_eq!(book.batches().len(), 1);
    assert_eq!(book.batches()[0].counts.remain(), 20);
    assert!(book.faults().is_empty());
}
