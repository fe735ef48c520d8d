//! What is observed, as weighted rows, and what is estimated from them, as masses. It computes nothing.

/// Which of the two competing outcomes ended the wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// The event of interest happened first.
    Reached,
    /// The competing event happened first.
    Lost,
}

/// A weighted observation: `outcome` happened in (`left`, `right`], or nothing had by `left`.
///
/// An infinite `right` or an absent `outcome` means *not yet at `left`*: either outcome may
/// follow. Weights may be fractional.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// The last day on which nothing had happened yet.
    pub left: f64,
    /// The day by which it had happened; infinite for *not yet*.
    pub right: f64,
    /// What happened; `None` for *not yet*.
    pub outcome: Option<Outcome>,
    /// How many units this row stands for; rows of no positive weight are ignored.
    pub weight: f64,
}

impl Row {
    /// `weight` units that reached the event in (`left`, `right`].
    #[must_use]
    pub fn reached(left: f64, right: f64, weight: f64) -> Self {
        Self::ended(Outcome::Reached, (left, right), weight)
    }

    /// `weight` units that met the competing event first, in (`left`, `right`].
    #[must_use]
    pub fn lost(left: f64, right: f64, weight: f64) -> Self {
        Self::ended(Outcome::Lost, (left, right), weight)
    }

    fn ended(outcome: Outcome, (left, right): (f64, f64), weight: f64) -> Self {
        Self {
            left,
            right,
            outcome: Some(outcome),
            weight,
        }
    }

    /// `weight` units to which nothing had happened by `left`.
    #[must_use]
    pub fn not_yet(left: f64, weight: f64) -> Self {
        Self {
            left,
            right: f64::INFINITY,
            outcome: None,
            weight,
        }
    }

    /// The outcome, if one was seen within finite bounds.
    #[must_use]
    pub fn event(&self) -> Option<Outcome> {
        self.outcome.filter(|_| self.right.is_finite())
    }

    /// Whether the row says anything: finite `left` before `right`, finite positive weight.
    #[must_use]
    pub fn is_usable(&self) -> bool {
        self.is_placed() && self.weight.is_finite() && self.weight > 0.0
    }

    /// Whether its ends make sense.
    pub(super) fn is_placed(&self) -> bool {
        let placed = self.left.is_finite() && (self.event().is_none() || self.left < self.right);
        placed && !self.right.is_nan()
    }
}

/// Probability mass inside a support interval (`after`, `by`]; where inside is not known.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Mass {
    /// Open lower end, in days.
    pub after: f64,
    /// Closed upper end, in days; finite.
    pub by: f64,
    /// Share of all units, above 0 and at most 1.
    pub mass: f64,
}

/// The estimate: three kinds of mass that sum to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// Masses of *reached*, in order of time.
    pub curve: Vec<Mass>,
    /// Masses of *lost first*, in order of time.
    pub lost: Vec<Mass>,
    /// Mass beyond the last support interval: watched, neither yet.
    pub later: f64,
    /// The largest finite interval end among the rows, in days.
    pub tau: f64,
    /// Sum of the weights.
    pub n: f64,
    /// Log-likelihood at these masses.
    pub loglik: f64,
    /// n (max gradient / n − 1): no distribution has a log-likelihood above `loglik + gap`.
    pub gap: f64,
    /// Iterations used.
    pub iterations: u32,
}

impl Estimate {
    /// The gap at which the maximum counts as certified.
    pub const CERTIFIED: f64 = 1e-8;

    /// Share that reached the event by `tau`.
    #[must_use]
    pub fn reached(&self) -> f64 {
        self.curve.iter().map(|m| m.mass).sum()
    }
}
