//! What comes next for a batch, and how pressing it is, by plain rules on what the journal says of it.
//! It computes no figure and reads no other batch.

use crate::book::batch::{Batch, Inspection};
use crate::words::dates::Calendar;

/// How pressing something is; the first is the most.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Press {
    /// Losses are growing.
    Failing,
    /// Its day is past.
    Late,
    /// Its day is today.
    Due,
    /// It waits for its day.
    Waiting,
}

/// What comes next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Next {
    /// How pressing.
    pub press: Press,
    /// In how many days; negative when past.
    pub days: i64,
    /// In words.
    pub words: String,
    /// In few words.
    pub short: String,
}

/// Days to the first look when neither journal nor taxon says (common practice: about three weeks).
const FIRST_LOOK: i64 = 21;
/// Days from one look to the next when none was asked for (common practice: a week).
const NEXT_LOOK: i64 = 7;
/// Share of what remained that makes a day's losses a failing (common practice).
const FAILING: f64 = 0.1;

/// What comes next for an open batch; `first_look` is the taxon's own day of the first look, if known.
#[must_use]
pub fn next(batch: &Batch, calendar: Calendar, first_look: Option<u32>) -> Next {
    let today = calendar.today;
    let looked = batch.inspections.iter().rev().find(|i| i.how.is_some());
    let failing = looked.is_some_and(is_failing);
    let (day, deed) = match (batch.again_on, looked) {
        (Some(day), _) => (day, "look"),
        (None, Some(look)) if batch.counts.bench[3] > 0 => (look.day, "pot"),
        (None, Some(look)) => (look.day + chrono::TimeDelta::days(NEXT_LOOK), "look"),
        (None, None) => {
            let wait = first_look.map_or(FIRST_LOOK, i64::from);
            (batch.stuck_on + chrono::TimeDelta::days(wait), "first look")
        }
    };
    let days = (day - today).num_days();
    let press = match days {
        _ if failing && batch.again_on.is_none_or(|day| day <= today) => Press::Failing,
        ..0 => Press::Late,
        0 => Press::Due,
        _ => Press::Waiting,
    };
    let words = match (press, days) {
        (Press::Failing, _) => "failing: look".to_owned(),
        (_, 0) => format!("{deed} today"),
        (_, ..0) if deed == "pot" => "pot".to_owned(),
        (_, ..0) => format!("{deed} {} d late", -days),
        _ => format!("{deed} {}", calendar.day(day)),
    };
    let short = words.trim_start_matches("first ").replace(" today", "");
    Next {
        press,
        days,
        words,
        short,
    }
}

/// Whether an inspection found more dead than a batch should lose.
fn is_failing(inspection: &Inspection) -> bool {
    let lost = inspection.lost.total();
    f64::from(lost) > FAILING * f64::from(inspection.remain + lost)
}
