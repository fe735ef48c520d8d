//! The arms of one comparison with the verdict on two of them: their keys, what they open, what is asked
//! for. It draws nothing and computes no figure.

use super::draw::{self, ArmsView};
use super::scale::{ArmFigures, figures, split_name};
use super::side::ArmScreen;
use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::model::filter::{Filter, GroupKey};
use crate::text::comparison::{Room, text};
use crate::text::verdicts::done;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::common::Common;
use crate::tui::keys::{Command, KeyContext};
use crate::tui::pages::whole::TextScreen;
use crate::tui::paging::moved;
use crate::tui::question::{Answer, Awaited, GoOn};
use crate::tui::screen::{Screen, Turn};
use std::sync::Arc;

/// The milestones that the key goes through.
const MILESTONES: [Milestone; 3] = [Milestone::Root, Milestone::Callus, Milestone::Bottom];

/// A comparison's arms.
#[derive(Debug)]
pub struct ArmsScreen {
    by: GroupKey,
    filter: Filter,
    /// Which of the milestones.
    milestone: usize,
    /// What was last asked and what last came, by milestone.
    held: [(Awaited, Option<Arc<ArmFigures>>); 3],
    /// The arm chosen; the row after the last is what was left out.
    chosen: usize,
    /// Against which of those that the chosen arm meets.
    against: usize,
}

impl ArmsScreen {
    /// By that key, among the batches of that filter.
    #[must_use]
    pub fn new(by: GroupKey, filter: Filter) -> Self {
        Self {
            by,
            filter,
            milestone: 0,
            held: Default::default(),
            chosen: 0,
            against: 0,
        }
    }

    /// What is shown now: while another answer is awaited, the one before.
    fn figures(&self) -> Option<&Arc<ArmFigures>> {
        self.held[self.milestone].1.as_ref()
    }

    fn ask(&mut self, common: &Common) -> Turn {
        let milestone = MILESTONES[self.milestone];
        // A topic to each milestone: going through them stops none of their questions.
        let topic = format!("arms-{}", milestone.word());
        let (by, filter) = (self.by, self.filter.clone());
        let work =
            move |book: &Book, go_on: GoOn<'_>| figures(book, (by, &filter), milestone, go_on);
        let awaited = &mut self.held[self.milestone].0;
        Turn::stay().also(common.ask(awaited, &topic, (), work))
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
            Some(it) if self.chosen < it.arms.len() => Turn::open(ArmScreen::arm(it, self.chosen)),
            Some(it) if !it.left_out.is_empty() => Turn::open(ArmScreen::left_out(it)),
            _ => Turn::stay(),
        }
    }

    fn hold_against_next(&mut self, common: &mut Common) -> Turn {
        let figures = self.figures();
        let rivals = figures.map_or(0, |figures| figures.rivals(self.chosen).len());
        match rivals {
            0 | 1 => common.say(Tone::Plain, "There is no other arm that it meets."),
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
        Turn::open(TextScreen::new("All that the figures say", lines))
    }

    fn shown<'a>(&self, figures: &'a ArmFigures) -> ArmsView<'a> {
        let rivals = figures.rivals(self.chosen);
        let rival = rivals.get(self.against % rivals.len().max(1)).copied();
        ArmsView {
            figures,
            chosen: self.chosen,
            rival,
        }
    }
}

impl Screen for ArmsScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Arms
    }

    fn title(&self, _common: &Common) -> String {
        let what = split_name(
            self.filter
                .trial
                .as_deref()
                .filter(|_| self.by == GroupKey::Arm),
            self.by,
        );
        let taxon = self.filter.taxon.as_ref();
        let taxon = taxon.map_or_else(String::new, |taxon| format!("{taxon}, "));
        let horizon = self.figures().and_then(|it| it.comparison()?.basis.day());
        let to = horizon.map_or_else(String::new, |day| format!(" by day {day}"));
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
        for (awaited, held) in &mut self.held {
            if let Some(figures) = awaited.taken::<ArmFigures>(answer) {
                *held = Some(Arc::new(figures.clone()));
            }
        }
        self.chosen = self.chosen.min(self.rows().saturating_sub(1));
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let top = usize::from(common.is_low());
        if top > 0 {
            canvas.text(0, 0, &self.title(common), Tone::Heading);
        }
        let room = canvas.height();
        let mut part = canvas.rows(top, room);
        match self.figures() {
            Some(figures) => draw::arms(&self.shown(figures), common, &mut part),
            None => draw::waiting(&mut part),
        }
    }
}
