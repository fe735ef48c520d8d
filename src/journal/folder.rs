//! Which files make up a journal: those of a folder, or a single one. It reads none of them.

use super::disk::{Disk, Sort};
use super::trouble::{Step, Trouble};
use crate::model::fault::FileFault;
use std::path::{Path, PathBuf};

/// What a journal's path names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Root {
    /// A folder: every `*.jsonl` directly in it.
    Folder(PathBuf),
    /// Nothing is there yet: it reads as empty, and nothing can be appended to it.
    Nowhere,
    /// A single file.
    File(PathBuf),
}

/// A file of a journal, or what stands where one should be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// Its path.
    pub path: PathBuf,
    /// Why it is not read, if it is no regular file.
    pub fault: Option<FileFault>,
}

/// Looks at what a path names.
///
/// # Errors
/// When nothing is there, or neither a folder nor a regular file.
pub fn root(disk: &dyn Disk, path: &Path) -> Result<Root, Trouble> {
    let stat = disk
        .stat(path)
        .map_err(|error| Trouble::new(Step::Look, path, &error))?;
    match stat.sort {
        Sort::Folder => Ok(Root::Folder(path.to_owned())),
        Sort::Regular => Ok(Root::File(path.to_owned())),
        other => Err(Trouble {
            step: Step::Open,
            path: path.to_owned(),
            code: None,
            why: format!("it is {}", what(other)),
            remedy: "Name a folder or a file that ends in `.jsonl`.",
        }),
    }
}

/// The journal's files in the order of their names. In a folder, names with a dot in front and
/// subfolders are passed over; what bears a journal file's name without being one is found with its
/// fault.
///
/// # Errors
/// When the folder cannot be listed.
pub fn find(disk: &dyn Disk, root: &Root) -> Result<Vec<Found>, Trouble> {
    let folder = match root {
        Root::File(path) => {
            return Ok(vec![Found {
                path: path.clone(),
                fault: None,
            }]);
        }
        Root::Nowhere => return Ok(Vec::new()),
        Root::Folder(folder) => folder,
    };
    let mut items = disk
        .list(folder)
        .map_err(|error| Trouble::new(Step::List, folder, &error))?;
    items.retain(|(name, _)| is_journal_name(name));
    items.sort();
    let found = items.into_iter().map(|(name, sort)| {
        let fault = (sort != Sort::Regular).then(|| FileFault::NotAFile { what: what(sort) });
        Found {
            path: folder.join(name),
            fault,
        }
    });
    Ok(found.collect())
}

fn is_journal_name(name: &Path) -> bool {
    let bytes = name.as_os_str().as_encoded_bytes();
    !bytes.starts_with(b".") && bytes.ends_with(b".jsonl")
}

/// What it is, in words.
pub(super) const fn what(sort: Sort) -> &'static str {
    match sort {
        Sort::Regular => "a file",
        Sort::Folder => "a folder",
        Sort::Link => "a link to another place",
        Sort::Pipe => "a pipe",
        Sort::Other => "a device",
    }
}
