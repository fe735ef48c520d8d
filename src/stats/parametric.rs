//! Two-parameter distributions of days fitted to interval-censored rows. It must not choose
//! among them, nor pool groups.

use super::npmle::{Outcome, Row};
use super::special::{normal_cdf, normal_density, normal_quantile};

/// A distribution of days T such that (ln T − intercept) / scale has a standard form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Family {
    /// Standard form: normal.
    LogNormal,
    /// Standard form: smallest extreme value; the Weibull shape is 1 / scale.
    Weibull,
    /// Standard form: logistic.
    LogLogistic,
}

/// A standard form at one point: distribution function, survival, density, slope of the density.
#[derive(Clone, Copy)]
struct Standard {
    below: f64,
    above: f64,
    density: f64,
    slope: f64,
}

impl Family {
    fn standard(self, z: f64) -> Standard {
        if z.is_infinite() {
            let below = if z > 0.0 { 1.0 } else { 0.0 };
            return Standard {
                below,
                above: 1.0 - below,
                density: 0.0,
                slope: 0.0,
            };
        }
        match self {
            Self::LogNormal => {
                let density = normal_density(z);
                let (below, above) = (normal_cdf(z), normal_cdf(-z));
                Standard {
                    below,
                    above,
                    density,
                    slope: -z * density,
                }
            }
            Self::Weibull => {
                let hazard = z.min(700.0).exp();
                let (below, above) = (-(-hazard).exp_m1(), (-hazard).exp());
                let density = (z - hazard).exp();
                Standard {
                    below,
                    above,
                    density,
                    slope: density * (1.0 - hazard),
                }
            }
            Self::LogLogistic => {
                let (below, above) = (1.0 / (1.0 + (-z).exp()), 1.0 / (1.0 + z.exp()));
                let density = below * above;
                Standard {
                    below,
                    above,
                    density,
                    slope: density * (above - below),
                }
            }
        }
    }

    /// Distribution function of the standard form at `z`.
    #[must_use]
    pub fn below(self, z: f64) -> f64 {
        self.standard(z).below
    }

    /// Quantile of the standard form, `q` in 0 to 1.
    #[must_use]
    pub fn standard_quantile(self, q: f64) -> f64 {
        match self {
            Self::LogNormal => normal_quantile(q),
            Self::Weibull => (-(-q).ln_1p()).ln(),
            Self::LogLogistic => (q / (1.0 - q)).ln(),
        }
    }
}

/// A fitted distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// The family fitted.
    pub family: Family,
    /// Location of ln T.
    pub intercept: f64,
    /// Scale of ln T, above 0.
    pub scale: f64,
    /// Log-likelihood at the maximum.
    pub loglik: f64,
    /// Covariance matrix of (intercept, ln scale): inverse of the observed information.
    pub covariance: [[f64; 2]; 2],
    /// Sum of the weights.
    pub n: f64,
}

impl Fit {
    /// Day by which the share `q` (0 to 1) has reached the event.
    #[must_use]
    pub fn quantile(&self, q: f64) -> f64 {
        (self.intercept + self.scale * self.family.standard_quantile(q)).exp()
    }

    /// Share that has reached the event by day `t`.
    #[must_use]
    pub fn reached_by(&self, t: f64) -> f64 {
        self.family
            .standard((t.max(0.0).ln() - self.intercept) / self.scale)
            .below
    }

    /// Standard error of the intercept.
    #[must_use]
    pub fn se_intercept(&self) -> f64 {
        self.covariance[0][0].sqrt()
    }

    /// Standard error of the logarithm of the scale.
    #[must_use]
    pub fn se_logscale(&self) -> f64 {
        self.covariance[1][1].sqrt()
    }
}

/// Log-likelihood with its gradient and Hessian in (intercept, ln scale).
#[derive(Clone, Copy)]
struct Likelihood {
    value: f64,
    gradient: [f64; 2],
    /// Second derivatives: (intercept, intercept), (intercept, ln scale), (ln scale, ln scale).
    hessian: [f64; 3],
}

const ITERATIONS: usize = 200;
/// A scale beyond e to this power, either way, has run off: there is no maximum.
const RUN_OFF: f64 = 12.0;
/// A variance above this, on the scale of logarithms, means a likelihood too flat for a maximum.
const FLAT: f64 = 1e4;

/// Maximum-likelihood fit by Newton's method with damping (as in Meeker & Escobar 1998,
/// Statistical Methods for Reliability Data, chapter 8).
///
/// A row contributes P(left < T ≤ right)^weight; *not yet* rows P(T > left); units lost first
/// count as *not yet* at `left`. Days start at 0. `None` if nothing was reached or the
/// likelihood has no maximum, as when all rows share one interval.
#[must_use]
pub fn fit(rows: &[Row], family: Family) -> Option<Fit> {
    let rows: Vec<(f64, f64, f64)> = rows.iter().filter_map(log_ends).collect();
    let n: f64 = rows.iter().map(|r| r.2).sum();
    let (at, here) = climb(&rows, family)?;
    let [mm, ms, ss] = here.hessian;
    let determinant = mm * ss - ms * ms;
    let settled = here.gradient.iter().all(|g| g.abs() < 1e-6 * (1.0 + n));
    let covariance = [
        [-ss / determinant, ms / determinant],
        [ms / determinant, -mm / determinant],
    ];
    let peaked = [0, 1]
        .iter()
        .all(|&k| covariance[k][k] > 0.0 && covariance[k][k] < FLAT);
    (settled && peaked).then(|| Fit {
        family,
        intercept: at[0],
        scale: at[1].exp(),
        loglik: here.value,
        covariance,
        n,
    })
}

/// The highest point that Newton's method reaches; `None` if the scale runs off.
fn climb(rows: &[(f64, f64, f64)], family: Family) -> Option<([f64; 2], Likelihood)> {
    let mut at = start(rows)?;
    let mut here = likelihood(rows, family, at);
    for _ in 0..20 {
        if here.value.is_finite() {
            break;
        }
        at[1] += 0.5;
        here = likelihood(rows, family, at);
    }
    for _ in 0..ITERATIONS {
        if !here.value.is_finite() || at[1].abs() > RUN_OFF {
            return None;
        }
        let step = newton_step(&here);
        let gain = step[0] * here.gradient[0] + step[1] * here.gradient[1];
        if gain.abs() < 1e-18 {
            break;
        }
        let Some((next, likelihood)) = shortened(rows, family, at, step, &here) else {
            break;
        };
        (at, here) = (next, likelihood);
    }
    Some((at, here))
}

/// (ln left, ln right, weight); minus infinity before the start, infinity for *not yet*.
fn log_ends(row: &Row) -> Option<(f64, f64, f64)> {
    let reached = row.event() == Some(Outcome::Reached);
    let right = if reached { row.right } else { f64::INFINITY };
    let told = row.is_usable() && right > 0.0;
    told.then(|| (row.left.max(0.0).ln(), right.ln(), row.weight))
}

/// Mean and spread of the logarithms of rough times; `None` if nothing was reached.
fn start(rows: &[(f64, f64, f64)]) -> Option<[f64; 2]> {
    let rough = |&(left, right, weight): &(f64, f64, f64)| {
        let time = match (left.is_finite(), right.is_finite()) {
            (true, true) => ((left.exp() + right.exp()) / 2.0).ln(),
            (false, true) => right - std::f64::consts::LN_2,
            _ => left,
        };
        (time, weight)
    };
    rows.iter().find(|r| r.1.is_finite())?;
    let told = || rows.iter().map(rough).filter(|(time, _)| time.is_finite());
    let n: f64 = told().map(|(_, w)| w).sum();
    let mean = told().map(|(t, w)| t * w).sum::<f64>() / n;
    let variance = told().map(|(t, w)| w * (t - mean).powi(2)).sum::<f64>() / n;
    Some([mean, variance.sqrt().max(0.2).ln()])
}

fn likelihood(rows: &[(f64, f64, f64)], family: Family, at: [f64; 2]) -> Likelihood {
    let scale = at[1].exp();
    let mut sum = Likelihood {
        value: 0.0,
        gradient: [0.0; 2],
        hessian: [0.0; 3],
    };
    for &(left, right, weight) in rows {
        let ends = [left, right].map(|end| {
            let z = (end - at[0]) / scale;
            let point = family.standard(z);
            (point, if z.is_finite() { z } else { 0.0 })
        });
        let [(low, _), (high, _)] = ends;
        // From whichever side loses fewer digits.
        let upper = low.below > 0.5;
        let chance = if upper {
            low.above - high.above
        } else {
            high.below - low.below
        };
        let [first, second] = ends.map(|(point, z)| derivatives(point, z, scale));
        let by = |k: usize| (second[k] - first[k]) / chance;
        let (m, s) = (by(0), by(1));
        sum.value += weight * chance.max(0.0).ln();
        sum.gradient[0] += weight * m;
        sum.gradient[1] += weight * s;
        sum.hessian[0] += weight * (by(2) - m * m);
        sum.hessian[1] += weight * (by(3) - m * s);
        sum.hessian[2] += weight * (by(4) - s * s);
    }
    sum
}

/// Derivatives of the distribution function at z = (ln t − m) / e^s: by m, s, mm, ms, ss.
fn derivatives(point: Standard, z: f64, scale: f64) -> [f64; 5] {
    let Standard { density, slope, .. } = point;
    let turned = density + z * slope;
    [
        -density / scale,
        -z * density,
        slope / (scale * scale),
        turned / scale,
        z * turned,
    ]
}

/// The Newton step, with the Hessian shifted until it points uphill.
fn newton_step(here: &Likelihood) -> [f64; 2] {
    let [mm, ms, ss] = here.hessian;
    let mut shift = 0.0;
    let size = mm.abs() + ss.abs() + ms.abs() + 1e-12;
    loop {
        let (a, b) = (shift - mm, shift - ss);
        let determinant = a * b - ms * ms;
        if (a > 0.0 && determinant > 1e-12 * size * size) || shift > 1e6 * size {
            let [gm, gs] = here.gradient;
            return [
                (b * gm + ms * gs) / determinant,
                (a * gs + ms * gm) / determinant,
            ];
        }
        shift = if shift == 0.0 {
            1e-6 * size
        } else {
            shift * 10.0
        };
    }
}

/// The step, halved until the likelihood does not fall; ln scale moves by at most 1.
fn shortened(
    rows: &[(f64, f64, f64)],
    family: Family,
    at: [f64; 2],
    step: [f64; 2],
    here: &Likelihood,
) -> Option<([f64; 2], Likelihood)> {
    let mut part = 1.0 / step[1].abs().max(1.0);
    for _ in 0..60 {
        let next = [at[0] + part * step[0], at[1] + part * step[1]];
        let found = likelihood(rows, family, next);
        if found.value >= here.value - 1e-13 * here.value.abs() {
            return Some((next, found));
        }
        part /= 2.0;
    }
    None
}

/// Table points from one standard unit to the next.
const FINE: f64 = 64.0;
/// The table reaches from minus to plus so many standard units.
const REACH: f64 = 10.0;

/// The standard form of a family, tabulated; between points by a straight line, which is within 8e-6.
#[derive(Debug, Clone, PartialEq)]
pub struct Lookup {
    /// The family.
    pub family: Family,
    below: Vec<f64>,
}

impl Lookup {
    /// Of that family.
    #[must_use]
    pub fn new(family: Family) -> Self {
        let points = (2.0 * REACH * FINE) as usize;
        let at = |place: usize| family.below(place as f64 / FINE - REACH);
        Self {
            family,
            below: (0..=points).map(at).collect(),
        }
    }

    /// The distribution function at `z`.
    #[must_use]
    pub fn below(&self, z: f64) -> f64 {
        let place = (z + REACH) * FINE;
        if place.is_nan() || place <= 0.0 {
            return 0.0;
        }
        let first = place as usize;
        match self.below.get(first..first + 2) {
            Some(&[low, high]) => low + (high - low) * (place - first as f64),
            _ => 1.0,
        }
    }
}
