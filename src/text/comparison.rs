//! A comparison told in full, as a table and sentences. It decides nothing and computes no figure.

use super::clean::wrap;
use super::clean::{Charset, shown_in};
use super::figures::{near, percent_range};
use super::table::{Column, table};
use super::verdicts;
use crate::analysis::trials::answer::{
    Arm, ArmPair, Basis, Comparison, Difference, PermutationTest, Trials,
};
use std::collections::BTreeMap;

/// What there is to write on.
#[derive(Clone, Copy, Debug)]
pub struct Room {
    /// Columns.
    pub columns: usize,
    /// Characters that may be shown.
    pub charset: Charset,
}

/// All that a comparison says, in lines that fit, each ended by a newline.
#[must_use]
pub fn text(room: Room, answer: &Trials) -> String {
    let each = answer.comparisons.iter();
    let parts: Vec<String> = each.map(|it| comparison(room, answer, it)).collect();
    parts.join("\n")
}

/// Text in lines that fit, the first set in by so much, the rest by two more.
fn lines(room: Room, set_in: usize, text: &str) -> String {
    let cols = room.columns.saturating_sub(set_in + 2);
    let broken = wrap(text, cols, room.charset);
    let mut out = String::new();
    for (at, line) in broken.iter().enumerate() {
        let gap = " ".repeat(set_in + if at > 0 { 2 } else { 0 });
        out.push_str(&format!("{gap}{line}\n"));
    }
    out
}

fn comparison(room: Room, answer: &Trials, it: &Comparison) -> String {
    let mut out = lines(room, 0, &heading(answer, it));
    if it.arms.iter().any(|arm| arm.replicates > 0) {
        out.push_str(&arms(room, it));
    }
    for pair in &it.pairs {
        out.push('\n');
        out.push_str(&self::pair(room, answer, it, pair));
    }
    for caution in &it.cautions {
        let said = format!("! {}", verdicts::caution(it, caution));
        out.push_str(&lines(room, 0, &said));
    }
    out.push_str(&left_out(room, it));
    out
}

/// The answer with its verdicts in words, as its JSON gives them.
#[must_use]
pub fn worded(mut answer: Trials) -> Trials {
    let settings = answer.settings;
    for it in &mut answer.comparisons {
        let words = |pair: &ArmPair| {
            [
                verdicts::strike(it, pair, settings.worth_strike),
                verdicts::waited(it, pair, settings.worth_days),
            ]
        };
        let all: Vec<[String; 2]> = it.pairs.iter().map(words).collect();
        for (pair, [strike, days]) in it.pairs.iter_mut().zip(all) {
            pair.strike.verdict.text = strike;
            pair.days.verdict.text = days;
        }
    }
    answer
}

/// What is compared, how, within what.
#[must_use]
pub fn heading(answer: &Trials, it: &Comparison) -> String {
    let done = verdicts::reached(it.milestone);
    if it.pairs.is_empty() {
        return format!("{done}: nothing to compare, since no taxon stands in two arms.");
    }
    let how = match it.basis {
        Basis::AsTheyEnded | Basis::Nothing => "as they ended".to_owned(),
        Basis::ByDay { day, asked: true } => format!("by day {day}"),
        Basis::ByDay { day, asked: false } => {
            format!("by day {day}, since too few batches have ended")
        }
    };
    let within: Vec<&str> = answer.within.iter().map(|key| key.word()).collect();
    let strata = match (within.is_empty(), it.strata.len()) {
        (true, _) | (_, 1) => String::new(),
        (_, n) => format!(
            ", like with like by {} ({n} groups): the shares of whole arms may differ by more or less",
            within.join(" and ")
        ),
    };
    let to = answer.same_day.map_or_else(String::new, |day| {
        format!(", seasons seen to {}", crate::text::dates::day_month(day))
    });
    format!("{done}, {how}{strata}{to}")
}

/// What is said beneath the arms on a screen, the weightiest first; true before what is to be borne in mind.
/// `pair` is the one that the verdicts are about.
#[must_use]
pub fn lines_below(
    answer: &Trials,
    it: &Comparison,
    pair: Option<&ArmPair>,
) -> Vec<(String, bool)> {
    let mut out = Vec::new();
    if let Some(pair) = pair {
        out.push((
            verdicts::strike(it, pair, answer.settings.worth_strike),
            false,
        ));
        out.push((
            verdicts::waited(it, pair, answer.settings.worth_days),
            false,
        ));
    }
    let cautions = it.cautions.iter();
    let about = cautions.filter(|caution| pair.is_none_or(|pair| caution.is_about(pair.arms)));
    out.extend(about.map(|caution| (format!("! {}", verdicts::caution(it, caution)), true)));
    out.push((heading(answer, it), false));
    if let Some(pair) = pair {
        let apart = apart(pair.strike.difference, pair.strike.permutation, POINTS);
        let names = &pair.names;
        out.push((format!("{} less {}: {apart}.", names[0], names[1]), false));
        let apart = self::apart(pair.days.difference, pair.days.permutation, DAYS);
        out.push((format!("Days: {apart}."), false));
        out.extend(rest(pair).into_iter().map(|line| (line, false)));
    }
    out
}

/// A scale of differences: how many of the unit make 1, and its name.
const POINTS: (f64, &str) = (100.0, "points");
const DAYS: (f64, &str) = (1.0, "days");

/// What other tests say of a pair, the spread between batches, whether the groups of like batches agree.
fn rest(pair: &ArmPair) -> Vec<String> {
    let mut out = vec![by_the_cutting(pair)];
    out.extend(verdicts::spread(pair));
    out.extend(pair.strike.homogeneity.map(|q| {
        let differ = if q.p > 0.05 {
            "No sign that the difference is not the same in all groups of like batches"
        } else {
            "The difference is not the same in all groups of like batches"
        };
        format!("{differ}: Q {:.1}, p {}.", q.chi2, verdicts::p(q.p))
    }));
    out
}

fn arms(room: Room, it: &Comparison) -> String {
    let columns = [
        Column::text("arm"),
        Column::number("batches").dropping(2),
        Column::number("count as").dropping(3),
        Column::number("stuck").dropping(1),
        Column::number(&format!("{} %", verdicts::done(it.milestone))),
        Column::number("days"),
        Column::number("tray days each").dropping(4),
    ];
    let row = |arm: &Arm| {
        let days = |days: Option<f64>| days.map_or_else(String::new, |it| format!("{it:.0}"));
        vec![
            arm.name.clone(),
            arm.batches.len().to_string(),
            arm.replicates.to_string(),
            arm.stuck.to_string(),
            arm.reached.map_or_else(String::new, |share| {
                percent_range(share.value, share.interval.low, share.interval.high)
            }),
            days(arm.days.map(|it| it.value)),
            days_or_tenths(arm.tray_days_each),
        ]
    };
    let rows: Vec<Vec<String>> = it.arms.iter().map(row).collect();
    table(&columns, &rows, room.columns, room.charset)
}

/// Whole days, or tenths of a day under ten.
fn days_or_tenths(days: Option<f64>) -> String {
    days.map_or_else(String::new, |days| match days {
        few if few < 10.0 => format!("{few:.1}"),
        many => format!("{many:.0}"),
    })
}

fn pair(room: Room, answer: &Trials, it: &Comparison, pair: &ArmPair) -> String {
    let settings = &answer.settings;
    let [first, second] = &pair.names;
    let mut out = lines(room, 0, &format!("{first} less {second}"));
    let (strike, days) = (&pair.strike, &pair.days);
    let said = [
        apart(strike.difference, strike.permutation, POINTS),
        verdicts::strike(it, pair, settings.worth_strike),
        apart(days.difference, days.permutation, DAYS),
        verdicts::waited(it, pair, settings.worth_days),
    ];
    for said in said.into_iter().chain(rest(pair)) {
        out.push_str(&lines(room, 2, &said));
    }
    out
}

/// A difference with its interval and test: `-33 points (-45 to -20), p 0.008 in all 252 ways to share out the batches`.
fn apart(
    difference: Option<Difference>,
    test: Option<PermutationTest>,
    (scale, unit): (f64, &str),
) -> String {
    let (Some(it), Some(test)) = (difference, test) else {
        return format!("too few {unit} to compare");
    };
    let signed = |value: f64| match near(scale * value) {
        minus if minus.starts_with('-') => minus,
        none if none == "0" => none,
        plus => format!("+{plus}"),
    };
    let end = |end: f64| match end.is_finite() {
        true => signed(end),
        false => "?".into(),
    };
    let (low, high) = (end(it.interval.low), end(it.interval.high));
    let ways = test.arrangements;
    let how = if test.exact { "over all" } else { "over" };
    let drawn = if test.exact { "" } else { " drawn by lot" };
    let holm = if test.p_holm > test.p {
        format!(" ({} by Holm)", verdicts::p(test.p_holm))
    } else {
        String::new()
    };
    format!(
        "{} {unit} ({low} to {high}), p {}{holm} {how} {ways} ways to share out the batches{drawn}",
        signed(it.value),
        verdicts::p(test.p)
    )
}

fn by_the_cutting(pair: &ArmPair) -> String {
    let second = &pair.strike.second_opinions;
    let mut parts = Vec::new();
    let mut say = |what: &str, p: Option<f64>| {
        parts.extend(p.map(|p| format!("{what} p {}", verdicts::p(p))));
    };
    say("Fisher", second.fisher_p);
    say("CMH", second.cmh.map(|it| it.p));
    say("CMH corrected", second.cmh_corrected.map(|it| it.p));
    say("days' scores", pair.days.score_test.map(|it| it.p));
    if let Some(ratio) = second.mh_odds_ratio {
        parts.push(format!("odds ratio {ratio:.2}"));
    }
    format!("By the cutting: {}.", parts.join(", "))
}

/// Batches left out, by reason.
fn left_out(room: Room, it: &Comparison) -> String {
    let mut by: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for left in &it.left_out {
        let reason = verdicts::left_out(&left.reason);
        by.entry(reason).or_default().push(&left.batch);
    }
    let mut out = String::new();
    for (reason, batches) in by {
        let said = format!("Left out, {reason}: {}.", batches.join(", "));
        out.push_str(&lines(room, 0, &shown_in(&said, room.charset)));
    }
    out
}
