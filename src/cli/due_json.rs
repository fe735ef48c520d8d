//! What is due as JSON: the documented shape, in the documented order.

use super::due::{Line, Told};
use crate::analysis::due::{DueReason, FirstLookBasis, LossCount, Urgency};
use crate::fold::batch::SILENT_DAYS;
use crate::text::due::{deed, press, why};
use serde_json::{Value, json};

/// The whole answer.
#[must_use]
pub fn of(told: &Told) -> Value {
    let (now, ahead): (Vec<&Line>, Vec<&Line>) = told
        .lines
        .iter()
        .partition(|line| line.item.press != Urgency::Waiting);
    let each = |lines: Vec<&Line>| lines.into_iter().map(|l| line(l, told)).collect::<Vec<_>>();
    json!({
        "on": told.due.on.to_string(),
        "days": told.days,
        "open": told.open,
        "due": each(now),
        "coming": each(ahead),
        "silent": {"days": SILENT_DAYS, "count": told.silent.len(), "batches": told.silent},
    })
}

fn line(line: &Line, told: &Told) -> Value {
    let (item, batch) = (line.item, line.batch);
    let on = told.due.on;
    json!({
        "batch": item.code,
        "stick": item.key.to_string(),
        "taxon": batch.taxon.shown(),
        "wood": batch.stick.wood.map(|wood| wood.word()),
        "place": batch.place,
        "day": (on - batch.stuck_on).num_days(),
        "remain": batch.counts.remain(),
        "press": press(item.press),
        "on": item.on.to_string(),
        "in_days": (item.on - on).num_days(),
        "deed": item.reason().map(deed),
        "reasons": item.reasons.iter().map(|it| reason(it, told)).collect::<Vec<_>>(),
    })
}

/// A reason: its rule, in words, and its figures.
fn reason(reason: &DueReason, told: &Told) -> Value {
    json!({
        "rule": reason.rule().word(),
        "words": why(reason, told.calendar),
        "figures": figures(reason),
    })
}

fn found(found: &LossCount) -> Value {
    json!({"on": found.day.to_string(), "lost": found.lost, "of": found.of, "over_days": found.over})
}

fn figures(reason: &DueReason) -> Value {
    match reason {
        DueReason::Spreading { cause, before, now } => {
            json!({"cause": cause.word(), "before": found(before), "now": found(now)})
        }
        DueReason::Heavy { cause, found: it } => json!({"cause": cause.word(), "now": found(it)}),
        DueReason::Mould {
            place,
            batches,
            seen,
        } => json!({"place": place, "batches": batches, "seen": seen.to_string()}),
        DueReason::Asked { on } => json!({"on": on.to_string()}),
        DueReason::Pot {
            milestone,
            ready,
            of,
            seen,
        } => json!({
            "milestone": milestone.word(), "ready": ready, "of": of, "seen": seen.to_string(),
        }),
        DueReason::Overdue {
            milestone,
            age,
            batches,
            waiting,
            of,
            seen,
        } => json!({
            "milestone": milestone.word(), "p90_day": age, "batches": batches, "waiting": waiting, "of": of, "seen": seen.to_string(),
        }),
        DueReason::First { age, wood, basis } => {
            let wood = wood.map(|wood| wood.word());
            match basis {
                FirstLookBasis::Said => json!({"day": age, "wood": wood, "basis": "taxon"}),
                FirstLookBasis::History { age: root, batches } => json!({
                    "day": age, "wood": wood, "basis": "history", "p10_day": root, "batches": batches,
                }),
                FirstLookBasis::Practice => {
                    json!({"day": age, "wood": wood, "basis": "common practice"})
                }
            }
        }
        DueReason::Expected {
            by,
            first,
            batches,
            seen,
        } => {
            let first = first.map(|by| {
                json!({"milestone": by.milestone.word(), "percent": by.percent, "day": by.age})
            });
            json!({
                "milestone": by.milestone.word(), "percent": by.percent, "day": by.age, "first": first, "batches": batches, "seen": seen.to_string(),
            })
        }
        DueReason::Interval { days, seen, known } => {
            let basis = if *known { "longest" } else { "common practice" };
            json!({"days": days, "seen": seen.to_string(), "basis": basis})
        }
    }
}
