//! Draws a batch: what stands now, the band over its days if there is room, its entries in pages.
//! It changes nothing.

use super::history::{BatchOutlook, DayMeans, LifeStep, on};
use crate::fold::batch::{Batch, BatchCounts};
use crate::input::look_pad::part_words;
use crate::model::id::Id;
use crate::text::clean::width;
use crate::text::figures::Degrees;
use crate::text::strip::{CuttingMark, strip, tally};
use crate::tui::canvas::Tone;
use crate::tui::canvas::{Canvas, wrap};
use crate::tui::canvas::{MARGIN, Scale};
use crate::tui::canvas::{draw_strip, draw_tally, mark_meaning};
use crate::tui::common::Common;
use chrono::TimeDelta;
use std::sync::Arc;

/// Columns from one figure of the climate to the next.
const APART: usize = 7;

/// The figures of a batch that are worked out off the input path.
#[derive(Clone, Debug)]
pub(super) struct BatchFigures {
    /// The air day by day, wherever the batch stood.
    pub air: Vec<DayMeans>,
    /// How the batch stands beside others of its taxon and wood stage, as a sentence.
    pub usual: String,
}

/// An entry of the batch as it is listed.
#[derive(Clone, Debug)]
pub(super) struct EntryRow {
    /// The entry's id.
    pub id: Id,
    /// Days since sticking.
    pub age: u32,
    /// Its date, worded.
    pub day: String,
    /// The entry as a bench line without batch, day and person.
    pub said: String,
    /// Whether it is a look.
    pub look: bool,
}

/// All that is drawn of a batch.
#[derive(Debug, Default)]
pub(super) struct BatchView {
    /// The batch; nothing if it was withdrawn.
    pub held: Option<Arc<Batch>>,
    /// Its entries, the first first.
    pub rows: Vec<EntryRow>,
    /// Its cuttings day by day.
    pub steps: Vec<LifeStep>,
    /// The entry chosen.
    pub chosen: usize,
    /// The figures, once they are worked out.
    pub figures: Option<BatchFigures>,
    /// What is to come, once it is worked out.
    pub ahead: Option<BatchOutlook>,
}

impl BatchView {
    /// Code, taxon and day.
    pub fn title(&self, common: &Common) -> String {
        self.held.as_ref().map_or_else(String::new, |batch| {
            let day = (common.today() - batch.stuck_on).num_days();
            let ends = if batch.is_open() {
                format!("day {day}")
            } else {
                "closed".to_owned()
            };
            let code = crate::tui::bench::rows::short_code(&batch.code, common.calendar());
            format!("{code} {}, {ends}", batch.taxon.shown())
        })
    }
}

/// Where everything stands, by the size of the screen and the number of entries alone, so that a page never shifts.
struct Plan {
    /// Rows of the band; none where there is no room for it.
    band: usize,
    /// The rows of the head.
    head: Head,
    /// Rows above the entries.
    above: usize,
    /// Rows to an entry at least.
    tall: usize,
    /// Entries on a page.
    page: usize,
    /// Rows that stay free when all entries stand on one page: long ones take them.
    free: usize,
}

fn plan(common: &Common, entries: usize) -> Plan {
    let (columns, rows) = (usize::from(common.size.0), usize::from(common.size.1));
    let low = common.is_low();
    let room = common.body();
    let band = match (columns, rows) {
        (..64, _) | (_, ..22) => 0,
        (_, ..36) => 5,
        _ => 12,
    };
    let mut head = head_rows(columns, low);
    let band_rows = if band > 0 { band + 6 } else { 0 };
    // Without a band each look has its strip.
    let tall = if band > 0 || low { 1 } else { 2 };
    let mut free = room.saturating_sub(head.total() + band_rows + entries * tall);
    // What is wrong and what is to come may be long: rows that no entry needs are theirs first.
    let wants = match columns {
        ..64 => [2, 1],
        64..120 => [1, 1],
        _ => [0, 0],
    };
    for (part, wants) in [&mut head.usual, &mut head.ahead].into_iter().zip(wants) {
        let more = free.min(wants);
        *part += more;
        free -= more;
    }
    let above = head.total() + band_rows;
    Plan {
        band,
        above,
        head,
        tall,
        page: (room.saturating_sub(above) / tall).max(1),
        free,
    }
}

/// Rows of the parts of the head: what is narrow is broken between words instead of being cut.
struct Head {
    title: usize,
    counts: usize,
    facts: usize,
    usual: usize,
    ahead: usize,
}

impl Head {
    fn total(&self) -> usize {
        self.title + 1 + self.counts + self.facts + self.usual + self.ahead
    }
}

fn head_rows(columns: usize, low: bool) -> Head {
    let tall = if columns < 64 { 2 } else { 1 };
    Head {
        title: usize::from(low),
        // Where there is room they stand beside the strip.
        counts: if columns < 64 { 2 } else { 0 },
        facts: if low { 0 } else { tall },
        // Why it is late or failing and how it stands beside its like: two sentences, where there is room.
        usual: if low { tall } else { tall + 1 },
        ahead: tall,
    }
}

/// How many entries a page holds, of so many.
#[must_use]
pub(super) fn page(common: &Common, entries: usize) -> usize {
    plan(common, entries).page
}

/// Draws the whole screen.
pub(super) fn batch(view: &BatchView, common: &Common, canvas: &mut Canvas<'_>) {
    let plan = plan(common, view.rows.len());
    head(view, &plan.head, common, canvas);
    if plan.band > 0 {
        let mut part = canvas.rows(plan.head.total(), plan.band + 5);
        life(view, common, plan.band, &mut part);
    }
    // The last page is full too: it begins with entries of the one before.
    let from = view.chosen / plan.page * plan.page;
    let first = from.min(view.rows.len().saturating_sub(plan.page));
    let shown = view.rows.iter().enumerate().skip(first).take(plan.page);
    let dates = view
        .rows
        .iter()
        .map(|row| width(&row.day))
        .max()
        .unwrap_or(0);
    let (mut line, mut free) = (plan.above, plan.free);
    for (at, row) in shown {
        let place = (line, dates);
        let took = entry(row, at == view.chosen, place, &plan, free, view, canvas);
        free = free.saturating_sub(took.saturating_sub(plan.tall));
        line += took;
    }
    if view.rows.len() > plan.page && plan.band > 0 {
        let last = (first + plan.page).min(view.rows.len());
        let count = format!("entries {} to {last} of {}", first + 1, view.rows.len());
        canvas.text(plan.above - 1, 0, &count, Tone::Heading);
    } else if plan.band > 0 {
        canvas.text(plan.above - 1, 0, "entries", Tone::Heading);
    }
}

/// Its strip with what stands in words, when and where it was stuck, how that is for its kind, and what is to come.
fn head(view: &BatchView, rows: &Head, common: &Common, canvas: &mut Canvas<'_>) {
    let Some(batch) = &view.held else { return };
    let mut row = rows.title;
    if row > 0 {
        canvas.text(0, 0, &view.title(common), Tone::Heading);
    }
    let counts = &batch.counts;
    let by = part_words(batch.partly_seen());
    let said = format!("{}{by}", standing(counts));
    let columns = if rows.counts > 0 {
        canvas.width()
    } else {
        (canvas.width() / 3).clamp(10, 60)
    };
    draw_strip(counts, columns, row, 0, canvas);
    if rows.counts == 0 {
        let drawn = strip(tally(counts), columns);
        let drawn = width(&drawn.text(canvas.ink().glyphs));
        canvas.text(row, drawn + 1, &said, Tone::Plain);
    }
    row += 1;
    broken(&said, rows.counts, row, Tone::Plain, canvas);
    row += rows.counts;
    let facts = facts(batch, common);
    broken(&facts, rows.facts, row, Tone::Plain, canvas);
    row += rows.facts;
    let usual = view
        .figures
        .as_ref()
        .map_or("Comparing it with others of its kind...", |f| &f.usual);
    let meaning = if ["Late", "Failing"]
        .iter()
        .any(|word| usual.starts_with(word))
    {
        Tone::Pressing
    } else {
        Tone::Plain
    };
    broken(usual, rows.usual, row, meaning, canvas);
    row += rows.usual;
    let ahead = view.ahead.as_ref().map(|ahead| ahead.line.as_str());
    let ahead = ahead.unwrap_or("Working out what to expect...");
    broken(
        &without_reason(ahead, usual),
        rows.ahead,
        row,
        Tone::Plain,
        canvas,
    );
}

/// What is to come without the reason that is told above it already.
fn without_reason(ahead: &str, told: &str) -> String {
    let rest = ahead
        .split_once("; ")
        .filter(|_| told.starts_with("Failing"));
    let rest = rest.filter(|(why, _)| why.starts_with("Failing"));
    let Some((_, rest)) = rest else {
        return ahead.to_owned();
    };
    let mut letters = rest.chars();
    let first: String = letters
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .collect();
    first + letters.as_str()
}

/// A text broken over at most so many rows, the last cut with a sign if it is longer.
fn broken(text: &str, rows: usize, row: usize, meaning: Tone, canvas: &mut Canvas<'_>) {
    let lines = wrap(text, canvas.width());
    for (at, line) in lines.iter().take(rows).enumerate() {
        if at + 1 == rows && lines.len() > rows {
            canvas.text(row + at, 0, &lines[at..].join(" "), meaning);
        } else {
            canvas.text(row + at, 0, line, meaning);
        }
    }
}

/// What has become of its cuttings, in words.
fn standing(counts: &BatchCounts) -> String {
    let [bare, callused, rooted, bottom] = counts.bench;
    let parts = [
        (bottom, "at bottom"),
        (rooted, "rooted"),
        (callused, "callused"),
        (bare, "nothing yet"),
        (counts.potted, "potted"),
        (counts.given_up, "given up"),
        (counts.lost.total(), "lost"),
        (counts.ready, "saleable"),
        (counts.sold, "sold"),
    ];
    let said = parts.iter().filter(|(n, _)| *n > 0);
    let said: Vec<String> = said.map(|(n, what)| format!("{n} {what}")).collect();
    said.join(", ")
}

/// When, how and where it was stuck.
fn facts(batch: &Batch, common: &Common) -> String {
    let stuck = common.calendar().day(batch.stuck_on);
    let mut facts = vec![format!("{} stuck {stuck}", batch.counts.stuck)];
    let stick = &batch.stick;
    facts.extend(stick.wood.map(|wood| wood.word().to_owned()));
    facts.extend(batch.place.clone());
    facts.extend(stick.hormone.as_ref().map(crate::fold::names::hormone_text));
    facts.extend(stick.medium.as_ref().map(ToString::to_string));
    facts.join(", ")
}

/// One entry: its day, what it says, over as many free rows as it needs; on a row of its own, for a look, the strip as it
/// then was. How many rows it took.
fn entry(
    row: &EntryRow,
    chosen: bool,
    (line, dates): (usize, usize),
    plan: &Plan,
    free: usize,
    view: &BatchView,
    canvas: &mut Canvas<'_>,
) -> usize {
    let mark = if chosen { ">" } else { " " };
    canvas.text(line, 0, mark, Tone::Heading);
    let low = canvas.width() < 64;
    let lead = if low {
        format!("d{} ", row.age)
    } else {
        format!("day {:>3}  {:<dates$}  ", row.age, row.day)
    };
    let end = canvas.text(line, 2, &lead, Tone::Plain);
    let (from, column) = if plan.tall == 1 {
        (line, end)
    } else {
        (line + 1, 2)
    };
    if plan.tall > 1 {
        let end = canvas.text(line, end, &row.day, Tone::Plain);
        if let Some(step) = on(&view.steps, row.age).filter(|_| row.look) {
            let room = canvas.width().saturating_sub(end + 2);
            draw_tally(step.marks, room, line, end + 2, canvas);
        }
    }
    let needs = wrap(&row.said, canvas.width().saturating_sub(column)).len();
    let rows = needs.min(1 + free).max(1);
    broken(
        &row.said,
        rows,
        0,
        Tone::Plain,
        &mut canvas.rows(from, rows).columns(column, usize::MAX),
    );
    from + rows - line
}

/// The day ruler, the dates beside it, the band, what was done, the air.
fn life(view: &BatchView, common: &Common, tall: usize, canvas: &mut Canvas<'_>) {
    let Some(batch) = &view.held else { return };
    let end = if batch.is_open() {
        common.today()
    } else {
        batch.last_day()
    };
    let days = (end - batch.stuck_on).num_days().max(1) as u32;
    let room = canvas.width().saturating_sub(MARGIN + 1).max(1);
    let scale = Scale::new(days, room);
    ruler(&scale, batch.stuck_on, common, canvas);
    band(&view.steps, &scale, tall, canvas);
    deeds(batch, &scale, 2 + tall, canvas);
    let air = view.figures.as_ref().map_or(&[][..], |f| &f.air);
    let degrees = Degrees::of_book(&common.book);
    climate(air, degrees, &scale, 3 + tall, canvas);
}

fn ruler(scale: &Scale, stuck: chrono::NaiveDate, common: &Common, canvas: &mut Canvas<'_>) {
    canvas.text(0, 0, "day", Tone::Heading);
    let calendar = common.calendar();
    let step = scale.step(12);
    let mut day = 0;
    while day < scale.days {
        let column = MARGIN + scale.column(day);
        canvas.text(0, column, &day.to_string(), Tone::Heading);
        let date = calendar.day(stuck + TimeDelta::days(i64::from(day)));
        if column + width(&date) <= canvas.width() {
            canvas.text(1, column, &date, Tone::Plain);
        }
        day += step;
    }
}

/// The order of the band from the ground up: what got furthest stands lowest, the lost on top.
const UPWARDS: [CuttingMark; 7] = [
    CuttingMark::Potted,
    CuttingMark::Bottom,
    CuttingMark::Rooted,
    CuttingMark::Callused,
    CuttingMark::Bare,
    CuttingMark::GivenUp,
    CuttingMark::Lost,
];

fn band(steps: &[LifeStep], scale: &Scale, tall: usize, canvas: &mut Canvas<'_>) {
    let glyphs = canvas.ink().glyphs;
    canvas.text(2, 0, "of all", Tone::Plain);
    canvas.text(1 + tall, 0, "stuck", Tone::Plain);
    for column in 0..scale.columns() {
        let Some(step) = on(steps, scale.day(column)) else {
            continue;
        };
        for (level, mark) in levels(&step.marks, tall).into_iter().enumerate() {
            let row = 2 + tall - 1 - level;
            let sign = mark.sign(glyphs).to_string();
            canvas.text(row, MARGIN + column, &sign, mark_meaning(mark));
        }
    }
}

/// The mark of each row from the ground up: shared as a strip shares its columns.
fn levels(tally: &[u32; 7], tall: usize) -> Vec<CuttingMark> {
    let total: u32 = tally.iter().sum::<u32>().max(1);
    let mut out = Vec::with_capacity(tall);
    for level in 0..tall {
        // The cutting at the middle of the row.
        let at = (2 * level as u64 + 1) * u64::from(total) / (2 * tall as u64);
        let mut up = 0;
        let found = UPWARDS.iter().find(|mark| {
            up += u64::from(tally[**mark as usize]);
            at < up
        });
        out.extend(found.copied());
    }
    out
}

/// Signs of what was done: looks, moves, treatments, losses, potting.
fn deeds(batch: &Batch, scale: &Scale, row: usize, canvas: &mut Canvas<'_>) {
    use crate::model::entry::KindName;
    canvas.text(row, 0, "done", Tone::Plain);
    for event in &batch.events {
        let sign = match event.entry.name() {
            KindName::Look => "^",
            KindName::Pot => "p",
            KindName::Move => "m",
            KindName::Treat => "t",
            KindName::Discard => "d",
            KindName::Ready => "r",
            KindName::Sold => "g",
            _ => continue,
        };
        canvas.text(row, MARGIN + scale.column(event.age), sign, Tone::Key);
    }
}

/// What the climate rows show: their word, and the value of a day.
type Climate<'a> = (String, &'a dyn Fn(&DayMeans) -> Option<f64>);

fn climate(air: &[DayMeans], degrees: Degrees, scale: &Scale, row: usize, canvas: &mut Canvas<'_>) {
    let sign = if canvas.ink().is_ascii() {
        degrees.letter()
    } else {
        degrees.sign()
    };
    let warmth = |a: &DayMeans| a.air_c.map(|t| degrees.number(t));
    let rows: [Climate<'_>; 2] = [
        (format!("air {sign}"), &warmth),
        ("rh %".to_owned(), &|a| a.rh_pct),
    ];
    for (at, (word, value)) in rows.into_iter().enumerate() {
        canvas.text(row + at, 0, &word, Tone::Plain);
        let mut column = 0;
        while column + 3 < scale.columns().max(4) {
            let (from, until) = (scale.column_day(column), scale.day(column + APART - 1));
            let those = air.iter().filter(|a| (from..=until).contains(&a.age));
            let values: Vec<f64> = those.filter_map(value).collect();
            if !values.is_empty() {
                let mean = values.iter().sum::<f64>() / values.len() as f64;
                canvas.text(
                    row + at,
                    MARGIN + column,
                    &format!("{mean:.0}"),
                    Tone::Plain,
                );
            }
            column += APART;
        }
    }
}
