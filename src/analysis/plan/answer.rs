//! The answer of a plan. It plans nothing.

use super::hand::InHand;
use super::hand::PlantsWanted;
use super::size::SmallerPlan;
use super::size::{RoomAsked, TrayRoom};
use super::window::StickingWindow;
use crate::analysis::expect::ladder::Rung;
use crate::model::listed::Wood;
use chrono::NaiveDate;
use serde::Serialize;

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
    /// Where it is usually stuck, and the room there.
    pub room: Option<TrayRoom>,
}

/// Plans for several wants at once, and the room they take together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plans {
    /// As of the end of this day.
    pub on: NaiveDate,
    /// By day wanted.
    pub plans: Vec<Plan>,
    /// For each place: the room, and the trays asked for by the first offers of all plans.
    pub rooms: Vec<RoomAsked>,
}
