//! What arrangements of two arms' labels say of their difference and its standard error, eight worked on side by side. It
//! draws none and tests nothing.
//!
//! Several columns are fitted at once: each replicate's share or mean, and, where an interval is wanted, whether it was
//! observed in arm 0, which is what a shift of that arm takes off. The difference of what is left under a shift and its
//! squared standard error follow from those of the columns.

use crate::stats::arrange::{ABREAST, BLOCK, Block, blocks_of, set_labels};
use crate::stats::wide::{Simd, Work, widely};
use std::ops::Range;

/// Relative slack within which two statistics count as equal.
pub(super) const SLACK: f64 = 1e-9;

/// One replicate: `sum` over the `weight` units in it (rooted of stuck; days of those that rooted), so that
/// sum/weight is its share or mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Replicate {
    /// The arm, 0 or 1.
    pub arm: u8,
    /// What is added up over the replicate.
    pub sum: f64,
    /// How many units it is added over; a replicate of 0 is left out.
    pub weight: f64,
}

/// A quantity of each arrangement.
type Lanes = [f64; ABREAST];

/// What arrangements side by side say.
#[derive(Debug, Clone, Copy)]
struct Fits<const COLUMNS: usize> {
    /// The difference of each column.
    differences: [Lanes; COLUMNS],
    /// By two columns, the later one second, how their differences vary together: of one with itself the squared
    /// standard error.
    products: [[Lanes; COLUMNS]; COLUMNS],
}

/// What counts as far out: the times that each column is taken, the squared statistic, and what counts as nothing beside
/// the shares.
#[derive(Debug, Clone, Copy)]
pub struct Bar<const COLUMNS: usize> {
    /// How often each column is taken: the first once, the second less as often as arm 0 is shifted back.
    pub times: [f64; COLUMNS],
    /// The squared statistic.
    pub squared: f64,
    /// What counts as nothing.
    pub tiny: f64,
}

impl<const COLUMNS: usize> Fits<COLUMNS> {
    /// The difference and its squared standard error in one arrangement.
    #[inline(always)]
    fn taken(&self, lane: usize, times: [f64; COLUMNS]) -> (f64, f64) {
        let (mut difference, mut variance) = (0.0, 0.0);
        for one in 0..COLUMNS {
            difference += times[one] * self.differences[one][lane];
            variance += times[one] * times[one] * self.products[one][one][lane];
            for other in one + 1..COLUMNS {
                variance += 2.0 * times[one] * times[other] * self.products[one][other][lane];
            }
        }
        (difference, variance)
    }

    /// Lets an arrangement say nothing: it is as far out as no bar.
    fn forget(&mut self, lane: usize) {
        let differences = self.differences.iter_mut();
        for lanes in differences.chain(self.products.as_flattened_mut()) {
            lanes[lane] = f64::NAN;
        }
    }

    /// The squared statistic: 0 where the difference is, infinite where only the standard error is.
    fn squared(&self, lane: usize, times: [f64; COLUMNS], tiny: f64) -> f64 {
        let (difference, variance) = self.taken(lane, times);
        if difference.abs() <= tiny {
            // Rounding alone: arrangements without a difference are as far apart as one another.
            0.0
        } else if variance > tiny * tiny {
            difference * difference / variance
        } else {
            f64::INFINITY
        }
    }

    /// Whether the squared statistic is at least that of the bar, without dividing for it.
    #[inline(always)]
    fn is_as_far(&self, lane: usize, bar: Bar<COLUMNS>) -> bool {
        let (difference, variance) = self.taken(lane, bar.times);
        let is_none = difference.abs() <= bar.tiny;
        let is_far =
            (variance <= bar.tiny * bar.tiny) | (difference * difference >= bar.squared * variance);
        (is_none & (bar.squared <= 0.0)) | (!is_none & is_far)
    }
}

/// What many arrangements say, the observed one or the first of all before the others.
#[derive(Debug, Clone)]
pub struct Arrangements<const COLUMNS: usize> {
    fits: Vec<Fits<COLUMNS>>,
    count: usize,
}

impl<const COLUMNS: usize> Arrangements<COLUMNS> {
    /// With room for so many.
    #[must_use]
    pub fn with_capacity(count: usize) -> Self {
        Self {
            fits: Vec::with_capacity(count.div_ceil(ABREAST)),
            count: 0,
        }
    }

    /// How many there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.count
    }

    /// The difference and its squared standard error in the first of them, each column taken so often.
    #[must_use]
    pub fn first(&self, times: [f64; COLUMNS]) -> (f64, f64) {
        let none = (0.0, 0.0);
        self.fits.first().map_or(none, |fits| fits.taken(0, times))
    }

    /// The squared statistic of each of them.
    pub fn squared(&self, times: [f64; COLUMNS], tiny: f64) -> impl Iterator<Item = f64> + '_ {
        let of = move |at: usize| self.fits[at / ABREAST].squared(at % ABREAST, times, tiny);
        (0..self.count).map(of)
    }

    /// How many are as far out as a bar, some after the other.
    pub fn as_far(&self, bar: Bar<COLUMNS>) -> impl Iterator<Item = usize> + '_ {
        /// So many are looked at at once, eight side by side.
        const AT_ONCE: usize = 32;
        let some = self.fits.chunks(AT_ONCE);
        some.map(move |fits| widely(AsFar { fits, bar }))
    }
}

struct AsFar<'a, const COLUMNS: usize> {
    fits: &'a [Fits<COLUMNS>],
    bar: Bar<COLUMNS>,
}

impl<const COLUMNS: usize> Work for AsFar<'_, COLUMNS> {
    type Output = usize;

    #[inline(always)]
    fn work<S: Simd>(self, _: S) -> usize {
        let mut far = [0_u64; ABREAST];
        for fits in self.fits {
            for (lane, far) in far.iter_mut().enumerate() {
                *far += u64::from(fits.is_as_far(lane, self.bar));
            }
        }
        far.iter().sum::<u64>() as usize
    }
}

/// A replicate beside its label, with what does not depend on the arrangement.
struct Unit<const COLUMNS: usize> {
    weight: f64,
    squared_weight: f64,
    /// One less the leverage that it has from its stratum's mean.
    rest: f64,
    /// Each column less its stratum's mean, and that times the weight.
    columns: [f64; COLUMNS],
    weighed: [f64; COLUMNS],
}

/// Where a stratum stands among the units and among the blocks.
struct Stratum {
    units: Range<usize>,
    blocks: Range<usize>,
    /// One over its total weight.
    even: f64,
}

/// All replicates, ready for arrangements of their labels.
pub struct Units<const COLUMNS: usize> {
    units: Vec<Unit<COLUMNS>>,
    strata: Vec<Stratum>,
    /// The arrangements taken up one by one.
    blocks: Vec<Block>,
    filled: usize,
    /// By stratum the share of its weight that is in arm 0, of each arrangement.
    parts: Vec<Lanes>,
}

impl<const COLUMNS: usize> Units<COLUMNS> {
    /// Of replicates that weigh something, in strata that hold some.
    #[must_use]
    pub fn new(strata: &[Vec<Replicate>]) -> Self {
        let (mut units, mut places, mut blocks) = (Vec::new(), Vec::new(), 0);
        for stratum in strata {
            let total: f64 = stratum.iter().map(|r| r.weight).sum();
            let sum = |r: &Replicate, column: usize| match (column, r.arm) {
                (0, _) => r.sum,
                (_, 0) => r.weight,
                _ => 0.0,
            };
            let means: [f64; COLUMNS] = std::array::from_fn(|column| {
                let sums = stratum.iter().map(|r| sum(r, column));
                sums.sum::<f64>() / total
            });
            let (start, block) = (units.len(), blocks);
            blocks += blocks_of(stratum.len());
            units.extend(stratum.iter().map(|r| {
                let columns = std::array::from_fn(|at| sum(r, at) / r.weight - means[at]);
                Unit {
                    weight: r.weight,
                    squared_weight: r.weight * r.weight,
                    rest: 1.0 - r.weight / total,
                    columns,
                    weighed: columns.map(|value| r.weight * value),
                }
            }));
            places.push(Stratum {
                units: start..units.len(),
                blocks: block..blocks,
                even: 1.0 / total,
            });
        }
        Self {
            blocks: vec![[0; ABREAST]; blocks],
            parts: vec![[0.0; ABREAST]; places.len()],
            units,
            strata: places,
            filled: 0,
        }
    }

    /// The largest distance of a replicate's share from its stratum's mean, at least `least`.
    #[must_use]
    pub fn largest(&self, least: f64) -> f64 {
        let each = self.units.iter().map(|unit| unit.columns[0].abs());
        each.fold(least, f64::max)
    }

    /// Takes up an arrangement of labels; once there are as many as are worked on at once, what they say is added to `out`.
    pub fn take(&mut self, labels: &[u8], out: &mut Arrangements<COLUMNS>) {
        for stratum in &self.strata {
            let labels = &labels[stratum.units.clone()];
            let blocks = &mut self.blocks[stratum.blocks.clone()];
            set_labels(labels, self.filled, blocks);
        }
        self.filled += 1;
        if self.filled == ABREAST {
            self.finish(out);
        }
    }

    /// Adds what the arrangements taken up say to `out`.
    pub fn finish(&mut self, out: &mut Arrangements<COLUMNS>) {
        let filled = std::mem::take(&mut self.filled);
        let blocks = std::mem::take(&mut self.blocks);
        if filled > 0 {
            self.arranged(&blocks, filled, out);
        }
        self.blocks = blocks;
    }

    /// Adds what the first `filled` arrangements of these blocks say to `out`; nothing is added after fewer than are
    /// worked on at once.
    pub fn arranged(&mut self, blocks: &[Block], filled: usize, out: &mut Arrangements<COLUMNS>) {
        let mut fits = widely(Arranged {
            units: &self.units,
            strata: &self.strata,
            blocks,
            parts: &mut self.parts,
        });
        for lane in filled..ABREAST {
            fits.forget(lane);
        }
        out.fits.push(fits);
        out.count += filled;
    }
}

/// The differences and their variances under each arrangement's labels.
struct Arranged<'a, const COLUMNS: usize> {
    units: &'a [Unit<COLUMNS>],
    strata: &'a [Stratum],
    blocks: &'a [Block],
    parts: &'a mut [Lanes],
}

/// So many replicates share one division.
const TOGETHER: usize = 4;

impl<const COLUMNS: usize> Work for Arranged<'_, COLUMNS> {
    type Output = Fits<COLUMNS>;

    #[inline(always)]
    fn work<S: Simd>(mut self, simd: S) -> Fits<COLUMNS> {
        let mut fits = Fits {
            differences: [[0.0; ABREAST]; COLUMNS],
            products: [[[0.0; ABREAST]; COLUMNS]; COLUMNS],
        };
        for part in 0..ABREAST / S::F64_LANES {
            let (differences, by) = self.differences(simd, part);
            let products = self.products(simd, part, (&differences, by));
            for one in 0..COLUMNS {
                S::as_mut_simd_f64s(&mut fits.differences[one]).0[part] = differences[one];
                for (lanes, product) in fits.products[one].iter_mut().zip(products[one]) {
                    S::as_mut_simd_f64s(lanes).0[part] = simd.mul_f64s(product, by);
                }
            }
        }
        fits
    }
}

impl<const COLUMNS: usize> Arranged<'_, COLUMNS> {
    /// The differences, and one over the sum of the strata's weights, in as many arrangements as a vector holds.
    #[inline(always)]
    fn differences<S: Simd>(&mut self, simd: S, part: usize) -> ([S::f64s; COLUMNS], S::f64s) {
        let mut differences = [simd.splat_f64s(0.0); COLUMNS];
        let mut below = simd.splat_f64s(0.0);
        for (stratum, share) in self.strata.iter().zip(&mut *self.parts) {
            let mut first = simd.splat_f64s(0.0);
            let units = self.units[stratum.units.clone()].chunks(BLOCK);
            for (units, block) in units.zip(&self.blocks[stratum.blocks.clone()]) {
                let bits = S::as_simd_u64s(block).0[part];
                let (several, rest) = units.as_chunks::<TOGETHER>();
                let sums = (&mut first, &mut differences);
                for (at, several) in several.iter().enumerate() {
                    add_first(simd, several, (bits, TOGETHER * at), (sums.0, sums.1));
                }
                let done = units.len() - rest.len();
                for (at, one) in rest.iter().enumerate() {
                    let one = std::array::from_ref(one);
                    add_first(simd, one, (bits, done + at), (sums.0, sums.1));
                }
            }
            let even = simd.mul_f64s(first, simd.splat_f64s(stratum.even));
            let rest = simd.sub_f64s(simd.splat_f64s(1.0), even);
            below = simd.add_f64s(below, simd.mul_f64s(first, rest));
            S::as_mut_simd_f64s(share).0[part] = even;
        }
        let by = simd.div_f64s(simd.splat_f64s(1.0), below);
        for sum in &mut differences {
            *sum = simd.mul_f64s(*sum, by);
        }
        (differences, by)
    }

    /// By two columns the products of what the differences leave of them, each over one less its replicate's leverage.
    #[inline(always)]
    fn products<S: Simd>(
        &self,
        simd: S,
        part: usize,
        (differences, by): (&[S::f64s; COLUMNS], S::f64s),
    ) -> [[S::f64s; COLUMNS]; COLUMNS] {
        let mut products = [[simd.splat_f64s(0.0); COLUMNS]; COLUMNS];
        for (stratum, share) in self.strata.iter().zip(&*self.parts) {
            let share = S::as_simd_f64s(share).0[part];
            let sides = Sides::new(simd, share, (differences, by));
            let units = self.units[stratum.units.clone()].chunks(BLOCK);
            for (units, block) in units.zip(&self.blocks[stratum.blocks.clone()]) {
                let bits = S::as_simd_u64s(block).0[part];
                let (several, rest) = units.as_chunks::<TOGETHER>();
                for (at, several) in several.iter().enumerate() {
                    sides.add_products(several, (bits, TOGETHER * at), &mut products);
                }
                let done = units.len() - rest.len();
                for (at, one) in rest.iter().enumerate() {
                    let one = std::array::from_ref(one);
                    sides.add_products(one, (bits, done + at), &mut products);
                }
            }
        }
        products
    }
}

/// Adds the weights and the weighed columns of those replicates that are in arm 0, the first of all at a bit. Columns are
/// centred, so what the other arm holds is the same with the other sign.
#[inline(always)]
fn add_first<S: Simd, const COLUMNS: usize, const SOME: usize>(
    simd: S,
    units: &[Unit<COLUMNS>; SOME],
    (bits, first): (S::u64s, usize),
    (weight, columns): (&mut S::f64s, &mut [S::f64s; COLUMNS]),
) {
    // Added up by themselves first, since each sum waits for the one before it.
    let none = simd.splat_f64s(0.0);
    let (mut own_weight, mut own) = (none, [none; COLUMNS]);
    for (at, unit) in units.iter().enumerate() {
        let is_second = is_second(simd, bits, first + at);
        let weight = simd.select_f64s(is_second, none, simd.splat_f64s(unit.weight));
        own_weight = simd.add_f64s(own_weight, weight);
        for (own, weighed) in own.iter_mut().zip(&unit.weighed) {
            let weighed = simd.select_f64s(is_second, none, simd.splat_f64s(*weighed));
            *own = simd.add_f64s(*own, weighed);
        }
    }
    *weight = simd.add_f64s(*weight, own_weight);
    for column in 0..COLUMNS {
        columns[column] = simd.add_f64s(columns[column], own[column]);
    }
}

/// In which arrangements a replicate of a block is in arm 1.
#[inline(always)]
fn is_second<S: Simd>(simd: S, bits: S::u64s, at: usize) -> S::m64s {
    let own = simd.and_u64s(bits, simd.splat_u64s(1 << at));
    simd.equal_u64s(own, simd.splat_u64s(0))
}

/// What is the same for all replicates of a stratum out of arm 0, and in it.
struct Sides<S: Simd, const COLUMNS: usize> {
    simd: S,
    /// The square of 0 or 1 less the stratum's share in arm 0, over the sum of the weights.
    pull: [S::f64s; 2],
    /// What the difference explains of each column.
    explained: [[S::f64s; 2]; COLUMNS],
}

impl<S: Simd, const COLUMNS: usize> Sides<S, COLUMNS> {
    #[inline(always)]
    fn new(simd: S, share: S::f64s, (differences, by): (&[S::f64s; COLUMNS], S::f64s)) -> Self {
        let none = simd.splat_f64s(0.0);
        let (mut pull, mut explained) = ([none; 2], [[none; 2]; COLUMNS]);
        for (which, side) in [0.0, 1.0].into_iter().enumerate() {
            let side = simd.sub_f64s(simd.splat_f64s(side), share);
            pull[which] = simd.mul_f64s(simd.mul_f64s(side, side), by);
            for column in 0..COLUMNS {
                explained[column][which] = simd.mul_f64s(differences[column], side);
            }
        }
        Self {
            simd,
            pull,
            explained,
        }
    }

    /// Adds the products of what is left of the columns of replicates, the first of them at a bit.
    #[inline(always)]
    fn add_products<const SOME: usize>(
        &self,
        units: &[Unit<COLUMNS>; SOME],
        (bits, first): (S::u64s, usize),
        products: &mut [[S::f64s; COLUMNS]; COLUMNS],
    ) {
        let simd = self.simd;
        let none = simd.splat_f64s(0.0);
        let (mut rests, mut counts) = ([none; SOME], [none; SOME]);
        let mut left = [[none; COLUMNS]; SOME];
        for (at, unit) in units.iter().enumerate() {
            let is_second = is_second(simd, bits, first + at);
            let pull = simd.select_f64s(is_second, self.pull[0], self.pull[1]);
            let pulled = simd.mul_f64s(simd.splat_f64s(unit.weight), pull);
            let rest = simd.sub_f64s(simd.splat_f64s(unit.rest), pulled);
            // A replicate that alone decides its own fit says nothing of spread.
            let slack = simd.splat_f64s(SLACK);
            let says = simd.greater_than_f64s(rest, slack);
            let count = simd.mul_f64s(simd.splat_f64s(unit.squared_weight), pull);
            rests[at] = simd.max_f64s(rest, slack);
            counts[at] = simd.select_f64s(says, count, none);
            let columns = unit.columns.iter().zip(&self.explained);
            for (left, (column, [second, first])) in left[at].iter_mut().zip(columns) {
                let explained = simd.select_f64s(is_second, *second, *first);
                *left = simd.sub_f64s(simd.splat_f64s(*column), explained);
            }
        }
        let by = inverses(simd, &rests);
        for at in 0..SOME {
            let count = simd.mul_f64s(counts[at], by[at]);
            for one in 0..COLUMNS {
                let counted = simd.mul_f64s(count, left[at][one]);
                for other in one..COLUMNS {
                    let product = simd.mul_f64s(counted, left[at][other]);
                    products[one][other] = simd.add_f64s(products[one][other], product);
                }
            }
        }
    }
}

/// One over each, with one division for all.
#[inline(always)]
fn inverses<S: Simd, const SOME: usize>(simd: S, of: &[S::f64s; SOME]) -> [S::f64s; SOME] {
    let one = simd.splat_f64s(1.0);
    // First the product of those before each.
    let (mut out, mut product) = ([one; SOME], one);
    for at in 0..SOME {
        out[at] = product;
        product = simd.mul_f64s(product, of[at]);
    }
    let mut by = simd.div_f64s(one, product);
    for at in (0..SOME).rev() {
        out[at] = simd.mul_f64s(out[at], by);
        by = simd.mul_f64s(by, of[at]);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{Arranged, AsFar, Bar, Fits, Replicate, Units};
    use crate::stats::arrange::ABREAST;
    use crate::stats::dice::Dice;
    use crate::stats::wide::{narrowly, widely};

    fn units(dice: &mut Dice) -> Units<2> {
        let mut replicate = |at: usize| {
            let weight = f64::from(1 + dice.below(30)) + [0.0, 0.25][at % 2];
            Replicate {
                arm: u8::from(at > 1 && dice.below(3) == 0 || at == 1),
                sum: weight * dice.unit(),
                weight,
            }
        };
        let sizes = [2, 3, 17, 64, 65, 150];
        Units::new(&sizes.map(|size| (0..size).map(&mut replicate).collect()))
    }

    fn digits(fits: &Fits<2>) -> Vec<u64> {
        let lanes = fits.differences.iter().chain(fits.products.as_flattened());
        lanes.flatten().map(|value| value.to_bits()).collect()
    }

    /// No processor rounds otherwise: the widest vectors at hand give the digits of the narrowest.
    #[test]
    fn wide_and_narrow_give_the_same_digits() {
        let mut all = Vec::new();
        for seed in 0..20 {
            let mut dice = Dice::new(seed);
            let mut units = units(&mut dice);
            let blocks: Vec<_> = (0..units.blocks.len())
                .map(|_| [(); ABREAST].map(|()| u64::from(dice.below(u32::MAX)) * 0x1_0001_0003))
                .collect();
            let mut work = |wide: bool| {
                let work = Arranged {
                    units: &units.units,
                    strata: &units.strata,
                    blocks: &blocks,
                    parts: &mut units.parts,
                };
                if wide { widely(work) } else { narrowly(work) }
            };
            let (wide, narrow) = (work(true), work(false));
            assert_eq!(digits(&wide), digits(&narrow), "seed {seed}");
            all.push(wide);
        }
        let work = || AsFar {
            fits: &all,
            bar: Bar {
                times: [1.0, -0.01],
                squared: 0.5,
                tiny: 1e-10,
            },
        };
        let far = widely(work());
        assert_eq!(far, narrowly(work()));
        assert!((30..130).contains(&far), "{far}");
    }
}
