//! Two screens: the arms of one comparison with the verdict on two of them; and the batches of one arm, or those left out
//! with their reasons, each of which opens its life. Neither computes a figure.

use super::draw;
use super::draw::ArmsView;
use super::scale::{ArmFigures, at_horizon, figures, split_name};
use crate::analysis::trials::answer::Comparison;
use crate::fold::Book;
use crate::fold::batch::{Batch, Milestone};
use crate::model::filter::{Filter, GroupKey};
use crate::model::id::Id;
use crate::text::clean::width;
use crate::text::comparison::{Room, text};
use crate::text::short::short;
use crate::text::verdicts;
use crate::text::verdicts::done;
use crate::tui::canvas::draw_strip;
use crate::tui::canvas::{Canvas, Tone};
use crate::tui::common::Common;
use crate::tui::effect::{Answer, Awaited, GoOn};
use crate::tui::keys::{Command, KeyContext};
use crate::tui::paging::{TextScreen, moved};
use crate::tui::screen::{RecordingSubject, Screen, Turn};
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
            0 | 1 => common.say(
                Tone::Plain,
                "No other arm has a batch like it to compare with.",
            ),
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

/// A batch with the reason why it is left out, if it is.
#[derive(Clone, Debug)]
struct Row {
    key: Id,
    reason: Option<String>,
    batch: Option<Arc<Batch>>,
}

/// The list.
#[derive(Debug)]
pub struct ArmScreen {
    title: String,
    horizon: Option<u32>,
    milestone: Milestone,
    rows: Vec<Row>,
    chosen: usize,
}

impl ArmScreen {
    /// The batches of an arm, as of the horizon.
    #[must_use]
    pub fn arm(it: &Comparison, arm: usize) -> Self {
        let arm = &it.arms[arm];
        let row = |key: &Id| Row {
            key: key.clone(),
            reason: None,
            batch: None,
        };
        let day = it
            .basis
            .day()
            .map_or_else(String::new, |day| format!(", day {day}"));
        Self {
            title: format!("{}{day}", arm.name),
            horizon: it.basis.day(),
            milestone: it.milestone,
            rows: arm.batches.iter().map(row).collect(),
            chosen: 0,
        }
    }

    /// The batches left out.
    #[must_use]
    pub fn left_out(it: &Comparison) -> Self {
        let each = it.left_out.iter();
        let rows = each.map(|left| Row {
            key: left.id.clone(),
            reason: Some(verdicts::left_out(&left.reason)),
            batch: None,
        });
        Self {
            title: "Left out of the comparison".to_owned(),
            horizon: None,
            milestone: it.milestone,
            rows: rows.collect(),
            chosen: 0,
        }
    }

    /// The title takes a line on every screen: the heading's, or on a low one a line of the list's.
    fn page(common: &Common) -> usize {
        let title = usize::from(common.is_low());
        (common.body().saturating_sub(title) / tall(common)).max(1)
    }

    /// How a batch had fared by the horizon: its strip, and how many of it had reached the milestone.
    fn fared(&self, batch: &Batch, (row, from): (usize, usize), canvas: &mut Canvas<'_>) {
        let counts = at_horizon(batch, self.horizon);
        let [_, callused, rooted, bottom] = counts.bench;
        let reached = match self.milestone {
            Milestone::Callus => callused + rooted + bottom + counts.potted,
            Milestone::Root => rooted + bottom + counts.potted,
            Milestone::Bottom => bottom,
        };
        let done = verdicts::done(self.milestone);
        let said = format!("{reached} of {} {done}", counts.stuck);
        let room = canvas.width().saturating_sub(from + width(&said) + 2);
        let room = room.min(60);
        draw_strip(&counts, room, row, from, canvas);
        canvas.text(row, from + room + 2, &said, Tone::Plain);
    }
}

/// Lines to a batch: two where nothing may stand side by side.
fn tall(common: &Common) -> usize {
    if common.size.0 < 72 { 2 } else { 1 }
}

impl Screen for ArmScreen {
    fn context(&self) -> KeyContext {
        KeyContext::List
    }

    fn title(&self, _common: &Common) -> String {
        self.title.clone()
    }

    fn subject(&self, _common: &Common) -> RecordingSubject {
        RecordingSubject {
            batch: self.rows.get(self.chosen).map(|row| row.key.clone()),
            place: None,
        }
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let last = self.rows.len().saturating_sub(1);
        if command == Command::Open {
            return match self.rows.get(self.chosen) {
                Some(row) => Turn::open(crate::tui::batch::BatchScreen::new(row.key.clone())),
                None => Turn::stay(),
            };
        }
        self.chosen = moved(self.chosen, last, Self::page(common), command);
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        for row in &mut self.rows {
            row.batch = common.book.batch(&row.key).cloned();
        }
        Turn::stay()
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let head = usize::from(common.is_low());
        if head > 0 {
            canvas.text(0, 0, &self.title, Tone::Heading);
        }
        let (page, tall) = (Self::page(common), tall(common));
        let first = self.chosen / page * page;
        let shown: Vec<&Row> = self.rows.iter().skip(first).take(page).collect();
        let taxa: Vec<_> = shown
            .iter()
            .filter_map(|row| Some(&*row.batch.as_ref()?.taxon))
            .collect();
        let room = if tall == 1 {
            24
        } else {
            canvas.width().saturating_sub(12)
        };
        let mut names = short(&taxa, room, canvas.ink().glyphs).into_iter();
        for (at, row) in shown.iter().enumerate() {
            let line = head + at * tall;
            let mark = if first + at == self.chosen { ">" } else { " " };
            canvas.text(line, 0, mark, Tone::Heading);
            let Some(batch) = &row.batch else { continue };
            let name = names.next().unwrap_or_default();
            let end = canvas.text(line, 2, &format!("{:<8}", batch.code), Tone::Plain);
            canvas.text(line, end + 1, &name, Tone::Plain);
            let (line, from) = if tall == 1 {
                (line, end + 26)
            } else {
                (line + 1, 4)
            };
            match &row.reason {
                Some(reason) => {
                    canvas.text(line, from, reason, Tone::Plain);
                }
                None => self.fared(batch, (line, from), canvas),
            }
        }
    }
}
