//! What is due as JSON: the documented shape, in the documented order.

use super::due::{Line, Told};
use crate::analysis::due::{Basis, Found, Press, Reason};
use crate::fold::batch::SILENT_DAYS;
use crate::text::due::{deed, press, why};
use serde_json::{Value, json};

/// The whole answer.
#[must_use]
pub fn of(told: &Told) -> Value {
    let (now, ahead): (Vec<&Line>, Vec<&Line>) = told
        .lines
        .iter()
        .partition(|line| line.item.press != Press::Waiting);
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
fn reason(reason: &Reason, told: &Told) -> Value {
    json!({
        "rule": reason.rule().word(),
        "words": why(reason, told.calendar),
        "figures": figures(reason),
    })
}

fn found(found: &Found) -> Value {
    json!({"on": found.day.to_string(), "lost": found.lost, "of": found.of, "over_days": found.over})
}

fn figures(reason: &Reason) -> Value {
    match reason {
        Reason::Spreading { cause, before, now } => {
            json!({"cause": cause.word(), "before": found(before), "now": found(now)})
        }
        Reason::Heavy { cause, found: it } => json!({"cause": cause.word(), "now": found(it)}),
        Reason::Mould {
            place,
            batches,
            seen,
        } => json!({"place": place, "batches": batches, "seen": seen.to_string()}),
        Reason::Asked { on } => json!({"on": on.to_string()}),
        Reason::Pot {
            milestone,
            ready,
            of,
            seen,
        } => json!({
            "milestone": milestone.word(), "ready": ready, "of": of, "seen": seen.to_string(),
        }),
        Reason::Overdue {
            milestone,
            age,
            batches,
            waiting,
            of,
            seen,
        } => json!({
            "milestone": milestone.word(), "p90_day": age, "batches": batches, "waiting": waiting, "of": of, "seen": seen.to_string(),
        }),
        Reason::First { age, wood, basis } => {
            let wood = wood.map(|wood| wood.word());
            match basis {
                Basis::Said => json!({"day": age, "wood": wood, "basis": "taxon"}),
                Basis::History { age: root, batches } => json!({
                    "day": age, "wood": wood, "basis": "history", "p10_day": root, "batches": batches,
                }),
                Basis::Practice => json!({"day": age, "wood": wood, "basis": "common practice"}),
            }
        }
        Reason::Expected {
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
        Reason::Interval { days, seen, known } => {
            let basis = if *known { "longest" } else { "common practice" };
            json!({"days": days, "seen": seen.to_string(), "basis": basis})
        }
    }
}
