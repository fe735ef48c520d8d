//! How what is due is worded: the deed and its day for the bench, the reason in a sentence. It judges nothing.

use super::dates::{Calendar, day_month};
use super::figures::many;
use crate::analysis::due::{DueItem, DueReason, FirstLookBasis, Urgency};
use crate::analysis::expect::ExpectedDay;
use crate::analysis::expect::failing::{FailingSign, LossCount};
use crate::fold::batch::Milestone;
use crate::model::listed::Cause;
use chrono::NaiveDate;

/// A place whose batches nobody has looked at for long, in a line: `mist bench: 7 batches not looked at since 7 Aug`.
#[must_use]
pub fn unseen(place: &str, since: &[NaiveDate], calendar: Calendar) -> String {
    let days = last_looked(since, calendar);
    let place = if place.is_empty() { "no place" } else { place };
    let batches = many(since.len() as u64, "batch", "batches");
    format!("{place}: {batches} not looked at since {days}")
}

/// The same on the bench, beside the first of them: `and 6 more unseen since 7 Aug`.
#[must_use]
pub fn unseen_with_others(since: &[NaiveDate], calendar: Calendar) -> String {
    let others = since.len().saturating_sub(1);
    let days = last_looked(since, calendar);
    format!("and {others} more, not looked at since {days}")
}

/// The latest of the last looks: since then none was looked at.
fn last_looked(since: &[NaiveDate], calendar: Calendar) -> String {
    since
        .iter()
        .max()
        .map_or_else(String::new, |day| calendar.day(*day))
}

/// What is to be done about a reason, in a word or two.
#[must_use]
pub fn deed(reason: &DueReason) -> &'static str {
    match reason {
        DueReason::Failing(_) => "pick over",
        DueReason::Pot { .. } => "pot",
        DueReason::Overdue { .. } => "decide",
        DueReason::First { .. } => "first look",
        DueReason::Asked { .. } | DueReason::Expected { .. } | DueReason::Interval { .. } => "look",
    }
}

/// The sign of an urgency, in a character that every terminal shows; a space where nothing is urgent.
#[must_use]
pub fn mark(press: Urgency) -> char {
    match press {
        Urgency::Failing => '!',
        Urgency::Late => '*',
        Urgency::Due => '+',
        Urgency::Waiting => ' ',
    }
}

/// What comes next and when, in at most some thirty columns: `first look 12 d late`.
#[must_use]
pub fn next(item: &DueItem, calendar: Calendar) -> String {
    let Some(reason) = item.reason() else {
        return String::new();
    };
    let what = match (item.press, reason) {
        (_, DueReason::Failing(sign)) => return failing_short(sign),
        (_, DueReason::Pot { ready, of, .. }) => format!("pot {ready} of {of}"),
        (_, reason) => deed(reason).to_owned(),
    };
    let when = when(item, calendar);
    format!("{what}{}{when}", if when.is_empty() { "" } else { " " })
}

/// What comes next in few columns: `look 12 d late`.
#[must_use]
pub fn brief(item: &DueItem, calendar: Calendar) -> String {
    let Some(reason) = item.reason() else {
        return String::new();
    };
    if item.press == Urgency::Failing {
        return "failing".to_owned();
    }
    let what = deed(reason).trim_start_matches("first ");
    match when(item, calendar).as_str() {
        "" | "today" => what.to_owned(),
        when => format!("{what} {when}"),
    }
}

/// When it is or was due; nothing where its day is past and it is not late yet.
fn when(item: &DueItem, calendar: Calendar) -> String {
    let days = (item.on - calendar.today).num_days();
    match item.press {
        Urgency::Late => format!("{} d late", -days),
        Urgency::Waiting => calendar.day(item.on),
        Urgency::Due | Urgency::Failing if days < 0 => String::new(),
        Urgency::Due | Urgency::Failing => "today".to_owned(),
    }
}

/// What comes next in the fewest columns, days without their weekday: `look 27 Jul`.
#[must_use]
pub fn narrow(item: &DueItem, calendar: Calendar) -> String {
    match (item.press, item.reason()) {
        (Urgency::Waiting, Some(reason)) => {
            let what = deed(reason).trim_start_matches("first ");
            format!("{what} {}", day_month(item.on))
        }
        _ => brief(item, calendar),
    }
}

fn spreading(cause: Cause) -> &'static str {
    match cause {
        Cause::Blackened => "blackening",
        Cause::Mould => "mould",
        other => other.word(),
    }
}

/// Why a batch is failing, in few words: `failing: mould here`.
#[must_use]
pub fn failing_short(sign: &FailingSign) -> String {
    match sign {
        FailingSign::Spreading { cause, .. } => format!("failing: {} spreads", spreading(*cause)),
        FailingSign::Heavy { now, .. } => format!("failing: {} of {} lost", now.lost, now.of),
        FailingSign::Mould { .. } => "failing: mould here".to_owned(),
    }
}

/// What to do about a failing batch, in a sentence (common practice). It names no disease.
#[must_use]
pub fn remedy(sign: &FailingSign, calendar: Calendar) -> String {
    let cause = match sign {
        FailingSign::Spreading { cause, .. } | FailingSign::Heavy { cause, .. } => *cause,
        FailingSign::Mould { .. } => Cause::Mould,
    };
    let first = match (calendar.today - sign.last().day).num_days() > OLD {
        true => "Look first: that was long ago. ",
        false => "",
    };
    format!("{first}{}", taking_out(cause))
}

/// Days after which a loss that was found may be past (common practice: batches are looked at within a fortnight).
const OLD: i64 = 14;

fn taking_out(cause: Cause) -> &'static str {
    match cause {
        Cause::Blackened => {
            "Take out the blackened and the medium round them; clean the blade; give drier air; stick again from clean wood."
        }
        Cause::Mould => {
            "Take out the mouldy and all dead leaves; clean hands and blade; give drier air and more room."
        }
        Cause::Wilted => {
            "Take out the wilted; see that mist, shade and lid keep the rest from drying, and keep draughts out."
        }
        Cause::Eaten => {
            "Look under leaves and pots for what eats them, at dusk as well; take out the eaten."
        }
        Cause::Winter => {
            "Take out the dead; check the frost cover, and that the medium is not sodden."
        }
        Cause::Other | Cause::Unknown => {
            "Take out the dead, and look at their bases and leaves: write down what they died of."
        }
    }
}

/// Why a batch is failing, in a sentence without its stop.
#[must_use]
pub fn failing(sign: &FailingSign, calendar: Calendar) -> String {
    match sign {
        FailingSign::Spreading { cause, before, now } => spreads(*cause, before, now, calendar),
        FailingSign::Heavy { cause, now } => heavy(*cause, now, calendar),
        FailingSign::Mould {
            place,
            batches,
            seen,
            ..
        } => format!(
            "mould in {batches} batches at {place}, last seen {}",
            calendar.day(*seen)
        ),
    }
}

/// The reason in one sentence without its stop, with the figures that it rests on.
#[must_use]
pub fn why(reason: &DueReason, calendar: Calendar) -> String {
    let day = |day| calendar.day(day);
    match reason {
        DueReason::Failing(sign) => failing(sign, calendar),
        DueReason::Asked { on } => format!("asked for {}", day(*on)),
        DueReason::Pot {
            milestone,
            ready,
            of,
            seen,
        } => {
            let how = match milestone {
                Milestone::Bottom => "with roots at the bottom",
                _ => "rooted in a tray without cells",
            };
            format!("{ready} of {of} {how} on {}", day(*seen))
        }
        DueReason::Overdue {
            milestone,
            age,
            batches,
            waiting,
            of,
            seen,
        } => {
            let (what, who, choice) = match milestone {
                Milestone::Bottom => ("had roots at the bottom", REACH, "pot, or wait"),
                _ => ("had rooted", ROOT, "wait, or give them up"),
            };
            let left = match waiting == of {
                true => format!("none of the {of} left {what}"),
                false => format!("only {} of {of} {what}", of - waiting),
            };
            format!(
                "{left} by {}; nine in ten {who} should have by day {age} ({batches} batches): {choice}",
                day(*seen)
            )
        }
        DueReason::First { age, wood, basis } => first(*age, wood.map(|w| w.word()), *basis),
        DueReason::Expected {
            by,
            first,
            batches,
            seen,
        } => {
            let had = expected(by, first.as_ref());
            format!("{had} ({batches} batches); last look {}", day(*seen))
        }
        DueReason::Interval { days, seen, known } => {
            let rule = match known {
                true => format!("look at least every {days} days"),
                false => format!("a look every {days} days is common practice"),
            };
            format!("last look {}; {rule}", day(*seen))
        }
    }
}

fn spreads(cause: Cause, before: &LossCount, now: &LossCount, calendar: Calendar) -> String {
    let over = |it: &LossCount| format!("in {} days to {}", it.over, calendar.day(it.day));
    format!(
        "{} spreads: lost {} of {} {}, then {} of the {} left {}{}",
        spreading(cause),
        before.lost,
        before.of,
        over(before),
        now.lost,
        now.of,
        over(now),
        ago(now.day, calendar)
    )
}

fn heavy(cause: Cause, found: &LossCount, calendar: Calendar) -> String {
    format!(
        "{} of {} lost at the look of {}{}, {}",
        found.lost,
        found.of,
        calendar.day(found.day),
        ago(found.day, calendar),
        most(cause)
    )
}

/// How long ago a loss was seen: it tells less the longer.
fn ago(day: NaiveDate, calendar: Calendar) -> String {
    match (calendar.today - day).num_days() {
        1 => ", yesterday".to_owned(),
        days if days > 1 => format!(", {days} days ago"),
        _ => String::new(),
    }
}

fn most(cause: Cause) -> String {
    match cause {
        Cause::Unknown => "cause unknown".to_owned(),
        cause => format!("most of them {}", cause.word()),
    }
}

/// Those among whom days are told.
const ROOT: &str = "of those that root";
const REACH: &str = "of those whose roots reach the bottom";

fn first(age: u32, wood: Option<&str>, basis: FirstLookBasis) -> String {
    match basis {
        FirstLookBasis::Taxon => {
            format!("no look yet; you set this plant's first look for day {age}")
        }
        FirstLookBasis::Expected { p10_day, batches } => {
            let known = format!("a tenth {ROOT} should have by day {p10_day} ({batches} batches)");
            match p10_day == age {
                true => format!("no look yet; {known}"),
                false => format!("no look yet by day {age}; {known}"),
            }
        }
        FirstLookBasis::CommonPractice => format!(
            "no look yet; day {age} is common practice for {}",
            wood.unwrap_or("cuttings")
        ),
    }
}

/// Who is expected by when: of the milestone that says most, after the one by which the day goes.
fn expected(by: &ExpectedDay, first: Option<&ExpectedDay>) -> String {
    let who = |by: &ExpectedDay| match by.milestone {
        Milestone::Bottom => REACH,
        _ => ROOT,
    };
    let had = |by: &ExpectedDay| format!("{} {} should have by day {}", share(by), who(by), by.age);
    match first {
        None => had(by),
        Some(first) if first.milestone == by.milestone => {
            format!("{}, and {} by day {}", had(first), share(by), by.age)
        }
        Some(first) => format!(
            "{}; {} {}, by day {}",
            had(first),
            share(by),
            who(by),
            by.age
        ),
    }
}

fn share(by: &ExpectedDay) -> String {
    match by.percent {
        10 => "a tenth".to_owned(),
        50 => "half".to_owned(),
        90 => "nine in ten".to_owned(),
        percent => format!("{percent} %"),
    }
}
