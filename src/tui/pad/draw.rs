//! Draws the look pad: the batch, what is typed, the boxes, the remainder, the mends. It changes nothing.

use super::look::PadLook;
use crate::fold::batch::Batch;
use crate::input::look_pad::BOXES;
use crate::text::bench::seen_words;
use crate::text::clean::width;
use crate::text::short::short;
use crate::tui::bench::rows::short_code;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::canvas::draw_strip;
use crate::tui::common::Common;
use crate::tui::field::TextField;
use crate::tui::record::reading::same_today;

/// Columns of one box: its letter, its label, its number.
const BOX: usize = 16;
/// Columns of the letter and the label.
const LABEL: usize = 2 + 10;

/// Draws the look pad; `how_far` says how far the round has come. Gives the row below it.
pub fn pad(
    batch: &Batch,
    look: &PadLook<'_>,
    field: &TextField,
    how_far: Option<String>,
    common: &Common,
    canvas: &mut Canvas<'_>,
) -> usize {
    let mut row = batch_lines(batch, how_far.as_deref(), common, canvas);
    row = type_line(field, row, canvas);
    row = boxes(look, row, canvas);
    row = remainder(look, row, common, canvas);
    row = mends(look, row, common, canvas);
    signs(row, canvas);
    row
}

/// What else the pad understands, and what it means.
pub const SIGNS: [(&str, &str); 10] = [
    ("18p", "potted"),
    ("hr", "half rooted"),
    ("g", "rest given up"),
    ("s", "rest stuck again"),
    ("t", "tugged"),
    ("u", "pot's holes"),
    ("+14", "look again"),
    ("y", "looked, no count"),
    ("3 Jun", "its day"),
    ("\"dry", "a note"),
];

/// The signs at the foot, where nothing that is typed reaches; none where there is no room for all of them.
fn signs(row: usize, canvas: &mut Canvas<'_>) {
    let mut places = Vec::new();
    let (mut line, mut column) = (0, 0);
    for (sign, what) in SIGNS {
        let wide = width(sign) + 1 + width(what);
        if column > 0 && column + wide > canvas.width() {
            (line, column) = (line + 1, 0);
        }
        places.push((line, column));
        column += wide + 2;
    }
    // Two rows stay for what may be said of the sum.
    let first = canvas.height().saturating_sub(line + 1);
    if first < row + 2 {
        return;
    }
    for ((sign, what), (line, column)) in SIGNS.into_iter().zip(places) {
        let end = canvas.text(first + line, column, sign, Tone::Key);
        canvas.text(first + line, end + 1, what, Tone::Plain);
    }
}

fn batch_lines(
    batch: &Batch,
    how_far: Option<&str>,
    common: &Common,
    canvas: &mut Canvas<'_>,
) -> usize {
    let calendar = common.calendar();
    let code = short_code(&batch.code, calendar);
    let day = format!("day {}", (common.today() - batch.stuck_on).num_days());
    let right = match how_far {
        Some(far) => format!("{day}  {far}"),
        None => day,
    };
    let room = canvas
        .width()
        .saturating_sub(width(&code) + width(&right) + 2);
    let name = short(&[&batch.taxon], room, canvas.ink().glyphs);
    let end = canvas.text(0, 0, &code, Tone::Heading);
    canvas.text(
        0,
        end + 1,
        name.first().map_or("", String::as_str),
        Tone::Heading,
    );
    canvas.right(0, 0, &right, Tone::Plain);
    draw_strip(&batch.counts, canvas.width(), 1, 0, canvas);
    let remain = batch.counts.remain();
    let seen = match seen_words(batch, calendar) {
        Some((words, when)) => format!("{remain} here; {when}: {words}"),
        None => format!("{remain} here; no look yet"),
    };
    canvas.text(2, 0, &seen, Tone::Plain);
    if common.is_low() { 3 } else { 4 }
}

/// The typed text with its cursor; gives the row after it.
fn type_line(field: &TextField, row: usize, canvas: &mut Canvas<'_>) -> usize {
    canvas.field(row, 0, field);
    row + 1
}

fn boxes(look: &PadLook<'_>, row: usize, canvas: &mut Canvas<'_>) -> usize {
    let across = (canvas.width() / BOX).clamp(1, BOXES.len());
    let down = BOXES.len().div_ceil(across);
    for (at, one) in BOXES.iter().enumerate() {
        // Down, then across: the order of typing is the order of reading a column.
        let (line, column) = (row + at % down, at / down * BOX);
        canvas.text(line, column, &one.letter.to_string(), Tone::Key);
        let label = one.label.replace("roots at", "to");
        canvas.text(line, column + 2, &label, Tone::Plain);
        if let Some(n) = look.reading.boxes[at] {
            canvas.text(line, column + LABEL, &n.to_string(), Tone::Heading);
        }
        let guess = look
            .reading
            .about
            .iter()
            .find(|(stage, _)| is_stage(at, stage));
        if let Some((_, guess)) = guess {
            canvas.text(line, column + LABEL - 2, guess.word(), Tone::Heading);
        }
    }
    row + down
}

fn is_stage(at: usize, stage: &str) -> bool {
    matches!(BOXES[at].counts, crate::input::look_pad::PadCount::Stage(field) if field == stage)
}

fn remainder(look: &PadLook<'_>, row: usize, common: &Common, canvas: &mut Canvas<'_>) -> usize {
    let remain = look.remain();
    let mut parts: Vec<String> = Vec::new();
    match look.rest() {
        Some(rest) if look.unseen => parts.push(format!("not looked at {rest} of {remain}")),
        Some(rest) => parts.push(format!("{} {rest} of {remain}", look.bare())),
        None if look.over() > 0 => parts.push(format!("too many: {}", look.over())),
        None => parts.push(format!("a guess at {remain}")),
    }
    parts.extend(look.reading.how.map(|how| how.word().to_owned()));
    parts.extend(look.reading.potted.map(|n| format!("potted {n}")));
    parts.extend(
        look.leaving()
            .map(|(n, why)| format!("{} {n}", why.word().replace('-', " "))),
    );
    let again = look.reading.again_on.map(|day| common.calendar().day(day));
    parts.extend(again.map(|day| format!("again {day}")));
    parts.extend(
        look.at
            .map(|at| format!("of {}", common.calendar().at(&at))),
    );
    let meaning = if look.wrong().is_some() {
        Tone::Pressing
    } else {
        Tone::Plain
    };
    canvas.text(row, 0, &parts.join(", "), meaning);
    row + 1
}

fn mends(look: &PadLook<'_>, row: usize, common: &Common, canvas: &mut Canvas<'_>) -> usize {
    let mut row = row;
    if look.over() > 0 && !look.more {
        let end = canvas.text(row, 0, "=", Tone::Key);
        let mend = format!(" the number stuck was {} more", look.over());
        canvas.text(row, end, &mend, Tone::Plain);
        row += 1;
    }
    if let Some(wrong) = look.wrong() {
        row = canvas.wrapped(row, 0, &wrong, Tone::Pressing);
    } else if look.more {
        let said = format!("The number stuck is amended by {} as well.", look.over());
        row = canvas.wrapped(row, 0, &said, Tone::Plain);
    } else if look.at.is_none()
        && let Ok(act) = look.act()
        && let Some(same) = same_today(act.entries.iter().map(|new| &new.kind), common)
    {
        row = canvas.wrapped(row, 0, &same, Tone::Pressing);
    }
    row
}

#[cfg(test)]
mod tests {
    use super::SIGNS;
    use crate::input::look_pad::read;
    use crate::input::pad_tail;
    use chrono::NaiveDate;

    #[test]
    fn the_pad_understands_every_sign_that_it_tells_of() {
        for (sign, what) in SIGNS {
            let text = pad_tail::read(sign, Default::default());
            let reading = read(text.counts, Some(24), NaiveDate::default());
            let counted = reading.boxes.iter().any(Option::is_some) || !reading.about.is_empty();
            let leaves = reading.potted.is_some() || reading.rest.is_some();
            let meant = counted || leaves || reading.again_on.is_some() || reading.how.is_some();
            let meant = meant || text.at.is_some() || text.note.is_some();
            assert!(meant && reading.problems.is_empty(), "{sign} {what}");
        }
    }
}
