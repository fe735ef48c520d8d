//! The open journal: read once, followed, and appended to. Both faces work through it.

use super::clock::Clock;
use super::failure::Failure;
use super::own::Own;
use super::settings::Settings;
use crate::book::Book;
use crate::book::fault::{Fault, FileFault, Origin, Wrong};
use crate::book::ledger::Ledger;
use crate::journal::reading::{Journal, Refreshed};
use crate::journal::real::RealDisk;
use crate::journal::trouble::Trouble;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The journal on the desk.
pub struct Desk {
    pub(super) settings: Settings,
    pub(super) clock: Clock,
    pub(super) journal: Journal,
    pub(super) ledger: Ledger,
    pub(super) book: Arc<Book>,
    pub(super) own: Option<Own>,
    pub(super) doubt: bool,
    faults: Vec<(u32, FileFault)>,
}

impl Desk {
    /// Opens the journal to read it; the folder is not made if it is missing.
    ///
    /// # Errors
    /// If nothing is there or it cannot be listed.
    pub fn open(settings: Settings, clock: Clock) -> Result<Self, Failure> {
        let journal = Journal::open(Arc::new(RealDisk), &settings.journal, settings.threads)
            .map_err(|trouble| no_journal(&settings, &trouble))?;
        Self::read(settings, clock, journal)
    }

    /// Opens the journal to write in it as well; the folder is made if it is missing.
    ///
    /// # Errors
    /// If it can be neither found nor made, or not be listed.
    pub fn open_or_begin(settings: Settings, clock: Clock) -> Result<Self, Failure> {
        let journal = Journal::create(Arc::new(RealDisk), &settings.journal, settings.threads).map_err(|t| told(&t))?;
        Self::read(settings, clock, journal)
    }

    fn read(settings: Settings, clock: Clock, journal: Journal) -> Result<Self, Failure> {
        let (book, own) = (Arc::new(Ledger::new().book(&journal)), None);
        let mut desk = Self { settings, clock, journal, ledger: Ledger::new(), book, own, doubt: false, faults: Vec::new() };
        desk.read_all()?;
        Ok(desk)
    }

    fn read_all(&mut self) -> Result<(), Failure> {
        let mut ledger = Ledger::new();
        self.journal.read(&mut |arrival| ledger.add(arrival)).map_err(|t| told(&t))?;
        self.faults = self.journal.faults().map(|(file, fault)| (file, fault.clone())).collect();
        for (file, fault) in &self.faults {
            let origin = Origin { file: *file, line: 0 };
            ledger.report(Fault { origin, id: None, batch: None, wrong: Wrong::File(fault.clone()) });
        }
        self.ledger = ledger;
        self.fold();
        Ok(())
    }

    fn fold(&mut self) {
        self.book = Arc::new(self.ledger.book(&self.journal));
    }

    /// Reads what anyone appended since. Says whether the book changed.
    ///
    /// # Errors
    /// If the journal can no longer be listed.
    pub fn refresh(&mut self) -> Result<bool, Failure> {
        let ledger = &mut self.ledger;
        match self.journal.refresh(&mut |arrival| ledger.add(arrival)).map_err(|t| told(&t))? {
            Refreshed::Same => Ok(false),
            // A file that cannot be read any more, or can again, is rare: begin anew then.
            Refreshed::Grown if self.faults_changed() => self.read_all().map(|()| true),
            Refreshed::Grown => {
                self.fold();
                Ok(true)
            }
            Refreshed::Reread => self.read_all().map(|()| true),
        }
    }

    fn faults_changed(&self) -> bool {
        !self.journal.faults().eq(self.faults.iter().map(|(file, fault)| (*file, fault)))
    }

    /// The book as last read.
    #[must_use]
    pub fn book(&self) -> &Arc<Book> {
        &self.book
    }

    /// The clock.
    #[must_use]
    pub fn clock(&self) -> &Clock {
        &self.clock
    }

    /// Where everything lies.
    #[must_use]
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The journal's files by their numbers.
    #[must_use]
    pub fn files(&self) -> Vec<PathBuf> {
        self.journal.files().map(Path::to_path_buf).collect()
    }

    /// The bytes of a line as they stand in the journal.
    #[must_use]
    pub fn raw_line(&self, origin: Origin) -> Option<Vec<u8>> {
        crate::book::arrival::Lines::raw(&self.journal, origin)
    }
}

/// A trouble of the disk as a failure.
pub(super) fn told(trouble: &Trouble) -> Failure {
    let step = trouble.step.words();
    Failure::could(format!("Could not {step} {}: {}.", trouble.path.display(), trouble.why)).hint(trouble.remedy)
}

fn no_journal(settings: &Settings, trouble: &Trouble) -> Failure {
    let failure = told(trouble);
    if settings.named {
        failure
    } else {
        failure.hint("Name a journal with --journal or STRUCK_JOURNAL, begin one with `struck add`, or try `struck sample DIR`.")
    }
}
