//! Distribution functions and quantiles: normal, t, χ², incomplete beta, and the families of waiting times.
//!
//! The arithmetic is the `statrs` library's; the ends of each range are handled here, so that no argument makes it
//! panic.
//!
//! The normal distribution function goes through the library's incomplete gamma function: its error
//! function is exact to 9e-11 only, this way to 1e-14.

use statrs::distribution::{ContinuousCDF, StudentsT};
use statrs::function::beta::checked_beta_reg;
use statrs::function::erf::erfc_inv;
use statrs::function::gamma::{self, checked_gamma_lr, checked_gamma_ur};
use std::f64::consts::SQRT_2;

/// Natural logarithm of the gamma function, for `x` > 0.
#[must_use]
pub fn ln_gamma(x: f64) -> f64 {
    gamma::ln_gamma(x)
}

/// Regularised lower incomplete gamma function P(a, x), for `a` > 0 and `x` ≥ 0.
fn gamma_lower(a: f64, x: f64) -> f64 {
    if x <= 0.0 {
        0.0
    } else if x.is_infinite() {
        1.0
    } else {
        checked_gamma_lr(a, x).unwrap_or(f64::NAN)
    }
}

/// Regularised upper incomplete gamma function Q(a, x) = 1 − P(a, x), for `a` > 0 and `x` ≥ 0.
fn gamma_upper(a: f64, x: f64) -> f64 {
    if x <= 0.0 {
        1.0
    } else if x.is_infinite() {
        0.0
    } else {
        checked_gamma_ur(a, x).unwrap_or(f64::NAN)
    }
}

/// Upper tail of the χ² distribution with `df` > 0 degrees of freedom at `x` ≥ 0: Q(df/2, x/2).
#[must_use]
pub fn chi_square_upper(x: f64, df: f64) -> f64 {
    gamma_upper(0.5 * df, 0.5 * x)
}

/// Regularised incomplete beta function I(x; a, b), for `a`, `b` > 0 and `x` in 0 to 1.
#[must_use]
pub fn inc_beta(a: f64, b: f64, x: f64) -> f64 {
    checked_beta_reg(a, b, x.clamp(0.0, 1.0)).unwrap_or(f64::NAN)
}

/// Standard normal distribution function.
#[must_use]
pub fn normal_cdf(z: f64) -> f64 {
    let half_square = 0.5 * z * z;
    if z < 0.0 {
        0.5 * gamma_upper(0.5, half_square)
    } else {
        0.5 + 0.5 * gamma_lower(0.5, half_square)
    }
}

/// Standard normal quantile, for `p` in 0 to 1 (infinite at the ends).
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    if p <= 0.5 {
        -SQRT_2 * erfc_inv(2.0 * p.max(0.0))
    } else {
        SQRT_2 * erfc_inv(2.0 * (1.0 - p).max(0.0))
    }
}

/// From so many degrees of freedom on Student's quantile is the normal one with terms in their reciprocal, exact to the
/// tenth digit; the library's own inverse loses digits there.
const SERIES_FROM: f64 = 1e3;

/// Student's t quantile, for `p` in 0 to 1 and `df` > 0 (infinite `df`: the normal quantile). Of many degrees of
/// freedom by Abramowitz & Stegun 1964, 26.7.5.
#[must_use]
pub fn t_quantile(p: f64, df: f64) -> f64 {
    if df >= SERIES_FROM || p <= 0.0 || p >= 1.0 {
        let z = normal_quantile(p);
        if df.is_infinite() || z.is_infinite() {
            return z;
        }
        let square = z * z;
        let first = z * (square + 1.0) / 4.0;
        let second = z * (square * (5.0 * square + 16.0) + 3.0) / 96.0;
        let third = z * (square * (square * (3.0 * square + 19.0) + 17.0) - 15.0) / 384.0;
        return z + (first + (second + third / df) / df) / df;
    }
    StudentsT::new(0.0, 1.0, df).map_or(f64::NAN, |law| law.inverse_cdf(p))
}

/// A family of waiting times T: (ln T − location) / scale has a standard form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Family {
    /// The standard form is normal.
    LogNormal,
    /// The standard form is the smallest extreme value; the Weibull shape is 1 / scale.
    Weibull,
}

impl Family {
    /// Distribution function of the standard form at `z`.
    #[must_use]
    pub fn below(self, z: f64) -> f64 {
        match self {
            Self::LogNormal => normal_cdf(z),
            Self::Weibull => -(-z.min(700.0).exp()).exp_m1(),
        }
    }

    /// Quantile of the standard form, `q` in 0 to 1.
    #[must_use]
    pub fn standard_quantile(self, q: f64) -> f64 {
        match self {
            Self::LogNormal => normal_quantile(q),
            Self::Weibull => (-(-q).ln_1p()).ln(),
        }
    }
}

/// Table points from one standard unit to the next.
const FINE: f64 = 64.0;
/// The table reaches from minus to plus so many standard units.
const REACH: f64 = 10.0;

/// The standard form of a family, tabulated; between points by a straight line, which is within 1e-5.
#[derive(Debug, Clone, PartialEq)]
pub struct Lookup {
    /// The family.
    pub family: Family,
    below: Vec<f64>,
}

impl Lookup {
    /// The table of a family.
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
