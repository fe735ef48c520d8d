//! The frame around every screen: heading, note, hint line. Drawn from the state alone.

use super::canvas::Canvas;
use super::common::Common;
use super::ink::Meaning;
use super::keys::{self, Context};
use super::label;
use super::record::drafts;
use super::screen::Screen;
use super::state::State;
use crate::words::clean::width;
use ratatui::Frame;
use ratatui::layout::{Position, Rect};

/// Draws the state.
pub fn view(state: &State, frame: &mut Frame<'_>) {
    let area = frame.area();
    let mut cursor: Option<Position> = None;
    let ink = state.common.ink;
    let mut canvas = Canvas::new(frame.buffer_mut(), area, ink, &mut cursor);
    draw(state, area, &mut canvas);
    if let Some(cursor) = cursor {
        frame.set_cursor_position(cursor);
    }
}

fn draw(state: &State, area: Rect, canvas: &mut Canvas<'_>) {
    let (common, screen) = (&state.common, state.top());
    let height = usize::from(area.height);
    let head = usize::from(!common.is_low());
    let note = note_lines(common, usize::from(area.width), height);
    let foot = note.len() + 1;
    if head > 0 {
        heading(common, screen, &mut canvas.rows(0, 1));
    }
    let room = height.saturating_sub(head + foot);
    let offer = usize::from(common.offered.is_some());
    if let Some(draft) = &common.offered {
        let line = format!(
            "Left unfinished: {}. z takes it up, x throws it out.",
            drafts::words(draft, common)
        );
        canvas.text(head, 0, &line, Meaning::Pressing);
    }
    let mut body = canvas.rows(head + offer, room.saturating_sub(offer));
    if common.labels.is_empty() {
        screen.draw(common, &mut body);
    } else {
        label::draw(&common.labels, &mut body);
    }
    let meaning = common
        .note
        .as_ref()
        .map_or(Meaning::Plain, |note| note.meaning);
    for (at, line) in note.iter().enumerate() {
        canvas.text(head + room + at, 0, line, meaning);
    }
    hints(
        screen.context(),
        &mut canvas.rows(height.saturating_sub(1), 1),
    );
}

/// The note's lines as they fit: at most a third of the screen.
fn note_lines(common: &Common, columns: usize, rows: usize) -> Vec<String> {
    let Some(note) = &common.note else {
        return Vec::new();
    };
    let lines = note.lines.iter();
    let mut wrapped: Vec<String> = lines
        .flat_map(|line| super::canvas::wrap(line, columns))
        .collect();
    wrapped.truncate((rows / 3).max(1));
    wrapped
}

fn heading(common: &Common, screen: &dyn Screen, canvas: &mut Canvas<'_>) {
    let title = screen.title(common);
    let end = canvas.text(0, 0, &title, Meaning::Heading);
    let day = common.now.format("%a %-d %b %H:%M").to_string();
    let dot = canvas.ink().dot();
    let long = match common.by.as_str() {
        "" => format!("nobody named{dot}{day}"),
        by => format!("{by}{dot}{day}"),
    };
    let short = long.split(dot).next().unwrap_or_default().to_owned();
    let fits = |text: &str| width(text) + end < canvas.width();
    let shown = if fits(&long) { long } else { short };
    canvas.right(0, end + 1, &shown, Meaning::Plain);
}

/// As many keys as fit, in the order of the table.
fn hints(context: Context, canvas: &mut Canvas<'_>) {
    let help = keys::TABLE
        .iter()
        .find(|row| row.command == keys::Command::Help);
    let hinted = keys::live(context)
        .into_iter()
        .filter(|row| !row.hint.is_empty());
    let mut column = 0;
    let room = canvas.width();
    let spelled = |row: &keys::Key| row.presses[0].to_string();
    let needs = |row: &keys::Key| width(&spelled(row)) + 1 + width(row.hint);
    // The way to the help page stays whatever else has to go.
    let kept = help.filter(|_| context.layers().contains(&Context::Anywhere));
    let reserve = kept.map_or(0, |row| needs(row) + 2);
    let mut shown: Vec<&keys::Key> = Vec::new();
    for row in hinted.filter(|row| kept.is_none_or(|kept| kept.command != row.command)) {
        let next = column + needs(row) + 2;
        if next.saturating_sub(2) + reserve > room {
            break;
        }
        column = next;
        shown.push(row);
    }
    column = 0;
    for row in shown.into_iter().chain(kept) {
        let end = canvas.text(0, column, &spelled(row), Meaning::Key);
        column = canvas.text(0, end + 1, row.hint, Meaning::Plain) + 2;
    }
}
