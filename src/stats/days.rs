//! Days read off a curve: quantiles, shares by a day, mean days within a horizon. It must not
//! read more out of a support interval than a straight line.

use super::npmle::Mass;

/// Slack when a cumulative mass is compared with a quantile's share.
const SLACK: f64 = 1e-9;

/// Whose days: of all units, or of those that reached the event by the end of the curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Among {
    /// All units; a quantile above the share that reached does not exist.
    All,
    /// Those that reached: masses are divided by their sum.
    Reached,
}

/// A quantile of the days: known to lie in (`after`, `by`], and put at `at` by a straight line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantile {
    /// Lower end of the support interval, in days.
    pub after: f64,
    /// Upper end of the support interval, in days.
    pub by: f64,
    /// Linear inside the interval, in days.
    pub at: f64,
}

/// The first support interval whose cumulative mass is at least `q` (0 to 1), less 1e-9.
///
/// `curve` is in order of time. `None` if so large a share never reached the event.
#[must_use]
pub fn quantile(curve: &[Mass], q: f64, among: Among) -> Option<Quantile> {
    let whole = match among {
        Among::All => 1.0,
        Among::Reached => curve.iter().map(|m| m.mass).sum(),
    };
    let wanted = q * whole;
    let mut before = 0.0;
    for &Mass { after, by, mass } in curve {
        if before + mass >= wanted - SLACK * whole {
            let part = ((wanted - before) / mass).clamp(0.0, 1.0);
            return Some(Quantile {
                after,
                by,
                at: after + (by - after) * part,
            });
        }
        before += mass;
    }
    None
}

/// Share that reached the event by day `t`, linear inside each support interval.
#[must_use]
pub fn reached_by(curve: &[Mass], t: f64) -> f64 {
    curve.iter().map(|m| m.mass * part_by(m, t)).sum()
}

/// How much of a mass lies at or before `t`, 0 to 1.
fn part_by(mass: &Mass, t: f64) -> f64 {
    ((t - mass.after) / (mass.by - mass.after)).clamp(0.0, 1.0)
}
