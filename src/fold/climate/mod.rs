//! The air, light and medium by place and time: a million lines held small, read in time order.
//! It holds what was written; vapour pressure and its like are figures.

mod column;
mod layer;
mod reading;
mod readings;
mod store;

pub use reading::ClimateReading;
pub use readings::{ClimateReadings, PackedPlace, WholeReading};
pub use store::ClimateStore;
