//! Plans: how many to stick, at which wood stage, by when, to have so many plants on a day; and how far targets are
//! on their way. It words nothing, writes nothing and asks no clock.

mod again;
mod answer;
mod hand;
mod make;
mod room;
mod size;
mod stages;
mod wanted;
mod window;

pub use again::{Choice, FreshBatch, choice};
pub use answer::{MOST, Offer, Plan, PlanDays, Plans};
pub use hand::{BatchInHand, CountRange, InHand, counted_ready};
pub use make::{plans, targets};
pub use room::{RoomAsked, TrayRoom};
pub use size::{SmallerPlan, UsualBatch};
pub use wanted::PlantsWanted;
pub use window::{StickingWindow, YearDay};
