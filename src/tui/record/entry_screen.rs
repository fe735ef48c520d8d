//! The screen on which an entry is typed as a line with its reading beside it. Recording, sticking and amending differ in
//! their form alone. It writes nothing itself.

use super::typing::{LineEdit, MeantWord, TypedLine, draw_meant};
use crate::app::mends::Mend;
use crate::input::bench_line::LineReading;
use crate::model::entry::Kind;
use crate::tui::canvas::{Canvas, Tone};
use crate::tui::common::{Common, SavedAct};
use crate::tui::effect::{Act, NewEntry, Refusal};
use crate::tui::field::TextField;
use crate::tui::keys::{Command, KeyContext, KeyPress};
use crate::tui::screen::{RecordingSubject, Screen, Turn};
use std::fmt::Debug;

/// The line as typed so far, and the mends offered for its sum.
#[derive(Debug, Default)]
pub struct EntryDraft {
    /// The line.
    pub typing: TypedLine,
    /// The mends.
    pub mends: OfferedMends,
}

impl EntryDraft {
    /// The typed text.
    #[must_use]
    pub fn text(&self) -> &str {
        self.typing.field.text()
    }

    /// Draws the line, below its heading where the screen is too low for one of its own; gives the row after.
    pub fn draw_line(&self, heading: &str, common: &Common, canvas: &mut Canvas<'_>) -> usize {
        let row = usize::from(common.is_low());
        if row > 0 {
            canvas.text(0, 0, heading, Tone::Heading);
        }
        canvas.field(row, 0, &self.typing.field);
        row + 1
    }

    /// Draws the word that a slip was meant for and the mends on offer, each behind the key that takes it; gives the
    /// row after.
    pub fn draw_remedies(
        &self,
        readings: &[LineReading],
        row: usize,
        canvas: &mut Canvas<'_>,
    ) -> usize {
        let row = draw_meant(self.typing.meant(readings).as_ref(), row, canvas);
        self.mends.draw(row, 2, canvas)
    }
}

/// What differs between the screens on which an entry is typed.
pub trait EntryForm: Debug {
    /// The heading's words.
    fn title(&self, common: &Common) -> String;

    /// The batch or place that the entry is about.
    fn subject(&self) -> RecordingSubject {
        RecordingSubject::default()
    }

    /// What the text is understood to say, one reading for each entry.
    fn readings(&self, text: &str, common: &Common) -> Vec<LineReading>;

    /// Saves what is typed, or says why it cannot be saved.
    fn accept(&mut self, draft: &EntryDraft, common: &mut Common) -> Turn;

    /// Takes note that the text changed.
    fn edited(&mut self) {}

    /// Whether words of the journal are offered while typing.
    fn offers_words(&self) -> bool {
        true
    }

    /// What the line held at first, if leaving goes back to that before it leaves the screen.
    fn original(&self) -> Option<TextField> {
        None
    }

    /// Takes note that the entry is on disk.
    fn recorded(&self, _done: &SavedAct) -> Turn {
        Turn::back()
    }

    /// The unfinished entry as it is kept for the next sitting; nothing if there is nothing to keep.
    fn kept(&self, text: &str) -> Option<String>;

    /// Draws the form.
    fn draw(&self, draft: &EntryDraft, common: &Common, canvas: &mut Canvas<'_>);
}

/// A screen on which an entry of that form is typed.
#[derive(Debug)]
pub struct EntryScreen<F> {
    pub(super) form: F,
    pub(super) draft: EntryDraft,
}

impl<F: EntryForm> EntryScreen<F> {
    /// The form with its line as it begins.
    pub(super) fn new(form: F, typing: TypedLine) -> Self {
        let draft = EntryDraft {
            typing,
            mends: OfferedMends::default(),
        };
        Self { form, draft }
    }

    fn edited(&mut self, common: &Common) -> Turn {
        self.draft.mends.drop_all();
        self.form.edited();
        match self.form.offers_words() {
            true => self.draft.typing.offer(common),
            false => self.draft.typing.offer_no_words(),
        }
        Turn::stay()
    }

    /// What a mistyped word was meant for, for the key that takes it.
    fn meant(&self, command: Command, common: &Common) -> Option<MeantWord> {
        let asked = command == Command::Complete;
        let readings = asked.then(|| self.form.readings(self.draft.text(), common));
        self.draft.typing.meant(readings.iter().flatten())
    }

    /// Puts the line back to what it held at first; leaves the screen if it holds that.
    fn restore(&mut self, original: TextField, common: &mut Common) -> Turn {
        if self.draft.text() == original.text() {
            return Turn::back();
        }
        self.draft.typing = TypedLine::from_field(original);
        self.draft.mends.drop_all();
        common.say(Tone::Plain, "As it was. The same key once more goes back.");
        Turn::stay()
    }
}

impl<F: EntryForm> Screen for EntryScreen<F> {
    fn context(&self) -> KeyContext {
        KeyContext::Field
    }

    fn title(&self, common: &Common) -> String {
        self.form.title(common)
    }

    fn subject(&self, _common: &Common) -> RecordingSubject {
        self.form.subject()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        if command == Command::Accept {
            return self.form.accept(&self.draft, common);
        }
        if command == Command::Complete && self.draft.mends.are_offered() {
            self.draft.mends.take();
            return self.form.accept(&self.draft, common);
        }
        if command == Command::Leave
            && let Some(original) = self.form.original()
        {
            return self.restore(original, common);
        }
        let meant = self.meant(command, common);
        match self.draft.typing.command(command, meant) {
            LineEdit::Edit => self.edited(common),
            LineEdit::Leave => Turn::back(),
            LineEdit::Nothing => Turn::stay(),
        }
    }

    fn is_idle(&self, common: &Common, command: Command) -> bool {
        let meant = || self.meant(command, common);
        let takes = self.draft.mends.are_offered() || self.draft.typing.takes(meant());
        command == Command::Complete && !takes
    }

    fn press(&mut self, common: &mut Common, press: KeyPress) -> Turn {
        self.draft.typing.field.press(press);
        self.edited(common)
    }

    fn paste_room(&self) -> usize {
        self.draft.typing.field.room()
    }

    fn paste(&mut self, common: &mut Common, text: &str) -> Turn {
        self.draft.typing.field.insert(text);
        self.edited(common)
    }

    fn recorded(&mut self, _common: &mut Common, done: &SavedAct) -> Turn {
        self.form.recorded(done)
    }

    fn refused(&mut self, _common: &Common, refusal: &Refusal) {
        self.draft.mends.offer(refusal);
    }

    fn typed_text(&self) -> &str {
        self.draft.text()
    }

    fn draft(&self) -> Option<String> {
        self.form.kept(self.draft.text().trim())
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        self.form.draw(&self.draft, common, canvas);
    }
}

/// The amends that would make a refused sum fit: offered after a refusal, taken by one key, dropped as soon as what is
/// typed is another sum.
#[derive(Debug, Default)]
pub struct OfferedMends {
    offered: Vec<Mend>,
    taken: Vec<Mend>,
}

impl OfferedMends {
    /// A refusal offers its own; those taken before stay: one mend may show another, a part's number that its batch
    /// has not.
    pub fn offer(&mut self, refusal: &Refusal) {
        self.offered.clone_from(&refusal.mends);
    }

    /// Whether any is on offer.
    #[must_use]
    pub fn are_offered(&self) -> bool {
        !self.offered.is_empty()
    }

    /// Takes what is on offer.
    pub fn take(&mut self) {
        self.taken.append(&mut self.offered);
    }

    /// Drops all: they do not hold of another sum.
    pub fn drop_all(&mut self) {
        *self = Self::default();
    }

    /// The act with the amends that were taken before it.
    #[must_use]
    pub fn before(&self, mut act: Act) -> Act {
        if self.taken.is_empty() {
            return act;
        }
        if !act.summary.is_empty() {
            act.summary.push_str("; the number amended");
        }
        act.entries.splice(0..0, self.taken.iter().map(put_right));
        act
    }

    /// Draws what is on offer, behind the key that takes it; gives the row after.
    pub fn draw(&self, row: usize, indent: usize, canvas: &mut Canvas<'_>) -> usize {
        let mut row = row;
        for mend in &self.offered {
            canvas.text(row, indent, "=", Tone::Key);
            let mend = format!("{}: amend that and save", mend.sentence());
            row = canvas.wrapped(row, indent + 2, &mend, Tone::Plain);
        }
        row
    }
}

/// The amend that puts the number right.
fn put_right(mend: &Mend) -> NewEntry {
    NewEntry {
        kind: Kind::Amend(Box::new(mend.amend())),
        note: None,
    }
}
