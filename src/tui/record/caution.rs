//! The cautions that stand where a hazard is recorded: one line, once a day, person and thing. They defer to
//! labels, local rules and licensed practice, and stop nobody.

use crate::model::entry::Kind;
use crate::text::cautions::{DueCaution, cautions_due};
use crate::tui::canvas::{Canvas, Tone};
use crate::tui::common::Common;
use crate::tui::effect::{Effect, NewEntry};

/// The cautions that these entries call for and that were not given today to this person.
#[must_use]
pub fn due<'a>(kinds: impl Iterator<Item = &'a Kind>, common: &Common) -> Vec<DueCaution> {
    let mut out: Vec<DueCaution> = Vec::new();
    for caution in kinds.flat_map(|kind| cautions_due(kind, &common.book)) {
        let key = (common.today(), common.by.clone(), caution.key.clone());
        if !common.cautioned.contains(&key) && !out.contains(&caution) {
            out.push(caution);
        }
    }
    out
}

/// Notes that the cautions of these entries were given; what keeps that for later sittings, if any is new.
#[must_use]
pub fn given(entries: &[NewEntry], common: &mut Common) -> Option<Effect> {
    let given = due(entries.iter().map(|new| &new.kind), common);
    if given.is_empty() {
        return None;
    }
    let (day, by) = (common.today(), common.by.clone());
    let keys = given.into_iter().map(|it| (day, by.clone(), it.key));
    common.cautioned.extend(keys);
    Some(Effect::Remember(common.memory()))
}

/// Draws the lines due; gives the row after them.
pub fn draw(due: &[DueCaution], row: usize, canvas: &mut Canvas<'_>) -> usize {
    let lines = due.iter();
    lines.fold(row, |row, caution| {
        canvas.wrapped(row, 2, &caution.line, Tone::Caution)
    })
}
