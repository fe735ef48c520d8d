//! A season in review as JSON: the documented shape, in the documented order.

use super::json::number;
use crate::analysis::review::{Advice, Arm, Kind, Method, Planned, Review, Sum};
use crate::model::composite::Lost;
use crate::model::listed::Wood;
use crate::text::review::advice;
use crate::text::verdicts;
use serde_json::{Map, Value, json};

/// The whole answer.
#[must_use]
pub fn of(review: &Review) -> Value {
    json!({
        "season": review.season,
        "from": review.from.to_string(),
        "to": review.to.to_string(),
        "as_of": review.as_of.to_string(),
        "seed": review.seed,
        "taxa": review.taxa,
        "sums": sums(&review.whole),
        "wanted": review.planned.iter().map(planned).collect::<Vec<_>>(),
        "kinds": review.kinds.iter().map(kind).collect::<Vec<_>>(),
        "ways": review.methods.iter().map(method).collect::<Vec<_>>(),
        "still_rooting": review.still_rooting,
        "next": review.advice.iter().map(next).collect::<Vec<_>>(),
    })
}

fn wood(wood: Option<Wood>) -> Value {
    wood.map_or(Value::Null, |wood| Value::from(wood.word()))
}

fn lost(lost: &Lost) -> Value {
    let each = lost.each();
    let each = each.map(|(cause, n)| (cause.word().to_owned(), Value::from(n)));
    each.collect::<Map<_, _>>().into()
}

fn sums(sum: &Sum) -> Value {
    json!({
        "batches": sum.batches, "stuck": sum.stuck, "rooted": sum.rooted, "potted": sum.potted,
        "lost": lost(&sum.lost), "given_up": sum.given_up, "remain": sum.remain,
        "lost_in_pots": sum.lost_in_pots, "ready": sum.ready, "sold": sum.sold,
    })
}

fn planned(it: &Planned) -> Value {
    json!({
        "taxon": it.taxon, "wood": wood(it.wood), "count": it.count, "by_date": it.by.to_string(),
        "ready": it.ready, "stuck": it.stuck, "over": it.over,
        "met_on": it.met_on.map(|day| day.to_string()),
    })
}

/// `strike` is null where it is too soon, or where all batches are left out of the figures.
fn kind(it: &Kind) -> Value {
    let strike = it.strike.map(|s| {
        json!({
            "value": number(s.value), "low": number(s.low), "high": number(s.high), "by_day": s.by_day,
        })
    });
    json!({"taxon": it.taxon, "wood": wood(it.wood), "sums": sums(&it.sum), "strike": strike})
}

fn arm(it: &Arm) -> Value {
    json!({
        "name": it.name, "batches": it.batches, "replicates": it.replicates, "rooted": number(it.share),
        "low": number(it.interval.low), "high": number(it.interval.high),
    })
}

/// An end of the difference is null where these numbers exclude nothing.
fn method(it: &Method) -> Value {
    let ends = it.difference.interval;
    let needed = it
        .needed
        .map(|(n, cuttings)| json!({"batches": n, "cuttings": cuttings}));
    let cautions = it.cautions.iter();
    let cautions = cautions.map(|caution| verdicts::caution(&it.comparison, caution));
    json!({
        "taxon": it.taxon, "by": it.by.word(), "day": it.horizon,
        "arms": it.arms.iter().map(arm).collect::<Vec<_>>(),
        "difference": {
            "value": number(it.difference.value), "low": number(ends.low), "high": number(ends.high),
        },
        "p": number(it.p), "p_holm": number(it.holm),
        "verdict": if it.decided { "difference" } else { "undecided" },
        "needed": needed, "cautions": cautions.collect::<Vec<_>>(),
    })
}

fn next(it: &Advice) -> Value {
    let words = advice(it);
    match it {
        Advice::Prefer(way) => json!({"what": "prefer", "words": words, "way": method(way)}),
        Advice::Try(way) => json!({"what": "try", "words": words, "way": method(way)}),
        Advice::Pays(of) => json!({"what": "does-not-pay", "words": words, "kind": kind(of)}),
        Advice::Late { planned: of, days } => json!({
            "what": "late", "words": words, "wanted": planned(of), "days": days,
        }),
        Advice::Short(of) => json!({"what": "short", "words": words, "wanted": planned(of)}),
    }
}
