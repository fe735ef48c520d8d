//! What an answer is without: the files of the journal that could not be read, told at its head.

use super::output;
use crate::app::desk::Desk;
use crate::model::fault::FaultKind;
use crate::text::clean::shown;
use crate::text::faults::sentence;
use serde::Serialize;
use std::cell::{Cell, Ref, RefCell};

/// A file that is missing from an answer.
#[derive(Clone, Debug, Serialize)]
pub struct MissingFile {
    /// Its path.
    file: String,
    /// Why, in a sentence.
    reason: String,
}

/// What is known of the journal that an answer rests on.
#[derive(Debug, Default)]
pub struct AnswerBasis {
    /// The files that are missing from it; nothing at all before a journal was opened.
    missing: RefCell<Option<Vec<MissingFile>>>,
    is_told: Cell<bool>,
}

impl AnswerBasis {
    /// Takes note of what a journal lacks that was opened.
    pub fn note(&self, missing: Vec<MissingFile>) {
        *self.missing.borrow_mut() = Some(missing);
    }

    /// The words at the head of an answer; empty if all was read.
    fn head(&self) -> String {
        let missing = self.missing.borrow();
        let files = missing.as_deref().unwrap_or_default();
        if files.is_empty() {
            return String::new();
        }
        let each = files.iter();
        let each = each.map(|it| format!("  {}: {}\n", shown(&it.file), it.reason));
        format!(
            "! A part of the journal could not be read, so this is without it:\n{}  See `struck check --explain`.\n",
            each.collect::<String>()
        )
    }

    /// The head, once: after that it is empty.
    pub fn head_once(&self) -> String {
        if self.is_told.replace(true) {
            return String::new();
        }
        self.head()
    }

    /// Says the head on standard error, unless it was told already.
    pub fn say(&self) {
        output::say(&self.head_once());
    }

    /// The files that are missing; nothing at all before a journal was opened.
    pub fn missing(&self) -> Ref<'_, Option<Vec<MissingFile>>> {
        self.missing.borrow()
    }
}

/// The files that a journal's book is without, or that were not read to their end.
pub fn missing_files(desk: &Desk) -> Vec<MissingFile> {
    let paths = desk.files();
    let named = |number: u32| {
        let path = usize::try_from(number).ok().and_then(|at| paths.get(at));
        path.map_or_else(|| "?".into(), |path| path.to_string_lossy().into_owned())
    };
    let faults = desk.book().faults_beside_lives().iter();
    let files = faults.filter_map(|fault| match &fault.wrong {
        FaultKind::File(_) => Some(MissingFile {
            file: named(fault.origin.file),
            reason: sentence(&fault.wrong),
        }),
        FaultKind::Line(_) | FaultKind::Book(_) => None,
    });
    let mut files: Vec<MissingFile> = files.collect();
    if let Some(unread) = desk.unread() {
        let file = unread.path.to_string_lossy().into_owned();
        if files.iter().all(|it| it.file != file) {
            let reason = format!("It could not be read: {}.", shown(&unread.why));
            files.push(MissingFile { file, reason });
        }
    }
    files
}
