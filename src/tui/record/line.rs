//! Recording by a typed line with its reading beside it: every key but sticking and looking ends here.
//! It writes nothing itself.

use super::entry_screen::{EntryDraft, EntryForm, EntryScreen};
use super::reading::{
    act, ahead, draw_cautions, entry, explained, new_cautions, note_cautions_given,
};
use super::reading::{read, same_today};
use super::short::{LineSubject, example, lines, stuck_again};
use super::stick::StickScreen;
use super::typing::TypedLine;
use crate::fold::batch::Batch;
use crate::input::bench_line::LineReading;
use crate::model::entry::{Kind, Target};
use crate::model::id::Id;
use crate::model::taxon::Taxon;
use crate::model::text::split_spot;
use crate::model::value::FieldType;
use crate::tui::canvas::{Canvas, Tone};
use crate::tui::common::Common;
use crate::tui::effect::Effect;
use crate::tui::field::TextField;
use crate::tui::keys::Command;
use crate::tui::screen::{RecordingSubject, Turn};

/// The screen of a recording key: an entry typed as a line.
pub type LineScreen = EntryScreen<LineForm>;

/// What a recording key is about.
#[derive(Debug)]
pub struct LineForm {
    command: Command,
    subject: RecordingSubject,
    /// What was typed of the sticking again of the rest, at an earlier sitting.
    again: String,
    /// Whether it was asked about a target that stands already.
    asked: bool,
}

impl EntryScreen<LineForm> {
    /// A line for a recording key; nothing if the key needs a batch or place and there is none.
    #[must_use]
    pub fn open(command: Command, subject: RecordingSubject) -> Option<Self> {
        example(command)?;
        let fits = match command {
            Command::Line | Command::Note => true,
            Command::Climate | Command::Treat => subject.place.is_some() || subject.batch.is_some(),
            _ => subject.batch.is_some(),
        };
        let typing = match command {
            Command::Note => TypedLine::from_field(TextField::for_note()),
            _ => TypedLine::default(),
        };
        let form = LineForm {
            command,
            subject,
            again: String::new(),
            asked: false,
        };
        fits.then(|| Self::new(form, typing))
    }

    /// With that text typed already.
    #[must_use]
    pub fn resumed(mut self, text: &str) -> Self {
        self.draft.typing.field.insert(text);
        self
    }

    /// With that text typed already of the sticking again of the rest.
    #[must_use]
    pub fn resumed_again(mut self, text: &str) -> Self {
        self.form.again = text.to_owned();
        self
    }
}

impl LineForm {
    fn batch<'a>(&self, common: &'a Common) -> Option<&'a Batch> {
        let key = self.subject.batch.as_ref()?;
        common.book.batch(key).map(|batch| &**batch)
    }

    /// What is said before plants are wanted that are wanted already; asked once.
    fn doubt(&mut self, kinds: &[&Kind], common: &Common) -> Option<String> {
        let twin = kinds.iter().find_map(|kind| same_target(kind, common));
        let twin = twin.filter(|_| !self.asked)?;
        self.asked = true;
        Some(format!("{twin} Enter once more sets this one too."))
    }

    fn draw_entries(
        &self,
        readings: &[LineReading],
        row: usize,
        common: &Common,
        canvas: &mut Canvas<'_>,
    ) -> usize {
        let entries = readings.iter().map(|reading| entry(reading, common));
        let kinds: Vec<Kind> = entries.flatten().map(|(entry, _)| entry.kind).collect();
        let mut row = row;
        for kind in &kinds {
            let words = target_words(kind, common).into_iter();
            for line in words.chain(same_target(kind, common)) {
                row = canvas.wrapped(row, 2, &line, Tone::Plain);
            }
        }
        row = draw_cautions(&new_cautions(kinds.iter(), common), row, canvas);
        match same_today(kinds.iter(), common) {
            Some(same) => canvas.wrapped(row, 2, &same, Tone::Pressing),
            None => row,
        }
    }
}

/// Puts the chosen batch's key where the reading named the batch by its code.
fn name(reading: &mut LineReading, key: &Id) {
    if reading.value("batch").is_some() {
        reading.fields.retain(|(name, _)| name != "stick");
        reading.fields.push(("stick".to_owned(), key.write()));
    }
}

impl EntryForm for LineForm {
    fn title(&self, common: &Common) -> String {
        let what = example(self.command).map_or("", |(heading, _)| heading);
        let batch = self.batch(common);
        match (self.command, batch, &self.subject.place) {
            (Command::Line, ..) => what.to_owned(),
            (Command::Climate, _, Some(place)) => format!("{what}: {place}"),
            (_, Some(batch), _) => format!("{what}: {} {}", batch.code, batch.taxon.shown()),
            (_, None, Some(place)) => format!("{what}: {place}"),
            _ => what.to_owned(),
        }
    }

    fn subject(&self) -> RecordingSubject {
        self.subject.clone()
    }

    fn readings(&self, text: &str, common: &Common) -> Vec<LineReading> {
        let batch = self.batch(common);
        let own = self.subject.place.as_deref();
        let place = own.or(batch.and_then(|batch| batch.place.as_deref()));
        let about = LineSubject {
            batch,
            place: place.map(|place| split_spot(place).0),
        };
        let lines = lines(self.command, text, about);
        let mut readings: Vec<LineReading> = lines.iter().map(|line| read(line, common)).collect();
        // The batch chosen is meant, even where another bears its code.
        let chosen = self.subject.batch.as_ref();
        if let Some(key) = chosen.filter(|_| self.command != Command::Line) {
            readings.iter_mut().for_each(|reading| name(reading, key));
        }
        readings
    }

    fn accept(&mut self, draft: &EntryDraft, common: &mut Common) -> Turn {
        let text = draft.text();
        if text.trim().is_empty() {
            return Turn::back();
        }
        let act = match act(&self.readings(text, common), common) {
            Ok(act) => act,
            Err(wrong) => {
                common.say(Tone::Pressing, wrong);
                return Turn::stay();
            }
        };
        let kinds: Vec<&Kind> = act.entries.iter().map(|new| &new.kind).collect();
        if let Some(doubt) = self.doubt(&kinds, common) {
            common.say(Tone::Pressing, doubt);
            return Turn::stay();
        }
        let given = note_cautions_given(&act.entries, common);
        let act = draft.mends.before(act);
        let batch = self.batch(common).filter(|_| self.command == Command::Pot);
        let turn = match batch.and_then(|batch| stuck_again(text, batch)) {
            Some(count) => {
                let stick = StickScreen::again(common, self.subject.batch.as_ref(), count);
                let kept = self.kept(text.trim());
                Turn::open(stick.resumed(&self.again).after(act, kept))
            }
            None => Turn::effect(Effect::Record(act)),
        };
        turn.also(given)
    }

    fn edited(&mut self) {
        self.asked = false;
    }

    /// What is written of a batch is in the grower's own words.
    fn offers_words(&self) -> bool {
        self.command != Command::Note
    }

    fn kept(&self, text: &str) -> Option<String> {
        let word = super::drafts::word(self.command)?;
        let key = self.subject.batch.as_ref().map(ToString::to_string);
        let place = self.subject.place.as_deref().unwrap_or("");
        (!text.is_empty()).then(|| format!("{word}\t{}\t{place}\t{text}", key.unwrap_or_default()))
    }

    fn draw(&self, draft: &EntryDraft, common: &Common, canvas: &mut Canvas<'_>) {
        let mut row = draft.draw_line(&self.title(common), common, canvas);
        if draft.text().trim().is_empty() {
            let example = example(self.command).map_or("", |(_, example)| example);
            row = canvas.wrapped(row, 2, &format!("For example {example}."), Tone::Plain);
            draft.typing.draw_offers(row, canvas);
            return;
        }
        let readings = self.readings(draft.text(), common);
        let (good, bad) = explained(&readings, &draft.typing);
        for line in good {
            row = canvas.wrapped(row, 2, &line, Tone::Plain);
        }
        let yet_to_come = readings.iter().find_map(|reading| ahead(reading, common));
        for line in bad.into_iter().chain(yet_to_come) {
            row = canvas.wrapped(row, 2, &line, Tone::Pressing);
        }
        row = draft.draw_remedies(&readings, row, canvas);
        row = self.draw_entries(&readings, row, common, canvas);
        draft.typing.draw_offers(row, canvas);
    }
}

/// What stands already of a taxon that is wanted, in words: it counts for the target.
fn target_words(kind: &Kind, common: &Common) -> Option<String> {
    let Kind::Target(target) = kind else {
        return None;
    };
    let taxon = Taxon::parse(&target.taxon);
    let batches = common.book.batches().iter();
    let own = batches.filter(|batch| *batch.taxon == taxon);
    let (mut potted, mut ready, mut bench) = (0u32, 0u32, 0u32);
    for batch in own {
        let counts = &batch.counts;
        potted += counts.in_pots();
        ready += counts.ready.saturating_sub(counts.sold);
        bench += counts.remain();
    }
    Some(format!(
        "Counted towards it: {potted} in pots, {ready} of them saleable, and {bench} cuttings on the bench."
    ))
}

/// That plants of the taxon are wanted by that day already, in words.
fn same_target(kind: &Kind, common: &Common) -> Option<String> {
    let Kind::Target(target) = kind else {
        return None;
    };
    let taxon = Taxon::parse(&target.taxon);
    let wanted = common
        .book
        .targets()
        .filter_map(|standing| standing.entry.get::<Target>())
        .filter(|held| held.by_date == target.by_date)
        .find_map(|held| (Taxon::parse(&held.taxon) == taxon).then_some(held.count))?;
    let day = common.calendar().day(target.by_date);
    Some(format!("A target of {wanted} by {day} is set already."))
}
