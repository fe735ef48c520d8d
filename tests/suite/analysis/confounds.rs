//! What else differs between arms is named when it is to be seen, and only then; seasons are compared to the
//! same day of the year.

use crate::fold::lives::{book_of, entry};
use struck::analysis::trials::answer::{Comparison, ComparisonCaution, Trials};
use struck::analysis::trials::{TrialOptions, compare};
use struck::fold::Book;
use struck::fold::batch::Milestone;
use struck::model::entry::Entry;
use struck::model::filter::GroupKey;
use struck::text::verdicts;

fn compared(book: &Book, by: GroupKey, whole_seasons: bool) -> Trials {
    let options = TrialOptions {
        by: vec![by],
        milestones: vec![Milestone::Root],
        whole_seasons,
        ..TrialOptions::default()
    };
    compare(book, &options, &mut |_, _| true).unwrap()
}

fn root(book: &Book, by: GroupKey) -> Comparison {
    compared(book, by, false).comparisons.remove(0)
}

/// A batch of 20 stuck on a day, and looked at 40 days on; `seen` is the look's tally.
fn batch(out: &mut Vec<Entry>, day: u64, facts: &str, seen: &str) {
    let n = out.len();
    let stick = format!("stick batch=C{n} taxon=Hebe stuck=20 {facts}");
    out.push(entry(&format!("{n:04}a"), day, &stick));
    let look = format!("look batch=C{n} {seen}");
    out.push(entry(&format!("{n:04}b"), day + 40, &look));
}

/// Four batches an arm; the facts and first day of either.
fn two(by: &str, arms: [(&str, &str, u64); 2]) -> Book {
    let mut out = Vec::new();
    for (arm, facts, day) in arms {
        for at in 0..4 {
            let facts = format!("{by}={arm} source=s{at} {facts}");
            batch(&mut out, day + at, &facts, "how=lift rooted=9");
        }
    }
    book_of(&out)
}

fn said(comparison: &Comparison) -> Vec<String> {
    let each = comparison.cautions.iter();
    each.map(|caution| verdicts::caution(comparison, caution))
        .collect()
}

#[test]
fn arms_stuck_at_different_times_of_the_year_are_named() {
    // Day 0 is 1 June, day 61 is 1 August.
    let june = ("softwood", "place=a", 0);
    let comparison = root(
        &two("wood", [june, ("semi-ripe", "place=a", 61)]),
        GroupKey::Wood,
    );
    assert_eq!(
        said(&comparison),
        ["softwood and semi-ripe are taken at different times of the year"]
    );
    // A few days between them are how work goes.
    let comparison = root(
        &two("wood", [june, ("semi-ripe", "place=a", 8)]),
        GroupKey::Wood,
    );
    assert_eq!(said(&comparison), [""; 0]);
}

#[test]
fn arms_at_one_place_each_are_named() {
    let arms = [
        ("softwood", "place=bench", 0),
        ("semi-ripe", "place=frame", 0),
    ];
    let comparison = root(&two("wood", arms), GroupKey::Wood);
    assert_eq!(
        said(&comparison),
        ["place differs too: bench for softwood, frame for semi-ripe"]
    );
    // With one batch elsewhere it is no longer the place alone.
    let mut entries = Vec::new();
    for (wood, place) in [("softwood", "a"), ("softwood", "b"), ("semi-ripe", "b")] {
        let facts = format!("wood={wood} place={place}");
        batch(&mut entries, 0, &facts, "how=lift rooted=9");
    }
    let comparison = root(&book_of(&entries), GroupKey::Wood);
    let differs =
        |caution: &ComparisonCaution| matches!(caution, ComparisonCaution::AlsoDiffer { .. });
    assert!(
        !comparison.cautions.iter().any(differs),
        "{:?}",
        said(&comparison)
    );
}

#[test]
fn what_the_arms_are_is_no_other_difference() {
    // Arms named for their wood, or for the hormone's beginning.
    let arms = [
        ("soft", "trial=t wood=softwood", 0),
        ("semi-ripe", "trial=t wood=semi-ripe", 0),
    ];
    let comparison = root(&two("arm", arms), GroupKey::Arm);
    assert_eq!(said(&comparison), [""; 0]);
    // A name that says nothing of it hides nothing.
    let arms = [
        ("early", "trial=t wood=softwood", 0),
        ("late", "trial=t wood=semi-ripe", 0),
    ];
    let comparison = root(&two("arm", arms), GroupKey::Arm);
    assert_eq!(
        said(&comparison),
        ["wood differs too: softwood for early, semi-ripe for late"]
    );
}

#[test]
fn spoken_guesses_are_named_for_an_arm_and_for_some() {
    let mut entries = Vec::new();
    for (at, seen) in [
        "about.rooted=most",
        "about.rooted=half",
        "how=lift rooted=9",
        "about.rooted=few",
    ]
    .into_iter()
    .enumerate()
    {
        let wood = if at < 2 { "softwood" } else { "semi-ripe" };
        batch(&mut entries, 0, &format!("wood={wood} source=s{at}"), seen);
    }
    let comparison = root(&book_of(&entries), GroupKey::Wood);
    let said = said(&comparison);
    let has = |text: &str| said.iter().any(|line| line == text);
    assert!(has("all looks at softwood were spoken guesses"), "{said:?}");
    assert!(has("looks at 1 batch were spoken guesses only"), "{said:?}");
}

#[test]
fn one_replicate_and_shared_fates_are_named() {
    let mut entries = Vec::new();
    for wood in ["softwood", "softwood", "semi-ripe"] {
        let facts = format!("wood={wood} source=one place=a");
        batch(&mut entries, 0, &facts, "how=lift rooted=9");
    }
    let comparison = root(&book_of(&entries), GroupKey::Wood);
    let said = said(&comparison);
    let has = |text: &str| said.iter().any(|line| line.starts_with(text));
    assert!(
        has("softwood: only one batch, so nobody can tell"),
        "{said:?}"
    );
    assert!(has("softwood: 2 batches count as 1, since"), "{said:?}");
    assert!(
        has("semi-ripe: only one batch, so nobody can tell"),
        "{said:?}"
    );
}

#[test]
fn two_seasons_are_compared_to_the_same_day_of_the_year() {
    // Stuck 1 June of 2026 and 2027. The first was looked at on 1 July and, late, on 30 August; the
    // second is known to 1 July only. To the same day of the year both show 5 of 20.
    let mut entries = Vec::new();
    for (at, first) in [0, 0, 365, 365].into_iter().enumerate() {
        let stick = format!("stick batch=S{at} taxon=Hebe stuck=20 source=s{at}");
        entries.push(entry(&format!("s{at}a"), first, &stick));
        let day = if first < 300 { 30 } else { 395 };
        let look = format!("look batch=S{at} how=lift rooted=5");
        entries.push(entry(&format!("s{at}b"), day, &look));
        if first < 300 {
            let look = format!("look batch=S{at} how=lift rooted=18");
            entries.push(entry(&format!("s{at}c"), 90, &look));
        }
    }
    let book = book_of(&entries);
    let rooted = |trials: &Trials| {
        let arms = trials.comparisons[0].arms.iter();
        arms.map(|arm| (arm.reached.unwrap().value * arm.counted).round() as u32)
            .collect::<Vec<_>>()
    };
    let trials = compared(&book, GroupKey::Season, false);
    assert_eq!(
        trials.same_day.map(|day| day.to_string()),
        Some("2027-07-01".into())
    );
    assert_eq!(rooted(&trials), [10, 10]);
    let names: Vec<&str> = trials.comparisons[0]
        .arms
        .iter()
        .map(|arm| arm.name.as_str())
        .collect();
    assert_eq!(names, ["2026", "2027"]);
    // Whole seasons, if asked for: cut at the horizon alone, which falls into the long interval.
    let whole = compared(&book, GroupKey::Season, true);
    assert_eq!(whole.same_day, None);
}
