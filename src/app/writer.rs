//! Where everything lies and who is at work, told once at the start; what this machine and user call their own in a
//! journal, the name of their file and the letter in their codes; and which code the next batch gets.

use super::clock::Clock;
use super::files;
use crate::journal::append::file_name;
use crate::model::text::hex;
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
    /// The machine that it was made on, as a fingerprint: a home that was copied to another begins a file of its own.
    machine: String,
    /// Whether an entry was saved under this name, so that a journal without it is one that is missing.
    wrote: bool,
}

impl Writer {
    /// A writer on this machine with this file and letter.
    #[must_use]
    pub fn new(settings: &Settings, name: String, letter: Option<char>) -> Self {
        Self {
            name,
            letter,
            machine: files::machine(&settings.host),
            wrote: false,
        }
    }

    /// What was kept on this machine, else new: with a letter if others wrote in the journal before.
    ///
    /// # Errors
    /// If what was kept cannot be read.
    pub fn settle<'a>(
        settings: &Settings,
        clock: &Clock,
        others: bool,
        known_codes: impl Iterator<Item = &'a str>,
    ) -> io::Result<Self> {
        let machine = files::machine(&settings.host);
        let path = state_folder(settings).join(KEPT);
        let kept = files::get(&path)?.and_then(|text| Self::read(&text, &machine));
        if let Some(own) = kept.filter(|own| own.machine == machine) {
            return Ok(own);
        }
        let name = file_name(&settings.host, &settings.user, &clock.random_text(4));
        let mut own = Self::new(settings, name, None);
        if others && !settings.is_lone_file() {
            own.take_free_letter(clock, known_codes);
        }
        Ok(own)
    }

    /// Takes a letter that none of these codes bears.
    pub fn take_free_letter<'a>(
        &mut self,
        clock: &Clock,
        known_codes: impl Iterator<Item = &'a str>,
    ) {
        let pick = usize::try_from(clock.seed() % 1000).unwrap_or(0);
        self.letter = free_letter(known_codes, pick);
    }

    /// Takes note that an entry was saved under its name. If that cannot be kept, a journal that goes missing is begun
    /// anew without a question, which is all that hangs on it.
    pub fn note_wrote(&mut self, settings: &Settings) {
        if !self.wrote {
            self.wrote = true;
            let _ = self.keep(settings);
        }
    }

    /// Keeps it, so that the next run finds it.
    ///
    /// # Errors
    /// Whatever the system says.
    pub fn keep(&self, settings: &Settings) -> io::Result<()> {
        let path = state_folder(settings).join(KEPT);
        let text = self.write();
        if files::get(&path)?.as_deref() == Some(&*text) {
            return Ok(());
        }
        files::private_folder(&state_folder(settings))?;
        files::sweep_folder(&state_folder(settings));
        files::put(&path, &text)
    }

    fn write(&self) -> String {
        let letter = self.letter.map_or_else(String::new, String::from);
        let wrote = if self.wrote { "wrote\n" } else { "" };
        format!("{}\n{letter}\n{}\n{wrote}", self.name, self.machine)
    }

    /// A text without a machine was kept by an earlier version, on this one.
    fn read(text: &str, machine: &str) -> Option<Self> {
        let mut lines = text.lines();
        let name = lines
            .next()
            .filter(|name| name.ends_with(".jsonl") && !name.contains('/'))?;
        let letter = lines.next().and_then(|line| line.chars().next());
        let machine = lines.next().unwrap_or(machine);
        Some(Self {
            name: name.into(),
            letter,
            machine: machine.into(),
            wrote: lines.next().is_some(),
        })
    }
}

/// Name of the file in the state folder that it is kept in.
const KEPT: &str = "own";

/// Whether this user wrote in the journal before, from this state folder.
#[must_use]
pub fn wrote_before(settings: &Settings) -> bool {
    let kept = files::get(&state_folder(settings).join(KEPT))
        .ok()
        .flatten();
    let own = kept.and_then(|text| Writer::read(&text, ""));
    own.is_some_and(|own| own.wrote)
}

/// The state folder of a journal: by the hash of its path, so that several are told apart.
#[must_use]
pub fn state_folder(settings: &Settings) -> PathBuf {
    let path = std::path::absolute(&settings.journal).unwrap_or_else(|_| settings.journal.clone());
    let hash = Sha256::digest(path.as_os_str().as_encoded_bytes());
    settings.state.join(hex(&hash[..8]))
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

/// The writer's letter in a code that was allotted: nothing in it for the journal's first writer; nothing at all if the
/// code is of another shape.
#[must_use]
pub fn code_letter(code: &str) -> Option<Option<char>> {
    let (year, tail) = code.split_once('-')?;
    let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let letter = tail.chars().next().filter(|c| LETTERS.contains(*c));
    let rest = letter.map_or(tail, |_| &tail[1..]);
    (year.len() == 2 && is_digits(year) && is_digits(rest)).then_some(letter)
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
