//! Joint maximum-likelihood estimate for interval-censored times with two competing outcomes.
//! It must not know what the outcomes are, nor draw a conclusion from them.

mod face;
mod solve;
mod support;

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
        let outcome = Some(Outcome::Reached);
        Self {
            left,
            right,
            outcome,
            weight,
        }
    }

    /// `weight` units that met the competing event first, in (`left`, `right`].
    #[must_use]
    pub fn lost(left: f64, right: f64, weight: f64) -> Self {
        let outcome = Some(Outcome::Lost);
        Self {
            left,
            right,
            outcome,
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
        let placed = self.left.is_finite() && (self.event().is_none() || self.left < self.right);
        placed && !self.right.is_nan() && self.weight.is_finite() && self.weight > 0.0
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

    /// Whether the maximum was reached to within [`Self::CERTIFIED`].
    #[must_use]
    pub fn is_certified(&self) -> bool {
        self.gap <= Self::CERTIFIED
    }

    /// Share that reached the event by `tau`.
    #[must_use]
    pub fn reached(&self) -> f64 {
        self.curve.iter().map(|m| m.mass).sum()
    }

    /// Share that met the competing event first, by `tau`.
    #[must_use]
    pub fn lost_first(&self) -> f64 {
        self.lost.iter().map(|m| m.mass).sum()
    }
}

/// The joint nonparametric maximum-likelihood estimate over (interval, outcome):
/// Hudgens, Satten & Longini 2001, Biometrics 57:74. Without `Lost` rows it is Turnbull's
/// (1976, JRSS B 38:290), with exact days Aalen–Johansen's, with both Kaplan–Meier's.
///
/// `None` when no row is usable. The order of rows does not change a bit of the result. Where
/// the likelihood leaves the masses undetermined (Gentleman & Geyer 1994) one maximiser is
/// returned. A maximum that could not be certified shows in `gap`.
#[must_use]
pub fn estimate(rows: &[Row]) -> Option<Estimate> {
    from(rows, None, solve::GAP)
}

/// The same estimate, sought from one of like rows, as when rows are resampled: sooner found, to
/// the same certificate.
#[must_use]
pub fn estimate_near(rows: &[Row], near: &Estimate) -> Option<Estimate> {
    from(rows, Some(near), solve::GAP)
}

/// As [`estimate_near`], but stopping once no distribution has a log-likelihood higher by more than `gap`.
#[must_use]
pub fn estimate_within(rows: &[Row], near: &Estimate, gap: f64) -> Option<Estimate> {
    from(rows, Some(near), gap)
}

fn from(rows: &[Row], near: Option<&Estimate>, gap: f64) -> Option<Estimate> {
    let rows = support::merged(rows);
    let (first, rest) = rows.split_first()?;
    let end = |row: &Row| {
        if row.event().is_some() {
            row.right
        } else {
            row.left
        }
    };
    let tau = rest.iter().map(end).fold(end(first), f64::max);
    let folded = support::fold(&rows);
    let start = near.map(|near| folded.masses_near(near));
    let solution = solve::maximise(&folded.problem, start, gap);
    let (curve, lost, later) = folded.unfold(&solution.masses);
    Some(Estimate {
        curve,
        lost,
        later,
        tau,
        n: folded.problem.total,
        loglik: solution.loglik,
        gap: solution.gap,
        iterations: solution.iterations,
    })
}
