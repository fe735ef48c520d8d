//! Source files as the house rules see them. It reads Rust by its lines, which rustfmt keeps regular.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

const ROOMS: [&str; 10] = [
    "cli", "tui", "app", "input", "text", "analysis", "fold", "journal", "model", "stats",
];

/// One source file.
pub struct Source {
    /// From the project's folder, as `src/fold/mod.rs`.
    pub path: String,
    /// Its text.
    pub text: String,
}

impl Source {
    pub fn new(path: &str, text: &str) -> Self {
        Self {
            path: path.into(),
            text: text.into(),
        }
    }

    /// The room it stands in, or `main`, `lib`.
    pub fn room(&self) -> &str {
        let inner = self.path.trim_start_matches("src/");
        inner.split(['/', '.']).next().unwrap_or(inner)
    }

    /// Its module's path from the crate's root; empty for the root.
    pub fn module(&self) -> Vec<String> {
        let inner = self.path.trim_start_matches("src/");
        let inner = inner.trim_end_matches(".rs").trim_end_matches("/mod");
        let parts = inner
            .split('/')
            .filter(|part| !["lib", "main"].contains(part));
        parts.map(str::to_owned).collect()
    }

    /// Its lines up to the unit tests at its foot, comments left out.
    pub fn code_lines(&self) -> impl Iterator<Item = &str> {
        self.text
            .lines()
            .take_while(|line| !line.starts_with("#[cfg(test)]"))
            .filter(|line| !line.trim_start().starts_with("//"))
    }

    /// The rooms that its code names: after `crate::`, `struck::` or enough `super::`.
    pub fn rooms_named(&self) -> BTreeSet<&'static str> {
        let code: String = self
            .code_lines()
            .flat_map(|line| [line.trim(), " "])
            .collect();
        let mut named = BTreeSet::new();
        for root in ["crate::", "super::super::", "struck::"] {
            for (at, _) in code.match_indices(root) {
                let rest = &code[at + root.len()..];
                named.extend(heads(rest));
            }
        }
        named
    }

    /// Each function with its number of lines, from `fn` to its closing brace.
    pub fn functions(&self) -> Vec<(String, usize)> {
        let lines: Vec<_> = self
            .text
            .lines()
            .take_while(|l| !l.starts_with("#[cfg(test)]"))
            .collect();
        let mut found = Vec::new();
        for (at, line) in lines.iter().enumerate() {
            let Some(name) = function_name(line) else {
                continue;
            };
            let indent = line.len() - line.trim_start().len();
            let closing = format!("{}}}", " ".repeat(indent));
            let length = lines[at..]
                .iter()
                .position(|l| *l == closing)
                .map_or(1, |n| n + 1);
            found.push((
                name,
                if line.trim_end().ends_with('}') {
                    1
                } else {
                    length
                },
            ));
        }
        found
    }
}

/// The rooms at the head of a path, or at the heads of a braced list of paths.
fn heads(rest: &str) -> Vec<&'static str> {
    let room = |text: &str| {
        let word: String = text
            .trim_start()
            .chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect();
        ROOMS.iter().copied().find(|room| *room == word)
    };
    let Some(list) = rest.strip_prefix('{') else {
        return room(rest).into_iter().collect();
    };
    let (mut depth, mut start, mut found) = (0, 0, Vec::new());
    for (at, c) in list.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => {
                found.extend(room(&list[start..at]));
                break;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                found.extend(room(&list[start..at]));
                start = at + 1;
            }
            _ => {}
        }
    }
    found
}

fn function_name(line: &str) -> Option<String> {
    let mut words = line.trim_start();
    for lead in ["pub(super) ", "pub(crate) ", "pub ", "const "] {
        words = words.strip_prefix(lead).unwrap_or(words);
    }
    let name = words.strip_prefix("fn ")?;
    Some(
        name.chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect(),
    )
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for item in fs::read_dir(folder).unwrap() {
        let path = item.unwrap().path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}

/// All sources of the program.
pub fn all() -> Vec<Source> {
    let read = |path: PathBuf| {
        let name = path
            .strip_prefix(root())
            .unwrap()
            .to_string_lossy()
            .replace('\\', "/");
        Source {
            path: name,
            text: fs::read_to_string(path).unwrap(),
        }
    };
    rust_files(&root().join("src"))
        .into_iter()
        .map(read)
        .collect()
}

/// All Rust files of the test suite but its root.
pub fn test_files() -> Vec<PathBuf> {
    let folder = root().join("tests/suite");
    rust_files(&folder)
        .into_iter()
        .filter(|p| *p != folder.join("main.rs"))
        .collect()
}

/// The files that `mod` lines reach from the suite's root.
pub fn test_modules() -> BTreeSet<PathBuf> {
    let folder = root().join("tests/suite");
    let mut found = BTreeSet::new();
    let mut waiting = vec![(folder.join("main.rs"), folder)];
    while let Some((file, folder)) = waiting.pop() {
        for line in fs::read_to_string(&file).unwrap().lines() {
            let line = line
                .trim_start_matches("pub ")
                .trim_start_matches("pub(crate) ");
            let Some(name) = line.strip_prefix("mod ").and_then(|l| l.strip_suffix(';')) else {
                continue;
            };
            let (flat, nested) = (
                folder.join(format!("{name}.rs")),
                folder.join(name).join("mod.rs"),
            );
            let path = if flat.is_file() { flat } else { nested };
            if path.is_file() && found.insert(path.clone()) {
                waiting.push((path, folder.join(name)));
            }
        }
    }
    found
}
