//! The plants that are wanted by a day. It plans nothing.

use crate::model::id::Id;
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use chrono::NaiveDate;
use serde::{Serialize, Serializer};

/// What is wanted.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlantsWanted {
    /// The plant.
    #[serde(serialize_with = "shown")]
    pub taxon: Taxon,
    /// The wood stage, if only one will do.
    pub wood: Option<Wood>,
    /// Plants.
    pub plants: u32,
    /// On this day at the latest.
    pub by: NaiveDate,
    /// With at least this chance, 0 to 1.
    pub assurance: f64,
    /// The entry of the target that asks for it; absent when it was asked for directly.
    pub target: Option<Id>,
}

fn shown<S: Serializer>(taxon: &Taxon, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(&taxon.shown())
}
