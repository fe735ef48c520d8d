//! What this machine and user call their own in a journal: their file's name and the letter of their codes.

use super::clock::Clock;
use super::codes;
use super::files;
use super::settings::Settings;
use crate::journal::append::file_name;
use sha2::{Digest, Sha256};
use std::io;
use std::path::PathBuf;

/// Kept in the state folder, since the journal may travel to other machines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Own {
    /// Name of the file that this writer appends to.
    pub name: String,
    /// Letter in this writer's codes, unless its file is the journal's first.
    pub letter: Option<char>,
}

impl Own {
    /// What was kept, else new: with a letter if others wrote in the journal before.
    ///
    /// # Errors
    /// If what was kept cannot be read.
    pub fn of(
        settings: &Settings,
        clock: &Clock,
        others: bool,
        known_codes: &[String],
    ) -> io::Result<Self> {
        let path = folder(settings).join("own");
        if let Some(own) = files::get(&path)?.as_deref().and_then(Self::read) {
            return Ok(own);
        }
        let pick = usize::try_from(clock.seed() % 1000).unwrap_or(0);
        let taken = known_codes.iter().map(String::as_str);
        let letter = if others && !settings.is_lone_file() {
            codes::free_letter(taken, pick)
        } else {
            None
        };
        Ok(Self {
            name: file_name(&settings.host, &settings.user, &clock.random_text(4)),
            letter,
        })
    }

    /// Keeps it, so that the next run finds it.
    ///
    /// # Errors
    /// Whatever the system says.
    pub fn keep(&self, settings: &Settings) -> io::Result<()> {
        let path = folder(settings).join("own");
        let text = self.write();
        if files::get(&path)?.as_deref() == Some(&*text) {
            return Ok(());
        }
        files::private_folder(&folder(settings))?;
        files::sweep_folder(&folder(settings));
        files::put(&path, &text)
    }

    fn write(&self) -> String {
        format!(
            "{}\n{}\n",
            self.name,
            self.letter.map_or_else(String::new, String::from)
        )
    }

    fn read(text: &str) -> Option<Self> {
        let mut lines = text.lines();
        let name = lines
            .next()
            .filter(|name| name.ends_with(".jsonl") && !name.contains('/'))?;
        let letter = lines.next().and_then(|line| line.chars().next());
        Some(Self {
            name: name.into(),
            letter,
        })
    }
}

/// The state folder of a journal: by the hash of its path, so that several are told apart.
#[must_use]
pub fn folder(settings: &Settings) -> PathBuf {
    let path = std::path::absolute(&settings.journal).unwrap_or_else(|_| settings.journal.clone());
    let hash = Sha256::digest(path.as_os_str().as_encoded_bytes());
    let name: String = hash
        .iter()
        .take(8)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    settings.state.join(name)
}
