//! The thread on which figures are computed, so that no key waits for one. It draws nothing.

use crate::screens::question::{Answer, Question};
use std::io::Write;
use std::os::unix::net::UnixStream;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, Sender, channel};

/// The worker's two ends.
#[derive(Debug)]
pub struct Worker {
    questions: Sender<Question>,
    answers: Receiver<Option<Answer>>,
}

impl Worker {
    /// Starts the thread; each answer writes a byte to `wake`.
    ///
    /// # Errors
    /// If no thread can be started.
    pub fn start(mut wake: UnixStream) -> std::io::Result<Self> {
        let (questions, asked) = channel::<Question>();
        let (answer, answers) = channel();
        let work = move || {
            while let Ok(question) = asked.recv() {
                // A figure that fails is told and costs no other: nothing is kept between two.
                let found = catch_unwind(AssertUnwindSafe(|| question.answer())).ok();
                if answer.send(found).is_err() {
                    return;
                }
                // A full pipe wakes the loop as well.
                let _ = wake.write(&[1]);
            }
        };
        std::thread::Builder::new()
            .name("figures".into())
            .spawn(work)?;
        Ok(Self { questions, answers })
    }

    /// Hands a question over.
    pub fn ask(&self, question: Question) {
        // It lives as long as the face: there is always someone to take it.
        let _ = self.questions.send(question);
    }

    /// The answers that came; nothing for a figure that could not be worked out.
    pub fn answers(&self) -> impl Iterator<Item = Option<Answer>> + '_ {
        self.answers.try_iter()
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
        worker.ask(Question::new("broken", &book, |_| -> u8 {
            panic!("as a test wants it")
        }));
        assert!(next(&worker, &woken).is_none());
        worker.ask(Question::new("sound", &book, |_| 4_u8));
        let found = loop {
            if let Some(answer) = next(&worker, &woken) {
                break answer;
            }
        };
        assert_eq!(found.to::<u8>("sound"), Some(&4));
        Ok(())
    }
}
