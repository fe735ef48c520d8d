//! Draws seasons: a line a week with the strip of what was stuck in it; two seasons side by side where there
//! is room, line under line where there is none. It computes nothing.

use super::glance::{Glance, Sum};
use crate::text::clean::width;
use crate::text::figures::percent;
use crate::tui::canvas::Canvas;
use crate::tui::common::Common;
use crate::tui::ink::Meaning;
use crate::tui::strip::draw_tally;

/// Columns from which two seasons stand side by side.
pub const BESIDE: usize = 80;

/// Stands for a share that no look tells.
const UNSEEN: &str = "no look yet";

/// A season's whole in one sentence.
#[must_use]
pub fn whole(it: &Glance, common: &Common) -> String {
    let sum = &it.total;
    let until = it.until.map_or_else(String::new, |day| {
        format!(" by {}", common.calendar().day(day))
    });
    let [_, _, callused, bare, _, gone, lost] = sum.tally;
    let mut parts = vec![share(sum)];
    let named = [
        (callused, "callused"),
        (bare, "nothing yet"),
        (gone, "given up"),
    ];
    parts.extend(
        named
            .iter()
            .filter(|(n, _)| *n > 0)
            .map(|(n, what)| format!("{n} {what}")),
    );
    if lost > 0 {
        let worst = sum.lost.each().max_by_key(|(_, n)| *n);
        let worst = worst.map_or_else(String::new, |(cause, n)| format!(" ({n} {})", cause.word()));
        parts.push(format!("{lost} lost{worst}"));
    }
    let batches = if sum.batches == 1 { "batch" } else { "batches" };
    let taxa = if it.taxa == 1 { "taxon" } else { "taxa" };
    format!(
        "{}{until}: {} {batches} of {} {taxa}, {} stuck; {}.",
        it.year,
        sum.batches,
        it.taxa,
        sum.stuck(),
        parts.join(", ")
    )
}

/// The same in few words.
#[must_use]
pub fn brief(it: &Glance, common: &Common) -> String {
    let until = it.until.map_or_else(String::new, |day| {
        format!(" by {}", common.calendar().day(day))
    });
    let sum = &it.total;
    format!("{}{until}: {} stuck; {}.", it.year, sum.stuck(), share(sum))
}

/// Rooted or moved on, as a count and a share of those stuck.
fn share(sum: &Sum) -> String {
    match sum.share() {
        Some(share) => format!("{} rooted or potted ({}%)", sum.rooted(), percent(share)),
        None if sum.stuck() == 0 => "none rooted".to_owned(),
        None => UNSEEN.to_owned(),
    }
}

/// What stands on the lines of one week.
pub struct Week<'a> {
    /// Its number from 0.
    pub number: u32,
    /// The season chosen.
    pub one: &'a Glance,
    /// The one beside it.
    pub other: Option<&'a Glance>,
}

/// Draws a week from that row on; `chosen` marks it.
pub fn week(it: &Week<'_>, row: usize, chosen: bool, canvas: &mut Canvas<'_>) {
    let mark = if chosen { ">" } else { " " };
    canvas.text(row, 0, mark, Meaning::Heading);
    let day = it.one.day_of(it.number);
    // The day of the year alone: the year stands above.
    let head = format!("{} {}", day.format("%-d"), day.format("%b"));
    canvas.text(row, 2, &head, Meaning::Plain);
    let Some(other) = it.other else {
        let wide = canvas.width().saturating_sub(9);
        half(
            it.one.weeks.get(&it.number),
            row,
            &mut canvas.columns(9, wide),
        );
        return;
    };
    if canvas.width() >= BESIDE {
        let wide = (canvas.width() - 9) / 2;
        half(
            it.one.weeks.get(&it.number),
            row,
            &mut canvas.columns(9, wide - 1),
        );
        half(
            other.weeks.get(&it.number),
            row,
            &mut canvas.columns(9 + wide, wide),
        );
    } else {
        // Line under line: the chosen season's first, each with the end of its year.
        let wide = canvas.width().saturating_sub(13);
        for (at, season) in [it.one, other].into_iter().enumerate() {
            let year = format!("'{:02}", season.year.rem_euclid(100));
            canvas.text(row + at, 9, &year, Meaning::Plain);
            half(
                season.weeks.get(&it.number),
                row + at,
                &mut canvas.columns(13, wide),
            );
        }
    }
}

/// One season's week: the number stuck, the strip, the share.
fn half(sum: Option<&Sum>, row: usize, canvas: &mut Canvas<'_>) {
    let Some(sum) = sum.filter(|sum| sum.stuck() > 0) else {
        canvas.text(row, 0, "nothing stuck", Meaning::Plain);
        return;
    };
    let stuck = sum.stuck();
    let share = sum.share().map_or_else(
        || UNSEEN.to_owned(),
        |share| format!("{:>3}%", percent(share)),
    );
    let batches = if sum.batches == 1 { "batch" } else { "batches" };
    let long = format!("{:>5} in {:<3}{batches:<7} ", stuck, sum.batches);
    let head = if canvas.width() >= 56 {
        long
    } else {
        format!("{stuck:>5} ")
    };
    let at = canvas.text(row, 0, &head, Meaning::Plain);
    let room = canvas.width().saturating_sub(at + width(&share) + 1);
    draw_tally(sum.tally, room.min(60), row, at, canvas);
    canvas.right(row, at, &share, Meaning::Plain);
}
