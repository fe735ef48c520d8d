//! What stands inside a taxon, line by line: curves or ruler lines, the figures in words with what to bear
//! in mind, all its batches across seasons. It chooses nothing and computes no figure.

use super::one::One;
use super::{curves, words};
use crate::analysis::timeline::Group;
use crate::analysis::timeline::say::Reason;
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::text::figures::{day_range, percent_range};
use crate::tui::canvas::{Canvas, wrap};
use crate::tui::common::Common;
use crate::tui::ink::Meaning;
use crate::tui::screen::Screen;
use crate::tui::strip;

/// The lines of a taxon at a size of the screen.
pub(super) struct Told {
    /// Rows of the curves; none where ruler lines stand for them.
    tall: usize,
    /// Lines of the drawing on top, its heading included.
    drawn: usize,
    said: Vec<(String, Meaning)>,
    batches: usize,
}

impl Told {
    /// Of a taxon.
    pub(super) fn of(one: &One, common: &Common) -> Self {
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
            curves::RULER_ROWS + usize::from(common.is_low())
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
    pub(super) fn draw(&self, one: &One, common: &Common, canvas: &mut Canvas<'_>) {
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

    fn draw_top(&self, one: &One, common: &Common, canvas: &mut Canvas<'_>) {
        if self.tall > 0 {
            curves::curves(&one.group, one.banded, self.tall, canvas);
            return;
        }
        let head = usize::from(common.is_low());
        if head > 0 {
            canvas.text(0, 0, &one.title(common), Meaning::Heading);
        }
        curves::rulers(&one.group, head, canvas);
    }
}

fn batch_line(batch: &Batch, chosen: bool, row: usize, common: &Common, canvas: &mut Canvas<'_>) {
    let mark = if chosen { ">" } else { " " };
    canvas.text(row, 0, mark, Meaning::Heading);
    let age = (common.today() - batch.stuck_on).num_days();
    let age = if batch.is_open() {
        format!("d{age}")
    } else {
        "closed".into()
    };
    let lead = format!("{} {age:<6} ", batch.code);
    let end = canvas.text(row, 2, &lead, Meaning::Plain);
    let room = canvas.width().saturating_sub(end).min(60);
    strip::draw(&batch.counts, room, row, end, canvas);
}

/// The figures in words, the weightiest first.
fn sentences(one: &One, banded: bool) -> Vec<(String, Meaning)> {
    let group = &one.group;
    if one.none {
        let gone = "No batch of it that was looked at is meant now; these figures are of before.";
        return vec![(gone.into(), Meaning::Pressing)];
    }
    let mut out = vec![(
        format!("rooted % {}; {}", words::strike(group), words::size(group)),
        Meaning::Plain,
    )];
    out.extend(ahead(one).map(|line| (line, Meaning::Plain)));
    let cautions = group.cautions.iter();
    out.extend(cautions.map(|caution| (format!("! {caution}"), Meaning::Pressing)));
    if !one.ranged {
        let wait = "Working out how sure the curves and days are...";
        out.push((wait.into(), Meaning::Plain));
    } else if banded {
        out.push((band_words(group, one.banded), Meaning::Plain));
    }
    for milestone in [Milestone::Root, Milestone::Callus, Milestone::Bottom] {
        out.push((figure(group, milestone), Meaning::Plain));
    }
    let few = |reason: &&Reason| matches!(reason, Reason::FewReplicates { .. });
    let mut reasons = group.reasons.iter().map(|(_, reason)| reason);
    out.extend(
        reasons
            .find(few)
            .filter(|_| one.ranged)
            .map(|few| (format!("days: {few}"), Meaning::Plain)),
    );
    out
}

/// What is to come of those on the bench; nothing if none is there, or none of them is forecast.
fn ahead(one: &One) -> Option<String> {
    one.open().next()?;
    match one.ahead.as_deref() {
        None => Some("Working out how many more will root...".into()),
        Some("") => None,
        Some(ahead) => Some(format!("{ahead}.")),
    }
}

/// What the band is, or why there is none.
fn band_words(group: &Group, banded: Milestone) -> String {
    let word = banded.word();
    match group.of(banded).band.as_slice() {
        [] => format!("{word} has no band yet; o draws another's."),
        _ if group.size.replicates == 1 => format!(
            "{}: the 95 % band of {word}, of one replicate: the spread between batches is not in it; o draws another's.",
            curves::HAZE
        ),
        _ => format!(
            "{}: the 95 % band of {word}, each day by itself; o draws another's.",
            curves::HAZE
        ),
    }
}

/// One milestone in words: the share, the middle day and how sure they are, or why there is none.
fn figure(group: &Group, milestone: Milestone) -> String {
    let word = milestone.word();
    let figure = group.of(milestone);
    let Some(reached) = figure.reached else {
        let path = format!("milestones.{word}.reached");
        let why = group.reasons.iter().find(|(at, _)| *at == path);
        let why = why.map_or_else(|| "not known".into(), |(_, why)| why.to_string());
        return format!("{word}: {why}");
    };
    let share = percent_range(reached.value, reached.low, reached.high);
    let half = figure.of_reached.days[1].map(|d| {
        let range = day_range(d.after, d.by, d.at, d.low, d.high);
        format!("; half of these by {range}")
    });
    let half = half.unwrap_or_default();
    format!("{word}: {share} % by day {}{half}", reached.by_day)
}
