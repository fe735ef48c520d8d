//! Progress of long work, on a terminal only. In a pipe it says nothing.

use super::output;

/// Told how far a work has come; shows it where somebody watches.
#[derive(Debug)]
pub struct Progress {
    watched: bool,
    what: &'static str,
    shown: Option<u64>,
}

impl Progress {
    /// Of this work, as `reading`.
    #[must_use]
    pub fn new(watched: bool, what: &'static str) -> Self {
        Self {
            watched,
            what,
            shown: None,
        }
    }

    /// So much is done of the whole. Short works are over before the first whole percent is shown.
    pub fn at(&mut self, done: u64, whole: u64) {
        let percent = done
            .saturating_mul(100)
            .checked_div(whole)
            .unwrap_or(0)
            .min(100);
        if self.watched && self.shown != Some(percent) && percent < 100 {
            self.shown = Some(percent);
            output::draw(&format!("\r{} {percent} %", self.what));
        }
    }

    /// So much is done, of nobody knows how much.
    pub fn count(&mut self, done: u64) {
        if self.watched {
            self.shown = Some(done);
            output::draw(&format!("\r{} {done}", self.what));
        }
    }

    /// Takes the line away again.
    pub fn end(&mut self) {
        if self.shown.take().is_some() {
            output::draw("\r\u{1b}[K");
        }
    }
}
