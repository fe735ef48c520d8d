//! How forecasts are worded, on paper and on screens alike. It computes none.

use super::dates::{Calendar, day_month};
use super::due;
use super::figures::percent;
use crate::analysis::expect::{BesideUsual, NotComparable, UsualStanding};
use crate::analysis::expect::{DaySpan, Kin};
use crate::analysis::forecast::{BatchForecast, ExpectedDate, date};
use chrono::NaiveDate;

/// A range of counts or days: `18-22`, or one number where the ends are one.
#[must_use]
pub fn span(low: f64, high: f64) -> String {
    let (low, high) = (format!("{low:.0}"), format!("{high:.0}"));
    if low == high {
        low
    } else {
        format!("{low}-{high}")
    }
}

/// The count expected in the end with its 80 % range: `20 (18-22)`.
#[must_use]
pub fn count(forecast: &BatchForecast) -> String {
    let range = forecast.count.p80;
    if range.low == range.high {
        return range.low.to_string();
    }
    format!("{} ({}-{})", forecast.count.middle, range.low, range.high)
}

/// The days of an 80 % range: `24-31`.
#[must_use]
pub fn days(when: &ExpectedDate) -> String {
    span(when.p80.low, when.p80.high)
}

/// A range of days as dates: `7 to 17 Jul`, `28 Jun to 4 Jul`.
#[must_use]
pub fn dates(stuck_on: NaiveDate, range: &DaySpan) -> String {
    let (low, high) = (date(stuck_on, range.low), date(stuck_on, range.high));
    let last = day_month(high);
    if low == high {
        return last;
    }
    let first = day_month(low);
    match (first.split_once(' '), last.split_once(' ')) {
        (Some((day, month)), Some((_, same))) if month == same => format!("{day} to {last}"),
        _ => format!("{first} to {last}"),
    }
}

/// What must be known before a forecast is read: why the batch is failing and what to do, and how old its last look is. `on` is the day
/// of the forecast.
#[must_use]
pub fn first_of_all(forecast: &BatchForecast, calendar: Calendar) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    if let Some(sign) = forecast.failing.first() {
        let why = due::failing(sign, calendar);
        out.push(format!(
            "Failing: {why}. What is expected assumes that the losses go on."
        ));
        out.push(due::remedy(sign, calendar));
    }
    if forecast.lost_sight_of {
        let since = calendar.day(forecast.last_look());
        out.push(format!(
            "Not looked at since {since}, {} days: no plan counts on it until somebody looks.",
            forecast.unseen_days
        ));
    }
    out
}

/// How old the last look is: `last looked at on day 34, 12 days ago`.
#[must_use]
pub fn last_look(forecast: &BatchForecast) -> String {
    let ago = match forecast.unseen_days {
        0 => "today".to_owned(),
        1 => "yesterday".to_owned(),
        days => format!("{days} days ago"),
    };
    match forecast.looked {
        0 => "not looked at yet".to_owned(),
        age => format!("last looked at on day {age}, {ago}"),
    }
}

/// How many are expected to root in the end, in a sentence.
#[must_use]
pub fn in_the_end(forecast: &BatchForecast) -> String {
    let (half, wide) = (forecast.count.p50, forecast.count.p80);
    let share = |n: usize| percent(n as f64 / f64::from(forecast.stuck.max(1)));
    if forecast.waiting < 0.5 {
        return format!(
            "{} of {} have rooted, {} %: none is left to root.",
            forecast.count.middle,
            forecast.stuck,
            share(forecast.count.middle)
        );
    }
    if wide.low == wide.high {
        // One batch alone fits its days so closely that it foretells nothing beyond them.
        let unless = match forecast.kin.all == 0 {
            true => " More may root late: its own looks alone cannot tell.",
            false => "",
        };
        return format!(
            "Expect {} of {} to root in the end, {} %.{unless}",
            wide.low,
            forecast.stuck,
            share(wide.low)
        );
    }
    format!(
        "Expect {} of {} to root in the end; as likely as not {}-{}, four times in five {}-{} ({} to {} %).",
        forecast.count.middle,
        forecast.stuck,
        half.low,
        half.high,
        wide.low,
        wide.high,
        share(wide.low),
        share(wide.high)
    )
}

/// When something is expected, in a sentence: `day 34; as likely as not 32-37, four times in five 30-40 (7 to 17 Jul)`.
#[must_use]
pub fn when(when: &ExpectedDate, stuck_on: NaiveDate) -> String {
    if when.seen {
        return format!("day {:.0} ({}), seen", when.middle, day_month(when.date));
    }
    if when.p80.low.round() == when.p80.high.round() {
        return format!("day {:.0} ({})", when.middle, day_month(when.date));
    }
    format!(
        "day {:.0}; as likely as not {}, four times in five {} ({})",
        when.middle,
        span(when.p50.low, when.p50.high),
        span(when.p80.low, when.p80.high),
        dates(stuck_on, &when.p80)
    )
}

/// From how many batches a forecast is worked out.
#[must_use]
pub fn kin(kin: Kin) -> String {
    if kin.all == 0 {
        return "Worked out from its own looks alone: what comes after them nobody can tell."
            .into();
    }
    let batches = |n: u32| match n {
        1 => "1 other batch".to_owned(),
        n => format!("{n} other batches"),
    };
    format!(
        "Worked out from {}: {} of its genus, {} of this plant, {} of this plant at this wood stage.",
        batches(kin.all),
        kin.genus,
        kin.taxon,
        kin.same
    )
}

/// What came of a closed batch: `21 of 24 rooted, 88 %`.
#[must_use]
pub fn in_the_end_short(forecast: &BatchForecast) -> String {
    let (rooted, stuck) = (forecast.count.middle, forecast.stuck);
    let share = rooted as f64 / f64::from(stuck.max(1));
    format!(
        "In the end {rooted} of {stuck} rooted, {} %.",
        percent(share)
    )
}

/// All that is to say of one batch, a sentence each: what it is, what is wrong with it, what was seen, what to expect.
#[must_use]
pub fn at_length(forecast: &BatchForecast, calendar: Calendar) -> Vec<String> {
    let wood = forecast
        .wood
        .map_or_else(String::new, |wood| format!(", {}", wood.word()));
    let mut out = vec![format!(
        "{}  {}{wood}, day {}",
        forecast.batch, forecast.taxon, forecast.day
    )];
    out.extend(first_of_all(forecast, calendar));
    let gone = f64::from(forecast.stuck) - forecast.rooted.round() - forecast.waiting.round();
    let gone = match gone >= 1.0 {
        true => format!(", {gone:.0} lost or taken away"),
        false => String::new(),
    };
    out.push(format!(
        "Seen: {:.0} of {} rooted so far, {:.0} waiting{gone}; {}.",
        forecast.rooted,
        forecast.stuck,
        forecast.waiting,
        last_look(forecast)
    ));
    out.push(in_the_end(forecast));
    if let Some(half) = forecast.half.as_ref().filter(|_| forecast.count.middle > 0) {
        out.push(format!(
            "Half of these rooted: {}.",
            when(half, forecast.stuck_on)
        ));
    }
    if forecast.potted && forecast.waiting < 0.5 {
        out.push("All that rooted are potted: nothing is left to forecast.".into());
    } else if forecast.potted {
        out.push("All that have rooted so far are potted.".into());
    } else if let Some(potting) = forecast
        .potting
        .as_ref()
        .filter(|_| forecast.count.middle > 0)
    {
        out.push(format!(
            "Ready to pot: {}.",
            when(potting, forecast.stuck_on)
        ));
    }
    out.push(kin(forecast.kin));
    out
}

/// The forecast in one short line for a screen: `Expect 20 (18-22) of 24 to root; pot day 30-40, 7 to 17 Jul`. What is wrong
/// with the batch comes first.
#[must_use]
pub fn short(forecast: &BatchForecast, calendar: Calendar) -> String {
    let stuck_on = forecast.stuck_on;
    if forecast.lost_sight_of {
        return format!(
            "Not looked at since {}: expect nothing of it until somebody looks",
            calendar.day(forecast.last_look())
        );
    }
    let mut out = match forecast.failing.first() {
        Some(sign) => format!("{}; ", due::failing_short(sign).replacen('f', "F", 1)),
        None => String::new(),
    };
    let expect = if out.is_empty() {
        "Expect"
    } else {
        "if it goes on, expect"
    };
    out.push_str(&format!(
        "{expect} {} of {} to root",
        count(forecast),
        forecast.stuck
    ));
    match &forecast.potting {
        _ if forecast.count.middle == 0 => {}
        _ if forecast.potted => out.push_str("; those rooted are potted"),
        Some(_) if forecast.ready_to_pot => out.push_str("; ready to pot"),
        Some(when) if date(stuck_on, when.p80.high) < calendar.today => {
            out.push_str("; they should be ready to pot by now");
        }
        Some(when) => out.push_str(&format!(
            "; pot day {}, {}",
            days(when),
            dates(stuck_on, &when.p80)
        )),
        None => {}
    }
    out
}

/// What is to come of several batches together: `Expect 71 (58-82) of 96 to root in 3 open batches; 14 seen so far`. The ranges of
/// the batches are added up, as if all fared well or ill together: wide rather than narrow, since batches of one kind share what is not known of it.
#[must_use]
pub fn together(all: &[BatchForecast], history: u32) -> String {
    let stuck: u32 = all.iter().map(|one| one.stuck).sum();
    let mean: f64 = all.iter().map(|one| one.count.mean).sum();
    // What was seen of a part of a batch stands for the rest of it only as likely.
    let rooted = all.iter().map(|one| one.rooted.min(one.count.mean));
    let rooted: f64 = rooted.sum();
    let ends = all.iter().map(|one| one.count.p80);
    let (low, high) = ends.fold((0, 0), |sum, end| (sum.0 + end.low, sum.1 + end.high));
    let range = match low == high {
        true => String::new(),
        false => format!(" ({low}-{high})"),
    };
    let batches = match all.len() {
        1 => "1 open batch".to_owned(),
        n => format!("{n} open batches"),
    };
    let basis = if history == 0 { " (no history)" } else { "" };
    let failing = all.iter().filter(|one| !one.failing.is_empty()).count();
    let unseen = all.iter().filter(|one| one.lost_sight_of).count();
    let warned = [(failing, "failing"), (unseen, "not looked at for long")];
    let warned: String = warned
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, what)| format!("; {n} {what}"))
        .collect();
    format!(
        "expect {mean:.0}{range} of {stuck} to root in {batches}; {rooted:.0} rooted so far{basis}{warned}"
    )
}

/// How a batch stands beside what is expected of its kind, in a sentence.
#[must_use]
pub fn beside_usual(beside: &Result<BesideUsual, NotComparable>) -> String {
    match beside {
        Err(NotComparable::NotLifted) => {
            "Not lifted yet: nothing to compare with others of its kind.".into()
        }
        Err(NotComparable::TooFew { others, needed }) => {
            format!(
                "Too few to compare with: it takes {needed} closed batches like it; there are {others}."
            )
        }
        Ok(beside) => {
            let word = match beside.standing {
                UsualStanding::Early => "Rooting early",
                UsualStanding::Usual => "Rooting as usual",
                UsualStanding::Late => "Rooting late",
            };
            format!(
                "{word}: {} % by day {}; others like it {} % ({} batches).",
                percent(beside.rooted),
                beside.day,
                percent(beside.expected),
                beside.batches
            )
        }
    }
}
