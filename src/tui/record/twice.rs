//! The word that the very same was entered today already: said while it is typed, and it stops nobody.

use crate::model::at::At;
use crate::model::entry::Kind;
use crate::tui::common::Common;

/// When and by whom the same as one of these was entered today; nothing if nothing was. Equal trays
/// are stuck one after the other, so that a sticking is never meant.
#[must_use]
pub fn said<'a>(kinds: impl Iterator<Item = &'a Kind>, common: &Common) -> Option<String> {
    let today = common.today();
    let entered = common.book.entries().iter().rev();
    // They stand in the order of their days; a few may be dated ahead.
    let of_today: Vec<_> = entered
        .skip_while(|standing| standing.entry.at.day() > today)
        .take_while(|standing| standing.entry.at.day() == today)
        .collect();
    let mut kinds = kinds.filter(|kind| !matches!(kind, Kind::Stick(_)));
    let twin = kinds.find_map(|kind| {
        let mut same = of_today.iter();
        same.find(|standing| standing.entry.kind == *kind)
    })?;
    let when = match twin.entry.at {
        At::Time(time) => time.format(" %H:%M").to_string(),
        At::Day(_) => String::new(),
    };
    let by = twin.entry.by.as_ref().map(|by| format!(" by {by}"));
    Some(format!(
        "Same as entered today{when}{}.",
        by.unwrap_or_default()
    ))
}
