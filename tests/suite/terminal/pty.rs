//! The real program on a pseudo-terminal: keys in, a screen out, read by vt100. It waits for text, never for time.

use portable_pty::{Child, CommandBuilder, MasterPty, PtyPair, PtySize, native_pty_system};
use rustix::termios::{self, OptionalActions, SpecialCodeIndex};
use std::io::{Read, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// The program.
pub const PROGRAM: &str = env!("CARGO_BIN_EXE_struck");
/// The longest wait for a text: far more than any machine needs, so that only a fault reaches it.
const LONGEST: Duration = Duration::from_secs(30);

/// What the terminal has been sent.
#[derive(Default)]
struct Seen {
    bytes: Vec<u8>,
    ended: bool,
    /// Asks the reader to let go of the terminal at the next bytes.
    let_go: bool,
}

pub struct Session {
    seen: Arc<(Mutex<Seen>, Condvar)>,
    keys: Box<dyn Write + Send>,
    master: Option<Box<dyn MasterPty + Send>>,
    child: Box<dyn Child + Send + Sync>,
    reader: std::thread::JoinHandle<()>,
    size: (u16, u16),
    /// The line settings as the program found them.
    found: String,
}

/// Where a journal and its drafts lie.
pub struct Home(TempDir);

impl Home {
    pub fn new() -> Self {
        Self(TempDir::new().unwrap())
    }

    pub fn path(&self) -> &Path {
        self.0.path()
    }

    /// All lines of the journal.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = Vec::new();
        let Ok(files) = std::fs::read_dir(self.path().join("journal")) else {
            return lines;
        };
        for file in files {
            let path = file.unwrap().path();
            if path.extension().is_some_and(|e| e == "jsonl") {
                let text = std::fs::read_to_string(path).unwrap();
                lines.extend(text.lines().map(str::to_owned));
            }
        }
        lines
    }

    /// Runs a command of the program on this home's journal.
    pub fn command(&self, arguments: &[&str]) -> String {
        let mut command = std::process::Command::new(PROGRAM);
        command.args(arguments).env_clear();
        for (name, value) in self.surroundings() {
            command.env(name, value);
        }
        let output = command.output().unwrap();
        assert!(output.status.success(), "{arguments:?}: {output:?}");
        String::from_utf8(output.stdout).unwrap()
    }

    /// The program with this home's surroundings, and words before it: `sh`, `-c` and so on.
    pub fn builder(&self, program: &str, arguments: &[&str]) -> CommandBuilder {
        let mut command = CommandBuilder::new(program);
        command.args(arguments);
        command.env_clear();
        for (name, value) in self.surroundings() {
            command.env(name, value);
        }
        command
    }

    fn surroundings(&self) -> Vec<(&'static str, String)> {
        let home = self.path().display().to_string();
        vec![
            ("HOME", home.clone()),
            ("XDG_STATE_HOME", format!("{home}/state")),
            ("STRUCK_JOURNAL", format!("{home}/journal")),
            ("STRUCK_NOW", "2026-06-14T09:30:00+02:00".into()),
            ("LANG", "C.UTF-8".into()),
            ("TERM", "xterm-256color".into()),
            ("USER", "ana".into()),
            ("PATH", "/usr/bin:/bin".into()),
        ]
    }

    /// Opens the bench as somebody does who types its name.
    pub fn open_plainly(&self) -> Session {
        let mut command = self.builder(PROGRAM, &[]);
        command.set_controlling_tty(true);
        Session::begin((80, 24), command)
    }

    pub fn open(&self) -> Session {
        self.open_sized((80, 24), true)
    }

    /// Opens the bench; `leads` gives it the terminal as its controlling one, so that it gets its signals.
    pub fn open_sized(&self, size: (u16, u16), leads: bool) -> Session {
        // Asked for, so that nobody asks.
        let mut command = self.builder(PROGRAM, &["--new-journal"]);
        command.set_controlling_tty(leads);
        Session::begin(size, command)
    }
}

fn shape(size: (u16, u16)) -> PtySize {
    PtySize {
        rows: size.1,
        cols: size.0,
        pixel_width: 0,
        pixel_height: 0,
    }
}

/// Takes the end-of-file sign from the line settings: with one, the library would type a line break, which
/// saves what was being typed, as it lets the terminal go.
fn without_end_sign(pair: &PtyPair) {
    let name = pair.master.tty_name().unwrap();
    let mut how = std::fs::OpenOptions::new();
    let how = how
        .read(true)
        .custom_flags(rustix::fs::OFlags::NOCTTY.bits().cast_signed());
    let terminal = how.open(name).unwrap();
    let mut modes = termios::tcgetattr(&terminal).unwrap();
    modes.special_codes[SpecialCodeIndex::VEOF] = 0;
    termios::tcsetattr(&terminal, OptionalActions::Now, &modes).unwrap();
}

impl Session {
    /// Starts a command on a terminal of its own.
    pub fn begin(size: (u16, u16), command: CommandBuilder) -> Self {
        let pair = native_pty_system().openpty(shape(size)).unwrap();
        without_end_sign(&pair);
        let found = modes(pair.master.as_ref());
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let seen = Arc::new((Mutex::new(Seen::default()), Condvar::new()));
        let sink = Arc::clone(&seen);
        let mut output = pair.master.try_clone_reader().unwrap();
        let reader = std::thread::spawn(move || {
            let mut block = [0; 4096];
            loop {
                let count = output.read(&mut block).unwrap_or(0);
                let mut seen = sink.0.lock().unwrap();
                seen.bytes.extend_from_slice(&block[..count]);
                seen.ended = count == 0;
                sink.1.notify_all();
                if count == 0 || seen.let_go {
                    return;
                }
            }
        });
        let keys = pair.master.take_writer().unwrap();
        Session {
            seen,
            reader,
            keys,
            master: Some(pair.master),
            child,
            size,
            found,
        }
    }

    /// Types, and says nothing of what comes of it.
    pub fn keys(&mut self, text: &str) {
        self.keys
            .write_all(text.replace('\n', "\r").as_bytes())
            .unwrap();
        self.keys.flush().unwrap();
    }

    /// Types keys one by one, waiting for a text after the last.
    pub fn types(&mut self, text: &str, until: &str) -> String {
        for key in text.chars() {
            self.keys(&key.to_string());
        }
        self.wait(until)
    }

    /// Waits until the screen holds the text; gives the screen.
    pub fn wait(&self, text: &str) -> String {
        self.wait_until(text, |screen| screen.contains(text))
    }

    pub fn wait_until(&self, what: &str, holds: impl Fn(&str) -> bool) -> String {
        let (lock, changed) = &*self.seen;
        let mut seen = lock.lock().unwrap();
        loop {
            let screen = self.shown(&seen.bytes);
            if holds(&screen) {
                return screen;
            }
            assert!(!seen.ended, "the program ended before {what:?}:\n{screen}");
            let (next, time) = changed.wait_timeout(seen, LONGEST).unwrap();
            assert!(!time.timed_out(), "{what:?} never came:\n{screen}");
            seen = next;
        }
    }

    fn draw(&self, bytes: &[u8]) -> vt100::Parser {
        let (columns, rows) = self.size;
        let mut parser =
            vt100::Parser::new(rows.try_into().unwrap(), columns.try_into().unwrap(), 0);
        parser.process(bytes);
        parser
    }

    pub fn resize(&mut self, size: (u16, u16)) {
        self.size = size;
        self.master.as_ref().unwrap().resize(shape(size)).unwrap();
    }

    /// The screen that these bytes make.
    pub fn shown(&self, bytes: &[u8]) -> String {
        self.draw(bytes).screen().contents()
    }

    /// All bytes sent so far.
    pub fn bytes(&self) -> Vec<u8> {
        self.seen.0.lock().unwrap().bytes.clone()
    }

    pub fn process(&self) -> i32 {
        i32::try_from(self.child.process_id().unwrap()).unwrap()
    }

    pub fn signal(&self, signal: i32) {
        let process = rustix::process::Pid::from_raw(self.process()).unwrap();
        let signal = rustix::process::Signal::from_named_raw(signal).unwrap();
        rustix::process::kill_process(process, signal).unwrap();
    }

    /// The line settings of the terminal now.
    pub fn modes(&self) -> String {
        modes(self.master.as_ref().unwrap().as_ref())
    }

    /// The line settings as the program found them.
    pub fn found(&self) -> &str {
        &self.found
    }

    /// Waits until bytes were sent that hold.
    pub fn wait_bytes(&self, what: &str, holds: impl Fn(&[u8]) -> bool) {
        let (lock, changed) = &*self.seen;
        let mut seen = lock.lock().unwrap();
        while !holds(&seen.bytes) {
            assert!(!seen.ended, "the program ended before {what}");
            let (next, time) = changed.wait_timeout(seen, LONGEST).unwrap();
            assert!(!time.timed_out(), "{what} never came");
            seen = next;
        }
    }

    /// Takes the terminal away, as a dropped link does; the process, which is still to be waited for.
    pub fn drop_link(mut self) -> Box<dyn Child + Send + Sync> {
        // The reader holds the terminal too: it lets go at the frame that a new size brings.
        self.seen.0.lock().unwrap().let_go = true;
        let (columns, rows) = self.size;
        self.resize((columns + 1, rows));
        self.signal(rustix::process::Signal::WINCH.as_raw());
        self.reader.join().unwrap();
        drop(self.keys);
        drop(self.master.take());
        self.child
    }

    /// Takes the terminal away; the exit code.
    pub fn hang_up(self) -> u32 {
        self.drop_link().wait().unwrap().exit_code()
    }

    /// Waits for the end; the exit code, and whether the terminal was left as it was found.
    pub fn end(mut self) -> (u32, bool) {
        let code = self.child.wait().unwrap().exit_code();
        let (lock, changed) = &*self.seen;
        let mut seen = lock.lock().unwrap();
        while !seen.ended {
            let (next, time) = changed.wait_timeout(seen, LONGEST).unwrap();
            assert!(!time.timed_out(), "the terminal never closed");
            seen = next;
        }
        let parser = self.draw(&seen.bytes);
        let screen = parser.screen();
        let clean = !screen.alternate_screen()
            && !screen.hide_cursor()
            && !screen.bracketed_paste()
            && self.modes() == self.found;
        (code, clean)
    }
}

/// The line settings that a program in raw mode changes, as text to compare.
fn modes(master: &dyn MasterPty) -> String {
    let modes = master.get_termios().unwrap();
    format!(
        "{:?} {:?} {:?}",
        modes.input_flags, modes.output_flags, modes.local_flags
    )
}

/// A number of a process's line in the process file system (proc(5): 3 state, 14 and 15 ticks of time used).
fn status(process: i32, field: usize) -> Option<String> {
    let line = std::fs::read_to_string(format!("/proc/{process}/stat")).ok()?;
    // The name before may hold anything, so that fields count from its last bracket.
    let (_, after) = line.rsplit_once(')')?;
    after.split_whitespace().nth(field - 3).map(str::to_owned)
}

/// What a process does: `S` sleeps, `T` stopped, `Z` ended and not yet waited for.
pub fn does(process: i32) -> String {
    status(process, 3).unwrap_or_default()
}

/// Hundredths of a second of processor time that a process has used.
pub fn time_used(process: i32) -> u64 {
    let ticks = |field| status(process, field).and_then(|ticks| ticks.parse::<u64>().ok());
    ticks(14).unwrap_or(0) + ticks(15).unwrap_or(0)
}

/// Waits until a process does that.
pub fn wait_doing(process: i32, what: &str) {
    let begun = Instant::now();
    while does(process) != what {
        let doing = does(process);
        assert!(begun.elapsed() < LONGEST, "it is {doing}, not {what}");
        std::thread::sleep(Duration::from_millis(2));
    }
}
