//! The page that stands while the journal is read: how far it is, and that it shows no figure. Keys typed meanwhile are
//! kept for the bench, but for those that leave. It reads no journal itself.

use super::backend::LeanBackend;
use super::decoder::Decoder;
use super::hangup::{HUNG_UP, gone};
use super::page;
use super::signals::{self, SignalRequest, Signals};
use crate::app::clock::Stopwatch;
use crate::app::failure::Failure;
use crate::tui::canvas::{Canvas, Ink, Tone};
use crate::tui::effect::{Door, Message};
use crate::tui::keys::KeyPress;
use ratatui::{Frame, Terminal};
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use std::io::{self, Read, Write};
use std::os::unix::net::UnixStream;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::Duration;

/// The door that the face works through.
pub type OpenDoor = Box<dyn Door + Send>;

/// Reads the journal, on a thread of its own, and gives the door to it. It tells from time to time how many lines were read.
pub type Opening = Box<dyn FnOnce(&mut dyn FnMut(u64)) -> Result<OpenDoor, Failure> + Send>;

/// So long nothing is drawn: a journal that is read by then shows its bench at once.
const STILL: Duration = Duration::from_millis(20);

/// What came of the wait.
pub(super) enum Waited {
    /// The journal is read: the door, and what was typed meanwhile.
    Opened(OpenDoor, Vec<Message>),
    /// It cannot be opened.
    Failed(Failure),
    /// Somebody left, or the terminal is gone: the exit code.
    Left(i32),
}

/// What the page is drawn on and hears.
pub(super) struct OpeningPage<'f> {
    pub terminal: &'f mut Terminal<LeanBackend<io::Stdout>>,
    pub signals: &'f Signals,
    pub woken: &'f UnixStream,
    pub decoder: &'f mut Decoder,
    pub ink: Ink,
}

impl OpeningPage<'_> {
    /// Stands until the journal is read, or somebody leaves: then the reading is left to end with the process.
    ///
    /// # Errors
    /// If no thread can be started, or the terminal fails.
    pub(super) fn wait(&mut self, opening: Opening, wake: UnixStream) -> io::Result<Waited> {
        let (lines, read) = start(opening, wake)?;
        let (begun, mut drawn) = (Stopwatch::start(), None);
        let mut typed = Vec::new();
        loop {
            match read.try_recv() {
                Ok(Ok(door)) => return Ok(Waited::Opened(door, typed)),
                Ok(Err(failure)) => return Ok(Waited::Failed(failure)),
                Err(TryRecvError::Empty) => {}
                Err(TryRecvError::Disconnected) => {
                    let why = "The journal could not be read: a fault in struck itself.";
                    return Ok(Waited::Failed(Failure::could(why)));
                }
            }
            if let Some(code) = self.heed(&mut drawn)? {
                return Ok(Waited::Left(code));
            }
            let passed = begun.elapsed();
            // Seconds go on where lines do not, as when all are read and batches are put together.
            let state = (lines.load(Ordering::Relaxed), passed.as_secs());
            if passed >= STILL && drawn != Some(state) {
                drawn = Some(state);
                let ink = self.ink;
                self.terminal.draw(|frame| draw(state, ink, frame))?;
            }
            let limit = drawn.map_or(STILL, |_| Duration::from_secs(1));
            if self.is_typed(limit)? {
                let mut bytes = [0; 4096];
                match rustix::io::read(io::stdin(), &mut bytes) {
                    Ok(0) => return Ok(Waited::Left(HUNG_UP)),
                    Ok(count) => self.decoder.feed(bytes.get(..count).unwrap_or_default()),
                    Err(rustix::io::Errno::INTR | rustix::io::Errno::AGAIN) => {}
                    Err(error) => return Err(error.into()),
                }
            }
            for message in self.decoder.messages() {
                if leaves(&message, typed.is_empty()) {
                    return Ok(Waited::Left(0));
                }
                typed.push(message);
            }
        }
    }

    /// Waits for a key, a signal or word of the reading; whether a key is there.
    fn is_typed(&self, limit: Duration) -> io::Result<bool> {
        let stdin = io::stdin();
        let mut seen = [
            PollFd::new(&stdin, PollFlags::IN),
            PollFd::new(self.woken, PollFlags::IN),
        ];
        let limit = Timespec::try_from(limit).ok();
        match poll(&mut seen, limit.as_ref()) {
            Err(rustix::io::Errno::INTR) => return Ok(false),
            other => other?,
        };
        if seen[1].revents().contains(PollFlags::IN) {
            let mut bytes = [0; 64];
            let mut woken = self.woken;
            while matches!(woken.read(&mut bytes), Ok(64)) {}
        }
        Ok(seen[0].revents().contains(PollFlags::IN))
    }

    /// Does as signals ask; the exit code if they, or a terminal that is gone, end the program.
    fn heed(&mut self, drawn: &mut Option<(u64, u64)>) -> io::Result<Option<i32>> {
        if gone(Some(Duration::ZERO)) {
            return Ok(Some(HUNG_UP));
        }
        while let Some(asked) = self.signals.next() {
            match asked {
                SignalRequest::End(signal) => return Ok(Some(128 + signal)),
                SignalRequest::Stop => {
                    page::leave();
                    signals::stop();
                    page::enter()?;
                    self.terminal.backend_mut().forget();
                }
                SignalRequest::Again => self.terminal.backend_mut().forget(),
                SignalRequest::Size => {}
            }
            let size = page::size();
            self.terminal.backend_mut().set_size(size);
            self.terminal.resize(size.into())?;
            *drawn = None;
        }
        Ok(None)
    }
}

/// How many lines were read so far, and where the door comes from.
type Reading = (Arc<AtomicU64>, Receiver<Result<OpenDoor, Failure>>);

/// Starts the reading; each word of it writes a byte to `wake`.
fn start(opening: Opening, wake: UnixStream) -> io::Result<Reading> {
    let lines = Arc::new(AtomicU64::new(0));
    let count = Arc::clone(&lines);
    let (send, read) = channel();
    let reading = move || {
        let door = opening(&mut |lines| {
            count.store(lines, Ordering::Relaxed);
            let _ = (&wake).write(&[1]);
        });
        // Whoever left does not hear it.
        let _ = send.send(door);
        let _ = (&wake).write(&[1]);
    };
    let thread = std::thread::Builder::new().name("reading".into());
    thread.spawn(reading)?;
    Ok((lines, read))
}

/// Whether these keys leave: Ctrl-C always; q where nothing was typed before it, since later it may be a letter of a line.
fn leaves(message: &Message, is_first: bool) -> bool {
    let Message::Presses(presses) = message else {
        return false;
    };
    presses.contains(&KeyPress::Ctrl('c'))
        || is_first && presses.first() == Some(&KeyPress::Char('q'))
}

/// Draws the page after so many lines and seconds.
fn draw((lines, seconds): (u64, u64), ink: Ink, frame: &mut Frame<'_>) {
    let area = frame.area();
    let mut cursor = None;
    let mut canvas = Canvas::new(frame.buffer_mut(), area, ink, &mut cursor);
    canvas.text(0, 0, "struck", Tone::Heading);
    let reading = match (lines, seconds) {
        (0, 0) => "Reading the journal.".to_owned(),
        (lines, 0) => format!("Reading the journal: {lines} lines so far."),
        (lines, seconds) => format!("Reading the journal: {lines} lines after {seconds} s."),
    };
    let row = canvas.wrapped(1, 0, &reading, Tone::Plain);
    let why = "Nothing of it is shown before all of it is read: half a journal has wrong figures.";
    canvas.wrapped(row, 0, why, Tone::Plain);
    let foot = canvas.height().saturating_sub(1);
    let end = canvas.text(foot, 0, "q", Tone::Key);
    canvas.text(foot, end + 1, "quit", Tone::Plain);
}
