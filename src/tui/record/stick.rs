//! Sticking: what is typed laid over today's last sticking. It writes nothing itself.

use super::entry_screen::{EntryDraft, EntryForm, EntryScreen};
use super::reading::{ahead, draw_cautions, new_cautions, note_cautions_given, read};
use super::short::trays;
use super::typing::{TypedLine, draw_meant};
use crate::input::bench_line::{LineProblem, LineReading, line_of};
use crate::model::at::At;
use crate::model::entry::{Entry, Kind, Stick};
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use crate::model::value::{FieldType, Value};
use crate::text::faults::entry_sentence;
use crate::tui::canvas::{Canvas, Tone};
use crate::tui::common::{Common, SavedAct};
use crate::tui::effect::{Act, Effect, NewEntry};
use crate::tui::screen::{StackStep, Turn};
use std::sync::Arc;

/// Fields that belong to one batch alone.
const OWN: [&str; 5] = ["batch", "taken", "aside", "arm", "again"];
/// What a place brings to every tray that is stuck there.
const WITH_PLACE: [&str; 3] = ["cover", "heat_c", "medium"];
const OF_ONE_MOMENT: &str =
    "It is saved with the look, as of now: leave out the day, or stick it in an entry of its own.";

/// The screen on which a batch is stuck.
pub type StickScreen = EntryScreen<StickForm>;

/// A sticking that is being typed.
#[derive(Debug)]
pub struct StickForm {
    /// The fields that stand unless typed otherwise.
    base: Vec<(String, Value)>,
    /// What is written before it in the same append: all or none.
    first: Option<First>,
}

/// What another screen wants written together with the sticking.
#[derive(Debug)]
struct First {
    act: Act,
    /// That screen's draft, which this one's text follows.
    draft: Option<String>,
}

/// What is typed, taken apart.
struct Typed {
    trays: u32,
    reading: LineReading,
}

impl EntryScreen<StickForm> {
    /// A sticking that begins with the facts of this person's last sticking of today. Nothing is carried over from another
    /// day or person.
    #[must_use]
    pub fn open(common: &Common) -> Self {
        let of_today = common.entries_of(common.today()).iter().rev();
        let own = |entry: &PackedEntry| entry.by().unwrap_or_default() == common.by.trim();
        let mut stuck = of_today.map(|standing| &standing.entry);
        let last = stuck.find(|entry| entry.is::<Stick>() && own(entry));
        let base = last.map(|entry| carried(&entry.kind())).unwrap_or_default();
        Self::new(StickForm { base, first: None }, TypedLine::default())
    }

    /// The failed cuttings of a batch, re-cut and stuck again.
    #[must_use]
    pub fn again(common: &Common, batch: Option<&Id>, count: u32) -> Self {
        let mut stick = Self::open(common);
        if let Some(batch) = batch.and_then(|key| common.book.batch(key)) {
            stick.form.base = carried(&Kind::Stick(Arc::clone(&batch.stick)));
            stick.form.base.retain(|(name, _)| name != "stuck");
            stick.form.base.push(("stuck".to_owned(), count.write()));
            stick
                .form
                .base
                .push(("again".to_owned(), batch.key.write()));
        }
        stick
    }

    /// Written after that act in one append; `draft` is that of the screen beneath, which is told once it is done.
    #[must_use]
    pub fn after(mut self, act: Act, draft: Option<String>) -> Self {
        self.form.first = Some(First { act, draft });
        self
    }

    /// With that text typed already.
    #[must_use]
    pub fn resumed(mut self, text: &str) -> Self {
        self.draft.typing = TypedLine::new(text);
        self
    }
}

impl StickForm {
    fn typed(text: &str, common: &Common) -> Typed {
        let (trays, rest) = trays(text.trim());
        Typed {
            trays,
            reading: read(&format!("stick {rest}"), common),
        }
    }

    /// The entry to be, its code left to the desk.
    fn entry(&self, typed: &Typed, common: &Common) -> Result<Entry, String> {
        if let Some(problem) = typed.reading.problems.first() {
            return Err(problem.sentence());
        }
        let mut fields = self.base.clone();
        fields.retain(|(name, _)| typed.reading.value(name).is_none());
        let said = typed
            .reading
            .fields
            .iter()
            .filter(|(_, value)| *value != Value::Null);
        fields.extend(said.cloned());
        self.take_from_place(&typed.reading, &mut fields, common);
        let is_there = |name: &str| fields.iter().any(|(held, _)| held == name);
        let mut needs = typed.reading.needs.iter();
        if let Some(need) = needs.find(|need| !is_there(&need.field)) {
            return Err(need.sentence());
        }
        let code = common
            .vocabulary
            .next_code
            .clone()
            .unwrap_or_else(|| "00-000".to_owned());
        for (name, value) in [
            ("kind", Value::Text("stick".into())),
            ("batch", Value::Text(code)),
        ] {
            if !fields.iter().any(|(held, _)| held == name) {
                fields.push((name.to_owned(), value));
            }
        }
        if typed.reading.value("at").is_none() {
            fields.push(("at".to_owned(), At::Time(common.now).write()));
        }
        Entry::from_fields(fields, || Id::from_ulid(0)).map_err(|fault| entry_sentence(&fault))
    }

    /// Cover, heat and medium come with the place: as recorded of it, else as today's last tray there had them. To
    /// another place nothing of the tray before goes along.
    fn take_from_place(
        &self,
        reading: &LineReading,
        fields: &mut Vec<(String, Value)>,
        common: &Common,
    ) {
        let place_in =
            |fields: &[(String, Value)]| match fields.iter().find(|(name, _)| name == "place") {
                Some((_, Value::Text(place))) => Some(common.book.places().key(place)),
                _ => None,
            };
        let Some(place) = place_in(fields) else {
            return;
        };
        let recorded = common.book.places().get(&place);
        let recorded = recorded.and_then(|place| place.facts.clone());
        let recorded = recorded.map(|facts| Kind::Place(Box::new(facts)).write());
        let last = last_tray_at(&place, common).map(|kind| kind.write());
        let moved = place_in(&self.base).is_some_and(|before| before != place);
        for name in WITH_PLACE {
            if reading.value(name).is_some() {
                continue;
            }
            let value = |held: &Option<Vec<(&'static str, Value)>>| {
                let held = held.iter().flatten().find(|(own, _)| *own == name);
                held.map(|(_, value)| value.clone())
            };
            let brought = value(&recorded).or_else(|| value(&last));
            if moved || brought.is_some() {
                fields.retain(|(own, _)| own != name);
                fields.extend(brought.map(|value| (name.to_owned(), value)));
            }
        }
    }

    /// The act that is written: what comes first, then the sticking.
    fn with_first(&self, own: Act) -> Act {
        let Some(First { act, .. }) = &self.first else {
            return own;
        };
        let mut whole = act.clone();
        whole.entries.extend(own.entries);
        // Where nothing is said the entries speak for themselves, the sticking with them.
        if !whole.summary.is_empty() {
            whole.summary = format!("{}; {}", whole.summary, own.summary);
        }
        whole
    }
}

/// The last sticking of today at a place, whoever stuck it.
fn last_tray_at(place: &str, common: &Common) -> Option<Kind> {
    let entries = common.entries_of(common.today()).iter().rev();
    let mut kinds = entries.map(|standing| standing.entry.kind());
    kinds.find(|kind| match kind {
        Kind::Stick(stick) => stick
            .place
            .as_deref()
            .is_some_and(|held| common.book.places().key(held) == place),
        _ => false,
    })
}

/// The fields that the next sticking of the day takes over.
fn carried(kind: &Kind) -> Vec<(String, Value)> {
    let fields = kind.write().into_iter();
    let kept = fields.filter(|(name, _)| !OWN.contains(name));
    kept.map(|(name, value)| (name.to_owned(), value)).collect()
}

impl EntryForm for StickForm {
    fn title(&self, common: &Common) -> String {
        match &common.vocabulary.next_code {
            Some(code) => format!("Stick {code}"),
            None => "Stick".to_owned(),
        }
    }

    fn readings(&self, text: &str, common: &Common) -> Vec<LineReading> {
        vec![Self::typed(text, common).reading]
    }

    fn accept(&mut self, draft: &EntryDraft, common: &mut Common) -> Turn {
        let typed = Self::typed(draft.text(), common);
        let entry = match self.entry(&typed, common) {
            Ok(entry) => entry,
            Err(wrong) => {
                common.say(Tone::Pressing, wrong);
                return Turn::stay();
            }
        };
        let Kind::Stick(mut stick) = entry.kind else {
            return Turn::stay();
        };
        let summary = match typed.trays {
            1 => format!("{} {} stuck.", stick.stuck, stick.taxon),
            n => format!("{n} trays of {} {} stuck.", stick.stuck, stick.taxon),
        };
        if typed.reading.value("batch").is_none() || typed.trays > 1 {
            Arc::make_mut(&mut stick).batch.clear();
        }
        let new = NewEntry {
            kind: Kind::Stick(stick),
            note: entry.note.map(Into::into),
        };
        let entries = vec![new; typed.trays as usize];
        let given = note_cautions_given(&entries, common);
        let at = typed.reading.value("at").map(|_| entry.at);
        if self.first.is_some() && at.is_some() {
            common.say(Tone::Pressing, OF_ONE_MOMENT);
            return Turn::stay();
        }
        let own = Act {
            at,
            entries,
            summary,
        };
        let act = draft.mends.before(self.with_first(own));
        Turn::effect(Effect::Record(act)).also(given)
    }

    fn recorded(&self, done: &SavedAct) -> Turn {
        match self.first {
            Some(_) => Turn::step(StackStep::Done(done.clone())),
            None => Turn::back(),
        }
    }

    fn kept(&self, text: &str) -> Option<String> {
        match &self.first {
            Some(First { draft, .. }) => Some(format!("{}\t{text}", draft.as_ref()?)),
            None => (!text.is_empty()).then(|| format!("stick\t{text}")),
        }
    }

    fn draw(&self, draft: &EntryDraft, common: &Common, canvas: &mut Canvas<'_>) {
        let mut row = draft.draw_line(&self.title(common), common, canvas);
        let typed = Self::typed(draft.text(), common);
        let entry = self.entry(&typed, common);
        match &entry {
            Ok(entry) => {
                if typed.trays > 1 {
                    canvas.text(
                        row,
                        2,
                        &format!("{} trays, each:", typed.trays),
                        Tone::Heading,
                    );
                    row += 1;
                }
                let shown = Entry {
                    by: None,
                    ..entry.clone()
                };
                let line = line_of(&shown, &common.vocabulary);
                // The day stands last; it is said only when it is not now.
                let now = typed.reading.value("at").is_none();
                let bare = line
                    .rsplit_once(", on ")
                    .filter(|_| now)
                    .map_or(line.as_str(), |(bare, _)| bare);
                row = canvas.wrapped(row, 2, bare, Tone::Plain);
            }
            // Nothing typed and nothing to go by: not wrong, only not begun.
            Err(_) if self.base.is_empty() && draft.typing.field.is_empty() => {}
            Err(wrong) => row = canvas.wrapped(row, 2, wrong, Tone::Pressing),
        }
        if self.base.is_empty() && draft.typing.field.is_empty() {
            row = teach(row, canvas);
        }
        let doubts = typed.reading.doubts.iter();
        let doubts = doubts.filter(|doubt| !draft.typing.has_on_offer(doubt));
        let told = doubts.map(LineProblem::sentence);
        for line in told.chain(ahead(&typed.reading, common)) {
            row = canvas.wrapped(row, 2, &line, Tone::Pressing);
        }
        let meant = draft.typing.meant([&typed.reading]);
        row = draw_meant(meant.as_ref(), row, canvas);
        if let Some(First { act, draft: kept }) = &self.first {
            let said = match (kept, act.summary.is_empty()) {
                (Some(kept), true) => super::drafts::words(kept, common),
                _ => act.summary.clone(),
            };
            row = canvas.wrapped(row, 2, &format!("Saved with it: {said}."), Tone::Plain);
        }
        row = draft.mends.draw(row, 2, canvas);
        let due = new_cautions(entry.iter().map(|entry| &entry.kind), common);
        row = draw_cautions(&due, row, canvas);
        draft.typing.draw_offers(row, canvas);
    }
}

/// The first sticking of a day, explained.
fn teach(row: usize, canvas: &mut Canvas<'_>) -> usize {
    let lines = [
        "Type how many, of which plant, then what you know, with commas between:",
        "24 Weigela florida, semi-ripe, tip, iba 3000 talc, at bench A, mist",
        "What you do not type for the next tray today is as in this one.",
        "Backspace goes back, ? shows the keys, Ctrl-C leaves struck.",
    ];
    let each = lines.iter();
    each.fold(row, |row, line| canvas.wrapped(row, 2, line, Tone::Plain))
}
