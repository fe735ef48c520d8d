//! The loop on a real terminal: waits, hands messages to `update`, runs effects through the door, draws.
//! It decides nothing about what is shown.

mod backend;
mod decoder;
mod following;
mod hangup;
mod opening;
mod page;
mod signals;
mod worker;

pub use backend::LeanBackend;
pub use decoder::Decoder;
pub use opening::{OpenDoor, Opening};

use super::canvas::Ink;
use super::common::Start;
use super::effect::Effect;
use super::effect::run_effect;
use super::effect::{Message, Recorded};
use super::screen::State;
use super::update::update;
use super::view::view;
use crate::app::clock::Stopwatch;
use crate::app::failure::Failure;
use following::{Brought, Errand, LentDoor, give_back};
use hangup::{DraftGuard, HUNG_UP, PendingDraft};
use opening::{OpeningPage, Waited};
use ratatui::Terminal;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use signals::{SignalRequest, Signals};
use std::io::{self, Read, Write};
use std::os::unix::net::UnixStream;
use std::time::Duration;
use worker::Worker;

/// How often drafts are saved and others' entries are looked for, at most.
const BEAT: Duration = Duration::from_millis(400);
/// After how many times as long as a look for others' entries took the next one begins: however many files there are, an
/// open bench that waits takes no more than this share of a processor.
const RESTS: u32 = 100;
/// The same where the look brought something, which takes longer to work in.
const RESTS_AFTER_NEWS: u32 = 5;
/// The longest rest.
const LONGEST_REST: Duration = Duration::from_secs(10);
/// How long the rest of a burst is waited for.
const BURST: Duration = Duration::from_millis(3);
/// Bytes that are read from the terminal before the screen is drawn again.
const MOST_AT_ONCE: usize = 1 << 20;
/// How often others' entries are looked for, at most.
const FOLLOW: Duration = Duration::from_millis(1200);

/// How the face is to look and who enters.
#[derive(Clone, Debug)]
pub struct TerminalOptions {
    /// What there is to draw with.
    pub ink: Ink,
    /// Who is at the terminal, for whoever did not say who is entering; empty if not known.
    pub user: String,
}

/// Reads the journal and runs the face until it ends; gives the exit code (0, or 128 and a signal).
///
/// # Errors
/// If standard input or output is no terminal, or fails, or the journal cannot be opened.
pub fn run(opening: Opening, options: TerminalOptions) -> Result<i32, Failure> {
    let failed = |error| Failure::could(format!("The terminal failed: {error}."));
    opened(opening, options).unwrap_or_else(|error| Err(failed(error)))
}

/// The terminal's own failures stand outside, the journal's inside.
fn opened(opening: Opening, options: TerminalOptions) -> io::Result<Result<i32, Failure>> {
    page::leave_on_panic();
    let (wake, woken) = UnixStream::pair()?;
    wake.set_nonblocking(true)?;
    woken.set_nonblocking(true)?;
    let signals = Signals::listen(&wake)?;
    let taken = page::TerminalGuard::take()?;
    let mut terminal = Terminal::new(LeanBackend::new(io::stdout(), page::size()))?;
    let mut decoder = Decoder::default();
    let mut page = OpeningPage {
        terminal: &mut terminal,
        signals: &signals,
        woken: &woken,
        decoder: &mut decoder,
        ink: options.ink,
    };
    let (door, typed) = match page.wait(opening, wake.try_clone()?)? {
        Waited::Opened(door, typed) => (door, typed),
        Waited::Failed(failure) => return Ok(Err(failure)),
        Waited::Left(code) => return Ok(Ok(code)),
    };
    let unfinished = PendingDraft::default();
    let waker = wake.try_clone()?;
    let rouse = move || {
        let _ = (&waker).write(&[1]);
    };
    hangup::watch(unfinished.clone(), rouse, door.saver())?;
    let _kept = DraftGuard {
        unfinished: unfinished.clone(),
        save: door.saver(),
    };
    let beats = beat(wake.try_clone()?)?;
    let worker = Worker::start(wake.try_clone()?)?;
    let size = page::size();
    let start = Start {
        snapshot: door.snapshot(),
        now: door.now(),
        size: (size.width, size.height),
        ink: options.ink,
        user: options.user,
        memory: door.memory(),
    };
    let (state, first) = super::begin(start);
    let mut face = Face {
        door: LentDoor::new(door),
        on_disk: None,
        wake,
        state,
        terminal,
        signals,
        unfinished,
        worker,
        woken,
        beats,
        decoder,
        waited: Stopwatch::start(),
        rested: Stopwatch::start(),
        rest: FOLLOW,
        saved: String::new(),
        ending: None,
        stale: true,
    };
    let ended = face.carry_out(first).and_then(|()| face.go(typed));
    let code = face.end();
    drop(taken);
    match (ended, code) {
        // A terminal that is gone fails in many ways: all of them are a hang-up.
        (_, Some(code)) => Ok(Ok(code)),
        (ended, None) => ended.map(|()| Ok(0)),
    }
}

/// A byte to the loop at every beat.
fn beat(wake: UnixStream) -> io::Result<std::sync::Arc<std::sync::atomic::AtomicU32>> {
    let count = std::sync::Arc::new(std::sync::atomic::AtomicU32::new(0));
    let counted = std::sync::Arc::clone(&count);
    std::thread::Builder::new()
        .name("beat".into())
        .spawn(move || {
            loop {
                std::thread::sleep(BEAT);
                counted.fetch_add(1, std::sync::atomic::Ordering::SeqCst);
                let _ = (&wake).write(&[1]);
            }
        })?;
    Ok(count)
}

/// Stands where a figure was to be.
fn unanswered() -> Message {
    Message::Trouble("A figure could not be worked out: a fault in struck itself.".to_owned())
}

/// Everything that the loop holds.
struct Face {
    door: LentDoor,
    /// What is on disk and yet to be worked in.
    on_disk: Option<Recorded>,
    wake: UnixStream,
    state: State,
    terminal: Terminal<LeanBackend<io::Stdout>>,
    signals: Signals,
    unfinished: PendingDraft,
    worker: Worker,
    woken: UnixStream,
    beats: std::sync::Arc<std::sync::atomic::AtomicU32>,
    /// What was read from the terminal and is not yet a key.
    decoder: Decoder,
    /// How long the decoder has waited for more.
    waited: Stopwatch,
    /// How long it is since others' entries were looked for, and how long it should be until they are again.
    rested: Stopwatch,
    rest: Duration,
    /// The draft as it is on disk.
    saved: String,
    /// The exit code, once the end is asked for.
    ending: Option<i32>,
    /// Whether anything happened since the last frame.
    stale: bool,
}

impl Face {
    /// Goes on until the end is asked for, first with what was typed while the journal was read.
    fn go(&mut self, typed: Vec<Message>) -> io::Result<()> {
        let now = self.door.at_hand()?.now();
        let first = update(&mut self.state, Message::Now(now));
        self.carry_out(first)?;
        if let Some(draft) = self.door.at_hand()?.offered() {
            self.happen(Message::Offered(draft))?;
        }
        self.draw()?;
        for message in typed {
            self.happen(message)?;
        }
        self.show()?;
        let mut seen = 0;
        while self.ending.is_none() {
            let input = self.wait()?;
            if hangup::gone(Some(Duration::ZERO)) {
                self.ending = Some(HUNG_UP);
                break;
            }
            self.heed_signals()?;
            if input {
                self.read_input()?;
            }
            self.take_decoded()?;
            let answers: Vec<_> = self.worker.answers().collect();
            for answer in answers {
                self.happen(answer.map_or_else(unanswered, Message::Answer))?;
            }
            while let Some(brought) = self.door.take_brought()? {
                self.hear(brought)?;
            }
            let beats = self.beats.load(std::sync::atomic::Ordering::SeqCst);
            if beats != seen {
                seen = beats;
                self.save_draft();
                self.follow()?;
            }
            self.show()?;
        }
        Ok(())
    }

    /// Draws; and works in what was written, once the screen says that it is on disk.
    fn show(&mut self) -> io::Result<()> {
        self.draw()?;
        match self.on_disk.take() {
            None => Ok(()),
            Some(recorded) => self.lend(Errand::WorkIn(recorded)),
        }
    }

    fn lend(&mut self, errand: Errand) -> io::Result<()> {
        self.door.lend(errand, self.wake.try_clone()?)
    }

    /// Waits for a key, a signal, an answer or a beat, or the end of a sequence that does not come; whether a key is there.
    fn wait(&mut self) -> io::Result<bool> {
        let stdin = io::stdin();
        let mut seen = [
            PollFd::new(&stdin, PollFlags::IN),
            PollFd::new(&self.woken, PollFlags::IN),
        ];
        let patience = self.decoder.patience();
        // The beat and the answers wake this wait as well: what is left of it is counted, not begun anew.
        let left = patience.map(|wait| wait.saturating_sub(self.waited.elapsed()));
        let limit = left.and_then(|wait| Timespec::try_from(wait).ok());
        match poll(&mut seen, limit.as_ref()) {
            Err(rustix::io::Errno::INTR) => return Ok(false),
            other => {
                other?;
            }
        }
        let input = seen[0].revents().contains(PollFlags::IN);
        if !input && patience.is_some_and(|wait| self.waited.elapsed() >= wait) {
            self.decoder.give_up();
            self.waited = Stopwatch::start();
        }
        if seen[1].revents().contains(PollFlags::IN) {
            let mut bytes = [0; 64];
            while matches!(self.woken.read(&mut bytes), Ok(64)) {}
        }
        Ok(input)
    }

    /// Reads all that the terminal sent, up to a bound, and for a moment more once a letter came, so that the presses of
    /// one moment can be told from typing.
    fn read_input(&mut self) -> io::Result<()> {
        let stdin = io::stdin();
        let (mut bytes, mut read) = ([0; 4096], 0);
        while read < MOST_AT_ONCE {
            match rustix::io::read(&stdin, &mut bytes) {
                // A terminal that has no more to give is gone.
                Ok(0) => {
                    self.ending = Some(HUNG_UP);
                    return Ok(());
                }
                Ok(count) => {
                    let was_late = self.decoder.is_late();
                    self.decoder.feed(bytes.get(..count).unwrap_or_default());
                    if !(was_late && self.decoder.is_late()) {
                        self.waited = Stopwatch::start();
                    }
                    read += count;
                }
                Err(rustix::io::Errno::INTR | rustix::io::Errno::AGAIN) => return Ok(()),
                Err(error) => return Err(error.into()),
            }
            let mut more = [PollFd::new(&stdin, PollFlags::IN)];
            let burst = Timespec::try_from(BURST).ok();
            match poll(&mut more, burst.as_ref()) {
                Ok(1..) => {}
                _ => return Ok(()),
            }
        }
        Ok(())
    }

    /// Takes every key and paste that was decoded.
    fn take_decoded(&mut self) -> io::Result<()> {
        for message in self.decoder.messages() {
            self.happen(message)?;
        }
        Ok(())
    }

    fn happen(&mut self, message: Message) -> io::Result<()> {
        self.stale = true;
        let effects = update(&mut self.state, message);
        // Before and after: what is carried out may be what breaks.
        self.note_draft();
        self.carry_out(effects)?;
        self.note_draft();
        // A draft that was given up is gone at once: what is typed next is another. One that could not be kept is
        // tried again at every key.
        let is_given_up = !self.saved.is_empty() && self.state.draft().is_none();
        if is_given_up || self.state.common.is_draft_unkept {
            self.save_draft();
        }
        Ok(())
    }

    /// Notes what is unfinished and not yet on disk.
    fn note_draft(&self) {
        let draft = self.state.draft().filter(|draft| *draft != self.saved);
        self.unfinished.note(draft);
    }

    fn carry_out(&mut self, effects: Vec<Effect>) -> io::Result<()> {
        for effect in effects {
            match effect {
                Effect::Ask(question) => self.worker.ask(question),
                Effect::Left(asker) => self.worker.leave(asker),
                Effect::WorkIn(recorded) => self.on_disk = Some(recorded),
                Effect::Suspend => self.suspend()?,
                Effect::Redraw => self.take_again()?,
                Effect::Quit => self.ending = Some(0),
                other => {
                    self.door.at_hand()?;
                    if let Effect::DropOffered(Some(draft)) = &other {
                        // Running the effect keeps it.
                        self.saved.clone_from(draft);
                    }
                    let writes = other.writes();
                    if writes {
                        // The door adds to the draft what it is to become; it is taken away when that is worked in.
                        self.save_draft();
                    }
                    let by = &self.state.common.by;
                    let messages = run_effect(self.door.at_hand()?, by, other);
                    if writes {
                        self.saved.clear();
                    }
                    for message in messages {
                        self.happen(message)?;
                    }
                }
            }
        }
        Ok(())
    }

    fn heed_signals(&mut self) -> io::Result<()> {
        while let Some(asked) = self.signals.next() {
            match asked {
                SignalRequest::End(signal) => self.ending = Some(128 + signal),
                SignalRequest::Stop => self.suspend()?,
                SignalRequest::Again => self.take_again()?,
                SignalRequest::Size => {
                    let size = page::size();
                    self.terminal.backend_mut().set_size(size);
                    self.happen(Message::Size(size.width, size.height))?;
                }
            }
        }
        Ok(())
    }

    fn suspend(&mut self) -> io::Result<()> {
        self.save_draft();
        page::leave();
        signals::stop();
        self.take_again()
    }

    /// Takes the terminal again after it was another's.
    fn take_again(&mut self) -> io::Result<()> {
        page::enter()?;
        let size = page::size();
        self.terminal.backend_mut().forget();
        self.terminal.backend_mut().set_size(size);
        self.terminal.resize(size.into())?;
        self.happen(Message::Size(size.width, size.height))
    }

    fn save_draft(&mut self) {
        let draft = self.state.draft().unwrap_or_default();
        if draft == self.saved {
            return;
        }
        let Some(door) = self.door.if_here() else {
            // Safe already, and kept again once the door is back, which has to know of it.
            self.door.save(&draft);
            return;
        };
        let kept = door.keep(&draft);
        self.stale |= self.state.common.is_draft_unkept == kept;
        self.state.common.is_draft_unkept = !kept;
        if kept {
            self.saved = draft;
            self.unfinished.note(None);
        }
    }

    /// The time, and what others wrote.
    fn follow(&mut self) -> io::Result<()> {
        let Some(now) = self.door.if_here().map(|door| door.now()) else {
            return Ok(());
        };
        let minute = |at: &chrono::DateTime<chrono::FixedOffset>| at.timestamp() / 60;
        if minute(&now) != minute(&self.state.common.now) {
            self.happen(Message::Now(now))?;
        }
        if self.on_disk.is_none() && self.rested.elapsed() >= self.rest {
            self.lend(Errand::Look)?;
        }
        Ok(())
    }

    /// Takes what came back with the door.
    fn hear(&mut self, brought: Brought) -> io::Result<()> {
        let (news, took) = match brought {
            Brought::WorkedIn(messages) => return self.turn_to(messages),
            Brought::Look { news, took } => (news, took),
        };
        let times = if matches!(news, Ok(false)) {
            RESTS
        } else {
            RESTS_AFTER_NEWS
        };
        let rest = took.saturating_mul(times);
        self.rest = rest.clamp(FOLLOW, LONGEST_REST);
        self.rested = Stopwatch::start();
        match news {
            Ok(false) => Ok(()),
            Ok(true) => {
                // As it is now: something may have been recorded since the look.
                let snapshot = self.door.at_hand()?.snapshot();
                self.turn_to([Message::Snapshot(snapshot)])
            }
            Err(why) => self.happen(Message::Trouble(why.lines.join(" "))),
        }
    }

    /// Takes a new book, and gives back the one before.
    fn turn_to(&mut self, news: impl IntoIterator<Item = Message>) -> io::Result<()> {
        let bygone = self.state.common.hold();
        for message in news {
            self.happen(message)?;
        }
        give_back(bygone);
        Ok(())
    }

    fn draw(&mut self) -> io::Result<()> {
        if !std::mem::take(&mut self.stale) {
            return Ok(());
        }
        let state = &self.state;
        self.terminal.draw(|frame| view(state, frame))?;
        Ok(())
    }

    /// Keeps what is unfinished; the exit code, if the end was asked for or the terminal is gone.
    fn end(&mut self) -> Option<i32> {
        self.save_draft();
        let gone = hangup::gone(Some(Duration::ZERO));
        self.ending.or_else(|| gone.then_some(HUNG_UP))
    }
}
