//! The look pad: a look's counts typed as numbers, one batch or a whole round. It writes nothing itself.

mod draw;
mod look;

pub use draw::SIGNS;

use super::canvas::Canvas;
use super::canvas::Tone;
use super::common::{Common, SavedAct};
use super::effect::{Effect, Refusal};
use super::field::TextField;
use super::keys::KeyPress;
use super::keys::{Command, KeyContext};
use super::record::StickScreen;
use super::record::entry_screen::OfferedMends;
use super::round::Round;
use super::screen::{RecordingSubject, Screen, Turn};
use crate::fold::batch::Batch;
use crate::input::pad_tail::{self, is_in_note};
use crate::model::id::Id;
use crate::model::listed::DiscardReason;
use look::{PadLook, as_typed, last_look};
use std::sync::Arc;

/// The pad.
#[derive(Debug)]
pub struct PadScreen {
    batch: Id,
    field: TextField,
    /// The rest was not looked at.
    unseen: bool,
    /// The number stuck is put right with the look.
    more: bool,
    /// Whether the person was warned that the counts look wrong: the next Enter saves them.
    warned: bool,
    /// What else is put right with the look.
    mends: OfferedMends,
    /// The look that is put right instead of a new one being entered.
    corrects: Option<Id>,
    round: Option<Round>,
    /// What was typed of the sticking again of its rest, at an earlier sitting.
    again: String,
    /// What the line held before it was emptied at one press, which may have been a slip; and whether the rest was not
    /// looked at.
    emptied: (String, bool),
}

impl PadScreen {
    /// The pad on one batch.
    #[must_use]
    pub fn new(batch: Id) -> Self {
        Self {
            batch,
            field: TextField::default(),
            unseen: false,
            more: false,
            warned: false,
            mends: OfferedMends::default(),
            corrects: None,
            round: None,
            again: String::new(),
            emptied: (String::new(), false),
        }
    }

    /// The pad on a round.
    #[must_use]
    pub fn on_round(round: Round) -> Self {
        let mut pad = Self::new(round.here().clone());
        pad.round = Some(round);
        pad
    }

    /// The pad on one batch, with that text typed already, and that of its rest's sticking again.
    #[must_use]
    pub fn resumed(batch: Id, text: &str, again: &str) -> Self {
        let mut pad = Self::new(batch);
        pad.field = TextField::new(text);
        pad.again = again.to_owned();
        pad
    }

    /// The pad putting a look right, with that text typed already.
    #[must_use]
    pub fn putting_right(batch: Id, look: Id, text: &str) -> Self {
        let mut pad = Self::resumed(batch, text, "");
        pad.corrects = Some(look);
        pad
    }

    fn batch<'a>(&self, common: &'a Common) -> Option<&'a Arc<Batch>> {
        common.book.batch(&self.batch)
    }

    fn look<'a>(&self, common: &'a Common) -> Option<PadLook<'a>> {
        let batch = self.batch(common)?;
        let corrects = self.corrects.as_ref();
        let mut events = batch.events.iter();
        let corrects = corrects.and_then(|id| events.find(|event| event.entry.id == *id));
        Some(PadLook::read(
            self.field.text(),
            batch,
            common.now,
            (self.unseen, self.more),
            corrects,
        ))
    }

    fn accept(&mut self, common: &mut Common) -> Turn {
        if self.field.text().trim().is_empty() {
            return self.pass(common);
        }
        let Some(look) = self.look(common) else {
            return Turn::back();
        };
        match (look.act(), look.doubtful()) {
            (Ok(_), Some(warning)) if !self.warned => {
                self.warned = true;
                common.say(Tone::Pressing, warning);
                Turn::stay()
            }
            (Ok(act), _) => {
                let act = self.mends.before(act);
                match look.leaving() {
                    Some((count, DiscardReason::Restuck)) => {
                        let stick = StickScreen::again(common, Some(&self.batch), count);
                        Turn::open(stick.resumed(&self.again).after(act, self.draft()))
                    }
                    _ => Turn::effect(Effect::Record(act)),
                }
            }
            (Err(why), _) => {
                common.say(Tone::Pressing, why);
                Turn::stay()
            }
        }
    }

    /// To the next batch of the round, or back.
    fn pass(&mut self, common: &mut Common) -> Turn {
        let Some(round) = &mut self.round else {
            return Turn::back();
        };
        let left = round.place_words().to_owned();
        if !round.next(&common.book) {
            if common.note.is_none() {
                common.say(Tone::Plain, round.done_words());
            }
            return Turn::back();
        }
        if round.place_words() != left {
            let on = format!("{left} is done; next {}.", round.place_words());
            match &mut common.note {
                Some(note) => note.lines.push(on),
                None => common.say(Tone::Plain, on),
            }
        }
        self.batch = round.here().clone();
        self.clear();
        Turn::stay()
    }

    /// To the batch before in the round.
    fn before(&mut self, common: &mut Common) {
        let said = match &mut self.round {
            None => return,
            Some(_) if !self.field.text().trim().is_empty() => "Save or erase what is typed first.",
            Some(round) => {
                if round.before(&common.book) {
                    self.batch = round.here().clone();
                    self.clear();
                    return;
                }
                "This is the first of the round."
            }
        };
        common.say(Tone::Plain, said);
    }

    /// Whether the line is empty, and was emptied by a press.
    fn puts_back(&self) -> bool {
        self.field.is_empty() && !self.emptied.0.is_empty()
    }

    /// Takes the batch's last look up, to be put right field by field.
    fn take_up_last(&mut self, common: &Common) {
        let Some(batch) = self.batch(common) else {
            return;
        };
        if let Some(event) = last_look(batch) {
            let (text, part) = as_typed(event, batch);
            self.corrects = Some(event.entry.id.clone());
            self.field = TextField::new(&text);
            self.unseen = part;
            self.edited();
        }
    }

    /// What `=` would put right, or what is put right, in words.
    fn correction_words(&self, common: &Common) -> Option<String> {
        let batch = self.batch(common)?;
        let event = last_look(batch)?;
        let when = common.calendar().at(&event.entry.at);
        match &self.corrects {
            Some(_) => Some(format!("Amends the look of {when}.")),
            None if self.field.is_empty() => {
                let (text, _) = as_typed(event, batch);
                Some(format!("= amends {when}: {text}"))
            }
            None => None,
        }
    }

    fn clear(&mut self) {
        self.corrects = None;
        self.field = TextField::default();
        self.emptied.0.clear();
        self.unseen = false;
        self.edited();
    }

    /// What is typed is another sum now: what was mended or offered for the one before does not hold of it.
    fn edited(&mut self) {
        (self.more, self.warned) = (false, false);
        self.mends.drop_all();
    }

    /// The rest is gone: typed as if by hand, so that it can be seen and changed.
    fn rest_gone(&mut self, common: &Common) {
        let rest = self.look(common).and_then(|look| look.rest());
        if let Some(rest) = rest.filter(|rest| *rest > 0) {
            // Before the day and the note, which stand last.
            let counts = pad_tail::read(self.field.text(), common.now).counts;
            let end = counts.trim_end().len();
            self.field.replace(end..end, &format!(" {rest}x"));
            self.field.press(KeyPress::End);
            self.edited();
        }
    }
}

impl Screen for PadScreen {
    fn context(&self) -> KeyContext {
        if self.round.is_some() {
            KeyContext::Round
        } else {
            KeyContext::Pad
        }
    }

    fn title(&self, _common: &Common) -> String {
        match &self.round {
            None => "Look".to_owned(),
            Some(round) => format!("Round: {}", round.place_words()),
        }
    }

    fn subject(&self, common: &Common) -> RecordingSubject {
        RecordingSubject {
            batch: Some(self.batch.clone()),
            place: self.batch(common).and_then(|batch| batch.place.clone()),
        }
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        match command {
            Command::Accept => return self.accept(common),
            Command::MendUnseen => {
                self.unseen = !self.unseen;
                self.edited();
            }
            Command::MendMore if self.mends.are_offered() => {
                self.mends.take();
                return self.accept(common);
            }
            Command::MendMore if self.puts_back() => {
                self.field = TextField::new(&self.emptied.0);
                self.unseen = self.emptied.1;
                self.edited();
            }
            Command::MendMore if self.field.text().trim().is_empty() => {
                self.take_up_last(common);
            }
            Command::MendMore => {
                let over = self.look(common).is_some_and(|look| look.over() > 0);
                self.more = over && !self.more;
            }
            Command::MendLost => self.rest_gone(common),
            Command::Before => self.before(common),
            Command::Erase if self.field.is_empty() => return Turn::back(),
            Command::Leave if self.field.is_empty() => return Turn::back(),
            Command::Erase => {
                self.field.press(KeyPress::Backspace);
                self.edited();
            }
            Command::Leave => {
                let held = (self.field.text().to_owned(), self.unseen);
                self.clear();
                self.emptied = held;
            }
            _ => {}
        }
        Turn::stay()
    }

    /// In a note signs are text.
    fn is_idle(&self, _common: &Common, command: Command) -> bool {
        let sign = matches!(
            command,
            Command::Help
                | Command::MendMore
                | Command::MendUnseen
                | Command::MendLost
                | Command::Before
        );
        sign && is_in_note(self.field.before())
    }

    fn press(&mut self, _common: &mut Common, press: KeyPress) -> Turn {
        self.field.press(press);
        self.edited();
        Turn::stay()
    }

    fn refused(&mut self, _common: &Common, refusal: &Refusal) {
        self.mends.offer(refusal);
    }

    fn recorded(&mut self, common: &mut Common, _done: &SavedAct) -> Turn {
        self.again.clear();
        self.pass(common)
    }

    fn draft(&self) -> Option<String> {
        let text = self.field.text().trim();
        (!text.is_empty()).then(|| match &self.corrects {
            Some(look) => format!("right\t{}\t{look}\t{text}", self.batch),
            None => format!("pad\t{}\t{text}", self.batch),
        })
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        if let (Some(batch), Some(look)) = (self.batch(common), self.look(common)) {
            let narrow = canvas.width() < 60;
            let place = self.round.as_ref().map(|round| round.how_far(narrow));
            let row = draw::pad(batch, &look, &self.field, place, common, canvas);
            let row = self.mends.draw(row, 0, canvas);
            if self.puts_back() {
                let end = canvas.text(row, 0, "=", Tone::Key);
                canvas.text(row, end + 1, &self.emptied.0, Tone::Plain);
            } else if let Some(words) = self.correction_words(common) {
                canvas.text(row, 0, &words, Tone::Plain);
            }
        }
    }
}
