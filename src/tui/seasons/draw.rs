//! Draws seasons: a line a week with the strip of what was stuck in it; two seasons side by side where there
//! is room, line under line where there is none. It computes nothing.

use crate::fold::Book;
use crate::fold::batch::{Batch, BatchCounts};
use crate::model::composite::Lost;
use crate::model::filter::Filter;
use crate::text::clean::width;
use crate::text::figures::percent;
use crate::text::strip::tally;
use crate::tui::canvas::draw_tally;
use crate::tui::canvas::{Canvas, Tone};
use crate::tui::common::Common;
use chrono::{Datelike, Days, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};

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

/// A season's whole in a few words, for a narrow screen.
#[must_use]
pub fn brief(it: &Glance, common: &Common) -> String {
    let until = it.until.map_or_else(String::new, |day| {
        format!(" by {}", common.calendar().day(day))
    });
    let sum = &it.total;
    format!("{}{until}: {} stuck; {}.", it.year, sum.stuck(), share(sum))
}

/// Rooted or moved on, as a count and a share of those stuck.
fn share(sum: &SeasonSum) -> String {
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
    canvas.text(row, 0, mark, Tone::Heading);
    let day = it.one.day_of(it.number);
    // The day of the year alone: the year stands above.
    let head = format!("{} {}", day.format("%-d"), day.format("%b"));
    canvas.text(row, 2, &head, Tone::Plain);
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
            canvas.text(row + at, 9, &year, Tone::Plain);
            half(
                season.weeks.get(&it.number),
                row + at,
                &mut canvas.columns(13, wide),
            );
        }
    }
}

/// One season's week: the number stuck, the strip, the share.
fn half(sum: Option<&SeasonSum>, row: usize, canvas: &mut Canvas<'_>) {
    let Some(sum) = sum.filter(|sum| sum.stuck() > 0) else {
        canvas.text(row, 0, "nothing stuck", Tone::Plain);
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
    let at = canvas.text(row, 0, &head, Tone::Plain);
    let room = canvas.width().saturating_sub(at + width(&share) + 1);
    draw_tally(sum.tally, room.min(60), row, at, canvas);
    canvas.right(row, at, &share, Tone::Plain);
}

/// What was stuck, and what became of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SeasonSum {
    /// Batches stuck; parts that left one are not counted again.
    pub batches: u32,
    /// Cuttings by what became of them, in the order of the strip.
    pub tally: [u32; 7],
    /// Lost, by cause.
    pub lost: Lost,
    /// Whether any batch was looked at: without a look, none rooted is not known.
    pub looked: bool,
}

impl SeasonSum {
    fn add(&mut self, batch: &Batch, counts: &BatchCounts, until: Option<NaiveDate>) {
        self.batches += u32::from(batch.parent.is_none());
        for (sum, n) in self.tally.iter_mut().zip(tally(counts)) {
            *sum = sum.saturating_add(n);
        }
        for (cause, n) in counts.lost.each() {
            self.lost.add(cause, n);
        }
        let mut looks = batch.inspections.iter().filter(|day| day.how.is_some());
        self.looked |= looks.any(|look| until.is_none_or(|until| look.day <= until));
    }

    /// Cuttings stuck.
    #[must_use]
    pub fn stuck(&self) -> u32 {
        self.tally.iter().fold(0, |sum, n| sum.saturating_add(*n))
    }

    /// The share of those stuck that have rooted or were moved on; none if none was looked at or moved on.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        let known = self.stuck() > 0 && (self.looked || self.rooted() > 0);
        known.then(|| f64::from(self.rooted()) / f64::from(self.stuck()))
    }

    /// Cuttings that have rooted or were moved on.
    #[must_use]
    pub fn rooted(&self) -> u32 {
        let [bottom, rooted, _, _, moved_on, _, _] = self.tally;
        bottom.saturating_add(rooted).saturating_add(moved_on)
    }
}

/// A season's sums, up to a day if one is given.
#[derive(Clone, Debug, PartialEq)]
pub struct Glance {
    /// The nursery's year.
    pub year: i32,
    /// The season's first day.
    pub begins: NaiveDate,
    /// The day up to which it is told, if not to the last entry.
    pub until: Option<NaiveDate>,
    /// What was stuck in each week, by the week's number from the season's first day, from 0.
    pub weeks: BTreeMap<u32, SeasonSum>,
    /// The whole.
    pub total: SeasonSum,
    /// How many taxa.
    pub taxa: usize,
}

/// The seasons in which anything was stuck that the filter admits, its own season left aside.
#[must_use]
pub fn years(book: &Book, filter: &Filter) -> Vec<i32> {
    let admits = filter.within(book);
    let admitted = book.batches().iter().filter(|batch| admits(batch));
    let years: BTreeSet<i32> = admitted.map(|batch| book.season(batch.stuck_on)).collect();
    years.into_iter().collect()
}

/// The first day of a season.
#[must_use]
pub fn begins(book: &Book, year: i32) -> NaiveDate {
    let from = book.nursery().season_from;
    let day = from.map_or((1, 1), |from| (from.month, from.day));
    date(year, day)
}

/// A day of the calendar's year; the 28th for a 29 February that the year has not.
fn date(year: i32, (month, day): (u32, u32)) -> NaiveDate {
    let found = NaiveDate::from_ymd_opt(year, month, day);
    let before = || NaiveDate::from_ymd_opt(year, month, day.saturating_sub(1));
    found.or_else(before).unwrap_or_default()
}

/// The day of a season that has today's place in the year.
#[must_use]
pub fn same_day(book: &Book, year: i32, today: NaiveDate) -> NaiveDate {
    let day = (today.month(), today.day());
    let first = begins(book, year);
    let in_year = date(year, day);
    if in_year >= first {
        in_year
    } else {
        date(year + 1, day)
    }
}

/// A season at a glance, up to a day if one is given.
#[must_use]
pub fn glance(book: &Book, filter: &Filter, year: i32, until: Option<NaiveDate>) -> Glance {
    let begins = begins(book, year);
    let mut out = Glance {
        year,
        begins,
        until,
        weeks: BTreeMap::new(),
        total: SeasonSum::default(),
        taxa: 0,
    };
    let mut taxa = BTreeSet::new();
    let admits = filter.within(book);
    for batch in book.batches().iter().filter(|batch| admits(batch)) {
        if book.season(batch.stuck_on) != year {
            continue;
        }
        let counts = match until {
            None => Some(batch.counts),
            Some(day) => batch.counts_on(day),
        };
        let Some(counts) = counts else { continue };
        let week = (batch.stuck_on - begins).num_days().div_euclid(7);
        let week = u32::try_from(week).unwrap_or(0);
        let of_week = out.weeks.entry(week).or_default();
        of_week.add(batch, &counts, until);
        out.total.add(batch, &counts, until);
        taxa.insert(batch.taxon.key());
    }
    out.taxa = taxa.len();
    out
}

impl Glance {
    /// The first day of one of its weeks.
    #[must_use]
    pub fn day_of(&self, week: u32) -> NaiveDate {
        let ahead = Days::new(u64::from(week) * 7);
        self.begins.checked_add_days(ahead).unwrap_or(self.begins)
    }
}
