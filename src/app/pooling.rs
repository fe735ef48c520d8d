//! Folders of many nurseries: one nursery's published there, all read from there. What stands in their lines is made and
//! understood elsewhere.

use super::failure::Failure;
use super::files;
use crate::analysis::pool::{PartCollector, PoolGroup, WholePart};
use crate::handover::published::{MANIFEST, PublishedNursery, marks_of};
use crate::input::pooled::{PoolLine, PoolLineFault, next_beginning, read_line};
use crate::text::clean::shown;
use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

/// Puts a nursery's folder in place whole, in the place of what it published before.
///
/// # Errors
/// If another nursery's folder of that name is there, or it cannot be written; what was there is then as it was.
pub fn publish(pool: &Path, nursery: &str, made: &PublishedNursery) -> Result<PathBuf, Failure> {
    let folder = pool.join(format!("nursery={nursery}"));
    let failed = |error: &io::Error| {
        Failure::could(format!(
            "{} could not be written ({error}).",
            shown(&folder.to_string_lossy())
        ))
    };
    let there = files::listed(&folder).map_err(|error| failed(&error))?;
    if let Some(there) = &there {
        let manifest = files::get(&folder.join(MANIFEST)).map_err(|error| failed(&error))?;
        let marks = manifest.as_deref().and_then(marks_of);
        let ours = |name: &String| name == MANIFEST || name.starts_with("season=");
        let is_ours = there.iter().all(ours)
            && marks.is_some_and(|marks| marks.iter().any(|mark| made.marks.contains(mark)));
        if !there.is_empty() && !is_ours {
            return Err(Failure::could(format!(
                "{} is there already and is not what this journal published.",
                shown(&folder.to_string_lossy())
            ))
            .hint(
                "Publish under another name, or take that folder away first. Nothing was written.",
            ));
        }
    }
    files::make_folder(pool)
        .and_then(|()| files::put_folder(&folder, &made.files, there.is_some()))
        .map_err(|error| failed(&error))?;
    Ok(folder)
}

/// A line that was not taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnreadLine {
    /// The file, or what else the lines came from.
    pub file: String,
    /// From 1.
    pub line: u64,
    /// Why.
    pub fault: PoolLineFault,
}

/// What whole parts and aggregates are handed to.
pub trait PoolTaker {
    /// A part that has become whole.
    fn part(&mut self, part: WholePart);
    /// An aggregate.
    fn group(&mut self, group: PoolGroup);
}

/// The reading of a pool's lines.
#[derive(Debug, Default)]
pub struct PoolReading {
    /// The rows, by part.
    pub collector: PartCollector,
    /// Lines that were not taken in.
    pub unread: Vec<UnreadLine>,
    /// The files in which rows of a part stand, for parts that are not whole.
    files: BTreeMap<String, BTreeSet<String>>,
    /// Whether lines of parts that are not whole are kept, to be given on.
    keeps_lines: bool,
}

impl PoolReading {
    /// A reading that keeps the lines of parts that do not become whole.
    #[must_use]
    pub fn keeping_lines() -> Self {
        Self {
            keeps_lines: true,
            ..Self::default()
        }
    }

    /// Reads lines to their end.
    ///
    /// # Errors
    /// Whatever the system says.
    pub fn read(
        &mut self,
        name: &str,
        lines: impl Read,
        taker: &mut dyn PoolTaker,
        count: &mut dyn FnMut(u64),
    ) -> io::Result<()> {
        let mut lines = BufReader::with_capacity(1 << 18, lines);
        let (mut bytes, mut number) = (Vec::new(), 0);
        loop {
            bytes.clear();
            if lines.read_until(b'\n', &mut bytes)? == 0 {
                return Ok(());
            }
            number += 1;
            count(1);
            if let Err(fault) = self.line(name, &bytes, taker) {
                self.unread.push(UnreadLine {
                    file: name.to_owned(),
                    line: number,
                    fault,
                });
            }
        }
    }

    fn line(
        &mut self,
        name: &str,
        bytes: &[u8],
        taker: &mut dyn PoolTaker,
    ) -> Result<(), PoolLineFault> {
        let Some(bytes) = bytes.strip_suffix(b"\n") else {
            return Err(PoolLineFault::CutShort);
        };
        // What is no text does not fit its crc either.
        let text = String::from_utf8_lossy(bytes.strip_suffix(b"\r").unwrap_or(bytes));
        if text.trim().is_empty() {
            return Ok(());
        }
        let Err(fault) = self.take(name, &text, taker) else {
            return Ok(());
        };
        // Files joined end to end: one that was cut short runs into the first line of the next.
        match next_beginning(&text) {
            Some(next) => self
                .take(name, next, taker)
                .and(Err(PoolLineFault::CutShort)),
            None => Err(fault),
        }
    }

    fn take(
        &mut self,
        name: &str,
        text: &str,
        taker: &mut dyn PoolTaker,
    ) -> Result<(), PoolLineFault> {
        match read_line(text)? {
            PoolLine::Group(group) => taker.group(*group),
            PoolLine::Row(stamp, content) => {
                let kept = self.keeps_lines.then_some(text);
                if !self
                    .files
                    .get(stamp.part)
                    .is_some_and(|it| it.contains(name))
                {
                    let files = self.files.entry(stamp.part.to_owned()).or_default();
                    files.insert(name.to_owned());
                }
                if let Some(part) = self.collector.add(stamp, content, kept) {
                    taker.part(part);
                }
            }
        }
        Ok(())
    }

    /// The files in which rows of a part stand, in order.
    #[must_use]
    pub fn files_with(&self, part: &str) -> Vec<String> {
        let files = self.files.get(part);
        files.map_or_else(Vec::new, |files| files.iter().cloned().collect())
    }
}

/// Reads all files of lines below these paths.
///
/// # Errors
/// If a path is not there, holds no such file, or cannot be read.
pub fn read_sources(
    sources: &[PathBuf],
    reading: &mut PoolReading,
    taker: &mut dyn PoolTaker,
    count: &mut dyn FnMut(u64),
) -> Result<(), Failure> {
    let failed = |path: &Path, error: &io::Error| {
        let path = shown(&path.to_string_lossy());
        Failure::could(format!("{path} could not be read ({error})."))
    };
    let mut all = BTreeSet::new();
    for source in sources {
        let found = files::lines_below(source).map_err(|(path, error)| failed(&path, &error))?;
        if found.is_empty() {
            return Err(Failure::could(format!(
                "{} holds nothing that was published.",
                shown(&source.to_string_lossy())
            ))
            .hint("Publish a journal there with `struck publish`, or name another folder."));
        }
        all.extend(found);
    }
    for path in all {
        let (lines, _) = files::foreign(&path).map_err(|error| failed(&path, &error))?;
        let name = path.to_string_lossy();
        reading
            .read(&name, lines, taker, count)
            .map_err(|error| failed(&path, &error))?;
    }
    Ok(())
}
