//! How many replicates an arm find a difference of means. It must not decide what difference is worth
//! having.

use super::power::attained_level;
use super::special::{normal_cdf, t_quantile};

/// Approximate power of the two-sided permutation test of two arms of `m` replicates each, whose means
/// differ by `gap` and vary with standard deviation `sd`: noncentral t by Abramowitz & Stegun 26.7.10,
/// at the level that the number of arrangements lets the test attain. 0 when so few cannot reach it.
#[must_use]
pub fn power(gap: f64, sd: f64, m: u32, alpha: f64) -> f64 {
    let level = attained_level(m, alpha);
    if level <= 0.0 {
        return 0.0;
    }
    let error = sd * (2.0 / f64::from(m)).sqrt();
    if error <= 0.0 {
        return if gap.abs() > 0.0 { 1.0 } else { 0.0 };
    }
    let df = 2.0 * f64::from(m) - 2.0;
    let t = t_quantile(1.0 - 0.5 * level, df);
    let shifted = gap.abs() / error - t * (1.0 - 0.25 / df);
    normal_cdf(shifted / (1.0 + 0.5 * t * t / df).sqrt())
}

/// The fewest replicates an arm for chance `wanted` at two-sided level `alpha`, at most `limit`; none
/// when that is not enough.
#[must_use]
pub fn replicates_needed(gap: f64, sd: f64, [wanted, alpha]: [f64; 2], limit: u32) -> Option<u32> {
    (2..=limit).find(|&m| power(gap, sd, m, alpha) >= wanted)
}
