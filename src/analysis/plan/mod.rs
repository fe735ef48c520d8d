//! Plans: how many to stick, at which wood stage, by when, to have so many plants on a day; and how far targets are
//! on their way. It words nothing, writes nothing and asks no clock.

mod again;
mod hand;
mod room;
mod size;
mod window;

use super::expect::Model;
use super::expect::ladder::{Ladder, Rung};
use crate::fold::Book;
use crate::model::entry::Kind;
use crate::model::id::Id;
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use chrono::{Days, NaiveDate};

pub use again::{Choice, FreshBatch, choice};
pub use hand::{BatchInHand, InHand};
pub use room::TrayRoom;
pub use size::{SmallerPlan, UsualBatch};
pub use window::StickingWindow;

/// No plan asks for more cuttings than this.
pub const MOST: u32 = 20_000;

/// What is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct PlantsWanted {
    /// The plant.
    pub taxon: Taxon,
    /// The wood stage, if only one will do.
    pub wood: Option<Wood>,
    /// Plants.
    pub plants: u32,
    /// On this day at the latest.
    pub by: NaiveDate,
    /// With at least this chance, 0 to 1.
    pub assurance: f64,
    /// The target that asks for it; absent when it was asked for directly.
    pub target: Option<TargetEntry>,
}

/// The entry of a target.
#[derive(Clone, Debug, PartialEq)]
pub struct TargetEntry {
    /// Its id.
    pub id: Id,
    /// The day it was entered for: batches stuck from then on count towards it.
    pub since: NaiveDate,
}

/// A plan for one wood stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// The wood stage; absent where the journal has none recorded.
    pub wood: Option<Wood>,
    /// How many to stick, by batch; empty if none more are needed, or if not even [`MOST`] would do.
    pub batches: Vec<u32>,
    /// Cuttings to a tray, if the journal says.
    pub per_tray: Option<u32>,
    /// The chance of the plants wanted with that many, what is in hand counted in.
    pub chance: f64,
    /// The chance with fewer.
    pub fewer: Vec<SmallerPlan>,
    /// The share of cuttings stuck expected to get to the last rung known.
    pub share: f64,
    /// Days from sticking to the last rung: the middle, and that by which a batch is so far with the assurance.
    pub days: [f64; 2],
    /// The last day to stick: late enough for the wood, early enough for the day wanted.
    pub latest: Option<NaiveDate>,
    /// When the nursery sticks this stage.
    pub window: Option<StickingWindow>,
    /// Without a day left: the first day on which plants stuck at the next chance would be there.
    pub instead: Option<NaiveDate>,
    /// Batches of this taxon and stage that tell of rooting.
    pub told: u32,
}

impl Offer {
    /// Cuttings in all.
    #[must_use]
    pub fn cuttings(&self) -> u32 {
        self.batches.iter().sum()
    }

    /// Trays in all, each batch in its own.
    #[must_use]
    pub fn trays(&self) -> Option<u32> {
        let per_tray = self.per_tray?.max(1);
        Some(self.batches.iter().map(|n| n.div_ceil(per_tray)).sum())
    }
}

/// A plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// What is wanted.
    pub wanted: PlantsWanted,
    /// To which rung the journal knows the way: what counts as a plant.
    pub rung: Rung,
    /// Cuttings to a plant.
    pub per_plant: u32,
    /// What is in hand towards it.
    pub hand: InHand,
    /// One offer a wood stage: those with a day left first, the fewest cuttings first. Empty if the day has passed.
    pub offers: Vec<Offer>,
    /// Where it is usually stuck, and the room there.
    pub room: Option<TrayRoom>,
}

/// Plans for several wants at once, and the room they take together.
#[derive(Clone, Debug, PartialEq)]
pub struct Plans {
    /// As of the end of this day.
    pub on: NaiveDate,
    /// By day wanted.
    pub plans: Vec<Plan>,
    /// For each place: trays asked for by the first offers of all plans, and the room.
    pub rooms: Vec<(TrayRoom, u32)>,
}

/// The targets that stand on a day and have not passed, by day wanted.
#[must_use]
pub fn targets(book: &Book, on: NaiveDate, assurance: f64) -> Vec<PlantsWanted> {
    let mut wanted: Vec<PlantsWanted> = book
        .targets()
        .filter(|standing| standing.entry.at.day() <= on)
        .filter_map(|standing| match &standing.entry.kind {
            Kind::Target(it) if it.by_date >= on => Some(PlantsWanted {
                taxon: book.taxa().resolve(&it.taxon),
                wood: it.wood,
                plants: it.count,
                by: it.by_date,
                assurance,
                target: Some(TargetEntry {
                    id: standing.entry.id.clone(),
                    since: standing.entry.at.day(),
                }),
            }),
            _ => None,
        })
        .collect();
    wanted.sort_by_key(|a| (a.by, a.taxon.key()));
    wanted
}

/// Plans for all that is wanted. `batch`: cuttings to a batch, if not the usual. `go_on`: told how much is done, says
/// whether to go on.
pub fn plans(
    book: &Book,
    model: &Model,
    wanted: &[PlantsWanted],
    batch: Option<u32>,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<Plans> {
    let hands = hand::hands(book, model, wanted);
    let mut plans = Vec::with_capacity(wanted.len());
    for (done, (one, hand)) in wanted.iter().zip(hands).enumerate() {
        if !go_on(done, wanted.len()) {
            return None;
        }
        plans.push(plan(book, model, one, hand, batch));
    }
    Some(Plans {
        on: model.on(),
        rooms: room::together(&plans),
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
    let usual = UsualBatch::of(book, &wanted.taxon, model.on(), batch);
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
            offer.cuttings(),
        )
    });
    Plan {
        rung: model.rung(),
        per_plant: usual.per_plant,
        room: room::of(book, model.on(), &wanted.taxon),
        wanted: wanted.clone(),
        hand,
        offers,
    }
}

/// The wood stages at which a taxon was ever stuck; failing that those of the journal; failing that not recorded.
fn stages(book: &Book, model: &Model, taxon: &Taxon) -> Vec<Option<Wood>> {
    let stuck = || book.batches().iter().filter(|b| b.stuck_on <= model.on());
    let mut own: Vec<Option<Wood>> = stuck()
        .filter(|b| b.taxon.key() == taxon.key())
        .map(|b| b.stick.wood)
        .collect();
    if own.is_empty() {
        own = stuck().map(|b| b.stick.wood).collect();
    }
    if own.iter().any(Option::is_some) {
        own.retain(Option::is_some);
    }
    own.sort_unstable();
    own.dedup();
    if own.is_empty() { vec![None] } else { own }
}

fn offer(
    book: &Book,
    model: &Model,
    wanted: &PlantsWanted,
    hand: &InHand,
    usual: &UsualBatch,
    wood: Option<Wood>,
) -> Offer {
    let ladder: Ladder = model.ladder(&wanted.taxon, wood);
    let found = size::fewest(&ladder, wanted, hand, usual);
    let when = model.days_to_sale(&wanted.taxon, wood);
    let day = |q: f64| {
        let draws = when.as_ref().map_or(&[][..], |when| &when.draws);
        let place = (q * draws.len() as f64).ceil() as usize;
        draws
            .get(place.clamp(1, draws.len().max(1)) - 1)
            .copied()
            .unwrap_or(f64::NAN)
    };
    let days = [day(0.5), day(wanted.assurance)];
    let window = StickingWindow::of(book, &wanted.taxon, wood, model.on());
    let back = |day: f64| {
        wanted
            .by
            .checked_sub_days(Days::new(day.ceil().max(0.0) as u64))
    };
    let last = back(days[1]).filter(|last| *last >= model.on());
    let latest = last.and_then(|last| match &window {
        None => Some(last),
        Some(window) => window.last_within(model.on(), last),
    });
    let instead = if latest.is_some() {
        None
    } else {
        let first = window
            .as_ref()
            .map_or(model.on(), |window| window.next(model.on()));
        first.checked_add_days(Days::new(days[1].ceil().max(0.0) as u64))
    };
    Offer {
        wood,
        batches: found.batches,
        per_tray: usual.per_tray,
        chance: found.chance,
        fewer: found.fewer,
        share: ladder.mean(),
        days,
        latest,
        window,
        instead,
        told: model.kin(&wanted.taxon, wood).same,
    }
}
