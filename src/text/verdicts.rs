//! How comparisons, verdicts and their cautions are worded. It decides nothing.

use super::figures::{many, near};
use crate::analysis::trials::answer::{
    ArmPair, Basis, Comparison, ComparisonCaution, DaysApart, Difference, Fact, PermutationTest,
    Strike, WhyLeftOut,
};
use crate::analysis::trials::answer::{Verdict, VerdictKind};
use crate::fold::batch::Milestone;
use crate::model::filter::GroupKey;
use crate::stats::shares::Interval;

/// What a difference is counted in, and how many of it a share or a day makes.
#[derive(Clone, Copy)]
struct Unit {
    one: &'static str,
    several: &'static str,
    scale: f64,
    /// The ways of the sign: below 0, above.
    ways: [&'static str; 2],
    /// Which of them is the better.
    ahead: Ahead,
}

/// What is better.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Ahead {
    More,
    Sooner,
}

const POINTS: Unit = Unit {
    one: "point",
    several: "points",
    scale: 100.0,
    ways: ["fewer", "more"],
    ahead: Ahead::More,
};

const DAYS: Unit = Unit {
    one: "day",
    several: "days",
    scale: 1.0,
    ways: ["sooner", "later"],
    ahead: Ahead::Sooner,
};

impl Unit {
    /// Without sign: whole, or in tenths where whole would hide that it is not 0.
    fn bare(self, value: f64) -> String {
        near(self.scale * value.abs())
    }

    /// The same with its noun: `1 day`, `12 points`.
    fn counted(self, value: f64) -> String {
        let bare = self.bare(value);
        let noun = if bare == "1" { self.one } else { self.several };
        format!("{bare} {noun}")
    }
}

/// How reaching a milestone is said of cuttings in a sentence.
#[must_use]
pub fn reached(milestone: Milestone) -> &'static str {
    match milestone {
        Milestone::Bottom => "with roots at the bottom",
        Milestone::Callus | Milestone::Root => done(milestone),
    }
}

/// The same in few columns, for the head of a table.
#[must_use]
pub fn done(milestone: Milestone) -> &'static str {
    match milestone {
        Milestone::Callus => "callused",
        Milestone::Root => "rooted",
        Milestone::Bottom => "to bottom",
    }
}

/// A p value: `0.031`, `under 0.001`.
#[must_use]
pub fn p(p: f64) -> String {
    if p < 0.001 {
        return "under 0.001".into();
    }
    if p < 0.1 {
        return format!("{p:.3}");
    }
    format!("{p:.2}")
}

/// By what batches are compared, to begin a sentence with.
#[must_use]
pub fn basis(basis: Basis) -> String {
    match basis {
        Basis::AsTheyEnded => "As they ended".to_owned(),
        Basis::ByDay { day, .. } => format!("By day {day}"),
        Basis::Nothing => "Nothing to compare".to_owned(),
    }
}

/// What a verdict is about and how it counts.
struct About<'a> {
    /// How its first sentence begins.
    begins: String,
    unit: Unit,
    /// What is more or fewer, after the count: ` rooted`; nothing for days.
    what: &'a str,
    worth: f64,
}

/// What the figures say of two arms' shares.
#[must_use]
pub fn strike(comparison: &Comparison, pair: &ArmPair, worth: f64) -> String {
    let what = format!(" {}", reached(comparison.milestone));
    let about = About {
        begins: basis(comparison.basis),
        unit: POINTS,
        what: &what,
        worth,
    };
    let Strike {
        difference,
        permutation,
        verdict,
        ..
    } = &pair.strike;
    said(
        comparison,
        pair,
        &about,
        (*difference, *permutation, verdict),
    )
}

/// What the figures say of the days of cuttings that reached the milestone.
#[must_use]
pub fn waited(comparison: &Comparison, pair: &ArmPair, worth: f64) -> String {
    let about = About {
        begins: format!("Of those {}", reached(comparison.milestone)),
        unit: DAYS,
        what: "",
        worth,
    };
    let DaysApart {
        difference,
        permutation,
        verdict,
        ..
    } = &pair.days;
    said(
        comparison,
        pair,
        &about,
        (*difference, *permutation, verdict),
    )
}

fn said(
    comparison: &Comparison,
    pair: &ArmPair,
    about: &About,
    (difference, test, verdict): (Option<Difference>, Option<PermutationTest>, &Verdict),
) -> String {
    let (begins, unit) = (&about.begins, about.unit);
    let Some(apart) = difference else {
        return format!("{begins}, undecided: too few batches of these arms have ended.");
    };
    match verdict.kind {
        VerdictKind::Difference => {
            let range = format!("95 %: {}", inner(apart.alone, unit));
            let seen = ahead(comparison, pair, about, apart);
            format!("{begins}, {seen} ({range}).")
        }
        VerdictKind::NoLargerThan => format!(
            "{begins}, no difference worth having: at most {}, where {} would be worth having.",
            unit.counted(verdict.at_most.unwrap_or(0.0)),
            unit.bare(about.worth)
        ),
        VerdictKind::Undecided => undecided(comparison, pair, about, (apart, test, verdict)),
    }
}

/// Which arm was ahead and by how much: `semi-ripe: 18 points more rooted than softwood, like with like`. Facts that
/// go along with the arms stand beside their names, and that it cannot be told which of them did it.
fn ahead(comparison: &Comparison, pair: &ArmPair, about: &About, apart: Difference) -> String {
    let first_ahead = match about.unit.ahead {
        Ahead::More => apart.value > 0.0,
        Ahead::Sooner => apart.value < 0.0,
    };
    let (ahead, behind) = if first_ahead { (0, 1) } else { (1, 0) };
    let way = about.unit.ways[usize::from(about.unit.ahead == Ahead::More)];
    let arm = |at: usize| {
        let along = pair
            .likeness
            .iter()
            .filter(|it| pair.goes_along.contains(&it.key));
        // The time of year is a caution of its own.
        let along = along.filter(|it| !is_time(it.key));
        let along: Vec<String> = along
            .map(|it| with(it.key, it.commonest[at].as_deref()))
            .collect();
        (pair.names[at].clone(), along)
    };
    let ((first, with_first), (second, with_second)) = (arm(ahead), arm(behind));
    let counted = about.unit.counted(apart.value);
    let what = about.what;
    if with_first.is_empty() {
        let alike = if comparison.strata.len() > 1 {
            ", like with like"
        } else {
            ""
        };
        return format!("{first}: {counted} {way}{what} than {second}{alike}");
    }
    let which = match with_first.len() {
        1 => "which of the two did it cannot be told",
        _ => "which of these did it cannot be told",
    };
    format!(
        "{first}, with {}: {counted} {way}{what} than {second}, with {}; {which}",
        with_first.join(" and "),
        with_second.join(" and ")
    )
}

/// A fact's value after `with`.
fn with(fact: Fact, value: Option<&str>) -> String {
    let Some(value) = value else {
        return format!("no {} recorded", self::fact(fact));
    };
    match fact {
        Fact::Key(GroupKey::Hormone) if value == "none" => "no hormone".to_owned(),
        Fact::Key(GroupKey::Hormone | GroupKey::Medium) => value.to_owned(),
        Fact::Key(_) | Fact::Container => format!("{} {value}", self::fact(fact)),
    }
}

fn is_time(fact: Fact) -> bool {
    let times = [GroupKey::Season, GroupKey::Month, GroupKey::Week];
    matches!(fact, Fact::Key(key) if times.contains(&key))
}

/// The ends of a difference that excludes 0, nearest first, without sign.
fn inner(ends: Interval, unit: Unit) -> String {
    let (low, high) = (ends.low, ends.high);
    let (near, far) = if low > 0.0 { (low, high) } else { (high, low) };
    if far.is_finite() {
        format!("{} to {}", unit.bare(near), unit.bare(far))
    } else {
        format!("{} or more", unit.bare(near))
    }
}

/// From how much less to how much more: `5 points fewer to 20 points more`.
fn reach(ends: Interval, unit: Unit) -> String {
    let end = |end: f64| {
        let way = unit.ways[usize::from(end > 0.0)];
        match end.is_finite() {
            true if unit.bare(end) == "0" => "level".to_owned(),
            true => format!("{} {way}", unit.counted(end)),
            false => format!("any number of {} {way}", unit.several),
        }
    };
    format!("{} to {}", end(ends.low), end(ends.high))
}

fn undecided(
    comparison: &Comparison,
    pair: &ArmPair,
    about: &About,
    (apart, test, verdict): (Difference, Option<PermutationTest>, &Verdict),
) -> String {
    let (begins, unit) = (&about.begins, about.unit);
    let [first, second] = pair.replicates;
    let ends = apart.alone;
    let excludes = ends.low > 0.0 || ends.high < 0.0;
    let mut out = match test {
        Some(test) if test.smallest_p > 1.0 - 1e-9 => {
            format!("{begins}, undecided: every batch came out alike.")
        }
        Some(test) if test.smallest_p > 0.05 + 1e-9 => match (first, second) {
            (1, 1) => format!("{begins}, undecided: one batch each cannot rule out luck."),
            _ => format!(
                "{begins}, undecided: {first} against {} cannot rule out luck.",
                many(second as u64, "batch", "batches")
            ),
        },
        Some(test) if excludes => {
            let among = match comparison.pairs.len() {
                1 => String::new(),
                pairs => format!(" among {pairs} pairs"),
            };
            let seen = ahead(comparison, pair, about, apart);
            let range = inner(ends, unit);
            let p = p(test.p_holm);
            format!("{begins}, undecided: {seen} (95 %: {range}), but p is {p}{among}.")
        }
        _ => format!(
            "{begins}, undecided: {} may be anything from {}{} than {}.",
            pair.names[0],
            reach(apart.interval, unit),
            about.what,
            pair.names[1]
        ),
    };
    // So many as there were already is no advice: among several pairs it takes more than for one.
    let more = verdict.batches_needed;
    if let Some(batches) = more.filter(|&batches| batches as usize > first.min(second)) {
        out.push_str(&format!(
            " If the difference seen is real, about {batches} batches of {} cuttings in each arm would show it.",
            verdict.cuttings
        ));
    }
    out
}

/// What the spread between batches does to tests by the cutting; nothing if it is not known.
#[must_use]
pub fn spread(pair: &ArmPair) -> Option<String> {
    let second = &pair.strike.second_opinions;
    let (icc, effect) = (second.icc?, second.design_effect?);
    let rest = if icc > 0.0 {
        "Batches of one arm differ by more than luck, so that tests of single cuttings sound too sure"
    } else {
        "No sign that batches of one arm differ by more than luck"
    };
    Some(format!(
        "{rest} (correlation {icc:.2}, design effect {effect:.1})."
    ))
}

/// A caution in words.
#[must_use]
pub fn caution(comparison: &Comparison, caution: &ComparisonCaution) -> String {
    let arm = |at: usize| comparison.arms[at].name.as_str();
    match caution {
        ComparisonCaution::TooYoung { arm: at, batches } => format!(
            "{}: {} too young at the last look round its place",
            arm(*at),
            many(*batches as u64, "batch", "batches")
        ),
        ComparisonCaution::StillComing {
            arm: at,
            later,
            ever,
        } => format!(
            "{}: of the {ever:.0} {} in the end, {later:.0} were first seen so after that day",
            arm(*at),
            reached(comparison.milestone)
        ),
        ComparisonCaution::Filled { share, .. } => format!(
            "{:.0} % of the cuttings were between two looks on that day; how many of them were so far is estimated from all arms together",
            100.0 * share
        ),
        ComparisonCaution::AlsoDiffer {
            arms,
            key,
            values,
            goes_along,
        } => {
            let value = |at: usize| values[at].as_deref().unwrap_or("not recorded");
            if values[0] == values[1] {
                let both = format!("mostly {} in both, but not equally often", value(0));
                return format!("{} differs too: {both}", fact(*key));
            }
            let mostly = if *goes_along { "" } else { "mostly " };
            format!(
                "{} differs too: {mostly}{} for {}, {mostly}{} for {}",
                fact(*key),
                value(0),
                arm(arms[0]),
                value(1),
                arm(arms[1])
            )
        }
        ComparisonCaution::TimeOfYear { arms } => format!(
            "{} and {} are taken at different times of the year",
            arm(arms[0]),
            arm(arms[1])
        ),
        ComparisonCaution::OnlyGuesses { arm: at } => {
            format!("all looks at {} were spoken guesses", arm(*at))
        }
        ComparisonCaution::SomeGuesses { batches } => format!(
            "looks at {} were spoken guesses only",
            many(*batches as u64, "batch", "batches")
        ),
        ComparisonCaution::OneReplicate { arm: at } => format!(
            "{}: only one batch, so nobody can tell how far its batches differ",
            arm(*at)
        ),
        ComparisonCaution::Shared {
            arm: at,
            batches,
            replicates,
        } => format!(
            "{}: {batches} batches count as {}, since some are parts of one batch, or cuttings from one source stuck at one place on one day",
            arm(*at),
            replicates
        ),
        ComparisonCaution::TakenAway { cuttings } => format!(
            "{cuttings:.0} cuttings left the bench before anyone could tell whether they would get so far; they are not counted"
        ),
        ComparisonCaution::Rounded => {
            "counts were rounded to whole cuttings for Fisher's test, the CMH tests and the odds ratio"
                .into()
        }
    }
}

fn fact(fact: Fact) -> &'static str {
    match fact {
        Fact::Key(GroupKey::Cut) => "the cut",
        Fact::Key(GroupKey::Piece) => "the piece of the shoot",
        Fact::Key(_) | Fact::Container => fact.word(),
    }
}

/// Why a batch is left out.
#[must_use]
pub fn left_out(reason: &WhyLeftOut) -> String {
    match reason {
        WhyLeftOut::OfAllFigures { why } => why.to_string(),
        WhyLeftOut::NotRecorded { key } => format!("{} not recorded", key.word()),
        WhyLeftOut::NotExamined => "never examined for this".into(),
        WhyLeftOut::Alone { arm, stratum } if stratum.is_empty() => {
            format!("only {arm}: nothing to compare it with")
        }
        WhyLeftOut::Alone { arm, stratum } => {
            format!("{stratum} has only {arm}: nothing to compare it with")
        }
        WhyLeftOut::TooYoung { judged_from, .. } => {
            format!("too young at the last look round its place: judged from day {judged_from} on")
        }
        WhyLeftOut::TooFewEnded => {
            "too few of its kind have ended to tell how long they take".into()
        }
        WhyLeftOut::NotLookedAtLateEnough { judged_from } => {
            format!("old enough, but not looked at after day {judged_from}")
        }
        WhyLeftOut::NotFollowed { to } => format!("not followed to day {to}"),
        WhyLeftOut::TakenAway => "all left the bench before anyone could tell".into(),
    }
}
