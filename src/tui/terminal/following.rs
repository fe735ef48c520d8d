//! The door, at hand or lent to a thread that looks for others' entries or works in what was written, so that no key waits
//! for a long journal to be worked out anew. It shows nothing.

use super::opening::OpenDoor;
use crate::app::clock::Stopwatch;
use crate::tui::common::JournalHold;
use crate::tui::effect::{Door, Message, Recorded, Refusal, worked_in};
use std::collections::VecDeque;
use std::io::{self, Write};
use std::os::unix::net::UnixStream;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::Duration;

/// What the door is lent for.
pub(super) enum Errand {
    /// To look for others' entries.
    Look,
    /// To work in what was written.
    WorkIn(Recorded),
}

impl Errand {
    fn run(self, door: &mut dyn Door) -> Brought {
        match self {
            Self::Look => {
                let begun = Stopwatch::start();
                let news = door.refresh().map(|news| news.is_some());
                let took = begun.elapsed();
                Brought::Look { news, took }
            }
            Self::WorkIn(recorded) => Brought::WorkedIn(worked_in(door, recorded)),
        }
    }
}

/// What comes back with the door.
pub(super) enum Brought {
    /// Whether others wrote, and how long the look took.
    Look {
        news: Result<bool, Refusal>,
        took: Duration,
    },
    /// What the screens are to be told of what was worked in.
    WorkedIn([Message; 2]),
}

/// Gives back a journal that nothing shows any more, off the input path: a large one takes long.
pub(super) fn give_back(bygone: JournalHold) {
    let thread = std::thread::Builder::new().name("giving back".into());
    // Where no thread can be started it is given back at once.
    let _ = thread.spawn(move || drop(bygone));
}

/// The door, or the way it comes back.
enum DoorPlace {
    Here(OpenDoor),
    Away(Receiver<(OpenDoor, Brought)>),
    /// The thread that had it broke.
    Lost,
}

/// The door that may be away.
pub(super) struct LentDoor {
    place: DoorPlace,
    /// What came back with it, and is yet to be taken.
    brought: VecDeque<Brought>,
    /// Keeps the draft while the door is away.
    save: Box<dyn Fn(&str) + Send>,
}

impl LentDoor {
    pub(super) fn new(door: OpenDoor) -> Self {
        Self {
            save: door.saver(),
            place: DoorPlace::Here(door),
            brought: VecDeque::new(),
        }
    }

    /// The door, waited for if it is away.
    ///
    /// # Errors
    /// If the thread that had it broke.
    pub(super) fn at_hand(&mut self) -> io::Result<&mut dyn Door> {
        if let DoorPlace::Away(back) = &self.place {
            let back = back.recv().ok();
            self.take(back);
        }
        match &mut self.place {
            DoorPlace::Here(door) => Ok(door.as_mut()),
            DoorPlace::Away(_) | DoorPlace::Lost => Err(broken()),
        }
    }

    /// The door, if it is at hand.
    pub(super) fn if_here(&mut self) -> Option<&mut dyn Door> {
        match &mut self.place {
            DoorPlace::Here(door) => Some(door.as_mut()),
            DoorPlace::Away(_) | DoorPlace::Lost => None,
        }
    }

    /// Keeps a draft while the door is away.
    pub(super) fn save(&self, draft: &str) {
        (self.save)(draft);
    }

    /// Lends the door to a thread of its own, once it is at hand; a byte is written to `wake` when it is back.
    ///
    /// # Errors
    /// If no thread can be started, or the one that had the door broke.
    pub(super) fn lend(&mut self, errand: Errand, wake: UnixStream) -> io::Result<()> {
        self.at_hand()?;
        let mut door = match std::mem::replace(&mut self.place, DoorPlace::Lost) {
            DoorPlace::Here(door) => door,
            other => {
                self.place = other;
                return Ok(());
            }
        };
        let (send, back) = channel();
        let running = move || {
            let brought = errand.run(door.as_mut());
            // Nobody waits for it where the face has ended.
            let _ = send.send((door, brought));
            let _ = (&wake).write(&[1]);
        };
        let thread = std::thread::Builder::new().name("following".into());
        thread.spawn(running)?;
        self.place = DoorPlace::Away(back);
        Ok(())
    }

    /// What came back with the door, each once: nothing while it was not lent or is not back.
    ///
    /// # Errors
    /// If the thread that had the door broke.
    pub(super) fn take_brought(&mut self) -> io::Result<Option<Brought>> {
        if let DoorPlace::Away(back) = &self.place {
            match back.try_recv() {
                Err(TryRecvError::Empty) => {}
                back => self.take(back.ok()),
            }
        }
        match self.place {
            DoorPlace::Lost => Err(broken()),
            DoorPlace::Here(_) | DoorPlace::Away(_) => Ok(self.brought.pop_front()),
        }
    }

    fn take(&mut self, back: Option<(OpenDoor, Brought)>) {
        self.place = DoorPlace::Lost;
        if let Some((door, brought)) = back {
            self.place = DoorPlace::Here(door);
            self.brought.push_back(brought);
        }
    }
}

fn broken() -> io::Error {
    io::Error::other("the journal could not be followed, a fault in struck itself")
}
