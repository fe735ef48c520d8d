//! How the figures of a timeline are worded: shares, days, what is missing, what to bear in mind. It computes
//! nothing.

use super::figures::{many, percent_range};
use super::verdicts::done;
use crate::analysis::timeline::{
    Figure, MilestoneFigures, Missing, QuantileDay, ReachedShare, TimelineCaution, TimelineGroup,
};
use crate::fold::batch::Milestone;

/// What stands for a day in a table where looks tell only by when it had come: `<=23`.
pub const BY: &str = "<=";

/// The strike with its range in per cent, or that it is too soon for one: `64 (51-75)`.
#[must_use]
pub fn strike(group: &TimelineGroup) -> String {
    share(&group.strike)
}

/// A share with its range in per cent, or in a word why there is none.
#[must_use]
pub fn share(share: &Figure<ReachedShare>) -> String {
    match share {
        Figure::Value(share) => percent_range(share.value, share.low, share.high),
        Figure::Missing(Missing::TooSoon | Missing::NotExamined) => "too soon".into(),
        Figure::Missing(_) => "not told".into(),
    }
}

/// The days by which 10, 50 and 90 % of those that reached a milestone had, for a table; `?` where a day cannot be
/// told, nothing where no share can, one `<=23` where looks tell no more than that of all three.
#[must_use]
pub fn days(figures: &MilestoneFigures, between: &str) -> String {
    if figures.reached.value().is_none() || figures.curve.is_empty() {
        return String::new();
    }
    let [ten, half, ninety] = figures.days.reached.0.each_ref().map(day);
    if ten == half && half == ninety && ten.starts_with(BY) {
        return ten;
    }
    [ten, half, ninety].join(between)
}

/// One day for a table.
#[must_use]
pub fn day(day: &Figure<QuantileDay>) -> String {
    match day {
        Figure::Value(day) => match day.at.value() {
            Some(at) => super::figures::days(*at),
            None => format!("{BY}{}", day.by),
        },
        Figure::Missing(_) => "?".into(),
    }
}

/// A day in words, with what was seen and how sure it is: `day 21 (seen between 18 and 24; 95 %: 16 to 27)`.
#[must_use]
pub fn day_words(day: &QuantileDay) -> String {
    let mut said = Vec::new();
    let head = match day.at.value() {
        Some(at) => {
            said.push(format!("looks on days {} and {}", day.after, day.by));
            format!("by about day {}", super::figures::days(*at))
        }
        None => {
            let before = match day.after {
                0 => "no look before it".to_owned(),
                after => format!("the look before it: day {after}"),
            };
            said.push(before);
            format!("by day {}", day.by)
        }
    };
    said.extend(range(day));
    format!("{head} ({})", said.join("; "))
}

/// The range of a day, if it has one.
fn range(day: &QuantileDay) -> Option<String> {
    let whole = |day: &f64| super::figures::days(*day);
    match (&day.low, &day.high) {
        (Figure::Value(low), Figure::Value(high)) => {
            Some(format!("95 %: {} to {}", whole(low), whole(high)))
        }
        (Figure::Value(low), Figure::Missing(Missing::Beyond { day })) => {
            Some(format!("95 %: {} to beyond day {day}", whole(low)))
        }
        _ => None,
    }
}

/// Why a figure is missing, in words.
#[must_use]
pub fn missing(why: &Missing) -> String {
    match why {
        Missing::NotExamined => "never examined".into(),
        Missing::TooSoon => "too soon: none yet, and no batch is closed".into(),
        Missing::NoneClosed => "no batch is closed yet".into(),
        Missing::NoneReached => "none yet".into(),
        Missing::ShareNotReached { reached, by_day } => {
            let percent = reached * 100.0;
            format!("only {percent:.0} % by day {by_day}")
        }
        Missing::TooWide => "looks are too far apart to tell the day".into(),
        Missing::FewReplicates { have, need } => {
            let have = many(*have as u64, "batch", "batches");
            format!("{have}; a range for the days takes {need}")
        }
        Missing::FewNurseries { have, need } => {
            let have = many(*have as u64, "nursery", "nurseries");
            format!("{have}; a range for the days takes {need}")
        }
        Missing::NotResampled => "not worked out: resampling was left out".into(),
        Missing::Beyond { day } => format!("beyond day {day}"),
        Missing::OutOfOrder { beside } => {
            format!(
                "not worked out: too few were examined for both this and {}",
                done(*beside)
            )
        }
    }
}

/// What to bear in mind, in words.
#[must_use]
pub fn caution(caution: &TimelineCaution) -> String {
    let looks = |count: &u32| many(u64::from(*count), "look", "looks");
    let in_batches = |count: &usize| many(*count as u64, "batch", "batches");
    match caution {
        TimelineCaution::OneReplicate => {
            "only one batch: how far batches differ is taken from the journal's other groups".into()
        }
        TimelineCaution::OneNursery => {
            "only one nursery: how far nurseries differ is taken from the pool's other groups"
                .into()
        }
        TimelineCaution::Guesses { looks: count } => {
            format!("{} counted from spoken guesses", looks(count))
        }
        TimelineCaution::Sampled { looks: count } => {
            format!(
                "{} at a part of the batch, counted as the whole",
                looks(count)
            )
        }
        TimelineCaution::Unexplained { cuttings } => format!(
            "{} discarded without a reason, counted as not rooted yet",
            many(u64::from(*cuttings), "cutting", "cuttings")
        ),
        TimelineCaution::Backwards { milestone, batches } => {
            let counts = match milestone {
                Milestone::Callus => "fewer callused",
                Milestone::Root => "fewer rooted",
                Milestone::Bottom => "fewer with roots at the bottom",
            };
            format!("{counts} than before in {}", in_batches(batches))
        }
        TimelineCaution::AtSticking { milestone, batches } => format!(
            "{} already on the day of sticking in {}, counted on the first day",
            done(*milestone),
            in_batches(batches)
        ),
        TimelineCaution::Uncertified { milestone, gap } => format!(
            "the curve of {} is not certified: its log-likelihood may be {gap:.1e} short",
            done(*milestone)
        ),
    }
}
