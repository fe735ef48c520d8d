//! Finds a batch by any part of its name or code. It opens what is found and changes nothing.

use super::canvas::Canvas;
use super::canvas::Tone;
use super::common::Common;
use super::field::TextField;
use super::keys::{Command, KeyContext};
use super::press::KeyPress;
use super::screen::{Screen, StackStep, Turn};
use crate::fold::batch::Batch;
use crate::input::fuzzy::rank;
use crate::text::clean::width;
use crate::text::short::short;
use std::sync::Arc;

/// The search being typed.
#[derive(Debug, Default)]
pub struct FindScreen {
    field: TextField,
    chosen: usize,
    found: Vec<Arc<Batch>>,
}

impl FindScreen {
    /// Open batches before closed ones, the nearest first.
    fn search(&mut self, common: &Common) {
        self.chosen = 0;
        let batches = common.book.batches();
        let names: Vec<String> = batches
            .iter()
            .map(|batch| {
                format!(
                    "{} {} {}",
                    batch.code,
                    batch.taxon.shown(),
                    batch.place.as_deref().unwrap_or("")
                )
            })
            .collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let mut ranked = rank(self.field.text().trim(), &names);
        // A whole code means that batch, open or closed.
        let code = common.known.full_code(self.field.text().trim());
        let is_meant = |at: usize| code.as_ref() == Some(&batches[at].code);
        ranked.sort_by_key(|(at, score)| {
            let open = batches[*at].is_open();
            (!is_meant(*at), !open, std::cmp::Reverse(*score))
        });
        self.found = ranked
            .into_iter()
            .take(60)
            .map(|(at, _)| Arc::clone(&batches[at]))
            .collect();
    }
}

impl Screen for FindScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Field
    }

    fn title(&self, _common: &Common) -> String {
        "Find a batch".to_owned()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let last = self.found.len().saturating_sub(1);
        match command {
            Command::Accept => {
                return match self.found.get(self.chosen) {
                    Some(batch) => Turn::step(StackStep::Found(batch.key.clone())),
                    None => Turn::back(),
                };
            }
            Command::ChooseNext | Command::Complete => self.chosen = (self.chosen + 1).min(last),
            Command::ChoosePrevious => self.chosen = self.chosen.saturating_sub(1),
            Command::Erase | Command::Leave if self.field.is_empty() => return Turn::back(),
            Command::Erase => {
                self.field.press(KeyPress::Backspace);
                self.search(common);
            }
            Command::Leave => {
                self.field = TextField::default();
                self.search(common);
            }
            _ => {}
        }
        Turn::stay()
    }

    fn press(&mut self, common: &mut Common, press: KeyPress) -> Turn {
        self.field.press(press);
        self.search(common);
        Turn::stay()
    }

    fn paste(&mut self, common: &mut Common, text: &str) -> Turn {
        self.field.insert(text);
        self.search(common);
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        let chosen = self.chosen;
        self.search(common);
        self.chosen = chosen.min(self.found.len().saturating_sub(1));
        Turn::stay()
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        canvas.field(0, 0, &self.field);
        if self.found.is_empty() {
            canvas.text(1, 2, "Nothing is called so.", Tone::Plain);
        }
        let room = canvas.height().saturating_sub(1).max(1);
        let first = self.chosen / room * room;
        let shown: Vec<&Arc<Batch>> = self.found.iter().skip(first).take(room).collect();
        let after = |batch: &Batch| {
            if batch.is_open() {
                format!(", {}", common.calendar().day(batch.stuck_on))
            } else {
                ", closed".to_owned()
            }
        };
        let codes = shown.iter().map(|batch| width(&batch.code)).max();
        let code = codes.unwrap_or(0);
        let rest = shown.iter().map(|batch| width(&after(batch))).max();
        let columns = canvas.width().saturating_sub(3 + code + rest.unwrap_or(0));
        let taxa: Vec<_> = shown.iter().map(|batch| &batch.taxon).collect();
        let names = short(&taxa, columns, canvas.ink().glyphs);
        for (row, (batch, name)) in shown.iter().zip(names).enumerate() {
            let mark = if first + row == self.chosen { ">" } else { " " };
            canvas.text(row + 1, 0, mark, Tone::Heading);
            let line = format!("{} {name}{}", batch.code, after(batch));
            canvas.text(row + 1, 2, &line, Tone::Plain);
        }
    }
}
