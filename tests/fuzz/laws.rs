//! What must hold of any bytes whatever: no panic, and what was read is written and read again the same.
//! Each law is a fuzz target of the same name, and is run on seeds and their mutations by the test suite.

use super::IN_TURN;
use super::harm::harm_in;
use super::twin::Twin;
use chrono::{DateTime, FixedOffset, NaiveDate};
use std::path::Path;
use std::sync::{Arc, OnceLock};
use struck::analysis::timeline::{TimelineOptions, timeline};
use struck::app::clock::Clock;
use struck::app::desk::Desk;
use struck::app::vocabulary::vocabulary_of;
use struck::app::writer::Settings;
use struck::fold::interval_rows::interval_rows;
use struck::fold::selection::Selection;
use struck::fold::{Book, Ledger};
use struck::input::bench_line;
use struck::input::bench_line::{Now, Vocabulary, line_of};
use struck::input::logger::LayoutQuestion;
use struck::input::look_pad;
use struck::input::when;
use struck::input::when::DayLean;
use struck::journal::codec::{decode, encode};
use struck::journal::reading::{Journal, Refreshed};
use struck::model::at::At;
use struck::model::entry::Entry;
use struck::model::fault::{Crc, FaultKind};
use struck::model::id::Id;
use struck::model::taxon::Taxon;
use struck::text::clean::{Charset, fit, shown, shown_in};
use struck::text::faults::{explain, name as fault_name, sentence};
use struck::tui::effect::Message;
use struck::tui::terminal::Decoder;

/// Which of so many repetitions of a law an input tries: each, or, where millions of inputs follow, the one that its own
/// bytes tell, so that a finding repeats.
fn turns(bytes: &[u8], of: usize) -> std::ops::Range<usize> {
    if !IN_TURN {
        return 0..of;
    }
    let sum = bytes.iter().fold(0_usize, |sum, byte| {
        sum.wrapping_mul(31).wrapping_add(usize::from(*byte))
    });
    let one = (sum >> 3) % of;
    one..one + 1
}

/// One line of a journal: judged in words, or an entry that is written and read again the same.
pub fn line(bytes: &[u8]) {
    for opens_file in [true, false] {
        let Some(decoded) = decode(bytes, opens_file) else {
            continue;
        };
        match decoded.entry {
            Ok(entry) => again_the_same(&entry),
            Err(fault) => told(&FaultKind::Line(fault)),
        }
    }
}

/// A line typed at the bench: never harm; if it makes an entry, that entry is sound, and said as a line again.
pub fn bench_line(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let now = now();
    let offset_at = |_| *now.offset();
    let moment = Now {
        at: now,
        offset_at: &offset_at,
    };
    let known = known();
    let reading = bench_line::read(text, known, &moment);
    harmless(&shown(&reading.say_back()));
    for problem in &reading.problems {
        harmless(&shown(&problem.sentence()));
    }
    let at = At::Time(now);
    let entry = Entry::from_fields(reading.entry_fields(&at, Some("26-900")), || {
        Id::for_line(0, 1)
    });
    let Some(entry) = entry.ok().filter(|_| reading.is_whole()) else {
        return;
    };
    again_the_same(&Entry {
        id: Id::from_ulid(1),
        ..entry.clone()
    });
    let said = line_of(&entry, known);
    let twice = bench_line::read(&said, known, &moment);
    assert!(!twice.say_back().is_empty(), "{said}");
}

/// A plant's name: read whatever it is, and shown in a form that reads as the same plant.
pub fn name(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let once = Taxon::parse(text);
    let twice = Taxon::parse(&once.shown());
    let said = once.shown();
    assert_eq!(twice.shown(), said);
    assert_eq!(twice.key(), once.key());
    for turn in turns(bytes, 8) {
        let cols = [0, 1, 12, 40][turn / 2];
        let charset = [Charset::Utf8, Charset::Ascii][turn % 2];
        harmless(&fit(&said, cols, charset));
        let _ = struck::text::short::short(&[&once, &twice], cols, charset);
    }
}

/// A day, a time, the look pad's text, and any text on its way to a screen.
pub fn typed(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let now = now();
    for lean in [DayLean::Back, DayLean::Ahead] {
        if let Ok(at) = when::read(text, now, lean, |_| *now.offset()) {
            assert_eq!(At::parse(&at.to_string()), Some(at), "{text:?}");
        }
    }
    let today = now.date_naive();
    for remain in [None, Some(0), Some(24)] {
        let pad = look_pad::read(text, remain, today);
        let _ = (
            pad.lost(),
            pad.staged(),
            pad.remainder(),
            pad.left_on_bench(),
        );
        if pad.problems.is_empty() {
            let _ = pad.counts();
        }
    }
    for charset in [Charset::Utf8, Charset::Ascii] {
        let clean = shown_in(text, charset);
        harmless(&clean);
        assert_eq!(shown_in(&clean, charset), clean);
    }
}

/// Bytes of a terminal: the same keys however they are cut, and fit for the next key whatever came.
pub fn keys(bytes: &[u8]) {
    let decoded = |pieces: &mut dyn Iterator<Item = &[u8]>| {
        let mut decoder = Decoder::default();
        let mut all = Vec::new();
        for piece in pieces {
            decoder.feed(piece);
            all.extend(decoder.messages());
        }
        for _ in 0..3 {
            decoder.give_up();
        }
        assert!(decoder.patience().is_none());
        decoder.feed(b"x");
        all.extend(decoder.messages());
        let mut presses = Vec::new();
        for message in all {
            match message {
                Message::Presses(more) => presses.extend(more.iter().map(ToString::to_string)),
                Message::Paste(text) => presses.push(format!("paste {text}")),
                other => panic!("{other:?}"),
            }
        }
        assert_eq!(presses.last().map(String::as_str), Some("x"));
        presses
    };
    let whole = decoded(&mut std::iter::once(bytes));
    assert_eq!(decoded(&mut bytes.chunks(1)), whole);
}

thread_local! {
    /// A desk without a journal. A survey only reads it, so that no execution leaves anything to the next.
    static DESK: Desk = {
        let settings = Settings {
            journal: "/nowhere/journal".into(),
            named: true,
            state: "/nowhere/state".into(),
            host: "shed".into(),
            user: "ana".into(),
            process: 1,
            threads: 1,
        };
        Desk::open_or_empty(settings, Clock::fixed(now()), &mut |_| ()).unwrap()
    };
}

/// A logger's table: surveyed or refused in words; every row is counted once.
pub fn logger(bytes: &[u8]) {
    match DESK.with(|desk| desk.survey_text(bytes, "bench A", &LayoutQuestion::default())) {
        Ok(survey) => {
            let counted = survey.new + survey.held + survey.empty + survey.bad;
            assert_eq!(counted, survey.rows);
            let _ = survey.doubts();
        }
        Err(failure) => harmless(&shown(&failure.message)),
    }
}

/// Whole files of a journal (parted by the byte FF): read, folded and reckoned without a panic, and the same in
/// any order of files, with a copy beside them, or followed as they grow.
pub fn fold(bytes: &[u8]) {
    let files: Vec<&[u8]> = bytes.split(|&b| b == 0xFF).take(4).collect();
    let book = Arc::new(book_of(&files));
    for fault in book.faults() {
        told(&fault.wrong);
    }
    let options = TimelineOptions {
        resamples: 0,
        ..TimelineOptions::default()
    };
    let _ = timeline(&book, &options, &mut |_, _| true);
    let _ = vocabulary_of(&book, NaiveDate::MAX);
    let plain = answer(&book);
    for turn in turns(bytes, 3) {
        let (other, what) = match turn {
            0 => (grown(&files), "followed while it grew"),
            1 => {
                let turned: Vec<&[u8]> = files.iter().rev().copied().collect();
                (book_of(&turned), "files in another order")
            }
            _ => {
                let doubled: Vec<&[u8]> = files.iter().chain(&files).copied().collect();
                (book_of(&doubled), "a copy of each file beside it")
            }
        };
        assert_eq!(answer(&other), plain, "{what}");
    }
}

/// What a book says, without where its lines stand.
fn answer(book: &Book) -> (Vec<[String; 14]>, Vec<String>) {
    let question = Selection {
        filter: struck::model::filter::Filter::default(),
        again: true,
        as_of: None,
    };
    let rows = interval_rows(book, &question).rows;
    let batches = book.batches().iter();
    let counts = batches.map(|batch| format!("{} {} {:?}", batch.key, batch.code, batch.counts));
    (
        rows.iter().map(|row| row.cells()).collect(),
        counts.collect(),
    )
}

fn disk_of(files: &[&[u8]]) -> Twin {
    let twin = Twin::new();
    for (number, file) in files.iter().enumerate() {
        twin.put(&format!("/j/{number}.jsonl"), file);
    }
    twin
}

fn book_of(files: &[&[u8]]) -> Book {
    let mut journal = Journal::open(Arc::new(disk_of(files)), Path::new("/j"), 1).unwrap();
    let mut ledger = Ledger::new();
    journal.read(&mut |arrival| ledger.add(arrival)).unwrap();
    ledger.book(&journal)
}

/// The book of files that are first seen half written.
fn grown(files: &[&[u8]]) -> Book {
    let halves: Vec<&[u8]> = files.iter().map(|file| &file[..file.len() / 2]).collect();
    let twin = disk_of(&halves);
    let mut journal = Journal::open(Arc::new(twin.clone()), Path::new("/j"), 1).unwrap();
    let mut ledger = Ledger::new();
    journal.read(&mut |arrival| ledger.add(arrival)).unwrap();
    let _ = ledger.book(&journal);
    for (number, file) in files.iter().enumerate() {
        twin.grow(&format!("/j/{number}.jsonl"), &file[file.len() / 2..]);
    }
    let went = journal.refresh(&mut |arrival| ledger.add(arrival)).unwrap();
    if went == Refreshed::Reread {
        ledger = Ledger::new();
        journal.read(&mut |arrival| ledger.add(arrival)).unwrap();
    }
    ledger.book(&journal)
}

fn again_the_same(entry: &Entry) {
    if entry.id.is_line() {
        return;
    }
    let Ok(written) = encode(entry) else {
        return;
    };
    let text = std::str::from_utf8(&written).unwrap();
    assert!(!text.contains(char::is_control), "{text:?}");
    let read = decode(&written, false).unwrap();
    assert_eq!((read.crc, read.entry.as_ref()), (Crc::Right, Ok(entry)));
    assert_eq!(encode(&read.entry.unwrap()).unwrap(), written);
}

/// That a fault can be told: in a sentence, with a meaning and a mend.
fn told(wrong: &FaultKind) {
    harmless(&shown(&sentence(wrong)));
    let held = explain(fault_name(wrong)).unwrap();
    assert!(
        held.meaning.ends_with('.') && held.mend.ends_with(['.', '`']),
        "{}",
        held.name
    );
}

fn harmless(text: &str) {
    assert_eq!(harm_in(text), None);
}

fn now() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-06-30T09:00:00+01:00").unwrap()
}

/// What lines may name: a few batches, places, media.
fn known() -> &'static Vocabulary {
    static KNOWN: OnceLock<Vocabulary> = OnceLock::new();
    KNOWN.get_or_init(|| {
        let lines: &[u8] = br#"{"id":"S1","at":"2026-05-01","kind":"stick","batch":"26-001","taxon":"Weigela florida","stuck":24,"place":"bench A","medium":"bark:perlite 1:1","container":"84 cell tray","source":"hedge"}
{"id":"S2","at":"2026-05-02","kind":"stick","batch":"26-002","taxon":"Lavandula angustifolia 'Hidcote'","stuck":60,"place":"frame","trial":"heat","arm":"warm","by":"Ada"}
{"id":"L1","at":"2026-05-20","kind":"look","batch":"26-001","stick":"S1","rooted":3}
"#;
        vocabulary_of(&Arc::new(book_of(&[lines])), now().date_naive())
    })
}
