//! The batches of one arm, or those left out with their reasons; each opens its life. It computes nothing.

use super::scale::at_horizon;
use crate::analysis::trials::answer::Comparison;
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::model::id::Id;
use crate::text::clean::width;
use crate::text::short::short;
use crate::text::verdicts;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::common::Common;
use crate::tui::keys::{Command, KeyContext};
use crate::tui::paging::moved;
use crate::tui::picture::draw_strip;
use crate::tui::screen::{RecordingSubject, Screen, Turn};
use std::sync::Arc;

/// A batch with the reason why it is left out, if it is.
#[derive(Clone, Debug)]
struct Row {
    key: Id,
    reason: Option<String>,
    batch: Option<Arc<Batch>>,
}

/// The list.
#[derive(Debug)]
pub struct ArmScreen {
    title: String,
    horizon: Option<u32>,
    milestone: Milestone,
    rows: Vec<Row>,
    chosen: usize,
}

impl ArmScreen {
    /// The batches of an arm, as of the horizon.
    #[must_use]
    pub fn arm(it: &Comparison, arm: usize) -> Self {
        let arm = &it.arms[arm];
        let row = |key: &Id| Row {
            key: key.clone(),
            reason: None,
            batch: None,
        };
        let day = it
            .basis
            .day()
            .map_or_else(String::new, |day| format!(", day {day}"));
        Self {
            title: format!("{}{day}", arm.name),
            horizon: it.basis.day(),
            milestone: it.milestone,
            rows: arm.batches.iter().map(row).collect(),
            chosen: 0,
        }
    }

    /// The batches left out.
    #[must_use]
    pub fn left_out(it: &Comparison) -> Self {
        let each = it.left_out.iter();
        let rows = each.map(|left| Row {
            key: left.id.clone(),
            reason: Some(verdicts::left_out(&left.reason)),
            batch: None,
        });
        Self {
            title: "Left out of the comparison".to_owned(),
            horizon: None,
            milestone: it.milestone,
            rows: rows.collect(),
            chosen: 0,
        }
    }

    /// The title takes a line on every screen: the heading's, or on a low one a line of the list's.
    fn page(common: &Common) -> usize {
        let title = usize::from(common.is_low());
        (common.body().saturating_sub(title) / tall(common)).max(1)
    }

    /// How a batch had fared by the horizon: its strip, and how many of it had reached the milestone.
    fn fared(&self, batch: &Batch, (row, from): (usize, usize), canvas: &mut Canvas<'_>) {
        let counts = at_horizon(batch, self.horizon);
        let [_, callused, rooted, bottom] = counts.bench;
        let reached = match self.milestone {
            Milestone::Callus => callused + rooted + bottom + counts.potted,
            Milestone::Root => rooted + bottom + counts.potted,
            Milestone::Bottom => bottom,
        };
        let done = verdicts::done(self.milestone);
        let said = format!("{reached} of {} {done}", counts.stuck);
        let room = canvas.width().saturating_sub(from + width(&said) + 2);
        let room = room.min(60);
        draw_strip(&counts, room, row, from, canvas);
        canvas.text(row, from + room + 2, &said, Tone::Plain);
    }
}

/// Lines to a batch: two where nothing may stand side by side.
fn tall(common: &Common) -> usize {
    if common.size.0 < 72 { 2 } else { 1 }
}

impl Screen for ArmScreen {
    fn context(&self) -> KeyContext {
        KeyContext::List
    }

    fn title(&self, _common: &Common) -> String {
        self.title.clone()
    }

    fn subject(&self, _common: &Common) -> RecordingSubject {
        RecordingSubject {
            batch: self.rows.get(self.chosen).map(|row| row.key.clone()),
            place: None,
        }
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let last = self.rows.len().saturating_sub(1);
        if command == Command::Open {
            return match self.rows.get(self.chosen) {
                Some(row) => Turn::open(crate::tui::batch::BatchScreen::new(row.key.clone())),
                None => Turn::stay(),
            };
        }
        self.chosen = moved(self.chosen, last, Self::page(common), command);
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        for row in &mut self.rows {
            row.batch = common.book.batch(&row.key).cloned();
        }
        Turn::stay()
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let head = usize::from(common.is_low());
        if head > 0 {
            canvas.text(0, 0, &self.title, Tone::Heading);
        }
        let (page, tall) = (Self::page(common), tall(common));
        let first = self.chosen / page * page;
        let shown: Vec<&Row> = self.rows.iter().skip(first).take(page).collect();
        let taxa: Vec<_> = shown
            .iter()
            .filter_map(|row| Some(&row.batch.as_ref()?.taxon))
            .collect();
        let room = if tall == 1 {
            24
        } else {
            canvas.width().saturating_sub(12)
        };
        let mut names = short(&taxa, room, canvas.ink().glyphs).into_iter();
        for (at, row) in shown.iter().enumerate() {
            let line = head + at * tall;
            let mark = if first + at == self.chosen { ">" } else { " " };
            canvas.text(line, 0, mark, Tone::Heading);
            let Some(batch) = &row.batch else { continue };
            let name = names.next().unwrap_or_default();
            let end = canvas.text(line, 2, &format!("{:<8}", batch.code), Tone::Plain);
            canvas.text(line, end + 1, &name, Tone::Plain);
            let (line, from) = if tall == 1 {
                (line, end + 26)
            } else {
                (line + 1, 4)
            };
            match &row.reason {
                Some(reason) => {
                    canvas.text(line, from, reason, Tone::Plain);
                }
                None => self.fared(batch, (line, from), canvas),
            }
        }
    }
}
