//! Special functions and the distributions made of them. It must not hold statistical methods.
//!
//! Formulas: Abramowitz & Stegun 1964; algorithms as in Press et al., Numerical Recipes, chapter
//! 6, and Lanczos 1964 (SIAM J Numer Anal B 1:86). Relative accuracy about 1e-13.

use std::f64::consts::{PI, SQRT_2};

const EPSILON: f64 = 1e-16;
/// Terms of a series or fraction; enough for arguments up to about a million.
const TERMS: usize = 20_000;

/// Coefficients of the Lanczos approximation for g = 7 with nine terms.
const LANCZOS: [f64; 9] = [
    0.999_999_999_999_809_9,
    676.520_368_121_885_1,
    -1_259.139_216_722_402_8,
    771.323_428_777_653_1,
    -176.615_029_162_140_6,
    12.507_343_278_686_905,
    -0.138_571_095_265_720_12,
    9.984_369_578_019_572e-6,
    1.505_632_735_149_311_6e-7,
];

/// Natural logarithm of the gamma function, for `x` > 0.
#[must_use]
pub fn ln_gamma(x: f64) -> f64 {
    if x < 0.5 {
        return (PI / (PI * x).sin()).ln() - ln_gamma(1.0 - x);
    }
    let x = x - 1.0;
    let base = x + 7.5;
    let tail = LANCZOS
        .iter()
        .enumerate()
        .skip(1)
        .map(|(i, c)| c / (x + i as f64));
    let series = LANCZOS[0] + tail.sum::<f64>();
    0.5 * (2.0 * PI).ln() + (x + 0.5) * base.ln() - base + series.ln()
}

/// Regularised lower and upper incomplete gamma, (P(a, x), Q(a, x)), for `a` > 0 and `x` ≥ 0.
#[must_use]
pub fn inc_gamma(a: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if x.is_infinite() {
        return (1.0, 0.0);
    }
    let front = (a * x.ln() - x - ln_gamma(a)).exp();
    if x < a + 1.0 {
        let (mut term, mut sum) = (1.0 / a, 1.0 / a);
        for k in 1..TERMS {
            term *= x / (a + k as f64);
            sum += term;
            if term < sum * EPSILON {
                break;
            }
        }
        let lower = (front * sum).min(1.0);
        return (lower, 1.0 - lower);
    }
    // Lentz's evaluation of the continued fraction.
    let mut b = x + 1.0 - a;
    let (mut c, mut d) = (1e300, 1.0 / b);
    let mut value = d;
    for k in 1..TERMS {
        let k = k as f64;
        let an = -k * (k - a);
        b += 2.0;
        d = 1.0 / nonzero(an * d + b);
        c = nonzero(b + an / c);
        value *= d * c;
        if (d * c - 1.0).abs() < EPSILON {
            break;
        }
    }
    let upper = (front * value).min(1.0);
    (1.0 - upper, upper)
}

/// Regularised incomplete beta, I(x; a, b), for `a`, `b` > 0 and `x` in 0 to 1.
#[must_use]
pub fn inc_beta(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    let ends = a * x.ln() + b * (-x).ln_1p();
    let front = (ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + ends).exp();
    if x < (a + 1.0) / (a + b + 2.0) {
        front * beta_fraction(a, b, x) / a
    } else {
        1.0 - front * beta_fraction(b, a, 1.0 - x) / b
    }
}

/// The continued fraction of the incomplete beta, by Lentz's method.
fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    let mut c = 1.0;
    let mut d = 1.0 / nonzero(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    for k in 1..TERMS {
        let k = k as f64;
        let even = k * (b - k) * x / ((a + 2.0 * k - 1.0) * (a + 2.0 * k));
        let odd = -(a + k) * (a + b + k) * x / ((a + 2.0 * k) * (a + 2.0 * k + 1.0));
        let mut last = 1.0;
        for term in [even, odd] {
            d = 1.0 / nonzero(1.0 + term * d);
            c = nonzero(1.0 + term / c);
            last = d * c;
            value *= last;
        }
        if (last - 1.0).abs() < EPSILON {
            break;
        }
    }
    value
}

fn nonzero(x: f64) -> f64 {
    if x.abs() < 1e-300 { 1e-300 } else { x }
}

/// Standard normal distribution function.
#[must_use]
pub fn normal_cdf(z: f64) -> f64 {
    let (lower, upper) = inc_gamma(0.5, z * z / 2.0);
    if z < 0.0 {
        0.5 * upper
    } else {
        0.5 + 0.5 * lower
    }
}

/// Standard normal density.
#[must_use]
pub fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (SQRT_2 * PI.sqrt())
}

/// Standard normal quantile, for `p` in 0 to 1 (infinite at the ends).
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    if p > 0.5 {
        return -normal_quantile(1.0 - p);
    }
    if p <= 0.0 {
        return f64::NEG_INFINITY;
    }
    // A & S 26.2.23 to start, then Halley's method to the last digits.
    let t = (-2.0 * p.ln()).sqrt();
    let top = 2.515_517 + t * (0.802_853 + t * 0.010_328);
    let mut z = top / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308))) - t;
    for _ in 0..4 {
        let step = (normal_cdf(z) - p) / normal_density(z);
        z -= step / (1.0 + z * step / 2.0);
    }
    z
}

/// Student's t distribution function with `df` > 0 degrees of freedom.
#[must_use]
pub fn t_cdf(t: f64, df: f64) -> f64 {
    if t.is_infinite() {
        return if t > 0.0 { 1.0 } else { 0.0 };
    }
    let square = t * t;
    // Half the two tails, from whichever end is the more exact.
    let tail = if square < df {
        0.5 * (1.0 - inc_beta(0.5, df / 2.0, square / (df + square)))
    } else {
        0.5 * inc_beta(df / 2.0, 0.5, df / (df + square))
    };
    if t < 0.0 { tail } else { 1.0 - tail }
}

/// Student's t quantile, for `p` in 0 to 1 and `df` > 0 (infinite `df`: the normal quantile).
#[must_use]
pub fn t_quantile(p: f64, df: f64) -> f64 {
    if df.is_infinite() || p <= 0.0 || p >= 1.0 {
        return normal_quantile(p);
    }
    if p > 0.5 {
        return -t_quantile(1.0 - p, df);
    }
    let mut low = -1.0;
    while t_cdf(low, df) > p && low > -1e300 {
        low *= 2.0;
    }
    let mut high = if low < -1.0 { low / 2.0 } else { 0.0 };
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if t_cdf(middle, df) < p {
            low = middle
        } else {
            high = middle
        }
    }
    0.5 * (low + high)
}
