//! The journal's own pages: every entry newest first, what was withdrawn or amended visibly so, and what is
//! wrong with any line. It hides nothing and rewrites nothing.

pub mod feed;
mod said;

use super::canvas::Tone;
use super::canvas::{Canvas, wrap};
use super::common::Common;
use super::effect::Effect;
use super::effect::{Answer, Awaited, GoOn};
use super::field::TextField;
use super::keys::KeyPress;
use super::keys::{Command, KeyContext};
use super::record::{AmendScreen, RightTrayScreen};
use super::screen::{RecordingSubject, Screen, Turn};
use crate::fold::Book;
use crate::fold::settle::Standing;
use crate::model::fault::Fault;
use crate::model::filter::Filter;
use crate::tui::paging::TextScreen;
use feed::{JournalRow, Seek, WindowFrom, batch_about, window};
use std::sync::Arc;

/// A line of the list.
#[derive(Clone, Debug, PartialEq)]
enum JournalLine {
    Fault(Fault),
    Row(JournalRow),
}

/// The pages.
#[derive(Debug, Default)]
pub struct JournalScreen {
    book: Option<Arc<Book>>,
    filter: Filter,
    lines: Vec<JournalLine>,
    /// Whether the newest entry is among the lines.
    newest: bool,
    chosen: usize,
    field: TextField,
    typing: bool,
    /// The question whose answer is awaited, and the window that it is for.
    asked: Option<(Awaited, WindowFrom)>,
    /// The words of the lines on the page shown, and the first one's number.
    shown: (usize, Vec<String>),
}

impl JournalScreen {
    /// The pages with what holds these words alone.
    #[must_use]
    pub fn seeking(words: &str) -> Self {
        Self {
            field: TextField::new(words),
            ..Self::default()
        }
    }

    fn seek(&self, common: &Common) -> Seek {
        Seek::new(self.field.text(), &common.filter)
    }

    /// Takes a window of the journal: at once, or off the input path if it must be searched for.
    fn load(&mut self, common: &Common, from: WindowFrom) -> Turn {
        let seek = self.seek(common);
        if seek.is_empty() {
            let rows = window(&common.book, from, &seek);
            self.fill(common, from, rows);
            return Turn::stay();
        }
        let mut awaited = Awaited::default();
        let rest = format!("{from:?} {seek:?}");
        let work = move |book: &Book, _: GoOn<'_>| Some(window(book, from, &seek));
        let effect = common.ask(&mut awaited, "pages", rest, work);
        self.asked = Some((awaited, from));
        Turn::stay().also(effect)
    }

    /// Shows a window, on the line that was chosen or the nearest to where one came from.
    fn fill(&mut self, common: &Common, from: WindowFrom, rows: Vec<JournalRow>) {
        self.asked = None;
        if rows.is_empty() && matches!(from, WindowFrom::Until(_) | WindowFrom::Since(_)) {
            return;
        }
        let chosen = self.lines.get(self.chosen).cloned();
        self.newest = from == WindowFrom::Newest;
        let mut lines = Vec::new();
        if self.newest {
            let seek = self.seek(common);
            // What is wrong is shown whatever the filter.
            let meant = wrong(common).into_iter();
            let meant = meant.filter(|fault| seek.takes_text(&said::fault(fault)));
            lines.extend(meant.map(JournalLine::Fault));
        }
        lines.extend(rows.into_iter().map(JournalLine::Row));
        let last = lines.len().saturating_sub(1);
        let held = chosen.and_then(|chosen| lines.iter().position(|line| *line == chosen));
        self.chosen = held.unwrap_or(match from {
            WindowFrom::Newest | WindowFrom::Until(_) => 0,
            WindowFrom::Since(_) | WindowFrom::Oldest => last,
        });
        self.lines = lines;
        self.shown.1.clear();
    }

    /// Goes so many lines on or back, over the window's edge if need be.
    fn go(&mut self, common: &Common, by: isize) -> Turn {
        let last = self.lines.len().saturating_sub(1);
        let row = |at: usize| match self.lines.get(at) {
            Some(JournalLine::Row(row)) => Some(row.at().day()),
            _ => None,
        };
        if by > 0 && self.chosen == last {
            let before = row(last).and_then(|day| day.pred_opt());
            return before.map_or_else(Turn::stay, |day| self.load(common, WindowFrom::Until(day)));
        }
        if by < 0 && self.chosen == 0 && !self.newest {
            let after = row(0).and_then(|day| day.succ_opt());
            let turn = after.map(|day| self.load(common, WindowFrom::Since(day)));
            // Nothing newer: the newest window, with what is wrong on top.
            return match turn {
                Some(turn) if self.chosen > 0 || self.asked.is_some() => turn,
                _ => self.load(common, WindowFrom::Newest),
            };
        }
        self.chosen = self.chosen.saturating_add_signed(by).min(last);
        Turn::stay()
    }

    /// Lines below the list that say the chosen one in full.
    fn foot(common: &Common) -> usize {
        if common.is_low() {
            4
        } else {
            usize::from(common.size.1 / 4).max(5)
        }
    }

    fn room(&self, common: &Common) -> usize {
        let sought = usize::from(self.typing || !self.field.is_empty());
        let taken = sought + Self::foot(common);
        common.body().saturating_sub(taken).max(1)
    }

    /// The words of the page shown, made anew only when the page is another.
    fn word(&mut self, common: &Common) {
        let room = self.room(common);
        let first = self.chosen / room * room;
        if self.shown.0 == first
            && self.shown.1.len() == room.min(self.lines.len() - first.min(self.lines.len()))
        {
            return;
        }
        let page = self.lines.iter().skip(first).take(room);
        self.shown = (first, page.map(|line| words(line, common)).collect());
    }

    fn row(&self) -> Option<&JournalRow> {
        match self.lines.get(self.chosen)? {
            JournalLine::Row(row) => Some(row),
            JournalLine::Fault(_) => None,
        }
    }

    /// The entry chosen if it stands, itself an amend or a withdraw perhaps; that of a fault, too.
    fn standing(&self, common: &Common) -> Option<Standing> {
        match self.lines.get(self.chosen)? {
            JournalLine::Row(JournalRow::Stands(it)) => Some(it.clone()),
            JournalLine::Row(JournalRow::Correction(it)) if it.in_force => {
                Some(it.standing.clone())
            }
            JournalLine::Row(_) => None,
            JournalLine::Fault(it) => common.book.entry(it.id.as_ref()?).cloned(),
        }
    }

    fn amend(&self, common: &mut Common) -> Turn {
        let whole = |it: &Standing| !it.entry.name().corrects();
        match self.standing(common).filter(whole) {
            Some(it) => Turn::open(AmendScreen::open(it.entry.whole(), common)),
            None => {
                let why = "Only an entry that still counts can be amended here.";
                common.say(Tone::Plain, why);
                Turn::stay()
            }
        }
    }

    /// What is chosen to be put to another batch.
    fn right_tray(&self, common: &mut Common) -> Turn {
        let opened = match self.standing(common) {
            Some(it) => RightTrayScreen::open(&it.entry, common),
            None => Err("Only an entry that stands can go to another tray.".to_owned()),
        };
        match opened {
            Ok(screen) => Turn::open(screen),
            Err(why) => {
                common.say(Tone::Plain, why);
                Turn::stay()
            }
        }
    }

    /// Asks to withdraw what is chosen; a line that is no entry is settled by its name.
    fn withdraw(&self, common: &mut Common) -> Turn {
        if let Some(JournalLine::Fault(it)) = self.lines.get(self.chosen)
            && let (None, Some(id)) = (self.standing(common), &it.id)
        {
            let line = said::place(it.origin, common);
            common.confirm_withdrawal(id.clone(), &line);
            return Turn::stay();
        }
        match self.standing(common) {
            Some(it) => {
                let line = said::entry_line(&it.entry, common);
                common.confirm_withdrawal(it.entry.id.clone(), &line);
            }
            None => {
                let why = "Only an entry that still counts can be withdrawn here.";
                common.say(Tone::Plain, why);
            }
        }
        Turn::stay()
    }

    /// Everything about the chosen line, and the line itself as it stands in its file.
    fn whole(&self, common: &Common) -> Turn {
        let (said, origin) = match self.lines.get(self.chosen) {
            Some(JournalLine::Fault(it)) => (said::whole_fault(it, common), it.origin),
            Some(JournalLine::Row(row)) => (said::whole(row, common), row.standing().origin),
            None => return Turn::stay(),
        };
        Turn::open(TextScreen::entry(said, origin)).and(Effect::Raw(origin))
    }

    fn inside(&self, common: &mut Common) -> Turn {
        let batch = self
            .row()
            .and_then(|row| batch_about(&common.book, row.entry()))
            .cloned();
        match batch {
            Some(batch) => Turn::open(super::batch::BatchScreen::new(batch.key.clone())),
            None => {
                common.say(Tone::Plain, "It is not about a batch.");
                Turn::stay()
            }
        }
    }

    fn typed(&mut self, common: &Common, command: Command) -> Turn {
        match command {
            Command::Accept => self.typing = false,
            Command::Erase if !self.field.is_empty() => {
                self.field.press(KeyPress::Backspace);
                return self.load(common, WindowFrom::Newest);
            }
            Command::Erase | Command::Leave => {
                self.typing = false;
                self.field = TextField::default();
                return self.load(common, WindowFrom::Newest);
            }
            _ => {}
        }
        Turn::stay()
    }
}

/// All that is wrong or to be noted, as `check` tells it: dates beyond tomorrow too, since tomorrow may be
/// today elsewhere.
fn wrong(common: &Common) -> Vec<Fault> {
    let mut faults = common.book.faults().to_vec();
    faults.extend(ahead(common));
    faults
}

fn ahead(common: &Common) -> Vec<Fault> {
    let tomorrow = common.today() + chrono::Days::new(1);
    common.book.days_ahead(tomorrow)
}

fn words(line: &JournalLine, common: &Common) -> String {
    match line {
        JournalLine::Fault(fault) => said::fault(fault),
        JournalLine::Row(row) => {
            let when = common.calendar().at(&row.at());
            let fate =
                said::fate(row, &common.book).map_or_else(String::new, |fate| format!("{fate}: "));
            format!("{when}  {fate}{}", said::line(row, common))
        }
    }
}

impl Screen for JournalScreen {
    fn context(&self) -> KeyContext {
        if self.typing {
            KeyContext::Field
        } else {
            KeyContext::Pages
        }
    }

    fn title(&self, common: &Common) -> String {
        let sums = common.book.sums();
        match common.book.faults().len() + ahead(common).len() {
            0 => format!("Journal: {} entries", sums.entries),
            wrong => format!(
                "Journal: {} entries, {wrong} faults and notices",
                sums.entries
            ),
        }
    }

    fn subject(&self, common: &Common) -> RecordingSubject {
        let batch = self
            .row()
            .and_then(|row| batch_about(&common.book, row.entry()));
        RecordingSubject {
            batch: batch.map(|batch| batch.key.clone()),
            place: batch.and_then(|batch| batch.place.clone()),
        }
    }

    fn claims(&self, command: Command) -> bool {
        command == Command::Find || (command == Command::Back && !self.field.is_empty())
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        if self.typing {
            return self.typed(common, command);
        }
        let page = self.room(common) as isize;
        match command {
            Command::Find => self.typing = true,
            Command::Back => {
                self.field = TextField::default();
                return self.load(common, WindowFrom::Newest);
            }
            Command::Next => return self.go(common, 1),
            Command::Previous => return self.go(common, -1),
            Command::PageOn => return self.go(common, page),
            Command::PageBack => return self.go(common, -page),
            Command::First => {
                self.chosen = 0;
                self.lines.clear();
                return self.load(common, WindowFrom::Newest);
            }
            Command::Last => {
                self.lines.clear();
                return self.load(common, WindowFrom::Oldest);
            }
            Command::Open => return self.whole(common),
            Command::Amend => return self.amend(common),
            Command::Withdraw => return self.withdraw(common),
            Command::RightTray => return self.right_tray(common),
            Command::Inside => return self.inside(common),
            _ => {}
        }
        Turn::stay()
    }

    fn press(&mut self, common: &mut Common, press: KeyPress) -> Turn {
        if self.typing && self.field.press(press) {
            return self.load(common, WindowFrom::Newest);
        }
        Turn::stay()
    }

    fn paste(&mut self, common: &mut Common, text: &str) -> Turn {
        self.field.insert(text);
        self.load(common, WindowFrom::Newest)
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        let same = self
            .book
            .as_ref()
            .is_some_and(|book| Arc::ptr_eq(book, &common.book));
        let mut turn = Turn::stay();
        if !same || self.filter != common.filter {
            self.book = Some(Arc::clone(&common.book));
            self.filter = common.filter.clone();
            let first = match self.lines.first() {
                Some(JournalLine::Row(row)) if !self.newest => WindowFrom::Until(row.at().day()),
                _ => WindowFrom::Newest,
            };
            turn = self.load(common, first);
        }
        self.word(common);
        turn
    }

    fn answered(&mut self, common: &Common, answer: &Answer) {
        let Some((awaited, from)) = &self.asked else {
            return;
        };
        if let Some(rows) = awaited.taken::<Vec<JournalRow>>(answer) {
            self.fill(common, *from, rows.clone());
            self.word(common);
        }
    }

    fn typed_text(&self) -> &str {
        self.field.text()
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let mut top = 0;
        if self.typing {
            canvas.field(0, 0, &self.field);
            top = 1;
        } else if !self.field.is_empty() {
            canvas.text(0, 0, &format!("with '{}'", self.field.text()), Tone::Plain);
            top = 1;
        }
        if self.lines.is_empty() {
            let line = if self.asked.is_some() {
                "Looking."
            } else {
                "No entry yet."
            };
            canvas.text(top, 2, line, Tone::Plain);
            return;
        }
        let (first, words) = &self.shown;
        for (at, line) in words.iter().enumerate() {
            let number = first + at;
            let fault = matches!(self.lines.get(number), Some(JournalLine::Fault(_)));
            let mark = if number == self.chosen { ">" } else { " " };
            canvas.text(top + at, 0, mark, Tone::Heading);
            let meaning = if fault { Tone::Pressing } else { Tone::Plain };
            canvas.text(top + at, 2, line, meaning);
        }
        let foot = top + self.room(common);
        let said = match self.lines.get(self.chosen) {
            Some(JournalLine::Fault(it)) => said::whole_fault(it, common),
            Some(JournalLine::Row(row)) => said::whole(row, common),
            None => Vec::new(),
        };
        let room = canvas.width().saturating_sub(2);
        let lines: Vec<String> = said.iter().flat_map(|text| wrap(text, room)).collect();
        let rows = Self::foot(common);
        let shown = if lines.len() > rows { rows - 1 } else { rows };
        for (at, line) in lines.iter().take(shown).enumerate() {
            canvas.text(foot + at, 2, line, Tone::Plain);
        }
        if lines.len() > shown {
            let end = canvas.text(foot + shown, 2, "Enter", Tone::Key);
            let more = format!(" {} lines more", lines.len() - shown);
            canvas.text(foot + shown, end, &more, Tone::Plain);
        }
    }
}
