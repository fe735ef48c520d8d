//! The sum of products of two lists, which much of the work of pooling and of Newton steps comes to.

/// Σ aᵢbᵢ over lists of one length, in four sums side by side.
#[must_use]
pub fn sum(one: &[f64], other: &[f64]) -> f64 {
    let (ones, others) = (one.chunks_exact(4), other.chunks_exact(4));
    let rest: f64 = ones
        .remainder()
        .iter()
        .zip(others.remainder())
        .map(|(a, b)| a * b)
        .sum();
    let mut sums = [0.0; 4];
    for (a, b) in ones.zip(others) {
        for at in 0..4 {
            sums[at] += a[at] * b[at];
        }
    }
    sums.iter().sum::<f64>() + rest
}
