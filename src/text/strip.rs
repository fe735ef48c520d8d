//! The strip of a batch: one small mark a cutting, told apart by shape alone. It chooses marks and
//! their number; colours are the screen's.

use super::clean::Charset;
use crate::fold::batch::BatchCounts;

/// What a mark stands for, in the order of the strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CuttingMark {
    /// Roots at the bottom.
    Bottom,
    /// Rooted.
    Rooted,
    /// Callused.
    Callused,
    /// Nothing yet.
    Bare,
    /// Moved on: potted, or sold straight from the bench.
    Potted,
    /// Given up or surplus: taken off the bench for no cause of loss.
    GivenUp,
    /// Lost.
    Lost,
}

/// Mark, its sign, its ASCII sign. What a grower sees: a bare stick; a round callus; a stem with
/// two roots; a stem with many; a pot; an empty place; a stick fallen over. Every sign is one
/// column wide in all terminals (UAX 11: never W, F or A) and has no emoji form.
const MARKS: [(CuttingMark, char, char); 7] = [
    (CuttingMark::Bottom, 'ʍ', 'M'),
    (CuttingMark::Rooted, '⋏', 'A'),
    (CuttingMark::Callused, 'o', 'o'),
    (CuttingMark::Bare, '|', 'i'),
    (CuttingMark::Potted, '⊔', 'u'),
    (CuttingMark::GivenUp, '_', '_'),
    (CuttingMark::Lost, '¬', '-'),
];

/// The marks before this place stand on the bench, without gaps between them.
const BENCH: usize = 4;

impl CuttingMark {
    /// Every mark, in the order of the strip.
    pub const ALL: [CuttingMark; 7] = [
        CuttingMark::Bottom,
        CuttingMark::Rooted,
        CuttingMark::Callused,
        CuttingMark::Bare,
        CuttingMark::Potted,
        CuttingMark::GivenUp,
        CuttingMark::Lost,
    ];

    /// The sign, one column wide.
    #[must_use]
    pub fn sign(self, charset: Charset) -> char {
        let (_, sign, ascii) = MARKS[self as usize];
        match charset {
            Charset::Utf8 => sign,
            Charset::Ascii => ascii,
        }
    }
}

/// A run of one mark within a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StripRun {
    /// What the marks stand for.
    pub mark: CuttingMark,
    /// How many marks are drawn.
    pub drawn: usize,
    /// How many cuttings they stand for.
    pub cuttings: u32,
    /// Whether an empty column stands before the run.
    pub gap: bool,
}

/// A batch's strip: runs in order, to be drawn one after the other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Strip {
    /// The runs, none empty.
    pub runs: Vec<StripRun>,
    /// True if there are more cuttings than marks.
    pub scaled: bool,
}

/// How many cuttings each mark stands for, in the order of [`CuttingMark::ALL`].
#[must_use]
pub fn tally(counts: &BatchCounts) -> [u32; 7] {
    let [bare, callused, rooted, bottom] = counts.bench;
    let lost = counts.lost.total();
    let moved_on = counts.potted.saturating_add(counts.ready_from_bench);
    [
        bottom,
        rooted,
        callused,
        bare,
        moved_on,
        counts.given_up,
        lost,
    ]
}

/// The strip of a tally in at most `cols` columns.
///
/// With room enough there is one mark a cutting. Otherwise the marks fill the columns, shared by
/// largest remainder (Hamilton's method), no kind that has a cutting left without a mark. Gaps
/// part the cuttings on the bench from those potted, gone and lost; they are given up where there
/// would be fewer columns than kinds, and then the kinds with fewest cuttings.
#[must_use]
pub fn strip(tally: [u32; 7], cols: usize) -> Strip {
    let kinds = tally.iter().filter(|n| **n > 0).count();
    let on_bench = tally[..BENCH].iter().any(|n| *n > 0);
    let set_off = tally[BENCH..].iter().filter(|n| **n > 0).count();
    let gaps = (usize::from(on_bench) + set_off).saturating_sub(1);
    let gaps = if kinds + gaps <= cols { gaps } else { 0 };
    let room = cols - gaps;
    let total: u64 = tally.iter().map(|n| u64::from(*n)).sum();
    let scaled = total > room as u64;
    let drawn = if scaled {
        share(tally, room)
    } else {
        tally.map(|n| n as usize)
    };
    let mut runs: Vec<StripRun> = Vec::new();
    for (place, mark) in CuttingMark::ALL.into_iter().enumerate() {
        if drawn[place] > 0 {
            runs.push(StripRun {
                mark,
                drawn: drawn[place],
                cuttings: tally[place],
                gap: gaps > 0 && place >= BENCH && !runs.is_empty(),
            });
        }
    }
    Strip { runs, scaled }
}

impl Strip {
    /// The strip as plain text, gaps as spaces.
    #[must_use]
    pub fn text(&self, charset: Charset) -> String {
        let mut out = String::new();
        for run in &self.runs {
            if run.gap {
                out.push(' ');
            }
            out.extend(std::iter::repeat_n(run.mark.sign(charset), run.drawn));
        }
        out
    }
}

/// Shares `room` marks: one for each kind whose due is less than one, the rest by largest remainder.
fn share(tally: [u32; 7], room: usize) -> [usize; 7] {
    let mut drawn = [0; 7];
    let mut open: Vec<usize> = (0..7).filter(|at| tally[*at] > 0).collect();
    // Most cuttings first, so that the fewest go without where there is no room for all.
    open.sort_by_key(|at| std::cmp::Reverse(tally[*at]));
    open.truncate(room);
    let mut left = room;
    loop {
        let total: u64 = open.iter().map(|at| u64::from(tally[*at])).sum();
        let small = |at: &usize| u64::from(tally[*at]) * (left as u64) < total;
        let Some(place) = open.iter().rposition(small) else {
            break;
        };
        drawn[open.remove(place)] = 1;
        left -= 1;
    }
    open.sort_unstable();
    let counts: Vec<u32> = open.iter().map(|at| tally[*at]).collect();
    for (at, marks) in open.iter().zip(largest_remainder(&counts, left)) {
        drawn[*at] = marks;
    }
    drawn
}

/// Hamilton's method: whole parts first, what is left to the largest remainders, the earlier first.
fn largest_remainder(counts: &[u32], seats: usize) -> Vec<usize> {
    let total: u64 = counts.iter().map(|n| u64::from(*n)).sum();
    if total == 0 {
        return vec![0; counts.len()];
    }
    let due = |n: &u32| u64::from(*n) * seats as u64;
    let mut shares: Vec<usize> = counts.iter().map(|n| (due(n) / total) as usize).collect();
    let mut order: Vec<usize> = (0..counts.len()).collect();
    order.sort_by_key(|at| std::cmp::Reverse(due(&counts[*at]) % total));
    let given: usize = shares.iter().sum();
    for at in order.into_iter().take(seats - given) {
        shares[at] += 1;
    }
    shares
}

#[cfg(test)]
mod tests {
    use super::largest_remainder;

    #[test]
    fn largest_remainder_gives_the_textbook_seats() {
        // The usual example of the method with Hare's quota: 100 000 votes, 10 seats (from memory).
        let votes = [47_000, 16_000, 15_800, 12_000, 6_100, 3_100];
        assert_eq!(largest_remainder(&votes, 10), [5, 2, 1, 1, 1, 0]);
    }
}
