//! A journal as a whole: which files make it up, read once, followed while others append to it, appended to.
//! It hands on lines as they stand in the files and puts nothing together.

use super::append;
use super::append::{AppendOutcome, AppendRefusal, PriorAppend, Target};
use super::disk::{Disk, FileSort};
use super::disk_error::{DiskError, DiskStep};
use super::followed::{FollowedFile, ReadProgress};
use super::watch::FileWatch;
use crate::model::fault::{Arrival, Lines};
use crate::model::fault::{FileFault, Origin};
use crate::model::id::Id;
use std::collections::{HashMap, HashSet};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

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
    watch: FileWatch,
    /// Lines fetched again, by file: entries under one id are compared line by line, file by file.
    blocks: Mutex<HashMap<u32, LineBlock>>,
}

/// Some lines of a file that follow one another, and the number of the first.
type LineBlock = (u64, Vec<Vec<u8>>);

/// How many blocks of lines are held at once.
const MOST_BLOCKS: usize = 256;

/// A file that cannot be read, in whole or on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnreadFile {
    /// Its path.
    pub path: PathBuf,
    /// Why, in words without a full stop.
    pub why: String,
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
            watch: FileWatch::default(),
            blocks: Mutex::default(),
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
            watch: FileWatch::default(),
            blocks: Mutex::default(),
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
        let lone = is_lone_name(path);
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
            watch: FileWatch::default(),
            blocks: Mutex::default(),
        })
    }

    /// Whether there is no file that it could be read from, as far as that can be told.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        list_files(&*self.disk, &self.root).is_ok_and(|files| files.is_empty())
    }

    /// Whether it is a folder, one file or not there yet, and where.
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

    /// The first file that cannot be read now, in whole or on; what was read of it before stands.
    #[must_use]
    pub fn unread(&self) -> Option<UnreadFile> {
        self.files.iter().find_map(|file| {
            let why = match (&file.stale, &file.fault) {
                (Some(why), _) => why,
                (None, Some(FileFault::Unreadable { reason })) => reason,
                _ => return None,
            };
            Some(UnreadFile {
                path: file.path.clone(),
                why: why.clone(),
            })
        })
    }

    /// The smallest id of the entries in each file, by the files' numbers.
    pub fn first_ids(&self) -> impl Iterator<Item = Option<&Id>> {
        self.files.iter().map(|file| file.first_id.as_ref())
    }

    /// Reads everything anew. Lines are handed on file by file, each in its file's order; a last
    /// line that is still being written is left for later. Files that cannot be read are among the faults, unless they
    /// were read before.
    ///
    /// # Errors
    /// When the folder cannot be listed, or a file that was read before cannot be read now: then the journal is as it
    /// was, and what was handed on is void.
    pub fn read(&mut self, sink: &mut dyn FnMut(Arrival)) -> Result<(), DiskError> {
        let listed = self.listed()?;
        let read_before: HashSet<PathBuf> = self
            .files
            .iter()
            .filter(|file| file.fault.is_none() && file.stat.is_some())
            .map(|file| file.path.clone())
            .collect();
        let mut files: Vec<FollowedFile> = listed
            .into_iter()
            .map(|file| FollowedFile::new(file.path, file.fault))
            .collect();
        for (number, file) in (0..).zip(&mut files) {
            if file.fault.is_none() {
                file.read_first(&*self.disk, number, self.threads, sink);
            }
            if let Some(FileFault::Unreadable { reason }) = &file.fault
                && read_before.contains(&file.path)
            {
                return Err(DiskError {
                    step: DiskStep::Read,
                    path: file.path.clone(),
                    code: None,
                    why: reason.clone(),
                    remedy: "It is tried again every few seconds.",
                });
            }
        }
        self.files = files;
        self.watch = FileWatch::default();
        self.blocks = Mutex::default();
        Ok(())
    }

    /// The journal's files. A folder that held some and holds none is taken for one whose disk went away.
    fn listed(&self) -> Result<Vec<ListedFile>, DiskError> {
        let listed = list_files(&*self.disk, &self.root)?;
        let held = self.files.iter().any(|file| file.stat.is_some());
        match &self.root {
            Root::Folder(folder) if listed.is_empty() && held => Err(DiskError {
                step: DiskStep::List,
                path: folder.clone(),
                code: None,
                why: "its files are missing".to_owned(),
                remedy: "See whether its disk is mounted.",
            }),
            _ => Ok(listed),
        }
    }

    /// Hands on what was appended since, by anyone; costs a listing and a look at each file when
    /// nothing was. Files that are new get numbers after those there are. Of a file that cannot be read on, what was
    /// read stands.
    ///
    /// # Errors
    /// When the folder cannot be listed.
    pub fn refresh(&mut self, sink: &mut dyn FnMut(Arrival)) -> Result<Refreshed, DiskError> {
        let listed = self.listed()?;
        let numbers: HashMap<PathBuf, usize> = self
            .files
            .iter()
            .enumerate()
            .map(|(number, file)| (file.path.clone(), number))
            .collect();
        let there = listed
            .iter()
            .filter(|item| numbers.contains_key(&item.path));
        if there.count() < self.files.len() {
            return Ok(Refreshed::Reread);
        }
        let mut refreshed = Refreshed::Same;
        for item in listed {
            let number = numbers.get(&item.path).copied();
            let number = number.unwrap_or_else(|| {
                refreshed = Refreshed::Grown;
                self.files
                    .push(FollowedFile::new(item.path.clone(), item.fault.clone()));
                self.files.len() - 1
            });
            let Some(file) = self.files.get(number) else {
                continue;
            };
            let was_file = !matches!(file.fault, Some(FileFault::NotAFile { .. }));
            if was_file == item.fault.is_some() {
                return Ok(Refreshed::Reread);
            }
            match self.read_on(number, sink) {
                ReadProgress::Same => {}
                ReadProgress::ReadOn => refreshed = Refreshed::Grown,
                ReadProgress::Replaced => return Ok(Refreshed::Reread),
            }
        }
        Ok(refreshed)
    }

    fn read_on(&mut self, number: usize, sink: &mut dyn FnMut(Arrival)) -> ReadProgress {
        let told = u32::try_from(number).unwrap_or(u32::MAX);
        let file = self.files.get_mut(number);
        file.map_or(ReadProgress::Same, |file| {
            file.read_on(&*self.disk, told, self.threads, sink)
        })
    }

    /// As [`Journal::refresh`], for whoever looks again and again: of very many files those last written to are looked at
    /// each time, the rest in turn. Files that come or go are found at once, by the times of their folder.
    ///
    /// # Errors
    /// When the folder cannot be listed.
    pub fn follow(&mut self, sink: &mut dyn FnMut(Arrival)) -> Result<Refreshed, DiskError> {
        let folder = match &self.root {
            Root::Folder(folder) => self.disk.stat(folder).ok(),
            Root::File(_) | Root::Nowhere => None,
        };
        let Some(folder) = folder else {
            // One file, or a folder of which the listing will say what is wrong.
            return self.refresh(sink);
        };
        let Some(due) = self.watch.due(folder, self.files.len()) else {
            let refreshed = self.refresh(sink)?;
            self.watch.note_listed(folder);
            self.watch.note_written(&self.files);
            return Ok(refreshed);
        };
        let mut refreshed = Refreshed::Same;
        for number in due {
            match self.read_on(number, sink) {
                ReadProgress::Same => {}
                ReadProgress::ReadOn => refreshed = Refreshed::Grown,
                ReadProgress::Replaced => return Ok(Refreshed::Reread),
            }
        }
        if refreshed == Refreshed::Grown {
            self.watch.note_written(&self.files);
        }
        Ok(refreshed)
    }

    /// The disk that it lies on.
    #[must_use]
    pub fn disk(&self) -> Arc<dyn Disk> {
        Arc::clone(&self.disk)
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
}

impl Lines for Journal {
    fn raw(&self, origin: Origin) -> Option<Vec<u8>> {
        let file = self.files.get(usize::try_from(origin.file).ok()?)?;
        let line = u64::from(origin.line);
        // A poisoned lock only means that another thread died; the lines in it are still good.
        let mut blocks = self
            .blocks
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        let of_block = |(first, lines): &LineBlock| {
            let at = usize::try_from(line.checked_sub(*first)?).ok()?;
            lines.get(at).cloned()
        };
        if let Some(bytes) = blocks.get(&origin.file).and_then(of_block) {
            return Some(bytes);
        }
        let block = file.block(&*self.disk, origin.line)?;
        let bytes = of_block(&block);
        if blocks.len() >= MOST_BLOCKS {
            blocks.clear();
        }
        blocks.insert(origin.file, block);
        bytes
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
fn is_lone_name(path: &Path) -> bool {
    path.extension().is_some_and(|end| end == "jsonl")
}

fn is_journal_name(name: &Path) -> bool {
    let bytes = name.as_os_str().as_encoded_bytes();
    !bytes.starts_with(b".") && bytes.ends_with(b".jsonl")
}
