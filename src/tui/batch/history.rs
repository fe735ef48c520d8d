//! What became of a batch's cuttings day by day, and the air they had, for the band over time. It draws nothing.

use crate::analysis::expect::Model;
use crate::analysis::forecast::BatchForecast;
use crate::fold::Book;
use crate::fold::batch::{Batch, Inspection, Tally};
use crate::model::entry::Move;
use crate::model::packed::PackedEntry;
use crate::text::dates::Calendar;
use crate::text::forecast::{at_length, in_the_end_short, short};
use chrono::{NaiveDate, TimeDelta};
use std::sync::Arc;

/// The cuttings from one day on, in the order of [`crate::text::strip::CuttingMark::ALL`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LifeStep {
    /// Days since sticking.
    pub age: u32,
    /// How many of each mark.
    pub marks: [u32; 7],
    /// Whether the stages were counted that day.
    pub counted: bool,
}

/// The steps of a batch's life, the first on the day of sticking. Stages hold from one count to the
/// next: what happened between two looks nobody saw.
#[must_use]
pub fn steps(batch: &Batch) -> Vec<LifeStep> {
    let began = batch.part.unwrap_or([batch.counts.stuck.max(1), 0, 0, 0]);
    // Cuttings that later left as parts are not in the batch's own sum: they count from the start.
    let surplus = began.iter().sum::<u32>().saturating_sub(batch.counts.stuck);
    let mut bench = reduced(began, surplus, false);
    let (mut lost, mut moved) = (0, 0);
    let mut out = vec![step(0, bench, [moved, 0, lost], true)];
    for seen in &batch.inspections {
        if let Some(tally) = &seen.tally {
            bench = staged(tally, seen.remain_at_tally, bench);
        }
        let remain = seen.remain.min(batch.counts.stuck);
        let off = bench.iter().sum::<u32>().saturating_sub(remain);
        bench = reduced(bench, off, seen.potted > 0);
        moved += seen.potted;
        lost += seen.lost.total() + discarded_dead(seen);
        let rest = batch.counts.stuck.saturating_sub(bench.iter().sum());
        let shown = [moved.min(rest), 0, lost.min(rest.saturating_sub(moved))];
        let gone = rest.saturating_sub(shown[0] + shown[2]);
        let one = step(
            seen.age,
            bench,
            [shown[0], gone, shown[2]],
            seen.tally.is_some(),
        );
        match out.last_mut() {
            Some(last) if last.age == one.age => *last = one,
            _ => out.push(one),
        }
    }
    out
}

fn step(
    age: u32,
    [bare, callused, rooted, bottom]: [u32; 4],
    off: [u32; 3],
    counted: bool,
) -> LifeStep {
    let [moved, gone, lost] = off;
    LifeStep {
        age,
        marks: [bottom, rooted, callused, bare, moved, gone, lost],
        counted,
    }
}

/// How many were discarded for a cause of loss.
fn discarded_dead(seen: &Inspection) -> u32 {
    let dead = seen
        .discarded
        .iter()
        .filter(|(why, _)| why.is_some_and(|w| w.cause().is_some()));
    dead.map(|(_, n)| n).sum()
}

/// The stages that a tally shows, those seen taken for all that remained. What it did not examine stays.
fn staged(tally: &Tally, remain: u32, before: [u32; 4]) -> [u32; 4] {
    let scale = |n: u32| {
        let seen = u64::from(tally.seen.max(1));
        let all = (u64::from(n) * u64::from(remain) + seen / 2) / seen;
        (all as u32).min(remain)
    };
    let bottom = tally.bottom.map_or(before[3], scale).min(remain);
    let root = tally
        .root
        .map_or(before[2] + before[3], scale)
        .clamp(bottom, remain);
    let callus = tally
        .callus
        .map_or(before[1] + before[2] + before[3], scale)
        .clamp(root, remain);
    [remain - callus, callus - root, root - bottom, bottom]
}

/// So many taken off: the furthest first when potted, else those furthest behind.
fn reduced(bench: [u32; 4], off: u32, potted: bool) -> [u32; 4] {
    let mut bench = bench;
    let mut left = off;
    let order: [usize; 4] = if potted { [3, 2, 1, 0] } else { [0, 1, 2, 3] };
    for stage in order {
        let taken = bench[stage].min(left);
        bench[stage] -= taken;
        left -= taken;
    }
    bench
}

/// The step that holds on a day since sticking.
#[must_use]
pub fn on(steps: &[LifeStep], age: u32) -> Option<&LifeStep> {
    steps.iter().rev().find(|step| step.age <= age)
}

/// A day's air where the batch stood: means of the day's readings.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DayMeans {
    /// Days since sticking.
    pub age: u32,
    /// Mean temperature, °C.
    pub air_c: Option<f64>,
    /// Mean relative humidity, %.
    pub rh_pct: Option<f64>,
    /// Mean temperature of the medium, °C.
    pub medium_c: Option<f64>,
}

/// The air day by day up to `last`, wherever the batch stood; days without a reading are left out.
#[must_use]
pub fn air(book: &Book, batch: &Batch, last: NaiveDate) -> Vec<DayMeans> {
    let mut days: std::collections::BTreeMap<u32, [(f64, u32); 3]> = Default::default();
    for (place, from, until) in stays(batch, last) {
        for reading in book.readings(&place).since(from).until(until) {
            let age = (reading.at.day() - batch.stuck_on).num_days().max(0) as u32;
            let sums = days.entry(age).or_default();
            let said = [
                reading.air_c.map(|t| t.0),
                reading.rh_pct.map(|rh| rh.0),
                reading.medium_c.map(|t| t.0),
            ];
            for (sum, value) in sums.iter_mut().zip(said) {
                if let Some(value) = value {
                    *sum = (sum.0 + value, sum.1 + 1);
                }
            }
        }
    }
    let mean = |(sum, n): (f64, u32)| (n > 0).then(|| sum / f64::from(n));
    days.into_iter()
        .map(|(age, [air, rh, medium])| DayMeans {
            age,
            air_c: mean(air),
            rh_pct: mean(rh),
            medium_c: mean(medium),
        })
        .collect()
}

/// What was noted and done at the places where a batch stood while it stood there, without its own entries.
#[must_use]
pub fn place_entries<'a>(book: &'a Book, batch: &Batch, last: NaiveDate) -> Vec<&'a PackedEntry> {
    let mut out: Vec<&PackedEntry> = Vec::new();
    for (place, from, until) in stays(batch, last) {
        let noted = book.remarks(Some(&place)).chain(book.treatments_at(&place));
        let entries = noted.map(|standing| &standing.entry);
        out.extend(entries.filter(|entry| (from..=until).contains(&entry.at.day())));
    }
    out.retain(|entry| batch.events.iter().all(|event| event.entry.id != entry.id));
    out.sort_by_key(|one| one.at);
    out
}

/// The places where a batch stood, from when until when; the day of a move belongs to the new place.
pub fn stays(batch: &Batch, last: NaiveDate) -> Vec<(String, NaiveDate, NaiveDate)> {
    let mut out: Vec<(String, NaiveDate, NaiveDate)> = Vec::new();
    let mut begin = |place: &str, day: NaiveDate| {
        if let Some(before) = out.last_mut() {
            before.2 = day - TimeDelta::days(1);
        }
        out.push((place.to_owned(), day, last));
    };
    if let Some(place) = &batch.stick.place {
        begin(place, batch.stuck_on);
    }
    for event in &batch.events {
        if let Some(it) = event.entry.get::<Move>()
            && let (Some(place), None) = (&it.place, it.count)
        {
            begin(place, event.entry.at.day());
        }
    }
    out
}

/// What is to come of a batch, as far as anything can be said.
#[derive(Clone, Debug, Default)]
pub struct BatchOutlook {
    /// In a line; of a closed batch what came of it.
    pub line: String,
    /// At length, a sentence each: what is wrong first, and what to do about it. Nothing of a closed batch.
    pub at_length: Vec<String>,
}

/// What is to come of a batch.
#[must_use]
pub fn outlook(batch: &Batch, model: &dyn Fn() -> Arc<Model>, calendar: Calendar) -> BatchOutlook {
    let today: NaiveDate = calendar.today;
    let only = |line: String| BatchOutlook {
        at_length: vec![line.clone()],
        line,
    };
    if batch.stick.aside.is_some() || batch.stick.again.is_some() {
        return only("No forecast: it is kept out of the figures.".into());
    }
    if batch.is_open() && batch.is_silent(today) {
        return only("No forecast: no entry for 180 days.".into());
    }
    match BatchForecast::new(&model(), batch) {
        None => BatchOutlook::default(),
        Some(forecast) if !batch.is_open() => only(in_the_end_short(&forecast)),
        Some(forecast) => BatchOutlook {
            line: match forecast.kin.all {
                0 => format!("{} (no history)", short(&forecast, calendar)),
                _ => short(&forecast, calendar),
            },
            // The first names the batch, as the heading does.
            at_length: at_length(&forecast, calendar).split_off(1),
        },
    }
}
