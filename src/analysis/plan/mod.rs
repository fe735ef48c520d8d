//! Plans: how many to stick, at which wood stage, by when, to have so many plants on a day; and how far targets are
//! on their way. It words nothing, writes nothing and asks no clock.

mod again;
mod hand;
mod make;
mod pots;
mod size;
mod window;

pub use again::{Choice, choice};
pub use hand::PlantsWanted;
pub use hand::{BatchInHand, CountRange, InHand};

pub use make::{MOST, Offer, Plan, Plans, plans, targets};
pub use pots::{PlantsInPots, TaxonInPots, in_pots};
pub use size::RoomAsked;
pub use window::StickingWindow;
