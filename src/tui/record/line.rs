//! Recording by a typed line with its reading beside it: every key but sticking and looking ends here.
//! It writes nothing itself.

use super::mends::OfferedMends;
use super::reading::{act, ahead, entry, explained, read};
use super::short::{LineSubject, example, lines, stuck_again};
use super::stick::StickScreen;
use super::typing::{LineEdit, MeantWord, TypedLine};
use crate::fold::batch::Batch;
use crate::input::bench_line::LineReading;
use crate::model::entry::Kind;
use crate::model::id::Id;
use crate::model::taxon::Taxon;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::common::{Common, SavedAct};
use crate::tui::effect::{Effect, Refusal};
use crate::tui::field::TextField;
use crate::tui::keys::KeyPress;
use crate::tui::keys::{Command, KeyContext};
use crate::tui::screen::{RecordingSubject, Screen, Turn};

/// A line being typed.
#[derive(Debug)]
pub struct LineScreen {
    command: Command,
    subject: RecordingSubject,
    typing: TypedLine,
    mends: OfferedMends,
    /// What was typed of the sticking again of the rest, at an earlier sitting.
    again: String,
    /// Whether it was asked about a target that stands already.
    asked: bool,
}

impl LineScreen {
    /// A line for a recording key; nothing if the key needs a batch or place and there is none.
    #[must_use]
    pub fn open(command: Command, subject: RecordingSubject) -> Option<Self> {
        example(command)?;
        let fits = match command {
            Command::Line | Command::Note => true,
            Command::Climate | Command::Treat => subject.place.is_some() || subject.batch.is_some(),
            _ => subject.batch.is_some(),
        };
        fits.then(|| Self {
            command,
            subject,
            typing: match command {
                Command::Note => TypedLine::from_field(TextField::for_note()),
                _ => TypedLine::default(),
            },
            mends: OfferedMends::default(),
            again: String::new(),
            asked: false,
        })
    }

    /// With that text typed already.
    #[must_use]
    pub fn resumed(mut self, text: &str) -> Self {
        self.typing.field.insert(text);
        self
    }

    /// With that text typed already of the sticking again of the rest.
    #[must_use]
    pub fn resumed_again(mut self, text: &str) -> Self {
        self.again = text.to_owned();
        self
    }

    fn batch<'a>(&self, common: &'a Common) -> Option<&'a Batch> {
        let key = self.subject.batch.as_ref()?;
        common.book.batch(key).map(|batch| &**batch)
    }

    fn readings(&self, common: &Common) -> Vec<LineReading> {
        let batch = self.batch(common);
        let place = self
            .subject
            .place
            .as_deref()
            .or(batch.and_then(|b| b.place.as_deref()));
        let about = LineSubject {
            batch,
            place: place.map(|p| crate::model::text::split_spot(p).0),
        };
        let lines = lines(self.command, self.typing.field.text(), about);
        let mut readings: Vec<LineReading> = lines.iter().map(|line| read(line, common)).collect();
        // The batch chosen is meant, even where another bears its code.
        if let Some(key) = self
            .subject
            .batch
            .as_ref()
            .filter(|_| self.command != Command::Line)
        {
            readings.iter_mut().for_each(|reading| name(reading, key));
        }
        readings
    }

    fn is_blank(&self) -> bool {
        self.typing.field.text().trim().is_empty()
    }

    fn accept(&mut self, common: &mut Common) -> Turn {
        if self.is_blank() {
            return Turn::back();
        }
        match act(&self.readings(common), common) {
            Ok(act) => {
                let mut kinds = act.entries.iter().map(|new| &new.kind);
                if let Some(twin) = kinds.find_map(|kind| same_target(kind, common))
                    && !self.asked
                {
                    self.asked = true;
                    common.say(
                        Tone::Pressing,
                        format!("{twin} Enter again wants these too."),
                    );
                    return Turn::stay();
                }
                let given = super::reading::note_cautions_given(&act.entries, common);
                let act = self.mends.before(act);
                let batch = self.batch(common).filter(|_| self.command == Command::Pot);
                let turn = match batch.and_then(|it| stuck_again(self.typing.field.text(), it)) {
                    Some(count) => {
                        let stick = StickScreen::again(common, self.subject.batch.as_ref(), count);
                        Turn::open(stick.resumed(&self.again).after(act, self.draft()))
                    }
                    None => Turn::effect(Effect::Record(act)),
                };
                turn.also(given)
            }
            Err(wrong) => {
                common.say(Tone::Pressing, wrong);
                Turn::stay()
            }
        }
    }

    fn edited(&mut self, common: &Common) -> Turn {
        self.mends.drop_all();
        self.asked = false;
        match self.command {
            // What is written of a batch is in the grower's own words.
            Command::Note => self.typing.offer_no_words(),
            _ => self.typing.offer(common),
        }
        Turn::stay()
    }

    /// What a mistyped word was meant for, for the key that takes it.
    fn meant(&self, command: Command, common: &Common) -> Option<MeantWord> {
        let asked = command == Command::Complete;
        let readings = asked.then(|| self.readings(common));
        self.typing.meant(readings.iter().flatten())
    }
}

/// Puts the chosen batch's key where the reading named the batch by its code.
fn name(reading: &mut LineReading, key: &Id) {
    use crate::model::value::FieldType;
    if reading.value("batch").is_some() {
        reading.fields.retain(|(name, _)| name != "stick");
        reading.fields.push(("stick".to_owned(), key.write()));
    }
}

impl Screen for LineScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Field
    }

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

    fn subject(&self, _common: &Common) -> RecordingSubject {
        self.subject.clone()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        match command {
            Command::Accept => return self.accept(common),
            Command::Complete if self.mends.are_offered() => {
                self.mends.take();
                return self.accept(common);
            }
            _ => {}
        }
        let meant = self.meant(command, common);
        match self.typing.command(command, meant) {
            LineEdit::Edit => self.edited(common),
            LineEdit::Leave => Turn::back(),
            LineEdit::Nothing => Turn::stay(),
        }
    }

    fn is_idle(&self, common: &Common, command: Command) -> bool {
        let takes = self.mends.are_offered() || self.typing.takes(self.meant(command, common));
        command == Command::Complete && !takes
    }

    fn press(&mut self, common: &mut Common, press: KeyPress) -> Turn {
        self.typing.field.press(press);
        self.edited(common)
    }

    fn paste_room(&self) -> usize {
        self.typing.field.room()
    }

    fn paste(&mut self, common: &mut Common, text: &str) -> Turn {
        self.typing.field.insert(text);
        self.edited(common)
    }

    fn recorded(&mut self, _common: &mut Common, _done: &SavedAct) -> Turn {
        Turn::back()
    }

    fn refused(&mut self, _common: &Common, refusal: &Refusal) {
        self.mends.offer(refusal);
    }

    fn typed_text(&self) -> &str {
        self.typing.field.text()
    }

    fn draft(&self) -> Option<String> {
        let text = self.typing.field.text().trim();
        let word = super::drafts::word(self.command)?;
        let key = self.subject.batch.as_ref().map(ToString::to_string);
        let place = self.subject.place.as_deref().unwrap_or("");
        (!text.is_empty()).then(|| format!("{word}\t{}\t{place}\t{text}", key.unwrap_or_default()))
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let mut row = 0;
        if common.is_low() {
            canvas.text(row, 0, &self.title(common), Tone::Heading);
            row += 1;
        }
        canvas.field(row, 0, &self.typing.field);
        row += 1;
        if self.is_blank() {
            let example = example(self.command).map_or("", |(_, example)| example);
            row = canvas.wrapped(row, 2, &format!("For example {example}."), Tone::Plain);
            self.typing.draw_offers(row, canvas);
            return;
        }
        let readings = self.readings(common);
        let (good, bad) = explained(&readings, &self.typing);
        for line in good {
            row = canvas.wrapped(row, 2, &line, Tone::Plain);
        }
        let yet_to_come = readings.iter().find_map(|reading| ahead(reading, common));
        for line in bad.into_iter().chain(yet_to_come) {
            row = canvas.wrapped(row, 2, &line, Tone::Pressing);
        }
        row = super::typing::draw_meant(self.typing.meant(&readings).as_ref(), row, canvas);
        row = self.mends.draw(row, 2, canvas);
        let entries: Vec<_> = readings
            .iter()
            .filter_map(|reading| entry(reading, common).ok())
            .collect();
        for kind in entries.iter().map(|(entry, _)| &entry.kind) {
            for line in target_words(kind, common)
                .into_iter()
                .chain(same_target(kind, common))
            {
                row = canvas.wrapped(row, 2, &line, Tone::Plain);
            }
        }
        let due =
            super::reading::new_cautions(entries.iter().map(|(entry, _)| &entry.kind), common);
        row = super::reading::draw_cautions(&due, row, canvas);
        if let Some(same) =
            super::reading::same_today(entries.iter().map(|(entry, _)| &entry.kind), common)
        {
            row = canvas.wrapped(row, 2, &same, Tone::Pressing);
        }
        self.typing.draw_offers(row, canvas);
    }
}

/// What stands already of a taxon that is wanted, in words: it counts for the target.
fn target_words(kind: &Kind, common: &Common) -> Option<String> {
    let Kind::Target(target) = kind else {
        return None;
    };
    let taxon = Taxon::parse(&target.taxon);
    let batches = common.book.batches().iter();
    let own = batches.filter(|batch| batch.taxon == taxon);
    let (mut potted, mut ready, mut bench) = (0u32, 0u32, 0u32);
    for batch in own {
        let counts = &batch.counts;
        potted += counts.in_pots();
        ready += counts.ready.saturating_sub(counts.sold);
        bench += counts.remain();
    }
    Some(format!(
        "Of it {potted} stand in pots, {ready} of them ready, and {bench} cuttings on the bench: they count."
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
        .find_map(|standing| match &standing.entry.kind {
            Kind::Target(held) if held.by_date == target.by_date => {
                (Taxon::parse(&held.taxon) == taxon).then_some(held.count)
            }
            _ => None,
        })?;
    let day = common.calendar().day(target.by_date);
    Some(format!("{wanted} are wanted by {day} already."))
}
