//! The pinned source of randomness: the same seed gives the same numbers on every machine and release.
//! It must not take a seed from the clock.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A seeded sequence of random numbers: ChaCha with 8 rounds. The reductions below are written out here so that no
/// other crate's change can alter a printed figure.
#[derive(Debug, Clone)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// The sequence of `seed`, expanded to a key as `rand_core` documents.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// One of the many independent sequences of `seed`, for work that is shared among threads. The key is the seed
    /// itself, filled up with zeros.
    #[must_use]
    pub fn stream(seed: u64, number: u64) -> Self {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        let mut generator = ChaCha8Rng::from_seed(key);
        generator.set_stream(number);
        Self(generator)
    }

    /// A whole number below `bound` (at least 1), each as likely: Lemire 2019, *ACM Transactions on
    /// Modeling and Computer Simulation* 29:3, with rejection.
    pub fn below(&mut self, bound: u32) -> u32 {
        let mut wide = u64::from(self.0.next_u32()) * u64::from(bound);
        if (wide as u32) < bound {
            let unfair = bound.wrapping_neg() % bound.max(1);
            while (wide as u32) < unfair {
                wide = u64::from(self.0.next_u32()) * u64::from(bound);
            }
        }
        (wide >> 32) as u32
    }

    /// Fills `bytes` with the words of 32 bits, the lowest byte first, from which [`Self::below`] would make its next numbers.
    pub fn words(&mut self, bytes: &mut [u8]) {
        self.0.fill_bytes(bytes);
    }

    /// A place in a list of `length`, each as likely; 0 if the list is empty.
    pub fn place(&mut self, length: usize) -> usize {
        let wide = length.max(1) as u64;
        loop {
            let drawn = self.0.next_u64();
            // Numbers from the largest multiple of the length on are drawn again; it lies within one length of the end.
            if drawn <= u64::MAX - wide || drawn < u64::MAX - u64::MAX % wide {
                return (drawn % wide) as usize;
            }
        }
    }

    /// A number from 0 up to, not including, 1, in steps of 2⁻⁵³.
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Puts a random choice of `items` into its first `chosen` places, each choice as likely
    /// (Fisher & Yates, stopped early). The order of the rest is not random.
    pub fn choose_first<T>(&mut self, items: &mut [T], chosen: usize) {
        for place in 0..chosen.min(items.len()) {
            let from = place + self.below((items.len() - place) as u32) as usize;
            items.swap(place, from);
        }
    }

    /// Shuffles all of `items`, each order as likely.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        self.choose_first(items, items.len().saturating_sub(1));
    }
}
