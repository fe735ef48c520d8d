//! One season of two people on one journal, told by keys from June to November, and what it wrote, line by line. Each sitting
//! is another day; who enters says so first.

use super::face::{Face, settle};
use super::gallery::at;
use std::sync::Arc;
use tempfile::TempDir;

/// A sitting: its moment, who sits down, the keys, and what must stand on the screen after them.
type Sitting = (&'static str, &'static str, &'static str, &'static str);

const SEASON: &[Sitting] = &[
    // June. Ana sticks two trays alike and one of another plant; the place brings its cover, the hormone is carried over.
    (
        "2026-06-12T08:00",
        "Ana",
        "s24 Weigela florida, softwood, tip, iba 3000 talc, at bench A/1, mist<Enter>s<Enter>",
        "Saved: 24 Weigela florida stuck.",
    ),
    (
        "2026-06-12T09:00",
        "Ana",
        "s40 Philadelphus coronarius, at frame 2, frame<Enter>",
        "Saved: 40 Philadelphus coronarius stuck.",
    ),
    // Ben only looks the trays over: nothing to count.
    (
        "2026-06-19T17:00",
        "Ben",
        "001<Enter>y<Enter>",
        "Saved: 26-001: glance",
    ),
    // A look entered the morning after, with a note.
    (
        "2026-06-27T07:30",
        "Ana",
        "003<Enter>0 6 0 2 yesterday \"thin at the edge<Enter>",
        "6 callused",
    ),
    // July. The power is off over night; it is said as it is, of the whole bench.
    (
        "2026-07-03T06:45",
        "Ben",
        "001npower cut all night<Enter>",
        "Saved: remark bench A",
    ),
    // Ben counts the second tray and enters it on the first.
    (
        "2026-07-06T10:00",
        "Ben",
        "001<Enter>9 6 0 1<Enter>",
        "Saved: 26-001",
    ),
    // Ana sees it and puts it to the right tray in one act.
    (
        "2026-07-06T12:00",
        "Ana",
        "001i@002<Enter>",
        "Saved: of 26-002, not 26-001",
    ),
    // She counts the first tray, with six dead typed for one, and puts it right on the pad.
    (
        "2026-07-07T10:00",
        "Ana",
        "001<Enter>12 4 0 6<Enter>",
        "Saved: 26-001",
    ),
    (
        "2026-07-07T10:05",
        "Ana",
        "001<Enter>=<Backspace><Backspace>1k<Enter>",
        "amended",
    ),
    // Potting: of the first tray 18, the rest given up; of the second 15, the rest stuck again.
    (
        "2026-07-24T14:00",
        "Ben",
        "001p18 g, 9 cm<Enter>",
        "pot 26-001 18",
    ),
    (
        "2026-07-24T14:30",
        "Ben",
        "002p15 s, 9 cm<Enter><Enter>",
        "stick 26-004: 8",
    ),
    // August. Mice, and a dropped tray: an accident, no failed cutting.
    (
        "2026-08-09T08:00",
        "Ana",
        "003nmice<Enter>",
        "Saved: remark frame 2",
    ),
    (
        "2026-08-10T16:00",
        "Ben",
        "003d6, dropped<Enter>",
        "Saved: discard 26-003",
    ),
    // A slip taken back: one undo, one act, though the key is held.
    (
        "2026-08-11T09:00",
        "Ana",
        "003<Enter>30<Enter>uuuuuu",
        "Nothing was entered in this sitting",
    ),
    // September. Plants ready and sold from the tray that is long off the bench: the search opens it all the same.
    (
        "2026-09-20T11:00",
        "Ana",
        "f26-001<Enter>r12<Enter>",
        "Saved: ready 26-001 12",
    ),
    (
        "2026-10-04T15:00",
        "Ben",
        "f26-001<Enter>g10<Enter>",
        "Saved: sold 26-001 10",
    ),
    // November. Plants for next year: what stands in pots is told, the same target twice is asked about.
    (
        "2026-11-10T18:00",
        "Ana",
        "ltarget 60 Weigela florida by 30 Sep 2027",
        "in pots, 2 of them saleable",
    ),
    (
        "2026-11-10T18:05",
        "Ana",
        "ltarget 60 Weigela florida by 30 Sep 2027<Enter>",
        "Saved: target",
    ),
    (
        "2026-11-10T18:10",
        "Ana",
        "ltarget 60 Weigela florida by 30 Sep 2027<Enter>",
        "A target of 60 by 30 Sep 2027 is set already.",
    ),
    // The accidents are found by what they were called.
    (
        "2026-11-12T18:00",
        "Ben",
        "fpower cut",
        "power cut all night",
    ),
    ("2026-11-12T18:05", "Ben", "faccident", "discard 26-003"),
];

/// What the season wrote: day, who, kind and a word of it.
const WRITTEN: &[(&str, &str, &str, &str)] = &[
    ("2026-06-12", "Ana", "stick", "\"batch\":\"26-001\""),
    ("2026-06-12", "Ana", "stick", "\"batch\":\"26-002\""),
    ("2026-06-12", "Ana", "stick", "\"cover\":\"frame\""),
    ("2026-06-19", "Ben", "look", "\"how\":\"glance\""),
    ("2026-06-26", "Ana", "look", "\"note\":\"thin at the edge\""),
    ("2026-07-03", "Ben", "remark", "\"place\":\"bench A\""),
    ("2026-07-06", "Ben", "look", "\"rooted\":9"),
    ("2026-07-06", "Ana", "amend", "\"batch\":\"26-002\""),
    ("2026-07-07", "Ana", "look", "\"lost\":{\"blackened\":6}"),
    ("2026-07-07", "Ana", "amend", "\"lost\":{\"blackened\":1}"),
    ("2026-07-24", "Ben", "pot", "\"count\":18"),
    (
        "2026-07-24",
        "Ben",
        "discard",
        "\"count\":5,\"why\":\"given-up\"",
    ),
    ("2026-07-24", "Ben", "pot", "\"count\":15"),
    (
        "2026-07-24",
        "Ben",
        "discard",
        "\"count\":8,\"why\":\"restuck\"",
    ),
    ("2026-07-24", "Ben", "stick", "\"stuck\":8"),
    ("2026-08-09", "Ana", "remark", "\"place\":\"frame 2\""),
    ("2026-08-10", "Ben", "discard", "\"why\":\"accident\""),
    ("2026-08-11", "Ana", "look", "\"rooted\":30"),
    ("2026-08-11", "Ana", "withdraw", "\"of\":"),
    ("2026-09-20", "Ana", "ready", "\"count\":12"),
    ("2026-10-04", "Ben", "sold", "\"count\":10"),
    ("2026-11-10", "Ana", "target", "\"count\":60"),
];

#[test]
fn a_season_of_two_people_is_entered_by_keys_and_stands_in_the_journal_line_by_line() {
    let folder = Arc::new(TempDir::new().unwrap());
    settle(&folder, None);
    for (when, who, keys, said) in SEASON {
        let mut face = sitting(&folder, when, who);
        let screen = face.keys(keys).screen();
        let flat = screen.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(said), "{when} {who} {keys}:\n{screen}");
    }
    let face = sitting(&folder, "2026-11-30T09:00", "Ana");
    let lines = face.lines("");
    let written: Vec<&String> = lines.iter().filter(|line| !line.is_empty()).collect();
    assert_eq!(written.len(), WRITTEN.len(), "{written:#?}");
    for (line, (day, who, kind, word)) in written.iter().zip(WRITTEN) {
        for part in [
            format!("\"at\":\"{day}"),
            format!("\"by\":\"{who}\""),
            format!("\"kind\":\"{kind}\""),
            (*word).to_owned(),
        ] {
            assert!(line.contains(&part), "{part} in {line}");
        }
    }
    // The ledger of it: stuck, on the bench, lost, given up, potted, sold; and nothing that does not fit.
    let book = &face.state.common.book;
    assert!(book.faults().is_empty(), "{:?}", book.faults());
    let sums = book.batches().iter().map(|batch| {
        let c = &batch.counts;
        [
            c.stuck,
            c.remain(),
            c.lost.total(),
            c.given_up,
            c.potted,
            c.sold,
        ]
    });
    let sums: Vec<[u32; 6]> = sums.collect();
    assert_eq!(
        sums,
        [
            [24, 0, 1, 5, 18, 10],
            [24, 0, 1, 8, 15, 0],
            [40, 32, 2, 6, 0, 0],
            [8, 8, 0, 0, 0, 0],
        ]
    );
}

/// A new sitting on that moment; who sits down says so.
fn sitting(folder: &Arc<TempDir>, when: &str, who: &str) -> Face {
    let mut face = at(folder, &format!("{when}:00+02:00"));
    face.keys(&format!("b{who}<Enter>"));
    face
}
