//! The bench: the open batches by place, in the deciding or the walking order. It records nothing itself.

use super::canvas::{Canvas, Tone};
use super::common::{BenchOrder, Common};
use super::effect::{Answer, Awaited, Effect, GoOn};
use super::keys::{Command, KeyContext, KeyPress};
use super::pad::PadScreen;
use super::round::{Round, RoundStop};
use super::screen::{RecordingSubject, Screen, Turn};
use crate::analysis::due::{DueList, due, due_at_once};
use crate::fold::Book;
use crate::input::bench_line::line_without_when;
use crate::model::at::At;
use crate::model::filter::Filter;
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use crate::model::text::place_key;
use crate::text::clean::width;
use chrono::{Days, NaiveDate};
use rows::{BenchRow, PlaceRows};
use std::collections::{BTreeMap, HashSet};

mod draw;
pub mod rows;

/// Columns that who enters, and when, take beside the title.
const BESIDE_TITLE: usize = 23;

/// The bench.
#[derive(Debug, Default)]
pub struct BenchScreen {
    groups: Vec<PlaceRows>,
    /// The batch chosen.
    chosen: Option<Id>,
    /// Digits typed so far of a code.
    digits: String,
    /// The day, order and filter that the rows were put in.
    ordered: Option<(NaiveDate, BenchOrder, Filter)>,
    /// The edition that the rows are of.
    edition: Option<u64>,
    /// Whether a key was pressed here since: from then on no row moves.
    touched: bool,
    /// What is due, as last told.
    due: Option<DueList>,
    asked: Awaited,
    /// Places whose batches not looked at for long are shown one by one.
    shown_each: HashSet<String>,
    /// What others entered since this person last did, and yesterday's notes.
    news: Vec<String>,
}

impl BenchScreen {
    /// The rows in the order shown.
    fn rows(&self) -> impl DoubleEndedIterator<Item = &BenchRow> {
        self.groups.iter().flat_map(|group| &group.rows)
    }

    /// Where the chosen row is.
    fn at(&self) -> usize {
        let chosen = self.chosen.as_ref();
        let place = self.rows().position(|row| Some(&row.key) == chosen);
        place.unwrap_or(0)
    }

    /// The chosen row.
    fn row(&self) -> Option<&BenchRow> {
        self.rows().nth(self.at())
    }

    fn choose(&mut self, at: usize) {
        let last = self.rows().count().saturating_sub(1);
        let chosen = self.rows().nth(at.min(last)).map(|row| row.key.clone());
        self.chosen = chosen;
    }

    /// The pages, and the one shown.
    fn pages(&self, common: &Common) -> (Vec<draw::BenchPage>, usize) {
        let news = draw::news_lines(&self.news, common).len();
        let pages = draw::pages(&self.groups, draw::room(common), common.is_low(), news);
        let at = self.at();
        let here = pages.iter().position(|page| page.holds(at)).unwrap_or(0);
        (pages, here)
    }

    /// Which page is shown, of how many, if there are several.
    fn page(&self, common: &Common) -> Option<(usize, usize)> {
        let (pages, here) = self.pages(common);
        (pages.len() > 1).then_some((here + 1, pages.len()))
    }

    /// Chooses the first row of the page after or before the one shown.
    fn turn_page(&mut self, common: &Common, on: bool) {
        let (pages, here) = self.pages(common);
        let there = if on { here + 1 } else { here.saturating_sub(1) };
        match pages.get(there) {
            Some(page) => self.choose(page.first),
            None => self.choose(usize::MAX),
        }
    }

    /// Goes to the batch whose number the digits typed so far begin.
    fn jump(&mut self, common: &mut Common, digit: char) {
        self.digits.push(digit);
        let found = self.find().or_else(|| {
            self.digits = digit.to_string();
            self.find()
        });
        match found {
            Some(key) => self.show(common, key),
            None => {
                let among = if common.is_narrowed() {
                    " among these: # shows all"
                } else {
                    ""
                };
                common.say(
                    Tone::Plain,
                    format!("No open batch {}{among}.", self.digits),
                );
            }
        }
    }

    /// Chooses a batch, its place's shown one by one if another row stands for it.
    fn show(&mut self, common: &Common, key: Id) {
        let stands = |row: &&BenchRow| row.others.iter().any(|other| other.key == key);
        let place = self.rows().find(stands).map(|row| row.place.clone());
        if let Some(place) = place {
            self.show_each(common, &place);
        }
        self.chosen = Some(key);
    }

    /// Shows the batches of a place one by one.
    fn show_each(&mut self, common: &Common, place: &str) {
        self.shown_each.insert(place_key(place));
        self.touched = true;
        self.refill(common);
    }

    fn find(&self) -> Option<Id> {
        let wanted = self.digits.trim_start_matches('0');
        let number = |row: &BenchRow| {
            let digits = row.full_code.rsplit(|c: char| !c.is_ascii_digit()).next();
            digits
                .unwrap_or_default()
                .trim_start_matches('0')
                .to_owned()
        };
        // This season's before another's, the very number before one that it begins.
        let mut near: Vec<(bool, bool, &BenchRow)> = self
            .rows()
            .flat_map(BenchRow::each)
            .filter(|row| number(row).starts_with(wanted))
            .map(|row| (row.code.contains('-'), number(row) != wanted, row))
            .collect();
        near.sort_by_key(|(other, longer, _)| (*other, *longer));
        near.first().map(|(_, _, row)| row.key.clone())
    }

    /// The rows anew, those already shown where they were: a list must not move under the eye.
    fn refill(&mut self, common: &Common) {
        let same = self.is_ordered_as(common);
        let stays = self.touched && same;
        // Until the first answer the list that needs no figures stands in for it.
        let first = || due_at_once(&common.book, common.today());
        let due = self.due.get_or_insert_with(first);
        let rows = rows::rows(common, due);
        let groups = match stays {
            true => rows::renewed(common, &self.groups, rows),
            false => rows::gathered(common, rows),
        };
        self.groups = rows::gathered_unseen(common, groups, &self.shown_each);
        if !same {
            self.touched = false;
        }
        self.ordered = Some((common.today(), common.order, common.filter.clone()));
        self.edition = Some(common.edition);
        self.news = news(common);
    }

    fn is_ordered_as(&self, common: &Common) -> bool {
        let ordered = self.ordered.as_ref();
        ordered.is_some_and(|(day, order, filter)| {
            (*day, *order) == (common.today(), common.order) && *filter == common.filter
        })
    }

    /// Asks what is due, if the journal or the day changed since it was last asked.
    fn ask(&mut self, common: &Common) -> Turn {
        let today = common.today();
        let model = common.model();
        let work = move |book: &Book, _: GoOn<'_>| Some(due(book, today, Some(&model(book))));
        Turn::stay().also(common.ask(&mut self.asked, "due", (), work))
    }

    /// A round of the chosen batch's place from it on, then of what is due at the places after it.
    fn round(&self) -> Option<Round> {
        let row = self.row()?;
        let place = |group: &&PlaceRows| group.rows.iter().any(|other| other.key == row.key);
        let place = &self.groups.iter().find(place)?.place;
        // Of the whole place, those that press first.
        let here = self.groups.iter().filter(|group| group.place == *place);
        let rows = here.flat_map(|group| group.rows.iter().flat_map(BenchRow::each));
        let keys = rows.map(|row| row.key.clone());
        let first = RoundStop {
            place: place.clone(),
            keys: keys.collect(),
        };
        Round::new(first, rows::further_stops(&self.groups, place), &row.key)
    }
}

impl Screen for BenchScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Bench
    }

    fn title(&self, common: &Common) -> String {
        let count = self.rows().flat_map(BenchRow::each).count();
        let order = match common.order {
            BenchOrder::Deciding => "Bench",
            BenchOrder::Walking => "Bench, walking",
        };
        let due = format!(", {}", rows::pressing(self.rows()));
        let whole = format!("{order}: {count} open{due}");
        let Some(room) = usize::from(common.size.0).checked_sub(width(&whole)) else {
            return whole
                .replacen("Bench, w", "W", 1)
                .replacen("Bench: ", "", 1);
        };
        // On a narrow screen the pages need not be made to know that there is no room to tell of them.
        let room = room.checked_sub(BESIDE_TITLE);
        let page = room.and_then(|_| self.page(common));
        let page = page.map(|(page, of)| format!(", page {page} of {of}"));
        let fits = |page: &String| room.is_some_and(|room| width(page) < room);
        whole + &page.filter(fits).unwrap_or_default()
    }

    fn part(&self, common: &Common) -> Option<String> {
        let (page, of) = self.page(common)?;
        Some(format!("{page}/{of}"))
    }

    fn subject(&self, _common: &Common) -> RecordingSubject {
        let row = self.row();
        let named = |place: &&str| !place.is_empty();
        RecordingSubject {
            batch: row.map(|row| row.key.clone()),
            place: row
                .map(|row| row.place.as_str())
                .filter(named)
                .map(Into::into),
        }
    }

    fn claims(&self, command: Command) -> bool {
        command == Command::Round
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        self.digits.clear();
        self.touched = true;
        let at = self.at();
        match command {
            Command::Next => self.choose(at.saturating_add(1)),
            Command::Previous => self.choose(at.saturating_sub(1)),
            Command::First => self.choose(0),
            Command::Last => self.choose(usize::MAX),
            Command::PageOn => self.turn_page(common, true),
            Command::PageBack => self.turn_page(common, false),
            Command::Order => {
                common.order = match common.order {
                    BenchOrder::Deciding => BenchOrder::Walking,
                    BenchOrder::Walking => BenchOrder::Deciding,
                };
                self.refill(common);
                return Turn::effect(Effect::Remember(common.memory()));
            }
            Command::Look => {
                let row = self.row();
                if let Some(place) = row.filter(|row| !row.others.is_empty()) {
                    let place = place.place.clone();
                    self.show_each(common, &place);
                    return Turn::stay();
                }
                if let Some(row) = row {
                    return Turn::open(PadScreen::new(row.key.clone()));
                }
            }
            Command::Targets => return Turn::open(crate::tui::targets::TargetsScreen::default()),
            Command::Inside => {
                if let Some(row) = self.row() {
                    return Turn::open(crate::tui::batch::BatchScreen::new(row.key.clone()));
                }
            }
            Command::Air => {
                return Turn::open(crate::tui::air::AirScreen::at(self.subject(common).place));
            }
            Command::Round => {
                if let Some(round) = self.round() {
                    return Turn::open(PadScreen::on_round(round));
                }
            }
            _ => {}
        }
        Turn::stay()
    }

    fn press(&mut self, common: &mut Common, press: KeyPress) -> Turn {
        self.touched = true;
        match press {
            KeyPress::Char(digit) if digit.is_ascii_digit() => self.jump(common, digit),
            _ => self.digits.clear(),
        }
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        if self.edition == Some(common.edition) && self.is_ordered_as(common) {
            return Turn::stay();
        }
        let at = self.at();
        self.refill(common);
        let chosen = self.chosen.clone();
        if self.rows().all(|row| Some(&row.key) != chosen.as_ref()) {
            self.choose(at);
        }
        self.ask(common)
    }

    fn answered(&mut self, common: &Common, answer: &Answer) {
        let Some(due) = self.asked.taken::<DueList>(answer) else {
            return;
        };
        let fresh = !self.touched;
        if self.due.as_ref() != Some(due) {
            self.due = Some(due.clone());
            self.refill(common);
        }
        if fresh {
            self.choose(0);
        }
    }

    fn choose(&mut self, common: &Common, batch: &Id) -> bool {
        self.refill(common);
        let is_it = |row: &BenchRow| row.key == *batch;
        let shown = self.rows().flat_map(BenchRow::each).any(is_it);
        if shown {
            self.touched = true;
            self.show(common, batch.clone());
        }
        shown
    }

    fn interrupted(&mut self) {
        self.touched = true;
        self.digits.clear();
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        draw::bench(&self.groups, self.at(), &self.news, common, canvas);
    }
}

/// The news, a sentence each; none where nothing is new.
#[must_use]
pub fn news(common: &Common) -> Vec<String> {
    let since = since_last(common);
    since.into_iter().chain(yesterday(common)).collect()
}

/// What others entered since this person last did before this sitting, by whom.
fn since_last(common: &Common) -> Option<String> {
    let own_name = common.by.trim();
    let names = common.vocabulary.texts("by");
    if !own_name.is_empty() && !names.iter().any(|name| name == own_name) {
        // Told without a walk through a long journal for an entry that is not there.
        return None;
    }
    let is_own = |entry: &PackedEntry| entry.by().unwrap_or_default() == own_name;
    let began = At::Time(common.began);
    let entries = || {
        common
            .book
            .entries()
            .iter()
            .rev()
            .map(|standing| &standing.entry)
    };
    let own = entries().find(|entry| is_own(entry) && entry.at < began)?;
    let mut by: BTreeMap<&str, (usize, &PackedEntry)> = BTreeMap::new();
    let later = entries().take_while(|entry| entry.at > own.at);
    for entry in later.filter(|entry| !is_own(entry)) {
        let name = entry.by().unwrap_or("someone");
        by.entry(name).or_insert((0, entry)).0 += 1;
    }
    let each: Vec<String> = by
        .into_iter()
        .map(|(name, (count, last))| {
            let noun = if count == 1 { "entry" } else { "entries" };
            let last = line_without_when(&last.whole(), &common.vocabulary);
            format!("{name} {count} {noun}, the last: {last}")
        })
        .collect();
    let when = common.calendar().at(&own.at);
    (!each.is_empty()).then(|| {
        format!(
            "Since your last entry, {when}, others entered: {}.",
            each.join("; ")
        )
    })
}

/// The notes of yesterday, each as a line.
fn yesterday(common: &Common) -> Option<String> {
    let yesterday = common.today() - Days::new(1);
    let entries = common.entries_of(yesterday).iter();
    let noted = entries
        .map(|standing| &standing.entry)
        .filter(|entry| entry.note().is_some());
    let lines: Vec<String> = noted
        .map(|entry| line_without_when(&entry.whole(), &common.vocabulary))
        .collect();
    (!lines.is_empty()).then(|| format!("Yesterday: {}.", lines.join("; ")))
}
