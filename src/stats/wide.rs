//! Arithmetic done with the widest vectors that the processor at hand has. It must not change a digit: no product and
//! sum are ever made one rounding, so that each lane says the same on every processor.

use pulp::{Arch, WithSimd};

pub use pulp::Simd;

/// A piece of arithmetic on lanes. What it calls must be inlined always, or stays as narrow as the program is built.
pub trait Work {
    /// What comes of it.
    type Output;

    /// Does it with these vectors, or leaves it to the compiler to find what they are good for.
    fn work<S: Simd>(self, simd: S) -> Self::Output;
}

struct Widely<W>(W);

impl<W: Work> WithSimd for Widely<W> {
    type Output = W::Output;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> W::Output {
        self.0.work(simd)
    }
}

/// Does a piece of arithmetic with what this processor has.
pub fn widely<W: Work>(work: W) -> W::Output {
    Arch::new().dispatch(Widely(work))
}

/// Does it with one lane at a time, which every processor has.
#[cfg(test)]
pub fn narrowly<W: Work>(work: W) -> W::Output {
    work.work(pulp::Scalar::new())
}
