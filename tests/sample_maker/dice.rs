//! Seeded chance for the sample journals: the same seed gives the same journals on every machine.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Beta, Distribution, Normal};

/// A source of chance with the draws that the sample needs.
#[derive(Clone, Debug)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// From a seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A number from 0 to 1, 1 left out.
    pub fn share(&mut self) -> f64 {
        self.0.random()
    }

    /// Whether a thing of this chance happens.
    pub fn chance(&mut self, chance: f64) -> bool {
        self.share() < chance
    }

    /// A whole number from `low` to `high`, ends included.
    pub fn whole(&mut self, low: u32, high: u32) -> u32 {
        self.0.random_range(low..=high)
    }

    /// One of several; they must not be none.
    pub fn one_of<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.0.random_range(0..of.len())]
    }

    /// 80 bits for an id.
    pub fn bits(&mut self) -> u128 {
        self.0.random::<u128>() >> 48
    }

    /// A normal draw.
    pub fn normal(&mut self, mean: f64, deviation: f64) -> f64 {
        Normal::new(mean, deviation).map_or(mean, |normal| normal.sample(&mut self.0))
    }

    /// A log-normal draw of this median and standard deviation of the logarithm.
    pub fn around(&mut self, median: f64, spread: f64) -> f64 {
        median * self.normal(0.0, spread).exp()
    }

    /// A share drawn from the beta distribution of this mean and intra-class correlation.
    pub fn beta(&mut self, mean: f64, correlation: f64) -> f64 {
        let total = 1.0 / correlation - 1.0;
        Beta::new(mean * total, (1.0 - mean) * total).map_or(mean, |beta| beta.sample(&mut self.0))
    }
}
