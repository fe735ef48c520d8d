//! Moving through a list that turns page by page. It draws nothing.

use super::keys::Command;

/// What is chosen after a command of a list, counted from 0, of rows up to `last` on pages of `page`;
/// the same for any other command.
#[must_use]
pub fn moved(chosen: usize, last: usize, page: usize, command: Command) -> usize {
    let page = page.max(1);
    let moved = match command {
        Command::Next => chosen + 1,
        Command::Previous => chosen.saturating_sub(1),
        Command::First => 0,
        Command::Last => last,
        Command::PageOn => (chosen / page + 1) * page,
        Command::PageBack => (chosen / page).saturating_sub(1) * page,
        _ => chosen,
    };
    moved.min(last)
}
