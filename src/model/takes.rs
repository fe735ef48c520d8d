//! What an entry takes away: cuttings from the bench, plants from there or from pots.

/// What an entry takes from its batch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Takes {
    /// Nothing.
    Nothing,
    /// This many cuttings leave the bench.
    Cuttings(u32),
    /// This many plants leave the bench; each takes as many cuttings as the batch has to a plant.
    PlantsFromBench(u32),
    /// This many cuttings leave the bench and become a batch of their own.
    Part(u32),
    /// This many plants leave those that stand in pots.
    FromPots(u32),
}

impl Takes {
    /// How many cuttings leave the bench, with so many cuttings to a plant.
    #[must_use]
    pub fn from_bench(self, per_plant: u32) -> u32 {
        match self {
            Self::Nothing | Self::FromPots(_) => 0,
            Self::Cuttings(count) | Self::Part(count) => count,
            Self::PlantsFromBench(plants) => plants.saturating_mul(per_plant),
        }
    }
}
