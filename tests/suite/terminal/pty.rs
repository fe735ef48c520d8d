//! The real program on a pseudo-terminal: keys in, a screen out, read by vt100. It waits for text, never for time.

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::path::Path;
use std::sync::{Arc, Condvar, Mutex};
use std::time::Duration;
use tempfile::TempDir;

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
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_struck"));
        command.args(arguments).env_clear();
        for (name, value) in self.surroundings() {
            command.env(name, value);
        }
        let output = command.output().unwrap();
        assert!(output.status.success(), "{arguments:?}: {output:?}");
        String::from_utf8(output.stdout).unwrap()
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
        ]
    }

    pub fn open(&self) -> Session {
        self.open_sized((80, 24), true)
    }

    /// Opens the bench; `leads` gives it the terminal as its controlling one, so that it gets its signals.
    pub fn open_sized(&self, size: (u16, u16), leads: bool) -> Session {
        let shape = PtySize {
            rows: size.1,
            cols: size.0,
            pixel_width: 0,
            pixel_height: 0,
        };
        let pair = native_pty_system().openpty(shape).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_struck"));
        command.env_clear();
        command.set_controlling_tty(leads);
        for (name, value) in self.surroundings() {
            command.env(name, value);
        }
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
        }
    }
}

impl Session {
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
            let screen = self.draw(&seen.bytes).screen().contents();
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
        let shape = PtySize {
            rows: size.1,
            cols: size.0,
            pixel_width: 0,
            pixel_height: 0,
        };
        self.master.as_ref().unwrap().resize(shape).unwrap();
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

    /// Takes the terminal away, as a dropped link does.
    pub fn hang_up(mut self) -> u32 {
        // The reader holds the terminal too: it lets go once it hears of a cursor moved.
        self.seen.0.lock().unwrap().let_go = true;
        self.keys("\x1b[D");
        self.reader.join().unwrap();
        drop(self.keys);
        drop(self.master.take());
        self.child.wait().unwrap().exit_code()
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
        let clean =
            !screen.alternate_screen() && !screen.hide_cursor() && !screen.bracketed_paste();
        (code, clean)
    }
}
