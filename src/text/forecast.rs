//! How forecasts are worded, on paper and on screens alike. It computes none.

use super::dates::{Calendar, day_month};
use super::figures::percent;
use crate::analysis::expect::{DayForecast, DayRange, Forecast, Kin};
use crate::fold::batch::Batch;
use chrono::{Days, NaiveDate};

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

/// The count in the end with its 80 % range: `20 (18-22)`.
#[must_use]
pub fn count(forecast: &Forecast) -> String {
    let (low, high) = forecast.count_range(0.8);
    if low == high {
        return low.to_string();
    }
    format!("{} ({low}-{high})", forecast.middle())
}

/// The days of an 80 % range: `24-31`.
#[must_use]
pub fn days(when: &DayForecast) -> String {
    span(when.wide.low, when.wide.high)
}

/// The day of the calendar that is so many days after sticking.
#[must_use]
pub fn date(stuck_on: NaiveDate, day: f64) -> NaiveDate {
    let days = Days::new(day.round().clamp(0.0, 36_500.0) as u64);
    stuck_on.checked_add_days(days).unwrap_or(stuck_on)
}

/// A range of days as dates: `7 to 17 Jul`, `28 Jun to 4 Jul`.
#[must_use]
pub fn dates(stuck_on: NaiveDate, range: &DayRange) -> String {
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

/// The share in the end, in a sentence.
#[must_use]
pub fn in_the_end(forecast: &Forecast) -> String {
    let (low, high) = forecast.count_range(0.5);
    let (least, most) = forecast.count_range(0.8);
    let share = |n: usize| percent(n as f64 / f64::from(forecast.stuck.max(1)));
    if least == most {
        // One batch alone fits its days so closely that it foretells nothing beyond them.
        let unless = match forecast.kin.all == 0 && forecast.waiting >= 1.0 {
            true => ", unless stragglers come, of which its own looks alone cannot tell",
            false => "",
        };
        return format!(
            "{least} of {} will root in the end, {} %{unless}.",
            forecast.stuck,
            share(least)
        );
    }
    format!(
        "{} of {} will root in the end; {low} to {high} with even chances, {least} to {most} in 4 of 5 cases ({} to {} %).",
        forecast.middle(),
        forecast.stuck,
        share(least),
        share(most)
    )
}

/// DayForecast something comes, in a sentence: `day 34; 32 to 37 with even chances, 30 to 40 in 4 of 5 cases (7 to 17 Jul)`.
#[must_use]
pub fn when(when: &DayForecast, stuck_on: NaiveDate) -> String {
    if when.draws.len() == 1 {
        let day = date(stuck_on, when.middle);
        return format!("day {:.0} ({}), seen", when.middle, day_month(day));
    }
    if when.wide.low.round() == when.wide.high.round() {
        let day = date(stuck_on, when.middle);
        return format!("day {:.0} ({})", when.middle, day_month(day));
    }
    let range = |range: &DayRange| format!("{:.0} to {:.0}", range.low, range.high);
    format!(
        "day {:.0}; {} with even chances, {} in 4 of 5 cases ({})",
        when.middle,
        range(&when.half),
        range(&when.wide),
        dates(stuck_on, &when.wide)
    )
}

/// From whom a forecast borrows.
#[must_use]
pub fn kin(kin: Kin) -> String {
    let batches = |n: u32| match n {
        1 => "1 batch".to_owned(),
        n => format!("{n} batches"),
    };
    if kin.all == 0 {
        return "No other batch to borrow from: beyond its own looks any share and any month is possible."
            .into();
    }
    format!(
        "Borrows from {} of this taxon and wood stage, {} of the taxon, {} of the genus, {} in all.",
        batches(kin.same),
        kin.taxon,
        kin.genus,
        kin.all
    )
}

/// What came of a closed batch: `21 of 24 rooted, 88 %`.
#[must_use]
pub fn in_the_end_short(forecast: &Forecast) -> String {
    let share = forecast.middle() as f64 / f64::from(forecast.stuck.max(1));
    let (rooted, stuck) = (forecast.middle(), forecast.stuck);
    format!(
        "In the end {rooted} of {stuck} rooted, {} %.",
        percent(share)
    )
}

/// The forecast in one short line for a screen: `20 (18-22) of 24 will root; pot day 30-40, 7 to 17 Jul`.
#[must_use]
pub fn short(forecast: &Forecast, batch: &Batch, calendar: Calendar) -> String {
    let stuck_on = batch.stuck_on;
    let mut out = format!("{} of {} will root", count(forecast), forecast.stuck);
    match &forecast.potting {
        _ if forecast.middle() == 0 => {}
        Some(_) if forecast.is_potted(batch, calendar.today) => {
            out.push_str("; those rooted are potted");
        }
        Some(_) if forecast.ready_to_pot => out.push_str("; ready to pot"),
        Some(when) if date(stuck_on, when.wide.high) < calendar.today => {
            out.push_str("; should be ready to pot");
        }
        Some(when) => out.push_str(&format!(
            "; pot day {}, {}",
            days(when),
            dates(stuck_on, &when.wide)
        )),
        None => {}
    }
    out
}

/// What is to come of several batches together: `71 (58-82) of 96 in 3 open batches will root; 14 have so far`. The ranges of
/// the batches are added up, as if all fared well or ill together: wide rather than narrow, since batches of one kind share what is not known of it.
#[must_use]
pub fn together(all: &[Forecast], history: u32) -> String {
    let stuck: u32 = all.iter().map(|one| one.stuck).sum();
    let mean: f64 = all.iter().map(|one| one.count.mean()).sum();
    // What was seen of a part of a batch stands for the rest of it only as likely.
    let rooted = all.iter().map(|one| one.rooted.min(one.count.mean()));
    let rooted: f64 = rooted.sum();
    let ends = all.iter().map(|one| one.count_range(0.8));
    let (low, high) = ends.fold((0, 0), |sum, end| (sum.0 + end.0, sum.1 + end.1));
    let range = match low == high {
        true => String::new(),
        false => format!(" ({low}-{high})"),
    };
    let batches = match all.len() {
        1 => "1 open batch".to_owned(),
        n => format!("{n} open batches"),
    };
    let basis = if history == 0 { " (no history)" } else { "" };
    format!("{mean:.0}{range} of {stuck} in {batches} will root; {rooted:.0} have so far{basis}")
}
