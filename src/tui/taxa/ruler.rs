//! The taxa drawn on one ruler of days that all rows share: callus, root and bottom each as a run of its mark from the day of
//! 10 % to that of 90 %, the day of half in figures within it, and the share that roots as a strip. It works out nothing.

use super::groups::{mark, quick, short_names};
use crate::analysis::timeline::{Figure, TimelineGroup};
use crate::fold::batch::Milestone;
use crate::text::clean::width;
use crate::text::strip::CuttingMark;
use crate::text::timelines;
use crate::tui::canvas::{Canvas, Scale, Tone, mark_meaning};

/// Columns from which the list is drawn so.
pub const WIDE: usize = 110;
/// Columns of a name at most.
const NAME: usize = 40;
/// Marks of the strip: one stands for so many in a hundred.
const STRIP: usize = 10;
/// Columns of the share in figures, and of how many batches it rests on.
const SHARE: usize = 13;
const BATCHES: usize = 9;

/// The order of drawing: where runs lie over each other the one of rooting is seen whole.
const ORDER: [Milestone; 3] = [Milestone::Callus, Milestone::Bottom, Milestone::Root];

/// Draws the groups of a page, the chosen one marked; `all` sets the ruler, so that a page on has the same.
pub fn draw(
    groups: &[&TimelineGroup],
    all: &[TimelineGroup],
    chosen: usize,
    canvas: &mut Canvas<'_>,
) {
    let glyphs = canvas.ink().glyphs;
    let names = short_names(groups, NAME, glyphs);
    let longest = names.iter().map(|name| width(name)).max().unwrap_or(0);
    let strip = 2 + longest.max(LEAST) + 2;
    let share = strip + STRIP + 1;
    let batches = share + SHARE;
    let from = batches + BATCHES;
    let room = canvas.width().saturating_sub(from + 1);
    let scale = Scale::new(last_day(all), room);
    canvas.text(
        0,
        2,
        "each mark from 10 to 90 %, the day of half",
        Tone::Plain,
    );
    canvas.text(0, share, "rooted %", Tone::Heading);
    canvas.text(0, batches, "batches", Tone::Heading);
    head(&scale, &mut canvas.columns(from, room));
    for (at, (group, name)) in groups.iter().zip(&names).enumerate() {
        let row = at + 1;
        let sign = if at == chosen { ">" } else { " " };
        canvas.text(row, 0, sign, Tone::Heading);
        canvas.text(row, 2, name, Tone::Plain);
        draw_share(group, row, &mut canvas.columns(strip, STRIP));
        canvas.text(row, share, &timelines::strike(group), Tone::Plain);
        let count = group.size.batches.to_string();
        canvas.text(row, batches, &count, Tone::Plain);
        runs(group, &scale, row, &mut canvas.columns(from, room));
    }
}

/// Columns that the names have at least, for the words above them.
const LEAST: usize = 40;

/// The days of the ruler.
fn head(scale: &Scale, canvas: &mut Canvas<'_>) {
    let mut day = 0;
    while day < scale.days {
        let (column, word) = (scale.column(day), day.to_string());
        if column + width(&word) <= canvas.width() {
            canvas.text(0, column, &word, Tone::Heading);
        }
        day += scale.step(4);
    }
}

/// The last day on which anything is drawn of any group.
fn last_day(groups: &[TimelineGroup]) -> u32 {
    let days = groups.iter().flat_map(|group| {
        let each = Milestone::ALL.into_iter();
        each.filter_map(|milestone| Some(days(group, milestone)?[2]))
    });
    days.max().unwrap_or(1).max(1)
}

/// The days of 10, 50 and 90 % of those that got there, as far as looks tell.
fn days(group: &TimelineGroup, milestone: Milestone) -> Option<[u32; 3]> {
    if quick(group, milestone).is_empty() {
        return None;
    }
    let [
        Figure::Value(ten),
        Figure::Value(fifty),
        Figure::Value(ninety),
    ] = group.figures(milestone).days.reached.0
    else {
        return None;
    };
    Some([ten, fifty, ninety].map(|day| day.at_or_by().round().max(0.0) as u32))
}

/// The share that roots, a mark for every tenth.
fn draw_share(group: &TimelineGroup, row: usize, canvas: &mut Canvas<'_>) {
    let Some(share) = group.strike.value() else {
        return;
    };
    let glyphs = canvas.ink().glyphs;
    let rooted = (share.value.clamp(0.0, 1.0) * STRIP as f64).round() as usize;
    let mut column = 0;
    for (mark, count) in [
        (CuttingMark::Rooted, rooted),
        (CuttingMark::Bare, STRIP.saturating_sub(rooted)),
    ] {
        let signs = mark.sign(glyphs).to_string().repeat(count);
        column = canvas.text(row, column, &signs, mark_meaning(mark));
    }
}

/// The runs of the three milestones, then the days of half, where they are free of each other.
fn runs(group: &TimelineGroup, scale: &Scale, row: usize, canvas: &mut Canvas<'_>) {
    let glyphs = canvas.ink().glyphs;
    let drawn = ORDER.map(|milestone| (milestone, days(group, milestone)));
    for (milestone, days) in drawn {
        let Some([ten, _, ninety]) = days else {
            continue;
        };
        let (from, to) = (scale.column(ten), scale.column(ninety));
        let sign = mark(milestone).sign(glyphs).to_string();
        let signs = sign.repeat(to.saturating_sub(from) + 1);
        canvas.text(row, from, &signs, mark_meaning(mark(milestone)));
    }
    let mut taken: Vec<(usize, usize)> = Vec::new();
    for (milestone, days) in drawn.into_iter().rev() {
        let Some([_, half, _]) = days else {
            continue;
        };
        let figure = &group.figures(milestone).days.reached.0[1];
        let word = timelines::day(figure);
        let from = scale.column(half);
        let to = from + width(&word);
        let free = taken.iter().all(|(start, end)| to < *start || from > *end);
        if free && to <= canvas.width() {
            canvas.text(row, from, &word, Tone::Heading);
            taken.push((from, to));
        }
    }
}
