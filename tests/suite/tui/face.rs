//! The whole face without a terminal: keys typed as text, a real journal in a scratch folder, a fixed
//! clock, the screen as text.

use crate::support::ByteCount;
use chrono::{DateTime, FixedOffset};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use std::sync::Arc;
use struck::app::clock::Clock;
use struck::app::desk::Desk;
use struck::app::writer::Settings;
use struck::app::writer::Writer;
use struck::model::at::At;
use struck::text::clean::Charset;
use struck::tui::canvas::{Colours, Ink};
use struck::tui::common::Start;
use struck::tui::effect::Door;
use struck::tui::effect::Message;
use struck::tui::effect::run_effect;
use struck::tui::effect::{Act, Effect};
use struck::tui::journal_door::JournalDoor;
use struck::tui::keys::KeyPress;
use struck::tui::record::reading;
use struck::tui::screen::State;
use struck::tui::terminal::LeanBackend;
use struck::tui::update::update;
use struck::tui::view::view;
use tempfile::TempDir;

/// When everything happens, unless said otherwise.
pub const NOW: &str = "2026-06-14T09:30:00+02:00";

pub struct Face {
    pub folder: Arc<TempDir>,
    pub door: Box<dyn Door>,
    pub state: State,
    /// Key presses so far.
    pub presses: usize,
    pub ended: bool,
    /// The question who is entering, as it stood on the screen, if the sitting began with it.
    pub asked: Option<String>,
    size: (u16, u16),
}

pub fn now() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(NOW).unwrap()
}

fn settings(folder: &TempDir) -> Settings {
    Settings {
        journal: folder.path().join("journal"),
        named: true,
        state: folder.path().join("state"),
        host: "shed".into(),
        user: "ana".into(),
        process: 1,
        threads: 1,
    }
}

pub fn desk(folder: &TempDir, now: DateTime<FixedOffset>) -> Desk {
    Desk::open_or_begin(settings(folder), Clock::fixed(now), &mut |_| ()).unwrap()
}

/// Says what else would be drawn by lot: the name of the file that is written, and the letter of its codes.
pub fn settle(folder: &TempDir, letter: Option<char>) {
    let name = "shed-ana-0000.jsonl".into();
    let settings = settings(folder);
    Writer::new(&settings, name, letter)
        .keep(&settings)
        .unwrap();
}

/// A copy of a folder's journal by the same writer, with nothing of its drafts.
pub fn copied(folder: &TempDir) -> Arc<TempDir> {
    let copy = Arc::new(TempDir::new().unwrap());
    let into = copy.path().join("journal");
    std::fs::create_dir(&into).unwrap();
    for file in std::fs::read_dir(folder.path().join("journal")).unwrap() {
        let path = file.unwrap().path();
        std::fs::copy(&path, into.join(path.file_name().unwrap())).unwrap();
    }
    settle(&copy, None);
    copy
}

/// A journal of these bench lines, each with its day or time before it: `2026-05-20 stick 24 …`.
pub fn journal(lines: &[&str]) -> Arc<TempDir> {
    let folder = Arc::new(TempDir::new().unwrap());
    settle(&folder, None);
    let mut face = Face::over(&folder, (80, 24), Charset::Utf8, Colours::Sixteen);
    for line in lines {
        let (at, line) = line.split_once(' ').unwrap();
        let reading = reading::read(line, &face.state.common);
        let mut act = reading::act(&[reading], &face.state.common)
            .unwrap_or_else(|why| panic!("{line}: {why}"));
        act.at = Some(At::parse(at).unwrap());
        face.write(&act);
    }
    folder
}

fn begin(user: &str, door: &dyn Door, size: (u16, u16), ink: Ink) -> (State, Vec<Effect>) {
    struck::tui::begin(Start {
        snapshot: door.snapshot(),
        now: door.now(),
        size,
        ink,
        user: user.into(),
        memory: door.memory(),
    })
}

impl Face {
    pub fn new(lines: &[&str], size: (u16, u16)) -> Self {
        Self::over(&journal(lines), size, Charset::Utf8, Colours::Sixteen)
    }

    pub fn over(
        folder: &Arc<TempDir>,
        size: (u16, u16),
        glyphs: Charset,
        colours: Colours,
    ) -> Self {
        let door: Box<dyn Door> = Box::new(JournalDoor::open(desk(folder, now())).unwrap());
        Self::behind(door, folder, size, Ink { colours, glyphs })
    }

    /// With that name for the user of the terminal.
    pub fn as_user(user: &str, folder: &Arc<TempDir>, size: (u16, u16)) -> Self {
        let door: Box<dyn Door> = Box::new(JournalDoor::open(desk(folder, now())).unwrap());
        let ink = Ink {
            colours: Colours::None,
            glyphs: Charset::Utf8,
        };
        Self::started(user, door, folder, size, ink)
    }

    pub fn behind(door: Box<dyn Door>, folder: &Arc<TempDir>, size: (u16, u16), ink: Ink) -> Self {
        Self::started("Ana", door, folder, size, ink)
    }

    fn started(
        user: &str,
        mut door: Box<dyn Door>,
        folder: &Arc<TempDir>,
        size: (u16, u16),
        ink: Ink,
    ) -> Self {
        let (state, first) = begin(user, door.as_ref(), size, ink);
        let offered = door.offered();
        let mut face = Self {
            folder: Arc::clone(folder),
            door,
            state,
            presses: 0,
            ended: false,
            asked: None,
            size,
        };
        face.carry_out(first);
        face.say_who();
        if let Some(draft) = offered {
            face.happen(Message::Offered(draft));
        }
        face
    }

    /// Answers the question that a sitting begins with, where several people write: the name offered stays.
    fn say_who(&mut self) {
        let (common, screen) = self.state.parts();
        if screen.title(common) == "Who is entering" {
            self.asked = Some(self.screen());
            self.happen(Message::Presses(vec![KeyPress::Enter]));
        }
    }

    /// Begins anew at 80 by 24, as if the program were started again.
    pub fn restart(&mut self) {
        self.size = (80, 24);
        let ink = self.state.common.ink;
        let (state, first) = begin("Ana", self.door.as_ref(), self.size, ink);
        self.state = state;
        self.carry_out(first);
        self.say_who();
    }

    /// Writes past the screens, as another session would.
    fn write(&mut self, act: &Act) {
        let written = self.door.record(act, "Ana");
        let written = written.unwrap_or_else(|why| panic!("{why:?}"));
        self.door.work_in(written);
        let snapshot = self.door.snapshot();
        self.happen(Message::Snapshot(snapshot));
    }

    pub fn happen(&mut self, message: Message) {
        let effects = update(&mut self.state, message);
        self.carry_out(effects);
        self.door.keep(&self.state.draft().unwrap_or_default());
    }

    fn carry_out(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            match effect {
                Effect::Quit => self.ended = true,
                Effect::Ask(question) => {
                    if let Some(answer) = question.answer() {
                        self.happen(Message::Answer(answer));
                    }
                }
                effect => {
                    let by = self.state.common.by.clone();
                    for message in run_effect(self.door.as_mut(), &by, effect) {
                        self.happen(message);
                    }
                }
            }
        }
    }

    /// Types keys one by one: characters as they are, others as `<Enter>`, `<Backspace>`.
    pub fn keys(&mut self, text: &str) -> &mut Self {
        for press in presses(text) {
            self.presses += 1;
            self.happen(Message::Presses(vec![press]));
        }
        self
    }

    /// The presses that these keys take.
    pub fn cost(&mut self, text: &str) -> usize {
        let before = self.presses;
        self.keys(text);
        self.presses - before
    }

    pub fn resize(&mut self, size: (u16, u16)) -> &mut Self {
        self.size = size;
        self.happen(Message::Size(size.0, size.1));
        self
    }

    /// Draws with these signs from now on.
    pub fn glyphs(&mut self, glyphs: Charset) -> &mut Self {
        self.state.common.ink.glyphs = glyphs;
        self
    }

    /// Draws with these colours from now on.
    pub fn coloured(&mut self, colours: Colours) -> &mut Self {
        self.state.common.ink.colours = colours;
        self
    }

    /// The screen as text, spaces at the ends of lines cut.
    pub fn screen(&self) -> String {
        let mut terminal = Terminal::new(TestBackend::new(self.size.0, self.size.1)).unwrap();
        terminal.draw(|frame| view(&self.state, frame)).unwrap();
        let buffer = terminal.backend().buffer();
        let width = usize::from(self.size.0);
        let rows = buffer.content.chunks(width);
        let row = |cells: &[ratatui::buffer::Cell]| {
            cells
                .iter()
                .map(|cell| cell.symbol())
                .collect::<String>()
                .trim_end()
                .to_owned()
        };
        rows.map(row).collect::<Vec<_>>().join("\n")
    }

    /// How many inks the screen is drawn with.
    pub fn colours(&self) -> usize {
        let mut terminal = Terminal::new(TestBackend::new(self.size.0, self.size.1)).unwrap();
        terminal.draw(|frame| view(&self.state, frame)).unwrap();
        let cells = terminal.backend().buffer().content.iter();
        let inks: std::collections::HashSet<_> = cells.map(|cell| (cell.fg, cell.bg)).collect();
        inks.len()
    }

    /// Lines of the journal, as text, those that a kind names; all for no kind.
    pub fn lines(&self, kind: &str) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for file in std::fs::read_dir(self.folder.path().join("journal")).unwrap() {
            let path = file.unwrap().path();
            if path.extension().is_some_and(|e| e == "jsonl") {
                let text = std::fs::read_to_string(path).unwrap();
                lines.extend(text.lines().map(str::to_owned));
            }
        }
        let named = format!("\"kind\":\"{kind}\"");
        lines.retain(|line| kind.is_empty() || line.contains(&named));
        lines
    }

    /// Bytes that each of these keys sends to the terminal.
    pub fn bytes(&mut self, text: &str) -> Vec<(KeyPress, u64)> {
        let size = ratatui::layout::Size {
            width: self.size.0,
            height: self.size.1,
        };
        let sent = ByteCount::default();
        let mut terminal = Terminal::new(LeanBackend::new(sent.clone(), size)).unwrap();
        terminal.draw(|frame| view(&self.state, frame)).unwrap();
        let mut out = Vec::new();
        for press in presses(text) {
            self.happen(Message::Presses(vec![press]));
            let before = sent.total();
            terminal.draw(|frame| view(&self.state, frame)).unwrap();
            out.push((press, sent.total() - before));
        }
        out
    }
}

pub fn presses(text: &str) -> Vec<KeyPress> {
    let mut out = Vec::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let named = rest.strip_prefix('<').and_then(|r| r.split_once('>'));
        let special = named.and_then(|(name, after)| {
            let press = match name {
                "Enter" => KeyPress::Enter,
                "Backspace" => KeyPress::Backspace,
                "Esc" => KeyPress::Esc,
                "Tab" => KeyPress::Tab,
                "Left" => KeyPress::Left,
                "Up" => KeyPress::Up,
                "Down" => KeyPress::Down,
                "PageDown" => KeyPress::PageDown,
                "PageUp" => KeyPress::PageUp,
                _ => return None,
            };
            Some((press, after))
        });
        match special {
            Some((press, after)) => {
                out.push(press);
                rest = after;
            }
            None => {
                out.push(KeyPress::Char(c));
                rest = &rest[c.len_utf8()..];
            }
        }
    }
    out
}
