//! Timelines as JSON: the documented shape, in the documented order.

use super::json::{number, optional};
use crate::analysis::timeline::{Days, Group, MilestoneFigure, Quantiles, Reached, Timeline};
use crate::fold::batch::Milestone;
use crate::fold::selection::ExcludedBatch;
use crate::model::filter::GroupKey;
use crate::stats::npmle::Mass;
use serde_json::{Map, Value, json};

/// The whole answer.
#[must_use]
pub fn of(timeline: &Timeline) -> Value {
    json!({
        "as_of": timeline.as_of.map(|day| day.to_string()),
        "level": number(timeline.level),
        "seed": timeline.seed,
        "resamples": timeline.resamples,
        "groups": timeline.groups.iter().map(group).collect::<Vec<_>>(),
        "skipped": skipped(&timeline.skipped),
    })
}

/// Batches left out, with the reasons.
pub fn skipped(skipped: &[ExcludedBatch]) -> Value {
    skipped
        .iter()
        .map(|left| json!({"batch": left.batch, "reason": left.reason.to_string()}))
        .collect()
}

fn group(group: &Group) -> Value {
    let milestones: Map<String, Value> = Milestone::ALL
        .into_iter()
        .map(|m| (m.word().to_owned(), milestone(group.of(m))))
        .collect();
    let reasons: Map<String, Value> = group
        .reasons
        .iter()
        .map(|(path, reason)| (path.clone(), Value::from(reason.to_string())))
        .collect();
    json!({
        "taxon": group.taxon,
        "by": by(&group.by),
        "batches": group.size.batches,
        "replicates": group.size.replicates,
        "stuck": group.size.stuck,
        "lost": group.size.lost,
        "watched": number(group.size.watched),
        "strike": reached(group.strike.as_ref()),
        "yield": group.yielded.map(|y| json!({"value": number(y.value), "batches": y.batches})),
        "milestones": milestones,
        "reasons": reasons,
        "cautions": group.cautions.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}

/// The keys of a group with their values.
pub fn by(keys: &[(GroupKey, Option<String>)]) -> Value {
    keys.iter()
        .map(|(key, value)| (key.word().to_owned(), Value::from(value.clone())))
        .collect::<Map<_, _>>()
        .into()
}

/// A share with its interval.
fn reached(reached: Option<&Reached>) -> Value {
    reached.map_or(Value::Null, |r| {
        json!({"value": number(r.value), "low": number(r.low), "high": number(r.high), "by_day": r.by_day})
    })
}

fn milestone(figure: &MilestoneFigure) -> Value {
    json!({
        "curve": masses(&figure.curve),
        "lost": masses(&figure.lost),
        "later": number(figure.later),
        "gap": number(figure.gap),
        "reached": reached(figure.reached.as_ref()),
        "days": {"all": quantiles(&figure.all), "reached": quantiles(&figure.of_reached)},
    })
}

fn masses(masses: &[Mass]) -> Value {
    masses
        .iter()
        .map(|m| json!({"after": number(m.after), "by": number(m.by), "mass": number(m.mass)}))
        .collect()
}

fn quantiles(quantiles: &Quantiles) -> Value {
    quantiles
        .named()
        .map(|(name, days)| (name.to_owned(), day(days)))
        .collect::<Map<_, _>>()
        .into()
}

fn day(days: Option<&Days>) -> Value {
    days.map_or(Value::Null, |d| {
        json!({"after": d.after, "by": d.by, "at": number(d.at), "low": optional(d.low), "high": optional(d.high)})
    })
}
