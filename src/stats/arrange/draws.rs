//! A seeded draw of arrangements of two arms, a bit for each replicate and eight arrangements side by side. It must draw
//! each arrangement as likely as any other.
//!
//! Of each stratum the replicates of its smaller arm are chosen (Floyd's sampling: Bentley 1987, *Communications of the
//! ACM* 30:754), so that half a stratum's replicates need a number at the most. One random word gives several small
//! numbers (Brackett-Rozinsky & Lemire 2024, *Software: Practice and Experience* 55:369), all of them drawn again where
//! one of its ways would be likelier than the others.

use crate::stats::dice::Dice;
use crate::stats::wide::{Simd, Work, widely};
use std::ops::Range;

/// So many arrangements are drawn, and worked on, side by side.
pub const ABREAST: usize = 8;

/// Up to so many replicates of a stratum stand in one block.
pub const BLOCK: usize = u64::BITS as usize;

/// Some replicates of a stratum under each of several arrangements: the bit of each that is in arm 0 is set.
pub type Block = [u64; ABREAST];

/// How many blocks a stratum of so many replicates takes.
#[must_use]
pub fn blocks_of(replicates: usize) -> usize {
    replicates.div_ceil(BLOCK)
}

/// Notes the labels of a stratum as arrangement `lane` of its blocks.
pub fn set_labels(labels: &[u8], lane: usize, blocks: &mut [Block]) {
    for (block, labels) in blocks.iter_mut().zip(labels.chunks(BLOCK)) {
        let bits = labels.iter().enumerate();
        block[lane] = bits.fold(0, |bits, (at, label)| bits | u64::from(*label == 0) << at);
    }
}

/// Reads off the blocks of a stratum what labels it has in arrangement `lane`.
pub fn read_labels(blocks: &[Block], lane: usize, labels: &mut [u8]) {
    for (block, labels) in blocks.iter().zip(labels.chunks_mut(BLOCK)) {
        for (at, label) in labels.iter_mut().enumerate() {
            *label = u8::from(block[lane] >> at & 1 == 0);
        }
    }
}

/// A random word for each arrangement, its lowest byte first.
type Words = [[u8; size_of::<u32>()]; ABREAST];

/// What a word of each arrangement gives.
struct Step {
    /// The first number is below this, the next below one more, and so on.
    bound: u64,
    numbers: u64,
    /// A word that leaves less than this makes some ways likelier than others, and counts for nothing.
    least: u64,
}

/// A word gives as many numbers as have no more ways than these together, and at least one: of the words of a stratum in
/// one block, each gives three, and one of 16 384 at the most counts for nothing.
const MOST_WAYS: u64 = 1 << 18;

/// A number of 32 bits is below this.
const WORD: u64 = 1 << u32::BITS;

/// The steps that choose so many of a stratum's replicates.
fn steps(replicates: usize, chosen: usize, out: &mut Vec<Step>) {
    let (mut bound, most) = ((replicates - chosen) as u64 + 1, replicates as u64);
    while bound <= most {
        let (mut numbers, mut ways) = (1, bound);
        while bound + numbers <= most && ways * (bound + numbers) <= MOST_WAYS {
            ways *= bound + numbers;
            numbers += 1;
        }
        let least = WORD % ways;
        out.push(Step {
            bound,
            numbers,
            least,
        });
        bound += numbers;
    }
}

/// A stratum, and where its steps and blocks stand.
struct Stratum {
    replicates: usize,
    /// Whether it is arm 0 whose replicates are chosen.
    is_first: bool,
    steps: Range<usize>,
    blocks: Range<usize>,
}

impl Stratum {
    /// The bits of its replicates in a block.
    fn used(&self, block: usize) -> u64 {
        let unused = ((block + 1) * BLOCK).saturating_sub(self.replicates);
        u64::MAX >> unused
    }
}

/// The strata while arrangements are drawn.
pub struct Draws {
    strata: Vec<Stratum>,
    steps: Vec<Step>,
    words: Vec<Words>,
    blocks: Vec<Block>,
    /// The arrangement as it was observed, block by block.
    observed: Vec<u64>,
}

impl Draws {
    /// Of two arms, from the labels of each stratum as they were observed.
    #[must_use]
    pub fn new<'a>(strata: impl Iterator<Item = &'a [u8]>) -> Self {
        let mut draws = Self {
            strata: Vec::new(),
            steps: Vec::new(),
            words: Vec::new(),
            blocks: Vec::new(),
            observed: Vec::new(),
        };
        for labels in strata {
            let (step, block) = (draws.steps.len(), draws.blocks.len());
            let first = labels.iter().filter(|label| **label == 0).count();
            let second = labels.len() - first;
            // Of arms as large the one with the first replicate, whatever it is called.
            let is_first = first < second || first == second && labels.first() == Some(&0);
            steps(labels.len(), first.min(second), &mut draws.steps);
            let blocks = block + blocks_of(labels.len());
            draws.blocks.resize(blocks, [0; ABREAST]);
            set_labels(labels, 0, &mut draws.blocks[block..]);
            draws.strata.push(Stratum {
                replicates: labels.len(),
                is_first,
                steps: step..draws.steps.len(),
                blocks: block..blocks,
            });
        }
        draws.words = vec![Words::default(); draws.steps.len()];
        draws.observed = draws.blocks.iter().map(|block| block[0]).collect();
        draws
    }

    /// Calls `visit` with the arrangement observed and then `draws` seeded ones, up to eight at a time: all strata's
    /// blocks, and how many of their arrangements count.
    pub fn each(mut self, seed: u64, draws: usize, mut visit: impl FnMut(&[Block], usize)) {
        let mut dice = Dice::new(seed);
        for start in (0..=draws).step_by(ABREAST) {
            self.draw(&mut dice);
            if start == 0 {
                for (block, observed) in self.blocks.iter_mut().zip(&self.observed) {
                    block[0] = *observed;
                }
            }
            visit(&self.blocks, ABREAST.min(draws + 1 - start));
        }
    }

    /// The next arrangements: all strata from the words that follow, then again, one after the other, those of whose words
    /// some counted for nothing.
    fn draw(&mut self, dice: &mut Dice) {
        let mut again = self.choose(dice, 0..self.strata.len());
        while let Some(at) = again.pop() {
            again.extend(self.choose(dice, at..at + 1));
        }
    }

    /// Draws a range of strata, and tells which of them must be drawn again.
    fn choose(&mut self, dice: &mut Dice, strata: Range<usize>) -> Vec<usize> {
        let first = strata.start;
        let strata = &self.strata[strata];
        let (Some(from), Some(to)) = (strata.first(), strata.last()) else {
            return Vec::new();
        };
        let words = &mut self.words[from.steps.start..to.steps.end];
        dice.words(words.as_flattened_mut().as_flattened_mut());
        widely(Choose {
            first,
            strata,
            steps: &self.steps,
            words: &self.words,
            blocks: &mut self.blocks,
        })
    }
}

/// Chooses replicates from the words; which strata's words did not all count.
struct Choose<'a> {
    /// The number of the first of these strata.
    first: usize,
    strata: &'a [Stratum],
    steps: &'a [Step],
    words: &'a [Words],
    blocks: &'a mut [Block],
}

impl Work for Choose<'_> {
    type Output = Vec<usize>;

    #[inline(always)]
    fn work<S: Simd>(self, _: S) -> Vec<usize> {
        let mut again = Vec::new();
        for (at, stratum) in self.strata.iter().enumerate() {
            let steps = &self.steps[stratum.steps.clone()];
            let words = &self.words[stratum.steps.clone()];
            let blocks = &mut self.blocks[stratum.blocks.clone()];
            let is_fair = match blocks.len() {
                1 => Within::<1>::choose(steps, words, blocks),
                2 => Within::<2>::choose(steps, words, blocks),
                3 => Within::<3>::choose(steps, words, blocks),
                4 => Within::<4>::choose(steps, words, blocks),
                _ => {
                    blocks.fill([0; ABREAST]);
                    choose(steps, words, &mut AmongMany(blocks))
                }
            };
            if !stratum.is_first {
                for (number, block) in blocks.iter_mut().enumerate() {
                    let used = stratum.used(number);
                    block.iter_mut().for_each(|bits| *bits ^= used);
                }
            }
            if !is_fair {
                again.push(self.first + at);
            }
        }
        again
    }
}

/// The replicates of a stratum that are chosen so far.
trait Chosen {
    /// Of the replicates below a bound, chooses in each arrangement the one that its number says, or the last of them if
    /// that is chosen already.
    fn take(&mut self, bound: u64, numbers: [u64; ABREAST]);
}

/// Chooses replicates of a stratum, and tells whether all words counted.
#[inline(always)]
fn choose(steps: &[Step], words: &[Words], chosen: &mut impl Chosen) -> bool {
    let mut unfair = [false; ABREAST];
    for (step, words) in steps.iter().zip(words) {
        let mut rest = [0; ABREAST];
        for lane in 0..ABREAST {
            rest[lane] = u64::from(u32::from_le_bytes(words[lane]));
        }
        for bound in step.bound..step.bound + step.numbers {
            let mut numbers = [0; ABREAST];
            for lane in 0..ABREAST {
                let wide = rest[lane] * bound;
                numbers[lane] = wide / WORD;
                rest[lane] = wide % WORD;
            }
            chosen.take(bound, numbers);
        }
        for lane in 0..ABREAST {
            unfair[lane] |= rest[lane] < step.least;
        }
    }
    !unfair.contains(&true)
}

/// In so few blocks that all are gone through for each number, eight arrangements side by side.
struct Within<const BLOCKS: usize>([Block; BLOCKS]);

impl<const BLOCKS: usize> Within<BLOCKS> {
    #[inline(always)]
    fn choose(steps: &[Step], words: &[Words], blocks: &mut [Block]) -> bool {
        let mut chosen = Self([[0; ABREAST]; BLOCKS]);
        let is_fair = choose(steps, words, &mut chosen);
        blocks.copy_from_slice(&chosen.0);
        is_fair
    }

    /// The bit of a place, if it is in that block.
    #[inline(always)]
    fn bit(block: usize, place: u64) -> u64 {
        let is_here = BLOCKS == 1 || place / BLOCK as u64 == block as u64;
        u64::from(is_here) << (place % BLOCK as u64)
    }
}

impl<const BLOCKS: usize> Chosen for Within<BLOCKS> {
    #[inline(always)]
    fn take(&mut self, bound: u64, numbers: [u64; ABREAST]) {
        let mut taken = [0; ABREAST];
        for block in 0..BLOCKS {
            for lane in 0..ABREAST {
                taken[lane] |= self.0[block][lane] & Self::bit(block, numbers[lane]);
            }
        }
        for block in 0..BLOCKS {
            let last = Self::bit(block, bound - 1);
            for lane in 0..ABREAST {
                let own = Self::bit(block, numbers[lane]);
                self.0[block][lane] |= if taken[lane] == 0 { own } else { last };
            }
        }
    }
}

/// In more blocks than it pays to go through, arrangement by arrangement.
struct AmongMany<'a>(&'a mut [Block]);

impl Chosen for AmongMany<'_> {
    #[inline(always)]
    fn take(&mut self, bound: u64, numbers: [u64; ABREAST]) {
        for (lane, number) in numbers.into_iter().enumerate() {
            let (block, bit) = place(number);
            let (block, bit) = if self.0[block][lane] & bit == 0 {
                (block, bit)
            } else {
                place(bound - 1)
            };
            self.0[block][lane] |= bit;
        }
    }
}

/// The block of a place, and its bit there.
#[inline(always)]
fn place(of: u64) -> (usize, u64) {
    (of as usize / BLOCK, 1 << (of % BLOCK as u64))
}

#[cfg(test)]
mod tests {
    use super::{ABREAST, BLOCK, Block, Draws, WORD, blocks_of, read_labels};
    use crate::stats::dice::Dice;
    use std::collections::BTreeMap;

    /// The labels of all strata, read off their blocks.
    fn labels(strata: &[Vec<u8>], blocks: &[Block], lane: usize) -> Vec<u8> {
        let (mut out, mut block) = (Vec::new(), 0);
        for stratum in strata {
            let mut labels = stratum.clone();
            read_labels(&blocks[block..], lane, &mut labels);
            out.extend(labels);
            block += blocks_of(stratum.len());
        }
        out
    }

    fn drawn(strata: &[Vec<u8>], seed: u64, draws: usize) -> Vec<Vec<u8>> {
        let mut out = Vec::new();
        let each = strata.iter().map(Vec::as_slice);
        Draws::new(each).each(seed, draws, |blocks, filled| {
            assert!(filled <= ABREAST);
            out.extend((0..filled).map(|lane| labels(strata, blocks, lane)));
        });
        out
    }

    /// The same by the rule as it is written down, arrangement by arrangement and replicate by replicate.
    struct Plainly {
        dice: Dice,
        /// How often a stratum was drawn again.
        again: usize,
    }

    impl Plainly {
        fn word(&mut self) -> u64 {
            let mut bytes = [0; 4];
            self.dice.words(&mut bytes);
            u64::from(u32::from_le_bytes(bytes))
        }

        /// One stratum in eight arrangements; none where a word did not count.
        fn stratum(&mut self, labels: &[u8]) -> Option<[Vec<u8>; ABREAST]> {
            let count = |arm: u8| labels.iter().filter(|label| **label == arm).count();
            let arm = match count(0).cmp(&count(1)) {
                std::cmp::Ordering::Less => 0,
                std::cmp::Ordering::Greater => 1,
                std::cmp::Ordering::Equal => labels.first().copied().unwrap_or(0),
            };
            let mut bounds: Vec<u64> = (labels.len() - count(arm) + 1..=labels.len())
                .map(|bound| bound as u64)
                .collect();
            let mut out = [(); ABREAST].map(|()| vec![1 - arm; labels.len()]);
            let mut all_count = true;
            while !bounds.is_empty() {
                let ways = |numbers: usize| bounds[..numbers].iter().product::<u64>();
                let fits = |numbers: &usize| *numbers == 1 || ways(*numbers) <= 1 << 18;
                let numbers = (1..=bounds.len()).take_while(fits).last().unwrap();
                let ways = ways(numbers);
                for labels in &mut out {
                    let word = self.word();
                    all_count &= word * ways % WORD >= WORD % ways;
                    // The digits of one number below all the ways, the first the highest.
                    let (mut number, mut places) = (word * ways / WORD, Vec::new());
                    for bound in bounds[..numbers].iter().rev() {
                        places.push(number % bound);
                        number /= bound;
                    }
                    for (bound, place) in bounds.iter().zip(places.into_iter().rev()) {
                        let is_taken = labels[place as usize] == arm;
                        labels[if is_taken { bound - 1 } else { place } as usize] = arm;
                    }
                }
                bounds.drain(..numbers);
            }
            all_count.then_some(out)
        }

        fn drawn(&mut self, strata: &[Vec<u8>], draws: usize) -> Vec<Vec<u8>> {
            let mut out = Vec::new();
            while out.len() <= draws {
                let mut found: Vec<_> = strata.iter().map(|labels| self.stratum(labels)).collect();
                for (found, labels) in found.iter_mut().zip(strata).rev() {
                    while found.is_none() {
                        self.again += 1;
                        *found = self.stratum(labels);
                    }
                }
                out.extend((0..ABREAST).map(|lane| {
                    let strata = found.iter().flatten();
                    strata.flat_map(|it| it[lane].clone()).collect::<Vec<u8>>()
                }));
            }
            out[0] = strata.concat();
            out.truncate(draws + 1);
            out
        }
    }

    /// How often a stratum was drawn again.
    fn same_as_plainly(strata: &[Vec<u8>], seed: u64, draws: usize) -> usize {
        let mut plainly = Plainly {
            dice: Dice::new(seed),
            again: 0,
        };
        let wanted = plainly.drawn(strata, draws);
        assert!(
            drawn(strata, seed, draws) == wanted,
            "{strata:?} from seed {seed}"
        );
        let ones = |labels: &[u8]| labels.iter().filter(|label| **label == 1).count();
        let mut start = 0;
        for stratum in strata {
            let here = start..start + stratum.len();
            assert!(
                wanted
                    .iter()
                    .all(|it| ones(&it[here.clone()]) == ones(stratum))
            );
            start = here.end;
        }
        plainly.again
    }

    fn mixed(sizes: &[usize]) -> Vec<Vec<u8>> {
        let label = |at: usize| u8::from(at % 5 > 1);
        sizes.iter().map(|n| (0..*n).map(label).collect()).collect()
    }

    #[test]
    fn they_are_those_of_the_rule_replicate_by_replicate() {
        let far = [2, 3, 4, 5, 9].map(|blocks| blocks * BLOCK - 1);
        for sizes in [
            vec![2],
            vec![64],
            vec![65],
            vec![
                1, 9, 64, 63, 200, 2, 0, 1, 30, 7, 12, 129, 128, 257, 700, 31, 31,
            ],
            (1..40).collect(),
            far.to_vec(),
        ] {
            for seed in 0..4 {
                same_as_plainly(&mixed(&sizes), seed, 61);
            }
        }
    }

    #[test]
    fn a_stratum_whose_words_do_not_all_count_is_drawn_again() {
        let even = |size: usize| (0..size).map(|at| (at % 2) as u8).collect();
        let strata = [even(64), even(60), even(7)];
        assert!(same_as_plainly(&strata, 1, 30_000) > 0);
    }

    #[test]
    fn each_arrangement_is_as_likely() {
        for (labels, ways) in [
            (vec![0, 1, 1], 3),
            (vec![1, 0, 0, 1], 6),
            (vec![0, 0, 1, 1, 1], 10),
            (vec![0, 0, 0, 1, 1, 1, 1, 1], 56),
            (vec![1, 1, 1, 1, 0, 0, 0, 0], 70),
        ] {
            let draws = 1000 * ways;
            let mut times: BTreeMap<Vec<u8>, f64> = BTreeMap::new();
            for labels in &drawn(&[labels], 5, draws)[1..] {
                *times.entry(labels.clone()).or_default() += 1.0;
            }
            assert_eq!(times.len(), ways);
            let squares = times
                .values()
                .map(|times| (times - 1000.0).powi(2) / 1000.0);
            let (chi2, df) = (squares.sum::<f64>(), ways as f64 - 1.0);
            // Beyond four standard deviations, and a little for few degrees of freedom: about one in ten thousand.
            assert!(
                chi2 < df + 4.0 * (2.0 * df).sqrt() + 5.0,
                "{chi2} of {ways} ways"
            );
        }
    }

    /// Where a stratum takes several blocks, each replicate is in either arm as often as its size says.
    #[test]
    fn each_replicate_of_a_large_stratum_is_chosen_as_often() {
        for size in [70, 150, 300, 500] {
            let labels: Vec<u8> = (0..size).map(|at| u8::from(at % 3 > 0)).collect();
            let first = labels.iter().filter(|label| **label == 0).count() as f64 / size as f64;
            let all = drawn(std::slice::from_ref(&labels), 3, 8_000);
            let mut chi2 = 0.0;
            for at in 0..size {
                let times = all[1..].iter().filter(|it| it[at] == 0).count() as f64;
                chi2 += (times - 8_000.0 * first).powi(2) / (8_000.0 * first * (1.0 - first));
            }
            let df = size as f64;
            assert!(
                (chi2 - df).abs() < 4.0 * (2.0 * df).sqrt(),
                "{chi2} of {size}"
            );
        }
    }

    #[test]
    fn the_names_of_the_arms_change_no_arrangement() {
        let strata = mixed(&[2, 5, 8, 12, 70]);
        let turned: Vec<Vec<u8>> = strata
            .iter()
            .map(|labels| labels.iter().map(|label| 1 - label).collect())
            .collect();
        for (one, other) in drawn(&strata, 9, 50).iter().zip(drawn(&turned, 9, 50)) {
            assert!(one.iter().zip(other).all(|(one, other)| one + other == 1));
        }
    }
}
