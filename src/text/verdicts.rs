//! How comparisons, verdicts and their cautions are worded. It decides nothing.

use super::dates;
use super::figures::{many, near};
use crate::analysis::trials::{
    Caution, Comparison, DaysApart, Difference, Kind, LeftOut, Pair, Strike, Test, Verdict,
};
use crate::fold::batch::Milestone;
use crate::model::filter::GroupKey;

/// What a difference is counted in, and how many of it a share or a day makes.
#[derive(Clone, Copy)]
struct Unit {
    one: &'static str,
    several: &'static str,
    scale: f64,
    /// The ways of the sign: below 0, above.
    ways: [&'static str; 2],
}

const POINTS: Unit = Unit {
    one: "point",
    several: "points",
    scale: 100.0,
    ways: ["fewer", "more"],
};

const DAYS: Unit = Unit {
    one: "day",
    several: "days",
    scale: 1.0,
    ways: ["sooner", "later"],
};

impl Unit {
    /// Without sign: whole, or in tenths where whole would hide that it is not 0.
    fn bare(self, value: f64) -> String {
        near(self.scale * value.abs())
    }

    /// The same with its noun: `1 day`, `12 points`.
    fn of(self, value: f64) -> String {
        let bare = self.bare(value);
        let noun = if bare == "1" { self.one } else { self.several };
        format!("{bare} {noun}")
    }
}

/// How reaching a milestone is said of cuttings.
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

/// What the figures say of two arms' shares.
#[must_use]
pub fn strike(comparison: &Comparison, pair: &Pair, worth: f64) -> String {
    let done = done(comparison.milestone);
    let Strike {
        difference,
        verdict,
        ..
    } = &pair.strike;
    let names = names(comparison, pair);
    let Some(apart) = difference else {
        return "Undecided: the two arms never meet.".into();
    };
    match verdict.kind {
        Kind::Difference => {
            let (better, worse) = if apart.value > 0.0 {
                (names[0], names[1])
            } else {
                (names[1], names[0])
            };
            format!(
                "{better}: {} more {done} than {worse}{} (95 %: {}).",
                POINTS.of(apart.value),
                alike(comparison),
                inner(apart, POINTS)
            )
        }
        Kind::NoLargerThan(far) => format!(
            "No difference worth having: at most {} {done} either way, and {} would be.",
            POINTS.of(far),
            POINTS.bare(worth)
        ),
        Kind::Undecided => undecided(pair, verdict, "Undecided", || {
            let [better, worse] = if apart.value > 0.0 {
                names
            } else {
                [names[1], names[0]]
            };
            let more = POINTS.of(apart.value);
            let like = alike(comparison);
            let seen = format!("{better} had {more} more {done} than {worse}{like}");
            not_alone(comparison, apart, pair.strike.test, POINTS, seen).unwrap_or_else(|| {
                let reach = reach(apart, POINTS);
                format!("{} may be {reach} {done} than {}", names[0], names[1])
            })
        }),
    }
}

/// What the figures say of two arms' days.
#[must_use]
pub fn waited(comparison: &Comparison, pair: &Pair, worth: f64) -> String {
    let DaysApart {
        difference,
        verdict,
        ..
    } = &pair.days;
    let names = names(comparison, pair);
    let Some(apart) = difference else {
        return "Undecided: the two arms never meet.".into();
    };
    match verdict.kind {
        Kind::Difference => {
            let (sooner, later) = if apart.value < 0.0 {
                (names[0], names[1])
            } else {
                (names[1], names[0])
            };
            let said = format!(
                "{sooner}: {} sooner than {later}{} (95 %: {}).",
                DAYS.of(apart.value),
                counted(comparison),
                inner(apart, DAYS)
            );
            match of_reached(comparison, pair, apart) {
                Some(but) => format!("{said} {but}"),
                None => said,
            }
        }
        Kind::NoLargerThan(far) => format!(
            "No difference worth having: at most {} either way, and {} would be.",
            DAYS.of(far),
            DAYS.bare(worth)
        ),
        Kind::Undecided => undecided(pair, verdict, "Undecided on days", || {
            let [sooner, later] = if apart.value < 0.0 {
                names
            } else {
                [names[1], names[0]]
            };
            let counted = counted(comparison);
            let sooner_by = DAYS.of(apart.value);
            let seen = format!("{sooner} was {sooner_by} sooner than {later}{counted}");
            not_alone(comparison, apart, pair.days.test, DAYS, seen).unwrap_or_else(|| {
                let reach = reach(apart, DAYS);
                format!("{} may be {reach} than {}", names[0], names[1])
            })
        }),
    }
}

/// That a difference is taken within strata: the arms' own shares may lie further apart, or nearer.
fn alike(comparison: &Comparison) -> &'static str {
    if comparison.strata.len() > 1 {
        ", like with like"
    } else {
        ""
    }
}

/// Over what days are counted: a cutting that never gets there waits to the end.
fn counted(comparison: &Comparison) -> String {
    let to = comparison
        .horizon
        .map(|day| format!(", all stuck counted to day {day}"));
    to.unwrap_or_default()
}

/// That those that got there were the sooner in the other arm, if they were: the days of all stuck hold how many
/// got there at all.
fn of_reached(comparison: &Comparison, pair: &Pair, apart: &Difference) -> Option<String> {
    let of = |arm: usize| comparison.arms[arm].days.and_then(|days| days.of_reached);
    let [first, second] = [of(pair.arms[0])?, of(pair.arms[1])?];
    let other_way = (first - second) * apart.value < 0.0 && (first - second).abs() >= 1.0;
    let names = names(comparison, pair);
    let (sooner, day, other) = if first < second {
        (names[0], first, second)
    } else {
        (names[1], second, first)
    };
    let done = done(comparison.milestone);
    other_way.then(|| {
        format!("Of those {done}, {sooner} was the sooner: day {day:.0} against {other:.0}.")
    })
}

fn names<'c>(comparison: &'c Comparison, pair: &Pair) -> [&'c str; 2] {
    pair.arms.map(|arm| comparison.arms[arm].name.as_str())
}

/// The ends of a difference that excludes 0, nearest first, without sign.
fn inner(apart: &Difference, unit: Unit) -> String {
    let (low, high) = (apart.interval.low, apart.interval.high);
    let (near, far) = if low > 0.0 { (low, high) } else { (high, low) };
    if far.is_finite() {
        format!("{} to {}", unit.bare(near), unit.bare(far))
    } else {
        format!("{} or more", unit.bare(near))
    }
}

/// From how much less to how much more: `5 points fewer to 20 points more`.
fn reach(apart: &Difference, unit: Unit) -> String {
    let end = |end: f64| {
        let way = unit.ways[usize::from(end > 0.0)];
        match end.is_finite() {
            true if unit.bare(end) == "0" => "level".to_owned(),
            true => format!("{} {way}", unit.of(end)),
            false => format!("any number of {} {way}", unit.several),
        }
    };
    let ends = apart.interval;
    format!("{} to {}", end(ends.low), end(ends.high))
}

/// What was seen of a difference whose interval excludes 0, and why that decides nothing: it does not stand
/// out among so many pairs. Nothing if the interval holds 0.
fn not_alone(
    comparison: &Comparison,
    apart: &Difference,
    test: Option<Test>,
    unit: Unit,
    seen: String,
) -> Option<String> {
    let ends = apart.interval;
    let test = test.filter(|_| ends.low > 0.0 || ends.high < 0.0)?;
    let among = match comparison.pairs.len() {
        1 => String::new(),
        pairs => format!(" among {pairs} pairs"),
    };
    let (range, p) = (inner(apart, unit), p(test.holm));
    Some(format!("{seen} (95 %: {range}), but p is {p}{among}"))
}

fn undecided(pair: &Pair, verdict: &Verdict, word: &str, may: impl Fn() -> String) -> String {
    let [first, second] = pair.replicates;
    let mut out = match verdict.smallest_p {
        Some(smallest) if smallest > 0.05 + 1e-9 => format!(
            "{word}: {first} against {second} replicates cannot tell; even the clearest outcome would have p {}.",
            p(smallest)
        ),
        _ => format!("{word}: {}.", may()),
    };
    // So many as there were already is no advice: among several pairs it takes more than for one.
    let more = verdict.batches_needed;
    if let Some(batches) = more.filter(|&batches| batches as usize > first.min(second)) {
        out.push_str(&format!(
            " A difference of the size seen would take about {batches} batches of {} an arm.",
            verdict.cuttings
        ));
    }
    out
}

/// What the spread between batches does to tests by the cutting; nothing if it is not known.
#[must_use]
pub fn spread(pair: &Pair) -> Option<String> {
    let second = &pair.strike.second;
    let (icc, effect) = (second.icc?, second.design_effect?);
    let rest = if icc > 0.0 {
        "tests by the cutting overstate certainty"
    } else {
        "batches differ no more than chance"
    };
    Some(format!(
        "Between batches: correlation {icc:.2}, design effect {effect:.1}; {rest}."
    ))
}

/// A caution in words.
#[must_use]
pub fn caution(comparison: &Comparison, caution: &Caution) -> String {
    let arm = |at: usize| comparison.arms[at].name.as_str();
    match caution {
        Caution::StillComing {
            arm: at,
            later,
            ever,
        } => format!(
            "{later:.0} of the {ever:.0} {} of {} were first seen so after day {}, to which all are compared: more of it was to come",
            done(comparison.milestone),
            arm(*at),
            comparison.horizon.unwrap_or(0)
        ),
        Caution::StuckApart { arms, days } => {
            let span = |days: [chrono::NaiveDate; 2]| {
                let [from, to] = days.map(dates::day_month);
                if from == to { from } else { format!("{from} to {to}") }
            };
            format!(
                "all {} was stuck {}, all {} {}: the time of year may be what differs",
                arm(arms[0]),
                span(days[0]),
                arm(arms[1]),
                span(days[1])
            )
        }
        Caution::AlsoDiffer { arms, key, values } => format!(
            "{} differs too: {} for all {}, {} for all {}",
            fact(*key),
            values[0],
            arm(arms[0]),
            values[1],
            arm(arms[1])
        ),
        Caution::OnlyGuesses { arm: at } => {
            format!("all looks at {} were spoken guesses", arm(*at))
        }
        Caution::SomeGuesses { batches } => format!(
            "looks at {} were spoken guesses only",
            many(*batches as u64, "batch", "batches")
        ),
        Caution::OneReplicate { arm: at } => format!(
            "{} has one replicate: its spread between batches is unknown",
            arm(*at)
        ),
        Caution::Shared {
            arm: at,
            batches,
            replicates,
        } => format!(
            "{}: {batches} batches count as {}, being parts of one batch or of one taxon, source, place and day",
            arm(*at),
            many(*replicates as u64, "replicate", "replicates")
        ),
        Caution::TakenAway { cuttings } => format!(
            "{cuttings:.0} cuttings were taken away while they waited, and are not counted"
        ),
        Caution::Rounded => {
            "counts were rounded to whole cuttings for Fisher's test, the CMH tests and the odds ratio"
                .into()
        }
        Caution::FallsShort { arms, holds } => format!(
            "{} and {}: with so few replicates and such shares the 95 % interval held in {holds:.0} of 100 simulated trials",
            arm(arms[0]),
            arm(arms[1])
        ),
    }
}

fn fact(key: GroupKey) -> &'static str {
    match key {
        GroupKey::Cut => "the cut",
        GroupKey::Piece => "the piece of the shoot",
        _ => key.word(),
    }
}

/// Why a batch is left out.
#[must_use]
pub fn left_out(reason: &LeftOut) -> String {
    match reason {
        LeftOut::OfFigures(reason) => reason.to_string(),
        LeftOut::NotRecorded(key) => format!("{} not recorded", key.word()),
        LeftOut::NotExamined => "never examined for this".into(),
        LeftOut::Alone { arm, stratum } if stratum.is_empty() => {
            format!("only {arm}: nothing to compare it with")
        }
        LeftOut::Alone { arm, stratum } => {
            format!("{stratum} has only {arm}: nothing to compare it with")
        }
        LeftOut::NotFollowed { to } => format!("not followed to day {to}"),
    }
}
