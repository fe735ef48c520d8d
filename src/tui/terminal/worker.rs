//! The thread on which figures are computed, so that no key waits for one. It draws nothing.

use crate::tui::effect::{Answer, Query, Unwanted};
use std::collections::VecDeque;
use std::io::Write;
use std::os::unix::net::UnixStream;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

/// What waits to be worked out, and what is being worked out.
#[derive(Debug, Default)]
struct Queue {
    waiting: VecDeque<Query>,
    /// The asker, the topic, and how to stop it.
    running: Option<(usize, String, Unwanted)>,
    /// The face has ended.
    closed: bool,
}

impl Queue {
    /// Drops what waits of these concerns, and stops it if it is being worked out.
    fn drop_those(&mut self, is_over: impl Fn((usize, &str)) -> bool) {
        self.waiting.retain(|held| !is_over(held.concern()));
        if let Some((asker, topic, unwanted)) = &self.running
            && is_over((*asker, topic))
        {
            unwanted.tell();
        }
    }
}

/// The queue, and the bell that is rung when something changed on it.
#[derive(Debug, Default)]
struct Shared {
    queue: Mutex<Queue>,
    bell: Condvar,
}

impl Shared {
    fn queue(&self) -> MutexGuard<'_, Queue> {
        // Nothing breaks while it is held: figures are worked out without it.
        self.queue.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The next question, waited for; nothing once the face has ended.
    fn next(&self) -> Option<Query> {
        let mut queue = self.queue();
        queue.running = None;
        loop {
            if queue.closed {
                return None;
            }
            if let Some(question) = queue.waiting.pop_front() {
                let (asker, topic) = question.concern();
                queue.running = Some((asker, topic.to_owned(), question.unwanted()));
                return Some(question);
            }
            queue = self
                .bell
                .wait(queue)
                .unwrap_or_else(PoisonError::into_inner);
        }
    }
}

/// The worker's two ends.
#[derive(Debug)]
pub struct Worker {
    shared: Arc<Shared>,
    answers: Receiver<Option<Answer>>,
}

impl Worker {
    /// Starts the thread; each answer writes a byte to `wake`.
    ///
    /// # Errors
    /// If no thread can be started.
    pub fn start(wake: UnixStream) -> std::io::Result<Self> {
        let shared = Arc::new(Shared::default());
        let (answer, answers) = channel();
        let theirs = Arc::clone(&shared);
        std::thread::Builder::new()
            .name("figures".into())
            .spawn(move || work(&theirs, &answer, wake))?;
        Ok(Self { shared, answers })
    }

    /// Hands a question over. What the same screen asked before on the same topic is dropped, or stopped if
    /// it is being worked out.
    pub fn ask(&self, question: Query) {
        let mut queue = self.shared.queue();
        queue.drop_those(|concern| concern == question.concern());
        queue.waiting.push_back(question);
        drop(queue);
        self.shared.bell.notify_one();
    }

    /// Drops, or stops, all that the screen of that number asked: it was left.
    pub fn leave(&self, asker: usize) {
        self.shared.queue().drop_those(|(who, _)| who == asker);
    }

    /// The answers that came; nothing for a figure that could not be worked out.
    pub fn answers(&self) -> impl Iterator<Item = Option<Answer>> + '_ {
        self.answers.try_iter()
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        let mut queue = self.shared.queue();
        queue.closed = true;
        queue.drop_those(|_| true);
        drop(queue);
        self.shared.bell.notify_one();
    }
}

fn work(shared: &Shared, answer: &Sender<Option<Answer>>, mut wake: UnixStream) {
    while let Some(question) = shared.next() {
        // A figure that fails is told and costs no other: nothing is kept between two.
        let found = match catch_unwind(AssertUnwindSafe(|| question.answer())) {
            Ok(None) => continue,
            Ok(Some(found)) => Some(found),
            Err(_) => None,
        };
        if answer.send(found).is_err() {
            return;
        }
        // A full pipe wakes the loop as well.
        let _ = wake.write(&[1]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::os::fd::AsFd;

    /// Waits for one answer.
    fn next(worker: &Worker, woken: &UnixStream) -> Option<Answer> {
        let mut seen = [rustix::event::PollFd::from_borrowed_fd(
            woken.as_fd(),
            rustix::event::PollFlags::IN,
        )];
        let _ = rustix::event::poll(&mut seen, None);
        worker.answers().next().flatten()
    }

    #[test]
    fn a_figure_that_fails_costs_no_other() -> std::io::Result<()> {
        let (wake, woken) = UnixStream::pair()?;
        let worker = Worker::start(wake)?;
        let book = std::sync::Arc::default();
        worker.ask(Query::new("broken", &book, |_, _| -> Option<u8> {
            panic!("as a test wants it")
        }));
        assert!(next(&worker, &woken).is_none());
        worker.ask(Query::new("sound", &book, |_, _| Some(4_u8)));
        let found = loop {
            if let Some(answer) = next(&worker, &woken) {
                break answer;
            }
        };
        assert_eq!(found.to::<u8>("sound"), Some(&4));
        Ok(())
    }

    #[test]
    fn what_is_asked_anew_is_not_worked_out_and_what_runs_is_stopped() -> std::io::Result<()> {
        let (wake, woken) = UnixStream::pair()?;
        let worker = Worker::start(wake)?;
        let book = std::sync::Arc::default();
        let (began, begun) = channel();
        // It runs until it is told to stop: without that the test would hang.
        worker.ask(Query::new("taxa long", &book, move |_, go_on| {
            let _ = began.send(());
            while go_on() {
                std::thread::yield_now();
            }
            None::<u8>
        }));
        let _ = begun.recv();
        worker.ask(Query::new("other 1", &book, |_, _| Some(1_u8)));
        worker.ask(Query::new("other 2", &book, |_, _| Some(2_u8)).by(3));
        worker.ask(Query::new("taxa b", &book, |_, _| -> Option<u8> {
            unreachable!("asked anew")
        }));
        worker.ask(Query::new("taxa c", &book, |_, _| Some(3_u8)));
        let mut found = Vec::new();
        while found.len() < 3 {
            found.extend(next(&worker, &woken));
            found.extend(worker.answers().flatten());
        }
        let taken = |key: &str| {
            found
                .iter()
                .find_map(|answer| answer.to::<u8>(key))
                .copied()
        };
        assert_eq!(taken("other 1"), Some(1));
        assert_eq!(taken("other 2"), Some(2));
        assert_eq!(taken("taxa c"), Some(3));
        Ok(())
    }

    #[test]
    fn what_a_screen_asked_ends_when_it_is_left_and_no_other() -> std::io::Result<()> {
        let (wake, woken) = UnixStream::pair()?;
        let worker = Worker::start(wake)?;
        let book = std::sync::Arc::default();
        let (began, begun) = channel();
        let long = Query::new("life", &book, move |_, go_on| {
            let _ = began.send(());
            while go_on() {
                std::thread::yield_now();
            }
            None::<u8>
        });
        worker.ask(long.by(7));
        let _ = begun.recv();
        let unasked = |_: &crate::fold::Book, _: crate::tui::effect::GoOn<'_>| -> Option<u8> {
            unreachable!("its screen was left")
        };
        worker.ask(Query::new("ahead", &book, unasked).by(7));
        worker.ask(Query::new("due", &book, |_, _| Some(5_u8)).by(1));
        // Without this the long work would hold up the other for ever.
        worker.leave(7);
        let found = next(&worker, &woken);
        assert_eq!(found.as_ref().and_then(|it| it.to("due")), Some(&5_u8));
        Ok(())
    }
}
