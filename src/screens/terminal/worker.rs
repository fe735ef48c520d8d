//! The thread on which figures are computed, so that no key waits for one. It draws nothing.

use crate::screens::question::{Answer, Question};
use std::io::Write;
use std::os::unix::net::UnixStream;
use std::sync::mpsc::{Receiver, Sender, channel};

/// The worker's two ends.
#[derive(Debug)]
pub struct Worker {
    questions: Sender<Question>,
    answers: Receiver<Answer>,
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
                if answer.send(question.answer()).is_err() {
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
        // If the worker died of a panic there is no answer: the screen goes on without the figure.
        let _ = self.questions.send(question);
    }

    /// The answers that came.
    pub fn answers(&self) -> impl Iterator<Item = Answer> + '_ {
        self.answers.try_iter()
    }
}
