//! What can be compared: the journal's trials, then its keys, wood stage first. One of them opens with its
//! arms. It computes nothing itself.

mod arms;
mod draw;
mod scale;

use super::canvas::Canvas;
use super::canvas::Tone;
use super::common::Common;
use super::effect::{Answer, Awaited, GoOn};
use super::keys::{Command, KeyContext};
use super::paging::moved;
use super::screen::{Screen, Turn};
use crate::analysis::trials::{Split, splits};
use crate::fold::Book;
use crate::fold::selection::Selection;
use crate::model::filter::{Filter, GroupKey};
use crate::text::clean::width;
use arms::ArmsScreen;
use scale::split_name;

/// The list of what can be compared.
#[derive(Debug, Default)]
pub struct TrialsScreen {
    asked: Awaited,
    splits: Option<Vec<Split>>,
    chosen: usize,
}

/// The arms by a key among the batches of a filter, from another screen.
#[must_use]
pub fn by(key: GroupKey, filter: Filter) -> impl Screen {
    ArmsScreen::new(key, filter)
}

/// Its arms with their batches: `softwood (10), semi-ripe (9)`.
fn arms(split: &Split) -> String {
    let each = split.arms.iter();
    let each: Vec<String> = each
        .map(|(arm, batches)| format!("{arm} ({batches})"))
        .collect();
    each.join(", ")
}

impl TrialsScreen {
    fn ask(&mut self, common: &Common) -> Turn {
        let about = Selection {
            filter: common.filter.clone(),
            ..Selection::default()
        };
        let rest = format!("{about:?}");
        let work = move |book: &Book, _: GoOn<'_>| Some(splits(book, &about));
        Turn::stay().also(common.ask(&mut self.asked, "splits", rest, work))
    }

    fn open(&self, common: &Common) -> Turn {
        let chosen = self.splits.as_ref().and_then(|all| all.get(self.chosen));
        let Some(split) = chosen else {
            return Turn::stay();
        };
        let mut filter = common.filter.clone();
        filter.trial = split.trial.clone().or(filter.trial);
        Turn::open(ArmsScreen::new(split.by, filter))
    }

    fn page(common: &Common) -> usize {
        (common.body() / tall(common)).max(1)
    }
}

/// Lines to a row: two where nothing may stand side by side.
fn tall(common: &Common) -> usize {
    if common.size.0 < 72 && !common.is_low() {
        2
    } else {
        1
    }
}

impl Screen for TrialsScreen {
    fn context(&self) -> KeyContext {
        KeyContext::List
    }

    fn title(&self, _common: &Common) -> String {
        "What to compare".to_owned()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let last = self.splits.as_ref().map_or(0, Vec::len).saturating_sub(1);
        let page = Self::page(common);
        if command == Command::Open {
            return self.open(common);
        }
        self.chosen = moved(self.chosen, last, page, command);
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        self.ask(common)
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(splits) = self.asked.taken::<Vec<Split>>(answer) {
            self.chosen = self.chosen.min(splits.len().saturating_sub(1));
            self.splits = Some(splits.clone());
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let Some(splits) = &self.splits else {
            canvas.text(0, 0, "Finding what can be compared...", Tone::Plain);
            return;
        };
        if splits.is_empty() {
            let none = "Nothing to compare yet. It takes two arms of one taxon, such as softwood and semi-ripe, \
                        both looked at. You can name a trial and its arms when you stick, as in: \
                        trial cover, arm box.";
            canvas.wrapped(0, 0, none, Tone::Plain);
            return;
        }
        let (page, tall) = (Self::page(common), tall(common));
        let first = self.chosen / page * page;
        let shown = splits.iter().enumerate().skip(first).take(page);
        let names = splits
            .iter()
            .map(|it| width(&split_name(it.trial.as_deref(), it.by)));
        let column = 4 + names.max().unwrap_or(0).min(canvas.width() / 2);
        for (at, split) in shown {
            let line = (at - first) * tall;
            let mark = if at == self.chosen { ">" } else { " " };
            canvas.text(line, 0, mark, Tone::Heading);
            let name = split_name(split.trial.as_deref(), split.by);
            if tall == 2 {
                canvas.text(line, 2, &name, Tone::Plain);
                canvas.text(line + 1, 4, &arms(split), Tone::Plain);
                continue;
            }
            if common.size.0 < 72 {
                let many = format!("{} arms", split.arms.len());
                let room = canvas.width().saturating_sub(many.len() + 1);
                canvas.columns(0, room).text(line, 2, &name, Tone::Plain);
                canvas.right(line, 4, &many, Tone::Plain);
                continue;
            }
            let mut left = canvas.columns(0, column - 1);
            left.text(line, 2, &name, Tone::Plain);
            canvas.text(line, column, &arms(split), Tone::Plain);
        }
    }
}
