//! The batches behind a week or a line of a season, each with its losses beside the dry, wet and hot days that it stood
//! through. It records nothing; the air is worked out off the input path.

use super::draw::Glance;
use crate::analysis::air::lived::{PlaceAirs, base_of};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::past::last_day;
use crate::model::id::Id;
use crate::text::bench::causes;
use crate::text::clean::width;
use crate::text::review::ParaBehind;
use crate::text::short::short;
use crate::tui::canvas::{Canvas, Tone, draw_strip};
use crate::tui::common::Common;
use crate::tui::effect::{Answer, Awaited, GoOn};
use crate::tui::keys::{Command, KeyContext};
use crate::tui::paging::moved;
use crate::tui::screen::{RecordingSubject, Screen, Turn};
use std::collections::HashMap;
use std::sync::Arc;

/// The batches stuck in a week of one season or two, of those that are meant.
pub fn stuck_in_week<'a>(
    common: &Common,
    seasons: impl Iterator<Item = &'a Glance>,
    week: u32,
) -> Vec<Id> {
    let book = &common.book;
    let mut out = Vec::new();
    for season in seasons {
        let (from, to) = (season.day_of(week), season.day_of(week + 1));
        let stuck = |batch: &&Arc<Batch>| {
            (from..to).contains(&batch.stuck_on)
                && book.season(batch.stuck_on) == season.year
                && is_meant(common, batch)
        };
        out.extend(
            book.batches()
                .iter()
                .filter(stuck)
                .map(|batch| batch.key.clone()),
        );
    }
    out
}

/// Whether a batch is of those that every screen is narrowed to, its season left aside.
fn is_meant(common: &Common, batch: &Batch) -> bool {
    let mut filter = common.filter.clone();
    filter.season = None;
    filter.admits(&common.book, batch)
}

/// What a paragraph of a season's review is about: a title, and the batches.
pub fn about(common: &Common, behind: &ParaBehind, year: i32) -> (String, Vec<Id>) {
    let book = &common.book;
    let of_season = |batch: &Batch| book.season(batch.stuck_on) == year;
    let title = match behind {
        ParaBehind::Kind(taxon, wood) => match wood {
            Some(wood) => format!("{taxon}, {}, {year}", wood.word()),
            None => format!("{taxon}, {year}"),
        },
        ParaBehind::Wanted(taxon, ..) => format!("For the {taxon} wanted"),
        ParaBehind::Season | ParaBehind::Nothing => format!("Stuck in {year}"),
        ParaBehind::These(_) => "Batches compared".to_owned(),
    };
    let is_behind = |batch: &&Arc<Batch>| match behind {
        ParaBehind::Nothing => false,
        ParaBehind::Season => of_season(batch) && is_meant(common, batch),
        ParaBehind::Kind(taxon, wood) => {
            of_season(batch)
                && is_meant(common, batch)
                && batch.taxon.shown() == *taxon
                && batch.stick.wood == *wood
        }
        ParaBehind::Wanted(taxon, wood, by) => {
            let is_in_hand = of_season(batch) || batch.is_open() || batch.counts.ready > 0;
            is_in_hand
                && batch.stuck_on <= *by
                && batch.taxon.shown() == *taxon
                && wood.is_none_or(|wood| batch.stick.wood == Some(wood))
        }
        ParaBehind::These(those) => those.contains(&batch.key),
    };
    let those = book.batches().iter().filter(is_behind);
    (title, those.map(|batch| batch.key.clone()).collect())
}

/// Days of a batch's stay by its air, in the order of the senses: drying, easy, wet, hot; and all of them.
#[derive(Clone, Copy, Debug)]
struct AirOfStay {
    senses: [u32; 4],
    days: u32,
}

impl AirOfStay {
    fn said(self) -> String {
        let [drying, easy, wet, hot] = self.senses;
        match drying + easy + wet + hot {
            0 => "its air was not read".to_owned(),
            read => {
                let unread = self.days.saturating_sub(read);
                format!("dry {drying}, wet {wet}, hot {hot}; {unread} unread")
            }
        }
    }
}

/// The list.
#[derive(Debug)]
pub struct BehindScreen {
    title: String,
    keys: Vec<Id>,
    batches: Vec<Arc<Batch>>,
    chosen: usize,
    airs: HashMap<Id, AirOfStay>,
    asked: Awaited,
}

impl BehindScreen {
    /// Of these batches.
    pub fn new(title: String, keys: Vec<Id>) -> Self {
        Self {
            title,
            keys,
            batches: Vec::new(),
            chosen: 0,
            airs: HashMap::new(),
            asked: Awaited::default(),
        }
    }

    fn page(common: &Common) -> usize {
        let title = usize::from(common.is_low());
        (common.body().saturating_sub(title) / tall(common)).max(1)
    }
}

/// Lines to a batch.
fn tall(common: &Common) -> usize {
    if common.size.0 < 72 { 4 } else { 2 }
}

fn airs(
    book: &Book,
    keys: &[Id],
    today: chrono::NaiveDate,
    go_on: GoOn<'_>,
) -> Option<HashMap<Id, AirOfStay>> {
    let mut places = PlaceAirs::new(book);
    let mut out = HashMap::new();
    for batch in keys.iter().filter_map(|key| book.batch(key)) {
        if !go_on() {
            return None;
        }
        let lived = places.lived(batch, last_day(batch, today), base_of(book, batch, None));
        let air = AirOfStay {
            senses: lived.senses,
            days: lived.days,
        };
        out.insert(batch.key.clone(), air);
    }
    Some(out)
}

impl Screen for BehindScreen {
    fn context(&self) -> KeyContext {
        KeyContext::List
    }

    fn title(&self, _common: &Common) -> String {
        self.title.clone()
    }

    fn subject(&self, _common: &Common) -> RecordingSubject {
        RecordingSubject {
            batch: self.batches.get(self.chosen).map(|it| it.key.clone()),
            place: None,
        }
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        if command == Command::Open {
            return match self.batches.get(self.chosen) {
                Some(it) => Turn::open(crate::tui::batch::BatchScreen::new(it.key.clone())),
                None => Turn::stay(),
            };
        }
        let last = self.batches.len().saturating_sub(1);
        self.chosen = moved(self.chosen, last, Self::page(common), command);
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        let found = self.keys.iter().filter_map(|key| common.book.batch(key));
        self.batches = found.cloned().collect();
        self.chosen = self.chosen.min(self.batches.len().saturating_sub(1));
        let (keys, today) = (self.keys.clone(), common.today());
        let rest = format!("{keys:?} {today}");
        let work = move |book: &Book, go_on: GoOn<'_>| airs(book, &keys, today, go_on);
        Turn::stay().also(common.ask(&mut self.asked, "behind", rest, work))
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(airs) = self.asked.taken::<HashMap<Id, AirOfStay>>(answer) {
            self.airs.clone_from(airs);
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let head = usize::from(common.is_low());
        if head > 0 {
            canvas.text(0, 0, &self.title, Tone::Heading);
        }
        if self.batches.is_empty() {
            canvas.text(
                head,
                2,
                "None of these batches is there any more.",
                Tone::Plain,
            );
            return;
        }
        let (page, tall) = (Self::page(common), tall(common));
        let first = self.chosen / page * page;
        let shown: Vec<&Arc<Batch>> = self.batches.iter().skip(first).take(page).collect();
        let taxa: Vec<_> = shown.iter().map(|batch| &*batch.taxon).collect();
        let code = shown.iter().map(|batch| width(&batch.code)).max();
        let name = 2 + code.unwrap_or_default() + 1;
        let room = match tall {
            4 => canvas.width().saturating_sub(name),
            _ => canvas.width() / 2 - name.min(canvas.width() / 2),
        };
        let names = short(&taxa, room, canvas.ink().glyphs);
        for (at, batch) in shown.iter().enumerate() {
            let row = head + at * tall;
            let mark = if first + at == self.chosen { ">" } else { " " };
            canvas.text(row, 0, mark, Tone::Heading);
            canvas.text(row, 2, &batch.code, Tone::Plain);
            canvas.text(row, name, &names[at], Tone::Plain);
            let (strip_row, from) = if tall == 4 {
                (row + 1, 4)
            } else {
                (row, name + room + 1)
            };
            let wide = canvas.width().saturating_sub(from).min(60);
            draw_strip(&batch.counts, wide, strip_row, from, canvas);
            let (air, lost) = self.fate(batch);
            if tall == 4 {
                canvas.text(row + 2, 4, &air, Tone::Plain);
                canvas.text(row + 3, 4, &lost, Tone::Plain);
            } else {
                canvas.text(row + 1, 4, &format!("{air}; {lost}"), Tone::Plain);
            }
        }
    }
}

impl BehindScreen {
    /// The air that it stood in, while it is known, and what was lost.
    fn fate(&self, batch: &Batch) -> (String, String) {
        let lost = match causes(&batch.counts.lost) {
            none if none.is_empty() => "none lost".to_owned(),
            causes => format!("lost {causes}"),
        };
        let air = self.airs.get(&batch.key).copied();
        (
            air.map_or_else(|| "its air is looked up".into(), AirOfStay::said),
            lost,
        )
    }
}
