//! The tables of the house rules, and breaches planted to prove that they are found.

/// Lines of a file without its tests.
pub const LONGEST_FILE: usize = 600;
/// Lines of a function.
pub const LONGEST_FUNCTION: usize = 80;

/// Each room with the rooms that it may import.
pub const IMPORTS: [(&str, &[&str]); 9] = [
    ("main", &["cli"]),
    ("lib", &[]),
    ("cli", &["screens", "desk", "book", "words", "figures"]),
    ("screens", &["desk", "book", "words", "figures"]),
    ("desk", &["journal", "book", "words", "figures"]),
    ("journal", &["book"]),
    ("words", &["book", "figures"]),
    ("book", &["figures"]),
    ("figures", &[]),
];

/// Words that only some places may use.
pub struct Fence {
    /// What they stand for.
    pub what: &'static str,
    /// The words, as they stand in code.
    pub words: &'static [&'static str],
    /// Where they may stand: path beginnings.
    pub only: &'static [&'static str],
}

/// All fences.
pub const FENCES: [Fence; 7] = [
    Fence {
        what: "the standard library's listing, which ends the program when closing a folder fails",
        words: &["read_dir"],
        only: &["nowhere"],
    },
    Fence {
        what: "printing",
        words: &[
            "println!",
            "eprintln!",
            "print!(",
            "eprint!(",
            "io::stdout",
            "io::stderr",
            "dbg!",
        ],
        only: &["src/cli/", "src/screens/terminal"],
    },
    Fence {
        what: "the file system",
        words: &["std::fs", "fs::File", "rustix::fs", "File::open"],
        only: &["src/journal/", "src/desk/files.rs"],
    },
    Fence {
        what: "the clock or entropy",
        words: &[
            "Utc::now",
            "Local::now",
            "Local::today",
            "SystemTime::now",
            "Instant::now",
            "rand::rng",
            "from_os_rng",
            "getrandom",
            "SysRng",
        ],
        only: &["src/desk/clock.rs"],
    },
    Fence {
        what: "the terminal libraries",
        words: &["ratatui", "crossterm"],
        only: &["src/screens/"],
    },
    Fence {
        what: "JSON",
        words: &["serde_json"],
        only: &["src/journal/", "src/cli/"],
    },
    Fence {
        what: "environment variables",
        words: &["env::var", "env::vars", "env!(\"HOME"],
        only: &["src/cli/"],
    },
];

/// Sources that each break one rule, with what the breach must say.
pub const PLANTED: [(&str, &str, &str); 13] = [
    (
        "src/journal/a.rs",
        "//! Job.\nfn f() { std::fs::read_dir(p); }\n",
        "listing",
    ),
    ("src/book/a.rs", "use std::fmt;\n", "does not open"),
    (
        "src/figures/a.rs",
        "//! Job.\nuse crate::book::Book;\n",
        "imports book",
    ),
    (
        "src/book/a.rs",
        "//! Job.\nuse crate::{figures, words};\n",
        "imports words",
    ),
    (
        "src/words/a.rs",
        "//! Job.\nfn f() { crate::journal::open(); }\n",
        "imports journal",
    ),
    (
        "src/screens/a.rs",
        "//! Job.\nuse crate::{\n    desk,\n    journal::read,\n};\n",
        "imports journal",
    ),
    (
        "src/journal/a.rs",
        "//! Job.\nuse super::super::desk::Desk;\n",
        "imports desk",
    ),
    ("src/attic/a.rs", "//! Job.\n", "no room"),
    (
        "src/desk/a.rs",
        "//! Job.\nfn f() { println!(\"x\"); }\n",
        "printing",
    ),
    (
        "src/desk/a.rs",
        "//! Job.\nuse std::fs;\n",
        "the file system",
    ),
    (
        "src/words/a.rs",
        "//! Job.\nfn f() { chrono::Utc::now(); }\n",
        "the clock",
    ),
    (
        "src/cli/a.rs",
        "//! Job.\nuse crossterm::event;\n",
        "the terminal libraries",
    ),
    (
        "src/desk/a.rs",
        "//! Job.\nfn f() { serde_json::to_string(&1); }\n",
        "JSON",
    ),
];
