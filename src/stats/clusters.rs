//! How far cuttings of one cluster share a fate: the beta-binomial by maximum likelihood, the intra-class
//! correlation by analysis of variance, the design effect. It must not choose between them.

use std::cell::Cell;

/// One cluster: `reached` of `of`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cluster {
    /// How many reached; at most `of`.
    pub reached: u32,
    /// Out of how many.
    pub of: u32,
}

/// The maximum-likelihood ρ that several groups of clusters share, each with its own mean share: the
/// spread within groups, their differences left out. By the profile likelihood; it falls short
/// of the true ρ where groups hold few clusters, as likelihoods of spread do. None when no group has
/// two clusters, one of them of two, with both outcomes.
#[must_use]
pub fn common_rho(groups: &[Vec<Cluster>]) -> Option<f64> {
    let informs = |group: &&Vec<Cluster>| {
        let reached: u32 = group.iter().map(|c| c.reached).sum();
        let of: u32 = group.iter().map(|c| c.of).sum();
        let filled = group.iter().filter(|c| c.of > 0).count();
        filled > 1 && of as usize > filled && reached > 0 && reached < of
    };
    let tails: Vec<Tails> = groups
        .iter()
        .filter(informs)
        .map(|group| {
            let reached: u32 = group.iter().map(|c| c.reached).sum();
            let of: u32 = group.iter().map(|c| c.of).sum();
            Tails::new(group, f64::from(reached) / f64::from(of))
        })
        .collect();
    if tails.is_empty() {
        return None;
    }
    if tails.iter().all(|tails| tails.mixed() == 0.0) {
        return Some(1.0);
    }
    let likelihood = |rho: f64| -> f64 {
        let one = |tails: &Tails| tails.log_likelihood(tails.best_mu(rho), rho);
        tails.iter().map(one).sum()
    };
    let score = |rho: f64| -> f64 {
        let one = |tails: &Tails| tails.score_rho(tails.best_mu(rho), rho);
        tails.iter().map(one).sum()
    };
    Some(highest(&likelihood, &score))
}

/// The ρ at which a profile likelihood is highest: by a scan of its score for where it turns from rising to falling. Only
/// where it does so more than once does the likelihood itself decide.
fn highest(likelihood: &dyn Fn(f64) -> f64, score: &dyn Fn(f64) -> f64) -> f64 {
    let scanned: Vec<(f64, f64)> = scan().into_iter().map(|rho| (rho, score(rho))).collect();
    let mut peaks = Vec::new();
    peaks.extend(
        scanned
            .first()
            .filter(|(_, score)| *score <= 0.0)
            .map(|it| it.0),
    );
    for ends in scanned.windows(2) {
        if ends[0].1 > 0.0 && ends[1].1 <= 0.0 {
            peaks.push(turn([ends[0], ends[1]], score));
        }
    }
    peaks.extend(
        scanned
            .last()
            .filter(|(_, score)| *score > 0.0)
            .map(|it| it.0),
    );
    if let [peak] = peaks[..] {
        return peak;
    }
    let heights = peaks.into_iter().map(|rho| (rho, likelihood(rho)));
    heights
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map_or(0.0, |it| it.0)
}

/// Where a score turns from above 0 to below, between two ends with their scores: false position, the Illinois way (Dowell &
/// Jarratt 1971, *BIT* 11:168).
fn turn([mut low, mut high]: [(f64, f64); 2], score: &dyn Fn(f64) -> f64) -> f64 {
    let (mut last, mut was_low) = (low.0, None);
    for _ in 0..200 {
        let next = (low.0 * high.1 - high.0 * low.1) / (high.1 - low.1);
        let step = (next - last).abs();
        if step <= 1e-15 + 1e-13 * next {
            return next;
        }
        let found = score(next);
        let is_low = found > 0.0;
        // An end that stays where it is would hold the steps back: its score counts half.
        let stays = was_low == Some(is_low);
        if is_low {
            low = (next, found);
            high.1 *= if stays { 0.5 } else { 1.0 };
        } else {
            high = (next, found);
            low.1 *= if stays { 0.5 } else { 1.0 };
        }
        (last, was_low) = (next, Some(is_low));
    }
    last
}

/// How many clusters have more than r reached, more than r not reached, more than r in all: the
/// likelihood needs nothing else (Smith 1983, algorithm AS 189).
struct Tails {
    yes: Vec<f64>,
    no: Vec<f64>,
    whole: Vec<f64>,
    /// The μ found last: that of the next ρ is near.
    near: Cell<f64>,
}

/// So many factors are worked on side by side.
const ABREAST: usize = 4;

/// The rising product of a share: by how far each factor is from the first, and how many clusters have it.
struct Rising<'m> {
    more: &'m [f64],
    share: f64,
    rho: f64,
}

impl Rising<'_> {
    /// Adds up `parts` of (count, factor share(1 − ρ) + rρ, r) over all factors.
    fn sums<const PARTS: usize>(
        &self,
        parts: impl Fn(f64, f64, f64) -> [f64; PARTS],
    ) -> [f64; PARTS] {
        let mut sums = [[0.0; ABREAST]; PARTS];
        let first = self.share * (1.0 - self.rho);
        let (chunks, rest) = self.more.as_chunks::<ABREAST>();
        let mut at: [f64; ABREAST] = std::array::from_fn(|lane| lane as f64);
        for counts in chunks {
            for lane in 0..ABREAST {
                let found = parts(counts[lane], first + at[lane] * self.rho, at[lane]);
                for (sums, found) in sums.iter_mut().zip(found) {
                    sums[lane] += found;
                }
                at[lane] += ABREAST as f64;
            }
        }
        for (lane, count) in rest.iter().enumerate() {
            let found = parts(*count, first + at[lane] * self.rho, at[lane]);
            for (sums, found) in sums.iter_mut().zip(found) {
                sums[lane] += found;
            }
        }
        sums.map(|lanes| lanes.iter().sum())
    }

    /// The sum of count · ln factor over all but the first: one logarithm for a few factors that as many clusters have.
    fn logs(&self) -> f64 {
        let first = self.share * (1.0 - self.rho);
        let (mut sum, mut from) = (0.0, 1);
        while let Some(&count) = self.more.get(from) {
            let (mut product, mut to) = (1.0, from);
            // Eight factors, each under a million and above a billionth, neither overflow nor vanish.
            while to < from + 8 && self.more.get(to) == Some(&count) {
                product *= first + to as f64 * self.rho;
                to += 1;
            }
            sum += count * f64::ln(product);
            from = to;
        }
        sum
    }
}

impl Tails {
    /// Of these clusters, `start` being about where μ is.
    fn new(clusters: &[Cluster], start: f64) -> Self {
        let count = |of: fn(&Cluster) -> u32| {
            let longest = clusters.iter().map(of).max().unwrap_or(0) as usize;
            let mut more = vec![0.0; longest];
            for cluster in clusters {
                for place in &mut more[..of(cluster) as usize] {
                    *place += 1.0;
                }
            }
            more
        };
        Self {
            yes: count(|c| c.reached),
            no: count(|c| c.of - c.reached),
            whole: count(|c| c.of),
            near: Cell::new(start),
        }
    }

    fn log_likelihood(&self, mu: f64, rho: f64) -> f64 {
        let sum = |more, share| Rising { more, share, rho }.logs();
        let first = |more: &[f64], share: f64| match more.first() {
            Some(&count) if count > 0.0 => count * share.ln(),
            _ => 0.0,
        };
        // ln(1 − ρ) stands once in each first factor; what does not cancel counts mixed clusters.
        let mixed = self.mixed();
        let apart = if mixed > 0.0 {
            mixed * (-rho).ln_1p()
        } else {
            0.0
        };
        first(&self.yes, mu)
            + first(&self.no, 1.0 - mu)
            + apart
            + sum(&self.yes, mu)
            + sum(&self.no, 1.0 - mu)
            - sum(&self.whole, 1.0)
    }

    /// Clusters with some reached and some not.
    fn mixed(&self) -> f64 {
        let first = |more: &[f64]| more.first().copied().unwrap_or(0.0);
        first(&self.yes) + first(&self.no) - first(&self.whole)
    }

    /// The best μ for a given ρ below 1: the root of a decreasing score, Newton kept in a bracket.
    fn best_mu(&self, rho: f64) -> f64 {
        let best = self.seek_mu(rho, self.near.get());
        self.near.set(best);
        best
    }

    fn seek_mu(&self, rho: f64, start: f64) -> f64 {
        let (mut low, mut high, mut mu) = (0.0f64, 1.0f64, start);
        for _ in 0..200 {
            let slopes = |more, share| {
                Rising { more, share, rho }.sums(|count, value, _| {
                    let by = 1.0 / value;
                    let slope = count * by;
                    [slope, slope * by]
                })
            };
            let (yes, no) = (slopes(&self.yes, mu), slopes(&self.no, 1.0 - mu));
            let (score, slope) = (yes[0] - no[0], yes[1] + no[1]);
            if score > 0.0 {
                low = mu;
            } else {
                high = mu;
            }
            // Score and slope lack the factors (1 − ρ) and (1 − ρ)² of the chain rule.
            let newton = mu + score / (slope * (1.0 - rho));
            if (newton - mu).abs() <= 1e-15 {
                return mu;
            }
            mu = if newton > low && newton < high {
                newton
            } else {
                0.5 * (low + high)
            };
        }
        mu
    }

    /// ∂ log-likelihood / ∂ρ; along the profile this is its derivative.
    fn score_rho(&self, mu: f64, rho: f64) -> f64 {
        let sum = |more, share| {
            let of = Rising { more, share, rho };
            let [sum] = of.sums(|count, value, r| [count * (r - share) / value]);
            sum
        };
        sum(&self.yes, mu) + sum(&self.no, 1.0 - mu) - sum(&self.whole, 1.0)
    }
}

/// Values of ρ at which the profile is scanned: 0, then finely near 0 and out to just below 1.
fn scan() -> Vec<f64> {
    const STEPS: u32 = 24;
    let odds = |step: u32| 1e-5 * 1e10f64.powf(f64::from(step) / f64::from(STEPS));
    let mut scale = vec![0.0];
    scale.extend((0..=STEPS).map(|step| odds(step) / (1.0 + odds(step))));
    scale
}

/// Spread of shares between clusters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// One-way analysis-of-variance intra-class correlation for yes-or-no outcomes; may be negative.
    pub icc: f64,
    /// Pearson's χ² of one share for all clusters.
    pub chi2: f64,
    /// Its degrees of freedom, clusters − 1.
    pub df: usize,
    /// Clusters used: those with at least one cutting.
    pub clusters: usize,
    /// Cuttings in them.
    pub total: u64,
}

impl Spread {
    /// χ²/df: 1 for binomial spread.
    #[must_use]
    pub fn dispersion(&self) -> f64 {
        self.chi2 / self.df as f64
    }
}

/// The spread between clusters: ICC = (MSB − MSW)/(MSB + (n₀ − 1)MSW) with
/// n₀ = (N − Σn²/N)/(k − 1) (Fleiss 1981, *Statistical Methods for Rates and Proportions*;
/// Donner & Eliasziw 1991). None under two clusters, when no cluster holds two, or when all or none
/// reached.
#[must_use]
pub fn spread(clusters: &[Cluster]) -> Option<Spread> {
    let used: Vec<(f64, f64)> = clusters
        .iter()
        .filter(|c| c.of > 0 && c.reached <= c.of)
        .map(|c| (f64::from(c.reached), f64::from(c.of)))
        .collect();
    let k = used.len() as f64;
    let total: f64 = used.iter().map(|c| c.1).sum();
    let reached: f64 = used.iter().map(|c| c.0).sum();
    if k < 2.0 || total <= k || reached == 0.0 || reached == total {
        return None;
    }
    let share = reached / total;
    let between: f64 = used.iter().map(|(y, n)| (y - n * share).powi(2) / n).sum();
    let within: f64 = used.iter().map(|(y, n)| y * (n - y) / n).sum();
    let (msb, msw) = (between / (k - 1.0), within / (total - k));
    let squares: f64 = used.iter().map(|c| c.1 * c.1).sum();
    let n0 = (total - squares / total) / (k - 1.0);
    Some(Spread {
        icc: (msb - msw) / (msb + (n0 - 1.0) * msw),
        chi2: between / (share * (1.0 - share)),
        df: used.len() - 1,
        clusters: used.len(),
        total: total as u64,
    })
}

/// The intra-class correlation within groups that each have a share of their own, by analysis of variance with
/// the groups taken off: sums of squares between clusters within groups, and within clusters, added up
/// over groups. It does not fall short where groups are small, as a likelihood does; it may be negative.
/// None when no group has two clusters, or nothing varies.
#[must_use]
pub fn within_groups(groups: &[Vec<Cluster>]) -> Option<f64> {
    let (mut between, mut within) = (0.0, 0.0);
    let (mut df_between, mut df_within, mut sizes) = (0.0, 0.0, 0.0);
    for group in groups {
        let used = || group.iter().filter(|c| c.of > 0 && c.reached <= c.of);
        let pairs: Vec<(f64, f64)> = used()
            .map(|c| (f64::from(c.reached), f64::from(c.of)))
            .collect();
        if pairs.len() < 2 {
            continue;
        }
        let total: f64 = pairs.iter().map(|c| c.1).sum();
        let share = pairs.iter().map(|c| c.0).sum::<f64>() / total;
        between += pairs
            .iter()
            .map(|(y, n)| (y - n * share).powi(2) / n)
            .sum::<f64>();
        within += pairs.iter().map(|(y, n)| y * (n - y) / n).sum::<f64>();
        df_between += pairs.len() as f64 - 1.0;
        df_within += total - pairs.len() as f64;
        sizes += total - pairs.iter().map(|c| c.1 * c.1).sum::<f64>() / total;
    }
    let (msb, msw) = (between / df_between, within / df_within);
    let rho = (msb - msw) / (msb + (sizes / df_between - 1.0) * msw);
    rho.is_finite().then_some(rho)
}

/// Design effect 1 + (ñ − 1)ρ of clusters of these sizes, with ñ = Σn²/Σn, the size of the cluster a
/// cutting finds itself in (Donner, Birkett & Buck 1981, *American Journal of Epidemiology* 114:906).
/// At least 1 for ρ ≥ 0; none when no cluster holds anything.
#[must_use]
pub fn design_effect(sizes: &[f64], rho: f64) -> Option<f64> {
    let total: f64 = sizes.iter().sum();
    let squares: f64 = sizes.iter().map(|n| n * n).sum();
    (total > 0.0).then(|| 1.0 + (squares / total - 1.0).max(0.0) * rho)
}

#[cfg(test)]
mod tests {
    use super::highest;

    /// A score that turns at these places, the likelihood that it is of, and where that is highest.
    fn top(turns: [f64; 3]) -> f64 {
        let [a, b, c] = turns;
        let score = |x: f64| -(x - a) * (x - b) * (x - c);
        let likelihood = |x: f64| {
            let (sum, pairs) = (a + b + c, a * b + a * c + b * c);
            -x.powi(4) / 4.0 + sum * x.powi(3) / 3.0 - pairs * x * x / 2.0 + a * b * c * x
        };
        highest(&likelihood, &score)
    }

    #[test]
    fn of_several_peaks_the_highest_is_taken() {
        // The further of two peaks from the valley between them is the higher.
        assert!((top([0.1, 0.3, 0.7]) - 0.7).abs() < 1e-12);
        assert!((top([0.1, 0.5, 0.7]) - 0.1).abs() < 1e-12);
        // Only one turn of three lies between 0 and 1.
        assert!((top([-2.0, -1.0, 0.4]) - 0.4).abs() < 1e-12);
        assert_eq!(highest(&|_| 0.0, &|_| -1.0), 0.0);
        assert!(highest(&|_| 0.0, &|_| 1.0) > 0.999);
    }
}
