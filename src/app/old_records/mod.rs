//! Old records into the journal: a table is surveyed whole, then written as one import, and can be withdrawn in one
//! write. The same rows again add nothing, on this machine or another, since an entry's id follows from its row.

mod entries;
mod words;

use super::desk::Desk;
use super::failure::Failure;
use super::files;
use super::loggers::Bulk;
use super::record::Unsaved;
use crate::fold::Book;
use crate::input::logger::DayOrder;
use crate::input::records::batches::read_rows;
use crate::input::records::grid::{RecordGrid, read_grid};
use crate::input::records::mapping::{Mapping, UnsettledWord};
use crate::input::records::recorded::{RecordedBatch, RowLeftOut, RowProblem};
use crate::journal::codec::encode;
use crate::model::at::At;
use crate::model::entry::{Entry, Withdraw};
use crate::model::id::Id;
use crate::model::value::EntryFault;
use crate::text::faults::entry_sentence;
use chrono::NaiveDate;
use entries::{entries, free_code, stick_id, text_field};
use std::collections::HashSet;
use std::io::Read;
use std::path::{Path, PathBuf};
use words::{CellReader, near_names};

/// Bytes of the longest table that is read.
const LONGEST_FILE: u64 = 256 << 20;
/// Days since sticking after which a batch that its records leave on the bench is told of.
const LONG_AGO: i64 = 365;

/// A table of old records as it would come into the journal.
#[derive(Clone, Debug)]
pub struct RecordsSurvey {
    /// The table.
    pub grid: RecordGrid,
    /// How it is read.
    pub mapping: Mapping,
    /// The rows that make batches.
    pub batches: Vec<RecordedBatch>,
    /// The rows that make none.
    pub left_out: Vec<RowLeftOut>,
    /// Words that are not understood, and names that are near one of the journal without being it.
    pub unsettled: Vec<UnsettledWord>,
    /// The entries to be written, those of a batch together.
    pub new: Vec<Vec<Entry>>,
    /// Rows that stand in the journal already.
    pub held: usize,
    /// Lines of rows that stand in the journal already, but read differently.
    pub differing: Vec<u64>,
    /// Rows with a code that the journal has given to another batch; they get one of their own.
    pub recoded: usize,
    /// Ids of the stickings of this table that stand in the journal.
    pub standing: Vec<Id>,
    /// Batches of over a year ago that these records leave on the bench: those that they count, and those whose end they
    /// do not tell.
    pub left_open: [usize; 2],
    /// Batches in the journal before.
    pub before: usize,
}

/// What is asked about a table of old records.
#[derive(Clone, Copy, Debug, Default)]
pub struct RecordsQuestion<'a> {
    /// The sheet of a workbook; else the mapping's, else the first that holds anything.
    pub sheet: Option<&'a str>,
    /// The file of the mapping; else the columns are guessed.
    pub with: Option<&'a Path>,
    /// Whether day or month comes first, if that is said beside the mapping.
    pub order: Option<DayOrder>,
}

impl Desk {
    /// Reads a table of old records and works out what importing it would do. Nothing is written.
    ///
    /// # Errors
    /// If the file or the mapping cannot be read, with what to do.
    pub fn survey_records(
        &mut self,
        path: &Path,
        ask: RecordsQuestion<'_>,
    ) -> Result<RecordsSurvey, Failure> {
        let with = ask.with;
        let bytes = read_file(path)?;
        let text = with.map(read_mapping).transpose()?;
        let fault = |why: String| match with {
            Some(with) => Failure::could(format!("{}: {why}.", with.display())),
            None => Failure::could(format!("{why}.")),
        };
        let mapped = text.as_deref().map(Mapping::sheet_of).transpose();
        let mapped = mapped.map_err(|error| fault(error.to_string()))?.flatten();
        let grid = read_grid(&bytes, ask.sheet.or(mapped.as_deref()))
            .map_err(|error| Failure::could(format!("{}: {error}.", path.display())))?;
        let mut mapping = match &text {
            Some(text) => Mapping::read(text, &grid).map_err(|error| fault(error.to_string()))?,
            None => Mapping::guessed(&grid),
        };
        mapping.day_order = ask.order.or(mapping.day_order);
        self.survey_grid(grid, mapping)
    }

    fn survey_grid(
        &mut self,
        grid: RecordGrid,
        mapping: Mapping,
    ) -> Result<RecordsSurvey, Failure> {
        let now = self.clock().now();
        let known = super::vocabulary::vocabulary_of(self.book(), now.date_naive());
        let mut reader = CellReader::new(&known, now);
        let (batches, left_out) =
            read_rows(&grid, &mapping, now.date_naive(), &mut |role, words| {
                reader.fields(role, words)
            });
        let mut unsettled = reader.unsettled;
        unsettled.extend(near_names(&batches, &known));
        let mut survey = RecordsSurvey {
            grid,
            mapping,
            batches,
            left_out,
            unsettled: unsettled.into_iter().collect(),
            new: Vec::new(),
            held: 0,
            differing: Vec::new(),
            recoded: 0,
            standing: Vec::new(),
            left_open: [0; 2],
            before: self.book().roster().len(),
        };
        survey.settle(self.book(), now.date_naive())?;
        Ok(survey)
    }

    /// Writes what a survey found new; gives how many entries are on stable storage.
    ///
    /// # Errors
    /// If they cannot be written, or it is not known whether they are.
    pub fn write_records(&mut self, survey: &RecordsSurvey) -> Result<u64, Unsaved> {
        let mut bulk = Bulk::new(self);
        for entry in survey.new.iter().flatten() {
            bulk.add(entry)?;
        }
        bulk.end()
    }

    /// Takes back every batch of a surveyed table that stands in the journal, in one write; what was entered about
    /// them later goes with them.
    ///
    /// # Errors
    /// If it cannot be written, or it is not known whether it is.
    pub fn withdraw_records(&mut self, survey: &RecordsSurvey) -> Result<usize, Unsaved> {
        let refused = |why: String| Unsaved::Refused(Failure::could(why));
        let mut lines = Vec::with_capacity(survey.standing.len());
        for stick in &survey.standing {
            let entry = Entry {
                id: self.clock().new_id(),
                at: At::Time(self.clock().now()),
                by: None,
                note: None,
                kind: Withdraw {
                    target: stick.clone(),
                    reason: Some("import withdrawn".into()),
                }
                .into(),
            };
            lines.push(encode(&entry).map_err(|error| refused(format!("{error}.")))?);
        }
        if !lines.is_empty() {
            self.append(&lines)?;
            // Saved is saved: should reading it back fail now, the next refresh tells.
            self.refresh();
        }
        Ok(survey.standing.len())
    }
}

/// Where the mapping of a table is kept: beside it.
#[must_use]
pub fn mapping_path(table: &Path) -> PathBuf {
    let mut name = table.file_name().unwrap_or_default().to_owned();
    name.push(".struck.toml");
    table.with_file_name(name)
}

/// Keeps a mapping in a file that must not be there yet.
///
/// # Errors
/// If it is there, or cannot be written.
pub fn keep_mapping(path: &Path, text: &str) -> Result<(), Failure> {
    let failed = |error: std::io::Error| {
        Failure::could(format!(
            "The mapping could not be kept in {} ({error}).",
            path.display()
        ))
    };
    files::put_new(path, text).map_err(failed)
}

fn read_file(path: &Path) -> Result<Vec<u8>, Failure> {
    let failed = |error: std::io::Error| {
        Failure::could(format!("{} cannot be read: {error}.", path.display()))
    };
    let (file, is_regular) = files::foreign(path).map_err(failed)?;
    if !is_regular {
        return Err(Failure::could(format!(
            "{} is no regular file.",
            path.display()
        )));
    }
    let mut bytes = Vec::new();
    file.take(LONGEST_FILE + 1)
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    if bytes.len() as u64 > LONGEST_FILE {
        let most = LONGEST_FILE >> 20;
        return Err(
            Failure::could(format!("{} is longer than {most} MiB.", path.display()))
                .hint("Import it in parts."),
        );
    }
    Ok(bytes)
}

fn read_mapping(path: &Path) -> Result<String, Failure> {
    let failed = |why: String| {
        Failure::could(format!(
            "The mapping {} cannot be read: {why}.",
            path.display()
        ))
    };
    match files::get(path) {
        Ok(Some(text)) => Ok(text),
        Ok(None) => Err(failed("there is no such file".into())),
        Err(error) => Err(failed(error.to_string())),
    }
}

/// Why fields make no entry, without a full stop.
fn reason(fault: &EntryFault) -> String {
    entry_sentence(fault).trim_end_matches('.').to_owned()
}

impl RecordsSurvey {
    /// Settles ids and codes against the journal: what is new, what stands, what stands differently.
    fn settle(&mut self, book: &Book, today: NaiveDate) -> Result<(), Failure> {
        let withdrawn: HashSet<&Id> = book.withdrawn().iter().map(|one| &one.entry.id).collect();
        let mut given: HashSet<String> = HashSet::new();
        for row in &self.left_out {
            // Read otherwise before, it may have made a batch.
            let stick = stick_id(row.line, &row.fingerprint, &withdrawn)?;
            if book.entry(&stick).is_some() {
                self.standing.push(stick);
                self.differing.push(row.line);
            }
        }
        let mut batches = std::mem::take(&mut self.batches);
        let mut made = Ok(());
        batches.retain(
            |batch| match self.settle_batch(batch, book, &withdrawn, &mut given) {
                Ok(None) => true,
                Ok(Some(why)) => {
                    self.left_out.push(RowLeftOut {
                        line: batch.line,
                        fingerprint: batch.fingerprint.clone(),
                        why,
                        cells: batch.taxon.clone(),
                    });
                    false
                }
                Err(failure) => {
                    made = Err(failure);
                    true
                }
            },
        );
        let is_left = |batch: &&RecordedBatch| {
            batch.remain() > 0 && (today - batch.day).num_days() > LONG_AGO
        };
        let (counted, silent): (Vec<&RecordedBatch>, Vec<&RecordedBatch>) = batches
            .iter()
            .filter(is_left)
            .partition(|batch| !batch.events.is_empty());
        self.left_open = [counted.len(), silent.len()];
        self.batches = batches;
        self.left_out.sort_by_key(|row| row.line);
        made
    }

    /// The same of one batch; gives why it can be none.
    fn settle_batch(
        &mut self,
        batch: &RecordedBatch,
        book: &Book,
        withdrawn: &HashSet<&Id>,
        given: &mut HashSet<String>,
    ) -> Result<Option<RowProblem>, Failure> {
        let stick = stick_id(batch.line, &batch.fingerprint, withdrawn)?;
        let held = book.entry(&stick).map(|standing| standing.entry.whole());
        let kept = held.as_ref().and_then(|entry| text_field(entry, "batch"));
        let code = kept.unwrap_or_else(|| free_code(batch, book, given));
        let entries = match entries(batch, &stick, &code) {
            Ok(entries) => entries,
            Err(fault) => return Ok(Some(RowProblem::NoEntry(reason(&fault)))),
        };
        given.insert(code.to_lowercase());
        if held.is_none() {
            let has_other = batch.code.as_ref().is_some_and(|own| *own != code);
            self.recoded += usize::from(has_other);
            self.new.push(entries);
            return Ok(None);
        }
        self.standing.push(stick);
        let stands_so = |entry: &Entry| {
            let stands = book.entry(&entry.id);
            stands.is_some_and(|one| one.entry.whole().to_fields() == entry.to_fields())
        };
        if entries.iter().all(stands_so) {
            self.held += 1;
        } else {
            self.differing.push(batch.line);
        }
        Ok(None)
    }
}
