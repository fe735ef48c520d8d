//! A journal as a whole: which files make it up, read once, followed while others append to it, appended to.
//! It hands on lines as they stand in the files and puts nothing together.

use super::append;
use super::append::{AppendOutcome, AppendRefusal, PriorAppend, Target};
use super::codec::encode;
use super::disk::{Disk, FileSort};
use super::disk_error::{DiskError, DiskStep};
use super::followed::{FollowedFile, ReadProgress};
use crate::model::entry::Entry;
use crate::model::fault::{Arrival, Lines};
use crate::model::fault::{FileFault, Origin};
use crate::model::id::Id;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What a look at the files brought.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refreshed {
    /// Nothing new.
    Same,
    /// New lines were handed on, or a file has a fault now.
    Grown,
    /// A file was replaced, shortened, rewritten or removed: what was handed on in this call is
    /// void, and everything must be [read](Journal::read) again.
    Reread,
}

/// A journal: a folder of files, or one file.
pub struct Journal {
    disk: Arc<dyn Disk>,
    root: Root,
    threads: usize,
    files: Vec<FollowedFile>,
}

impl Journal {
    /// The journal at a path, which must be there; `threads` (1 or more) work on long files.
    ///
    /// # Errors
    /// When nothing is there, or neither a folder nor a regular file.
    pub fn open(disk: Arc<dyn Disk>, path: &Path, threads: usize) -> Result<Self, DiskError> {
        let root = root_at(&*disk, path)?;
        Ok(Self {
            disk,
            root,
            threads,
            files: Vec::new(),
        })
    }

    /// The journal at a path, or an empty one if nothing is there. Nothing is made.
    ///
    /// # Errors
    /// When what is there is neither a folder nor a regular file.
    pub fn open_or_empty(
        disk: Arc<dyn Disk>,
        path: &Path,
        threads: usize,
    ) -> Result<Self, DiskError> {
        let gone = disk
            .stat(path)
            .is_err_and(|error| error.kind() == ErrorKind::NotFound);
        if !gone {
            return Self::open(disk, path, threads);
        }
        Ok(Self {
            disk,
            root: Root::Nowhere,
            threads,
            files: Vec::new(),
        })
    }

    /// The journal at a path, its folder made if it is not there: the path of a single file if it
    /// ends in `.jsonl` (the file itself is made by the first append), else of a folder.
    ///
    /// # Errors
    /// When the disk refuses.
    pub fn create(disk: Arc<dyn Disk>, path: &Path, threads: usize) -> Result<Self, DiskError> {
        if disk.stat(path).is_ok() {
            return Self::open(disk, path, threads);
        }
        let lone = path.extension().is_some_and(|end| end == "jsonl");
        let parent = path.parent().filter(|it| !it.as_os_str().is_empty());
        let folder = if lone { parent } else { Some(path) };
        if let Some(folder) = folder.filter(|it| disk.stat(it).is_err()) {
            make_to_last(&*disk, folder)?;
        }
        let path = path.to_owned();
        let root = if lone {
            Root::File(path)
        } else {
            Root::Folder(path)
        };
        Ok(Self {
            disk,
            root,
            threads,
            files: Vec::new(),
        })
    }

    /// Whether it is a folder or one file, and where.
    #[must_use]
    pub fn root(&self) -> &Root {
        &self.root
    }

    /// The files by their numbers, those that cannot be read among them.
    pub fn files(&self) -> impl ExactSizeIterator<Item = &Path> {
        self.files.iter().map(|file| file.path.as_path())
    }

    /// What is wrong with files, by their numbers.
    pub fn faults(&self) -> impl Iterator<Item = (u32, &FileFault)> {
        let numbered = (0..).zip(&self.files);
        numbered.filter_map(|(number, file)| Some((number, file.fault.as_ref()?)))
    }

    /// Reads everything anew. Lines are handed on file by file, each in its file's order; a last
    /// line that is still being written is left for later.
    ///
    /// # Errors
    /// When the folder cannot be listed; a file that cannot be read is among the faults.
    pub fn read(&mut self, sink: &mut dyn FnMut(Arrival)) -> Result<(), DiskError> {
        let found = list_files(&*self.disk, &self.root)?;
        self.files = found
            .into_iter()
            .map(|file| FollowedFile::new(file.path, file.fault))
            .collect();
        for (number, file) in (0..).zip(&mut self.files) {
            if file.fault.is_none() {
                file.read_on(&*self.disk, number, self.threads, sink);
            }
        }
        Ok(())
    }

    /// Hands on what was appended since, by anyone; costs a listing and a look at each file when
    /// nothing was. Files that are new get numbers after those there are.
    ///
    /// # Errors
    /// When the folder cannot be listed.
    pub fn refresh(&mut self, sink: &mut dyn FnMut(Arrival)) -> Result<Refreshed, DiskError> {
        let found = list_files(&*self.disk, &self.root)?;
        if self
            .files
            .iter()
            .any(|file| !found.iter().any(|it| it.path == file.path))
        {
            return Ok(Refreshed::Reread);
        }
        let mut refreshed = Refreshed::Same;
        for item in found {
            let number = match self.files.iter().position(|file| file.path == item.path) {
                Some(number) if self.is_unchanged(number, item.fault.as_ref()) => continue,
                Some(number) => number,
                None => {
                    self.files.push(FollowedFile::new(item.path, item.fault));
                    self.files.len() - 1
                }
            };
            refreshed = Refreshed::Grown;
            let Some(file) = self.files.get_mut(number) else {
                continue;
            };
            let new = file.stat.is_none();
            if new && file.fault.is_some() {
                continue;
            }
            let number = u32::try_from(number).unwrap_or(u32::MAX);
            if file.read_on(&*self.disk, number, self.threads, sink) == ReadProgress::Replaced {
                return Ok(Refreshed::Reread);
            }
        }
        Ok(refreshed)
    }

    /// Whether nothing new can be in a file; `fault` is why it is no file now.
    fn is_unchanged(&self, number: usize, fault: Option<&FileFault>) -> bool {
        let Some(file) = self.files.get(number) else {
            return false;
        };
        match (&file.fault, fault) {
            (Some(FileFault::NotAFile { .. }), Some(_)) => true,
            (_, Some(_)) => false,
            _ => match self.disk.stat(&file.path) {
                Ok(stat) => file.is_same(&stat),
                // Still missing, still not to be looked at: nothing to read either way.
                Err(_) => file.stat.is_none(),
            },
        }
    }

    /// Where a writer appends: the file `name` in the folder, or the journal's only file. `holder` is
    /// what others are told while this writer holds the lock, such as `pid 4711 on potting-shed`.
    #[must_use]
    pub fn target(&self, name: &str, holder: &str) -> Target {
        match &self.root {
            Root::Folder(folder) => Target::in_folder(folder, name, holder),
            Root::File(file) => Target::lone(file, holder),
            // An empty path: the disk refuses it.
            Root::Nowhere => Target::lone(Path::new(""), holder),
        }
    }

    /// Appends entries in one write; they come back as lines with the next [refresh](Self::refresh).
    ///
    /// # Errors
    /// When nothing was written: see [`AppendRefusal`].
    pub fn append(
        &self,
        target: &Target,
        entries: &[Entry],
        after: PriorAppend,
    ) -> Result<AppendOutcome, AppendRefusal> {
        let lines = entries.iter().map(encode).collect::<Result<Vec<_>, _>>()?;
        self.append_lines(target, &lines, after)
    }

    /// Appends lines that were made of entries already, in one write.
    ///
    /// # Errors
    /// When nothing was written: see [`AppendRefusal`].
    pub fn append_lines(
        &self,
        target: &Target,
        lines: &[Vec<u8>],
        after: PriorAppend,
    ) -> Result<AppendOutcome, AppendRefusal> {
        append::append(&*self.disk, target, lines, after)
    }

    /// The path of a file by its number.
    #[must_use]
    pub fn file(&self, number: u32) -> Option<&Path> {
        let file = self.files.get(usize::try_from(number).ok()?)?;
        Some(&file.path)
    }
}

impl Lines for Journal {
    fn raw(&self, origin: Origin) -> Option<Vec<u8>> {
        let file = self.files.get(usize::try_from(origin.file).ok()?)?;
        file.raw(&*self.disk, origin.line)
    }

    fn named(&self, name: &Id) -> Option<Origin> {
        let name = name.to_string();
        let rest = name.strip_prefix("line:")?;
        let (hash, ordinal) = rest.split_once('-').unwrap_or((rest, "1"));
        let wanted = (u64::from_str_radix(hash, 16).ok()?, ordinal.parse().ok()?);
        let found = |(number, file): (u32, &FollowedFile)| {
            let line = file.named(&*self.disk, wanted, self.threads)?;
            Some(Origin { file: number, line })
        };
        (0..).zip(&self.files).find_map(found)
    }
}

/// Makes a folder and those above it, each with a name that lasts.
fn make_to_last(disk: &dyn Disk, folder: &Path) -> Result<(), DiskError> {
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
        FileSort::Regular => Ok(Root::File(path.to_owned())),
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

fn is_journal_name(name: &Path) -> bool {
    let bytes = name.as_os_str().as_encoded_bytes();
    !bytes.starts_with(b".") && bytes.ends_with(b".jsonl")
}
