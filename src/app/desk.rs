//! The open journal: read once, followed, and appended to. Both faces work through it.

use super::clock::Clock;
use super::failure::Failure;
use super::files::DraftFile;
use super::writer::Settings;
use super::writer::{Writer, state_folder, wrote_before};
use crate::fold::Book;
use crate::fold::Ledger;
use crate::journal::codec::encode;
use crate::journal::disk_error::DiskError;
use crate::journal::reading::{Journal, Refreshed, Root, UnreadFile};
use crate::journal::real::RealDisk;
use crate::model::entry::Entry;
use crate::model::fault::{Arrival, Fault, FaultKind, FileFault, Origin};
use chrono::{DateTime, FixedOffset};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A way to look at the files for what was appended.
type LookAtFiles = fn(&mut Journal, &mut dyn FnMut(Arrival)) -> Result<Refreshed, DiskError>;

/// Lines between two words of progress.
const PROGRESS_EVERY: u64 = 1 << 16;

/// The journal on the desk.
pub struct Desk {
    pub(super) settings: Settings,
    pub(super) clock: Clock,
    pub(super) journal: Journal,
    pub(super) ledger: Ledger,
    pub(super) book: Arc<Book>,
    pub(super) own: Option<Writer>,
    pub(super) doubt: bool,
    is_new: bool,
    folds_ahead: bool,
    faults: Vec<(u32, FileFault)>,
    unread: Option<UnreadPart>,
}

/// That a part of the journal cannot be read now: what is shown is as of then.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnreadPart {
    /// The file, or the folder.
    pub path: PathBuf,
    /// Why, in words without a full stop.
    pub why: String,
    /// Since when it is known.
    pub since: DateTime<FixedOffset>,
}

impl UnreadPart {
    /// What cannot be read, in a sentence for the head of a screen or an answer.
    #[must_use]
    pub fn sentence(&self) -> String {
        let name = self.path.file_name().unwrap_or(self.path.as_os_str());
        let since = self.since.format("%H:%M");
        format!(
            "Cannot read {} since {since}: shown as of then.",
            name.to_string_lossy()
        )
    }
}

impl Desk {
    /// Opens the journal to read it; the folder is not made if it is missing. `progress` is told
    /// from time to time how many lines were read.
    ///
    /// # Errors
    /// If nothing is there or it cannot be listed.
    pub fn open(
        settings: Settings,
        clock: Clock,
        progress: &mut dyn FnMut(u64),
    ) -> Result<Self, Failure> {
        let journal = Journal::open(Arc::new(RealDisk), &settings.journal, settings.threads)
            .map_err(|trouble| no_journal(&settings, &trouble))?;
        Self::read(settings, clock, journal, progress)
    }

    /// Opens the journal if it is there, else an empty one: it is made when the first entry is saved.
    ///
    /// # Errors
    /// If the journal is there but cannot be listed.
    pub fn open_or_empty(
        settings: Settings,
        clock: Clock,
        progress: &mut dyn FnMut(u64),
    ) -> Result<Self, Failure> {
        let journal =
            Journal::open_or_empty(Arc::new(RealDisk), &settings.journal, settings.threads)
                .map_err(|t| disk_failure(&t))?;
        Self::read(settings, clock, journal, progress)
    }

    /// Opens the journal to write in it as well; the folder is made if it is missing.
    ///
    /// # Errors
    /// If it can be neither found nor made, or not be listed.
    pub fn open_or_begin(
        settings: Settings,
        clock: Clock,
        progress: &mut dyn FnMut(u64),
    ) -> Result<Self, Failure> {
        let journal = Journal::create(Arc::new(RealDisk), &settings.journal, settings.threads)
            .map_err(|t| disk_failure(&t))?;
        Self::read(settings, clock, journal, progress)
    }

    fn read(
        settings: Settings,
        clock: Clock,
        journal: Journal,
        progress: &mut dyn FnMut(u64),
    ) -> Result<Self, Failure> {
        let (book, own) = (Arc::new(Ledger::new().book(&journal)), None);
        let mut desk = Self {
            settings,
            clock,
            journal,
            ledger: Ledger::new(),
            book,
            own,
            doubt: false,
            is_new: false,
            folds_ahead: false,
            faults: Vec::new(),
            unread: None,
        };
        desk.read_all(progress)
            .map_err(|error| disk_failure(&error))?;
        desk.note_unread(desk.journal.unread());
        desk.is_new = match desk.journal.root() {
            Root::Nowhere => true,
            Root::Folder(_) => desk.journal.files().len() == 0,
            Root::File(_) => false,
        };
        Ok(desk)
    }

    fn read_all(&mut self, progress: &mut dyn FnMut(u64)) -> Result<(), DiskError> {
        let mut ledger = Ledger::on_threads(self.settings.threads);
        let mut lines = 0;
        let mut take = |arrival| {
            ledger.add(arrival);
            lines += 1;
            if lines % PROGRESS_EVERY == 0 {
                progress(lines);
            }
        };
        self.journal.read(&mut take)?;
        self.faults = self
            .journal
            .faults()
            .map(|(file, fault)| (file, fault.clone()))
            .collect();
        for (file, fault) in &self.faults {
            let origin = Origin {
                file: *file,
                line: 0,
            };
            ledger.report(Fault {
                origin,
                id: None,
                batch: None,
                wrong: FaultKind::File(fault.clone()),
            });
        }
        self.ledger = ledger;
        self.fold();
        Ok(())
    }

    fn fold(&mut self) {
        let longer = self.ledger.longer_book(&self.book);
        let book = longer.unwrap_or_else(|| self.ledger.book(&self.journal));
        self.book = Arc::new(book);
        if self.folds_ahead {
            self.book.fold_lives();
        }
    }

    /// Folds the lives of all batches at once, now and whenever the book changes: for a face that must not wait for them
    /// when it asks.
    pub fn fold_ahead(&mut self) {
        self.folds_ahead = true;
        self.book.fold_lives();
    }

    /// Reads what anyone appended since. Says whether the book changed, or what of the journal cannot be read. Where it
    /// cannot be read, the book stays as it was: see [`Desk::unread`].
    pub fn refresh(&mut self) -> bool {
        self.look(Journal::refresh)
    }

    /// As [`Desk::refresh`], for whoever looks again and again: of very many files only some are looked at each time.
    pub fn follow(&mut self) -> bool {
        self.look(Journal::follow)
    }

    fn look(&mut self, by: LookAtFiles) -> bool {
        let before = self.unread.clone();
        let changed = match self.try_look(by) {
            Ok(changed) => {
                self.note_unread(self.journal.unread());
                changed
            }
            Err(error) => {
                self.note_unread(Some(UnreadFile {
                    path: error.path,
                    why: error.why,
                }));
                false
            }
        };
        changed || self.unread != before
    }

    fn note_unread(&mut self, unread: Option<UnreadFile>) {
        let since = self
            .unread
            .as_ref()
            .map_or_else(|| self.clock.now(), |unread| unread.since);
        self.unread = unread.map(|UnreadFile { path, why }| UnreadPart { path, why, since });
    }

    /// What of the journal cannot be read now.
    #[must_use]
    pub fn unread(&self) -> Option<&UnreadPart> {
        self.unread.as_ref()
    }

    fn try_look(&mut self, by: LookAtFiles) -> Result<bool, DiskError> {
        let ledger = &mut self.ledger;
        match by(&mut self.journal, &mut |arrival| ledger.add(arrival))? {
            Refreshed::Same => Ok(false),
            // A file that cannot be read any more, or can again, is rare: begin anew then.
            Refreshed::Grown if self.faults_changed() => self.read_all(&mut |_| ()).map(|()| true),
            Refreshed::Grown => {
                self.fold();
                Ok(true)
            }
            Refreshed::Reread => self.read_all(&mut |_| ()).map(|()| true),
        }
    }

    fn faults_changed(&self) -> bool {
        !self
            .journal
            .faults()
            .eq(self.faults.iter().map(|(file, fault)| (*file, fault)))
    }

    /// Whether no file of the journal was there when it was opened: the first entry saved begins it.
    #[must_use]
    pub fn is_new(&self) -> bool {
        self.is_new
    }

    /// The book as last read.
    #[must_use]
    pub fn book(&self) -> &Arc<Book> {
        &self.book
    }

    /// All that is wrong: what the book found, and entries dated after tomorrow, which a book that knows no
    /// clock cannot tell. (Tomorrow may be today elsewhere.)
    #[must_use]
    pub fn faults(&self) -> Vec<Fault> {
        let tomorrow = self.clock.now().date_naive() + chrono::Days::new(1);
        let mut faults = self.book.faults().to_vec();
        faults.extend(self.book.days_ahead(tomorrow));
        faults
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
        crate::model::fault::Lines::raw(&self.journal, origin)
    }
}

impl Desk {
    /// The line that an entry is written as.
    ///
    /// # Errors
    /// If a number in it is not finite.
    pub fn line_of(&self, entry: &Entry) -> Result<String, Failure> {
        let bytes = encode(entry).map_err(|error| Failure::could(format!("{error}.")))?;
        Ok(String::from_utf8_lossy(&bytes).into_owned())
    }

    /// Keeps a typed line that could not be saved as a draft, offered when the bench is next opened. `lines` are what it
    /// became, if they may be in the journal all the same.
    ///
    /// # Errors
    /// Whatever the system says.
    pub fn keep_line(&self, line: &str, lines: Vec<String>) -> io::Result<PathBuf> {
        let draft = DraftFile::begin(&self.drafts(), &self.clock.new_id().to_string())?;
        draft.becomes(lines);
        draft.keep(line)?;
        Ok(draft.path().to_path_buf())
    }

    /// The folder of this journal's drafts.
    #[must_use]
    pub fn drafts(&self) -> PathBuf {
        state_folder(&self.settings).join("drafts")
    }
}

/// Whether a journal is where it should be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JournalPresence {
    /// It is there.
    There,
    /// Nothing is there, and nothing was saved there from here.
    NeverBegun,
    /// It is not there, though entries were saved in it from here: its disk may not be mounted.
    Gone,
}

/// Looks whether the journal is where it should be.
#[must_use]
pub fn presence(settings: &Settings) -> JournalPresence {
    let journal = Journal::open(Arc::new(RealDisk), &settings.journal, 1);
    let is_empty = match &journal {
        Ok(journal) => journal.is_empty(),
        Err(error) if error.code == Some(NOT_FOUND) => true,
        // Whatever else is wrong is told when it is opened.
        Err(_) => false,
    };
    match (is_empty, journal.is_ok()) {
        (true, _) if wrote_before(settings) => JournalPresence::Gone,
        (true, false) => JournalPresence::NeverBegun,
        _ => JournalPresence::There,
    }
}

/// The system's number for a path where nothing is.
const NOT_FOUND: i32 = 2;

/// A trouble of the disk as a failure.
pub(super) fn disk_failure(trouble: &DiskError) -> Failure {
    let step = trouble.step.words();
    Failure::could(format!(
        "Could not {step} {}: {}.",
        trouble.path.display(),
        trouble.why
    ))
    .hint(trouble.remedy)
}

fn no_journal(settings: &Settings, trouble: &DiskError) -> Failure {
    let failure = disk_failure(trouble);
    let failure = if settings.named {
        failure
    } else {
        failure.hint("Name a journal with --journal or STRUCK_JOURNAL.")
    };
    failure.hint("Begin one with `struck add`, or try the invented nursery: `struck sample DIR`.")
}
