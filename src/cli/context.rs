//! What every command needs: the surroundings, the journal to use, and how tables are drawn.

use super::answer::{AnswerBasis, missing_files};
use super::environment::Environment;
use super::output;
use super::output::{Exit, Progress};
use crate::app::clock::Clock;
use crate::app::desk::{Desk, JournalPresence, presence};
use crate::app::failure::Failure;
use crate::app::writer::Settings;
use crate::fold::Book;
use crate::input::when::DayLean;
use crate::model::at::At;
use crate::text::clean::{Charset, shown, wrap};
use chrono::NaiveDate;
use serde::Serialize;
use std::mem::ManuallyDrop;
use std::path::{Path, PathBuf};

/// What every command needs.
pub struct Context {
    /// The surroundings.
    pub environment: Environment,
    /// The journal named on the command line.
    pub journal: Option<PathBuf>,
    /// Whether a journal may be begun anew where there was one before.
    pub new_journal: bool,
    /// Characters that may be shown.
    pub charset: Charset,
    /// What the journal lacks that the answer rests on.
    pub basis: AnswerBasis,
}

impl Context {
    /// A text as lines that fit the width, each ended.
    pub fn lines(&self, text: &str) -> String {
        let lines = wrap(text, self.environment.width, self.charset);
        lines.iter().map(|line| format!("{line}\n")).collect()
    }

    /// A text behind a sign, as lines that fit the width; those that run on are set in by as much.
    pub fn behind(&self, sign: &str, text: &str) -> String {
        let room = self.environment.width.saturating_sub(sign.len());
        let lines = wrap(text, room, self.charset);
        let before = |at| {
            if at == 0 {
                sign.to_owned()
            } else {
                " ".repeat(sign.len())
            }
        };
        let lines = lines.iter().enumerate();
        lines
            .map(|(at, line)| format!("{}{line}\n", before(at)))
            .collect()
    }

    /// Opens the journal to read. It is not taken down at the end: the process ends then, and giving back a large journal
    /// piece by piece takes a tenth of the time that reading it took.
    ///
    /// # Errors
    /// If it cannot be opened.
    pub fn open(&self) -> Result<ManuallyDrop<Desk>, Failure> {
        self.reading(Desk::open).map(ManuallyDrop::new)
    }

    /// Opens by that way, with progress where somebody watches.
    fn reading(
        &self,
        open: impl FnOnce(Settings, Clock, &mut dyn FnMut(u64)) -> Result<Desk, Failure>,
    ) -> Result<Desk, Failure> {
        let settings = self.environment.settings(self.journal.as_deref())?;
        let mut progress = Progress::new(self.environment.watched, "lines read:");
        let clock = self.environment.clock()?;
        let desk = open(settings, clock, &mut |lines| progress.count(lines));
        progress.end();
        let desk = desk?;
        self.basis.note(missing_files(&desk));
        Ok(desk)
    }

    /// Opens the journal and works an answer out of it, with progress where somebody watches.
    ///
    /// # Errors
    /// If the journal cannot be opened.
    pub fn work_out<T>(
        &self,
        what: &'static str,
        work: impl FnOnce(&Book, &mut dyn FnMut(usize, usize) -> bool) -> T,
    ) -> Result<T, Failure> {
        let desk = self.open()?;
        let mut progress = Progress::new(self.environment.watched, what);
        let answer = work(desk.book(), &mut |done, whole| {
            progress.at(done as u64, whole as u64);
            true
        });
        progress.end();
        Ok(answer)
    }

    /// Opens the journal to write in. Where none is there, the first entry saved begins one; where there was one before,
    /// that must be asked for in so many words.
    ///
    /// # Errors
    /// If it cannot be opened, or may not be begun.
    pub fn open_to_write(&self) -> Result<Desk, Failure> {
        let settings = self.environment.settings(self.journal.as_deref())?;
        if presence(&settings) == JournalPresence::Gone && !self.new_journal {
            return Err(gone(&settings.journal));
        }
        self.open_or_empty()
    }

    /// Where the journal lies that is to be written in for long, and the clock. Where none is there, `agreed` hears where one
    /// would be begun and says whether it may be; where there was one before, it must be asked for in so many words.
    ///
    /// # Errors
    /// If it may not be begun, or the time zone is not known.
    pub fn to_open_or_begin(
        &self,
        agreed: impl FnOnce(&Path) -> Result<(), Failure>,
    ) -> Result<(Settings, Clock), Failure> {
        let settings = self.environment.settings(self.journal.as_deref())?;
        match presence(&settings) {
            JournalPresence::There => {}
            _ if self.new_journal => {}
            JournalPresence::NeverBegun => agreed(&settings.journal)?,
            JournalPresence::Gone => return Err(gone(&settings.journal)),
        }
        Ok((settings, self.environment.clock()?))
    }

    /// Opens the journal, or an empty one if it is not there. Nothing is made before an entry is saved.
    ///
    /// # Errors
    /// If it is there but cannot be opened.
    pub fn open_or_empty(&self) -> Result<Desk, Failure> {
        self.reading(Desk::open_or_empty)
    }

    /// Prints an answer in words.
    ///
    /// # Errors
    /// The exit that a failed write asks for.
    pub fn print_text(&self, text: &str) -> Result<(), Exit> {
        let head = self.basis.head_once();
        let gap = if head.is_empty() { "" } else { "\n" };
        output::data(&format!("{head}{gap}{text}"))
    }

    /// Prints an answer as JSON: the files that could not be read stand under `unread`.
    ///
    /// # Errors
    /// The exit that a failed write asks for.
    pub fn print_json<T: Serialize>(&self, answer: &T) -> Result<(), Exit> {
        self.basis.say();
        let missing = self.basis.missing();
        output::json_without(missing.as_deref(), answer)
    }

    /// Prints an answer as CSV, which has no room for words: the files that could not be read are told on standard error.
    ///
    /// # Errors
    /// The exit that a failed write asks for.
    pub fn print_csv(&self, table: &str) -> Result<(), Exit> {
        self.basis.say();
        output::exact(table)
    }

    /// A day as typed: `yesterday`, `3 Jun`, `2026-06-14` …
    ///
    /// # Errors
    /// If it is not understood.
    pub fn day(&self, text: &str) -> Result<NaiveDate, Failure> {
        self.moment(text).map(|at| at.day())
    }

    /// A day to come as typed: `3 Jun` is the next one.
    ///
    /// # Errors
    /// If it is not understood.
    pub fn day_ahead(&self, text: &str) -> Result<NaiveDate, Failure> {
        let clock = self.environment.clock()?;
        let read = crate::input::when::read(text, clock.now(), DayLean::Ahead, |local| {
            clock.offset_at(local)
        });
        read.map(|at| at.day())
            .map_err(|error| Failure::usage(error.to_string()))
    }

    /// A day, or a day and time, as typed.
    ///
    /// # Errors
    /// If it is not understood.
    pub fn moment(&self, text: &str) -> Result<At, Failure> {
        let clock = self.environment.clock()?;
        crate::input::when::read(text, clock.now(), DayLean::Back, |local| {
            clock.offset_at(local)
        })
        .map_err(|error| Failure::usage(error.to_string()))
    }
}

/// Says that what was just saved began a journal.
pub fn say_begun(path: &Path) {
    let path = shown(&path.to_string_lossy());
    output::say(&format!("A new journal is begun at {path}.\n"));
}

/// There was a journal, and it is gone.
fn gone(path: &Path) -> Failure {
    let path = shown(&path.to_string_lossy());
    Failure::could(format!(
        "The journal {path} is missing: entries were saved in it from here, and nothing is there now."
    ))
    .hint("See whether its disk is mounted, or whether it was moved.")
    .hint("To begin a new journal there, add --new-journal.")
}
