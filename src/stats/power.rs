//! How many batches an arm settle a difference: formula and simulation. It must not decide what
//! difference is worth having.

use super::counts::BetaBinomial;
use super::dice::Dice;
use super::limits::{OutOfRange, within};
use super::permute::{self, Draw, Replicate};
use super::special::{normal_cdf, normal_quantile, t_quantile};

/// The fewest batches an arm with which a two-sided permutation test can reach p ≤ 0.05 at all:
/// of 4 + 4 there are 70 arrangements, 2/70 ≤ 0.05 < 2/20.
pub const FEWEST_BATCHES: u32 = 4;

/// Cuttings an arm for a two-sided test of two shares, each cutting by itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cuttings {
    /// Without continuity correction, not rounded up (Fleiss 1981, equation 3.14).
    pub plain: f64,
    /// With it, as Fisher's exact test needs (Casagrande, Pike & Smith 1978, *Biometrics* 34:483;
    /// Fleiss, Tytun & Ury 1980, *Biometrics* 36:343).
    pub corrected: f64,
}

/// Cuttings an arm to find `shares` different with chance `power` at two-sided level `alpha`.
///
/// # Errors
/// A share outside 0 to 1, `power` or `alpha` outside 0.0001 to 0.9999, or no difference.
pub fn cuttings_needed(shares: [f64; 2], power: f64, alpha: f64) -> Result<Cuttings, OutOfRange> {
    let design = Design::new(shares, 0.0, 1)?;
    let z_alpha = normal_quantile(1.0 - 0.5 * chance("level", alpha)?);
    let z_power = normal_quantile(chance("power", power)?);
    let gap = within("difference of shares", design.gap(), 1e-6, 1.0)?;
    let spread = z_alpha * (2.0 * design.total_variance()).sqrt()
        + z_power * design.within_variances().sqrt();
    let plain = (spread / gap).powi(2);
    let corrected = 0.25 * plain * (1.0 + (1.0 + 4.0 / (plain * gap)).sqrt()).powi(2);
    Ok(Cuttings { plain, corrected })
}

fn chance(what: &'static str, value: f64) -> Result<f64, OutOfRange> {
    within(what, value, 1e-4, 1.0 - 1e-4)
}

/// A trial of two arms with equally many batches of `cuttings` each, counts beta-binomial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Design {
    shares: [f64; 2],
    rho: f64,
    cuttings: u32,
}

/// Power found by simulation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Power {
    /// Share of simulated trials with p ≤ the level.
    pub value: f64,
    /// Its binomial standard error.
    pub standard_error: f64,
    /// Trials simulated.
    pub trials: u32,
}

impl Design {
    /// True shares of the arms, the correlation within a batch, and the cuttings in a batch.
    ///
    /// # Errors
    /// A share or the correlation outside 0 to 1; no cuttings, or above 100 000.
    pub fn new(shares: [f64; 2], rho: f64, cuttings: u32) -> Result<Self, OutOfRange> {
        for share in shares {
            within("share", share, 0.0, 1.0)?;
        }
        within("correlation", rho, 0.0, 1.0)?;
        within("cuttings in a batch", f64::from(cuttings), 1.0, 1e5)?;
        Ok(Self {
            shares,
            rho,
            cuttings,
        })
    }

    fn gap(&self) -> f64 {
        (self.shares[0] - self.shares[1]).abs()
    }

    /// Sum over the arms of the variance of a batch's share.
    fn within_variances(&self) -> f64 {
        let n = f64::from(self.cuttings);
        let inflation = (1.0 + (n - 1.0) * self.rho) / n;
        self.shares.iter().map(|p| p * (1.0 - p) * inflation).sum()
    }

    /// Variance of a cutting's outcome over both arms, p̄(1 − p̄) with one cutting a batch: the mean
    /// within-arm variance and a quarter of the squared difference.
    fn total_variance(&self) -> f64 {
        0.5 * self.within_variances() + 0.25 * self.gap().powi(2)
    }

    /// Approximate power of the two-sided permutation test at level `alpha` with `batches` an arm.
    ///
    /// With one cutting a batch the test is Fisher's, and this is the formula of Casagrande, Pike &
    /// Smith (1978). Otherwise batches' shares are taken as normal, where the permutation test comes
    /// near Student's: noncentral t by Abramowitz & Stegun 26.7.10, at the level that the number of
    /// arrangements lets the test attain, with half a step of the difference taken off for continuity.
    /// 0 when so few batches cannot reach the level.
    #[must_use]
    pub fn power(&self, batches: u32, alpha: f64) -> f64 {
        let level = attained_level(batches, alpha);
        if level <= 0.0 {
            return 0.0;
        }
        let m = f64::from(batches);
        let gap = self.gap() - 1.0 / (m * f64::from(self.cuttings));
        let actual = (self.within_variances() / m).sqrt();
        if actual == 0.0 {
            return if gap > 0.0 { 1.0 } else { 0.0 };
        }
        if self.cuttings == 1 {
            let z = normal_quantile(1.0 - 0.5 * level);
            let beyond = gap - z * (2.0 * self.total_variance() / m).sqrt();
            return normal_cdf(beyond / actual);
        }
        let df = 2.0 * m - 2.0;
        let t = t_quantile(1.0 - 0.5 * level, df);
        let shifted = gap / actual - t * (1.0 - 0.25 / df);
        normal_cdf(shifted / (1.0 + 0.5 * t * t / df).sqrt())
    }

    /// The fewest batches an arm for chance `power` at two-sided level `alpha`, at most `limit`; at
    /// least the fewest that can reach the level at all. None when `limit` is not enough (always so
    /// for equal shares).
    #[must_use]
    pub fn batches_needed(&self, power: f64, alpha: f64, limit: u32) -> Option<u32> {
        let enough = |batches: u32| self.power(batches, alpha) >= power;
        if !enough(limit) {
            return None;
        }
        let (mut low, mut high) = (1, limit);
        while low < high {
            let middle = low + (high - low) / 2;
            if enough(middle) {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        Some(high)
    }

    /// Power of the permutation test of whole batches by simulating `trials` trials, seeded.
    #[must_use]
    pub fn simulate(&self, batches: u32, alpha: f64, trials: u32, seed: u64) -> Power {
        let mut dice = Dice::new(seed);
        let arms = self.shares.map(|mu| {
            // Shares and correlation were checked on construction.
            BetaBinomial::new(mu, self.rho).map(|model| model.counts(self.cuttings))
        });
        let draw = Draw {
            seed: seed.wrapping_add(1),
            draws: 999,
            all_up_to: 1000.0,
        };
        let mut found = 0u32;
        for _ in 0..trials {
            let mut stratum = Vec::with_capacity(2 * batches as usize);
            for (arm, counts) in (0u8..).zip(arms.iter().flatten()) {
                for _ in 0..batches {
                    stratum.push(Replicate {
                        arm,
                        sum: counts.draw(dice.unit()) as f64,
                        weight: f64::from(self.cuttings),
                    });
                }
            }
            let tested = permute::difference(&[stratum], draw);
            found += u32::from(tested.is_some_and(|t| t.p <= alpha));
        }
        let value = f64::from(found) / f64::from(trials.max(1));
        Power {
            value,
            standard_error: (value * (1.0 - value) / f64::from(trials.max(1))).sqrt(),
            trials,
        }
    }
}

/// The highest two-sided level up to `alpha` that m batches against m can attain: an even number of
/// the C(2m, m) arrangements; 0 when there is none.
pub(crate) fn attained_level(batches: u32, alpha: f64) -> f64 {
    let ways: f64 = (1..=batches)
        .map(|i| f64::from(batches + i) / f64::from(i))
        .product();
    if ways > 1e9 {
        return alpha;
    }
    2.0 * (0.5 * alpha * ways.round() + 1e-9).floor() / ways.round()
}

/// Approximate power of the two-sided permutation test of two arms of `m` replicates each, whose means
/// differ by `gap` and vary with standard deviation `sd`: noncentral t by Abramowitz & Stegun 26.7.10,
/// at the level that the number of arrangements lets the test attain. 0 when so few cannot reach it.
#[must_use]
pub fn power_for_means(gap: f64, sd: f64, m: u32, alpha: f64) -> f64 {
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
    (2..=limit).find(|&m| power_for_means(gap, sd, m, alpha) >= wanted)
}
