//! Curves of a group drawn with characters, told apart by shape, and the band of one of them; ruler lines
//! with 10, 50 and 90 % marks where there is no room for curves. It computes no figure but where a sign stands.

use crate::analysis::timeline::{BandPoint, Figure, QuantileDay, TimelineGroup};
use crate::fold::batch::Milestone;
use crate::stats::days::reached_by;
use crate::text::figures::days;
use crate::text::strip::CuttingMark;
use crate::text::timelines;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::picture::mark_meaning;
use crate::tui::picture::{MARGIN, Scale, draw_ruler, draw_run, level_row, scale_to};

/// The mark that draws a milestone's curve.
fn mark(milestone: Milestone) -> CuttingMark {
    match milestone {
        Milestone::Callus => CuttingMark::Callused,
        Milestone::Root => CuttingMark::Rooted,
        Milestone::Bottom => CuttingMark::Bottom,
    }
}

/// The last day that is drawn.
fn last_day(group: &TimelineGroup) -> u32 {
    let curves = group.milestones.iter().flat_map(|m| m.curve.last());
    let last = curves.map(|mass| mass.by as u32).max();
    // A little beyond the last that came; without any, as far as was watched.
    let watched = group.milestones.iter().filter_map(|m| m.reached.value());
    last.map(|day| day + day / 10)
        .or_else(|| watched.map(|r| r.by_day).max())
        .unwrap_or(1)
        .max(1)
}

/// The curves over each other: share of all stuck upwards, days since sticking to the right; behind
/// them the band of one milestone, filled with [`HAZE`].
pub fn curves(group: &TimelineGroup, banded: Milestone, tall: usize, canvas: &mut Canvas<'_>) {
    let scale = scale_to(last_day(group), canvas);
    let glyphs = canvas.ink().glyphs;
    let top = tall.saturating_sub(1).max(1);
    for (share, word) in [(1.0, "100 %"), (0.5, "50 %"), (0.0, "0 %")] {
        canvas.text(level_row(share, top), 0, word, Tone::Plain);
    }
    band(&group.figures(banded).band, &scale, top, canvas);
    // The one whose band is drawn comes last, so that no other hides it.
    let others = Milestone::ALL.into_iter().filter(|one| *one != banded);
    for milestone in others.chain([banded]) {
        let figure = group.figures(milestone);
        if figure.curve.is_empty() {
            continue;
        }
        let sign = mark(milestone).sign(glyphs).to_string();
        for column in 0..scale.columns() {
            let share = reached_by(&figure.curve, f64::from(scale.day(column)));
            canvas.text(
                level_row(share, top),
                MARGIN + column,
                &sign,
                mark_meaning(mark(milestone)),
            );
        }
    }
    draw_ruler(&scale, last_day(group), tall, canvas);
}

/// The sign that fills a band: unlike every mark of a stage, in either character set.
pub const HAZE: &str = ":";

/// Fills a band column by column.
fn band(points: &[BandPoint], scale: &Scale, top: usize, canvas: &mut Canvas<'_>) {
    for column in 0..scale.columns() {
        let Some((low, high)) = between(points, f64::from(scale.day(column))) else {
            continue;
        };
        for row in level_row(high, top)..=level_row(low, top) {
            canvas.text(row, MARGIN + column, HAZE, Tone::Plain);
        }
    }
}

/// The band on a day: straight between its points, and as on the last after it.
fn between(points: &[BandPoint], day: f64) -> Option<(f64, f64)> {
    let after = points.partition_point(|point| f64::from(point.day) <= day);
    let from = points.get(after.checked_sub(1)?)?;
    let Some(to) = points.get(after) else {
        return Some((from.low, from.high));
    };
    let part = (day - f64::from(from.day)) / f64::from(to.day - from.day).max(1.0);
    let mix = |a: f64, b: f64| a + (b - a) * part;
    Some((mix(from.low, to.low), mix(from.high, to.high)))
}

/// Rows that [`rulers`] takes.
pub const RULER_ROWS: usize = 1 + 2 * Milestone::ALL.len();

/// Two lines for each milestone: its sign from the day of 10 % to that of 90 % with the three marked,
/// and below it the three days with their ranges.
pub fn rulers(group: &TimelineGroup, row: usize, canvas: &mut Canvas<'_>) {
    let scale = scale_to(last_day(group), canvas);
    let glyphs = canvas.ink().glyphs;
    draw_ruler(&scale, last_day(group), row, canvas);
    for (at, milestone) in Milestone::ALL.into_iter().enumerate() {
        let row = row + 1 + 2 * at;
        let figure = group.figures(milestone);
        canvas.text(row, 0, milestone.word(), Tone::Plain);
        let [
            Figure::Value(ten),
            Figure::Value(fifty),
            Figure::Value(ninety),
        ] = figure.days.reached.0
        else {
            canvas.text(row, MARGIN, "no days yet", Tone::Plain);
            continue;
        };
        let sign = mark(milestone).sign(glyphs).to_string();
        let days = [ten, fifty, ninety].map(|day| day.at_or_by());
        let sign = (sign.as_str(), mark_meaning(mark(milestone)));
        draw_run(days, sign, (&scale, row), canvas);
        let with_ranges = [ten, fifty, ninety].map(|day| range(&day)).join(" ");
        // Where the ranges do not fit they stand with the figures in words below.
        let short = [ten, fifty, ninety].map(|day| timelines::day(&Figure::Value(day)));
        let fits = "  day ".len() + with_ranges.chars().count() <= canvas.width();
        let days = if fits { with_ranges } else { short.join(" ") };
        canvas.text(row + 1, 2, &format!("day {days}"), Tone::Plain);
    }
}

/// A day with its range: `53 (44-58)`, `69 (61-)` where the end lies beyond what was watched, `53` without, `<=53` where
/// looks tell only by when.
fn range(day: &QuantileDay) -> String {
    let at = timelines::day(&Figure::Value(*day));
    match (day.low.value(), day.high.value()) {
        (Some(low), Some(high)) => format!("{at} ({}-{})", days(*low), days(*high)),
        (Some(low), None) => format!("{at} ({}-)", days(*low)),
        _ => at,
    }
}
