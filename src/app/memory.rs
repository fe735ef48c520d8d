//! What a sitting leaves to the next on this machine: who was entering, and which cautions were given to
//! whom and when. It is no part of the journal.

use super::desk::Desk;
use super::files;
use super::writer::state_folder;
use chrono::{Days, NaiveDate};
use std::collections::BTreeSet;
use std::io;
use std::path::PathBuf;

/// A caution given: the day, the person, the key of hazard and thing.
pub type GivenCaution = (NaiveDate, String, String);

/// What one sitting leaves to the next.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Memory {
    /// Who was entering; empty if nobody said.
    pub by: String,
    /// Whether the bench stands in the walking order.
    pub walking: bool,
    /// Cautions given lately.
    pub cautioned: BTreeSet<GivenCaution>,
}

impl Memory {
    /// One fact a line, its parts set off by tabs.
    fn write(&self) -> String {
        let mut out = format!("by\t{}\n", plain(&self.by));
        if self.walking {
            out.push_str("order\twalking\n");
        }
        for (day, by, hazard) in &self.cautioned {
            out.push_str(&format!("caution\t{day}\t{}\t{hazard}\n", plain(by)));
        }
        out
    }

    /// What is not understood is left out: it was written by another version.
    fn read(text: &str) -> Self {
        let mut out = Self::default();
        for line in text.lines() {
            match line.split('\t').collect::<Vec<_>>().as_slice() {
                ["by", by] => out.by = (*by).to_owned(),
                ["order", "walking"] => out.walking = true,
                ["caution", day, by, hazard] => {
                    let day = day.parse().ok();
                    let given = day.map(|day| (day, (*by).to_owned(), (*hazard).to_owned()));
                    out.cautioned.extend(given);
                }
                _ => {}
            }
        }
        out
    }
}

/// A name without what would break the line that it is kept on.
fn plain(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).collect()
}

impl Desk {
    /// What an earlier sitting left; nothing if none did, or if it cannot be read: nothing hangs on it.
    #[must_use]
    pub fn memory(&self) -> Memory {
        let text = files::get(&self.memory_path()).ok().flatten();
        text.map_or_else(Memory::default, |text| Memory::read(&text))
    }

    /// Keeps it, with the cautions of today and yesterday that other sittings gave meanwhile.
    ///
    /// # Errors
    /// Whatever the system says; what was kept is then as it was.
    pub fn remember(&self, memory: &Memory) -> io::Result<()> {
        let mut whole = memory.clone();
        whole.cautioned.extend(self.memory().cautioned);
        let yesterday = self.clock.now().date_naive() - Days::new(1);
        whole.cautioned.retain(|(day, ..)| *day >= yesterday);
        files::private_folder(&state_folder(&self.settings))?;
        files::put(&self.memory_path(), &whole.write())
    }

    fn memory_path(&self) -> PathBuf {
        state_folder(&self.settings).join("sitting")
    }
}

#[cfg(test)]
mod tests {
    use super::Memory;

    #[test]
    fn what_is_written_is_read_and_what_is_strange_left_out() {
        let mut memory = Memory {
            by: "Ana\tM\u{fc}ller\n".into(),
            ..Memory::default()
        };
        let day = "2026-06-14".parse().unwrap();
        memory.cautioned.insert((day, "Jo".into(), "sap".into()));
        let read = Memory::read(&format!(
            "{}later\tthing\ncaution\tx\ty\tz\n",
            memory.write()
        ));
        assert_eq!(read.by, "AnaM\u{fc}ller");
        assert_eq!(read.cautioned, memory.cautioned);
    }
}
