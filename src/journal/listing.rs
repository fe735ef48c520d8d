//! What a journal's path names: a folder of files, one file, or nothing yet; and which files make it up. It reads none.

use super::disk::{Disk, FileSort};
use super::disk_error::{DiskError, DiskStep};
use crate::model::fault::FileFault;
use std::path::{Path, PathBuf};

/// Makes a folder and those above it, each with a name that lasts.
pub(super) fn make_to_last(disk: &dyn Disk, folder: &Path) -> Result<(), DiskError> {
    let missing: Vec<&Path> = folder
        .ancestors()
        .take_while(|it| !it.as_os_str().is_empty() && disk.stat(it).is_err())
        .collect();
    disk.create_folder(folder)
        .map_err(|error| DiskError::new(DiskStep::Create, folder, &error))?;
    for made in missing {
        let above = made
            .parent()
            .filter(|it| !it.as_os_str().is_empty())
            .unwrap_or(Path::new("."));
        disk.sync_folder(above)
            .map_err(|error| DiskError::new(DiskStep::Sync, above, &error))?;
    }
    Ok(())
}

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
pub struct ListedFile {
    /// Its path.
    pub path: PathBuf,
    /// Why it is not read, if it is no regular file.
    pub fault: Option<FileFault>,
}

/// Looks at what a path names.
///
/// # Errors
/// When nothing is there, or neither a folder nor a regular file.
pub fn root_at(disk: &dyn Disk, path: &Path) -> Result<Root, DiskError> {
    let stat = disk
        .stat(path)
        .map_err(|error| DiskError::new(DiskStep::Look, path, &error))?;
    match stat.sort {
        FileSort::Folder => Ok(Root::Folder(path.to_owned())),
        FileSort::Regular if is_lone_name(path) => Ok(Root::File(path.to_owned())),
        FileSort::Regular => Err(DiskError {
            step: DiskStep::Open,
            path: path.to_owned(),
            code: None,
            why: "its name does not end in `.jsonl`".to_owned(),
            remedy: "Name a folder or a file that ends in `.jsonl`; nothing was touched.",
        }),
        other => Err(DiskError {
            step: DiskStep::Open,
            path: path.to_owned(),
            code: None,
            why: format!("it is {}", other.words()),
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
pub fn list_files(disk: &dyn Disk, root: &Root) -> Result<Vec<ListedFile>, DiskError> {
    let folder = match root {
        Root::File(path) => {
            return Ok(vec![ListedFile {
                path: path.clone(),
                fault: None,
            }]);
        }
        Root::Nowhere => return Ok(Vec::new()),
        Root::Folder(folder) => folder,
    };
    let mut items = disk
        .list(folder)
        .map_err(|error| DiskError::new(DiskStep::List, folder, &error))?;
    items.retain(|(name, _)| is_journal_name(name));
    items.sort();
    let found = items.into_iter().map(|(name, sort)| {
        let fault = (sort != FileSort::Regular).then(|| FileFault::NotAFile { what: sort.words() });
        ListedFile {
            path: folder.join(name),
            fault,
        }
    });
    Ok(found.collect())
}

/// Whether a path may be that of a journal in one file.
pub(super) fn is_lone_name(path: &Path) -> bool {
    path.extension().is_some_and(|end| end == "jsonl")
}

fn is_journal_name(name: &Path) -> bool {
    let bytes = name.as_os_str().as_encoded_bytes();
    !bytes.starts_with(b".") && bytes.ends_with(b".jsonl")
}
