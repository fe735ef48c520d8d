//! Inside a taxon: what is asked, which page is shown, which batch is chosen. What stands on the pages is
//! told elsewhere; it computes no figure while drawing.

use super::told::Told;
use super::{groups, words};
use crate::analysis::expect::Model;
use crate::analysis::timeline::Group;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::fold::selection::Selection as About;
use crate::model::filter::{Filter, GroupKey};
use crate::model::id::Id;
use crate::text::forecast::together;
use crate::tui::canvas::Canvas;
use crate::tui::common::Common;
use crate::tui::effect::Effect;
use crate::tui::ink::Meaning;
use crate::tui::keys::{Command, Context};
use crate::tui::question::{Answer, Awaited, GoOn};
use crate::tui::screen::{Screen, Subject, Turn};
use crate::tui::sheet::Sheet;
use std::sync::Arc;

/// Resamples for the ranges of days.
const RESAMPLES: usize = 999;

/// A taxon, or a part of its batches.
#[derive(Debug)]
pub struct One {
    filter: Filter,
    pub(super) group: Group,
    /// Whether the ranges of days and the bands have come.
    pub(super) ranged: bool,
    asked: Awaited,
    /// What is to come of its open batches; nothing while it is worked out.
    pub(super) ahead: Option<String>,
    asked_ahead: Awaited,
    /// The latest first.
    pub(super) batches: Vec<Arc<Batch>>,
    pub(super) chosen: usize,
    pub(super) sheet: Sheet,
    /// Whether no batch of it that was looked at is meant any more.
    pub(super) none: bool,
    /// Whose band is drawn.
    pub(super) banded: Milestone,
}

impl One {
    /// Of a group as the list has it: the ranges of days follow.
    pub(super) fn of(group: &Group, common: &Common) -> Self {
        Self {
            filter: common.filter.clone(),
            group: group.clone(),
            ranged: false,
            asked: Awaited::default(),
            ahead: None,
            asked_ahead: Awaited::default(),
            batches: Vec::new(),
            chosen: 0,
            sheet: Sheet::default(),
            none: false,
            banded: Milestone::Root,
        }
    }

    fn by(&self) -> Option<GroupKey> {
        self.group.by.first().map(|(key, _)| *key)
    }

    fn ask(&mut self, common: &Common) -> Turn {
        let rest = format!("{} {:?} {:?}", self.group.taxon, self.group.by, self.filter);
        let (taxon, values, by) = (self.group.taxon.clone(), self.group.by.clone(), self.by());
        let mut filter = self.filter.clone();
        filter.taxon.get_or_insert_with(|| taxon.clone());
        let about = About {
            filter,
            ..About::default()
        };
        let work = move |book: &Book, go_on: GoOn<'_>| {
            let found = groups(book, &about, by, RESAMPLES, go_on)?.into_iter();
            let mut found = found.filter(|g| g.taxon == taxon && g.by == values);
            Some(found.next())
        };
        Turn::stay().also(common.ask(&mut self.asked, "taxon", rest, work))
    }

    /// What is to come of those on the bench, if any are.
    fn ask_ahead(&mut self, common: &Common) -> Option<Effect> {
        let open: Vec<Id> = self.open().map(|batch| batch.key.clone()).collect();
        if open.is_empty() {
            return None;
        }
        let (rest, model) = (format!("{open:?}"), common.model());
        let work = move |book: &Book, _: GoOn<'_>| Some(ahead(book, &model(book), &open));
        common.ask(&mut self.asked_ahead, "ahead", rest, work)
    }

    /// Its batches on the bench.
    pub(super) fn open(&self) -> impl Iterator<Item = &Arc<Batch>> {
        self.batches.iter().filter(|batch| batch.is_open())
    }

    /// Rows that the sheet has.
    fn rows(common: &Common) -> usize {
        common.body()
    }

    /// The batch chosen, if it stands on the page shown.
    fn seen(&self, common: &Common) -> Option<&Arc<Batch>> {
        let told = Told::of(self, common);
        let shown = self.sheet.shown(told.len(), Self::rows(common));
        let line = told.line_of(self.chosen)?;
        shown
            .contains(&line)
            .then(|| self.batches.get(self.chosen))
            .flatten()
    }

    /// Chooses a batch and turns to its page.
    fn choose_at(&mut self, common: &Common, at: usize) {
        self.chosen = at.min(self.batches.len().saturating_sub(1));
        let told = Told::of(self, common);
        if let Some(line) = told.line_of(self.chosen) {
            self.sheet.show(line, told.len(), Self::rows(common));
        }
    }

    /// Turns a page; the first batch on it is the chosen one.
    fn turn_page(&mut self, common: &Common, on: bool) {
        let told = Told::of(self, common);
        let rows = Self::rows(common);
        if !self.sheet.turn(on, told.len(), rows) {
            return;
        }
        let shown = self.sheet.shown(told.len(), rows);
        let first = (0..self.batches.len())
            .find(|at| told.line_of(*at).is_some_and(|line| shown.contains(&line)));
        self.chosen = first.unwrap_or(0);
    }
}

/// What is to come of batches, in a sentence without its stop; nothing if none of them is forecast.
fn ahead(book: &Book, model: &Model, keys: &[Id]) -> String {
    let found = model.forecasts(book, &|batch| keys.contains(&batch.key));
    match found.batches.as_slice() {
        [] => String::new(),
        all => together(all, found.history),
    }
}

impl Screen for One {
    fn context(&self) -> Context {
        Context::Taxon
    }

    fn title(&self, _common: &Common) -> String {
        words::name(&self.group)
    }

    fn subject(&self, common: &Common) -> Subject {
        // What is not seen is not meant.
        Subject {
            batch: self.seen(common).map(|batch| batch.key.clone()),
            place: None,
        }
    }

    fn is_idle(&self, common: &Common, command: Command) -> bool {
        command == Command::Band && !Told::of(self, common).has_curves()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let here = self.seen(common).cloned();
        match (command, here) {
            (Command::PageOn, _) => self.turn_page(common, true),
            (Command::PageBack, _) => self.turn_page(common, false),
            (Command::First, _) => {
                self.chosen = 0;
                self.sheet = Sheet::default();
            }
            (Command::Last, _) => self.choose_at(common, usize::MAX),
            (Command::Band, _) if !Told::of(self, common).has_curves() => {
                let why = "Bands need curves, which need 64 columns and 22 rows; here the ranges stand in brackets.";
                common.say(Meaning::Plain, why);
            }
            (Command::Band, _) => {
                let at = self.banded as usize + 1;
                self.banded = Milestone::ALL[at % Milestone::ALL.len()];
            }
            (Command::Open, Some(batch)) => {
                return Turn::open(crate::tui::batch::Batch::new(batch.key.clone()));
            }
            (Command::Next, Some(_)) => self.choose_at(common, self.chosen + 1),
            (Command::Previous, Some(_)) => {
                self.choose_at(common, self.chosen.saturating_sub(1));
            }
            // One that is not seen is shown first.
            (Command::Open | Command::Next | Command::Previous, None) => {
                self.choose_at(common, self.chosen);
            }
            _ => {}
        }
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        self.filter = common.filter.clone();
        let book = &common.book;
        let mine = |batch: &&Arc<Batch>| {
            batch.taxon.shown() == self.group.taxon
                && self.filter.admits(book, batch)
                && self
                    .group
                    .by
                    .iter()
                    .all(|(key, value)| key.value_for(book, batch) == *value)
        };
        // The latest first.
        self.batches = book.batches().iter().rev().filter(mine).cloned().collect();
        self.chosen = self.chosen.min(self.batches.len().saturating_sub(1));
        let turn = self.ask(common);
        turn.also(self.ask_ahead(common))
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(found) = self.asked.taken::<Option<Group>>(answer) {
            self.ranged = true;
            self.none = found.is_none();
            if let Some(group) = found {
                self.group = group.clone();
            }
        }
        if let Some(ahead) = self.asked_ahead.taken::<String>(answer) {
            self.ahead = Some(ahead.clone());
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        Told::of(self, common).draw(self, common, canvas);
    }
}
