//! A season in review as a page of text, worked out off the input path. It records nothing and decides nothing.

use crate::analysis::review::{Review, ReviewOptions, review, seasons};
use crate::fold::Book;
use crate::model::filter::Filter;
use crate::text::review::{ParaKind, paras};
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

/// A season in review.
#[derive(Debug)]
pub struct ReviewScreen {
    year: i32,
    /// The first line shown.
    first: usize,
    told: Option<ReviewPage>,
    /// The page's lines: what they are, how far set in, what they say; and the columns that they are worded for, and
    /// whether the screen is low.
    lines: Vec<(ParaKind, usize, String)>,
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

    fn worded(&self, common: &Common) -> Vec<(ParaKind, usize, String)> {
        let Some(told) = &self.told else {
            let words = format!("Working out the review of {} …", self.year);
            return vec![(ParaKind::Item, 0, words)];
        };
        let mut out = Vec::new();
        for para in paras(&told.review, common.calendar()) {
            if para.kind == ParaKind::Head && !out.is_empty() && !common.is_low() {
                out.push((ParaKind::Item, 0, String::new()));
            }
            let indent = match para.kind {
                ParaKind::Head | ParaKind::Item => 0,
                ParaKind::Detail => 2,
            };
            let room = self.shape.0.saturating_sub(indent + 2).min(WIDEST);
            for (at, line) in wrap(&para.text, room).into_iter().enumerate() {
                out.push((para.kind, indent + if at == 0 { 0 } else { 2 }, line));
            }
        }
        out
    }

    fn go(&mut self, common: &Common, first: usize) {
        let last = self.lines.len().saturating_sub(common.body());
        self.first = first.min(last);
    }

    fn turn_to(&mut self, common: &mut Common, year: Option<i32>, none: &str) -> Turn {
        match year {
            Some(year) => {
                (self.year, self.first, self.told) = (year, 0, None);
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
        command == Command::Open
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let page = common.body();
        let around = self.told.as_ref().map(|told| (told.earlier, told.later));
        let (earlier, later) = around.unwrap_or_default();
        match command {
            Command::Next => self.go(common, self.first + 1),
            Command::Previous => self.go(common, self.first.saturating_sub(1)),
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
        let shown = self.lines.iter().skip(self.first).take(canvas.height());
        for (row, (level, indent, line)) in shown.enumerate() {
            let meaning = match level {
                ParaKind::Head => Tone::Heading,
                ParaKind::Item | ParaKind::Detail => Tone::Plain,
            };
            canvas.text(row, *indent, line, meaning);
        }
    }
}
