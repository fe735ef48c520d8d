//! Draws the bench: pages of places and their batches. A page turns whole, so that a step within it
//! moves a marker alone. It changes nothing.

use super::rows::{BenchRow, PlaceRows};
use crate::analysis::due::Urgency;
use crate::text::clean::width;
use crate::text::short::short;
use crate::tui::batch::history::steps;
use crate::tui::canvas::Tone;
use crate::tui::canvas::{Canvas, wrap};
use crate::tui::canvas::{draw_strip, draw_tally};
use crate::tui::common::Common;

/// A line or two of a page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Piece {
    /// The heading of a group.
    Head(usize),
    /// A row of a group.
    Row(usize, usize),
}

/// What stands on one page.
#[derive(Clone, Debug, Default)]
pub struct BenchPage {
    pieces: Vec<Piece>,
    /// The number of its first row among all.
    pub first: usize,
    /// How many rows it has.
    pub count: usize,
}

impl BenchPage {
    /// Whether the row of that number stands on it.
    #[must_use]
    pub fn holds(&self, row: usize) -> bool {
        (self.first..self.first + self.count).contains(&row)
    }
}

/// The rows of the screen that the bench has.
#[must_use]
pub fn room(common: &Common) -> usize {
    common.body()
}

/// Lines that batches have on a page: on the first the news stand below them.
fn room_on(page: &BenchPage, lines: usize, news: usize) -> usize {
    if page.first == 0 {
        lines.saturating_sub(news)
    } else {
        lines
    }
}

/// Columns from which the life of the chosen batch stands beside the list.
const BESIDE: usize = 140;
/// Columns of the list then: the day stays near the name.
const LIST: usize = 96;

/// Columns that the list of batches has.
fn list_columns(common: &Common) -> usize {
    match usize::from(common.size.0) {
        wide if wide >= BESIDE => LIST,
        columns => columns,
    }
}

/// The chosen batch's life beside the list: what comes next, and a strip for each day on which something was seen.
fn life(row: &BenchRow, common: &Common, canvas: &mut Canvas<'_>) {
    let Some(batch) = common.book.batch(&row.key) else {
        return;
    };
    let title = format!("{} {}, day {}", row.code, batch.taxon.shown(), row.day);
    canvas.text(0, 0, &title, Tone::Heading);
    canvas.text(1, 0, &row.next.words, meaning(row));
    let steps = steps(batch);
    let first = 3;
    let room = canvas.height().saturating_sub(first);
    let last = &steps[steps.len().saturating_sub(room)..];
    for (at, step) in last.iter().enumerate() {
        let line = first + at;
        let end = canvas.text(line, 0, &format!("day {:>3}  ", step.age), Tone::Plain);
        let columns = canvas.width().saturating_sub(end).min(60);
        draw_tally(step.marks, columns, line, end, canvas);
    }
}

/// The news broken into lines as there is room for them: none on a low screen.
#[must_use]
pub fn news_lines(news: &[String], common: &Common) -> Vec<String> {
    if common.is_low() {
        return Vec::new();
    }
    let columns = list_columns(common);
    let most = (common.body() / 6).max(2);
    let mut lines: Vec<String> = news.iter().flat_map(|text| wrap(text, columns)).collect();
    if lines.len() > most {
        let rest = lines.split_off(most - 1).join(" ");
        lines.push(rest);
    }
    lines
}

/// The rows cut into pages of so many screen lines, of which the news take some on the first.
#[must_use]
pub fn pages(groups: &[PlaceRows], lines: usize, low: bool, news: usize) -> Vec<BenchPage> {
    let tall = if low { 1 } else { 2 };
    let mut pages = vec![BenchPage::default()];
    let mut used = 0;
    let mut number = 0;
    for (g, group) in groups.iter().enumerate() {
        for r in 0..group.rows.len() {
            let head = usize::from(r == 0 || used == 0);
            let (page, fresh) = match pages.last_mut() {
                Some(page)
                    if used + head + tall <= room_on(page, lines, news) || page.count == 0 =>
                {
                    (page, false)
                }
                _ => {
                    pages.push(BenchPage {
                        first: number,
                        ..BenchPage::default()
                    });
                    let at = pages.len() - 1;
                    (&mut pages[at], true)
                }
            };
            if fresh {
                used = 0;
            }
            if r == 0 || used == 0 {
                page.pieces.push(Piece::Head(g));
                used += 1;
            }
            page.pieces.push(Piece::Row(g, r));
            page.count += 1;
            used += tall;
            number += 1;
        }
    }
    pages
}

/// Draws the page that holds the chosen row.
pub fn bench(
    groups: &[PlaceRows],
    chosen: usize,
    news: &[String],
    common: &Common,
    canvas: &mut Canvas<'_>,
) {
    let low = common.is_low();
    let news = news_lines(news, common);
    // Room as the frame leaves it without a note: a note covers the last lines, it moves none.
    let pages = pages(groups, room(common), low, news.len());
    let Some(page) = pages.iter().find(|page| page.holds(chosen)) else {
        empty(common, canvas);
        return;
    };
    let columns = list_columns(common);
    let beside = groups.iter().flat_map(|group| &group.rows).nth(chosen);
    if let Some(row) = beside.filter(|_| columns < canvas.width()) {
        let from = columns + 4;
        let room = canvas.width().saturating_sub(from);
        life(row, common, &mut canvas.columns(from, room));
    }
    let canvas = &mut canvas.columns(0, columns);
    let rows: Vec<&BenchRow> = page
        .pieces
        .iter()
        .filter_map(|piece| match piece {
            Piece::Row(g, r) => Some(&groups[*g].rows[*r]),
            Piece::Head(_) => None,
        })
        .collect();
    if page.first == 0 {
        // A note covers the last lines and moves none.
        let from = room(common).saturating_sub(news.len());
        for (at, text) in news.iter().enumerate() {
            canvas.text(from + at, 0, text, Tone::Plain);
        }
    }
    let look = Columns::of(&rows, canvas, low);
    let mut line = 0;
    let mut at = page.first;
    let mut names = look.names.iter();
    for piece in &page.pieces {
        match piece {
            Piece::Head(g) => {
                heading(&groups[*g], line, canvas);
                line += 1;
            }
            Piece::Row(g, r) => {
                let row = &groups[*g].rows[*r];
                let name = names.next().map_or("", String::as_str);
                if at == chosen {
                    canvas.text(line, 0, ">", Tone::Heading);
                } else {
                    let sign = row.next.mark.to_string();
                    canvas.text(line, 0, &sign, meaning(row));
                }
                if low {
                    one_line(row, name, line, &look, canvas);
                    line += 1;
                } else {
                    two_lines(row, name, line, &look, canvas);
                    line += 2;
                }
                at += 1;
            }
        }
    }
}

fn empty(common: &Common, canvas: &mut Canvas<'_>) {
    let said = if common.is_narrowed() {
        "None of these is on the bench."
    } else {
        "No batch is on the bench: s sticks one."
    };
    canvas.wrapped(0, 2, said, Tone::Plain);
}

fn heading(group: &PlaceRows, line: usize, canvas: &mut Canvas<'_>) {
    let name = if group.place.is_empty() {
        "no place said"
    } else {
        &group.place
    };
    let mut column = canvas.text(line, 0, name, Tone::Heading);
    if group.waits {
        column = canvas.text(line, column, ", not due yet", Tone::Heading);
    }
    for (at, part) in group.air.iter().enumerate() {
        let sign = if at == 0 { ": " } else { ", " };
        // What does not fit whole is left out.
        if column + width(sign) + width(part) > canvas.width() {
            return;
        }
        column = canvas.text(line, column, &format!("{sign}{part}"), Tone::Plain);
    }
}

/// Under so many columns words are few.
const NARROW: usize = 60;

/// What was last seen, in as many words as fit: the day goes first, then the later counts.
fn seen_in(row: &BenchRow, room: usize) -> String {
    let Some((words, when)) = &row.seen else {
        let none = "no look yet";
        return if width(none) <= room {
            none.to_owned()
        } else {
            "no look".to_owned()
        };
    };
    let both = format!("{words}, {when}");
    let mut said = both.as_str();
    while width(said) > room {
        match said.rsplit_once(", ") {
            Some((fewer, _)) => said = fewer,
            None => break,
        }
    }
    said.to_owned()
}

/// The columns that all rows of a page share.
struct Columns {
    code: usize,
    names: Vec<String>,
    strip: usize,
    day: usize,
    seen: usize,
    /// Where the days begin, if they stand beside the names instead of at the right edge.
    beside: Option<usize>,
}

impl Columns {
    fn of(rows: &[&BenchRow], canvas: &Canvas<'_>, low: bool) -> Self {
        let wide = canvas.width();
        let code = rows.iter().map(|row| width(&row.code)).max().unwrap_or(3);
        let day = rows
            .iter()
            .map(|row| width(&day(row, low)))
            .max()
            .unwrap_or(0);
        // Under sixteen rows what comes next, or what was seen, shares the line.
        let few = rows
            .iter()
            .map(|row| width(&row.next.short))
            .max()
            .unwrap_or(0);
        let seen = if low { few.min(wide / 2) } else { 0 };
        let taken = 2 + code + 1 + day + 1 + if low { seen + 1 } else { 0 };
        let taxa: Vec<_> = rows.iter().map(|row| &*row.taxon).collect();
        let names = short(&taxa, wide.saturating_sub(taken), canvas.ink().glyphs);
        let longest = names.iter().map(|name| width(name)).max().unwrap_or(0);
        Self {
            // So far from the name that the eye would lose the line, the day comes to it.
            beside: (wide >= LIST).then_some(3 + code + longest + 2),
            code,
            names,
            strip: if wide < NARROW {
                12
            } else {
                (wide / 3).min(60)
            },
            day,
            seen,
        }
    }
}

fn day(row: &BenchRow, low: bool) -> String {
    if low {
        format!("d{}", row.day)
    } else {
        format!("day {}", row.day)
    }
}

fn meaning(row: &BenchRow) -> Tone {
    match row.next.press {
        Some(Urgency::Failing | Urgency::Late | Urgency::Due) => Tone::Pressing,
        Some(Urgency::Waiting) | None => Tone::Plain,
    }
}

fn one_line(row: &BenchRow, name: &str, line: usize, look: &Columns, canvas: &mut Canvas<'_>) {
    canvas.text(line, 2, &row.code, Tone::Plain);
    canvas.text(line, 3 + look.code, name, Tone::Plain);
    let seen = canvas.width().saturating_sub(look.seen);
    let day_at = seen.saturating_sub(look.day + 1);
    canvas.text(line, day_at, &day(row, true), Tone::Plain);
    let words = &row.next.short;
    canvas
        .columns(seen, look.seen)
        .text(line, 0, words, meaning(row));
}

fn two_lines(row: &BenchRow, name: &str, line: usize, look: &Columns, canvas: &mut Canvas<'_>) {
    canvas.text(line, 2, &row.code, Tone::Plain);
    let end = canvas.text(line, 3 + look.code, name, Tone::Plain);
    match look.beside {
        Some(column) => {
            canvas.text(line, column, &day(row, false), Tone::Plain);
        }
        None => canvas.right(line, end + 1, &day(row, false), Tone::Plain),
    }
    let text = 3 + look.strip;
    draw_strip(&row.counts, look.strip, line + 1, 2, canvas);
    let narrow = canvas.width() < NARROW;
    let next = if narrow {
        &row.next.short
    } else {
        &row.next.words
    };
    let room = canvas.width().saturating_sub(text + width(next) + 2);
    let said = seen_in(row, room);
    canvas
        .columns(text, room)
        .text(line + 1, 0, &said, Tone::Plain);
    canvas.right(line + 1, text, next, meaning(row));
}
