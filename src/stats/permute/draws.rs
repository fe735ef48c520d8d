//! A seeded draw of arrangements of two arms, a bit for each replicate and eight arrangements side by side. It must draw
//! the same ones as shuffling label by label does.

use crate::stats::arrange::Layout;
use crate::stats::dice::Dice;
use crate::stats::wide::{Work, widely};
use std::ops::Range;

/// So many arrangements, and so many strata of one arrangement, are worked on side by side.
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
        block[lane] = bits_of(labels);
    }
}

/// A bit for each label, 0 or 1: set where it is 0.
fn bits_of(labels: &[u8]) -> u64 {
    /// Moves the lowest bit of each byte to the highest byte, in their order.
    const GATHER: u64 = 0x0102_0408_1020_4080;
    let (whole, rest) = labels.as_chunks::<8>();
    let mut ones = 0;
    for (at, eight) in whole.iter().enumerate() {
        ones |= (u64::from_le_bytes(*eight).wrapping_mul(GATHER) >> 56) << (8 * at);
    }
    for (at, label) in rest.iter().enumerate() {
        ones |= u64::from(*label) << (8 * whole.len() + at);
    }
    let unused = BLOCK - labels.len().min(BLOCK);
    if labels.is_empty() {
        0
    } else {
        !ones << unused >> unused
    }
}

/// Strata that fit in a block, worked on side by side.
struct Abreast {
    /// Which block each is; none where there are fewer.
    blocks: [Option<usize>; ABREAST],
    /// How many replicates each has, at least 1.
    sizes: [u64; ABREAST],
    /// The bits of each as they stand.
    bits: [u64; ABREAST],
    /// Where the random words of each begin among those of an arrangement.
    words: [usize; ABREAST],
    /// Where they stand side by side.
    turned: Range<usize>,
}

/// A stratum that takes several blocks.
struct Long {
    labels: Vec<u8>,
    first_block: usize,
    words: usize,
}

/// Where a stratum stands.
#[derive(Clone, Copy)]
enum Place {
    Short(usize, usize),
    Long(usize),
}

/// The strata while arrangements are drawn.
pub struct Draws {
    short: Vec<Abreast>,
    long: Vec<Long>,
    /// Stratum after stratum.
    places: Vec<Place>,
    /// The random words of one arrangement: each stratum takes one fewer than it has replicates.
    words: Vec<u8>,
    /// Those of short strata side by side.
    turned: Vec<[u32; ABREAST]>,
    blocks: Vec<Block>,
}

impl Draws {
    /// Of a layout of two arms, as they were observed.
    #[must_use]
    pub fn new(layout: &Layout) -> Self {
        let mut draws = Self {
            short: Vec::new(),
            long: Vec::new(),
            places: Vec::new(),
            words: Vec::new(),
            turned: Vec::new(),
            blocks: Vec::new(),
        };
        let (mut block, mut word) = (0, 0);
        let mut short = Vec::new();
        for range in layout.strata().filter(|range| !range.is_empty()) {
            let labels = &layout.labels()[range];
            let place = draws.places.len();
            draws.places.push(Place::Long(draws.long.len()));
            if labels.len() > BLOCK {
                draws.long.push(Long {
                    labels: labels.to_vec(),
                    first_block: block,
                    words: word,
                });
            } else {
                short.push((place, labels, block, word));
            }
            block += blocks_of(labels.len());
            word += labels.len() - 1;
        }
        draws.blocks = vec![[0; ABREAST]; block];
        draws.words = vec![0; word * size_of::<u32>()];
        // Like sizes side by side, so that few wait for others.
        short.sort_by_key(|(_, labels, ..)| labels.len());
        for strata in short.chunks(ABREAST) {
            draws.put_abreast(strata);
        }
        draws
    }

    fn put_abreast(&mut self, strata: &[(usize, &[u8], usize, usize)]) {
        let start = self.turned.len();
        let mut abreast = Abreast {
            blocks: [None; ABREAST],
            sizes: [1; ABREAST],
            bits: [0; ABREAST],
            words: [0; ABREAST],
            turned: start..start,
        };
        for (lane, &(place, labels, block, word)) in strata.iter().enumerate() {
            self.places[place] = Place::Short(self.short.len(), lane);
            abreast.blocks[lane] = Some(block);
            abreast.sizes[lane] = labels.len() as u64;
            abreast.bits[lane] = bits_of(labels);
            abreast.words[lane] = word;
            abreast.turned.end = abreast.turned.end.max(start + labels.len() - 1);
        }
        self.turned.resize(abreast.turned.end, [0; ABREAST]);
        self.short.push(abreast);
    }

    /// Calls `visit` with the arrangement observed and then `draws` seeded ones, up to eight at a time: all strata's
    /// blocks, and how many of their arrangements count.
    pub fn each(mut self, seed: u64, draws: usize, mut visit: impl FnMut(&[Block], usize)) {
        let mut dice = Dice::new(seed);
        for number in 0..=draws {
            if number > 0 {
                self.shuffle(&mut dice);
            }
            let lane = number % ABREAST;
            self.note(lane);
            if lane + 1 == ABREAST || number == draws {
                visit(&self.blocks, lane + 1);
            }
        }
    }

    fn note(&mut self, lane: usize) {
        for abreast in &self.short {
            for (block, bits) in abreast.blocks.iter().zip(abreast.bits) {
                if let Some(block) = block {
                    self.blocks[*block][lane] = bits;
                }
            }
        }
        for long in &self.long {
            set_labels(&long.labels, lane, &mut self.blocks[long.first_block..]);
        }
    }

    /// The next arrangement: all at once, unless some number was drawn that may have to be drawn again.
    fn shuffle(&mut self, dice: &mut Dice) {
        let (before, short): (Dice, Vec<Block>) =
            (dice.clone(), self.short.iter().map(|it| it.bits).collect());
        let long: Vec<Vec<u8>> = self.long.iter().map(|it| it.labels.clone()).collect();
        dice.words(&mut self.words);
        if self.shuffle_at_once() {
            return;
        }
        *dice = before;
        for (abreast, bits) in self.short.iter_mut().zip(short) {
            abreast.bits = bits;
        }
        for (it, labels) in self.long.iter_mut().zip(long) {
            it.labels = labels;
        }
        self.shuffle_one_by_one(dice);
    }

    fn shuffle_one_by_one(&mut self, dice: &mut Dice) {
        for place in &self.places {
            match *place {
                Place::Long(at) => {
                    if let Some(long) = self.long.get_mut(at) {
                        dice.shuffle(&mut long.labels);
                    }
                }
                Place::Short(at, lane) => {
                    let abreast = &mut self.short[at];
                    let size = abreast.sizes[lane];
                    let bits = abreast.bits[lane];
                    let label = |place: u64| u8::from(bits >> place & 1 == 0);
                    let mut labels: Vec<u8> = (0..size).map(label).collect();
                    dice.shuffle(&mut labels);
                    abreast.bits[lane] = bits_of(&labels);
                }
            }
        }
    }

    /// Whether every number could be taken as it was drawn; if not, what stands now means nothing.
    fn shuffle_at_once(&mut self) -> bool {
        let mut fair = true;
        for long in &mut self.long {
            fair &= shuffle_long(&mut long.labels, words(&self.words, long.words));
        }
        for abreast in &self.short {
            for lane in 0..ABREAST {
                let turned = &mut self.turned[abreast.turned.clone()];
                let taken = (abreast.sizes[lane] - 1) as usize;
                let words = words(&self.words, abreast.words[lane]);
                for (turned, word) in turned.iter_mut().zip(words.take(taken)) {
                    turned[lane] = word;
                }
            }
        }
        fair & widely(Shuffle {
            short: &mut self.short,
            turned: &self.turned,
        })
    }
}

/// The random words from one on.
fn words(bytes: &[u8], from: usize) -> impl Iterator<Item = u32> + '_ {
    let (words, _) = bytes.as_chunks::<{ size_of::<u32>() }>();
    let rest = words.get(from..).unwrap_or_default();
    rest.iter().map(|word| u32::from_le_bytes(*word))
}

/// Shuffles as [`Dice::shuffle`] does; false where a number may have to be drawn again.
fn shuffle_long(labels: &mut [u8], words: impl Iterator<Item = u32>) -> bool {
    let mut fair = true;
    for (place, word) in (0..labels.len().saturating_sub(1)).zip(words) {
        let left = (labels.len() - place) as u64;
        let wide = u64::from(word) * left;
        fair &= wide & u64::from(u32::MAX) >= left;
        labels.swap(place, place + (wide >> 32) as usize);
    }
    fair
}

/// Shuffles all short strata, eight side by side; false where a number may have to be drawn again.
struct Shuffle<'a> {
    short: &'a mut [Abreast],
    turned: &'a [[u32; ABREAST]],
}

impl Work for Shuffle<'_> {
    type Output = bool;

    #[inline(always)]
    fn work(self) -> bool {
        let mut unfair = [0; ABREAST];
        for abreast in self.short {
            let turned = &self.turned[abreast.turned.clone()];
            let (mut rest, mut left, mut out) = (abreast.bits, abreast.sizes, [0; ABREAST]);
            for (place, words) in turned.iter().enumerate() {
                for lane in 0..ABREAST {
                    // A stratum whose last is left goes on without effect.
                    let wide = u64::from(words[lane]) * left[lane];
                    let is_low = wide & u64::from(u32::MAX) < left[lane];
                    unfair[lane] |= u64::from(is_low & (left[lane] > 1));
                    let from = wide >> 32;
                    let chosen = rest[lane] >> from;
                    let differs = (chosen ^ rest[lane]) & 1;
                    out[lane] |= (chosen & 1) << place;
                    rest[lane] = (rest[lane] ^ differs << from) >> 1;
                    left[lane] = (left[lane] - 1).max(1);
                }
            }
            for lane in 0..ABREAST {
                abreast.bits[lane] = out[lane] | (rest[lane] & 1) << turned.len();
            }
        }
        unfair.iter().all(|unfair| *unfair == 0)
    }
}

#[cfg(test)]
mod tests {
    use super::{ABREAST, BLOCK, Block, Draws, blocks_of};
    use crate::stats::arrange::Layout;

    /// Whether each label is 0, read off the blocks of strata of these sizes.
    fn is_first(sizes: &[usize], blocks: &[Block], lane: usize) -> Vec<bool> {
        let (mut out, mut block) = (Vec::new(), 0);
        for size in sizes {
            let bit = |at: usize| blocks[block + at / BLOCK][lane] >> (at % BLOCK) & 1 == 1;
            out.extend((0..*size).map(bit));
            block += blocks_of(*size);
        }
        out
    }

    fn same_as_label_by_label(sizes: &[usize], seed: u64, draws: usize) {
        let label = |at: usize| u8::from(at % 5 > 1);
        let strata: Vec<Vec<u8>> = sizes.iter().map(|n| (0..*n).map(label).collect()).collect();
        let layout = Layout::new(&strata);
        let mut plain = Vec::new();
        layout.each(seed, draws, 0.0, |labels| {
            plain.push(
                labels
                    .iter()
                    .map(|label| *label == 0)
                    .collect::<Vec<bool>>(),
            );
        });
        let mut found = Vec::new();
        Draws::new(&layout).each(seed, draws, |blocks, filled| {
            assert!(filled <= ABREAST);
            found.extend((0..filled).map(|lane| is_first(sizes, blocks, lane)));
        });
        assert_eq!(found.len(), draws + 1);
        assert!(found == plain, "{sizes:?} from seed {seed}");
    }

    #[test]
    fn they_are_those_of_shuffling_label_by_label() {
        for sizes in [
            vec![2],
            vec![64],
            vec![65],
            vec![1, 9, 64, 63, 200, 2, 0, 1, 30, 7, 12, 129, 128, 31, 31],
            (1..40).collect(),
        ] {
            for seed in 0..4 {
                same_as_label_by_label(&sizes, seed, 61);
            }
        }
    }

    /// In the stream of this seed a number of the 112th arrangement is thrown away and drawn again.
    #[test]
    fn a_number_that_must_be_drawn_again_is() {
        same_as_label_by_label(&[60], 30_178, 130);
    }
}
