//! The frame around every screen: heading, note, hint line. Drawn from the state alone.

use super::canvas::{Canvas, Tone};
use super::common::Common;
use super::filter::filter_words;
use super::keys;
use super::keys::KeyContext;
use super::screen::{Screen, State};
use crate::text::clean::{fit, width};
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
    let above = above(screen.context(), common, &mut canvas.rows(head, 5));
    let mut body = canvas.rows(head + above, room.saturating_sub(above));
    if common.labels.is_empty() {
        screen.draw(common, &mut body);
    } else {
        draw_codes(&common.labels, &mut body);
    }
    let meaning = common
        .note
        .as_ref()
        .map_or(Tone::Plain, |note| note.meaning);
    for (at, line) in note.iter().enumerate() {
        canvas.text(head + room + at, 0, line, meaning);
    }
    let mut foot = canvas.rows(height.saturating_sub(1), 1);
    let kept = if is_heading_wide(common) {
        0
    } else {
        let who = who(screen.context(), common, &mut foot);
        let part = screen.part(common).unwrap_or_default();
        let before = foot.width().saturating_sub(who);
        let mut before = foot.columns(0, before);
        before.right(0, 0, &part, Tone::Plain);
        who + width(&part) + usize::from(!part.is_empty())
    };
    let room = foot.width().saturating_sub(kept);
    hints(screen, common, &mut foot.columns(0, room));
}

/// The lines between heading and screen: what only is shown, what was left unfinished. How many they are.
fn above(context: KeyContext, common: &Common, canvas: &mut Canvas<'_>) -> usize {
    let mut row = 0;
    for alarm in common.alarms() {
        canvas.text(row, 0, alarm, Tone::Pressing);
        row += 1;
    }
    if common.is_narrowed() {
        // The key stays whatever of the words has to go.
        let drop = ": # shows all";
        let words = format!("Only {}", filter_words(&common.filter));
        let room = canvas.width().saturating_sub(width(drop));
        let end = canvas.columns(0, room).text(row, 0, &words, Tone::Heading);
        canvas.text(row, end, drop, Tone::Plain);
        row += 1;
    }
    // Where letters are typed its keys are letters: it waits.
    let offer = common.offer();
    if let Some(words) = offer.filter(|_| context.layers().contains(&KeyContext::Anywhere)) {
        let [long, short] = common.offer_keys();
        if common.offered_rows() > 1 {
            canvas.text(row, 0, &words, Tone::Pressing);
            canvas.text(row + 1, 0, long, Tone::Pressing);
            return row + 2;
        }
        let fits = width(&words) + 2 + width(long) <= canvas.width();
        let keys = if fits { long } else { short };
        canvas.text(row, 0, &format!("{words}. {keys}"), Tone::Pressing);
        row += 1;
    }
    row
}

/// Columns from which who is entering stands in the heading; else on the last line.
const WIDE: u16 = 60;

fn is_heading_wide(common: &Common) -> bool {
    !common.is_low() && common.size.0 >= WIDE
}

/// Who is entering, at the right end of a row, behind the key that changes it where that is live; gives the
/// columns that it takes.
fn who(context: KeyContext, common: &Common, canvas: &mut Canvas<'_>) -> usize {
    let name = fit(common.who(), MOST_OF_WHO, canvas.ink().glyphs);
    let live = context.layers().contains(&KeyContext::Anywhere);
    let key = keys::TABLE
        .iter()
        .find(|row| live && row.command == keys::Command::By)
        .map_or_else(String::new, |row| format!("{} ", row.presses[0]));
    let takes = width(&key) + width(&name);
    let column = canvas.width().saturating_sub(takes);
    let end = canvas.text(0, column, &key, Tone::Key);
    canvas.text(0, end, &name, Tone::Plain);
    takes + 1
}

/// Columns that a name may take on the last line.
const MOST_OF_WHO: usize = 10;

/// The note's lines as they fit: at most a third of the screen.
fn note_lines(common: &Common, columns: usize, rows: usize) -> Vec<String> {
    let Some(note) = &common.note else {
        return Vec::new();
    };
    let lines = note.lines.iter();
    let mut wrapped: Vec<String> = lines
        .flat_map(|line| super::canvas::wrap(line, columns))
        .collect();
    let most = (rows / 3).max(1);
    if wrapped.len() > most {
        // What is left out is cut with a sign, as any text that is too long.
        let rest = wrapped.split_off(most - 1).join(" ");
        wrapped.push(rest);
    }
    wrapped
}

fn heading(common: &Common, screen: &dyn Screen, canvas: &mut Canvas<'_>) {
    let title = screen.title(common);
    let end = canvas.text(0, 0, &title, Tone::Heading);
    let day = common.now.format("%a %-d %b %H:%M").to_string();
    let dot = canvas.ink().dot();
    if !is_heading_wide(common) {
        canvas.right(0, end + 1, &day, Tone::Plain);
        return;
    }
    let live = screen.context().layers().contains(&KeyContext::Anywhere);
    let name = match common.by.as_str() {
        "" if live => "someone (b says who)".to_owned(),
        "" => "someone".to_owned(),
        by => fit(by, canvas.width() / 3, canvas.ink().glyphs),
    };
    let long = format!("{name}{dot}{day}");
    let fits = |text: &str| width(text) + end < canvas.width();
    let shown = if fits(&long) { long } else { name };
    // Who is entering is always seen: a long title gives way.
    let column = canvas.width().saturating_sub(width(&shown));
    if column <= end {
        canvas.text(0, column.saturating_sub(2), "  ", Tone::Plain);
    }
    canvas.text(0, column, &shown, Tone::Plain);
}

/// As many keys as fit, in the order of the table.
fn hints(screen: &dyn Screen, common: &Common, canvas: &mut Canvas<'_>) {
    let context = screen.context();
    let live = keys::live(context);
    let help = live
        .iter()
        .copied()
        .find(|row| row.command == keys::Command::Help);
    let hinted = live
        .into_iter()
        .filter(|row| !row.hint.is_empty() && !screen.is_idle(common, row.command))
        .filter(|row| row.command != keys::Command::Help || screen.typed_text().is_empty());
    let mut column = 0;
    let room = canvas.width();
    let spelled = |row: &keys::Key| row.presses[0].to_string();
    let needs = |row: &keys::Key| width(&spelled(row)) + 1 + width(row.hint);
    // The way to the help page stays whatever else has to go.
    let kept = help.filter(|_| context.layers().contains(&KeyContext::Anywhere));
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
        let end = canvas.text(0, column, &spelled(row), Tone::Key);
        column = canvas.text(0, end + 1, row.hint, Tone::Plain) + 2;
    }
}

/// Each sign in five rows of three cells, the top row in the highest bits.
const SIGNS: &[(char, u16)] = &[
    ('0', 0b111_101_101_101_111),
    ('1', 0b010_110_010_010_111),
    ('2', 0b111_001_111_100_111),
    ('3', 0b111_001_111_001_111),
    ('4', 0b101_101_111_001_001),
    ('5', 0b111_100_111_001_111),
    ('6', 0b111_100_111_101_111),
    ('7', 0b111_001_001_010_010),
    ('8', 0b111_101_111_101_111),
    ('9', 0b111_101_111_001_111),
    ('-', 0b000_000_111_000_000),
    ('a', 0b010_101_111_101_101),
    ('b', 0b110_101_110_101_110),
    ('c', 0b011_100_100_100_011),
    ('d', 0b110_101_101_101_110),
    ('e', 0b111_100_110_100_111),
    ('f', 0b111_100_110_100_100),
    ('g', 0b011_100_101_101_011),
    ('h', 0b101_101_111_101_101),
    ('j', 0b001_001_001_101_010),
    ('k', 0b101_101_110_101_101),
    ('m', 0b101_111_111_101_101),
    ('n', 0b110_101_101_101_101),
    ('p', 0b110_101_110_100_100),
    ('q', 0b010_101_101_011_001),
    ('r', 0b110_101_110_101_101),
    ('t', 0b111_010_010_010_010),
    ('u', 0b101_101_101_101_111),
    ('v', 0b101_101_101_101_010),
    ('w', 0b101_101_111_111_101),
    ('x', 0b101_101_010_101_101),
    ('y', 0b101_101_010_010_010),
    ('z', 0b111_001_010_100_111),
];

/// Rows of a large code.
pub const CODE_ROWS: usize = 5;

/// Draws the codes one under the other as far as they fit; a sign without a form stands as it is.
pub fn draw_codes(codes: &[String], canvas: &mut Canvas<'_>) {
    let needs = codes.len() * (CODE_ROWS + 1);
    if needs > canvas.height() {
        for (row, code) in codes.iter().enumerate() {
            canvas.text(row, 2, &spaced(code), Tone::Heading);
        }
        return;
    }
    for (at, code) in codes.iter().enumerate() {
        large(code, at * (CODE_ROWS + 1) + 1, canvas);
    }
}

fn large(code: &str, row: usize, canvas: &mut Canvas<'_>) {
    let mut column = 2;
    for sign in code.chars() {
        match SIGNS.iter().find(|(is, _)| *is == sign) {
            Some((_, form)) => {
                for line in 0..CODE_ROWS {
                    let bits = form >> (3 * (CODE_ROWS - 1 - line));
                    for cell in 0..3 {
                        if bits >> (2 - cell) & 1 == 1 {
                            canvas.text(row + line, column + cell, "#", Tone::Heading);
                        }
                    }
                }
            }
            None => {
                let shown = sign.to_uppercase().to_string();
                canvas.text(row + CODE_ROWS / 2, column + 1, &shown, Tone::Heading);
            }
        }
        column += 5;
    }
}

fn spaced(code: &str) -> String {
    code.chars().map(|c| format!("{c} ")).collect()
}
