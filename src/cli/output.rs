//! What the program gives out: data to standard output as text, JSON or CSV; messages and progress to standard error;
//! the exit code. Nothing else prints, and nothing else writes JSON; CSV is put together in `csv_writer`.

use crate::app::failure::{Failure, FailureKind};
use crate::text::clean::{harmless_json, shown_lines};
use serde::Serialize;
use serde_json::ser::{Formatter, PrettyFormatter};
use serde_json::{Serializer, Value};
use std::borrow::Cow;
use std::io;
use std::io::{ErrorKind, Write};
use std::path::Path;
use std::process::ExitCode;

/// How the program ended. Scripts rely on the codes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Done as asked.
    Done,
    /// It could not be done.
    Could,
    /// The command was not understood.
    Usage,
    /// `check` found faults.
    Faults,
    /// Ended by this signal.
    Signal(u8),
}

impl Exit {
    /// The number that the shell sees.
    #[must_use]
    pub fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Could => 1,
            Self::Usage => 2,
            Self::Faults => 3,
            Self::Signal(number) => 128_u8.saturating_add(number),
        }
    }
}

impl From<FailureKind> for Exit {
    fn from(kind: FailureKind) -> Self {
        match kind {
            FailureKind::Usage => Self::Usage,
            FailureKind::Could => Self::Could,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}

/// Number of the signal of a pipe whose reader went away.
const SIGPIPE: u8 = 13;

/// Writes data in words, with line breaks and no other control in it, whatever the journal holds. A
/// reader that went away ends the program quietly.
///
/// # Errors
/// The exit that a failed write asks for, already told on standard error if it can be.
pub fn data(text: &str) -> Result<(), Exit> {
    exact(&shown_lines(text))
}

/// Writes data as it is: for JSON and CSV, which are made harmless as they are put together.
///
/// # Errors
/// As [`data`].
pub fn exact(text: &str) -> Result<(), Exit> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Err(Exit::Signal(SIGPIPE)),
        Err(error) => {
            say(&format!(
                "struck: standard output could not be written ({error}).\n"
            ));
            Err(Exit::Could)
        }
    }
}

/// The last part of a file's path, for a sentence.
#[must_use]
pub fn file_name(path: &Path) -> Cow<'_, str> {
    path.file_name().unwrap_or_default().to_string_lossy()
}

/// Says something beside the data, as harmless as [`data`]. If even that fails there is nobody left to tell.
pub fn say(text: &str) {
    draw(&shown_lines(text));
}

/// Draws on the line of progress, with controls of our own.
pub fn draw(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}

/// Tells a failure and gives the exit that it asks for.
pub fn failed(failure: &Failure) -> Exit {
    let mut text = format!("struck: {}\n", failure.message);
    for hint in &failure.hints {
        text.push_str(&format!("  {hint}\n"));
    }
    say(&text);
    failure.kind.into()
}

/// Version of the shape of all JSON output, given as `struck` at its top. It rises when a figure moves or changes
/// its meaning; a new figure beside the others leaves it as it is.
const SHAPE: u64 = 1;

/// Writes an answer, indented, with a newline at its end: the version of the shape first, every number rounded.
///
/// # Errors
/// The exit that a failed write asks for.
pub fn json<T: Serialize>(answer: &T) -> Result<(), Exit> {
    json_without::<(), T>(None, answer)
}

/// As [`json`], of an answer that rests on a journal: the files of it that could not be read come second, as `unread`.
///
/// # Errors
/// The exit that a failed write asks for.
pub fn json_without<M: Serialize, T: Serialize>(
    unread: Option<&[M]>,
    answer: &T,
) -> Result<(), Exit> {
    let struck = SHAPE;
    // What has no fields of its own to stand beside these cannot be put among them.
    let text = json_text(&WithFields {
        struck,
        unread,
        answer,
    });
    let text = text.or_else(|_| {
        json_text(&WithAnswer {
            struck,
            unread,
            answer,
        })
    });
    let text = text.map_err(|error| {
        say(&format!(
            "struck: the answer could not be put into JSON ({error}).\n"
        ));
        Exit::Could
    })?;
    exact(&harmless_json(&text))
}

/// An answer of several fields, those that every answer has before them.
#[derive(Serialize)]
struct WithFields<'a, M, T> {
    struck: u64,
    #[serde(skip_serializing_if = "Option::is_none")]
    unread: Option<&'a [M]>,
    #[serde(flatten)]
    answer: &'a T,
}

/// An answer that is one value.
#[derive(Serialize)]
struct WithAnswer<'a, M, T> {
    struck: u64,
    #[serde(skip_serializing_if = "Option::is_none")]
    unread: Option<&'a [M]>,
    answer: &'a T,
}

/// A value as indented JSON with a newline at its end, every number rounded, written as it is gone through: an answer may have
/// a million numbers.
fn json_text(value: &impl Serialize) -> serde_json::Result<String> {
    let mut bytes = Vec::new();
    let form = RoundedNumbers(PrettyFormatter::new());
    value.serialize(&mut Serializer::with_formatter(&mut bytes, form))?;
    bytes.push(b'\n');
    String::from_utf8(bytes).map_err(serde::ser::Error::custom)
}

/// Indented JSON, its numbers rounded as [`json_number`] does.
struct RoundedNumbers(PrettyFormatter<'static>);

/// Methods that are those of indented JSON.
macro_rules! indented {
    ($($method:ident($($first:ident: bool)?),)*) => {$(
        fn $method<W: ?Sized + Write>(&mut self, out: &mut W $(, $first: bool)?) -> io::Result<()> {
            self.0.$method(out $(, $first)?)
        }
    )*};
}

impl Formatter for RoundedNumbers {
    fn write_f32<W: ?Sized + Write>(&mut self, out: &mut W, value: f32) -> io::Result<()> {
        self.write_f64(out, f64::from(value))
    }

    fn write_f64<W: ?Sized + Write>(&mut self, out: &mut W, value: f64) -> io::Result<()> {
        match json_number(value) {
            Value::Number(number) => write!(out, "{number}"),
            _ => self.write_null(out),
        }
    }

    indented! {
        begin_array(), end_array(), begin_array_value(first: bool), end_array_value(),
        begin_object(), end_object(), begin_object_key(first: bool), begin_object_value(), end_object_value(),
    }
}

/// The value with each of its numbers rounded as [`json_number`] does.
pub(super) fn rounded(value: Value) -> Value {
    match value {
        Value::Number(given) if given.is_f64() => given.as_f64().map_or(Value::Null, json_number),
        Value::Array(items) => items.into_iter().map(rounded).collect(),
        Value::Object(fields) => {
            let fields = fields.into_iter();
            Value::Object(fields.map(|(name, value)| (name, rounded(value))).collect())
        }
        other => other,
    }
}

/// Writes a line that is JSON already, with a newline at its end.
///
/// # Errors
/// The exit that a failed write asks for.
pub fn json_line(json: &str) -> Result<(), Exit> {
    exact(&format!("{}\n", harmless_json(json)))
}

/// A number rounded to nine significant digits, so that the last bits of two machines' arithmetic do
/// not show; what is not finite is null, since JSON has no word for it.
#[must_use]
pub fn json_number(value: f64) -> Value {
    if !value.is_finite() {
        return Value::Null;
    }
    // Whole numbers of so few digits are what they would be rounded to.
    let is_short = value.fract() == 0.0 && value.abs() < 1e8;
    let rounded: f64 = match is_short {
        true => value,
        false => format!("{value:.8e}").parse().unwrap_or(value),
    };
    if rounded.fract() == 0.0 && rounded.abs() < 1e15 {
        Value::from(rounded as i64)
    } else {
        Value::from(rounded)
    }
}

/// The progress of long work. It is shown on a terminal alone: a pipe gets nothing.
#[derive(Debug)]
pub struct Progress {
    watched: bool,
    what: &'static str,
    shown: Option<u64>,
}

impl Progress {
    /// The progress of a work that `what` names, as `reading`; shown only if somebody watches.
    #[must_use]
    pub fn new(watched: bool, what: &'static str) -> Self {
        Self {
            watched,
            what,
            shown: None,
        }
    }

    /// Shows how much of the whole is done, in per cent.
    pub fn at(&mut self, done: u64, whole: u64) {
        let percent = done
            .saturating_mul(100)
            .checked_div(whole)
            .unwrap_or(0)
            .min(100);
        if self.watched && self.shown != Some(percent) && percent < 100 {
            self.shown = Some(percent);
            draw(&format!("\r{} {percent} %", self.what));
        }
    }

    /// Shows how much is done where the whole is not known.
    pub fn count(&mut self, done: u64) {
        if self.watched {
            self.shown = Some(done);
            draw(&format!("\r{} {done}", self.what));
        }
    }

    /// Takes the line away again.
    pub fn end(&mut self) {
        if self.shown.take().is_some() {
            draw("\r\u{1b}[K");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_as_documented() {
        let codes = [
            Exit::Done,
            Exit::Could,
            Exit::Usage,
            Exit::Faults,
            Exit::Signal(15),
        ];
        assert_eq!(codes.map(Exit::code), [0, 1, 2, 3, 143]);
    }
}
