//! Whole sittings by lot: any keys, texts, pastes, sizes, days, other writers, dropped links. Whatever comes, nothing
//! panics, what was acknowledged stands in the journal once and as it was written, and what was being typed is offered
//! again. A seed that fails plays again the same.

use super::face::{Face, journal, presses};
use super::recording::NURSERY;

use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;
use struck::app::desk::Desk;
use struck::model::fault::FaultKind;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;
use struck::tui::effect::Message;
use struck::tui::keys::KeyPress;
use struck::tui::keys::TABLE;
use tempfile::TempDir;

/// Texts that a grower types, slips among them, and what means harm.
const TEXTS: &[&str] = &[
    "001<Enter>",
    "002<Enter>",
    "4 3 0 1<Enter>",
    "4 33 0 1<Enter>",
    "4 33<Enter>=<Enter>",
    "9 t<Enter>",
    "10 2 10p s<Enter><Enter>",
    "12p g<Enter>",
    "s24 Weigela florida, softwood, at bench A<Enter>",
    "s3x<Enter>",
    "s40 Lavandula angustifolia softwod<Enter>",
    "p18 s<Enter><Enter>",
    "m5 frame 2<Enter>",
    "c24.5 82 21<Enter>",
    "tspray, with soap<Enter>",
    "nleaves yellow<Enter>",
    "d2, given up<Enter>",
    "r6<Enter>",
    "g4<Enter>",
    "a14<Enter>",
    "uu",
    "flav<Enter>",
    "llook 001: roted 4<Enter>",
    "ltarget 60 Weigela florida by 30 Sep<Enter>",
    "w<Enter><Enter>3<Enter>",
    "i<Enter>",
    "*weigela<Enter>",
    "26-001: 日本, \u{202e}x\u{1b}[31m é",
];

#[test]
fn whatever_comes_nothing_acknowledged_is_lost_and_nothing_typed_either() {
    let entered: usize = (0..8).map(|seed| sit(seed, 80)).sum();
    // It must not be that nearly all is refused.
    assert!(entered > 8 * 5, "{entered} acts");
}

#[test]
#[ignore = "long: for the proof at full size"]
fn a_thousand_sittings() {
    let seeds = crate::support::proof_seeds(1_000);
    let sittings = seeds.clone().count();
    let entered: usize = seeds.map(|seed| sit(1_000 + seed, 200)).sum();
    println!("PROOF {sittings} cases, {entered} acknowledged, each there once");
}

/// One sitting; how many entries were acknowledged in it.
fn sit(seed: u64, events: usize) -> usize {
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    let folder = journal(NURSERY);
    let mut face = open(&folder);
    let mut files = BTreeMap::new();
    let mut acknowledged = Vec::new();
    for _ in 0..events {
        event(&mut face, &folder, &mut dice);
        if face.ended || dice.random_ratio(1, 25) {
            note(&face, &mut acknowledged);
            face = dropped(face, &folder, seed);
        }
        let screen = face.screen();
        assert!(!screen.trim().is_empty(), "seed {seed}: an empty screen");
        only_grown(&mut files, &folder, seed);
    }
    note(&face, &mut acknowledged);
    let held = files.values().fold(String::new(), |all, text| all + text);
    for id in &acknowledged {
        let times = held.matches(&format!("\"id\":\"{id}\"")).count();
        assert_eq!(times, 1, "seed {seed}: {id}");
    }
    let desk = desk(&folder);
    let bad: Vec<_> = desk
        .faults()
        .into_iter()
        .filter(|fault| matches!(fault.wrong, FaultKind::Line(_) | FaultKind::File(_)))
        .collect();
    assert!(bad.is_empty(), "seed {seed}: {bad:?}");
    acknowledged.len()
}

/// Something happens.
fn event(face: &mut Face, folder: &Arc<TempDir>, dice: &mut ChaCha8Rng) {
    match dice.random_range(0..20) {
        0..=8 => {
            // Mostly from the bench; else into whatever is being typed.
            if dice.random_ratio(2, 3) {
                face.keys("<Esc><Esc><Esc>");
            }
            face.keys(TEXTS.choose(dice).unwrap());
        }
        9..=13 => {
            let key = TABLE.choose(dice).unwrap();
            let press = *key.presses.choose(dice).unwrap();
            face.happen(Message::Presses(vec![press]));
        }
        14 => {
            // A burst at one moment, from the middle of something.
            let all = presses(TEXTS.choose(dice).unwrap());
            let from = dice.random_range(0..all.len());
            face.happen(Message::Presses(all[from..].to_vec()));
        }
        15 => {
            let signs = dice.random_range(0..200);
            let text = TEXTS.choose(dice).unwrap().repeat(8);
            face.happen(Message::Paste(text.chars().take(signs).collect()));
        }
        16 => {
            let size = (dice.random_range(1..=200), dice.random_range(1..=60));
            face.resize(size);
        }
        17 => {
            let days = chrono::Days::new(dice.random_range(0..20));
            let now = face.state.common.now;
            face.happen(Message::Now(now.checked_add_days(days).unwrap()));
        }
        18 => {
            open(folder).keys("ltreat bench A: spray, with soap<Enter>");
            if let Ok(Some(snapshot)) = face.door.refresh() {
                face.happen(Message::Snapshot(snapshot));
            }
        }
        _ => {
            face.happen(Message::Presses(vec![
                KeyPress::Char('é'),
                KeyPress::Left,
                KeyPress::Delete,
            ]));
        }
    }
}

fn open(folder: &Arc<TempDir>) -> Face {
    Face::over(folder, (80, 24), Charset::Utf8, Colours::Sixteen)
}

fn desk(folder: &TempDir) -> Desk {
    super::face::desk(folder, super::face::now())
}

/// The link drops: what was being typed is kept, and something is offered to the next sitting.
fn dropped(face: Face, folder: &Arc<TempDir>, seed: u64) -> Face {
    let typed = face.state.draft().filter(|_| !face.ended);
    drop(face);
    let face = open(folder);
    if let Some(typed) = typed {
        assert!(drafts(folder).contains(&typed), "seed {seed}: {typed:?}");
        assert!(face.state.common.offered.is_some(), "seed {seed}");
    }
    face
}

/// Every draft that lies in the state folder.
fn drafts(folder: &TempDir) -> Vec<String> {
    let state = std::fs::read_dir(folder.path().join("state")).unwrap();
    let drafts = state.map(|own| own.unwrap().path().join("drafts"));
    let files = drafts.filter_map(|folder| std::fs::read_dir(folder).ok());
    let paths = files.flatten().map(|file| file.unwrap().path());
    let each = paths.filter(|path| path.extension().is_some_and(|end| end == "draft"));
    each.map(|path| std::fs::read_to_string(path).unwrap())
        .collect()
}

/// Notes what a sitting was told is saved.
fn note(face: &Face, acknowledged: &mut Vec<String>) {
    let acts = face.state.common.sitting.iter();
    acknowledged.extend(acts.flat_map(|done| done.ids.iter().map(ToString::to_string)));
}

/// Every file begins with what it held before.
fn only_grown(files: &mut BTreeMap<PathBuf, String>, folder: &TempDir, seed: u64) {
    for file in std::fs::read_dir(folder.path().join("journal")).unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_none_or(|end| end != "jsonl") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let before = files.entry(path).or_default();
        assert!(
            text.starts_with(before.as_str()),
            "seed {seed}: a line was changed"
        );
        *before = text;
    }
}
