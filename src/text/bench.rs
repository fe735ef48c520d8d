//! How a batch on the bench is told of: what was last seen of it in words, and where it comes on a walk. It judges nothing.

use super::dates::Calendar;
use crate::fold::batch::{Batch, BatchCounts, Inspection, Tally};
use crate::model::composite::Lost;
use crate::model::listed::Cause;
use crate::model::text::{folded, split_spot};

/// How many were lost of a cause: `9 blackened`.
#[must_use]
pub fn by_cause((cause, count): (Cause, u32)) -> String {
    format!("{count} {}", cause.word())
}

/// Losses by cause, in the order of the trade: `9 blackened, 3 wilted`.
#[must_use]
pub fn causes(lost: &Lost) -> String {
    let each: Vec<String> = lost.each().map(by_cause).collect();
    each.join(", ")
}

/// What was last seen of a batch, in words, and when.
#[must_use]
pub fn seen_words(batch: &Batch, calendar: Calendar) -> Option<(String, String)> {
    let mut inspections = batch.inspections.iter().rev();
    let (words, day) = inspections.find_map(|it| seen(it, &batch.counts))?;
    let when = if day == calendar.today {
        "today".to_owned()
    } else {
        calendar.day(day)
    };
    Some((words, when))
}

/// What an inspection saw, most advanced first; nothing if it saw nothing worth a word.
fn seen(inspection: &Inspection, now: &BatchCounts) -> Option<(String, chrono::NaiveDate)> {
    let tally = inspection.tally.as_ref();
    let counted = tally.map(|tally| counted(tally, inspection.remain_at_tally, now));
    let lost = inspection.lost.each().map(by_cause);
    let parts: Vec<String> = counted.into_iter().chain(lost).collect();
    (!parts.is_empty()).then(|| (parts.join(", "), inspection.day))
}

/// What a tally of so many that remained tells of those that stand here now.
fn counted(tally: &Tally, remained: u32, now: &BatchCounts) -> String {
    // Of what was counted some may have been potted since: what is told is what still stands here. Of a part, or of
    // guesses, that would be reckoned, so what was said then is told.
    let is_counted = tally.seen == remained && tally.about.is_none();
    let [bottom, root, callus] = match is_counted && now.remain() < remained {
        true => [now.bench[3], now.bench[2], now.bench[1]],
        false => by_highest(tally),
    };
    let about = tally.about.unwrap_or_default();
    let highest = [
        (bottom, about.bottom, "at bottom"),
        (root, about.rooted, "rooted"),
        (callus, about.callused, "callused"),
    ];
    let named = highest.into_iter().filter(|(n, ..)| *n > 0);
    // A guess is shown as it was said: the number reckoned from it was counted by nobody.
    let named = named.map(|(n, guess, word)| match guess {
        Some(guess) => format!("{} {word}", guess.word()),
        None => format!("{n} {word}"),
    });
    let named: Vec<String> = named.collect();
    let counts = match named.is_empty() {
        true => "nothing yet".to_owned(),
        false => named.join(", "),
    };
    match tally.seen < remained {
        true => format!("{} seen: {counts}", tally.seen),
        false => counts,
    }
}

/// At the bottom, rooted, callused, each cutting by its highest: a tally has them at or past each milestone.
fn by_highest(tally: &Tally) -> [u32; 3] {
    let bottom = tally.bottom.unwrap_or(0);
    let root = tally.root.unwrap_or(bottom);
    let callus = tally.callus.unwrap_or(root);
    [
        bottom,
        root.saturating_sub(bottom),
        callus.saturating_sub(root),
    ]
}

/// A text cut into letters and numbers, so that they compare as a person counts: numbers before letters.
pub type NaturalOrder = Vec<(u64, Option<char>)>;

/// Where a batch comes on a walk: by place, then by spot, then by code.
#[must_use]
pub fn walking_key(place: &str, code: &str) -> [NaturalOrder; 3] {
    let (place, spot) = split_spot(place);
    [
        natural(place),
        natural(spot.unwrap_or_default()),
        natural(code),
    ]
}

/// A text cut into words and numbers, so that `bench 10` follows `bench 9`.
#[must_use]
pub fn natural(text: &str) -> NaturalOrder {
    let mut parts: NaturalOrder = Vec::new();
    let mut digits = String::new();
    for c in folded(text).chars().chain([' ']) {
        if c.is_ascii_digit() && digits.len() < 18 {
            digits.push(c);
            continue;
        }
        if let Ok(number) = std::mem::take(&mut digits).parse() {
            parts.push((number, None));
        }
        parts.push((u64::MAX, Some(c)));
    }
    parts
}
