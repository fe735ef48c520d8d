//! Which files of a journal of many are looked at now: those last written to each time, the rest in turn. It reads none.

use super::disk::Stat;
use super::followed::FollowedFile;
use std::cmp::Reverse;
use std::ops::Range;

/// Of so many files all are looked at each time.
const FEW: usize = 256;
/// Of more, so many are looked at each time: those that cannot be read now, then those last written to.
const EACH_TIME: usize = 16;
/// In so many looks every file is looked at: within a minute, where a look is made every second and a half.
const ROUND: usize = 36;

/// What is remembered from one look to the next.
#[derive(Debug, Default)]
pub struct FileWatch {
    /// The folder as it was when its files were last listed, and how often in a row it was so. By POSIX a file that comes
    /// or goes is told by the times of its folder; yet two changes of one moment may bear one time.
    folder: Option<(Stat, u32)>,
    each_time: Vec<usize>,
    next: usize,
}

impl FileWatch {
    /// The files to be looked at now, by their numbers; nothing if the folder must be listed, and all of them looked at.
    pub fn due(
        &mut self,
        folder: Stat,
        count: usize,
    ) -> Option<impl Iterator<Item = usize> + use<>> {
        let is_calm = matches!(self.folder, Some((before, 2..)) if before == folder);
        if count <= FEW || !is_calm {
            return None;
        }
        let from = if self.next < count { self.next } else { 0 };
        let to = (from + count.div_ceil(ROUND)).min(count);
        self.next = to;
        let turn: Range<usize> = from..to;
        let each_time = self.each_time.clone().into_iter();
        let others = each_time.filter(move |number| !(from..to).contains(number));
        Some(turn.chain(others))
    }

    /// Takes note of the folder as it was before its files were listed.
    pub fn note_listed(&mut self, folder: Stat) {
        let times = match self.folder {
            Some((before, times)) if before == folder => times.saturating_add(1),
            _ => 1,
        };
        self.folder = Some((folder, times));
    }

    /// Takes note of which files were last written to.
    pub fn note_written(&mut self, files: &[FollowedFile]) {
        if files.len() <= FEW {
            return;
        }
        let rank = |number: &usize| {
            let file = &files[*number];
            let is_unread = file.stale.is_some() || file.fault.is_some();
            Reverse((is_unread, file.stat.map(|stat| stat.modified)))
        };
        let mut numbers: Vec<usize> = (0..files.len()).collect();
        numbers.select_nth_unstable_by_key(EACH_TIME, rank);
        numbers.truncate(EACH_TIME);
        self.each_time = numbers;
    }
}
