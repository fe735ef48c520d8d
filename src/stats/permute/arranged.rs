//! What arrangements of two arms' labels say of their difference and its standard error, as functions of a shift, eight
//! worked on side by side. It draws none and tests nothing.

use super::draws::{ABREAST, BLOCK, Block, blocks_of, set_labels};
use crate::stats::wide::{Work, widely};
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

/// What one arrangement says under a shift δ of arm 0: the difference is `above` − `slope`·δ, its squared standard
/// error `square` − 2 `mixed`·δ + `shifted`·δ².
#[derive(Debug, Clone, Copy)]
pub struct Arrangement {
    /// The difference.
    pub above: f64,
    slope: f64,
    /// Its squared standard error.
    pub square: f64,
    mixed: f64,
    shifted: f64,
}

impl Arrangement {
    /// The difference and its squared standard error.
    #[inline(always)]
    fn shifted(&self, shift: f64) -> (f64, f64) {
        let variance = self.square - 2.0 * self.mixed * shift + self.shifted * shift * shift;
        (self.above - self.slope * shift, variance)
    }

    /// The squared statistic: 0 where the difference is, infinite where only the standard error is.
    #[must_use]
    pub fn squared(&self, shift: f64, tiny: f64) -> f64 {
        let (difference, variance) = self.shifted(shift);
        if difference.abs() <= tiny {
            // Rounding alone: arrangements without a difference are as far apart as one another.
            0.0
        } else if variance > tiny * tiny {
            difference * difference / variance
        } else {
            f64::INFINITY
        }
    }

    /// Whether the squared statistic is at least `bar`, without dividing for it.
    #[inline(always)]
    fn is_as_far(&self, shift: f64, bar: f64, tiny: f64) -> bool {
        let (difference, variance) = self.shifted(shift);
        let is_none = difference.abs() <= tiny;
        let is_far = (variance <= tiny * tiny) | (difference * difference >= bar * variance);
        (is_none & (bar <= 0.0)) | (!is_none & is_far)
    }
}

/// What many arrangements say, quantity by quantity.
#[derive(Debug, Clone, Default)]
pub struct Arrangements {
    above: Vec<f64>,
    slope: Vec<f64>,
    square: Vec<f64>,
    mixed: Vec<f64>,
    shifted: Vec<f64>,
}

impl Arrangements {
    /// With room for so many.
    #[must_use]
    pub fn with_capacity(count: usize) -> Self {
        let room = || Vec::with_capacity(count);
        Self {
            above: room(),
            slope: room(),
            square: room(),
            mixed: room(),
            shifted: room(),
        }
    }

    /// How many there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.above.len()
    }

    /// One after the other.
    pub fn iter(&self) -> impl Iterator<Item = Arrangement> + '_ {
        (0..self.count()).map(|at| Arrangement {
            above: self.above[at],
            slope: self.slope[at],
            square: self.square[at],
            mixed: self.mixed[at],
            shifted: self.shifted[at],
        })
    }

    /// How many of a range of them have a squared statistic of at least `bar`.
    #[must_use]
    pub fn as_far(&self, range: Range<usize>, (shift, bar, tiny): (f64, f64, f64)) -> usize {
        widely(AsFar {
            each: [
                &self.above[range.clone()],
                &self.slope[range.clone()],
                &self.square[range.clone()],
                &self.mixed[range.clone()],
                &self.shifted[range],
            ],
            shift,
            bar,
            tiny,
        })
    }
}

struct AsFar<'a> {
    each: [&'a [f64]; 5],
    shift: f64,
    bar: f64,
    tiny: f64,
}

impl Work for AsFar<'_> {
    type Output = usize;

    #[inline(always)]
    fn work(self) -> usize {
        let [above, slope, square, mixed, shifted] = self.each;
        let errors = square.iter().zip(mixed).zip(shifted);
        let mut far = 0_u64;
        for ((&above, &slope), ((&square, &mixed), &shifted)) in above.iter().zip(slope).zip(errors)
        {
            let it = Arrangement {
                above,
                slope,
                square,
                mixed,
                shifted,
            };
            far += u64::from(it.is_as_far(self.shift, self.bar, self.tiny));
        }
        far as usize
    }
}

/// A replicate beside its label, with what does not depend on the arrangement.
struct Unit {
    weight: f64,
    /// Its share less its stratum's mean.
    share: f64,
    weighed_share: f64,
    weighed_observed: f64,
    /// 1 in the observed arm 0.
    first: usize,
    /// Which of the stratum's weights it has.
    size: usize,
}

/// A weight that replicates of a stratum have.
struct Size {
    weight: f64,
    squared_weight: f64,
    /// One less the leverage that it has from its stratum's mean.
    rest: f64,
}

/// Where a stratum stands among the units and among the blocks.
struct Stratum {
    units: Range<usize>,
    blocks: Range<usize>,
    /// The weights that its replicates have.
    sizes: Vec<Size>,
    /// One over its total weight.
    even: f64,
    /// Out of the observed arm 0 and in it: 0 or 1, less the stratum's mean.
    observed: [f64; 2],
}

/// All replicates, ready for arrangements of their labels.
pub struct Units {
    units: Vec<Unit>,
    strata: Vec<Stratum>,
    /// The arrangements taken up one by one.
    blocks: Vec<Block>,
    filled: usize,
    /// By stratum the share of its weight that is in arm 0, of each arrangement.
    parts: Vec<Lanes>,
    /// What a stratum's weights come to, of each arrangement.
    sized: Vec<Sized>,
}

impl Units {
    /// Of replicates that weigh something, in strata that hold some.
    #[must_use]
    pub fn new(strata: &[Vec<Replicate>]) -> Self {
        let (mut units, mut places, mut blocks) = (Vec::new(), Vec::new(), 0);
        for stratum in strata {
            let total: f64 = stratum.iter().map(|r| r.weight).sum();
            let mean = stratum.iter().map(|r| r.sum).sum::<f64>() / total;
            let first = stratum.iter().filter(|r| r.arm == 0);
            let part = first.map(|r| r.weight).sum::<f64>() / total;
            let observed = [0.0 - part, 1.0 - part];
            let (start, first_block) = (units.len(), blocks);
            blocks += blocks_of(stratum.len());
            let mut weights: Vec<f64> = stratum.iter().map(|r| r.weight).collect();
            weights.sort_by(f64::total_cmp);
            weights.dedup();
            units.extend(stratum.iter().map(|r| {
                let (first, share) = (usize::from(r.arm == 0), r.sum / r.weight - mean);
                Unit {
                    weight: r.weight,
                    share,
                    weighed_share: r.weight * share,
                    weighed_observed: r.weight * observed[first],
                    first,
                    size: weights.partition_point(|weight| *weight < r.weight),
                }
            }));
            let size = |weight: &f64| Size {
                weight: *weight,
                squared_weight: weight * weight,
                rest: 1.0 - weight / total,
            };
            places.push(Stratum {
                units: start..units.len(),
                blocks: first_block..blocks,
                sizes: weights.iter().map(size).collect(),
                even: 1.0 / total,
                observed,
            });
        }
        Self {
            blocks: vec![[0; ABREAST]; blocks],
            parts: vec![[0.0; ABREAST]; places.len()],
            sized: Vec::new(),
            units,
            strata: places,
            filled: 0,
        }
    }

    /// How many strata there are.
    #[must_use]
    pub fn strata(&self) -> usize {
        self.strata.len()
    }

    /// The largest distance of a replicate's share from its stratum's mean, at least `least`.
    #[must_use]
    pub fn largest(&self, least: f64) -> f64 {
        let each = self.units.iter().map(|unit| unit.share.abs());
        each.fold(least, f64::max)
    }

    /// Takes up an arrangement of labels; once there are as many as are worked on at once, what they say is added to `out`.
    pub fn take(&mut self, labels: &[u8], out: &mut Arrangements) {
        for stratum in &self.strata {
            let labels = &labels[stratum.units.clone()];
            set_labels(
                labels,
                self.filled,
                &mut self.blocks[stratum.blocks.clone()],
            );
        }
        self.filled += 1;
        if self.filled == ABREAST {
            self.finish(out);
        }
    }

    /// Adds what the arrangements taken up say to `out`.
    pub fn finish(&mut self, out: &mut Arrangements) {
        let filled = std::mem::take(&mut self.filled);
        let blocks = std::mem::take(&mut self.blocks);
        self.arranged(&blocks, filled, out);
        self.blocks = blocks;
    }

    /// Adds what the first `filled` arrangements of these blocks say to `out`: nothing where no stratum has both arms.
    pub fn arranged(&mut self, blocks: &[Block], filled: usize, out: &mut Arrangements) {
        let found = widely(Arranged {
            units: &self.units,
            strata: &self.strata,
            blocks,
            parts: &mut self.parts,
            sized: &mut self.sized,
        });
        for lane in (0..filled).filter(|&lane| found.below[lane] > 0.0) {
            out.above.push(found.above[lane]);
            out.slope.push(found.slope[lane]);
            out.square.push(found.sums[0][lane]);
            out.mixed.push(found.sums[1][lane]);
            out.shifted.push(found.sums[2][lane]);
        }
    }
}

/// The difference and its variance under each arrangement's labels, as functions of the shift.
struct Arranged<'a> {
    units: &'a [Unit],
    strata: &'a [Stratum],
    blocks: &'a [Block],
    parts: &'a mut [Lanes],
    sized: &'a mut Vec<Sized>,
}

struct Found {
    above: Lanes,
    slope: Lanes,
    below: Lanes,
    /// The squared standard errors: of the shares, of shares by observed arm, of the observed arm.
    sums: [Lanes; 3],
}

impl Work for Arranged<'_> {
    type Output = Found;

    #[inline(always)]
    fn work(mut self) -> Found {
        let (mut found, by) = self.differences();
        let by_parts = self.strata.iter().zip(&*self.parts);
        for (stratum, part) in by_parts {
            let sides = Sides::new(stratum, part, (&found, &by));
            self.sized.clear();
            for size in &stratum.sizes {
                self.sized.push(sides.sized(size));
            }
            let units = self.units[stratum.units.clone()].chunks(BLOCK);
            for (units, block) in units.zip(&self.blocks[stratum.blocks.clone()]) {
                sides.add_squares(units, self.sized, *block, &mut found.sums);
            }
        }
        for sums in &mut found.sums {
            for lane in 0..ABREAST {
                sums[lane] *= by[lane];
            }
        }
        found
    }
}

impl Arranged<'_> {
    /// The differences, without their errors, and one over the sum of the strata's weights.
    #[inline(always)]
    fn differences(&mut self) -> (Found, Lanes) {
        let (mut above, mut slope, mut below) = ([0.0; ABREAST], [0.0; ABREAST], [0.0; ABREAST]);
        for (stratum, part) in self.strata.iter().zip(&mut *self.parts) {
            let mut first = [0.0; ABREAST];
            let units = self.units[stratum.units.clone()].chunks(BLOCK);
            for (units, block) in units.zip(&self.blocks[stratum.blocks.clone()]) {
                let mut bits = *block;
                for unit in units {
                    // Shares are centred, so what the other arm holds is the same with the other sign.
                    for lane in 0..ABREAST {
                        let mask = mask(bits[lane]);
                        above[lane] += masked(unit.weighed_share, mask);
                        slope[lane] += masked(unit.weighed_observed, mask);
                        first[lane] += masked(unit.weight, mask);
                        bits[lane] >>= 1;
                    }
                }
            }
            for lane in 0..ABREAST {
                part[lane] = first[lane] * stratum.even;
                below[lane] += first[lane] * (1.0 - part[lane]);
            }
        }
        let mut by = [0.0; ABREAST];
        for lane in 0..ABREAST {
            by[lane] = 1.0 / below[lane];
            above[lane] *= by[lane];
            slope[lane] *= by[lane];
        }
        let found = Found {
            above,
            slope,
            below,
            sums: [[0.0; ABREAST]; 3],
        };
        (found, by)
    }
}

/// All ones where the lowest bit is set.
#[inline(always)]
fn mask(bits: u64) -> u64 {
    0_u64.wrapping_sub(bits & 1)
}

/// The value, or 0 where the mask is.
#[inline(always)]
fn masked(value: f64, mask: u64) -> f64 {
    f64::from_bits(value.to_bits() & mask)
}

/// Two values of each arrangement, of which a mask takes the second.
struct Either {
    one: Block,
    changes: Block,
}

impl Either {
    #[inline(always)]
    fn new(of: &[Lanes; 2]) -> Self {
        let (mut one, mut changes) = ([0; ABREAST], [0; ABREAST]);
        for lane in 0..ABREAST {
            one[lane] = of[0][lane].to_bits();
            changes[lane] = one[lane] ^ of[1][lane].to_bits();
        }
        Self { one, changes }
    }

    #[inline(always)]
    fn pick(&self, lane: usize, mask: u64) -> f64 {
        f64::from_bits(self.one[lane] ^ (self.changes[lane] & mask))
    }
}

/// What is the same for all replicates of a stratum out of arm 0, and in it.
struct Sides {
    /// The square of 0 or 1 less the stratum's share in arm 0, over the sum of the weights.
    pull: [Lanes; 2],
    /// What the difference explains of a share.
    explained: Either,
    /// What its slope leaves of the observed arm, for those observed out of it and in it.
    moved: [[Lanes; 2]; 2],
}

/// What is the same for all replicates of a stratum that weigh the same.
struct Sized {
    /// What a squared residual counts.
    scale: Either,
    /// So much times the square of what is left of the observed arm, for those observed out of it and in it.
    shifted: [Either; 2],
}

impl Sides {
    #[inline(always)]
    fn new(stratum: &Stratum, part: &Lanes, (found, by): (&Found, &Lanes)) -> Self {
        let mut pull = [[0.0; ABREAST]; 2];
        let mut explained = [[0.0; ABREAST]; 2];
        let mut moved = [[[0.0; ABREAST]; 2]; 2];
        for which in 0..2 {
            for lane in 0..ABREAST {
                let side = which as f64 - part[lane];
                pull[which][lane] = side * side * by[lane];
                explained[which][lane] = found.above[lane] * side;
                for (moved, observed) in moved.iter_mut().zip(stratum.observed) {
                    moved[which][lane] = observed - found.slope[lane] * side;
                }
            }
        }
        Self {
            pull,
            explained: Either::new(&explained),
            moved,
        }
    }

    #[inline(always)]
    fn sized(&self, size: &Size) -> Sized {
        let mut scale = [[0.0; ABREAST]; 2];
        let mut shifted = [[[0.0; ABREAST]; 2]; 2];
        for which in 0..2 {
            for lane in 0..ABREAST {
                let pull = self.pull[which][lane];
                let rest = size.rest - size.weight * pull;
                let counts = size.squared_weight * pull / rest;
                // A replicate that alone decides its own fit says nothing of spread.
                scale[which][lane] = if rest > SLACK { counts } else { 0.0 };
                for (shifted, moved) in shifted.iter_mut().zip(&self.moved) {
                    let moved = moved[which][lane];
                    shifted[which][lane] = scale[which][lane] * moved * moved;
                }
            }
        }
        Sized {
            scale: Either::new(&scale),
            shifted: [Either::new(&shifted[0]), Either::new(&shifted[1])],
        }
    }

    #[inline(always)]
    fn add_squares(&self, units: &[Unit], sized: &[Sized], mut bits: Block, sums: &mut [Lanes; 3]) {
        let [mut own, mut mixed, mut shifted] = *sums;
        let moved = [Either::new(&self.moved[0]), Either::new(&self.moved[1])];
        for unit in units {
            let first = unit.first & 1;
            let (moved, sized) = (&moved[first], &sized[unit.size]);
            let of_shift = &sized.shifted[first];
            for lane in 0..ABREAST {
                let mask = mask(bits[lane]);
                bits[lane] >>= 1;
                let share = unit.share - self.explained.pick(lane, mask);
                let scaled = sized.scale.pick(lane, mask) * share;
                own[lane] += scaled * share;
                mixed[lane] += scaled * moved.pick(lane, mask);
                shifted[lane] += of_shift.pick(lane, mask);
            }
        }
        *sums = [own, mixed, shifted];
    }
}

#[cfg(test)]
mod tests {
    use super::{Arranged, AsFar, Replicate, Units};
    use crate::stats::dice::Dice;
    use crate::stats::permute::draws::ABREAST;
    use crate::stats::wide::{Work, widely};

    fn units(dice: &mut Dice) -> Units {
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

    /// No processor rounds otherwise: the widest vectors at hand give the digits of the narrowest.
    #[test]
    fn wide_and_narrow_give_the_same_digits() {
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
                    sized: &mut units.sized,
                };
                let found = if wide { widely(work) } else { work.work() };
                let [own, mixed, shifted] = found.sums;
                [found.above, found.slope, found.below, own, mixed, shifted]
                    .map(|lanes| lanes.map(f64::to_bits))
            };
            assert_eq!(work(true), work(false), "seed {seed}");
        }
        let mut dice = Dice::new(5);
        let each: [Vec<f64>; 5] = [(); 5].map(|()| (0..999).map(|_| dice.unit() - 0.2).collect());
        let work = || AsFar {
            each: [&each[0], &each[1], &each[2], &each[3], &each[4]],
            shift: 0.3,
            bar: 0.5,
            tiny: 1e-10,
        };
        let far = widely(work());
        assert_eq!(far, work().work());
        assert!((200..900).contains(&far), "{far}");
    }
}
