//! Typed lines read into entries, with all that is said about them before they are saved: what was understood, what is
//! doubtful, and the cautions where a hazard is recorded (one line, once a day, person and thing). It writes nothing.

use super::typing::TypedLine;
use crate::input::bench_line;
use crate::input::bench_line::{LineProblem, LineReading, Now};
use crate::model::at::At;
use crate::model::entry::{Entry, Kind};
use crate::model::id::Id;
use crate::model::value::FieldType;
use crate::text::cautions::{DueCaution, cautions_due};
use crate::text::faults::entry_sentence;
use crate::tui::canvas::{Canvas, Tone};
use crate::tui::common::Common;
use crate::tui::effect::{Act, Effect, NewEntry};

/// Stands for a code that the desk is going to give.
const TO_COME: &str = "00-000";

/// Reads a line as of now.
#[must_use]
pub fn read(line: &str, common: &Common) -> LineReading {
    let offset = *common.now.offset();
    let now = Now {
        at: common.now,
        offset_at: &|_| offset,
    };
    bench_line::read(line, &common.vocabulary, &now)
}

/// What was understood and what was not: words to show, the second part pressing. What is on offer says by itself
/// that the word typed so far is another.
#[must_use]
pub fn explained(readings: &[LineReading], typing: &TypedLine) -> (Vec<String>, Vec<String>) {
    let mut good = Vec::new();
    let mut bad = Vec::new();
    for reading in readings {
        let said = reading.say_back();
        let wrong = reading.complaints();
        let lines = said.lines().map(str::to_owned);
        good.extend(lines.filter(|line| !wrong.contains(line)));
        let answered: Vec<String> = reading
            .doubts
            .iter()
            .filter(|doubt| typing.has_on_offer(doubt))
            .map(LineProblem::sentence)
            .collect();
        bad.extend(wrong.into_iter().filter(|line| !answered.contains(line)));
    }
    (good, bad)
}

/// A warning if the day that the line names has yet to come.
#[must_use]
pub fn ahead(reading: &LineReading, common: &Common) -> Option<String> {
    let day = At::read(reading.value("at")?)?.day();
    common.calendar().yet_to_come(day)
}

/// The entries of these readings in one act.
///
/// # Errors
/// The first thing that keeps them from being entries.
pub fn act(readings: &[LineReading], common: &Common) -> Result<Act, String> {
    let mut at: Option<At> = None;
    let mut entries = Vec::new();
    for reading in readings {
        if !reading.is_whole() {
            let problem = reading.problems.first().map(|problem| problem.sentence());
            let wrong = problem.or_else(|| reading.complaints().pop());
            return Err(wrong.unwrap_or_else(|| "Nothing was understood.".to_owned()));
        }
        let (entry, dated) = entry(reading, common)?;
        if dated {
            at = Some(entry.at);
        }
        entries.push(NewEntry {
            kind: entry.kind,
            note: entry.note.map(Into::into),
        });
    }
    Ok(Act {
        at,
        entries,
        summary: String::new(),
    })
}

/// The entry of a whole reading, a code to come left blank for the desk; and whether its time was said.
///
/// # Errors
/// Why it is none.
pub fn entry(reading: &LineReading, common: &Common) -> Result<(Entry, bool), String> {
    let now = At::Time(common.now);
    let fields = reading.entry_fields(&now, Some(TO_COME));
    let dated = reading.value("at").is_some();
    let mut entry =
        Entry::from_fields(fields, || Id::from_ulid(0)).map_err(|fault| entry_sentence(&fault))?;
    if reading.allots.is_some()
        && let Some(code) = entry.kind.code_begun_mut()
    {
        code.clear();
    }
    Ok((entry, dated))
}

/// Says when and by whom an equal entry was made today; nothing if none was. A sticking is left out, since equal trays are
/// often stuck one after the other.
#[must_use]
pub fn same_today<'a>(kinds: impl Iterator<Item = &'a Kind>, common: &Common) -> Option<String> {
    let of_today = common.entries_of(common.today());
    let mut kinds = kinds.filter(|kind| !matches!(kind, Kind::Stick(_)));
    let twin = kinds.find_map(|kind| {
        let mut same = of_today.iter().rev();
        same.find(|it| it.entry.name() == kind.name() && it.entry.kind() == *kind)
    })?;
    let when = match twin.entry.at {
        At::Time(time) => time.format(" %H:%M").to_string(),
        At::Day(_) => String::new(),
    };
    let by = twin.entry.by().map(|by| format!(" by {by}"));
    Some(format!(
        "Same as entered today{when}{}.",
        by.unwrap_or_default()
    ))
}

/// The cautions that these entries call for and that were not given today to this person.
#[must_use]
pub fn new_cautions<'a>(kinds: impl Iterator<Item = &'a Kind>, common: &Common) -> Vec<DueCaution> {
    let mut out: Vec<DueCaution> = Vec::new();
    for caution in kinds.flat_map(|kind| cautions_due(kind, &common.book)) {
        let key = (common.today(), common.by.clone(), caution.key.clone());
        if !common.cautioned.contains(&key) && !out.contains(&caution) {
            out.push(caution);
        }
    }
    out
}

/// Notes that the cautions of these entries were given. Gives the effect that keeps this for later sittings, if any is new.
#[must_use]
pub fn note_cautions_given(entries: &[NewEntry], common: &mut Common) -> Option<Effect> {
    let given = new_cautions(entries.iter().map(|new| &new.kind), common);
    if given.is_empty() {
        return None;
    }
    let (day, by) = (common.today(), common.by.clone());
    let keys = given.into_iter().map(|it| (day, by.clone(), it.key));
    common.cautioned.extend(keys);
    Some(Effect::Remember(common.memory()))
}

/// Draws the lines due; gives the row after them.
pub fn draw_cautions(due: &[DueCaution], row: usize, canvas: &mut Canvas<'_>) -> usize {
    let lines = due.iter();
    lines.fold(row, |row, caution| {
        canvas.wrapped(row, 2, &caution.line, Tone::Caution)
    })
}
