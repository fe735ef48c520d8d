//! The time from a key press to its frame with a million entries in the journal: `update`, what it asks of the
//! journal, and the drawing into bytes. Run with `cargo bench --bench bench_keys`.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "bench_common/million.rs"]
mod million;
#[path = "bench_common/nursery.rs"]
mod nursery;
#[path = "bench_common/settings.rs"]
mod settings;

use ratatui::Terminal;
use ratatui::layout::Size;
use settings::settings;
use std::time::{Duration, Instant};
use struck::app::clock::Clock;
use struck::app::desk::Desk;
use struck::text::clean::Charset;
use struck::tui::canvas::{Colours, Ink};
use struck::tui::common::Start;
use struck::tui::effect::Door;
use struck::tui::effect::Effect;
use struck::tui::effect::Message;
use struck::tui::effect::{Query, Recorded};
use struck::tui::effect::{run_effect, worked_in};
use struck::tui::journal_door::JournalDoor;
use struck::tui::keys::KeyPress;
use struck::tui::screen::State;
use struck::tui::terminal::LeanBackend;
use struck::tui::update::update;
use struck::tui::view::view;

const SIZE: Size = Size {
    width: 80,
    height: 24,
};

/// What is timed, the keys that lead there from the bench, the keys timed, and how often.
const WORK: &[(&str, &str, &str, usize)] = &[
    ("choosing on the bench", "", "..,004", 200),
    ("turning the bench's order", "", "oo", 100),
    (
        "a look typed",
        "\n",
        "4 3 0 1\x08\x08\x08\x08\x08\x08\x08",
        100,
    ),
    (
        "a sticking typed",
        "s",
        "24 Lavandula angustifolia, softwood",
        10,
    ),
    (
        "any line typed",
        "l",
        "look 26-004: rooted 4, callused 3",
        10,
    ),
    ("a search typed", "f", "lavandula ang", 10),
    ("a batch opened and left", "", "i\x08", 100),
    ("the taxa opened and left", "", "v\x08", 100),
    ("a taxon opened and left", "v", "\n\x08", 50),
    ("the seasons opened and left", "", "y\x08", 100),
    ("the journal opened and left", "", "j\x08", 100),
    ("the journal's pages turned", "j", "  -- ", 100),
    ("help turned", "h", "  --", 100),
    ("a filter typed", "*", "lavandula, softwood", 10),
    ("a climate note, typed and saved", "", "c21 80\n", 30),
    ("a look, typed and saved", "", "\n0\n", 30),
];

struct Face {
    door: JournalDoor,
    state: State,
    terminal: Terminal<LeanBackend<std::io::Sink>>,
    /// Figures asked for, which another thread works out.
    asked: Vec<Query>,
    /// What was saved, which another thread works in.
    on_disk: Option<Recorded>,
    /// The longest time until the frame that shows a journal with what was saved.
    turned: Duration,
}

fn start(door: &JournalDoor) -> (State, Vec<Query>) {
    let (state, effects) = begin(door);
    let asked = effects.into_iter().filter_map(|effect| match effect {
        Effect::Ask(question) => Some(question),
        _ => None,
    });
    (state, asked.collect())
}

fn begin(door: &JournalDoor) -> (State, Vec<Effect>) {
    struck::tui::begin(Start {
        snapshot: door.snapshot(),
        now: door.now(),
        size: (SIZE.width, SIZE.height),
        ink: Ink {
            colours: Colours::Sixteen,
            glyphs: Charset::Utf8,
        },
        user: "Ana".into(),
        memory: door.memory(),
    })
}

impl Face {
    fn happen(&mut self, message: Message) {
        for effect in update(&mut self.state, message) {
            match effect {
                Effect::Ask(question) => self.asked.push(question),
                Effect::WorkIn(recorded) => self.on_disk = Some(recorded),
                effect => {
                    for message in run_effect(&mut self.door, "Ana", effect) {
                        self.happen(message);
                    }
                }
            }
        }
    }

    fn draw(&mut self) {
        let state = &self.state;
        self.terminal.draw(|frame| view(state, frame)).unwrap();
    }

    /// Presses the key; the time until its frame is sent.
    fn press(&mut self, key: char) -> Duration {
        let press = match key {
            '\n' => KeyPress::Enter,
            '\x08' => KeyPress::Backspace,
            key => KeyPress::Char(key),
        };
        let begun = Instant::now();
        self.happen(Message::Presses(vec![press]));
        self.draw();
        let took = begun.elapsed();
        self.work_in();
        took
    }

    fn work_in(&mut self) {
        let Some(recorded) = self.on_disk.take() else {
            return;
        };
        let news = worked_in(&mut self.door, recorded);
        let bygone = self.state.common.hold();
        let begun = Instant::now();
        for message in news {
            self.happen(message);
        }
        self.draw();
        self.turned = self.turned.max(begun.elapsed());
        drop(bygone);
    }

    /// Takes the answers, as they would come by and by; the longest time to the frame that shows one.
    fn answers(&mut self) -> Duration {
        let mut longest = Duration::ZERO;
        for question in std::mem::take(&mut self.asked) {
            let Some(answer) = question.answer() else {
                continue;
            };
            let begun = Instant::now();
            self.happen(Message::Answer(answer));
            self.draw();
            longest = longest.max(begun.elapsed());
        }
        longest
    }
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

fn main() {
    let scratch = tempfile::tempdir().unwrap();
    let folder = scratch.path().join("million");
    million::write_journal(&folder);
    let settings = settings(folder, scratch.path());
    let begun = Instant::now();
    let desk = Desk::open(settings, Clock::system(), &mut |_| ()).unwrap();
    println!("journal read in {:.0} ms", ms(begun.elapsed()));
    let begun = Instant::now();
    let door = JournalDoor::open(desk).unwrap();
    println!("its words gathered in {:.0} ms", ms(begun.elapsed()));
    let begun = Instant::now();
    let (state, asked) = start(&door);
    let terminal = Terminal::new(LeanBackend::new(std::io::sink(), SIZE)).unwrap();
    let mut face = Face {
        door,
        state,
        terminal,
        asked,
        on_disk: None,
        turned: Duration::ZERO,
    };
    face.draw();
    println!("first frame after that {:.1} ms", ms(begun.elapsed()));
    let mut all: Vec<Duration> = Vec::new();
    for (what, to, keys, count) in WORK {
        (face.state, face.asked) = start(&face.door);
        for key in to.chars() {
            face.press(key);
        }
        let mut answer = face.answers();
        let mut times = Vec::new();
        for _ in 0..*count {
            let typed = keys.chars().map(|key| face.press(key));
            times.extend(typed.collect::<Vec<_>>());
            if to.len() == 1 && "slf*".contains(to) {
                // The line anew.
                (face.state, face.asked) = start(&face.door);
                face.press(to.chars().next().unwrap());
            }
            // Figures once are enough: they are kept, and their time is another thread's.
            answer = answer.max(if times.len() <= keys.len() {
                face.answers()
            } else {
                Duration::ZERO
            });
            face.asked.clear();
        }
        all.extend(&times);
        report(what, &mut times);
        if !answer.is_zero() {
            println!(
                "  a figure that came, to its frame: {:.2} ms at most",
                ms(answer)
            );
        }
    }
    report("all keys", &mut all);
    println!(
        "what was saved, worked in, to its frame: {:.2} ms at most",
        ms(face.turned)
    );
}

fn report(what: &str, times: &mut [Duration]) {
    times.sort();
    let at = |share: f64| ms(times[((times.len() - 1) as f64 * share) as usize]);
    println!(
        "{what}: {} keys, p50 {:.2} ms, p99 {:.2} ms, longest {:.2} ms",
        times.len(),
        at(0.5),
        at(0.99),
        at(1.0)
    );
}
