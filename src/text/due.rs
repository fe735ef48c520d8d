//! How what is due is worded: the deed and its day for the bench, the reason in a sentence. It judges nothing.

use super::dates::{Calendar, day_month};
use crate::analysis::due::{Basis, By, Found, Item, Press, Reason};
use crate::fold::milestone::Milestone;
use crate::model::listed::Cause;
use chrono::NaiveDate;

/// What is to be done about a reason, in a word or two.
#[must_use]
pub fn deed(reason: &Reason) -> &'static str {
    match reason {
        Reason::Spreading { .. } | Reason::Heavy { .. } | Reason::Mould { .. } => "pick over",
        Reason::Pot { .. } => "pot",
        Reason::Overdue { .. } => "decide",
        Reason::First { .. } => "first look",
        Reason::Asked { .. } | Reason::Expected { .. } | Reason::Interval { .. } => "look",
    }
}

/// A press in a word.
#[must_use]
pub fn press(press: Press) -> &'static str {
    match press {
        Press::Failing => "failing",
        Press::Late => "late",
        Press::Due => "due",
        Press::Waiting => "waiting",
    }
}

/// The sign of a press, in a character that every terminal shows; a space where nothing presses.
#[must_use]
pub fn mark(press: Press) -> char {
    match press {
        Press::Failing => '!',
        Press::Late => '*',
        Press::Due => '+',
        Press::Waiting => ' ',
    }
}

/// What comes next and when, in at most some thirty columns: `first look 12 d late`.
#[must_use]
pub fn next(item: &Item, calendar: Calendar) -> String {
    let Some(reason) = item.reason() else {
        return String::new();
    };
    let what = match (item.press, reason) {
        (Press::Failing, Reason::Spreading { cause, .. }) => {
            return format!("failing: {} spreads", spreading(*cause));
        }
        (Press::Failing, Reason::Heavy { found, .. }) => {
            return format!("failing: {} of {} lost", found.lost, found.of);
        }
        (Press::Failing, _) => return "failing: mould here".to_owned(),
        (_, Reason::Pot { ready, of, .. }) => format!("pot {ready} of {of}"),
        (_, reason) => deed(reason).to_owned(),
    };
    let when = when(item, calendar);
    format!("{what}{}{when}", if when.is_empty() { "" } else { " " })
}

/// The same in few columns: `look 12 d late`.
#[must_use]
pub fn brief(item: &Item, calendar: Calendar) -> String {
    let Some(reason) = item.reason() else {
        return String::new();
    };
    if item.press == Press::Failing {
        return "failing".to_owned();
    }
    let what = deed(reason).trim_start_matches("first ");
    match when(item, calendar).as_str() {
        "" | "today" => what.to_owned(),
        when => format!("{what} {when}"),
    }
}

/// When it is or was due; nothing where its day is past and it is not late yet.
fn when(item: &Item, calendar: Calendar) -> String {
    let days = (item.on - calendar.today).num_days();
    match item.press {
        Press::Late => format!("{} d late", -days),
        Press::Waiting => calendar.day(item.on),
        Press::Due | Press::Failing if days < 0 => String::new(),
        Press::Due | Press::Failing => "today".to_owned(),
    }
}

/// The same in the fewest columns, days without their weekday: `look 27 Jul`.
#[must_use]
pub fn narrow(item: &Item, calendar: Calendar) -> String {
    match (item.press, item.reason()) {
        (Press::Waiting, Some(reason)) => {
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

/// The reason in one sentence without its stop, with the figures that it rests on.
#[must_use]
pub fn why(reason: &Reason, calendar: Calendar) -> String {
    let day = |day| calendar.day(day);
    match reason {
        Reason::Spreading { cause, before, now } => spreads(*cause, before, now, calendar),
        Reason::Heavy { cause, found } => heavy(*cause, found, calendar),
        Reason::Mould {
            place,
            batches,
            seen,
        } => format!(
            "mould in {batches} batches at {place}, last seen {}",
            day(*seen)
        ),
        Reason::Asked { on } => format!("asked for {}", day(*on)),
        Reason::Pot {
            milestone,
            ready,
            of,
            seen,
        } => {
            let how = match milestone {
                Milestone::Bottom => "with roots at the bottom",
                _ => "rooted in an open tray",
            };
            format!("{ready} of {of} {how} on {}", day(*seen))
        }
        Reason::Overdue {
            milestone,
            age,
            batches,
            waiting,
            of,
            seen,
        } => {
            let (what, who, choice) = match milestone {
                Milestone::Bottom => ("with roots at the bottom", REACH, "pot, or wait"),
                _ => ("rooted", ROOT, "wait, or give up"),
            };
            let left = match waiting == of {
                true => format!("none of the {of} left {what}"),
                false => format!("{} of {of} {what}", of - waiting),
            };
            format!(
                "{left} on {}, though 90 % {who} had by day {age} in {batches} batches: {choice}",
                day(*seen)
            )
        }
        Reason::First { age, wood, basis } => first(*age, wood.map(|w| w.word()), *basis),
        Reason::Expected {
            by,
            first,
            batches,
            seen,
        } => {
            let had = expected(by, first.as_ref());
            format!("{had} in {batches} batches; last look {}", day(*seen))
        }
        Reason::Interval { days, seen, known } => {
            let rule = match known {
                true => format!("no batch is left longer than {days} days"),
                false => format!("{days} days are common practice"),
            };
            format!("last look {}; {rule}", day(*seen))
        }
    }
}

fn spreads(cause: Cause, before: &Found, now: &Found, calendar: Calendar) -> String {
    let found = |it: &Found| {
        let day = calendar.day(it.day);
        format!("{} of {} in {} d to {day}", it.lost, it.of, it.over)
    };
    let (what, ago) = (spreading(cause), ago(now.day, calendar));
    format!(
        "{what} spreads: {}, then {}{ago}",
        found(before),
        found(now)
    )
}

fn heavy(cause: Cause, found: &Found, calendar: Calendar) -> String {
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
        days if days > 0 => format!(", {days} d ago"),
        _ => String::new(),
    }
}

fn most(cause: Cause) -> String {
    match cause {
        Cause::Unknown => "cause unknown".to_owned(),
        cause => format!("most {}", cause.word()),
    }
}

/// Those among whom days are told.
const ROOT: &str = "of those that root";
const REACH: &str = "of those whose roots reach the bottom";

fn first(age: u32, wood: Option<&str>, basis: Basis) -> String {
    match basis {
        Basis::Said => format!("no look yet; the journal sets the first for day {age}"),
        Basis::History { age: root, batches } => {
            let known =
                format!("a tenth of those that root had by day {root} in {batches} batches");
            match root == age {
                true => format!("no look yet; {known}"),
                false => format!("no look yet by day {age}; {known}"),
            }
        }
        Basis::Practice => format!(
            "no look yet; day {age} is common practice for {}",
            wood.unwrap_or("cuttings")
        ),
    }
}

/// Who had by when: of the milestone that says most, after the one by which the day goes.
fn expected(by: &By, first: Option<&By>) -> String {
    let who = |by: &By| match by.milestone {
        Milestone::Bottom => REACH,
        _ => ROOT,
    };
    let had = |by: &By| format!("{} {} had by day {}", share(by), who(by), by.age);
    match first {
        None => had(by),
        Some(first) if first.milestone == by.milestone => {
            format!("{} and {} by day {}", had(first), share(by), by.age)
        }
        Some(first) => format!(
            "{}, {} {} by day {},",
            had(first),
            share(by),
            who(by),
            by.age
        ),
    }
}

fn share(by: &By) -> String {
    match by.percent {
        10 => "a tenth".to_owned(),
        50 => "half".to_owned(),
        percent => format!("{percent} %"),
    }
}
