//! Variances of many small samples moderated by what they have in common. It knows no plant.

use statrs::function::gamma::digamma;

/// What the variances of many samples have in common.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VariancePrior {
    /// The variance that the samples scatter around, s₀².
    pub scale: f64,
    /// The degrees of freedom that it is worth, d₀; infinite where the samples differ no more than by chance.
    pub df: f64,
}

/// The prior of sample variances, each with its degrees of freedom, both above 0: Smyth 2004, *Statistical
/// Applications in Genetics and Molecular Biology* 3(1):3, section 6.2. `None` for fewer than two samples.
#[must_use]
pub fn variance_prior(samples: &[(f64, f64)]) -> Option<VariancePrior> {
    if samples.len() < 2 {
        return None;
    }
    let n = samples.len() as f64;
    let logs: Vec<f64> = samples
        .iter()
        .map(|(variance, df)| variance.ln() - digamma(df / 2.0) + (df / 2.0).ln())
        .collect();
    let mean = logs.iter().sum::<f64>() / n;
    let scatter: f64 = logs.iter().map(|log| (log - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let chance = samples
        .iter()
        .map(|(_, df)| trigamma(df / 2.0))
        .sum::<f64>()
        / n;
    Some(if scatter > chance {
        let half = trigamma_inverse(scatter - chance);
        VariancePrior {
            scale: (mean + digamma(half) - half.ln()).exp(),
            df: 2.0 * half,
        }
    } else {
        VariancePrior {
            scale: mean.exp(),
            df: f64::INFINITY,
        }
    })
}

/// From this argument on the asymptotic series is exact to the last digits.
const SERIES_FROM: f64 = 12.0;

/// ψ′(x) for `x` > 0: recurrence and asymptotic series (Abramowitz & Stegun 1964, 6.4.6 and 6.4.12).
#[must_use]
pub fn trigamma(x: f64) -> f64 {
    let (mut x, mut sum) = (x, 0.0);
    while x < SERIES_FROM {
        sum += 1.0 / (x * x);
        x += 1.0;
    }
    let square = 1.0 / (x * x);
    let series = 1.0 / 30.0 - square * (1.0 / 42.0 - square * (1.0 / 30.0 - square * 5.0 / 66.0));
    sum + 1.0 / x + 0.5 * square + square / x * (1.0 / 6.0 - square * series)
}

/// The x at which ψ′(x) is `y` > 0, by halving the logarithm's range: ψ′ falls all the way.
fn trigamma_inverse(y: f64) -> f64 {
    let (mut low, mut high) = (-18.0_f64, 18.0_f64);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if trigamma(middle.exp()) > y {
            low = middle;
        } else {
            high = middle;
        }
    }
    (0.5 * (low + high)).exp()
}
