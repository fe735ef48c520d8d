//! The tables of the house rules, and breaches planted to prove that they are found.

/// Lines of a file without its tests.
pub const LONGEST_FILE: usize = 600;
/// Lines of a function.
pub const LONGEST_FUNCTION: usize = 80;

/// Each room with the rooms that it may import.
pub const IMPORTS: [(&str, &[&str]); 13] = [
    ("main", &["cli"]),
    ("lib", &[]),
    ("cli", BELOW_CLI),
    ("tui", BELOW_TUI),
    (
        "app",
        &[
            "journal", "handover", "input", "text", "analysis", "fold", "model", "stats",
        ],
    ),
    ("handover", &["text", "analysis", "fold", "model", "stats"]),
    ("input", &["text", "analysis", "fold", "model", "stats"]),
    ("text", &["analysis", "fold", "model", "stats"]),
    ("analysis", &["fold", "model", "stats"]),
    ("fold", &["model"]),
    ("journal", &["model"]),
    ("model", &[]),
    ("stats", &[]),
];

const BELOW_TUI: &[&str] = &[
    "app", "handover", "input", "text", "analysis", "fold", "model", "stats",
];
const BELOW_CLI: &[&str] = &[
    "tui", "app", "handover", "input", "text", "analysis", "fold", "model", "stats",
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
        only: &["src/cli/", "src/tui/terminal"],
    },
    Fence {
        what: "the file system",
        words: &["std::fs", "fs::File", "rustix::fs", "File::open"],
        only: &["src/journal/", "src/app/files.rs"],
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
        only: &["src/app/clock.rs"],
    },
    Fence {
        what: "the terminal libraries",
        words: &["ratatui", "crossterm"],
        only: &["src/tui/"],
    },
    Fence {
        what: "JSON",
        words: &["serde_json"],
        only: &[
            "src/journal/",
            "src/cli/",
            "src/handover/",
            "src/input/pooled.rs",
        ],
    },
    Fence {
        what: "environment variables",
        words: &["env::var", "env::vars", "env!(\"HOME"],
        only: &["src/cli/"],
    },
];

/// Sources that each break one rule, with what the breach must say.
pub const PLANTED: [(&str, &str, &str); 15] = [
    (
        "src/journal/a.rs",
        "//! Job.\nfn f() { std::fs::read_dir(p); }\n",
        "listing",
    ),
    ("src/fold/a.rs", "use std::fmt;\n", "does not open"),
    (
        "src/stats/a.rs",
        "//! Job.\nuse crate::fold::Book;\n",
        "imports fold",
    ),
    (
        "src/fold/a.rs",
        "//! Job.\nuse crate::{model, text};\n",
        "imports text",
    ),
    (
        "src/text/a.rs",
        "//! Job.\nfn f() { crate::journal::open(); }\n",
        "imports journal",
    ),
    (
        "src/tui/a.rs",
        "//! Job.\nuse crate::{\n    app,\n    journal::read,\n};\n",
        "imports journal",
    ),
    (
        "src/journal/a.rs",
        "//! Job.\nuse super::super::app::Desk;\n",
        "imports app",
    ),
    (
        "src/handover/a.rs",
        "//! Job.\nuse crate::input::when;\n",
        "imports input",
    ),
    (
        "src/handover/a.rs",
        "//! Job.\nuse std::fs;\n",
        "the file system",
    ),
    ("src/attic/a.rs", "//! Job.\n", "no room"),
    (
        "src/app/a.rs",
        "//! Job.\nfn f() { println!(\"x\"); }\n",
        "printing",
    ),
    (
        "src/app/a.rs",
        "//! Job.\nuse std::fs;\n",
        "the file system",
    ),
    (
        "src/text/a.rs",
        "//! Job.\nfn f() { chrono::Utc::now(); }\n",
        "the clock",
    ),
    (
        "src/cli/a.rs",
        "//! Job.\nuse crossterm::event;\n",
        "the terminal libraries",
    ),
    (
        "src/app/a.rs",
        "//! Job.\nfn f() { serde_json::to_string(&1); }\n",
        "JSON",
    ),
];

/// Files that import each other in a circle, with what the circle runs through.
pub const CIRCULAR: [(&str, &[(&str, &str)]); 5] = [
    (
        "two neighbours",
        &[
            ("src/fold/a.rs", "//! Job.\nuse super::b::B;\n"),
            ("src/fold/b.rs", "//! Job.\nuse crate::fold::a::A;\n"),
        ],
    ),
    (
        "a path written out in full",
        &[
            ("src/fold/a.rs", "//! Job.\nfn f() { super::b::g(); }\n"),
            (
                "src/fold/b.rs",
                "//! Job.\nuse super::{a, c};\nfn g() { a::f(); }\n",
            ),
        ],
    ),
    (
        "a module and its child",
        &[
            (
                "src/fold/a/mod.rs",
                "//! Job.\nmod b;\npub struct A;\nfn f() { b::g(); }\n",
            ),
            ("src/fold/a/b.rs", "//! Job.\nuse super::A;\n"),
        ],
    ),
    (
        "a name handed on",
        &[
            (
                "src/fold/mod.rs",
                "//! Job.\npub mod a;\npub mod b;\npub use a::A;\n",
            ),
            ("src/fold/a.rs", "//! Job.\nuse super::b::B;\n"),
            ("src/fold/b.rs", "//! Job.\nuse super::A;\n"),
        ],
    ),
    (
        "three of a room",
        &[
            ("src/fold/a.rs", "//! Job.\nuse super::{b::{self, B}, d};\n"),
            ("src/fold/b.rs", "//! Job.\nuse crate::{fold::c, model};\n"),
            ("src/fold/c.rs", "//! Job.\nuse super::a::A;\n"),
            ("src/fold/d.rs", "//! Job.\n"),
        ],
    ),
];

/// Files without a circle: a word of the same name elsewhere, text, comments and unit tests make none.
pub const STRAIGHT: [(&str, &str); 4] = [
    (
        "src/fold/mod.rs",
        "//! Job.\npub mod a;\npub mod b;\npub use a::A;\n",
    ),
    ("src/fold/a.rs", "//! Job.\nuse super::b::B;\n"),
    (
        "src/fold/b.rs",
        "//! Job.\n// use super::a::A;\nfn f() { let x = \"super::a::A\"; other::a::f(); }\n\n#[cfg(test)]\nmod tests {\n    use super::super::a::A;\n}\n",
    ),
    ("src/model/a.rs", "//! Job.\n"),
];

/// Sources that each break one rule on names, with what the breach must say.
pub const MISNAMED: [(&str, &str, &str); 7] = [
    ("src/fold/a.rs", "//! Job.\npub fn of() {}\n", "fold: fn of"),
    (
        "src/fold/a.rs",
        "//! Job.\npub(super) const fn seen() {}\n",
        "fold: fn seen",
    ),
    (
        "src/tui/a.rs",
        "//! Job.\npub struct Told;\n",
        "tui: struct Told",
    ),
    (
        "src/tui/mod.rs",
        "//! Job.\npub mod known;\n",
        "tui: mod known",
    ),
    (
        "src/cli/a.rs",
        "//! Job.\nuse crate::text::plans as said;\n",
        "cli: as said",
    ),
    (
        "src/cli/a.rs",
        "//! Job.\nuse crate::model::{\n    value::{Value as Field, Other},\n};\n",
        "cli: as Field",
    ),
    (
        "src/app/a.rs",
        "//! Job.\npub enum Twin {}\n",
        "app: type Twin",
    ),
];
