//! A season in review as a page of text, worked out off the input path. It records nothing and decides nothing.

use crate::book::Book;
use crate::book::filter::Filter;
use crate::book::review::{Options, Review, review, seasons};
use crate::screens::canvas::{Canvas, wrap};
use crate::screens::common::Common;
use crate::screens::effect::Effect;
use crate::screens::ink::Meaning;
use crate::screens::keys::{Command, Context};
use crate::screens::only;
use crate::screens::question::{Answer, Question};
use crate::screens::screen::{Screen, Turn};
use crate::words::review::{Level, paras};
use std::sync::Arc;

/// What is told, with the seasons before and after it that there are.
#[derive(Clone, Debug)]
struct Told {
    review: Review,
    earlier: Option<i32>,
    later: Option<i32>,
}

/// A season in review.
#[derive(Debug)]
pub struct InReview {
    year: i32,
    /// The first line shown.
    first: usize,
    told: Option<Told>,
    /// All that what is told depends on.
    key: String,
    book: Option<Arc<Book>>,
    filter: Filter,
}

impl InReview {
    /// Of that season.
    #[must_use]
    pub fn new(year: i32) -> Self {
        Self {
            year,
            first: 0,
            told: None,
            key: String::new(),
            book: None,
            filter: Filter::default(),
        }
    }

    fn ask(&mut self, common: &Common) -> Turn {
        let (year, today) = (self.year, common.today());
        let filter = Filter {
            season: None,
            ..common.filter.clone()
        };
        let lines = common.book.sums().lines;
        self.key = format!("review {year} {today} {filter:?} {lines}");
        self.book = Some(Arc::clone(&common.book));
        self.filter = common.filter.clone();
        let work = move |book: &Book| told(book, year, today, &filter);
        Turn::effect(Effect::Ask(Question::new(
            self.key.clone(),
            &common.book,
            work,
        )))
    }

    /// The page's lines at the present width: what they are, how far set in, what they say.
    fn lines(&self, common: &Common) -> Vec<(Level, usize, String)> {
        let columns = usize::from(common.size.0);
        let mut out = Vec::new();
        let filter = Filter {
            season: None,
            ..common.filter.clone()
        };
        if filter != Filter::default() {
            let only = format!("Only {}.", only::words(&filter));
            out.extend(
                wrap(&only, columns)
                    .into_iter()
                    .map(|l| (Level::Item, 0, l)),
            );
        }
        let Some(told) = &self.told else {
            let words = format!("Working out the review of {} …", self.year);
            out.push((Level::Item, 0, words));
            return out;
        };
        for para in paras(&told.review, common.calendar()) {
            if para.level == Level::Head && !out.is_empty() && !common.is_low() {
                out.push((Level::Item, 0, String::new()));
            }
            let indent = match para.level {
                Level::Head | Level::Item => 0,
                Level::Detail => 2,
            };
            let room = columns.saturating_sub(indent + 2).min(WIDEST);
            for (at, line) in wrap(&para.text, room).into_iter().enumerate() {
                out.push((para.level, indent + if at == 0 { 0 } else { 2 }, line));
            }
        }
        out
    }

    fn room(common: &Common) -> usize {
        let frame = if common.is_low() { 1 } else { 2 };
        usize::from(common.size.1).saturating_sub(frame).max(1)
    }

    fn go(&mut self, common: &Common, first: usize) {
        let last = self.lines(common).len().saturating_sub(Self::room(common));
        self.first = first.min(last);
    }

    fn turn_to(&mut self, common: &mut Common, year: Option<i32>, none: &str) -> Turn {
        match year {
            Some(year) => {
                (self.year, self.first, self.told) = (year, 0, None);
                self.ask(common)
            }
            None => {
                common.say(Meaning::Plain, none);
                Turn::stay()
            }
        }
    }
}

/// Longer lines are hard to read.
const WIDEST: usize = 100;

/// Arrangements drawn here: fewer than the command's, since somebody waits.
const DRAWS: usize = 1_999;

fn told(book: &Book, year: i32, today: chrono::NaiveDate, filter: &Filter) -> Option<Told> {
    let options = Options {
        filter: filter.clone(),
        draws: DRAWS,
        ..Options::of(year, today)
    };
    let years = seasons(book, filter);
    Some(Told {
        review: review(book, &options, &mut |_, _| true)?,
        earlier: years.iter().rev().find(|one| **one < year).copied(),
        later: years.iter().find(|one| **one > year).copied(),
    })
}

impl Screen for InReview {
    fn context(&self) -> Context {
        Context::Review
    }

    fn title(&self, common: &Common) -> String {
        let (room, lines) = (Self::room(common), self.lines(common).len());
        let pages = lines.div_ceil(room).max(1);
        let page = match self.first + room >= lines {
            true => pages,
            false => self.first / room + 1,
        };
        format!("Season {} in review, {page} of {pages}", self.year)
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let page = Self::room(common);
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
        self.go(common, self.first);
        let asked_of = self.book.as_ref();
        let same = asked_of.is_some_and(|book| Arc::ptr_eq(book, &common.book));
        if same && self.filter == common.filter {
            return Turn::stay();
        }
        self.ask(common)
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(told) = answer.to::<Option<Told>>(&self.key) {
            self.told.clone_from(told);
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let lines = self.lines(common);
        let shown = lines.iter().skip(self.first).take(canvas.height());
        for (row, (level, indent, line)) in shown.enumerate() {
            let meaning = match level {
                Level::Head => Meaning::Heading,
                Level::Item | Level::Detail => Meaning::Plain,
            };
            canvas.text(row, *indent, line, meaning);
        }
    }
}
