//! Every taxon with its strike and its days, by wood stage or another grouping. Figures come off the
//! input path; it computes none while drawing.

mod curves;
mod one;
mod told;
mod words;

use crate::book::Book;
use crate::book::filter::{Filter, GroupKey};
use crate::book::meant::Question as About;
use crate::book::timeline::{Group, Options, timeline};
use crate::screens::canvas::Canvas;
use crate::screens::common::Common;
use crate::screens::effect::Effect;
use crate::screens::ink::Meaning;
use crate::screens::keys::{Command, Context};
use crate::screens::paging::moved;
use crate::screens::question::{Answer, Question};
use crate::screens::screen::{Screen, Turn};
use crate::screens::trials;
use one::One;
use std::sync::Arc;

/// The groupings that the key goes through; `None` is the taxon alone.
const GROUPINGS: [Option<GroupKey>; 8] = [
    Some(GroupKey::Wood),
    None,
    Some(GroupKey::Season),
    Some(GroupKey::Place),
    Some(GroupKey::Cover),
    Some(GroupKey::Hormone),
    Some(GroupKey::Medium),
    Some(GroupKey::Cut),
];

/// The list of taxa.
#[derive(Debug, Default)]
pub struct Taxa {
    grouping: usize,
    asked: String,
    groups: Option<Vec<Group>>,
    chosen: usize,
}

/// The groups of a book by that key; without ranges of days or bands, or with so many resamples and bands.
fn groups(book: &Book, about: &About, by: Option<GroupKey>, resamples: usize) -> Vec<Group> {
    let options = Options {
        about: about.clone(),
        by: by.into_iter().collect(),
        resamples,
        band: resamples > 0,
        ..Options::default()
    };
    let found = timeline(book, &options, &mut |_, _| true);
    found.map_or_else(Vec::new, |found| found.groups)
}

impl Taxa {
    fn by(&self) -> Option<GroupKey> {
        GROUPINGS[self.grouping % GROUPINGS.len()]
    }

    fn ask(&mut self, common: &Common) -> Turn {
        let by = self.by();
        let about = About {
            filter: common.filter.clone(),
            ..About::default()
        };
        let key = format!("taxa {by:?} {about:?} {:p}", Arc::as_ptr(&common.book));
        if self.asked == key {
            return Turn::stay();
        }
        self.asked.clone_from(&key);
        let work = move |book: &Book| groups(book, &about, by, 0);
        Turn::effect(Effect::Ask(Question::new(key, &common.book, work)))
    }

    /// The chosen taxon's groups against each other; without a grouping, all that can be compared.
    fn compare(&self, common: &Common) -> Turn {
        let groups = self.groups.as_ref();
        let group = groups.and_then(|groups| groups.get(self.chosen));
        match self.by().zip(group) {
            Some((by, group)) => Turn::open(trials::by(
                by,
                Filter {
                    taxon: Some(group.taxon.clone()),
                    ..common.filter.clone()
                },
            )),
            None => Turn::open(trials::Trials::default()),
        }
    }

    fn page(common: &Common) -> usize {
        let rows = usize::from(common.size.1);
        let (frame, tall) = if common.is_low() {
            (1, 1)
        } else {
            (3, tall(common))
        };
        (rows.saturating_sub(frame) / tall).max(1)
    }
}

/// Lines to a row: two where nothing may stand side by side.
fn tall(common: &Common) -> usize {
    if common.size.0 < 72 { 2 } else { 1 }
}

impl Screen for Taxa {
    fn context(&self) -> Context {
        Context::Taxa
    }

    fn title(&self, _common: &Common) -> String {
        match self.by() {
            Some(by) => format!("Taxa by {}", by.word()),
            None => "Taxa".to_owned(),
        }
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let last = self.groups.as_ref().map_or(0, Vec::len).saturating_sub(1);
        let page = Self::page(common);
        match command {
            Command::Grouping => {
                self.grouping = (self.grouping + 1) % GROUPINGS.len();
                self.groups = None;
                self.chosen = 0;
                return self.ask(common);
            }
            Command::Trials => return self.compare(common),
            Command::Open => {
                let groups = self.groups.as_ref();
                return match groups.and_then(|groups| groups.get(self.chosen)) {
                    Some(group) => Turn::open(One::of(group, common)),
                    None => Turn::stay(),
                };
            }
            _ => self.chosen = moved(self.chosen, last, page, command),
        }
        Turn::stay()
    }

    fn claims(&self, command: Command) -> bool {
        command == Command::Trials
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        self.ask(common)
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(groups) = answer.to::<Vec<Group>>(&self.asked) {
            self.chosen = self.chosen.min(groups.len().saturating_sub(1));
            self.groups = Some(groups.clone());
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let Some(groups) = &self.groups else {
            canvas.text(0, 0, "Working out strike and days...", Meaning::Plain);
            return;
        };
        if groups.is_empty() {
            let none = "No batch was looked at yet: strike and days come with the looks.";
            canvas.wrapped(0, 0, none, Meaning::Plain);
            return;
        }
        let page = Self::page(common);
        let first = self.chosen / page * page;
        let shown: Vec<&Group> = groups.iter().skip(first).take(page).collect();
        let chosen = self.chosen - first;
        match (tall(common), common.is_low()) {
            (1, _) => table(&shown, chosen, common.is_low(), canvas),
            (_, low) => stacked(&shown, chosen, low, canvas),
        }
    }
}

/// Two lines to a group; on a low screen one.
fn stacked(groups: &[&Group], chosen: usize, low: bool, canvas: &mut Canvas<'_>) {
    let mut line = 0;
    if !low {
        let words = "rooted % (95 %), days to root 10-50-90";
        canvas.text(0, 0, words, Meaning::Plain);
        line = 1;
    }
    let room = canvas.width().saturating_sub(12);
    let names = words::short_names(groups, room, canvas.ink().glyphs);
    for (at, group) in groups.iter().enumerate() {
        let mark = if at == chosen { ">" } else { " " };
        canvas.text(line, 0, mark, Meaning::Heading);
        let strike = words::strike(group);
        if low {
            let strike = group.strike.map_or("too soon".into(), |s| {
                format!("{} %", crate::words::figures::percent(s.value))
            });
            canvas.text(line, 2, &names[at], Meaning::Plain);
            canvas.right(line, 2, &strike, Meaning::Plain);
            line += 1;
            continue;
        }
        canvas.text(line, 2, &words::name(group), Meaning::Plain);
        let said = format!("{strike}, {}; {}", words::days(group), words::size(group));
        canvas.text(line + 1, 4, &said, Meaning::Plain);
        line += 2;
    }
}

/// One line to a group.
fn table(groups: &[&Group], chosen: usize, low: bool, canvas: &mut Canvas<'_>) {
    use crate::book::milestone::Milestone;
    let wide = canvas.width();
    let name = wide.saturating_sub(58).clamp(14, 60);
    let names = words::short_names(groups, name, canvas.ink().glyphs);
    let columns = [
        2 + name + 1,
        2 + name + 9,
        2 + name + 22,
        2 + name + 32,
        2 + name + 44,
    ];
    let mut line = 0;
    if !low {
        let heads = ["batches", "rooted %", "callused", "rooted", "to bottom"];
        canvas.text(0, 2, "days: 10-50-90 %", Meaning::Plain);
        for (column, head) in columns.iter().zip(heads) {
            canvas.text(0, *column, head, Meaning::Heading);
        }
        line = 1;
    }
    for (at, group) in groups.iter().enumerate() {
        let mark = if at == chosen { ">" } else { " " };
        canvas.text(line, 0, mark, Meaning::Heading);
        canvas.text(line, 2, &names[at], Meaning::Plain);
        let cells = [
            group.size.batches.to_string(),
            words::strike(group),
            words::quick(group.of(Milestone::Callus)),
            words::quick(group.of(Milestone::Root)),
            words::quick(group.of(Milestone::Bottom)),
        ];
        for (column, cell) in columns.iter().zip(cells) {
            canvas.text(line, *column, &cell, Meaning::Plain);
        }
        line += 1;
    }
}
