//! Runs the program on a scratch folder and holds what it said.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

/// The moment that all commands take for now.
pub const NOW: &str = "2026-06-30T09:00:00+01:00";

/// The moment at which the sample nursery ends.
pub const NURSERY_NOW: &str = "2026-08-20T12:00:00+01:00";

/// The sample nursery at its end.
pub fn nursery() -> Home {
    Home::with_sample("nursery").at(NURSERY_NOW)
}

/// A scratch home with a journal in it.
pub struct Home {
    folder: TempDir,
    now: String,
    width: usize,
}

/// What a run said.
pub struct Said {
    pub out: String,
    pub err: String,
    pub code: i32,
}

impl Home {
    /// With no journal yet.
    pub fn new() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
            now: NOW.into(),
            width: 80,
        }
    }

    /// With a copy of a sample journal.
    pub fn with_sample(name: &str) -> Self {
        let home = Self::new();
        let from = samples().join(name);
        let to = home.journal();
        if from.is_file() {
            fs::create_dir_all(&to).unwrap();
            fs::copy(&from, to.join(from.file_name().unwrap())).unwrap();
        } else {
            copy_folder(&from, &to);
        }
        home
    }

    pub fn at(mut self, now: &str) -> Self {
        self.now = now.into();
        self
    }

    pub fn wide(mut self, columns: usize) -> Self {
        self.width = columns;
        self
    }

    /// The journal's folder.
    pub fn journal(&self) -> PathBuf {
        self.folder.path().join("journal")
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// All lines of the journal, file by file in the order of their names.
    pub fn lines(&self) -> Vec<String> {
        let mut files: Vec<_> = fs::read_dir(self.journal())
            .unwrap()
            .map(|item| item.unwrap().path())
            .collect();
        files.retain(|path| path.extension().is_some_and(|e| e == "jsonl"));
        files.sort();
        files
            .iter()
            .flat_map(|path| {
                fs::read_to_string(path)
                    .unwrap()
                    .lines()
                    .map(String::from)
                    .collect::<Vec<_>>()
            })
            .collect()
    }

    pub fn struck(&self, arguments: &[&str]) -> Said {
        let output = self.command(arguments).output().unwrap();
        Said::of(&output, self.folder.path())
    }

    /// As `struck`, with that on standard input.
    pub fn struck_fed(&self, arguments: &[&str], input: &[u8]) -> Said {
        let mut child = self
            .command(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let (mut pipe, input) = (child.stdin.take().unwrap(), input.to_vec());
        // Beside the reading, since a program may answer before it has read it all; one that refuses it may end before.
        let fed = std::thread::spawn(move || drop(pipe.write_all(&input)));
        let output = child.wait_with_output().unwrap();
        fed.join().unwrap();
        Said::of(&output, self.folder.path())
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_struck"));
        command
            .args(arguments)
            .env_clear()
            .env("HOME", self.folder.path())
            .env("LANG", "C.UTF-8")
            .env("COLUMNS", self.width.to_string())
            .env("USER", "grower")
            .env("STRUCK_NOW", &self.now)
            .env("STRUCK_JOURNAL", self.journal());
        command
    }
}

impl Said {
    fn of(output: &Output, home: &Path) -> Self {
        let text = |bytes: &[u8]| {
            String::from_utf8(bytes.to_vec())
                .unwrap()
                .replace(home.to_str().unwrap(), "HOME")
        };
        Self {
            out: text(&output.stdout),
            err: text(&output.stderr),
            code: output.status.code().unwrap(),
        }
    }

    /// Standard output of a run that did what it was asked.
    pub fn done(self) -> String {
        assert_eq!((self.code, self.err.as_str()), (0, ""), "{}", self.out);
        self.out
    }
}

pub fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-journals")
}

fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for item in fs::read_dir(from).unwrap() {
        let path = item.unwrap().path();
        fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
    }
}
