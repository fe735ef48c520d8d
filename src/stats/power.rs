//! How many batches an arm settle a difference: formula and simulation. It must not decide what
//! difference is worth having.

use super::arrange::Layout;
use super::counts::BetaBinomial;
use super::dice::Dice;
use super::distributions::{normal_cdf, normal_quantile, t_quantile};
use super::limits::{OutOfRange, within};
use super::permute::Draw;

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

    /// Approximate power of the two-sided permutation test over its bar.
    ///
    /// With one cutting a batch the test is Fisher's, and this is the formula of Casagrande, Pike &
    /// Smith (1978). Otherwise batches' shares are taken as normal, where the permutation test comes
    /// near Student's: noncentral t by Abramowitz & Stegun 26.7.10, at the level that the number of
    /// arrangements lets the test attain, with half a step of the difference taken off for continuity.
    fn power(&self, bar: &Bar) -> f64 {
        let gap = self.gap() - 1.0 / (bar.batches * f64::from(self.cuttings));
        let actual = (self.within_variances() / bar.batches).sqrt();
        if actual == 0.0 {
            return if gap > 0.0 { 1.0 } else { 0.0 };
        }
        if self.cuttings == 1 {
            let z = normal_quantile(1.0 - 0.5 * bar.level);
            let beyond = gap - z * (2.0 * self.total_variance() / bar.batches).sqrt();
            return normal_cdf(beyond / actual);
        }
        bar.cleared_by(gap / actual)
    }

    /// Whether the permutation test finds a difference in one simulated trial. Batches of one size, as many in either
    /// arm: then studentising changes no p, and the sum of one arm tells as much.
    fn finds(&self, batches: u32, alpha: f64, dice: &mut Dice, draw: Draw) -> bool {
        let mut reached: Vec<f64> = Vec::with_capacity(2 * batches as usize);
        for &mu in &self.shares {
            // Shares and correlation were checked on construction.
            let Ok(model) = BetaBinomial::new(mu, self.rho) else {
                return false;
            };
            let counts = model.counts(self.cuttings);
            reached.extend((0..batches).map(|_| counts.draw(dice.unit()) as f64));
        }
        let labels = (0..2 * batches).map(|at| u8::from(at >= batches)).collect();
        let layout = Layout::new(&[labels]);
        let middle = 0.5 * reached.iter().sum::<f64>();
        let off = |labels: &[u8]| {
            let first = reached.iter().zip(labels).filter(|(_, label)| **label == 0);
            (first.map(|(count, _)| count).sum::<f64>() - middle).abs()
        };
        let observed = off(layout.labels());
        let (mut far, mut all) = (0u32, 0u32);
        layout.each(draw.seed, draw.draws, draw.all_up_to, |labels| {
            far += u32::from(off(labels) >= observed - 1e-9);
            all += 1;
        });
        f64::from(far) <= alpha * f64::from(all)
    }
}

/// Designs that what was seen leaves open, each as likely: an assurance is the power averaged over them (O'Hagan,
/// Stevens & Campbell 2005, *Pharmaceutical Statistics* 4:187).
#[derive(Debug, Clone, PartialEq)]
pub struct OpenDesigns(Vec<Design>);

impl OpenDesigns {
    /// Makes the designs that stay open when the gap between `shares` is real, their level is known from as many batches
    /// as the spread has replicates, and the correlation is known from `rho`.
    ///
    /// # Errors
    /// As [`Design::new`].
    pub fn new(shares: [f64; 2], rho: EstimatedSpread, cuttings: u32) -> Result<Self, OutOfRange> {
        let n = f64::from(cuttings);
        let middle = 0.5 * (shares[0] + shares[1]);
        let inflation = 1.0 + (n - 1.0) * rho.value.clamp(0.0, 1.0);
        let sd = (middle * (1.0 - middle) * inflation / (n * (rho.freedom + 2.0))).sqrt();
        let mut out = Vec::new();
        // Equally likely thirds of a normal level, by their means.
        for z in [-1.09, 0.0, 1.09] {
            let room = (
                0.0 - shares[0].min(shares[1]),
                1.0 - shares[0].max(shares[1]),
            );
            let shift = (z * sd).clamp(room.0, room.1);
            for part in rho.ratios() {
                let open = ((inflation * part - 1.0) / (n - 1.0).max(1.0)).clamp(0.0, 1.0);
                let moved = shares.map(|share| (share + shift).clamp(0.0, 1.0));
                out.push(Design::new(moved, open, cuttings)?);
            }
        }
        Ok(Self(out))
    }

    /// The average power, by formula.
    #[must_use]
    pub fn power(&self, batches: u32, alpha: f64) -> f64 {
        let bar = Bar::new(batches, alpha);
        let each = self.0.iter().map(|design| {
            let bar = bar.as_ref();
            bar.map_or(0.0, |bar| design.power(bar))
        });
        each.sum::<f64>() / self.0.len() as f64
    }

    /// The average power by simulating `trials` trials in turn among the designs, seeded.
    #[must_use]
    pub fn simulate(&self, batches: u32, alpha: f64, trials: u32, seed: u64) -> Power {
        let mut dice = Dice::new(seed);
        let draw = Draw {
            seed: seed.wrapping_add(1),
            draws: 299,
            all_up_to: 500.0,
        };
        let designs = self.0.iter().cycle().take(trials as usize);
        let found = designs.filter(|design| design.finds(batches, alpha, &mut dice, draw));
        let value = found.count() as f64 / f64::from(trials.max(1));
        Power {
            value,
            standard_error: (value * (1.0 - value) / f64::from(trials.max(1))).sqrt(),
            trials,
        }
    }
}

/// A spread between replicates with the degrees of freedom that it is known on: a correlation or a standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EstimatedSpread {
    /// As estimated.
    pub value: f64,
    /// Replicates less the groups that they lie in.
    pub freedom: f64,
}

impl EstimatedSpread {
    /// Nine equally likely ratios of the true variance to the estimated one: freedom over χ², its quantiles by Wilson
    /// and Hilferty (1931, *Proceedings of the National Academy of Sciences* 17:684).
    fn ratios(&self) -> impl Iterator<Item = f64> {
        let freedom = self.freedom.max(1.0);
        (0..9).map(move |at| {
            let z = normal_quantile((f64::from(at) + 0.5) / 9.0);
            let step = 2.0 / (9.0 * freedom);
            // With one degree of freedom the lowest would be nothing at all.
            1.0 / (1.0 - step + z * step.sqrt()).max(0.3).powi(3)
        })
    }
}

/// What a trial is to be planned with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assurance {
    /// Chance of finding the difference, 0.8.
    pub power: f64,
    /// Two-sided level, 0.05.
    pub alpha: f64,
    /// No more batches an arm than this.
    pub limit: u32,
}

impl Assurance {
    /// The fewest batches an arm that reach it; none when the limit is not enough.
    #[must_use]
    pub fn fewest(self, power: impl Fn(u32) -> f64) -> Option<u32> {
        let enough = |batches: u32| power(batches) >= self.power;
        if !enough(self.limit) {
            return None;
        }
        let (mut low, mut high) = (1, self.limit);
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
}

/// The fewest batches an arm of `cuttings` each that find shares as far apart, if the gap is real.
#[must_use]
pub fn batches_for_shares(
    shares: [f64; 2],
    rho: EstimatedSpread,
    cuttings: u32,
    wanted: Assurance,
) -> Option<u32> {
    let designs = OpenDesigns::new(shares, rho, cuttings).ok()?;
    wanted.fewest(|batches| designs.power(batches, wanted.alpha))
}

/// The fewest replicates an arm that find means `gap` apart, if that is real; `sd` is the standard deviation of a
/// replicate's mean.
#[must_use]
pub fn batches_for_means(gap: f64, sd: EstimatedSpread, wanted: Assurance) -> Option<u32> {
    let sds: Vec<f64> = sd.ratios().map(|ratio| sd.value * ratio.sqrt()).collect();
    wanted.fewest(|batches| {
        let bar = Bar::new(batches, wanted.alpha);
        let each = sds.iter().map(|&sd| {
            let bar = bar.as_ref();
            bar.map_or(0.0, |bar| power_for_means(gap, sd, bar))
        });
        each.sum::<f64>() / sds.len() as f64
    })
}

/// The highest two-sided level up to `alpha` that m batches against m can attain: an even number of
/// the C(2m, m) arrangements; 0 when there is none.
fn attained_level(batches: u32, alpha: f64) -> f64 {
    let ways: f64 = (1..=batches)
        .map(|i| f64::from(batches + i) / f64::from(i))
        .product();
    if ways > 1e9 {
        return alpha;
    }
    2.0 * (0.5 * alpha * ways.round() + 1e-9).floor() / ways.round()
}

/// What a difference has to clear with so many replicates an arm: the same for whatever difference is there.
struct Bar {
    batches: f64,
    /// The level that the number of arrangements lets the test attain.
    level: f64,
    /// Degrees of freedom.
    df: f64,
    /// Student's quantile at the level.
    t: f64,
}

impl Bar {
    /// The bar for `batches` an arm at level `alpha`; `None` when so few cannot reach the level, and so have no power.
    fn new(batches: u32, alpha: f64) -> Option<Self> {
        let level = attained_level(batches, alpha);
        let df = 2.0 * f64::from(batches) - 2.0;
        (level > 0.0).then(|| Self {
            batches: f64::from(batches),
            level,
            df,
            t: t_quantile(1.0 - 0.5 * level, df),
        })
    }

    /// The chance that a difference of so many standard errors clears it: noncentral t by Abramowitz & Stegun 26.7.10.
    fn cleared_by(&self, errors: f64) -> f64 {
        let shifted = errors - self.t * (1.0 - 0.25 / self.df);
        normal_cdf(shifted / (1.0 + 0.5 * self.t * self.t / self.df).sqrt())
    }
}

/// Approximate power of the two-sided permutation test of two arms whose means differ by `gap` and whose replicates vary
/// with standard deviation `sd`.
fn power_for_means(gap: f64, sd: f64, bar: &Bar) -> f64 {
    let error = sd * (2.0 / bar.batches).sqrt();
    if error <= 0.0 {
        return if gap.abs() > 0.0 { 1.0 } else { 0.0 };
    }
    bar.cleared_by(gap.abs() / error)
}

// How many to stick: chances of at least so many, and the fewest that reach an assurance.
// It must not know the ladder from stuck to saleable; the caller gives the share.

/// The fewest that do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fewest {
    /// How many.
    pub n: u32,
    /// The chance with that many.
    pub chance: f64,
}

/// A chance that falls short of the assurance by no more than this does so by rounding alone.
const ROUNDING: f64 = 1e-12;

/// The fewest with a chance of at least `assurance`, from `wanted` up to `limit`, for a chance that never falls as
/// the number grows. None when even `limit` falls short.
pub fn search(
    wanted: u32,
    limit: u32,
    assurance: f64,
    chance: impl Fn(u32) -> f64,
) -> Option<Fewest> {
    if wanted > limit {
        return None;
    }
    let (mut short, mut enough) = (wanted, wanted.max(1));
    while chance(enough) < assurance - ROUNDING {
        if enough >= limit {
            return None;
        }
        short = enough + 1;
        enough = enough.saturating_mul(2).min(limit);
    }
    while short < enough {
        let middle = short + (enough - short) / 2;
        if chance(middle) < assurance - ROUNDING {
            short = middle + 1;
        } else {
            enough = middle;
        }
    }
    Some(Fewest {
        n: enough,
        chance: chance(enough),
    })
}
