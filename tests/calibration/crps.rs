//! Scores of forecasts: continuous ranked probability score and coverage. It must not make forecasts.

use struck::stats::counts::Discrete;

/// Continuous ranked probability score of a distribution over counts against what came, in counts;
/// 0 is perfect, and a forecast of one count scores its absolute error: Σ (F(k) − 1[k ≥ came])²
/// (Gneiting & Raftery 2007, *Journal of the American Statistical Association* 102:359, equation 20).
#[must_use]
pub fn of_counts(forecast: &Discrete, came: usize) -> f64 {
    let (mut below, mut score) = (0.0, 0.0);
    for count in 0..forecast.most().max(came) {
        below += forecast.chance(count);
        let step = if count >= came { 1.0 } else { 0.0 };
        score += (below - step) * (below - step);
    }
    score
}

/// The score of a forecast given as a sample, each draw as likely, in the unit of the draws:
/// E|X − came| − ½ E|X − X′| over the empirical distribution (Gneiting & Raftery 2007, equation 21).
/// None for an empty sample or values that are not finite.
#[must_use]
pub fn of_sample(sample: &[f64], came: f64) -> Option<f64> {
    if sample.is_empty() || !came.is_finite() || sample.iter().any(|x| !x.is_finite()) {
        return None;
    }
    let mut sorted = sample.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len() as f64;
    let miss = sorted.iter().map(|x| (x - came).abs()).sum::<f64>() / n;
    // In a sorted sample Σᵢⱼ|xᵢ − xⱼ| = 2 Σᵢ (2i + 1 − n) xᵢ.
    let terms = sorted.iter().enumerate();
    let spread: f64 = terms.map(|(i, x)| (2.0 * i as f64 + 1.0 - n) * x).sum();
    Some(miss - spread / (n * n))
}
