//! Days since sticking on a ruler, with the days of 10, 50 and 90 %, and the rows of shares above it. It
//! computes no figure but where a sign stands.

use super::batch::draw::Scale;
use super::canvas::Canvas;
use super::ink::Meaning;

/// Columns before the days, for the words beside them.
pub const MARGIN: usize = 9;

/// So many days over the canvas.
#[must_use]
pub(in crate::tui) fn scale(last: u32, canvas: &Canvas<'_>) -> Scale {
    let room = canvas.width().saturating_sub(MARGIN + 1).max(1);
    Scale::new(last, room)
}

/// The day ruler.
pub(in crate::tui) fn ruler(scale: &Scale, last: u32, row: usize, canvas: &mut Canvas<'_>) {
    canvas.text(row, 0, "day", Meaning::Heading);
    for day in (0..=last).step_by(scale.step(5) as usize) {
        let (at, word) = (MARGIN + scale.column(day), day.to_string());
        // Half a number is another number.
        if at + word.len() <= canvas.width() {
            canvas.text(row, at, &word, Meaning::Heading);
        }
    }
}

/// The row of a share on `top` + 1 rows.
#[must_use]
pub fn level(share: f64, top: usize) -> usize {
    let up = (share.clamp(0.0, 1.0) * top as f64).round() as usize;
    top - up
}

/// A sign from the day of 10 % to that of 90 %, the three marked.
pub(in crate::tui) fn run(
    days: [f64; 3],
    (sign, meaning): (&str, Meaning),
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
        canvas.text(row, column, word, Meaning::Heading);
        free = column + 3;
    }
}
