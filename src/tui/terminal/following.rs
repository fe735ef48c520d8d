//! The door, at hand or lent to a thread that looks for others' entries, so that no key waits for a long journal to be worked
//! out anew. It shows nothing.

use super::opening::OpenDoor;
use crate::app::clock::Stopwatch;
use crate::fold::Book;
use crate::input::bench_line::Vocabulary;
use crate::tui::effect::{Door, Refusal};
use std::io::{self, Write};
use std::os::unix::net::UnixStream;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::Duration;

/// What a look for others' entries found, and how long it took.
pub(super) struct Look {
    /// Whether there is news.
    pub found: Result<bool, Refusal>,
    pub took: Duration,
}

/// A journal and its words that nothing shows any more: a large one takes long to give back.
pub(super) type Bygone = (Arc<Book>, Arc<Vocabulary>);

/// The door, or the way it comes back.
enum DoorPlace {
    Here(OpenDoor),
    Away(Receiver<(OpenDoor, Look)>),
    /// The thread that had it broke.
    Lost,
}

/// The door that may be away.
pub(super) struct LentDoor {
    place: DoorPlace,
    /// What was found by a look that had to be waited for.
    look: Option<Look>,
    /// Keeps the draft while the door is away.
    save: Box<dyn Fn(&str) + Send>,
}

impl LentDoor {
    pub(super) fn new(door: OpenDoor) -> Self {
        Self {
            save: door.saver(),
            place: DoorPlace::Here(door),
            look: None,
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

    /// Begins a look, on a thread of its own; it writes a byte to `wake` when it is over.
    ///
    /// # Errors
    /// If no thread can be started.
    pub(super) fn look(&mut self, wake: UnixStream, bygone: Option<Bygone>) -> io::Result<()> {
        let mut door = match std::mem::replace(&mut self.place, DoorPlace::Lost) {
            DoorPlace::Here(door) => door,
            other => {
                self.place = other;
                return Ok(());
            }
        };
        let (send, back) = channel();
        let looking = move || {
            drop(bygone);
            let begun = Stopwatch::start();
            let found = door.refresh().map(|news| news.is_some());
            let took = begun.elapsed();
            // Nobody waits for it where the face has ended.
            let _ = send.send((door, Look { found, took }));
            let _ = (&wake).write(&[1]);
        };
        let thread = std::thread::Builder::new().name("following".into());
        thread.spawn(looking)?;
        self.place = DoorPlace::Away(back);
        Ok(())
    }

    /// What a look found, once: nothing while none was made or it is not over.
    ///
    /// # Errors
    /// If the thread that had the door broke.
    pub(super) fn take_look(&mut self) -> io::Result<Option<Look>> {
        if let DoorPlace::Away(back) = &self.place {
            match back.try_recv() {
                Err(TryRecvError::Empty) => {}
                back => self.take(back.ok()),
            }
        }
        match self.place {
            DoorPlace::Lost => Err(broken()),
            DoorPlace::Here(_) | DoorPlace::Away(_) => Ok(self.look.take()),
        }
    }

    fn take(&mut self, back: Option<(OpenDoor, Look)>) {
        self.place = DoorPlace::Lost;
        if let Some((door, look)) = back {
            self.place = DoorPlace::Here(door);
            self.look = Some(look);
        }
    }
}

fn broken() -> io::Error {
    io::Error::other("the journal could not be followed, a fault in struck itself")
}
