//! A taxon's group of batches on the screen: its name, its figures in words, its curves drawn with characters and told
//! apart by shape, or ruler lines with 10, 50 and 90 % marks where there is no room for curves.

use crate::analysis::timeline::{
    BandPoint, Figure, QuantileDay, TimelineGroup, TimelineOptions, timeline,
};
use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::fold::selection::Selection;
use crate::model::filter::GroupKey;
use crate::model::taxon::Taxon;
use crate::stats::npmle::reached_by;
use crate::text::clean::{Charset, fit, width};
use crate::text::figures::days;
use crate::text::short::short;
use crate::text::strip::CuttingMark;
use crate::text::timelines;
use crate::text::verdicts;
use crate::tui::canvas::{Canvas, Tone};
use crate::tui::canvas::{MARGIN, Scale, draw_ruler, draw_run, level_row, mark_meaning, scale_to};
use crate::tui::effect::GoOn;

/// Works out the timeline of each taxon, split by `by`. With `resamples` above 0 the days get ranges and the curves bands.
/// Gives nothing if it was told to stop.
pub fn groups(
    book: &Book,
    about: &Selection,
    by: Option<GroupKey>,
    resamples: usize,
    go_on: GoOn<'_>,
) -> Option<Vec<TimelineGroup>> {
    let options = TimelineOptions {
        about: about.clone(),
        by: by.into_iter().collect(),
        resamples,
        band: resamples > 0,
        ..TimelineOptions::default()
    };
    timeline(book, &options, &mut |_, _| go_on()).map(|found| found.groups)
}

/// What the group is beside its taxon.
pub fn key(group: &TimelineGroup) -> String {
    let each = group.by.iter().map(|(key, value)| {
        value
            .clone()
            .unwrap_or_else(|| format!("{} not recorded", key.word()))
    });
    each.collect::<Vec<_>>().join(", ")
}

/// Taxon and group.
pub fn name(group: &TimelineGroup) -> String {
    match key(group) {
        key if key.is_empty() => group.taxon.clone(),
        key => format!("{}, {key}", group.taxon),
    }
}

/// Taxa and groups in so many columns: names are shortened so that they stay told apart.
pub fn short_names(groups: &[&TimelineGroup], columns: usize, charset: Charset) -> Vec<String> {
    let taxa: Vec<Taxon> = groups.iter().map(|g| Taxon::parse(&g.taxon)).collect();
    let keys: Vec<String> = groups
        .iter()
        .map(|group| fit(&key(group), columns / 3, charset))
        .collect();
    let widest = keys.iter().map(|key| width(key)).max().unwrap_or(0);
    let room = columns.saturating_sub(if widest > 0 { widest + 2 } else { 0 });
    let names = short(&taxa.iter().collect::<Vec<_>>(), room, charset);
    let joined = names.into_iter().zip(keys).map(|(name, key)| match key {
        key if key.is_empty() => name,
        key => format!("{name}, {key}"),
    });
    joined.collect()
}

/// As many of the parts as fit whole, from the front.
pub fn whole_parts(parts: &[String], columns: usize) -> String {
    let mut said = String::new();
    for part in parts {
        let gap = if said.is_empty() { "" } else { "; " };
        if width(&said) + gap.len() + width(part) > columns {
            break;
        }
        said = said + gap + part;
    }
    said
}

/// Days to root in words.
pub fn days_to_root(group: &TimelineGroup) -> String {
    match quick(group, Milestone::Root) {
        days if days.is_empty() => "no days yet".into(),
        days => format!("days {days}"),
    }
}

/// The days by which 10, 50 and 90 % of those that reached a milestone had; a question mark where not known.
pub fn quick(group: &TimelineGroup, milestone: Milestone) -> String {
    timelines::days(group.figures(milestone), "-")
}

/// How many batches and cuttings.
pub fn size(group: &TimelineGroup) -> String {
    let noun = if group.size.batches == 1 {
        "batch"
    } else {
        "batches"
    };
    format!("{} {noun}, {} stuck", group.size.batches, group.size.stuck)
}

/// The mark that draws a milestone's curve.
pub fn mark(milestone: Milestone) -> CuttingMark {
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
pub fn draw_curves(group: &TimelineGroup, banded: Milestone, tall: usize, canvas: &mut Canvas<'_>) {
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

/// Rows that [`draw_rulers`] takes.
pub const RULER_ROWS: usize = 1 + 2 * Milestone::ALL.len();

/// Two lines for each milestone: its sign from the day of 10 % to that of 90 % with the three marked,
/// and below it the three days with their ranges.
pub fn draw_rulers(group: &TimelineGroup, row: usize, canvas: &mut Canvas<'_>) {
    let scale = scale_to(last_day(group), canvas);
    let glyphs = canvas.ink().glyphs;
    draw_ruler(&scale, last_day(group), row, canvas);
    for (at, milestone) in Milestone::ALL.into_iter().enumerate() {
        let row = row + 1 + 2 * at;
        let figure = group.figures(milestone);
        canvas.text(row, 0, verdicts::done(milestone), Tone::Plain);
        let [
            Figure::Value(ten),
            Figure::Value(fifty),
            Figure::Value(ninety),
        ] = figure.days.reached.0
        else {
            canvas.text(row, MARGIN + 1, "no days yet", Tone::Plain);
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
