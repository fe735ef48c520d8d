//! Plans as JSON: the documented shape, in the documented order.

use super::json::number;
use crate::analysis::expect::ladder::Rung;
use crate::analysis::plan::{InHand, Offer, Plan, Plans, TrayRoom};
use serde_json::{Value, json};

/// The whole answer.
#[must_use]
pub fn of(plans: &Plans) -> Value {
    json!({
        "on": plans.on.to_string(),
        "plans": plans.plans.iter().map(plan).collect::<Vec<_>>(),
        "rooms": plans.rooms.iter().map(|(room, asked)| {
            json!({"place": room.place, "trays": room.trays, "taken": room.taken, "asked": asked})
        }).collect::<Vec<_>>(),
    })
}

fn plan(plan: &Plan) -> Value {
    let wanted = &plan.wanted;
    json!({
        "taxon": wanted.taxon.shown(),
        "wood": wanted.wood.map(|wood| wood.word()),
        "plants": wanted.plants,
        "by": wanted.by.to_string(),
        "assurance": number(wanted.assurance),
        "target": wanted.target.as_ref().map(|asked| asked.id.to_string()),
        "rung": match plan.rung {
            Rung::Rooted => "rooted",
            Rung::Potted => "potted",
            Rung::Ready => "ready",
        },
        "per_plant": plan.per_plant,
        "in_hand": hand(&plan.hand),
        "offers": plan.offers.iter().map(offer).collect::<Vec<_>>(),
        "room": plan.room.as_ref().map(room),
    })
}

fn hand(hand: &InHand) -> Value {
    let each = hand.batches.iter().map(|batch| {
        json!({
            "batch": batch.code,
            "ready": batch.ready,
            "expected": number(batch.expected),
            "in_time": number(batch.in_time),
        })
    });
    json!({
        "batches": each.collect::<Vec<_>>(),
        "ready": hand.ready,
        "expected": number(hand.plants.mean()),
        "p80": {"low": hand.plants.quantile(0.1), "high": hand.plants.quantile(0.9)},
        "chance": number(hand.chance),
    })
}

fn offer(offer: &Offer) -> Value {
    let [middle, sure] = offer.days;
    json!({
        "wood": offer.wood.map(|wood| wood.word()),
        "stick": offer.cuttings(),
        "batches": offer.batches,
        "per_tray": offer.per_tray,
        "trays": offer.trays(),
        "chance": number(offer.chance),
        "fewer": offer.fewer.iter().map(|f| json!({"stick": f.cuttings, "chance": number(f.chance)})).collect::<Vec<_>>(),
        "share": number(offer.share),
        "days": {"middle": number(middle), "assured": number(sure)},
        "latest": offer.latest.map(|day| day.to_string()),
        "window": offer.window.map(|w| json!({"first": w.first, "last": w.last, "batches": w.batches, "own": w.own})),
        "instead": offer.instead.map(|day| day.to_string()),
        "told": offer.told,
    })
}

fn room(room: &TrayRoom) -> Value {
    json!({"place": room.place, "trays": room.trays, "taken": room.taken})
}
