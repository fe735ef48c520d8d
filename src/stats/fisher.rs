//! Fisher's exact test of a 2×2 table of counts. It must not be shown as if cuttings were independent.

/// Counts of two arms: `yes[0]` of `yes[0] + no[0]` in the first, likewise in the second.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counts {
    /// Reached, by arm.
    pub yes: [u32; 2],
    /// Not reached, by arm.
    pub no: [u32; 2],
}

/// p values of Fisher's exact test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fisher {
    /// Two-sided: all tables with the same margins no likelier than the one seen.
    pub p: f64,
    /// One-sided, for a smaller share in the first arm.
    pub p_less: f64,
    /// One-sided, for a greater share in the first arm.
    pub p_greater: f64,
}

/// Relative slack within which two tables count as equally likely, as R's `fisher.test` has it.
const SLACK: f64 = 1e-7;

/// Fisher's exact test (Fisher 1935, *The Design of Experiments*), two-sided by the rule of R's
/// `fisher.test`. An empty arm or column gives p = 1.
#[must_use]
pub fn exact(counts: Counts) -> Fisher {
    let [a, b] = counts.yes.map(u64::from);
    let [c, d] = counts.no.map(u64::from);
    let (first, second, yes) = (a + c, b + d, a + b);
    let lowest = yes.saturating_sub(second);
    let highest = yes.min(first);
    let mut logs = Vec::with_capacity((highest - lowest + 1) as usize);
    let mut log = 0.0f64;
    for x in lowest..=highest {
        if x > lowest {
            // Ratio of neighbouring hypergeometric chances.
            let up = (first - x + 1) as f64 * (yes - x + 1) as f64;
            let down = x as f64 * (second + x - yes) as f64;
            log += (up / down).ln();
        }
        logs.push(log);
    }
    let peak = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|log| (log - peak).exp()).collect();
    let total: f64 = weights.iter().sum();
    let seen = (a - lowest) as usize;
    let bar = weights[seen] * (1.0 + SLACK);
    let share = |sum: f64| (sum / total).min(1.0);
    Fisher {
        p: share(weights.iter().filter(|w| **w <= bar).sum()),
        p_less: share(weights[..=seen].iter().sum()),
        p_greater: share(weights[seen..].iter().rev().sum()),
    }
}
