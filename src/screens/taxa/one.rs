//! Inside a taxon: its curves or ruler lines, its figures in words with what to bear in mind, and all
//! its batches across seasons beneath. It computes no figure while drawing.

use super::{curves, groups, words};
use crate::book::Book;
use crate::book::batch::Batch;
use crate::book::filter::{Filter, GroupKey};
use crate::book::meant::Question as About;
use crate::book::milestone::Milestone;
use crate::book::timeline::Group;
use crate::screens::canvas::Canvas;
use crate::screens::common::Common;
use crate::screens::effect::Effect;
use crate::screens::ink::Meaning;
use crate::screens::keys::{Command, Context};
use crate::screens::question::{Answer, Question};
use crate::screens::screen::{Screen, Subject, Turn};
use crate::screens::strip;
use crate::words::figures::{day_range, percent_range};
use std::sync::Arc;

/// Resamples for the ranges of days.
const RESAMPLES: usize = 999;

/// A taxon, or a part of its batches.
#[derive(Debug)]
pub struct One {
    filter: Filter,
    group: Group,
    /// Whether the ranges of days have come.
    ranged: bool,
    asked: String,
    batches: Vec<Arc<Batch>>,
    chosen: usize,
}

impl One {
    /// Of a group as the list has it: the ranges of days follow.
    pub(super) fn of(group: &Group, common: &Common) -> Self {
        Self {
            filter: common.filter.clone(),
            group: group.clone(),
            ranged: false,
            asked: String::new(),
            batches: Vec::new(),
            chosen: 0,
        }
    }

    fn by(&self) -> Option<GroupKey> {
        self.group.by.first().map(|(key, _)| *key)
    }

    fn ask(&mut self, common: &Common) -> Turn {
        let book = Arc::as_ptr(&common.book);
        let key = format!("taxon {} {:?} {book:p}", self.group.taxon, self.group.by);
        if self.asked == key {
            return Turn::stay();
        }
        self.asked.clone_from(&key);
        let (taxon, values, by) = (self.group.taxon.clone(), self.group.by.clone(), self.by());
        let mut filter = self.filter.clone();
        filter.taxon.get_or_insert_with(|| taxon.clone());
        let about = About {
            filter,
            ..About::default()
        };
        let work = move |book: &Book| {
            let found = groups(book, &about, by, RESAMPLES).into_iter();
            let mut found = found.filter(|g| g.taxon == taxon && g.by == values);
            found.next()
        };
        Turn::effect(Effect::Ask(Question::new(key, &common.book, work)))
    }

    /// Rows of the curves, rows above the batches, batches on a page.
    fn plan(&self, common: &Common) -> (usize, usize, usize) {
        let (columns, rows) = (usize::from(common.size.0), usize::from(common.size.1));
        let room = rows.saturating_sub(if common.is_low() { 1 } else { 2 });
        let tall = match (columns, rows) {
            (..64, _) | (_, ..22) => 0,
            (_, ..36) => 7,
            _ => 16,
        };
        let drawn = if tall > 0 { tall + 1 } else { 4 };
        let said = match rows {
            0..16 => 3,
            16..36 => 5,
            _ => 12,
        };
        let above = drawn + said;
        (tall, above, room.saturating_sub(above).max(1))
    }

    /// The figures in words, the weightiest first.
    fn said(&self) -> Vec<(String, Meaning)> {
        let group = &self.group;
        let mut out = vec![(
            format!("rooted % {}; {}", words::strike(group), words::size(group)),
            Meaning::Plain,
        )];
        let cautions: Vec<String> = group.cautions.iter().map(ToString::to_string).collect();
        if !cautions.is_empty() {
            out.push((format!("! {}", cautions.join("; ")), Meaning::Pressing));
        }
        if !self.ranged {
            out.push((
                "Working out how sure the days are...".into(),
                Meaning::Plain,
            ));
        }
        for milestone in [Milestone::Root, Milestone::Callus, Milestone::Bottom] {
            out.push((figure(group, milestone), Meaning::Plain));
        }
        out
    }
}

/// One milestone in words: the share, the middle day and how sure they are, or why there is none.
fn figure(group: &Group, milestone: Milestone) -> String {
    let word = milestone.word();
    let figure = group.of(milestone);
    let Some(reached) = figure.reached else {
        let path = format!("milestones.{word}.reached");
        let why = group.reasons.iter().find(|(at, _)| *at == path);
        let why = why.map_or_else(|| "not known".into(), |(_, why)| why.to_string());
        return format!("{word}: {why}");
    };
    let share = percent_range(reached.value, reached.low, reached.high);
    let half = figure.of_reached.days[1].map(|d| {
        let range = day_range(d.after, d.by, d.at, d.low, d.high);
        format!("; half of these by {range}")
    });
    let half = half.unwrap_or_default();
    format!("{word}: {share} % by day {}{half}", reached.by_day)
}

impl Screen for One {
    fn context(&self) -> Context {
        Context::List
    }

    fn title(&self, _common: &Common) -> String {
        words::name(&self.group)
    }

    fn subject(&self, _common: &Common) -> Subject {
        Subject {
            batch: self.batches.get(self.chosen).map(|batch| batch.key.clone()),
            place: None,
        }
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let last = self.batches.len().saturating_sub(1);
        let (.., page) = self.plan(common);
        self.chosen = match command {
            Command::Next => (self.chosen + 1).min(last),
            Command::Previous => self.chosen.saturating_sub(1),
            Command::First => 0,
            Command::Last => last,
            Command::PageOn => ((self.chosen / page + 1) * page).min(last),
            Command::PageBack => (self.chosen / page).saturating_sub(1) * page,
            Command::Open => {
                return match self.batches.get(self.chosen) {
                    Some(batch) => Turn::open(crate::screens::batch::Batch::new(batch.key.clone())),
                    None => Turn::stay(),
                };
            }
            _ => self.chosen,
        };
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        let book = &common.book;
        let mine = |batch: &&Arc<Batch>| {
            batch.taxon.shown() == self.group.taxon
                && self.filter.admits(book, batch)
                && self
                    .group
                    .by
                    .iter()
                    .all(|(key, value)| key.of_batch(book, batch) == *value)
        };
        // The latest first.
        self.batches = book.batches().iter().rev().filter(mine).cloned().collect();
        self.chosen = self.chosen.min(self.batches.len().saturating_sub(1));
        self.ask(common)
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(found) = answer.to::<Option<Group>>(&self.asked) {
            self.ranged = true;
            if let Some(group) = found {
                self.group = group.clone();
            }
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let (tall, above, page) = self.plan(common);
        let head = usize::from(common.is_low());
        if head > 0 {
            canvas.text(0, 0, &self.title(common), Meaning::Heading);
        }
        let mut row = if tall > 0 {
            curves::curves(&self.group, tall, canvas);
            tall + 1
        } else {
            curves::rulers(&self.group, head, canvas)
        };
        for (line, meaning) in self.said() {
            let mut part = canvas.rows(0, above);
            row = part.wrapped(row, 0, &line, meaning);
        }
        let first = self.chosen / page * page;
        let shown = self.batches.iter().enumerate().skip(first).take(page);
        for (line, (at, batch)) in shown.enumerate() {
            let line = above + line;
            let mark = if at == self.chosen { ">" } else { " " };
            canvas.text(line, 0, mark, Meaning::Heading);
            let age = (common.today() - batch.stuck_on).num_days();
            let age = if batch.is_open() {
                format!("d{age}")
            } else {
                "closed".into()
            };
            let lead = format!("{} {age:<6} ", batch.code);
            let end = canvas.text(line, 2, &lead, Meaning::Plain);
            let room = canvas.width().saturating_sub(end).min(60);
            strip::draw(&batch.counts, room, line, end, canvas);
        }
    }
}
