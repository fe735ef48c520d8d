//! The arms of one comparison with the verdict on two of them: their keys, what they open, what is asked
//! for. It draws nothing and computes no figure.

use super::draw::{self, Shown};
use super::figures::{Figures, figures};
use super::side::Side;
use crate::book::Book;
use crate::book::filter::{Filter, GroupKey};
use crate::book::milestone::Milestone;
use crate::screens::canvas::Canvas;
use crate::screens::common::Common;
use crate::screens::effect::Effect;
use crate::screens::ink::Meaning;
use crate::screens::keys::{Command, Context};
use crate::screens::pages::whole::Whole;
use crate::screens::paging::moved;
use crate::screens::question::{Answer, Awaited, Question};
use crate::screens::screen::{Screen, Turn};
use crate::words::comparison::{Room, text};
use crate::words::verdicts::done;
use std::sync::Arc;

/// The milestones that the key goes through.
const MILESTONES: [Milestone; 3] = [Milestone::Root, Milestone::Callus, Milestone::Bottom];

/// A comparison's arms.
#[derive(Debug)]
pub struct Arms {
    by: GroupKey,
    filter: Filter,
    /// Which of the milestones.
    milestone: usize,
    /// What came, by milestone, with the question that it answers.
    held: [Option<(String, Arc<Figures>)>; 3],
    awaited: Awaited,
    /// The arm chosen; the row after the last is what was left out.
    chosen: usize,
    /// Against which of those that the chosen arm meets.
    against: usize,
}

impl Arms {
    /// By that key, among the batches of that filter.
    #[must_use]
    pub fn new(by: GroupKey, filter: Filter) -> Self {
        Self {
            by,
            filter,
            milestone: 0,
            held: [const { None }; 3],
            awaited: Awaited::default(),
            chosen: 0,
            against: 0,
        }
    }

    /// What is shown now: while another answer is awaited, the one before.
    fn figures(&self) -> Option<&Arc<Figures>> {
        self.held[self.milestone]
            .as_ref()
            .map(|(_, figures)| figures)
    }

    fn ask(&mut self, common: &Common) -> Turn {
        let milestone = MILESTONES[self.milestone];
        let key = format!(
            "arms {:?} {:?} {milestone:?} {:p}",
            self.by,
            self.filter,
            Arc::as_ptr(&common.book)
        );
        let held = self.held[self.milestone].as_ref();
        if self.awaited.key() == key || held.is_some_and(|(held, _)| *held == key) {
            return Turn::stay();
        }
        self.awaited = Awaited::new(key.clone());
        let (by, filter, going) = (self.by, self.filter.clone(), self.awaited.going());
        let work = move |book: &Book| figures(book, (by, &filter), milestone, &going);
        Turn::effect(Effect::Ask(Question::new(key, &common.book, work)))
    }

    /// Rows that can be chosen: the arms, and what was left out, if anything was.
    fn rows(&self) -> usize {
        let comparison = self.figures().and_then(|figures| figures.comparison());
        comparison.map_or(0, |it| it.arms.len() + usize::from(!it.left_out.is_empty()))
    }

    fn open(&self) -> Turn {
        let Some(figures) = self.figures() else {
            return Turn::stay();
        };
        match figures.comparison() {
            Some(it) if self.chosen < it.arms.len() => Turn::open(Side::arm(it, self.chosen)),
            Some(it) if !it.left_out.is_empty() => Turn::open(Side::left_out(it)),
            _ => Turn::stay(),
        }
    }

    fn hold_against_next(&mut self, common: &mut Common) -> Turn {
        let figures = self.figures();
        let rivals = figures.map_or(0, |figures| figures.rivals(self.chosen).len());
        match rivals {
            0 | 1 => common.say(Meaning::Plain, "There is no other arm that it meets."),
            _ => self.against = (self.against + 1) % rivals,
        }
        Turn::stay()
    }

    fn in_full(&self) -> Turn {
        let Some(figures) = self.figures().cloned() else {
            return Turn::stay();
        };
        let lines = move |columns, charset| {
            let room = Room { columns, charset };
            let said = text(room, &figures.trials);
            said.lines().map(str::to_owned).collect()
        };
        Turn::open(Whole::new("All that the figures say", lines))
    }

    fn shown<'a>(&self, figures: &'a Figures) -> Shown<'a> {
        let rivals = figures.rivals(self.chosen);
        let rival = rivals.get(self.against % rivals.len().max(1)).copied();
        Shown {
            figures,
            chosen: self.chosen,
            rival,
        }
    }
}

impl Screen for Arms {
    fn context(&self) -> Context {
        Context::Arms
    }

    fn title(&self, _common: &Common) -> String {
        let what = super::name(
            self.filter
                .trial
                .as_deref()
                .filter(|_| self.by == GroupKey::Arm),
            self.by,
        );
        let taxon = self.filter.taxon.as_ref();
        let taxon = taxon.map_or_else(String::new, |taxon| format!("{taxon}, "));
        let horizon = self.figures().and_then(|it| it.comparison()?.horizon);
        let to = horizon.map_or_else(String::new, |day| format!(" to day {day}"));
        let done = done(MILESTONES[self.milestone]);
        format!("{done}{to}: {taxon}{what}")
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        match command {
            Command::Stage => {
                self.milestone = (self.milestone + 1) % MILESTONES.len();
                return self.ask(common);
            }
            Command::Against => return self.hold_against_next(common),
            Command::Inside => return self.in_full(),
            Command::Open => return self.open(),
            _ => {}
        }
        let last = self.rows().saturating_sub(1);
        let figures = self.figures();
        let page = figures.map_or(1, |figures| draw::page(figures, common));
        let before = self.chosen;
        self.chosen = moved(before, last, page, command);
        if self.chosen != before {
            self.against = 0;
        }
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        self.chosen = self.chosen.min(self.rows().saturating_sub(1));
        self.ask(common)
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        let key = self.awaited.key();
        if let Some(Some(figures)) = answer.to::<Option<Figures>>(key) {
            let held = (key.to_owned(), Arc::new(figures.clone()));
            self.held[self.milestone] = Some(held);
            self.chosen = self.chosen.min(self.rows().saturating_sub(1));
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let top = usize::from(common.is_low());
        if top > 0 {
            canvas.text(0, 0, &self.title(common), Meaning::Heading);
        }
        let room = canvas.height();
        let mut part = canvas.rows(top, room);
        match self.figures() {
            Some(figures) => draw::arms(&self.shown(figures), common, &mut part),
            None => draw::waiting(&mut part),
        }
    }
}
