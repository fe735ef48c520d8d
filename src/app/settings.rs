//! Where everything lies and who is at work, told once at the start. It reads no environment: the command line does.

use std::path::PathBuf;

/// What the surroundings say, read once by the command line and handed on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// The journal: a folder, or a single `.jsonl` file.
    pub journal: PathBuf,
    /// Whether the user named it, rather than the platform's data folder standing in.
    pub named: bool,
    /// Folder of drafts and of this machine's own file names.
    pub state: PathBuf,
    /// The machine's name.
    pub host: String,
    /// The user's name.
    pub user: String,
    /// Number of this process, for the lock's words.
    pub process: u32,
    /// How many threads may work.
    pub threads: usize,
}

impl Settings {
    /// The user's name as a person's; nothing where the system knows only a number.
    #[must_use]
    pub fn person(&self) -> Option<&str> {
        let named = self.user.chars().any(|c| !c.is_ascii_digit());
        named.then_some(self.user.as_str())
    }

    /// Whether the journal is one file rather than a folder.
    #[must_use]
    pub fn is_lone_file(&self) -> bool {
        self.journal.extension().is_some_and(|e| e == "jsonl")
    }

    /// What the lock says while it is held.
    #[must_use]
    pub fn holder(&self) -> String {
        format!("{} on {}, process {}", self.user, self.host, self.process)
    }
}
