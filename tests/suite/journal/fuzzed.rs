//! The laws of the fuzz targets, on their seeds, on what fuzzing once found, and on seeded mutations of both:
//! what a machine without the fuzzer still tries.

use super::laws;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::path::{Path, PathBuf};

/// Mutations of each law's seeds; the law of whole journals takes longer than the others.
const TRIES: usize = 1000;
const TRIES_OF_JOURNALS: usize = 80;
/// Pieces that break readers: JSON's own signs, controls, marks, numbers beyond any type, halves of letters.
const PIECES: [&[u8]; 24] = [
    b"\"",
    b"\\u0000",
    b"\\ud800",
    b"{",
    b"}",
    b"[",
    b",",
    b"\0",
    b"\xff",
    b"\xc2",
    b"\xef\xbb\xbf",
    b"\r\n",
    b"\n",
    b"1e999",
    b"-0",
    b"99999999999999999999",
    b"\xc2\x9b",
    b"\xe2\x80\xae",
    b"\"crc\":\"00000000\"",
    b"null",
    b"\x1b[2J",
    b" ",
    b"'",
    b"=",
];

fn seeds(target: &str) -> Vec<Vec<u8>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut seeds: Vec<Vec<u8>> = Vec::new();
    let listed = root.join(format!("tests/fuzz/seeds/{target}.txt"));
    if let Ok(text) = std::fs::read(listed) {
        let mut each: Vec<Vec<u8>> = text.split(|&b| b == b'\n').map(<[u8]>::to_vec).collect();
        if target == "logger" {
            // A written `\n` stands for a line break within a table.
            let broken = |seed: &Vec<u8>| String::from_utf8_lossy(seed).replace("\\n", "\n");
            each = each.iter().map(|seed| broken(seed).into_bytes()).collect();
        }
        seeds.extend(each);
    }
    let mut folders = vec![root.join(format!("tests/fuzz/found/{target}"))];
    if target == "fold" {
        folders.push(root.join("sample-journals/damaged"));
    }
    let read = |folder: PathBuf| std::fs::read_dir(folder).ok();
    for item in folders.into_iter().filter_map(read).flatten() {
        seeds.push(std::fs::read(item.unwrap().path()).unwrap());
    }
    seeds
}

fn mutated(seeds: &[Vec<u8>], dice: &mut ChaCha8Rng) -> Vec<u8> {
    let mut bytes = seeds[dice.random_range(0..seeds.len())].clone();
    for _ in 0..dice.random_range(1..5) {
        let at = dice.random_range(0..=bytes.len());
        let to = dice.random_range(at..=bytes.len()).min(at + 40);
        match dice.random_range(0..6) {
            0 => bytes.truncate(at),
            1 => drop(bytes.drain(at..to)),
            2 => bytes
                .splice(
                    at..at,
                    PIECES[dice.random_range(0..PIECES.len())].iter().copied(),
                )
                .for_each(drop),
            3 if at < bytes.len() => bytes[at] ^= 1 << dice.random_range(0..8),
            4 => {
                let piece = bytes[at..to].to_vec();
                bytes.splice(at..at, piece).for_each(drop);
            }
            _ => {
                let other = &seeds[dice.random_range(0..seeds.len())];
                let from = dice.random_range(0..=other.len());
                bytes.extend_from_slice(&other[from..]);
            }
        }
    }
    bytes
}

fn holds(target: &str, law: fn(&[u8])) {
    let seeds = seeds(target);
    assert!(seeds.len() > 5, "{target} has seeds");
    seeds.iter().for_each(|bytes| law(bytes));
    let mut dice = ChaCha8Rng::seed_from_u64(20_260_614);
    let tries = if target == "fold" {
        TRIES_OF_JOURNALS
    } else {
        TRIES
    };
    for number in 0..tries {
        let bytes = mutated(&seeds, &mut dice);
        let held = std::panic::catch_unwind(|| law(&bytes));
        assert!(
            held.is_ok(),
            "{target}, mutation {number}: {:?}",
            String::from_utf8_lossy(&bytes)
        );
    }
}

/// A test for each law, and the list of what is held.
macro_rules! hold {
    ($($test:ident: $law:ident,)*) => {
        const HELD: &[&str] = &[$(stringify!($law)),*];
        $(
            #[test]
            fn $test() {
                holds(stringify!($law), laws::$law);
            }
        )*
    };
}

hold! {
    no_line_whatever_does_harm: line,
    no_typed_line_does_harm: bench_line,
    no_name_does_harm: name,
    no_typed_day_or_count_does_harm: typed,
    no_bytes_of_a_terminal_do_harm: keys,
    no_journal_whatever_does_harm: fold,
    no_table_of_a_logger_does_harm: logger,
}

#[test]
fn the_laws_held_here_are_those_that_are_fuzzed() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz");
    let manifest = std::fs::read_to_string(root.join("Cargo.toml")).unwrap();
    let bins = manifest.split("[[bin]]").skip(1);
    let mut targets: Vec<&str> = bins.map(|bin| bin.split('"').nth(1).unwrap()).collect();
    let mut held = HELD.to_vec();
    targets.sort_unstable();
    held.sort_unstable();
    assert_eq!(held, targets);
    for name in held {
        let target = std::fs::read_to_string(root.join(format!("targets/{name}.rs"))).unwrap();
        assert!(target.contains(&format!("laws::{name}(bytes)")), "{name}");
    }
}
