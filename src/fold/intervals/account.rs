//! A batch's account: its cuttings by fate and interval for each milestone.

use crate::fold::batch::Milestone;

/// A sum of fractions below this counts as nothing.
pub(super) const CRUMB: f64 = 1e-9;

/// How a cutting's wait for a milestone ended.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum IntervalStatus {
    /// It reached the milestone.
    Reached,
    /// It was lost first.
    Lost,
    /// Neither yet.
    NotYet,
}

impl IntervalStatus {
    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Reached => "reached",
            Self::Lost => "lost",
            Self::NotYet => "not-yet",
        }
    }
}

/// Some of a batch's cuttings of one fate: it came in (`left`, `right`], or had not by `left`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeightedInterval {
    /// Days since sticking on which it had not come.
    pub left: u32,
    /// Days since sticking by which it had; absent only for not yet.
    pub right: Option<u32>,
    /// How many cuttings; fractional if only some of the batch were seen.
    pub weight: f64,
    /// Their fate.
    pub status: IntervalStatus,
}

impl WeightedInterval {
    pub(super) fn ended(status: IntervalStatus, left: u32, right: u32, weight: f64) -> Self {
        // Only on the day of sticking itself can both ends be one day.
        let right = Some(right.max(1));
        Self {
            left,
            right,
            weight,
            status,
        }
    }

    pub(super) fn reached(left: u32, right: u32, weight: f64) -> Self {
        Self::ended(IntervalStatus::Reached, left, right, weight)
    }

    pub(super) fn lost(left: u32, right: u32, weight: f64) -> Self {
        Self::ended(IntervalStatus::Lost, left, right, weight)
    }

    pub(super) fn not_yet(left: u32, weight: f64) -> Self {
        let right = None;
        Self {
            left,
            right,
            weight,
            status: IntervalStatus::NotYet,
        }
    }
}

/// A batch's account for one milestone.
#[derive(Clone, Debug, PartialEq)]
pub struct MilestoneAccount {
    /// Its cuttings by fate and interval, in order; the weights sum to the batch's cuttings.
    pub pieces: Vec<WeightedInterval>,
    /// E: how many ever reached it.
    pub reached: f64,
    /// How many are on the bench still without it.
    pub watched: f64,
    /// The binomial n: how many were seen at the last examination, with those potted or lost.
    pub counted: f64,
    /// Whether it was ever examined, or shown by potting.
    pub examined: bool,
    /// How many were seen to have it on the day of sticking, and are put in the first day.
    pub at_sticking: f64,
    /// The days on which all that remained were counted, in order.
    pub(super) counted_on: Vec<u32>,
}

impl MilestoneAccount {
    /// Raises this account where a later milestone shows more to have reached it: they had this one behind them too.
    /// The latest losses are taken to have reached it before they died, then those last known to wait. All who had it at
    /// the last whole count before a death are in the account already, so a loss reached it after that count.
    pub(super) fn keep_up_with(&mut self, later: &Self) {
        let counted_on = &self.counted_on;
        let counted_before = |death: u32| {
            let days = counted_on.iter().rev();
            days.copied().find(|day| *day < death).unwrap_or(0)
        };
        let mut lacking = later.reached - self.reached;
        let ends = later.pieces.iter().filter_map(|piece| piece.right);
        let (true, true, Some(last)) = (self.examined, lacking > CRUMB, ends.max()) else {
            return;
        };
        self.reached += lacking;
        for status in [IntervalStatus::Lost, IntervalStatus::NotYet] {
            let mut moved = Vec::new();
            let own = self.pieces.iter_mut().rev();
            for piece in own.filter(|piece| piece.status == status) {
                let weight = lacking.min(piece.weight);
                piece.weight -= weight;
                lacking -= weight;
                moved.push(match piece.right {
                    Some(death) => WeightedInterval::reached(counted_before(death), death, weight),
                    None => WeightedInterval::reached(piece.left.min(last - 1), last, weight),
                });
            }
            self.pieces.extend(moved);
        }
        self.pieces.retain(|piece| piece.weight > CRUMB);
        let waiting = self.pieces.iter();
        let waiting = waiting.filter(|piece| piece.status == IntervalStatus::NotYet);
        self.watched = self.watched.min(waiting.map(|piece| piece.weight).sum());
        self.pieces
            .sort_by_key(|piece| (piece.status, piece.left, piece.right));
    }

    /// E(t): how many had surely reached it by day `t`.
    #[must_use]
    pub fn reached_by(&self, t: u32) -> f64 {
        let in_time = |piece: &&WeightedInterval| piece.right.is_some_and(|right| right <= t);
        let reached = self
            .pieces
            .iter()
            .filter(|p| p.status == IntervalStatus::Reached);
        reached.filter(in_time).map(|piece| piece.weight).sum()
    }

    /// How many were last known to wait on a day before `t`: they were not followed to `t`.
    #[must_use]
    pub fn not_followed_to(&self, t: u32) -> f64 {
        let waiting = self
            .pieces
            .iter()
            .filter(|p| p.status == IntervalStatus::NotYet);
        waiting.filter(|p| p.left < t).map(|p| p.weight).sum()
    }
}

/// A batch's account.
#[derive(Clone, Debug, PartialEq)]
pub struct Account {
    /// Its cuttings, parts that left taken off.
    pub stuck: u32,
    /// Still on the bench.
    pub remain: u32,
    /// Lost on the bench, discards for a cause of loss included.
    pub lost: u32,
    /// Whether anything was seen or done to it that says what became of a cutting.
    pub looked: bool,
    /// Looks read from spoken guesses.
    pub guesses: u32,
    /// Looks at a part of what remained.
    pub sampled: u32,
    /// Cuttings discarded without a reason.
    pub unexplained: u32,
    /// The accounts of callus, root and bottom.
    pub(super) milestones: [MilestoneAccount; 3],
}

impl Account {
    /// For one milestone.
    #[must_use]
    pub fn milestone(&self, milestone: Milestone) -> &MilestoneAccount {
        &self.milestones[milestone as usize]
    }

    /// Whether nothing remains on the bench.
    #[must_use]
    pub fn is_closed(&self) -> bool {
        self.remain == 0
    }
}
