//! Damage at every byte: each length that a file may be cut to, and one bit turned over in each byte. No panic,
//! every other line kept, the damaged one named.

use super::twin::Twin;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use struck::journal::append::{AppendOutcome, PriorAppend, Target, append};
use struck::journal::crc::seal;
use struck::journal::reading::{Journal, Refreshed};
use struck::model::fault::Crc;

const FILE: &str = "/j/shed-ann-k3q9.jsonl";
/// Lines of a file that is read anew for each byte of it.
const BLOCK: usize = 20;

fn line(number: usize) -> Vec<u8> {
    let text = match number % 4 {
        0 => format!(
            r#"{{"v":1,"id":"L{number}","at":"2026-06-14T09:{:02}:00+01:00","kind":"climate","place":"bench A","air_c":{}.5,"rh_pct":81}}"#,
            number % 60,
            number % 40
        ),
        1 => format!(
            r#"{{"v":1,"id":"L{number}","at":"2026-06-14","kind":"remark","note":"wet – {number}"}}"#
        ),
        2 => format!(
            r#"{{"v":1,"id":"L{number}","at":"2026-06-14","kind":"stick","batch":"26-{number:03}","taxon":"Weigela florida","stuck":24}}"#
        ),
        _ => format!(
            r#"{{"v":1,"id":"L{number}","at":"2026-06-15","kind":"look","batch":"26-{:03}","rooted":3,"lost":{{"mould":1}}}}"#,
            number - 1
        ),
    };
    seal(text.as_bytes())
}

/// Lines from one number on, each with its newline.
fn block(from: usize) -> Vec<Vec<u8>> {
    (from..from + BLOCK)
        .map(|n| [line(n), b"\n".to_vec()].concat())
        .collect()
}

/// What a file reads as: how often each id stands under a right check value, and how many lines are in doubt.
fn read(twin: &Twin) -> (BTreeMap<String, usize>, usize) {
    let mut journal = Journal::open(Arc::new(twin.clone()), Path::new("/j"), 1).unwrap();
    let (mut sound, mut doubted) = (BTreeMap::new(), 0);
    journal
        .read(&mut |arrival| match (arrival.crc, arrival.entry) {
            (Crc::Right, Ok(entry)) => *sound.entry(entry.id.to_string()).or_insert(0) += 1,
            _ => doubted += 1,
        })
        .unwrap();
    (sound, doubted)
}

fn each_once(sound: &BTreeMap<String, usize>, numbers: impl Iterator<Item = usize>, what: &str) {
    for number in numbers {
        assert_eq!(
            sound.get(&format!("L{number}")),
            Some(&1),
            "line {number}, {what}"
        );
    }
}

/// Cuts a file of these lines at every byte, and appends to what is left.
fn cut_everywhere(from: usize) {
    let lines = block(from);
    let whole = lines.concat();
    let target = Target::in_folder(Path::new("/j"), "shed-ann-k3q9.jsonl", "pid 1 on shed");
    for cut in 0..=whole.len() {
        let what = format!("cut at {cut}");
        let twin = Twin::new();
        twin.put(FILE, &whole[..cut]);
        let mut end = 0;
        // A last line without its newline counts if it is whole.
        let kept = lines.iter().take_while(|it| {
            end += it.len();
            end <= cut + 1
        });
        let kept = kept.count();
        let (sound, doubted) = read(&twin);
        assert_eq!((sound.len(), doubted), (kept, 0), "{what}");
        each_once(&sound, from..from + kept, &what);
        let outcome = append(&twin, &target, &[line(999_999)], PriorAppend::Settled).unwrap();
        assert!(matches!(outcome, AppendOutcome::Saved { .. }), "{what}");
        let (sound, doubted) = read(&twin);
        assert!(doubted <= 1, "{what}: {doubted} lines in doubt");
        each_once(&sound, (from..from + kept).chain([999_999]), &what);
    }
}

/// Turns one bit over in every byte of a file of these lines.
fn flip_everywhere(from: usize) {
    let lines = block(from);
    let whole = lines.concat();
    let mut owners = Vec::new();
    for (number, it) in lines.iter().enumerate() {
        owners.extend(std::iter::repeat_n(number, it.len()));
    }
    for at in 0..whole.len() {
        let mut bytes = whole.clone();
        bytes[at] ^= 1 << (at % 8);
        let what = format!("bit {} of byte {at} turned", at % 8);
        let twin = Twin::new();
        twin.put(FILE, &bytes);
        let (sound, doubted) = read(&twin);
        // Without its newline a line runs into the next; the last has none to run into, and stays whole or waits.
        let (hit, newline) = (owners[at], whole[at] == b'\n');
        let spared = |n: &usize| *n != hit && !(newline && *n == hit + 1);
        each_once(&sound, (0..BLOCK).filter(spared).map(|n| from + n), &what);
        let last = newline && hit + 1 == BLOCK;
        assert!(
            last || !sound.contains_key(&format!("L{}", from + hit)),
            "{what}: passes for sound"
        );
        assert!(last || doubted >= 1, "{what}: nobody is told");
    }
}

#[test]
fn a_file_cut_at_any_byte_keeps_its_whole_lines_and_takes_the_next() {
    cut_everywhere(0);
}

#[test]
fn a_bit_turned_in_any_byte_is_told_and_hides_no_other_line() {
    flip_everywhere(0);
}

#[test]
fn a_file_followed_byte_by_byte_is_what_it_is_when_read_anew() {
    followed(60);
}

/// Every prefix of a long file, by following it as it grows.
fn followed(count: usize) {
    let twin = Twin::new();
    twin.put(FILE, b"");
    let mut journal = Journal::open(Arc::new(twin.clone()), Path::new("/j"), 1).unwrap();
    journal.read(&mut |_| ()).unwrap();
    let mut seen = Vec::new();
    for number in 0..count {
        for byte in [line(number), b"\n".to_vec()].concat() {
            twin.grow(FILE, &[byte]);
            let went = journal
                .refresh(&mut |arrival| {
                    seen.push((arrival.crc, arrival.entry.map(|e| e.id.to_string())))
                })
                .unwrap();
            assert_ne!(went, Refreshed::Reread);
            assert!(seen.len() <= number + 1);
        }
    }
    let wanted: Vec<_> = (0..count)
        .map(|n| (Crc::Right, Ok(format!("L{n}"))))
        .collect();
    assert_eq!(seen, wanted);
}

/// The same over two thousand lines, minutes in a release build: `tests/proof/run --full`.
#[test]
#[ignore = "long: for the proof at full size"]
fn two_thousand_lines_cut_and_turned_at_every_byte() {
    std::thread::scope(|scope| {
        for half in 0..2 {
            scope.spawn(move || {
                for from in (0..2000).step_by(BLOCK).skip(half).step_by(2) {
                    cut_everywhere(from);
                    flip_everywhere(from);
                }
            });
        }
    });
    let bytes: usize = (0..2000).map(|number| line(number).len() + 1).sum();
    println!("PROOF {} cases", 2 * bytes);
}
