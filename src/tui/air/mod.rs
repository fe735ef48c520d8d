//! The air of the places over the last four weeks: each day against its band, what was changed, what was lost
//! there beneath. It computes nothing itself and records nothing; `c` notes the climate of the place chosen.

mod draw;
pub mod history;

use super::canvas::Canvas;
use super::canvas::Tone;
use super::common::Common;
use super::effect::{Answer, Awaited, GoOn};
use super::keys::{Command, KeyContext};
use super::screen::{RecordingSubject, Screen, StackStep, Turn};
use crate::fold::Book;
use crate::model::text::split_spot;
use chrono::{Days, NaiveDate};
use history::{AirHistory, SPAN, air_history};

/// The air.
#[derive(Debug, Default)]
pub struct AirScreen {
    /// The place chosen, among those shown.
    chosen: usize,
    /// The place to choose once the places are known.
    wanted: Option<String>,
    /// The last day shown, if not today.
    until: Option<NaiveDate>,
    told: Option<AirHistory>,
    asked: Awaited,
}

impl AirScreen {
    /// With the place of that name chosen, its spot aside, once it is told.
    #[must_use]
    pub fn at(place: Option<String>) -> Self {
        Self {
            wanted: place,
            ..Self::default()
        }
    }

    fn ask(&mut self, common: &Common) -> Turn {
        let to = self.until.unwrap_or_else(|| common.today());
        let work = move |book: &Book, _: GoOn<'_>| Some(air_history(book, to));
        Turn::stay().also(common.ask(&mut self.asked, "air", to, work))
    }

    fn choose(&mut self, at: usize) {
        let count = self.told.as_ref().map_or(0, |told| told.places.len());
        self.chosen = at.min(count.saturating_sub(1));
    }

    /// Four weeks on or back; today ends it.
    fn turn_to(&mut self, common: &mut Common, on: bool) -> Turn {
        let today = common.today();
        let shown = self.until.unwrap_or(today);
        let step = Days::new(u64::from(SPAN));
        if on && shown >= today {
            common.say(Tone::Plain, "There are no later days.");
            return Turn::stay();
        }
        let next = if on {
            shown.checked_add_days(step)
        } else {
            shown.checked_sub_days(step)
        };
        self.until = next.filter(|day| *day < today);
        self.ask(common)
    }
}

impl Screen for AirScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Air
    }

    fn title(&self, common: &Common) -> String {
        let to = self.until.unwrap_or_else(|| common.today());
        let from = to - Days::new(u64::from(SPAN) - 1);
        let calendar = common.calendar();
        format!(
            "Air, {} to {}",
            calendar.day(from),
            crate::text::dates::day_month(to)
        )
    }

    fn subject(&self, _common: &Common) -> RecordingSubject {
        let place = self
            .told
            .as_ref()
            .and_then(|told| told.places.get(self.chosen));
        RecordingSubject {
            batch: None,
            place: place.map(|place| place.name.clone()),
        }
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        match command {
            Command::Next | Command::PageOn => self.choose(self.chosen + 1),
            Command::Previous | Command::PageBack => self.choose(self.chosen.saturating_sub(1)),
            Command::First => self.choose(0),
            Command::Last => self.choose(usize::MAX),
            Command::Earlier => return self.turn_to(common, false),
            Command::Later => return self.turn_to(common, true),
            Command::Open => return Turn::step(StackStep::Do(Command::Climate)),
            _ => {}
        }
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        self.ask(common)
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(told) = self.asked.taken::<AirHistory>(answer) {
            self.told = Some(told.clone());
            let named = self.wanted.take().and_then(|name| {
                let name = split_spot(&name).0.to_lowercase();
                let mut places = told.places.iter();
                places.position(|place| place.name.to_lowercase() == name)
            });
            self.choose(named.unwrap_or(self.chosen));
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        match &self.told {
            None => {
                canvas.text(0, 2, "Working it out.", Tone::Plain);
            }
            Some(told) if told.places.is_empty() => {
                let line = "No place has a batch or a reading in these days. Once you stick a batch at a place, or note its climate, its air is shown here.";
                canvas.wrapped(0, 2, line, Tone::Plain);
            }
            Some(told) => draw::air(told, self.chosen, common, canvas),
        }
    }
}
