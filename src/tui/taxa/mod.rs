//! Every taxon with its strike and its days, by wood stage or another grouping. Figures come off the
//! input path; it computes none while drawing.

mod groups;
mod ruler;
mod taxon;

use crate::analysis::timeline::{ReachedShare, TimelineGroup};
use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::fold::selection::Selection;
use crate::model::filter::{Filter, GroupKey};
use crate::text::clean::width;
use crate::text::figures::percent;
use crate::text::timelines;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::common::Common;
use crate::tui::effect::{Answer, Awaited, GoOn};
use crate::tui::keys::{Command, KeyContext};
use crate::tui::paging::moved;
use crate::tui::screen::{Screen, Turn};
use crate::tui::trials;
use groups::groups;
use taxon::TaxonScreen;

/// The groupings that the key goes through; `None` is the taxon alone.
const GROUPINGS: [Option<GroupKey>; 8] = [
    Some(GroupKey::Wood),
    None,
    Some(GroupKey::Season),
    Some(GroupKey::Place),
    Some(GroupKey::Cover),
    Some(GroupKey::Hormone),
    Some(GroupKey::Medium),
    Some(GroupKey::Cut),
];

/// The list of taxa.
#[derive(Debug, Default)]
pub struct TaxaScreen {
    grouping: usize,
    asked: Awaited,
    groups: Option<Vec<TimelineGroup>>,
    chosen: usize,
}

impl TaxaScreen {
    fn by(&self) -> Option<GroupKey> {
        GROUPINGS[self.grouping % GROUPINGS.len()]
    }

    fn ask(&mut self, common: &Common) -> Turn {
        let by = self.by();
        let about = Selection {
            filter: common.filter.clone(),
            ..Selection::default()
        };
        let rest = format!("{by:?} {about:?}");
        let work = move |book: &Book, go_on: GoOn<'_>| groups(book, &about, by, 0, go_on);
        Turn::stay().also(common.ask(&mut self.asked, "taxa", rest, work))
    }

    /// The chosen taxon's groups against each other; without a grouping, all that can be compared.
    fn compare(&self, common: &Common) -> Turn {
        let groups = self.groups.as_ref();
        let group = groups.and_then(|groups| groups.get(self.chosen));
        match self.by().zip(group) {
            Some((by, group)) => Turn::open(trials::by(
                by,
                Filter {
                    taxon: Some(group.taxon.clone()),
                    ..common.filter.clone()
                },
            )),
            None => Turn::open(trials::TrialsScreen::default()),
        }
    }

    fn page(common: &Common) -> usize {
        let (head, tall) = if common.is_low() {
            (0, 1)
        } else {
            (1, tall(common))
        };
        (common.body().saturating_sub(head) / tall).max(1)
    }
}

/// Lines to a row: two where nothing may stand side by side.
fn tall(common: &Common) -> usize {
    if common.size.0 < 72 { 2 } else { 1 }
}

impl Screen for TaxaScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Taxa
    }

    fn title(&self, _common: &Common) -> String {
        match self.by() {
            Some(by) => format!("Taxa by {}", by.word()),
            None => "Taxa".to_owned(),
        }
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let last = self.groups.as_ref().map_or(0, Vec::len).saturating_sub(1);
        let page = Self::page(common);
        match command {
            Command::Grouping => {
                self.grouping = (self.grouping + 1) % GROUPINGS.len();
                self.groups = None;
                self.chosen = 0;
                if common.is_low() {
                    // The heading says so where there is one.
                    let by = self.by().map_or("taxon alone", GroupKey::word);
                    common.say(Tone::Plain, format!("By {by}."));
                }
                return self.ask(common);
            }
            Command::Trials => return self.compare(common),
            Command::Open => {
                let groups = self.groups.as_ref();
                return match groups.and_then(|groups| groups.get(self.chosen)) {
                    Some(group) => Turn::open(TaxonScreen::new(group, common)),
                    None => Turn::stay(),
                };
            }
            Command::Targets => return Turn::open(crate::tui::targets::TargetsScreen::default()),
            _ => self.chosen = moved(self.chosen, last, page, command),
        }
        Turn::stay()
    }

    fn claims(&self, command: Command) -> bool {
        command == Command::Trials
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        self.ask(common)
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(groups) = self.asked.taken::<Vec<TimelineGroup>>(answer) {
            self.chosen = self.chosen.min(groups.len().saturating_sub(1));
            self.groups = Some(groups.clone());
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let Some(groups) = &self.groups else {
            canvas.text(0, 0, "Working out rooted % and days...", Tone::Plain);
            return;
        };
        if groups.is_empty() {
            let none = match common.is_narrowed() {
                true => "None of these batches has been looked at yet: # shows all.",
                false => "No batch has been looked at yet: rooted % and days come with the looks.",
            };
            canvas.wrapped(0, 0, none, Tone::Plain);
            return;
        }
        let page = Self::page(common);
        let first = self.chosen / page * page;
        let shown: Vec<&TimelineGroup> = groups.iter().skip(first).take(page).collect();
        let chosen = self.chosen - first;
        let low = common.is_low();
        if canvas.width() >= ruler::WIDE && !low {
            ruler::draw(&shown, groups, chosen, canvas);
            return;
        }
        match (tall(common), low) {
            (1, _) => table(&shown, chosen, low, canvas),
            (_, low) => stacked(&shown, chosen, low, canvas),
        }
    }
}

/// Two lines to a group; on a low screen one.
fn stacked(groups: &[&TimelineGroup], chosen: usize, low: bool, canvas: &mut Canvas<'_>) {
    let mut line = 0;
    if !low {
        let words = "rooted % (95 %), days to root 10-50-90";
        canvas.text(0, 0, words, Tone::Plain);
        line = 1;
    }
    let room = canvas.width().saturating_sub(if low { 12 } else { 2 });
    let names = groups::short_names(groups, room, canvas.ink().glyphs);
    for (at, group) in groups.iter().enumerate() {
        let mark = if at == chosen { ">" } else { " " };
        canvas.text(line, 0, mark, Tone::Heading);
        canvas.text(line, 2, &names[at], Tone::Plain);
        if low {
            let share = |share: &ReachedShare| format!("{} %", percent(share.value));
            let strike = group.strike.value().map_or("too soon".into(), share);
            canvas.right(line, 2, &strike, Tone::Plain);
            line += 1;
            continue;
        }
        let parts = [
            timelines::strike(group),
            groups::days_to_root(group),
            groups::size(group),
        ];
        let said = groups::whole_parts(&parts, canvas.width().saturating_sub(4));
        canvas.text(line + 1, 4, &said, Tone::Plain);
        line += 2;
    }
}

/// A column of the table: its heading and what stands in it.
type Column = (&'static str, fn(&TimelineGroup) -> String);

/// The columns, the one that goes first last: what is left out stands inside the taxon.
const COLUMNS: [Column; 5] = [
    ("rooted %", timelines::strike),
    ("rooted", |group| groups::quick(group, Milestone::Root)),
    ("batches", |group| group.size.batches.to_string()),
    ("callused", |group| groups::quick(group, Milestone::Callus)),
    ("to bottom", |group| groups::quick(group, Milestone::Bottom)),
];

/// Columns that names should have at least before a figure gets any.
const NAME: usize = 40;

/// One line to a group. A name is worth more than the days that are found one step further in.
fn table(groups: &[&TimelineGroup], chosen: usize, low: bool, canvas: &mut Canvas<'_>) {
    let wide = canvas.width();
    // Each column as wide as what stands in it, so that no two figures run together.
    let widths = COLUMNS.map(|(head, cell)| {
        let cells = groups.iter().map(|group| width(&cell(group)));
        cells.max().unwrap_or(0).max(width(head)) + 2
    });
    let taken = |shown: usize| 2 + widths[..shown].iter().sum::<usize>();
    let fits = |shown: &usize| taken(*shown) + NAME <= wide;
    let shown = (2..=COLUMNS.len()).rev().find(fits).unwrap_or(2);
    let name = wide.saturating_sub(taken(shown)).min(60);
    let names = groups::short_names(groups, name, canvas.ink().glyphs);
    let mut line = 0;
    let first = 2 + name + 2;
    let columns = || COLUMNS.iter().zip(widths).take(shown);
    if !low {
        let said = "days: 10-50-90 % of those that got there";
        canvas.columns(2, name).text(0, 0, said, Tone::Plain);
        let mut column = first;
        for ((head, _), columns) in columns() {
            canvas.text(0, column, head, Tone::Heading);
            column += columns;
        }
        line = 1;
    }
    for (at, group) in groups.iter().enumerate() {
        let mark = if at == chosen { ">" } else { " " };
        canvas.text(line, 0, mark, Tone::Heading);
        canvas.text(line, 2, &names[at], Tone::Plain);
        let mut column = first;
        for ((_, cell), columns) in columns() {
            canvas.text(line, column, &cell(group), Tone::Plain);
            column += columns;
        }
        line += 1;
    }
}
