//! Sticking: what is typed laid over today's last sticking. It writes nothing itself.

use super::mends::OfferedMends;
use super::reading::{ahead, read};
use super::short::trays;
use super::typing::{LineEdit, MeantWord, TypedLine};
use crate::input::bench_line::{LineProblem, LineReading, line_of};
use crate::model::at::At;
use crate::model::entry::{Entry, Kind};
use crate::model::id::Id;
use crate::model::value::{FieldType, Value};
use crate::text::faults::entry_sentence;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::common::{Common, SavedAct};
use crate::tui::effect::{Act, Effect, NewEntry, Refusal};
use crate::tui::keys::KeyPress;
use crate::tui::keys::{Command, KeyContext};
use crate::tui::screen::{Screen, StackStep, Turn};

/// Fields that belong to one batch alone.
const OWN: [&str; 5] = ["batch", "taken", "aside", "arm", "again"];
/// What a place brings to every tray that is stuck there.
const WITH_PLACE: [&str; 3] = ["cover", "heat_c", "medium"];
const OF_ONE_MOMENT: &str =
    "It is saved with the look, as of now: leave the day out, or stick it apart.";

/// The sticking being typed.
#[derive(Debug)]
pub struct StickScreen {
    /// The fields that stand unless typed otherwise.
    base: Vec<(String, Value)>,
    typing: TypedLine,
    /// What is written before it in the same append: all or none.
    first: Option<First>,
    mends: OfferedMends,
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

impl StickScreen {
    /// Upon this person's last sticking of today; from another day or person nothing is carried over.
    #[must_use]
    pub fn open(common: &Common) -> Self {
        let last =
            common
                .book
                .entries()
                .iter()
                .rev()
                .find_map(|standing| match &standing.entry.kind {
                    Kind::Stick(_) if is_own_of_today(&standing.entry, common) => {
                        Some(&standing.entry)
                    }
                    _ => None,
                });
        let base = last.map(|entry| carried(&entry.kind)).unwrap_or_default();
        Self {
            base,
            typing: TypedLine::default(),
            first: None,
            mends: OfferedMends::default(),
        }
    }

    /// The failed cuttings of a batch, re-cut and stuck again.
    #[must_use]
    pub fn again(common: &Common, batch: Option<&Id>, count: u32) -> Self {
        let mut stick = Self::open(common);
        if let Some(batch) = batch.and_then(|key| common.book.batch(key)) {
            stick.base = carried(&Kind::Stick(Box::new(batch.stick.clone())));
            stick.base.retain(|(name, _)| name != "stuck");
            stick.base.push(("stuck".to_owned(), count.write()));
            stick.base.push(("again".to_owned(), batch.key.write()));
        }
        stick
    }

    /// Written after that act in one append; `draft` is that of the screen beneath, which is told once it is done.
    #[must_use]
    pub fn after(mut self, act: Act, draft: Option<String>) -> Self {
        self.first = Some(First { act, draft });
        self
    }

    /// With that text typed already.
    #[must_use]
    pub fn resumed(mut self, text: &str) -> Self {
        self.typing = TypedLine::new(text);
        self
    }

    fn typed(&self, common: &Common) -> Typed {
        let (trays, rest) = trays(self.typing.field.text().trim());
        Typed {
            trays,
            reading: read(&format!("stick {rest}"), common),
        }
    }

    /// What a mistyped word was meant for, for the key that takes it.
    fn meant(&self, command: Command, common: &Common) -> Option<MeantWord> {
        let asked = command == Command::Complete;
        let reading = asked.then(|| self.typed(common).reading);
        self.typing.meant(reading.as_ref())
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
        let last = last_tray_at(&place, common).map(Kind::write);
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

    fn accept(&mut self, common: &mut Common) -> Turn {
        let typed = self.typed(common);
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
            stick.batch.clear();
        }
        let new = NewEntry {
            kind: Kind::Stick(stick),
            note: entry.note,
        };
        let entries = vec![new; typed.trays as usize];
        let given = super::reading::note_cautions_given(&entries, common);
        let at = typed.reading.value("at").map(|_| entry.at);
        if self.first.is_some() && at.is_some() {
            common.say(Tone::Pressing, OF_ONE_MOMENT);
            return Turn::stay();
        }
        let act = self.mends.before(self.with_first(Act {
            at,
            entries,
            summary,
        }));
        Turn::effect(Effect::Record(act)).also(given)
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

    fn edited(&mut self, common: &Common) -> Turn {
        self.mends.drop_all();
        self.typing.offer(common);
        Turn::stay()
    }
}

/// Whether an entry is of today and of the person who is entering.
fn is_own_of_today(entry: &Entry, common: &Common) -> bool {
    let by = entry.by.as_deref().unwrap_or_default();
    entry.at.day() == common.today() && by == common.by.trim()
}

/// The last sticking of today at a place, whoever stuck it.
fn last_tray_at<'a>(place: &str, common: &'a Common) -> Option<&'a Kind> {
    let today = common.today();
    let entries = common.book.entries().iter().rev();
    let mut kinds = entries
        .skip_while(|standing| standing.entry.at.day() > today)
        .take_while(|standing| standing.entry.at.day() == today)
        .map(|standing| &standing.entry.kind);
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

impl Screen for StickScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Field
    }

    fn title(&self, common: &Common) -> String {
        match &common.vocabulary.next_code {
            Some(code) => format!("Stick {code}"),
            None => "Stick".to_owned(),
        }
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

    fn recorded(&mut self, _common: &mut Common, done: &SavedAct) -> Turn {
        match self.first {
            Some(_) => Turn::step(StackStep::Done(done.clone())),
            None => Turn::back(),
        }
    }

    fn refused(&mut self, _common: &Common, refusal: &Refusal) {
        self.mends.offer(refusal);
    }

    fn typed_text(&self) -> &str {
        self.typing.field.text()
    }

    fn draft(&self) -> Option<String> {
        let text = self.typing.field.text().trim();
        match &self.first {
            Some(First { draft, .. }) => Some(format!("{}\t{text}", draft.as_ref()?)),
            None => (!text.is_empty()).then(|| format!("stick\t{text}")),
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let mut row = 0;
        if common.is_low() {
            canvas.text(row, 0, &self.title(common), Tone::Heading);
            row += 1;
        }
        canvas.field(row, 0, &self.typing.field);
        row += 1;
        let typed = self.typed(common);
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
            Err(_) if self.base.is_empty() && self.typing.field.is_empty() => {}
            Err(wrong) => row = canvas.wrapped(row, 2, wrong, Tone::Pressing),
        }
        if self.base.is_empty() && self.typing.field.is_empty() {
            row = teach(row, canvas);
        }
        let doubts = typed.reading.doubts.iter();
        let doubts = doubts.filter(|doubt| !self.typing.has_on_offer(doubt));
        let told = doubts.map(LineProblem::sentence);
        for line in told.chain(ahead(&typed.reading, common)) {
            row = canvas.wrapped(row, 2, &line, Tone::Pressing);
        }
        row = super::typing::draw_meant(self.typing.meant([&typed.reading]).as_ref(), row, canvas);
        if let Some(First { act, draft }) = &self.first {
            let said = match (draft, act.summary.is_empty()) {
                (Some(draft), true) => super::drafts::words(draft, common),
                _ => act.summary.clone(),
            };
            row = canvas.wrapped(row, 2, &format!("Saved with it: {said}."), Tone::Plain);
        }
        row = self.mends.draw(row, 2, canvas);
        let due = super::reading::new_cautions(entry.iter().map(|entry| &entry.kind), common);
        row = super::reading::draw_cautions(&due, row, canvas);
        self.typing.draw_offers(row, canvas);
    }
}

/// The first sticking of a day, explained.
fn teach(row: usize, canvas: &mut Canvas<'_>) -> usize {
    let lines = [
        "Type how many, of what, then what you know, set off by commas:",
        "24 Weigela florida, semi-ripe, tip, iba 3000 talc, at bench A, mist",
        "The next tray today takes over all that you do not type anew.",
        "Backspace goes back, ? shows the keys, Ctrl-C leaves struck.",
    ];
    let each = lines.iter();
    each.fold(row, |row, line| canvas.wrapped(row, 2, line, Tone::Plain))
}
