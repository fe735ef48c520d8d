//! Tail areas and quantiles built on the special functions. It must not hold statistics.

use super::special::{inc_beta, inc_gamma};

/// Upper tail of the χ² distribution with `df` > 0 degrees of freedom at `x` ≥ 0: Q(df/2, x/2).
#[must_use]
pub fn chi_square_upper(x: f64, df: f64) -> f64 {
    inc_gamma(0.5 * df, 0.5 * x.max(0.0)).1
}

/// Quantile of the beta distribution with `a`, `b` > 0 for `p` in 0..=1, by bisection of the
/// incomplete beta function to the last digit.
#[must_use]
pub fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    let (mut low, mut high) = (0.0f64, 1.0f64);
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        if inc_beta(a, b, middle) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
}
