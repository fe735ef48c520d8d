//! Arithmetic done with the widest vectors that the processor at hand has. It must not change a digit: no product and
//! sum are ever made one rounding, so that each lane says the same on every processor.

use pulp::{Arch, Simd, WithSimd};

/// A piece of arithmetic on lanes. What it calls must be inlined always, or stays as narrow as the program is built.
pub trait Work {
    /// What comes of it.
    type Output;

    /// Does it, as wide as whoever calls.
    fn work(self) -> Self::Output;
}

struct Widely<W>(W);

impl<W: Work> WithSimd for Widely<W> {
    type Output = W::Output;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> W::Output {
        self.0.work()
    }
}

/// Does a piece of arithmetic with what this processor has.
pub fn widely<W: Work>(work: W) -> W::Output {
    Arch::new().dispatch(Widely(work))
}
