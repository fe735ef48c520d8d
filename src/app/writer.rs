//! What this machine and user call their own in a journal: the name of their file and the letter in their codes;
//! and which code the next batch gets.

use super::clock::Clock;
use super::files;
use super::settings::Settings;
use crate::journal::append::file_name;
use sha2::{Digest, Sha256};
use std::io;
use std::path::PathBuf;

/// Kept in the state folder, since the journal may travel to other machines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Writer {
    /// Name of the file that this writer appends to.
    pub name: String,
    /// Letter in this writer's codes, unless its file is the journal's first.
    pub letter: Option<char>,
}

impl Writer {
    /// What was kept, else new: with a letter if others wrote in the journal before.
    ///
    /// # Errors
    /// If what was kept cannot be read.
    pub fn settle(
        settings: &Settings,
        clock: &Clock,
        others: bool,
        known_codes: &[String],
    ) -> io::Result<Self> {
        let path = state_folder(settings).join("own");
        if let Some(own) = files::get(&path)?.as_deref().and_then(Self::read) {
            return Ok(own);
        }
        let pick = usize::try_from(clock.seed() % 1000).unwrap_or(0);
        let taken = known_codes.iter().map(String::as_str);
        let letter = if others && !settings.is_lone_file() {
            free_letter(taken, pick)
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
        let path = state_folder(settings).join("own");
        let text = self.write();
        if files::get(&path)?.as_deref() == Some(&*text) {
            return Ok(());
        }
        files::private_folder(&state_folder(settings))?;
        files::sweep_folder(&state_folder(settings));
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
pub fn state_folder(settings: &Settings) -> PathBuf {
    let path = std::path::absolute(&settings.journal).unwrap_or_else(|_| settings.journal.clone());
    let hash = Sha256::digest(path.as_os_str().as_encoded_bytes());
    let name: String = hash
        .iter()
        .take(8)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    settings.state.join(name)
}

/// Letters that a second writer may put into its codes: none that reads like a digit.
pub const LETTERS: &str = "abcdefghjkmnpqrtuvwxyz";

/// The next free code of a year: `26-041`, or `26-k041` for a writer with a letter of its own.
///
/// One above the highest number that the year's codes of the same letter bear, so that a code
/// once given is never given again, even when its batch was withdrawn.
#[must_use]
pub fn next_code<'a>(
    year: i32,
    letter: Option<char>,
    codes: impl Iterator<Item = &'a str>,
) -> String {
    let year = year.rem_euclid(100);
    let highest = codes
        .filter_map(|code| number(code, year, letter))
        .max()
        .unwrap_or(0);
    let letter = letter.map_or_else(String::new, String::from);
    format!("{year:02}-{letter}{:03}", highest + 1)
}

/// The code after this one, for several batches in one act.
#[must_use]
pub fn following_code(code: &str) -> String {
    let digits = code.len() - code.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    let (head, tail) = code.split_at(code.len() - digits);
    match tail.parse::<u32>() {
        Ok(n) => format!("{head}{:0width$}", n + 1, width = digits),
        Err(_) => format!("{code}-2"),
    }
}

/// The number that a code of this year and letter bears.
fn number(code: &str, year: i32, letter: Option<char>) -> Option<u32> {
    let (head, tail) = code.split_once('-')?;
    let tail = match letter {
        Some(letter) => tail.strip_prefix(letter)?,
        None => tail,
    };
    let whole = !tail.is_empty() && tail.bytes().all(|b| b.is_ascii_digit());
    (whole && head.parse() == Ok(year))
        .then(|| tail.parse().ok())
        .flatten()
}

/// A letter that no code of the year bears yet, the `pick`-th of those free; nothing when all are taken.
#[must_use]
pub fn free_letter<'a>(codes: impl Iterator<Item = &'a str>, pick: usize) -> Option<char> {
    let taken: Vec<char> = codes
        .filter_map(|code| code.split_once('-')?.1.chars().next())
        .collect();
    let free: Vec<char> = LETTERS
        .chars()
        .filter(|letter| !taken.contains(letter))
        .collect();
    (!free.is_empty()).then(|| free[pick % free.len()])
}
