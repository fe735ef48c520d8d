//! The terminal given back whenever the program stops or breaks: the stop key, a shell's `fg`, a panic.

use super::pty::{Home, PROGRAM, Session, wait_doing};
use rustix::process::Signal;
use struck::app::clock::Clock;
use struck::app::desk::Desk;
use struck::app::memory::Memory;
use struck::app::writer::Settings;
use struck::model::fault::Origin;
use struck::model::id::Id;
use struck::text::clean::Charset;
use struck::tui::canvas::{Colours, Ink};
use struck::tui::effect::Door;
use struck::tui::effect::{Act, Recorded, Refusal, Snapshot};
use struck::tui::journal_door::JournalDoor;
use struck::tui::terminal::{TerminalOptions, run};

const PAGE_IN: &[u8] = b"\x1b[?1049h";
const PAGE_OUT: &[u8] = b"\x1b[?1049l";

/// How often these bytes were sent.
fn times(bytes: &[u8], sought: &[u8]) -> usize {
    bytes
        .windows(sought.len())
        .filter(|found| *found == sought)
        .count()
}

/// A screen without the spaces at the ends of its lines: whether those were written or left clear is all one.
fn bare(screen: &str) -> Vec<&str> {
    screen.lines().map(str::trim_end).collect()
}

#[test]
fn the_stop_key_gives_the_terminal_back_and_going_on_takes_it_again() {
    // By the key, while a line is typed and on the bench; and by the signal of another process.
    for (keys, stop) in [("\n7", "\x1a"), ("", "\x1a"), ("\n7", "")] {
        let home = Home::new();
        home.command(&["add", super::STICK]);
        let mut session = home.open();
        session.wait("Weigela florida");
        session.types(
            keys,
            if keys.is_empty() {
                "Bench"
            } else {
                "nothing yet 17"
            },
        );
        match stop {
            "" => session.signal(Signal::TSTP.as_raw()),
            key => session.keys(key),
        }
        wait_doing(session.process(), "T");
        session.wait_bytes("the user's page", |bytes| times(bytes, PAGE_OUT) == 1);
        assert_eq!(session.modes(), session.found(), "raw while stopped");
        // Plain pen, no bracketed paste, the cursor seen, and nothing after it.
        let left = b"\x1b[0m\x1b[?2004l\x1b[?25h\x1b[?1049l";
        let sent = session.bytes();
        assert!(sent.ends_with(left));
        let before = session.shown(&sent[..sent.len() - left.len()]);
        session.signal(Signal::CONT.as_raw());
        session.wait_bytes("its own page again", |bytes| times(bytes, PAGE_IN) >= 2);
        session.wait_until("the screen as it was", |screen| {
            bare(screen) == bare(&before)
        });
        assert_ne!(session.modes(), session.found(), "not raw when going on");
        // And it hears keys.
        session.types(if keys.is_empty() { "\n7" } else { "1" }, "of 24");
        session.keys("\x03");
        assert_eq!(session.end(), (0, true));
    }
}

#[test]
fn a_shell_s_fg_brings_it_back() {
    let home = Home::new();
    home.command(&["add", super::STICK]);
    let mut shell = home.builder("sh", &["-i"]);
    shell.env("PS1", "ready> ");
    shell.env("ENV", "/dev/null");
    let mut session = Session::begin((80, 24), shell);
    session.wait("ready>");
    session.types(&format!("{PROGRAM}\n"), "Bench: 1 open");
    session.types("\n7", "nothing yet 17 of 24");
    session.keys("\x1a");
    session.wait_until("the shell", |screen| {
        screen.trim_end().ends_with("ready>") && !screen.contains("nothing yet")
    });
    session.types("echo still $((6 * 7))\n", "still 42");
    session.types("fg\n", "nothing yet 17 of 24");
    session.types("\n", "Saved: 26-001: 7 rooted");
    session.keys("q");
    session.wait_until("the shell", |screen| screen.trim_end().ends_with("ready>"));
    session.keys("exit\n");
    assert!(session.end().1);
    assert_eq!(home.lines().len(), 2);
}

/// A door with faults of its own.
pub struct Faulty {
    /// What it does without them.
    pub door: JournalDoor,
    /// Breaks when something is to be recorded.
    pub breaks: bool,
    /// A look for others' entries says in a file of the first name that it began, and goes on once there is one of the second.
    pub waits: Option<[String; 2]>,
    /// The same of working in what was written.
    pub works: Option<[String; 2]>,
}

fn wait_between(files: Option<&[String; 2]>) {
    if let Some([begun, over]) = files {
        std::fs::write(begun, "").unwrap();
        super::opening::wait_for(over);
    }
}

impl Faulty {
    /// The door to the journal that the surroundings name, yet without faults.
    pub fn open() -> Self {
        Self {
            door: door(),
            breaks: false,
            waits: None,
            works: None,
        }
    }
}

impl Door for Faulty {
    fn now(&self) -> chrono::DateTime<chrono::FixedOffset> {
        self.door.now()
    }
    fn snapshot(&self) -> Snapshot {
        self.door.snapshot()
    }
    fn refresh(&mut self) -> Result<Option<Snapshot>, Refusal> {
        wait_between(self.waits.as_ref());
        self.door.refresh()
    }
    fn record(&mut self, act: &Act, by: &str) -> Result<Recorded, Refusal> {
        assert!(!self.breaks, "it broke in the middle");
        self.door.record(act, by)
    }
    fn withdraw(&mut self, ids: &[Id], said: &str, by: &str) -> Result<Recorded, Refusal> {
        self.door.withdraw(ids, said, by)
    }
    fn work_in(&mut self, recorded: Recorded) -> Recorded {
        wait_between(self.works.as_ref());
        self.door.work_in(recorded)
    }
    fn raw(&self, origin: Origin) -> Option<Vec<u8>> {
        self.door.raw(origin)
    }
    fn memory(&self) -> Memory {
        self.door.memory()
    }
    fn remember(&mut self, memory: &Memory) {
        self.door.remember(memory);
    }
    fn keep(&mut self, draft: &str) -> bool {
        self.door.keep(draft)
    }
    fn offered(&mut self) -> Option<String> {
        self.door.offered()
    }
    fn drop_offered(&mut self) {
        self.door.drop_offered();
    }
    fn saver(&self) -> Box<dyn Fn(&str) + Send> {
        self.door.saver()
    }
}

/// Not a test: the face behind a breaking door, run on a terminal by the test below.
#[test]
#[ignore = "a program for another test"]
fn a_face_that_breaks() {
    let door = |_: &mut dyn FnMut(u64)| {
        let faulty = Faulty {
            breaks: true,
            ..Faulty::open()
        };
        Ok(Box::new(faulty) as Box<_>)
    };
    run(Box::new(door), options()).unwrap();
}

/// A door to the journal that the surroundings name.
pub fn door() -> JournalDoor {
    let set = |name: &str| std::env::var(name).unwrap();
    let settings = Settings {
        journal: set("STRUCK_JOURNAL").into(),
        named: true,
        state: format!("{}/struck", set("XDG_STATE_HOME")).into(),
        host: rustix::system::uname()
            .nodename()
            .to_str()
            .unwrap()
            .to_owned(),
        user: set("USER"),
        process: std::process::id(),
        threads: 1,
    };
    let now = chrono::DateTime::parse_from_rfc3339(&set("STRUCK_NOW")).unwrap();
    let desk = Desk::open_or_begin(settings, Clock::fixed(now), &mut |_| ()).unwrap();
    JournalDoor::open(desk).unwrap()
}

/// A face without colours.
pub fn options() -> TerminalOptions {
    TerminalOptions {
        ink: Ink {
            colours: Colours::None,
            glyphs: Charset::Utf8,
        },
        user: "ana".to_owned(),
    }
}

#[test]
fn a_panic_leaves_the_terminal_clean_and_the_draft_kept() {
    let home = Home::new();
    home.command(&["add", super::STICK]);
    let this = std::env::current_exe().unwrap();
    let name = "terminal::stopping::a_face_that_breaks";
    let arguments = [
        name,
        "--exact",
        "--ignored",
        "--nocapture",
        "--test-threads=1",
    ];
    let mut session = Session::begin((80, 24), home.builder(this.to_str().unwrap(), &arguments));
    session.wait("Weigela florida");
    // Saved at once: the draft as of the last key, not of the last beat.
    session.keys("\n4 3 0 1\n");
    let screen = session.wait("it broke in the middle");
    assert!(!screen.contains("nothing yet"), "{screen}");
    let (code, clean) = session.end();
    assert!(clean && code != 0, "exit code {code}");
    assert_eq!(home.lines().len(), 1);
    let mut again = home.open();
    again.wait("Left unfinished: look 26-001: 4 3 0 1");
    again.types("z", "nothing yet 16 of 24");
}
