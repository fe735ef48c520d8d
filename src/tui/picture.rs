//! The two pictures of every screen: a batch cutting by cutting on a strip, and days since sticking on a ruler.

use super::canvas::{Canvas, Tone};
use crate::fold::batch::BatchCounts;
use crate::text::strip::{CuttingMark, strip, tally};

/// The colour that repeats what a mark says.
#[must_use]
pub fn mark_meaning(mark: CuttingMark) -> Tone {
    match mark {
        CuttingMark::Bottom => Tone::Bottom,
        CuttingMark::Rooted => Tone::Rooted,
        CuttingMark::Callused => Tone::Callused,
        CuttingMark::Lost => Tone::Lost,
        CuttingMark::Bare | CuttingMark::Potted | CuttingMark::Gone => Tone::Plain,
    }
}

/// Draws the strip of these counts in at most so many columns from there on.
pub fn draw_strip(
    counts: &BatchCounts,
    columns: usize,
    row: usize,
    column: usize,
    canvas: &mut Canvas<'_>,
) {
    draw_tally(tally(counts), columns, row, column, canvas);
}

/// Draws the strip of a tally, in the order of [`CuttingMark::ALL`].
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
        at = canvas.text(row, at, &signs, mark_meaning(run.mark));
    }
}

/// Columns before the days, for the words beside them.
pub const MARGIN: usize = 9;

/// Days since sticking laid on columns.
#[derive(Debug)]
pub struct Scale {
    /// Days shown, that of sticking counted.
    pub days: u32,
    room: usize,
}

impl Scale {
    /// So many days on at most so many columns: a whole number of columns to a day if they fit.
    pub fn new(days: u32, room: usize) -> Self {
        let each = (room / (days as usize + 1)).clamp(1, 4);
        let wanted = each * (days as usize + 1);
        Self {
            days: days + 1,
            room: wanted.min(room),
        }
    }

    /// Columns in use.
    pub fn columns(&self) -> usize {
        self.room
    }

    /// The first column of a day.
    pub fn column(&self, day: u32) -> usize {
        let at = u64::from(day.min(self.days - 1)) * self.room as u64 / u64::from(self.days);
        at as usize
    }

    /// The last day of a column.
    pub fn day(&self, column: usize) -> u32 {
        let next = (column as u64 + 1) * u64::from(self.days);
        next.saturating_sub(1)
            .checked_div(self.room as u64)
            .map_or(0, |day| day as u32)
    }

    /// Days between marks so that their words do not touch.
    pub fn step(&self, words: usize) -> u32 {
        let steps = [1, 2, 5, 7, 10, 14, 20, 28, 50, 100, 200, 400, 1000];
        let fits = |step: &&u32| **step as usize * self.room / self.days as usize > words;
        steps.iter().find(fits).copied().unwrap_or(1000)
    }

    /// The first day of a column.
    pub fn column_day(&self, column: usize) -> u32 {
        (column as u64 * u64::from(self.days))
            .checked_div(self.room as u64)
            .map_or(0, |d| d as u32)
    }
}

/// So many days over the canvas.
#[must_use]
pub fn scale_to(last: u32, canvas: &Canvas<'_>) -> Scale {
    let room = canvas.width().saturating_sub(MARGIN + 1).max(1);
    Scale::new(last, room)
}

/// The day ruler.
pub fn draw_ruler(scale: &Scale, last: u32, row: usize, canvas: &mut Canvas<'_>) {
    canvas.text(row, 0, "day", Tone::Heading);
    for day in (0..=last).step_by(scale.step(5) as usize) {
        let (at, word) = (MARGIN + scale.column(day), day.to_string());
        // Half a number is another number.
        if at + word.len() <= canvas.width() {
            canvas.text(row, at, &word, Tone::Heading);
        }
    }
}

/// The row of a share on `top` + 1 rows.
#[must_use]
pub fn level_row(share: f64, top: usize) -> usize {
    let up = (share.clamp(0.0, 1.0) * top as f64).round() as usize;
    top - up
}

/// A sign from the day of 10 % to that of 90 %, the three marked.
pub fn draw_run(
    days: [f64; 3],
    (sign, meaning): (&str, Tone),
    (scale, row): (&Scale, usize),
    canvas: &mut Canvas<'_>,
) {
    let [ten, fifty, ninety] = days.map(|day| MARGIN + scale.column(day.round().max(0.0) as u32));
    let run = sign.repeat(ninety.saturating_sub(ten) + 1);
    canvas.text(row, ten, &run, meaning);
    let mut free = 0;
    for (at, word) in [(ten, "10"), (fifty, "50"), (ninety, "90")] {
        // Marks too near each other would run into one number.
        let column = at.max(free);
        if column + word.len() > canvas.width() {
            break;
        }
        canvas.text(row, column, word, Tone::Heading);
        free = column + 3;
    }
}
