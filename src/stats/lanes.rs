//! Numbers worked on side by side, as many as the processor takes at once. Each lane says what it would say alone.

use super::wide::Simd;
use std::ops::{Add, AddAssign, Div, Mul, Sub, SubAssign};

/// One number in each lane of a vector of `S`.
#[derive(Debug, Clone, Copy)]
pub struct Lanes<S: Simd>(S, S::f64s);

impl<S: Simd> Lanes<S> {
    /// How many there are.
    pub const COUNT: usize = S::F64_LANES;

    /// The same number in every lane.
    #[inline(always)]
    #[must_use]
    pub fn all(simd: S, number: f64) -> Self {
        Self(simd, simd.splat_f64s(number))
    }

    /// A number for each lane; 0 where there are fewer.
    #[inline(always)]
    #[must_use]
    pub fn read(simd: S, numbers: &[f64]) -> Self {
        Self(simd, simd.partial_load_f64s(numbers))
    }

    /// Writes as many as there is room for.
    #[inline(always)]
    pub fn write(self, to: &mut [f64]) {
        self.0.partial_store_f64s(to, self.1);
    }

    /// The larger of each two; its own where either is no number, on every processor.
    #[inline(always)]
    #[must_use]
    pub fn max(self, other: Self) -> Self {
        other.where_above(other, self, self)
    }

    /// Its own number where `other`'s is above `bar`'s, else `or`'s.
    #[inline(always)]
    #[must_use]
    pub fn where_above(self, other: Self, bar: Self, or: Self) -> Self {
        let is_above = self.0.less_than_f64s(bar.1, other.1);
        Self(self.0, self.0.select_f64s(is_above, self.1, or.1))
    }

    /// The largest of all lanes.
    #[inline(always)]
    #[must_use]
    pub fn largest(self) -> f64 {
        self.0.reduce_max_f64s(self.1)
    }

    /// Its own number where `other`'s is above 0, else `or`'s.
    #[inline(always)]
    #[must_use]
    pub fn where_positive(self, other: Self, or: Self) -> Self {
        self.where_above(other, Self::all(self.0, 0.0), or)
    }
}

macro_rules! lane_by_lane {
    ($($trait:ident $call:ident $does:ident;)*) => {$(
        impl<S: Simd> $trait for Lanes<S> {
            type Output = Self;

            #[inline(always)]
            fn $call(self, other: Self) -> Self {
                Self(self.0, self.0.$does(self.1, other.1))
            }
        }
    )*};
}

lane_by_lane! {
    Add add add_f64s;
    Sub sub sub_f64s;
    Mul mul mul_f64s;
    Div div div_f64s;
}

impl<S: Simd> AddAssign for Lanes<S> {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl<S: Simd> SubAssign for Lanes<S> {
    #[inline(always)]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}
