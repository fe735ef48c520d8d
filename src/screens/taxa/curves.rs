//! Curves of a group drawn with characters, told apart by shape; ruler lines with 10, 50 and 90 %
//! marks where there is no room for curves. It computes no figure but where a sign stands.

use crate::book::milestone::Milestone;
use crate::book::timeline::{Group, MilestoneFigure};
use crate::figures::days::reached_by;
use crate::screens::batch::draw::Scale;
use crate::screens::canvas::Canvas;
use crate::screens::ink::Meaning;
use crate::screens::strip::meaning;
use crate::words::strip::Mark;

/// Columns before the days, for the words beside them.
const MARGIN: usize = 9;

/// The mark that draws a milestone's curve.
fn mark(milestone: Milestone) -> Mark {
    match milestone {
        Milestone::Callus => Mark::Callused,
        Milestone::Root => Mark::Rooted,
        Milestone::Bottom => Mark::Bottom,
    }
}

/// The last day that is drawn.
fn last_day(group: &Group) -> u32 {
    let curves = group.milestones.iter().flat_map(|m| m.curve.last());
    let last = curves.map(|mass| mass.by as u32).max();
    // A little beyond the last that came; without any, as far as was watched.
    let watched = group.milestones.iter().filter_map(|m| m.reached);
    last.map(|day| day + day / 10)
        .or_else(|| watched.map(|r| r.by_day).max())
        .unwrap_or(1)
        .max(1)
}

/// A scale of the group's days over the canvas.
fn scale(group: &Group, canvas: &Canvas<'_>) -> Scale {
    Scale::new(
        last_day(group),
        canvas.width().saturating_sub(MARGIN + 1).max(1),
    )
}

/// The day ruler.
fn ruler(scale: &Scale, last: u32, row: usize, canvas: &mut Canvas<'_>) {
    canvas.text(row, 0, "day", Meaning::Heading);
    let step = scale.step(5);
    let days = (0..=last).step_by(step as usize);
    for day in days {
        canvas.text(
            row,
            MARGIN + scale.column(day),
            &day.to_string(),
            Meaning::Heading,
        );
    }
}

/// The curves over each other: share of all stuck upwards, days since sticking to the right.
pub fn curves(group: &Group, tall: usize, canvas: &mut Canvas<'_>) {
    let scale = scale(group, canvas);
    let glyphs = canvas.ink().glyphs;
    let top = tall.saturating_sub(1).max(1);
    for (share, word) in [(1.0, "100 %"), (0.5, "50 %"), (0.0, "0 %")] {
        canvas.text(level(share, top), 0, word, Meaning::Plain);
    }
    for milestone in Milestone::ALL {
        let figure = group.of(milestone);
        if figure.curve.is_empty() {
            continue;
        }
        let sign = mark(milestone).sign(glyphs).to_string();
        for column in 0..scale.columns() {
            let share = reached_by(&figure.curve, f64::from(scale.day(column)));
            canvas.text(
                level(share, top),
                MARGIN + column,
                &sign,
                meaning(mark(milestone)),
            );
        }
        band(figure, &scale, top, canvas);
    }
    ruler(&scale, last_day(group), tall, canvas);
}

/// The row of a share.
fn level(share: f64, top: usize) -> usize {
    let up = (share.clamp(0.0, 1.0) * top as f64).round() as usize;
    top - up
}

/// How sure the days are: at the heights of 10, 50 and 90 % of those that got there, the range of the day.
fn band(figure: &MilestoneFigure, scale: &Scale, top: usize, canvas: &mut Canvas<'_>) {
    let Some(reached) = figure.reached else {
        return;
    };
    for (days, q) in figure.of_reached.days.iter().zip([0.1, 0.5, 0.9]) {
        let Some((low, high)) = days.and_then(|d| d.low.zip(d.high)) else {
            continue;
        };
        let row = level(q * reached.value, top);
        canvas.text(row, MARGIN + scale.column(low as u32), "(", Meaning::Plain);
        canvas.text(
            row,
            MARGIN + scale.column(high.ceil() as u32),
            ")",
            Meaning::Plain,
        );
    }
}

/// A line for each milestone: its sign from the day of 10 % to that of 90 %, the three marked, and
/// round brackets for the range of the middle one. Gives the row after.
pub fn rulers(group: &Group, row: usize, canvas: &mut Canvas<'_>) -> usize {
    let scale = scale(group, canvas);
    let glyphs = canvas.ink().glyphs;
    ruler(&scale, last_day(group), row, canvas);
    let mut row = row + 1;
    for milestone in Milestone::ALL {
        let figure = group.of(milestone);
        canvas.text(row, 0, milestone.word(), Meaning::Plain);
        let [ten, fifty, ninety] = figure.of_reached.days;
        let (Some(ten), Some(fifty), Some(ninety)) = (ten, fifty, ninety) else {
            canvas.text(row, MARGIN, "no days yet", Meaning::Plain);
            row += 1;
            continue;
        };
        let at = |day: f64| MARGIN + scale.column(day.round().max(0.0) as u32);
        let sign = mark(milestone).sign(glyphs).to_string();
        let run = sign.repeat(at(ninety.at).saturating_sub(at(ten.at)) + 1);
        canvas.text(row, at(ten.at), &run, meaning(mark(milestone)));
        if let (Some(low), Some(high)) = (fifty.low, fifty.high) {
            canvas.text(row, at(low), "(", Meaning::Plain);
            canvas.text(row, at(high), ")", Meaning::Plain);
        }
        let mut free = 0;
        for (day, word) in [(ten, "10"), (fifty, "50"), (ninety, "90")] {
            // Marks too near each other would run into one number.
            let column = at(day.at).max(free);
            canvas.text(row, column, word, Meaning::Heading);
            free = column + 3;
        }
        row += 1;
    }
    row
}
