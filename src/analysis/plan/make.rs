//! Plans: how many to stick, at which wood stage, by when, to have so many plants on a day. It words nothing.

use super::hand::{InHand, PlantsWanted, hands};
use super::size::{RoomAsked, Sized, Sizing, SmallerPlan, TrayRoom, UsualBatch, tray_room};
use super::window::{StickingWindow, stages};
use crate::analysis::expect::Model;
use crate::analysis::expect::ladder::Rung;
use crate::fold::Book;
use crate::model::entry::Target;
use crate::model::listed::Wood;
use chrono::{Days, NaiveDate};
use serde::Serialize;
use std::collections::BTreeMap;

/// The targets that stand on a day and have not passed, by day wanted.
#[must_use]
pub fn targets(book: &Book, on: NaiveDate, assurance: f64) -> Vec<PlantsWanted> {
    let mut wanted: Vec<PlantsWanted> = book
        .targets()
        .filter(|standing| standing.entry.at.day() <= on)
        .filter_map(|standing| {
            let target = standing.entry.get::<Target>()?;
            (target.by_date >= on).then(|| PlantsWanted {
                taxon: book.taxa().resolve(&target.taxon),
                wood: target.wood,
                plants: target.count,
                by: target.by_date,
                assurance,
                target: Some(standing.entry.id.clone()),
            })
        })
        .collect();
    wanted.sort_by_key(|a| (a.by, a.taxon.key()));
    wanted
}

/// Plans for all that is wanted. `batch` sets the cuttings to a batch, if not the usual number. `go_on` receives how many
/// steps are done and returns
/// whether to go on.
pub fn plans(
    book: &Book,
    model: &Model,
    wanted: &[PlantsWanted],
    batch: Option<u32>,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<Plans> {
    let hands = hands(book, model, wanted);
    let mut plans = Vec::with_capacity(wanted.len());
    for (done, (one, hand)) in wanted.iter().zip(hands).enumerate() {
        if !go_on(done, wanted.len()) {
            return None;
        }
        plans.push(plan(book, model, one, hand, batch));
    }
    Some(Plans {
        on: model.on(),
        rooms: rooms_asked(&plans),
        plans,
    })
}

fn plan(
    book: &Book,
    model: &Model,
    wanted: &PlantsWanted,
    hand: InHand,
    batch: Option<u32>,
) -> Plan {
    let usual = UsualBatch::for_taxon(book, &wanted.taxon, model.on(), batch);
    let stages = match wanted.wood {
        Some(wood) => vec![Some(wood)],
        None => stages(book, model, &wanted.taxon),
    };
    let mut offers: Vec<Offer> = if wanted.by < model.on() {
        Vec::new()
    } else {
        let each = stages.into_iter();
        each.map(|wood| offer(book, model, wanted, &hand, &usual, wood))
            .collect()
    };
    offers.sort_by_key(|offer| {
        let is_guess = offer.told == 0;
        (
            offer.latest.is_none(),
            is_guess,
            offer.batches.is_empty(),
            offer.stick,
        )
    });
    Plan {
        rung: model.rung(),
        per_plant: usual.per_plant,
        room: tray_room(book, model.on(), &wanted.taxon),
        wanted: wanted.clone(),
        hand,
        offers,
    }
}

/// A tenth more cuttings than would do with all the time in the world are stuck where that lets them be stuck later.
const SLACK: f64 = 1.1;
/// No more than so many times as many are stuck to be in time today.
const RUSH: f64 = 4.0;
/// Plants are waited for so many days at most.
const LONGEST: u32 = 1500;

/// How many, when, and with what chance.
struct Timing {
    sized: Sized,
    assured: f64,
    latest: Option<NaiveDate>,
    instead: Option<NaiveDate>,
}

fn offer(
    book: &Book,
    model: &Model,
    wanted: &PlantsWanted,
    hand: &InHand,
    usual: &UsualBatch,
    wood: Option<Wood>,
) -> Offer {
    let now = book.season(model.on());
    let in_season = model.ladder(&wanted.taxon, wood, Some(now));
    // What is stuck in another season is not shifted as this one is.
    let back = Days::new(in_season.day_by(wanted.assurance).clamp(0.0, 3000.0) as u64);
    let stuck = wanted.by.checked_sub_days(back);
    let ladder = match stuck.is_some_and(|day| book.season(day) == now) {
        true => in_season,
        false => model.ladder(&wanted.taxon, wood, None),
    };
    let window = StickingWindow::for_taxon(book, &wanted.taxon, wood, model.on());
    let sizing = Sizing {
        ladder: &ladder,
        wanted,
        hand,
        usual,
    };
    let timing = timing(&sizing, model.on(), window.as_ref());
    let batches = timing.sized.batches;
    let trays = usual.per_tray.map(|per_tray| {
        let each = batches.iter().map(|n: &u32| n.div_ceil(per_tray.max(1)));
        each.sum()
    });
    Offer {
        wood,
        stick: batches.iter().sum(),
        trays: trays.filter(|_| usual.per_tray.is_some()),
        batches,
        per_tray: usual.per_tray,
        chance: timing.sized.chance,
        fewer: timing.sized.fewer,
        share: ladder.mean(),
        days: PlanDays {
            middle: ladder.day_by(0.5),
            assured: timing.assured,
        },
        latest: timing.latest,
        window,
        instead: timing.instead,
        told: model.kin(&wanted.taxon, wood).same,
    }
}

/// The fewest cuttings that make the plants by the day, and the last day to stick them.
fn timing(sizing: &Sizing<'_>, on: NaiveDate, window: Option<&StickingWindow>) -> Timing {
    let by = sizing.wanted.by;
    let none = |sized, assured| Timing {
        sized,
        assured,
        latest: None,
        instead: None,
    };
    let ever = f64::INFINITY;
    let Some(fewest) = sizing.fewest(ever, 1, MOST) else {
        return none(sizing.none(), sizing.ladder.day_by(sizing.wanted.assurance));
    };
    if fewest == 0 {
        return none(sizing.none(), sizing.ladder.day_by(sizing.wanted.assurance));
    }
    let most = ((f64::from(fewest) * SLACK).ceil() as u32)
        .max(fewest + 1)
        .min(MOST);
    let assured = sizing.first_day(most, LONGEST);
    let holds = |day: NaiveDate| window.is_none_or(|window| window.holds(day));
    let last = by
        .checked_sub_days(Days::new(assured.into()))
        .filter(|last| *last >= on);
    let latest = last.and_then(|last| match window {
        None => Some(last),
        Some(window) => window.last_within(on, last),
    });
    let left = u32::try_from((by - on).num_days()).unwrap_or(0);
    let (latest, sized) = match latest {
        Some(day) => {
            let days = (by - day).num_days() as f64;
            let n = sizing.fewest(days, fewest, most).unwrap_or(most);
            (Some(day), sizing.sized(n, days))
        }
        // Too late for the usual number: today, if more cuttings make up for it.
        None if last.is_none() && left > 0 && holds(on) => {
            let limit = ((f64::from(fewest) * RUSH) as u32).min(MOST);
            match sizing.fewest(left.into(), fewest, limit) {
                Some(n) => (Some(on), sizing.sized(n, left.into())),
                None => (None, sizing.sized(fewest, ever)),
            }
        }
        None => (None, sizing.sized(fewest, ever)),
    };
    let instead = latest.is_none().then(|| {
        let first = window.map_or(on, |window| window.next(on));
        first.checked_add_days(Days::new(assured.into()))
    });
    Timing {
        sized,
        assured: assured.into(),
        latest,
        instead: instead.flatten(),
    }
}

/// What the first offers of all plans take of each place.
fn rooms_asked(plans: &[Plan]) -> Vec<RoomAsked> {
    let mut sums: BTreeMap<String, RoomAsked> = BTreeMap::new();
    for plan in plans {
        let offer = plan.offers.first().filter(|offer| offer.latest.is_some());
        let (Some(room), Some(trays)) = (&plan.room, offer.and_then(|offer| offer.trays)) else {
            continue;
        };
        let room = room.clone();
        let held = sums
            .entry(room.place.clone())
            .or_insert(RoomAsked { room, asked: 0 });
        held.asked += trays;
    }
    sums.into_values().collect()
}

/// No plan asks for more cuttings than this.
pub const MOST: u32 = 20_000;

/// Days since sticking in a plan.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PlanDays {
    /// Half of the plants are ready by then.
    pub middle: f64,
    /// Stuck so long before the day wanted, the cuttings of the plan make the plants with the assurance.
    pub assured: f64,
}

/// A plan for one wood stage.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Offer {
    /// The wood stage; absent where the journal has none recorded.
    pub wood: Option<Wood>,
    /// Cuttings to stick; 0 if none more are needed, or if not even [`MOST`] would do.
    pub stick: u32,
    /// The number of cuttings in each batch.
    pub batches: Vec<u32>,
    /// Cuttings to a tray, if the journal says.
    pub per_tray: Option<u32>,
    /// Trays, each batch in its own.
    pub trays: Option<u32>,
    /// The chance of the plants wanted by the day with that many stuck on the latest day, what is in hand counted in; in the
    /// end, where no day is left.
    pub chance: f64,
    /// The chance with fewer.
    pub fewer: Vec<SmallerPlan>,
    /// The share of cuttings stuck expected to get to the last rung known, in the end.
    pub share: f64,
    /// Days from sticking to the last rung.
    pub days: PlanDays,
    /// The last day to stick: late enough for the wood, early enough for the day wanted.
    pub latest: Option<NaiveDate>,
    /// When the nursery sticks this stage.
    pub window: Option<StickingWindow>,
    /// Without a day left: the first day on which plants stuck at the next chance would be there.
    pub instead: Option<NaiveDate>,
    /// Batches of this taxon and stage that tell of rooting.
    pub told: u32,
}

/// A plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    /// What is wanted.
    #[serde(flatten)]
    pub wanted: PlantsWanted,
    /// To which rung the journal knows the way: what counts as a plant.
    pub rung: Rung,
    /// Cuttings to a plant.
    pub per_plant: u32,
    /// What is in hand towards it.
    #[serde(rename = "in_hand")]
    pub hand: InHand,
    /// One offer a wood stage: those with a day left first, the fewest cuttings first. Empty if the day has passed.
    pub offers: Vec<Offer>,
    /// The place where it is usually stuck, with the room there.
    pub room: Option<TrayRoom>,
}

/// Plans for several wants at once, and the room they take together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plans {
    /// The day at whose end the journal is read.
    pub on: NaiveDate,
    /// The plans, by the day wanted.
    pub plans: Vec<Plan>,
    /// For each place: the room, and the trays asked for by the first offers of all plans.
    pub rooms: Vec<RoomAsked>,
}
