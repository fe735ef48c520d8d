//! The watch for a terminal that vanishes without a signal. A thread of its own, since the event
//! library's reader never returns from such a terminal. It touches neither screen nor journal.

use rustix::event::{PollFd, PollFlags, poll};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// Exit code of a process ended by a hang-up: 128 + SIGHUP.
pub const HUNG_UP: i32 = 129;
/// How long the loop has to end by itself before this thread ends the process.
const GRACE: Duration = Duration::from_millis(150);

/// What is unfinished, kept where the watch can save it: the text of the draft as it stands.
#[derive(Clone, Debug, Default)]
pub struct PendingDraft(Arc<Mutex<Option<String>>>);

impl PendingDraft {
    /// Notes the draft as it stands; nothing when it is already on disk.
    pub fn note(&self, draft: Option<String>) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = draft;
    }

    /// Takes the draft, so that it is saved once.
    #[must_use]
    pub fn take(&self) -> Option<String> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).take()
    }
}

/// Saves what is unfinished when it is dropped with something still noted: after a panic.
pub struct DraftGuard {
    /// What is unfinished.
    pub unfinished: PendingDraft,
    /// Saves it.
    pub save: Box<dyn Fn(&str) + Send>,
}

impl Drop for DraftGuard {
    fn drop(&mut self) {
        if let Some(draft) = self.unfinished.take() {
            (self.save)(&draft);
        }
    }
}

/// Watches standard input; when the terminal is gone it wakes the loop, gives it a moment,
/// then saves what is unfinished and ends the process.
///
/// # Errors
/// If no thread can be started.
pub fn watch(
    unfinished: PendingDraft,
    wake: impl Fn() + Send + 'static,
    save: impl Fn(&str) + Send + 'static,
) -> std::io::Result<()> {
    let watching = move || {
        while !gone(None) {}
        wake();
        std::thread::sleep(GRACE);
        if let Some(draft) = unfinished.take() {
            save(&draft);
        }
        std::process::exit(HUNG_UP);
    };
    std::thread::Builder::new()
        .name("hang-up".into())
        .spawn(watching)?;
    Ok(())
}

/// Whether the terminal is gone; waits for it, if no time limit is given.
#[must_use]
pub fn gone(limit: Option<Duration>) -> bool {
    let input = std::io::stdin();
    // No event is asked for: hang-up and error are always told.
    let mut seen = [PollFd::new(&input, PollFlags::empty())];
    let limit = limit.and_then(|l| rustix::event::Timespec::try_from(l).ok());
    let lost = PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL;
    poll(&mut seen, limit.as_ref()).is_ok_and(|n| n > 0) && seen[0].revents().intersects(lost)
}
