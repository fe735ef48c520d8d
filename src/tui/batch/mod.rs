//! A batch's life: the band over its days, its place beside others of its kind, its entries one by
//! one. It computes no figure while drawing and writes nothing itself.

pub mod draw;
pub mod history;

use crate::analysis::due::{Urgency, due};
use crate::analysis::expect::Model;
use crate::analysis::expect::beside_usual;
use crate::fold::Book;
use crate::fold::batch::{Batch, Event};
use crate::input::bench_line::{line_of, line_without_when};
use crate::model::entry::{Entry, Look};
use crate::model::id::Id;
use crate::text::clean::Charset;
use crate::text::dates::Calendar;
use crate::text::due::why;
use crate::text::forecast;
use crate::tui::canvas::Tone;
use crate::tui::canvas::{Canvas, wrap};
use crate::tui::common::Common;
use crate::tui::effect::{Answer, Awaited, GoOn};
use crate::tui::keys::{Command, KeyContext};
use crate::tui::pad::PadScreen;
use crate::tui::paging::TextScreen;
use crate::tui::record::{AmendScreen, RightTrayScreen};
use crate::tui::screen::{RecordingSubject, Screen, Turn};
use draw::{BatchFigures, BatchView, EntryRow};
use history::BatchOutlook;

/// The screen of one batch.
#[derive(Debug)]
pub struct BatchScreen {
    key: Id,
    view: BatchView,
    /// What the rows were made of: the edition, who is entering.
    made_of: Option<(u64, String)>,
    asked: Awaited,
    asked_ahead: Awaited,
}

impl BatchScreen {
    /// Of the batch of that key.
    #[must_use]
    pub fn new(key: Id) -> Self {
        Self {
            key,
            view: BatchView {
                chosen: usize::MAX,
                ..BatchView::default()
            },
            made_of: None,
            asked: Awaited::default(),
            asked_ahead: Awaited::default(),
        }
    }

    /// Asks for the figures, unless they are asked for already of this very book.
    fn ask(&mut self, common: &Common) -> Turn {
        let (batch, today, model) = (self.key.clone(), common.today(), common.model());
        let calendar = common.calendar();
        let work = move |book: &Book, _: GoOn<'_>| {
            let held = book.batch(&batch)?;
            let last = if held.is_open() {
                today
            } else {
                held.last_day()
            };
            Some(BatchFigures {
                air: history::air(book, held, last),
                usual: {
                    let beside = forecast::beside_usual(&beside_usual(&model(book), held));
                    match wrong(book, &model(book), &batch, calendar) {
                        Some(wrong) => format!("{wrong} {beside}"),
                        None => beside,
                    }
                },
            })
        };
        let figures = common.ask(&mut self.asked, "batch", &self.key, work);
        // What is to come takes longer: the other figures do not wait for it.
        let (batch, calendar, model) = (self.key.clone(), common.calendar(), common.model());
        let work = move |book: &Book, _: GoOn<'_>| {
            let held = book.batch(&batch)?;
            Some(history::outlook(held, &|| model(book), calendar))
        };
        let ahead = common.ask(&mut self.asked_ahead, "ahead", &self.key, work);
        Turn::stay().also(figures).also(ahead)
    }

    /// All that its figures say, in lines that are not cut: what is wrong with it and what to do, how it stands beside
    /// its like, what is to come.
    fn in_full(&self, common: &Common) -> Turn {
        let figures = self.view.figures.iter().map(|it| it.usual.clone());
        let ahead = self.view.ahead.iter().flat_map(|it| it.at_length.clone());
        let said: Vec<String> = ahead.chain(figures).collect();
        if said.is_empty() {
            return Turn::stay();
        }
        let lines = move |columns: usize, _: Charset| {
            said.iter().flat_map(|line| wrap(line, columns)).collect()
        };
        Turn::open(TextScreen::new(self.view.title(common), lines))
    }

    /// The chosen entry as a line to be changed.
    fn amend(&self, common: &Common) -> Turn {
        let row = self.view.rows.get(self.view.chosen);
        match row.and_then(|row| common.book.entry(&row.id)) {
            Some(standing) => Turn::open(AmendScreen::open(standing.entry.whole(), common)),
            None => Turn::stay(),
        }
    }

    /// The chosen entry to be put to another batch.
    fn right_tray(&self, common: &mut Common) -> Turn {
        let row = self.view.rows.get(self.view.chosen);
        let standing = row.and_then(|row| common.book.entry(&row.id));
        let opened = standing.map(|it| RightTrayScreen::open(&it.entry, common));
        match opened {
            Some(Ok(screen)) => return Turn::open(screen),
            Some(Err(why)) => common.say(Tone::Plain, why),
            None => {}
        }
        Turn::stay()
    }

    /// Asks to withdraw the chosen entry.
    fn withdraw(&self, common: &mut Common) -> Turn {
        if let Some(row) = self.view.rows.get(self.view.chosen) {
            common.confirm_withdrawal(row.id.clone(), &row.said);
        }
        Turn::stay()
    }
}

/// Why the batch is failing or late, as a sentence; nothing if it is neither.
fn wrong(book: &Book, model: &Model, key: &Id, calendar: Calendar) -> Option<String> {
    let list = due(book, calendar.today, Some(model));
    let item = list.items.iter().find(|item| item.key == *key)?;
    let word = match item.press {
        Urgency::Failing => "Failing",
        Urgency::Late => "Late",
        Urgency::Due | Urgency::Waiting => return None,
    };
    Some(format!("{word}: {}.", why(item.reason()?, calendar)))
}

/// The batch's entries, the first first.
fn rows(batch: &Batch, common: &Common) -> Vec<EntryRow> {
    let calendar = common.calendar();
    let row = |event: &Event| EntryRow {
        id: event.entry.id.clone(),
        age: event.age,
        day: calendar.day(event.entry.at.day()),
        said: said(event, batch, common),
        look: event.entry.is::<Look>(),
    };
    let mut rows: Vec<EntryRow> = batch.events.iter().map(row).collect();
    let last = if batch.is_open() {
        common.today()
    } else {
        batch.last_day()
    };
    for entry in history::place_entries(&common.book, batch, last) {
        let age = (entry.at.day() - batch.stuck_on).num_days().max(0) as u32;
        let by = entry.by().filter(|by| *by != common.by);
        let by = by.map_or_else(String::new, |by| format!(" [{by}]"));
        let row = EntryRow {
            id: entry.id.clone(),
            age,
            day: calendar.day(entry.at.day()),
            said: format!(
                "{}{by}",
                line_without_when(&entry.whole(), &common.vocabulary)
            ),
            look: false,
        };
        let at = rows.partition_point(|held| held.age <= age);
        rows.insert(at, row);
    }
    rows
}

/// An entry as a bench line without what stands beside it: the batch, the day, who.
fn said(event: &Event, batch: &Batch, common: &Common) -> String {
    let entry = Entry {
        by: None,
        ..event.entry.whole()
    };
    let line = line_of(&entry, &common.vocabulary);
    let when = format!(", on {}", entry.at);
    let line = line.strip_suffix(&when).unwrap_or(&line);
    // The code stands in the heading.
    let bare = line.replacen(&format!(" {}", batch.code), "", 1);
    let by = event.entry.by().filter(|by| *by != common.by);
    let by = by.map_or_else(String::new, |by| format!(" [{by}]"));
    let amended = if event.amended { "amended: " } else { "" };
    format!("{amended}{bare}{by}")
}

impl Screen for BatchScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Batch
    }

    fn title(&self, common: &Common) -> String {
        self.view.title(common)
    }

    fn subject(&self, _common: &Common) -> RecordingSubject {
        RecordingSubject {
            batch: Some(self.key.clone()),
            place: self
                .view
                .held
                .as_ref()
                .and_then(|batch| batch.place.clone()),
        }
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let last = self.view.rows.len().saturating_sub(1);
        let page = draw::page(common, self.view.rows.len()).max(1);
        self.view.chosen = match command {
            Command::Next => self.view.chosen.saturating_add(1).min(last),
            Command::Previous => self.view.chosen.saturating_sub(1),
            Command::First => 0,
            Command::Last => last,
            Command::PageOn => ((self.view.chosen / page + 1) * page).min(last),
            Command::PageBack => (self.view.chosen / page).saturating_sub(1) * page,
            Command::Open | Command::Amend => return self.amend(common),
            Command::Withdraw => return self.withdraw(common),
            Command::RightTray => return self.right_tray(common),
            Command::Inside => return self.in_full(common),
            Command::Look => return Turn::open(PadScreen::new(self.key.clone())),
            _ => self.view.chosen,
        };
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        let made_of = Some((common.edition, common.by.clone()));
        if self.made_of == made_of {
            return Turn::stay();
        }
        self.made_of = made_of;
        self.view.held = common.book.batch(&self.key).cloned();
        match &self.view.held {
            Some(batch) => {
                self.view.rows = rows(batch, common);
                self.view.steps = history::steps(batch);
            }
            None => self.view.rows.clear(),
        }
        self.view.chosen = self.view.chosen.min(self.view.rows.len().saturating_sub(1));
        self.ask(common)
    }

    fn choose(&mut self, _common: &Common, batch: &Id) -> bool {
        self.key == *batch
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(figures) = self.asked.taken::<BatchFigures>(answer) {
            self.view.figures = Some(figures.clone());
        }
        if let Some(ahead) = self.asked_ahead.taken::<BatchOutlook>(answer) {
            self.view.ahead = Some(ahead.clone());
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        if self.view.held.is_none() {
            let gone = "This batch was withdrawn: it counts no longer.";
            canvas.text(0, 0, gone, Tone::Plain);
            return;
        }
        draw::batch(&self.view, common, canvas);
    }
}
