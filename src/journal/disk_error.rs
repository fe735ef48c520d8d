//! What a disk's refusal means in plain words, and what can be done about it. It decides nothing.

use rustix::io::Errno;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// What was being done when the disk refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DiskStep {
    /// Looking at a path.
    Look,
    /// Listing a folder.
    List,
    /// Opening a file.
    Open,
    /// Reading.
    Read,
    /// Making a file or a folder.
    Create,
    /// Locking.
    Lock,
    /// Writing.
    Write,
    /// Waiting until it is on stable storage.
    Sync,
}

impl DiskStep {
    /// The step in words: `could not …`.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Look => "look at",
            Self::List => "list",
            Self::Open => "open",
            Self::Read => "read",
            Self::Create => "create",
            Self::Lock => "lock",
            Self::Write => "write to",
            Self::Sync => "make sure of what was written to",
        }
    }
}

/// A refusal of the disk: what was being done, to which path, why not, and the remedy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DiskError {
    /// What was being done.
    pub step: DiskStep,
    /// To which file or folder.
    pub path: PathBuf,
    /// The system's number for the error, if it gave one.
    pub code: Option<i32>,
    /// Why it failed, in words, without a full stop.
    pub why: String,
    /// What can be done, a sentence.
    pub remedy: &'static str,
}

impl DiskError {
    /// Words an error of the disk.
    #[must_use]
    pub fn new(step: DiskStep, path: &Path, error: &io::Error) -> Self {
        let code = error.raw_os_error();
        let row = code.and_then(|code| ERRORS.iter().find(|row| row.0.raw_os_error() == code));
        let (why, remedy) = match row {
            Some(&(_, why, remedy)) => (why.to_owned(), remedy),
            None => (error.to_string(), "Look at the disk, then try again."),
        };
        Self {
            step,
            path: path.to_owned(),
            code,
            why,
            remedy,
        }
    }
}

impl fmt::Display for DiskError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            out,
            "could not {} {}: {}",
            self.step.words(),
            self.path.display(),
            self.why
        )
    }
}

impl std::error::Error for DiskError {}

/// What the errors of a disk mean to the one at the bench.
const ERRORS: &[(Errno, &str, &str)] = &[
    (
        Errno::NOSPC,
        "the disk is full",
        "Free some space on that disk, then save again.",
    ),
    (
        Errno::DQUOT,
        "your share of the disk is used up",
        "Delete files of your own or ask for a larger quota, then save again.",
    ),
    (
        Errno::IO,
        "the disk reports a fault of its own",
        "Copy the journal to another disk soon, and have this one looked at.",
    ),
    (
        Errno::ROFS,
        "the disk is read-only",
        "Mount it for writing, or keep the journal elsewhere; a disk turns read-only by itself when it is failing.",
    ),
    (
        Errno::ACCESS,
        "you are not allowed to",
        "Have the owner of the folder give you the right to write in it.",
    ),
    (
        Errno::PERM,
        "the system does not permit it",
        "See whether the file is marked as unchangeable, or who owns it.",
    ),
    (
        Errno::FBIG,
        "the file would grow beyond the size allowed",
        "Raise the limit on file sizes, or begin a new file in the folder.",
    ),
    (
        Errno::STALE,
        "the network folder went away and came back",
        "Mount the network folder anew, then save again.",
    ),
    (
        Errno::MFILE,
        "the program has too many files open",
        "Close and start it again, or raise the limit on open files.",
    ),
    (
        Errno::NFILE,
        "the system has too many files open",
        "Close other programs, then try again.",
    ),
    (
        Errno::NOENT,
        "there is no such file or folder",
        "See whether the folder was moved or its disk is not mounted.",
    ),
    (
        Errno::NOTDIR,
        "a part of the path is not a folder",
        "Check the path of the journal.",
    ),
    (
        Errno::ISDIR,
        "it is a folder",
        "Move the folder out of the way.",
    ),
    (
        Errno::LOOP,
        "it is a link to another place",
        "Put the file itself into the journal's folder instead of a link.",
    ),
    (
        Errno::NOLCK,
        "the system has no locks left",
        "Close other programs; on a network folder, see whether its locks work.",
    ),
    (
        Errno::OPNOTSUPP,
        "the folder's file system cannot do this",
        "Keep the journal on a disk of this machine and copy it across.",
    ),
    (
        Errno::INVAL,
        "the folder's file system cannot do this",
        "Keep the journal on a disk of this machine and copy it across.",
    ),
    (
        Errno::NOMEM,
        "the system is out of memory",
        "Close other programs, then try again.",
    ),
    (
        Errno::AGAIN,
        "the disk did not answer in time",
        "Try again.",
    ),
    (Errno::INTR, "the system kept interrupting", "Try again."),
    (
        Errno::TIMEDOUT,
        "the disk did not answer in time",
        "See whether the network folder can be reached, then save again.",
    ),
    (
        Errno::BADF,
        "the file is no longer open",
        "Try again; if it stays, start the program anew.",
    ),
    (
        Errno::NXIO,
        "there is no such device",
        "Check the path of the journal.",
    ),
    (
        Errno::NODEV,
        "the disk is gone",
        "Put the disk back or mount it, then save again.",
    ),
    (
        Errno::HOSTDOWN,
        "the machine that holds the folder cannot be reached",
        "See whether the network is up, then save again.",
    ),
    (
        Errno::NAMETOOLONG,
        "the name is too long",
        "Give the folder a shorter path.",
    ),
    (Errno::EXIST, "it is there already", "Try again."),
];
