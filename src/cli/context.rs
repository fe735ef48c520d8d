//! What every command needs: the surroundings, the journal to use, and how tables are drawn.

use super::environment::Environment;
use super::output;
use super::progress::Progress;
use crate::app::clock::Clock;
use crate::app::desk::Desk;
use crate::app::failure::Failure;
use crate::app::settings::Settings;
use crate::fold::Book;
use crate::input::when::DayLean;
use crate::model::at::At;
use crate::model::fault::FaultKind;
use crate::text::clean::{Charset, shown, wrap};
use crate::text::faults::sentence;
use chrono::NaiveDate;
use std::path::PathBuf;

/// What every command needs.
pub struct Context {
    /// The surroundings.
    pub environment: Environment,
    /// The journal named on the command line.
    pub journal: Option<PathBuf>,
    /// Characters that may be shown.
    pub charset: Charset,
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

    /// Opens the journal to read; files that could not be read are told beside the answer.
    ///
    /// # Errors
    /// If it cannot be opened.
    pub fn open(&self) -> Result<Desk, Failure> {
        let desk = self.open_to_check()?;
        tell_unread(&desk);
        Ok(desk)
    }

    /// Opens the journal to read, for a command that tells every fault itself.
    ///
    /// # Errors
    /// If it cannot be opened.
    pub fn open_to_check(&self) -> Result<Desk, Failure> {
        self.reading(Desk::open)
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
        desk
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

    /// Opens the journal to write in; it is begun if it is not there.
    ///
    /// # Errors
    /// If it can be neither opened nor begun.
    pub fn open_or_begin(&self) -> Result<Desk, Failure> {
        let desk = self.reading(Desk::open_or_begin)?;
        tell_unread(&desk);
        Ok(desk)
    }

    /// Opens the journal, or an empty one if it is not there, to try a line out. Nothing is made.
    ///
    /// # Errors
    /// If it is there but cannot be opened.
    pub fn open_to_try(&self) -> Result<Desk, Failure> {
        let settings = self.environment.settings(self.journal.as_deref())?;
        Desk::open_to_try(settings, self.environment.clock()?)
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

/// Without these files an answer says less than it seems to, so it is not left to `check` to tell.
fn tell_unread(desk: &Desk) {
    let files = desk.files();
    for fault in desk.book().faults() {
        if let FaultKind::File(_) = &fault.wrong {
            let number = usize::try_from(fault.origin.file).ok();
            let path = number.and_then(|at| files.get(at));
            let path = path.map_or_else(|| "?".into(), |path| shown(&path.to_string_lossy()));
            output::say(&format!(
                "struck: {path} is left out: {}\n  See `struck check --explain`.\n",
                sentence(&fault.wrong)
            ));
        }
    }
}
