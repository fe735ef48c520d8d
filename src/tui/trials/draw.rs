//! Draws the arms of a comparison: strips and shares on one scale, curves or day rulers, the verdict
//! beneath. It computes no figure.

use super::scale::{self, ArmFigures};
use crate::analysis::trials::answer::Comparison;
use crate::text::comparison::{heading, lines_below};
use crate::text::figures::percent_range;
use crate::text::verdicts;
use crate::tui::canvas::draw_tally;
use crate::tui::canvas::{Canvas, Tone, wrap};
use crate::tui::common::Common;

/// The arms of a comparison as they are drawn.
#[derive(Clone, Copy, Debug)]
pub struct ArmsView<'a> {
    /// The figures.
    pub figures: &'a ArmFigures,
    /// The row chosen: an arm, or after the last what was left out.
    pub chosen: usize,
    /// The arm that the chosen one is held against.
    pub rival: Option<usize>,
}

impl ArmsView<'_> {
    /// The two arms that the verdict is about, in order; none where the chosen one meets no other.
    fn pair(&self) -> Vec<usize> {
        match self.rival {
            Some(rival) => vec![self.chosen.min(rival), self.chosen.max(rival)],
            None => Vec::new(),
        }
    }
}

/// Columns from which arms have their strip and their scale on the line of their name.
const WIDE: usize = 120;
/// Columns from which anything may stand side by side.
const BESIDE: usize = 64;

/// Where everything stands: by the size of the screen and how many arms there are, so that a page never
/// shifts.
struct Plan {
    /// Lines to an arm.
    tall: usize,
    /// Arms on a page.
    page: usize,
    /// Rows of the curves; none where there is no room for them.
    curves: usize,
    /// Whether days stand on rulers instead.
    rulers: bool,
}

fn plan(arms: usize, common: &Common) -> Plan {
    let columns = usize::from(common.size.0);
    let beside = columns >= BESIDE;
    let low = common.is_low();
    // As many as a screen without a filter's or an offer's lines would have.
    let rows = common.body() + if low { 1 } else { 2 };
    let tall = match (beside, low) {
        (true, _) if columns >= WIDE => 1,
        (true, _) | (false, true) => 2,
        (false, false) => 3,
    };
    // The title, the hint line, the scale's words, and what was left out.
    let room = rows.saturating_sub(4);
    let said = match rows {
        0..16 => 4,
        16..22 => 5,
        22..36 => 7,
        _ => 13,
    };
    let rulers = !beside && !low;
    let each = tall + usize::from(rulers);
    let fixed = said + usize::from(rulers);
    let curved = beside && rows >= 22;
    let least = if curved { 7 } else { 0 };
    let page = (room.saturating_sub(fixed + least) / each).clamp(1, arms.max(1));
    let left = room.saturating_sub(fixed + page * each);
    Plan {
        tall,
        page,
        curves: if curved {
            // Odd, so that a row lies half way up.
            (left.saturating_sub(1).clamp(4, 21) - 1) | 1
        } else {
            0
        },
        rulers,
    }
}

/// How many arms a page holds.
#[must_use]
pub fn page(figures: &ArmFigures, common: &Common) -> usize {
    let arms = figures.comparison().map_or(0, |it| it.arms.len());
    plan(arms, common).page
}

/// Says that figures are on their way.
pub fn waiting(canvas: &mut Canvas<'_>) {
    let said = "Working out the comparison... To stop it, go back.";
    canvas.wrapped(0, 0, said, Tone::Plain);
}

/// Draws the arms, the curves or rulers, and the verdict beneath.
pub fn arms(shown: &ArmsView<'_>, common: &Common, canvas: &mut Canvas<'_>) {
    let Some(it) = shown.figures.comparison() else {
        return;
    };
    if it.pairs.is_empty() {
        let row = canvas.wrapped(0, 0, &heading(&shown.figures.trials, it), Tone::Plain);
        left_out(it, row, shown, canvas);
        return;
    }
    let plan = plan(it.arms.len(), common);
    let first = shown.chosen.min(it.arms.len() - 1) / plan.page * plan.page;
    let here = first..(first + plan.page).min(it.arms.len());
    head(it, &here, plan.tall, canvas);
    for at in here.clone() {
        arm(shown, at, 1 + (at - first) * plan.tall, plan.tall, canvas);
    }
    let mut row = 1 + plan.page * plan.tall;
    row = left_out(it, row, shown, canvas);
    if plan.curves > 0 {
        let mut part = canvas.rows(row, plan.curves + 1);
        scale::curves(shown.figures, &shown.pair(), plan.curves, &mut part);
        row += plan.curves + 1;
    } else if plan.rulers {
        row = scale::rulers(shown.figures, here, row, canvas);
    }
    let room = canvas.height();
    says(shown, it, &mut canvas.rows(row, room));
}

/// Where the scale of shares stands: its first column and its columns.
fn scaled(tall: usize, canvas: &Canvas<'_>) -> (usize, usize) {
    let wide = canvas.width();
    match tall {
        1 => (48, (wide - 48).min(51)),
        2 if wide >= BESIDE => (37, wide - 38),
        _ => (4, wide.saturating_sub(5).max(1)),
    }
}

/// The words above the arms: the scale, and how many of the arms are in sight.
fn head(it: &Comparison, here: &std::ops::Range<usize>, tall: usize, canvas: &mut Canvas<'_>) {
    let (from, columns) = scaled(tall, canvas);
    let all = it.arms.len();
    let part = if here.len() < all {
        format!("arms {} to {} of {all}", here.start + 1, here.end)
    } else {
        "arms".to_owned()
    };
    let done = verdicts::done(it.milestone);
    if from > 4 {
        canvas.text(0, 2, &part, Tone::Heading);
        let column = from.saturating_sub(13);
        let mut left = canvas.columns(column, 12);
        left.text(0, 0, &format!("{done} %"), Tone::Heading);
    }
    scale::shares(0, from, columns, canvas);
    if tall == 1 {
        let day = verdicts::basis(it.basis).to_lowercase();
        canvas.text(0, from + columns + 3, &day, Tone::Heading);
    }
}

/// An arm: its sign, name and share; the share on the scale; its strip.
fn arm(shown: &ArmsView<'_>, at: usize, row: usize, tall: usize, canvas: &mut Canvas<'_>) {
    let Some(arm) = shown.figures.comparison().and_then(|it| it.arms.get(at)) else {
        return;
    };
    let mark = match at {
        _ if at == shown.chosen => ">",
        _ if Some(at) == shown.rival && shown.figures.strips.len() > 2 => "~",
        _ => " ",
    };
    canvas.text(row, 0, mark, Tone::Heading);
    canvas.text(row, 2, scale::sign(at), Tone::Arm(at));
    let share = arm.reached.map_or_else(
        || "none counted".to_owned(),
        |it| percent_range(it.value, it.interval.low, it.interval.high),
    );
    let (from, columns) = scaled(tall, canvas);
    let strip = shown.figures.strips.get(at).copied().unwrap_or_default();
    let size = format!(
        "{} stuck in {} {}",
        arm.stuck,
        arm.batches.len(),
        if arm.batches.len() == 1 {
            "batch"
        } else {
            "batches"
        }
    );
    if from == 4 {
        // Stacked: nothing stands side by side but a name and its share.
        let room = canvas.width().saturating_sub(share.len() + 1);
        canvas.columns(0, room).text(row, 4, &arm.name, Tone::Plain);
        canvas.right(row, 4, &share, Tone::Plain);
        if tall == 3 {
            draw_tally(strip, columns, row + 1, from, canvas);
        }
        if let Some(share) = &arm.reached {
            scale::interval(share, at, (row + tall - 1, from, columns), canvas);
        }
        return;
    }
    let column = from.saturating_sub(13);
    canvas
        .columns(0, column - 1)
        .text(row, 4, &arm.name, Tone::Plain);
    canvas.text(row, column, &share, Tone::Plain);
    if let Some(share) = &arm.reached {
        scale::interval(share, at, (row, from, columns), canvas);
    }
    if tall == 1 {
        let from = from + columns + 3;
        let room = canvas.width().saturating_sub(from + 1);
        draw_tally(strip, room, row, from, canvas);
    } else {
        canvas
            .columns(0, from - 1)
            .text(row + 1, 4, &size, Tone::Plain);
        draw_tally(strip, columns, row + 1, from, canvas);
    }
}

/// The row of what was left out; gives the row after.
fn left_out(it: &Comparison, row: usize, shown: &ArmsView<'_>, canvas: &mut Canvas<'_>) -> usize {
    if it.left_out.is_empty() {
        return row;
    }
    let mark = if shown.chosen >= it.arms.len() {
        ">"
    } else {
        " "
    };
    canvas.text(row, 0, mark, Tone::Heading);
    let count = it.left_out.len();
    let noun = if count == 1 { "batch" } else { "batches" };
    let line = format!("{count} {noun} left out, with the reasons");
    canvas.text(row, 2, &line, Tone::Plain);
    row + 1
}

/// The verdict on the pair, then all else as far as it goes; what does not fit is told by the key.
fn says(shown: &ArmsView<'_>, it: &Comparison, canvas: &mut Canvas<'_>) {
    let pair = match shown.pair().as_slice() {
        [one, other] => shown.figures.pair(*one, *other),
        _ => None,
    };
    let (mut row, mut end) = (0, 0);
    for (line, pressing) in lines_below(&shown.figures.trials, it, pair) {
        let meaning = if pressing {
            Tone::Pressing
        } else {
            Tone::Plain
        };
        let lines = wrap(&line, canvas.width());
        // Never the half of a sentence, unless it is the verdict itself.
        if row > 0 && row + lines.len() > canvas.height() {
            let last = canvas.height().saturating_sub(1);
            let keep = if row > last { end + 2 } else { 0 };
            canvas.right(last, keep, "i: more", Tone::Key);
            return;
        }
        for line in lines {
            end = canvas.text(row, 0, &line, meaning);
            row += 1;
        }
    }
}
