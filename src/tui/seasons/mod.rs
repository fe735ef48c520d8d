//! Seasons: what was stuck in each week of one and how it fared, alone or with the season before, both to
//! the same day of the year. It records nothing.

mod behind;
mod draw;
mod review;

use super::canvas::Tone;
use super::canvas::{Canvas, wrap};
use super::common::Common;
use super::effect::{Answer, Awaited, GoOn};
use super::keys::{Command, KeyContext};
use super::screen::{Screen, Turn};
use crate::fold::Book;
use crate::model::filter::Filter;
use crate::text::choice::NO_BATCH;
use behind::{BehindScreen, stuck_in_week};
use draw::{Glance, glance, same_day, years};
use std::collections::BTreeSet;

/// What is shown.
#[derive(Clone, Debug)]
struct SeasonPair {
    one: Glance,
    other: Option<Glance>,
    /// The seasons before and after it that there are.
    earlier: Option<i32>,
    later: Option<i32>,
}

/// The seasons.
#[derive(Debug, Default)]
pub struct SeasonsScreen {
    /// The season chosen; the latest if none was yet.
    year: Option<i32>,
    beside: bool,
    /// The week chosen, among those shown.
    chosen: usize,
    told: Option<SeasonPair>,
    asked: Awaited,
    /// The filter's season when last asked.
    only: Option<i32>,
}

impl SeasonsScreen {
    /// The weeks in which either season stuck anything.
    fn weeks(&self) -> Vec<u32> {
        let told = self.told.iter();
        let seasons = told.flat_map(|told| [Some(&told.one), told.other.as_ref()]);
        let weeks = seasons
            .flatten()
            .flat_map(|season| season.weeks.keys().copied());
        let weeks: BTreeSet<u32> = weeks.collect();
        weeks.into_iter().collect()
    }

    fn ask(&mut self, common: &Common) -> Turn {
        let (year, beside, today) = (
            self.year.or(common.filter.season),
            self.beside,
            common.today(),
        );
        let mut filter = common.filter.clone();
        filter.season = None;
        let rest = format!("{year:?} {beside} {filter:?}");
        let work = move |book: &Book, _: GoOn<'_>| {
            Some(told(book, &filter, year, beside.then_some(today)))
        };
        Turn::stay().also(common.ask(&mut self.asked, "seasons", rest, work))
    }

    /// Lines that the head takes: the whole of each season, and the filter if there is one.
    fn head(&self, common: &Common) -> Vec<String> {
        let mut out = Vec::new();
        let columns = usize::from(common.size.0);
        let seasons = self
            .told
            .iter()
            .flat_map(|told| [Some(&told.one), told.other.as_ref()]);
        // Two of them on a low screen leave little room for their weeks.
        let brief = common.is_low() && self.is_paired();
        let say = if brief { draw::brief } else { draw::whole };
        out.extend(seasons.flatten().map(|season| say(season, common)));
        // A week of both seasons has room beneath, whatever is said of the whole.
        let most = common.body().saturating_sub(2);
        let lines = out.iter().flat_map(|line| wrap(line, columns));
        lines.take(most).collect()
    }

    /// Weeks that fit on a page.
    fn room(&self, common: &Common) -> usize {
        let lines = common.body().saturating_sub(self.head(common).len());
        let stacked = self.is_paired() && usize::from(common.size.0) < draw::BESIDE;
        (lines / if stacked { 2 } else { 1 }).max(1)
    }

    fn is_paired(&self) -> bool {
        self.told.as_ref().is_some_and(|told| told.other.is_some())
    }

    fn choose(&mut self, at: usize) {
        self.chosen = at.min(self.weeks().len().saturating_sub(1));
    }

    fn turn_to(&mut self, common: &mut Common, year: Option<i32>, none: &str) -> Turn {
        match year {
            Some(year) => {
                self.year = Some(year);
                self.ask(common)
            }
            None => {
                common.say(Tone::Plain, none);
                Turn::stay()
            }
        }
    }
}

/// What the book tells of a season, the latest if none is named; of two, both to that day of the year.
fn told(
    book: &Book,
    filter: &Filter,
    year: Option<i32>,
    to_day: Option<chrono::NaiveDate>,
) -> Option<SeasonPair> {
    let years = years(book, filter);
    let year = year.or(years.last().copied())?;
    let earlier = years.iter().rev().find(|one| **one < year).copied();
    let later = years.iter().find(|one| **one > year).copied();
    let of = |year: i32| {
        let until = to_day.map(|today| same_day(book, year, today));
        glance(book, filter, year, until)
    };
    Some(SeasonPair {
        one: of(year),
        other: earlier.filter(|_| to_day.is_some()).map(of),
        earlier,
        later,
    })
}

impl Screen for SeasonsScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Seasons
    }

    fn title(&self, _common: &Common) -> String {
        match &self.told {
            Some(SeasonPair {
                one,
                other: Some(other),
                ..
            }) => format!("Seasons {} and {}", one.year, other.year),
            Some(told) => format!("Season {}", told.one.year),
            None => "Seasons".to_owned(),
        }
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let page = self.room(common);
        let (earlier, later) = self
            .told
            .as_ref()
            .map_or((None, None), |told| (told.earlier, told.later));
        match command {
            Command::Next => self.choose(self.chosen + 1),
            Command::Previous => self.choose(self.chosen.saturating_sub(1)),
            Command::PageOn => self.choose(self.chosen + page),
            Command::PageBack => self.choose(self.chosen.saturating_sub(page)),
            Command::First => self.choose(0),
            Command::Last => self.choose(usize::MAX),
            Command::Beside if !self.beside && earlier.is_none() => {
                common.say(
                    Tone::Plain,
                    "There is no earlier season to compare it with.",
                );
            }
            Command::Beside => {
                self.beside = !self.beside;
                return self.ask(common);
            }
            Command::Earlier => {
                return self.turn_to(common, earlier, "There is no earlier season.");
            }
            Command::Later => return self.turn_to(common, later, "There is no later season."),
            Command::Open => {
                let week = self.weeks().get(self.chosen).copied();
                if let Some((told, week)) = self.told.as_ref().zip(week) {
                    let seasons = [Some(&told.one), told.other.as_ref()].into_iter();
                    let those = stuck_in_week(common, seasons.flatten(), week);
                    let day = told.one.day_of(week);
                    let title = format!("Stuck from {}", common.calendar().day(day));
                    return Turn::open(BehindScreen::new(title, those));
                }
            }
            Command::Review => {
                if let Some(told) = &self.told {
                    return Turn::open(review::ReviewScreen::new(told.one.year));
                }
            }
            _ => {}
        }
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        if self.only != common.filter.season {
            self.only = common.filter.season;
            self.year = self.only;
        }
        self.ask(common)
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(told) = self.asked.taken::<Option<SeasonPair>>(answer) {
            self.told.clone_from(told);
            self.choose(self.chosen);
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let head = self.head(common);
        for (row, line) in head.iter().enumerate() {
            canvas.text(row, 0, line, Tone::Plain);
        }
        let Some(told) = &self.told else {
            let none = match common.is_narrowed() {
                true => NO_BATCH,
                false => "No batch has been stuck yet.",
            };
            canvas.text(head.len(), 2, none, Tone::Plain);
            return;
        };
        let stacked = told.other.is_some() && canvas.width() < draw::BESIDE;
        let tall = if stacked { 2 } else { 1 };
        let room = self.room(common);
        let first = self.chosen / room * room;
        for (at, number) in self.weeks().into_iter().enumerate().skip(first).take(room) {
            let week = draw::Week {
                number,
                one: &told.one,
                other: told.other.as_ref(),
            };
            let row = head.len() + (at - first) * tall;
            draw::week(&week, row, at == self.chosen, canvas);
        }
    }
}
