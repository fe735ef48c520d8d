//! Puts a batch's strip on the canvas, its marks in the colours of what they stand for.

use super::canvas::Canvas;
use super::ink::Meaning;
use crate::fold::batch::BatchCounts;
use crate::text::strip::{Mark, strip, tally};

/// The colour that repeats what a mark says.
#[must_use]
pub fn meaning(mark: Mark) -> Meaning {
    match mark {
        Mark::Bottom => Meaning::Bottom,
        Mark::Rooted => Meaning::Rooted,
        Mark::Callused => Meaning::Callused,
        Mark::Lost => Meaning::Lost,
        Mark::Bare | Mark::Potted | Mark::Gone => Meaning::Plain,
    }
}

/// Draws the strip of these counts in at most so many columns from there on.
pub fn draw(
    counts: &BatchCounts,
    columns: usize,
    row: usize,
    column: usize,
    canvas: &mut Canvas<'_>,
) {
    draw_tally(tally(counts), columns, row, column, canvas);
}

/// Draws the strip of a tally, in the order of [`Mark::ALL`].
pub fn draw_tally(
    tally: [u32; 7],
    columns: usize,
    row: usize,
    column: usize,
    canvas: &mut Canvas<'_>,
) {
    let glyphs = canvas.ink().glyphs;
    let mut at = column;
    for run in strip(tally, columns).runs {
        at += usize::from(run.gap);
        let signs = run.mark.sign(glyphs).to_string().repeat(run.drawn);
        at = canvas.text(row, at, &signs, meaning(run.mark));
    }
}
