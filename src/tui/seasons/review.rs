//! A season in review as a page of text, worked out off the input path. It records nothing and decides nothing.

use super::behind::{BehindScreen, about};
use crate::analysis::review::{Review, ReviewOptions, review, seasons};
use crate::fold::Book;
use crate::model::filter::Filter;
use crate::text::review::{ParaBehind, ParaKind, paras};
use crate::tui::canvas::Tone;
use crate::tui::canvas::{Canvas, wrap};
use crate::tui::common::Common;
use crate::tui::effect::{Answer, Awaited, GoOn};
use crate::tui::keys::{Command, KeyContext};
use crate::tui::screen::{Screen, Turn};

/// What is told, with the seasons before and after it that there are.
#[derive(Clone, Debug)]
struct ReviewPage {
    review: Review,
    earlier: Option<i32>,
    later: Option<i32>,
}

/// A line of the page: what it is, how far it is set in, what it says; in the first of a paragraph, what that is about.
#[derive(Clone, Debug)]
struct ReviewLine {
    kind: ParaKind,
    indent: usize,
    text: String,
    behind: ParaBehind,
}

/// A season in review.
#[derive(Debug)]
pub struct ReviewScreen {
    year: i32,
    /// The first line shown.
    first: usize,
    told: Option<ReviewPage>,
    /// The line chosen: the first of a paragraph that is about batches.
    chosen: Option<usize>,
    /// The page's lines, and the columns that they are worded for, and whether the screen is low.
    lines: Vec<ReviewLine>,
    shape: (usize, bool),
    asked: Awaited,
}

impl ReviewScreen {
    /// Of that season.
    #[must_use]
    pub fn new(year: i32) -> Self {
        Self {
            year,
            first: 0,
            chosen: None,
            told: None,
            lines: Vec::new(),
            shape: (0, false),
            asked: Awaited::default(),
        }
    }

    fn ask(&mut self, common: &Common) -> Turn {
        let (year, today) = (self.year, common.today());
        let filter = Filter {
            season: None,
            ..common.filter.clone()
        };
        let rest = format!("{year} {filter:?}");
        let work = move |book: &Book, go_on: GoOn<'_>| told(book, year, today, &filter, go_on);
        Turn::stay().also(common.ask(&mut self.asked, "review", rest, work))
    }

    /// Words the page at the present width.
    fn word(&mut self, common: &Common) {
        self.shape = shape(common);
        self.lines = self.worded(common);
        self.go(common, self.first);
    }

    fn worded(&self, common: &Common) -> Vec<ReviewLine> {
        let line = |kind, indent, text: String| ReviewLine {
            kind,
            indent,
            text,
            behind: ParaBehind::Nothing,
        };
        let Some(told) = &self.told else {
            let words = format!("Working out the review of {} …", self.year);
            return vec![line(ParaKind::Item, 0, words)];
        };
        let mut out = Vec::new();
        for para in paras(&told.review, common.calendar()) {
            if para.kind == ParaKind::Head && !out.is_empty() && !common.is_low() {
                out.push(line(ParaKind::Item, 0, String::new()));
            }
            // Before a paragraph stands the sign of the chosen one.
            let indent = match para.kind {
                ParaKind::Head => 0,
                ParaKind::Item => 2,
                ParaKind::Detail => 4,
            };
            let room = self.shape.0.saturating_sub(indent + 2).min(WIDEST);
            let begins = out.len();
            for (at, text) in wrap(&para.text, room).into_iter().enumerate() {
                out.push(line(para.kind, indent + if at == 0 { 0 } else { 2 }, text));
            }
            if let Some(first) = out.get_mut(begins) {
                first.behind = para.behind;
            }
        }
        out
    }

    /// Shows the page from that line on, or from as far down as leaves it full; what is chosen stays on it.
    fn go(&mut self, common: &Common, first: usize) {
        let room = common.body();
        self.first = first.min(self.lines.len().saturating_sub(room));
        let shown = self.first..self.first + room;
        if !self
            .chosen
            .is_some_and(|at| shown.contains(&at) && self.is_about_batches(at))
        {
            self.chosen = shown.into_iter().find(|at| self.is_about_batches(*at));
        }
    }

    /// Whether a line begins a paragraph that is about batches.
    fn is_about_batches(&self, line: usize) -> bool {
        let line = self.lines.get(line);
        line.is_some_and(|line| line.behind != ParaBehind::Nothing)
    }

    /// Chooses the next paragraph about batches, or the one before; where none is near, moves on by a line.
    fn choose(&mut self, common: &Common, on: bool) {
        let room = common.body();
        let from = self.chosen.unwrap_or(self.first);
        let near = |at: &usize| self.is_about_batches(*at);
        let found = if on {
            let begins = from + usize::from(self.chosen.is_some());
            (begins..self.lines.len()).find(near)
        } else {
            (0..from).rev().find(near)
        };
        let Some(at) = found.filter(|at| at.abs_diff(from) <= room) else {
            let first = if on {
                self.first + 1
            } else {
                self.first.saturating_sub(1)
            };
            return self.go(common, first);
        };
        self.chosen = Some(at);
        let mut rest = self.lines.iter().enumerate().skip(at + 1);
        let ends = rest.find(|(_, line)| line.indent <= 2 || line.kind == ParaKind::Head);
        let end = ends.map_or(self.lines.len(), |(end, _)| end);
        let first = if at < self.first {
            // With its heading, if that is just above.
            at.saturating_sub(1)
        } else {
            self.first.max(end.saturating_sub(room)).min(at)
        };
        self.go(common, first);
    }

    fn open(&self, common: &Common) -> Turn {
        let line = self.chosen.and_then(|at| self.lines.get(at));
        match line.map(|line| &line.behind) {
            None | Some(ParaBehind::Nothing) => Turn::stay(),
            Some(behind) => {
                let (title, those) = about(common, behind, self.year);
                Turn::open(BehindScreen::new(title, those))
            }
        }
    }

    fn turn_to(&mut self, common: &mut Common, year: Option<i32>, none: &str) -> Turn {
        match year {
            Some(year) => {
                (self.year, self.first, self.told) = (year, 0, None);
                self.chosen = None;
                self.word(common);
                self.ask(common)
            }
            None => {
                common.say(Tone::Plain, none);
                Turn::stay()
            }
        }
    }
}

/// Columns, and whether the screen is low.
fn shape(common: &Common) -> (usize, bool) {
    (usize::from(common.size.0), common.is_low())
}

/// Longer lines are hard to read.
const WIDEST: usize = 100;

/// Arrangements drawn here: fewer than the command's, since somebody waits.
const DRAWS: usize = 1_999;

fn told(
    book: &Book,
    year: i32,
    today: chrono::NaiveDate,
    filter: &Filter,
    go_on: GoOn<'_>,
) -> Option<ReviewPage> {
    let options = ReviewOptions {
        filter: filter.clone(),
        draws: DRAWS,
        ..ReviewOptions::new(year, today)
    };
    let years = seasons(book, filter);
    Some(ReviewPage {
        review: review(book, &options, &mut |_, _| go_on())?,
        earlier: years.iter().rev().find(|one| **one < year).copied(),
        later: years.iter().find(|one| **one > year).copied(),
    })
}

impl Screen for ReviewScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Review
    }

    fn title(&self, common: &Common) -> String {
        let (room, lines) = (common.body(), self.lines.len());
        let pages = lines.div_ceil(room).max(1);
        let page = match self.first + room >= lines {
            true => pages,
            false => self.first / room + 1,
        };
        format!("Season {} in review, {page} of {pages}", self.year)
    }

    fn is_idle(&self, _common: &Common, command: Command) -> bool {
        command == Command::Open && self.chosen.is_none()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let page = common.body();
        let around = self.told.as_ref().map(|told| (told.earlier, told.later));
        let (earlier, later) = around.unwrap_or_default();
        match command {
            Command::Open => return self.open(common),
            Command::Next => self.choose(common, true),
            Command::Previous => self.choose(common, false),
            Command::PageOn => self.go(common, self.first + page),
            Command::PageBack => self.go(common, self.first.saturating_sub(page)),
            Command::First => self.go(common, 0),
            Command::Last => self.go(common, usize::MAX),
            Command::Earlier => {
                return self.turn_to(common, earlier, "There is no earlier season.");
            }
            Command::Later => return self.turn_to(common, later, "There is no later season."),
            _ => {}
        }
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        if self.shape == shape(common) {
            self.go(common, self.first);
        } else {
            self.word(common);
        }
        self.ask(common)
    }

    fn answered(&mut self, common: &Common, answer: &Answer) {
        if let Some(told) = self.asked.taken::<ReviewPage>(answer) {
            self.told = Some(told.clone());
            self.word(common);
        }
    }

    fn draw(&self, _common: &Common, canvas: &mut Canvas<'_>) {
        let shown = self.lines.iter().enumerate().skip(self.first);
        for (row, (at, line)) in shown.take(canvas.height()).enumerate() {
            let meaning = match line.kind {
                ParaKind::Head => Tone::Heading,
                ParaKind::Item | ParaKind::Detail => Tone::Plain,
            };
            if self.chosen == Some(at) {
                canvas.text(row, 0, ">", Tone::Heading);
            }
            canvas.text(row, line.indent, &line.text, meaning);
        }
    }
}
