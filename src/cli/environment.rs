//! The surroundings: environment variables, terminal, folders. Read once here and handed on as a struct.

use crate::app::clock::Clock;
use crate::app::failure::Failure;
use crate::app::writer::Settings;
use directories::ProjectDirs;
use std::env;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

/// Width of tables where no terminal tells one.
const PLAIN_WIDTH: usize = 100;

/// What the surroundings say.
#[derive(Clone, Debug)]
pub struct Environment {
    /// `STRUCK_JOURNAL`.
    journal: Option<PathBuf>,
    /// `STRUCK_NOW`: a moment to take for now, as `2026-06-14T09:00:00+02:00`.
    now: Option<String>,
    /// Columns of the terminal, or of plain output.
    pub width: usize,
    /// Whether only ASCII can be shown.
    pub ascii: bool,
    /// Whether colour is unwelcome (`NO_COLOR`, `TERM=dumb`).
    pub plain: bool,
    /// Whether the terminal takes no orders (`TERM=dumb`).
    pub dumb: bool,
    /// Whether standard error is a terminal, so that progress may be shown.
    pub watched: bool,
    /// Whether standard output is a terminal.
    pub terminal: bool,
}

impl Environment {
    /// Reads the environment variables and asks what standard output and error are.
    #[must_use]
    pub fn read() -> Self {
        let set = |name: &str| env::var_os(name).filter(|value| !value.is_empty());
        let text = |name: &str| set(name).and_then(|value| value.into_string().ok());
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
            .iter()
            .find_map(|name| text(name));
        let utf8 = locale
            .as_ref()
            .is_some_and(|l| l.to_lowercase().replace('-', "").contains("utf8"));
        let term = text("TERM");
        Self {
            journal: set("STRUCK_JOURNAL").map(PathBuf::from),
            now: text("STRUCK_NOW"),
            width: width(text("COLUMNS").as_deref()),
            ascii: !utf8,
            plain: set("NO_COLOR").is_some() || term.as_deref() == Some("dumb"),
            dumb: term.as_deref() == Some("dumb"),
            watched: std::io::stderr().is_terminal(),
            terminal: std::io::stdout().is_terminal() && std::io::stdin().is_terminal(),
        }
    }

    /// The clock to go by.
    ///
    /// # Errors
    /// If `STRUCK_NOW` is set to what is no moment.
    pub fn clock(&self) -> Result<Clock, Failure> {
        let Some(text) = &self.now else {
            return Ok(Clock::system());
        };
        match chrono::DateTime::parse_from_rfc3339(text) {
            Ok(now) => Ok(Clock::fixed(now)),
            Err(_) => Err(Failure::usage(format!(
                "STRUCK_NOW is '{text}', which is no moment in time."
            ))
            .hint("Write it as 2026-06-14T09:00:00+02:00, or unset it.")),
        }
    }

    /// Where everything lies, given the journal that the command line names.
    ///
    /// # Errors
    /// If no home is known to put things in.
    pub fn settings(&self, journal: Option<&Path>) -> Result<Settings, Failure> {
        let named = journal
            .map(Path::to_path_buf)
            .or_else(|| self.journal.clone());
        let folders = ProjectDirs::from("", "", "struck").ok_or_else(|| {
            Failure::could("No home folder is known, so there is nowhere to keep a journal.")
                .hint("Set HOME, or name a journal with --journal.")
        })?;
        let state = folders
            .state_dir()
            .unwrap_or_else(|| folders.data_local_dir());
        Ok(Settings {
            named: named.is_some(),
            journal: named.unwrap_or_else(|| folders.data_dir().join("journal")),
            state: state.to_path_buf(),
            host: rustix::system::uname()
                .nodename()
                .to_string_lossy()
                .into_owned(),
            user: user(),
            process: std::process::id(),
            threads: std::thread::available_parallelism().map_or(1, usize::from),
        })
    }
}

/// The user's name as the system says it, or the number where it has none.
fn user() -> String {
    ["USER", "LOGNAME"]
        .iter()
        .find_map(|name| env::var(name).ok().filter(|value| !value.is_empty()))
        .unwrap_or_else(|| rustix::process::getuid().as_raw().to_string())
}

fn width(columns: Option<&str>) -> usize {
    let told = columns.and_then(|text| text.parse().ok());
    let size = rustix::termios::tcgetwinsize(std::io::stdout()).ok();
    let seen = size
        .map(|size| usize::from(size.ws_col))
        .filter(|columns| *columns > 0);
    seen.or(told).unwrap_or(PLAIN_WIDTH)
}
