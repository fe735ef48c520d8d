//! Inside a taxon: what is asked, which page is shown, which batch is chosen. What stands on the pages is
//! told elsewhere; it computes no figure while drawing.

use super::groups;
use crate::analysis::expect::Model;
use crate::analysis::forecast::forecasts;
use crate::analysis::timeline::{Figure, Missing, QuantileDay, TimelineGroup};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::fold::selection::Selection;
use crate::model::filter::{Filter, GroupKey};
use crate::model::id::Id;
use crate::text::forecast::together;
use crate::text::timelines;
use crate::text::verdicts;
use crate::tui::canvas::draw_strip;
use crate::tui::canvas::{Canvas, Tone, wrap};
use crate::tui::common::Common;
use crate::tui::effect::Effect;
use crate::tui::effect::{Answer, Awaited, GoOn};
use crate::tui::keys::{Command, KeyContext};
use crate::tui::paging::Sheet;
use crate::tui::screen::{RecordingSubject, Screen, Turn};
use std::sync::Arc;

/// Resamples for the ranges of days.
const RESAMPLES: usize = 999;

/// A taxon, or a part of its batches.
#[derive(Debug)]
pub struct TaxonScreen {
    filter: Filter,
    pub(super) group: TimelineGroup,
    /// Whether the ranges of days and the bands have come.
    pub(super) ranged: bool,
    asked: Awaited,
    /// What is to come of its open batches; nothing while it is worked out.
    pub(super) ahead: Option<String>,
    asked_ahead: Awaited,
    /// The latest first.
    pub(super) batches: Vec<Arc<Batch>>,
    pub(super) chosen: usize,
    pub(super) sheet: Sheet,
    /// Whether no batch of it that was looked at is meant any more.
    pub(super) none: bool,
    /// Whose band is drawn.
    pub(super) banded: Milestone,
}

impl TaxonScreen {
    /// Of a group as the list has it: the ranges of days follow.
    pub(super) fn new(group: &TimelineGroup, common: &Common) -> Self {
        Self {
            filter: common.filter.clone(),
            group: group.clone(),
            ranged: false,
            asked: Awaited::default(),
            ahead: None,
            asked_ahead: Awaited::default(),
            batches: Vec::new(),
            chosen: 0,
            sheet: Sheet::default(),
            none: false,
            banded: Milestone::Root,
        }
    }

    fn by(&self) -> Option<GroupKey> {
        self.group.by.first().map(|(key, _)| *key)
    }

    fn ask(&mut self, common: &Common) -> Turn {
        let rest = format!("{} {:?} {:?}", self.group.taxon, self.group.by, self.filter);
        let (taxon, values, by) = (self.group.taxon.clone(), self.group.by.clone(), self.by());
        let mut filter = self.filter.clone();
        filter.taxon.get_or_insert_with(|| taxon.clone());
        let about = Selection {
            filter,
            ..Selection::default()
        };
        let work = move |book: &Book, go_on: GoOn<'_>| {
            let found = groups::groups(book, &about, by, RESAMPLES, go_on)?.into_iter();
            let mut found = found.filter(|g| g.taxon == taxon && g.by == values);
            Some(found.next())
        };
        Turn::stay().also(common.ask(&mut self.asked, "taxon", rest, work))
    }

    /// What is to come of those on the bench, if any are.
    fn ask_ahead(&mut self, common: &Common) -> Option<Effect> {
        let open: Vec<Id> = self.open().map(|batch| batch.key.clone()).collect();
        if open.is_empty() {
            return None;
        }
        let (rest, model) = (format!("{open:?}"), common.model());
        let work = move |book: &Book, _: GoOn<'_>| Some(ahead(book, &model(book), &open));
        common.ask(&mut self.asked_ahead, "ahead", rest, work)
    }

    /// Its batches on the bench.
    pub(super) fn open(&self) -> impl Iterator<Item = &Arc<Batch>> {
        self.batches.iter().filter(|batch| batch.is_open())
    }

    /// Rows that the sheet has.
    fn rows(common: &Common) -> usize {
        common.body()
    }

    /// The batch chosen, if it stands on the page shown.
    fn seen(&self, common: &Common) -> Option<&Arc<Batch>> {
        let told = TaxonLines::new(self, common);
        let shown = self.sheet.shown(told.len(), Self::rows(common));
        let line = told.line_of(self.chosen)?;
        shown
            .contains(&line)
            .then(|| self.batches.get(self.chosen))
            .flatten()
    }

    /// Chooses a batch and turns to its page.
    fn choose_at(&mut self, common: &Common, at: usize) {
        self.chosen = at.min(self.batches.len().saturating_sub(1));
        let told = TaxonLines::new(self, common);
        if let Some(line) = told.line_of(self.chosen) {
            self.sheet.show(line, told.len(), Self::rows(common));
        }
    }

    /// Turns a page; the first batch on it is the chosen one.
    fn turn_page(&mut self, common: &Common, on: bool) {
        let told = TaxonLines::new(self, common);
        let rows = Self::rows(common);
        if !self.sheet.turn(on, told.len(), rows) {
            return;
        }
        let shown = self.sheet.shown(told.len(), rows);
        let first = (0..self.batches.len())
            .find(|at| told.line_of(*at).is_some_and(|line| shown.contains(&line)));
        self.chosen = first.unwrap_or(0);
    }
}

/// What is to come of batches, in a sentence without its stop; nothing if none of them is forecast.
fn ahead(book: &Book, model: &Model, keys: &[Id]) -> String {
    let found = forecasts(book, model, &|batch| keys.contains(&batch.key));
    match found.batches.as_slice() {
        [] => String::new(),
        all => together(all, found.history),
    }
}

impl Screen for TaxonScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Taxon
    }

    fn title(&self, _common: &Common) -> String {
        groups::name(&self.group)
    }

    fn subject(&self, common: &Common) -> RecordingSubject {
        // What is not seen is not meant.
        RecordingSubject {
            batch: self.seen(common).map(|batch| batch.key.clone()),
            place: None,
        }
    }

    fn is_idle(&self, common: &Common, command: Command) -> bool {
        command == Command::Band && !TaxonLines::new(self, common).has_curves()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let here = self.seen(common).cloned();
        match (command, here) {
            (Command::PageOn, _) => self.turn_page(common, true),
            (Command::PageBack, _) => self.turn_page(common, false),
            (Command::First, _) => {
                self.chosen = 0;
                self.sheet = Sheet::default();
            }
            (Command::Last, _) => self.choose_at(common, usize::MAX),
            (Command::Band, _) if !TaxonLines::new(self, common).has_curves() => {
                let why = "Bands need curves, which need 64 columns and 22 rows; here the ranges stand in brackets.";
                common.say(Tone::Plain, why);
            }
            (Command::Band, _) => {
                let at = self.banded as usize + 1;
                self.banded = Milestone::ALL[at % Milestone::ALL.len()];
            }
            (Command::Open, Some(batch)) => {
                return Turn::open(crate::tui::batch::BatchScreen::new(batch.key.clone()));
            }
            (Command::Next, Some(_)) => self.choose_at(common, self.chosen + 1),
            (Command::Previous, Some(_)) => {
                self.choose_at(common, self.chosen.saturating_sub(1));
            }
            // A batch that is not on the page is shown first.
            (Command::Open | Command::Next | Command::Previous, None) => {
                self.choose_at(common, self.chosen);
            }
            _ => {}
        }
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        self.filter = common.filter.clone();
        let book = &common.book;
        let mine = |batch: &&Arc<Batch>| {
            batch.taxon.shown() == self.group.taxon
                && self.filter.admits(book, batch)
                && self
                    .group
                    .by
                    .iter()
                    .all(|(key, value)| key.value_for(book, batch) == *value)
        };
        // The latest first.
        self.batches = book.batches().iter().rev().filter(mine).cloned().collect();
        self.chosen = self.chosen.min(self.batches.len().saturating_sub(1));
        let turn = self.ask(common);
        turn.also(self.ask_ahead(common))
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(found) = self.asked.taken::<Option<TimelineGroup>>(answer) {
            self.ranged = true;
            self.none = found.is_none();
            if let Some(group) = found {
                self.group = group.clone();
            }
        }
        if let Some(ahead) = self.asked_ahead.taken::<String>(answer) {
            self.ahead = Some(ahead.clone());
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        TaxonLines::new(self, common).draw(self, common, canvas);
    }
}

/// The lines that the screen of a taxon shows, laid out for the screen's size.
pub(super) struct TaxonLines {
    /// Rows of the curves; none where ruler lines stand for them.
    tall: usize,
    /// Lines of the drawing on top, its heading included.
    drawn: usize,
    said: Vec<(String, Tone)>,
    batches: usize,
}

impl TaxonLines {
    /// Lays out the lines of a taxon.
    pub(super) fn new(one: &TaxonScreen, common: &Common) -> Self {
        let (columns, rows) = (usize::from(common.size.0), usize::from(common.size.1));
        // Odd, so that a row lies half way up.
        let tall = match (columns, rows) {
            (..64, _) | (_, ..22) => 0,
            (_, ..36) => 7,
            _ => 17,
        };
        let drawn = if tall > 0 {
            tall + 1
        } else {
            groups::RULER_ROWS + usize::from(common.is_low())
        };
        let mut said = Vec::new();
        for (text, meaning) in sentences(one, tall > 0) {
            said.extend(wrap(&text, columns).into_iter().map(|line| (line, meaning)));
        }
        Self {
            tall,
            drawn,
            said,
            batches: one.batches.len(),
        }
    }

    /// How many lines there are.
    pub(super) fn len(&self) -> usize {
        self.drawn + self.said.len() + self.batches
    }

    /// The line of a batch.
    pub(super) fn line_of(&self, batch: usize) -> Option<usize> {
        (batch < self.batches).then(|| self.drawn + self.said.len() + batch)
    }

    /// Whether there are curves, and not ruler lines.
    pub(super) fn has_curves(&self) -> bool {
        self.tall > 0
    }

    /// Draws the page shown.
    pub(super) fn draw(&self, one: &TaxonScreen, common: &Common, canvas: &mut Canvas<'_>) {
        let shown = one.sheet.shown(self.len(), canvas.height());
        if shown.start == 0 {
            self.draw_top(one, common, &mut canvas.rows(0, shown.end));
        }
        for line in shown.clone() {
            let row = line - shown.start;
            let Some(at) = line.checked_sub(self.drawn) else {
                continue;
            };
            if let Some((text, meaning)) = self.said.get(at) {
                canvas.text(row, 0, text, *meaning);
            } else if let Some(batch) = one.batches.get(at - self.said.len()) {
                let chosen = at - self.said.len() == one.chosen;
                batch_line(batch, chosen, row, common, canvas);
            }
        }
        one.sheet.sign(self.len(), canvas);
    }

    fn draw_top(&self, one: &TaxonScreen, common: &Common, canvas: &mut Canvas<'_>) {
        if self.tall > 0 {
            groups::draw_curves(&one.group, one.banded, self.tall, canvas);
            return;
        }
        let head = usize::from(common.is_low());
        if head > 0 {
            canvas.text(0, 0, &one.title(common), Tone::Heading);
        }
        groups::draw_rulers(&one.group, head, canvas);
    }
}

fn batch_line(batch: &Batch, chosen: bool, row: usize, common: &Common, canvas: &mut Canvas<'_>) {
    let mark = if chosen { ">" } else { " " };
    canvas.text(row, 0, mark, Tone::Heading);
    let age = (common.today() - batch.stuck_on).num_days();
    let age = if batch.is_open() {
        format!("d{age}")
    } else {
        "closed".into()
    };
    let lead = format!("{} {age:<6} ", batch.code);
    let end = canvas.text(row, 2, &lead, Tone::Plain);
    let room = canvas.width().saturating_sub(end).min(60);
    draw_strip(&batch.counts, room, row, end, canvas);
}

/// The figures in words, the weightiest first.
fn sentences(one: &TaxonScreen, banded: bool) -> Vec<(String, Tone)> {
    let group = &one.group;
    if one.none {
        let gone = "None of its batches with a look fits the choice now; these figures are older.";
        return vec![(gone.into(), Tone::Pressing)];
    }
    let mut out = vec![(
        format!(
            "rooted % {}; {}",
            timelines::strike(group),
            groups::size(group)
        ),
        Tone::Plain,
    )];
    out.extend(outlook(one).map(|line| (line, Tone::Plain)));
    let cautions = group.cautions.iter();
    out.extend(
        cautions.map(|caution| (format!("! {}", timelines::caution(caution)), Tone::Pressing)),
    );
    if !one.ranged {
        let wait = "Working out how sure the curves and days are...";
        out.push((wait.into(), Tone::Plain));
    } else if banded {
        out.push((band_words(group, one.banded), Tone::Plain));
    }
    for milestone in [Milestone::Root, Milestone::Callus, Milestone::Bottom] {
        out.push((figure(group, milestone), Tone::Plain));
    }
    let few = milestone_days(group).find_map(|day| match day.low.missing() {
        Some(why @ Missing::FewReplicates { .. }) => Some(timelines::missing(&why)),
        _ => None,
    });
    let few = few.filter(|_| one.ranged).map(|few| format!("days: {few}"));
    out.extend(few.map(|few| (few, Tone::Plain)));
    out
}

/// What is to come of those on the bench; nothing if none is there, or none of them is forecast.
fn outlook(one: &TaxonScreen) -> Option<String> {
    one.open().next()?;
    match one.ahead.as_deref() {
        None => Some("Working out how many more will root...".into()),
        Some("") => None,
        Some(ahead) => Some(format!("{ahead}.")),
    }
}

/// What the band is, or why there is none.
fn band_words(group: &TimelineGroup, banded: Milestone) -> String {
    let word = verdicts::done(banded);
    match group.figures(banded).band.as_slice() {
        [] => format!("No band of {word} yet; o draws another."),
        _ if group.size.replicates == 1 => format!(
            "{}: the 95 % band of {word}, from one batch and how far other batches differ; o draws another.",
            groups::HAZE
        ),
        _ => format!(
            "{}: the 95 % band of {word}, each day by itself; o draws another.",
            groups::HAZE
        ),
    }
}

/// One milestone in words: the share, the middle day and how sure they are, or why there is none.
fn figure(group: &TimelineGroup, milestone: Milestone) -> String {
    let word = verdicts::done(milestone);
    let figures = group.figures(milestone);
    let reached = match &figures.reached {
        Figure::Value(reached) => reached,
        Figure::Missing(why) => return format!("{word}: {}", timelines::missing(why)),
    };
    let share = timelines::share(&figures.reached);
    let half = figures.days.reached.0[1].value();
    let half = half.map(|day| format!("; half of these {}", timelines::day_words(day)));
    let half = half.unwrap_or_default();
    format!("{word}: {share} % by day {}{half}", reached.by_day)
}

/// All days of a group that can be told.
fn milestone_days(group: &TimelineGroup) -> impl Iterator<Item = &QuantileDay> {
    let days = group.milestones.iter().map(|figures| &figures.days);
    let days = days.flat_map(|days| days.all.0.iter().chain(&days.reached.0));
    days.filter_map(Figure::value)
}
