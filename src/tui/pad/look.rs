//! What the pad's text makes of a batch: the sum, its mends, the act to be written. It draws nothing.

use crate::app::mends::Mend;
use crate::app::whole_looks::taken_off;
use crate::fold::batch::{Batch, Event, Fall, Milestone};
use crate::fold::life::falls;
use crate::input::look_pad;
use crate::input::look_pad::{BOXES, PadCount, PadReading};
use crate::input::pad_tail::{self, PadText};
use crate::model::at::At;
use crate::model::composite::Set;
use crate::model::entry::{Amend, Discard, Entry, Kind, Look, Pot, Remark};
use crate::model::listed::{DiscardReason, LookMethod};
use crate::model::takes::Takes;
use crate::model::value::EntryFault;
use crate::model::value::{FieldType, Value};
use crate::tui::effect::{Act, NewEntry};
use chrono::{DateTime, FixedOffset, NaiveDate};

/// The pad's text read for a batch.
#[derive(Clone, Debug)]
pub struct PadLook<'a> {
    batch: &'a Batch,
    today: NaiveDate,
    typed: String,
    /// When it was looked at; nothing for now.
    pub at: Option<At>,
    /// What was noted with it.
    note: Option<String>,
    /// The look that this puts right; nothing for a new one.
    corrects: Option<&'a Event>,
    /// What was read.
    pub reading: PadReading,
    /// The rest was not looked at.
    pub unseen: bool,
    /// The number stuck is put right.
    pub more: bool,
}

impl<'a> PadLook<'a> {
    /// Reads the text, of a new look or as what an earlier one should have said.
    #[must_use]
    pub fn read(
        text: &str,
        batch: &'a Batch,
        now: DateTime<FixedOffset>,
        (unseen, more): (bool, bool),
        corrects: Option<&'a Event>,
    ) -> Self {
        let PadText { counts, at, note } = pad_tail::read(text, now);
        let today = now.date_naive();
        // What the earlier look took off stood on the bench before it.
        let remain = match (corrects, at) {
            (Some(event), _) => batch.counts.remain() + taken_off(&event.entry.kind(), batch),
            (None, Some(at)) => batch.remain_on(at.day()),
            (None, None) => batch.counts.remain(),
        };
        let reading = look_pad::read(counts, Some(remain), today);
        Self {
            batch,
            today,
            at,
            note: note.map(str::to_owned),
            typed: text.to_owned(),
            corrects,
            reading,
            unseen,
            more,
        }
    }

    /// How many more cuttings were counted than there should be; 0 when the sum fits.
    #[must_use]
    pub fn over(&self) -> u32 {
        let lacking = |left: Option<i64>| left.map_or(0, |left| (-left).max(0));
        let counted = lacking(self.reading.remainder());
        let taken = lacking(self.reading.left_on_bench());
        u32::try_from(counted.max(taken)).unwrap_or(u32::MAX)
    }

    /// How many are neither counted nor found dead; nothing if stages were only guessed or the sum is over.
    #[must_use]
    pub fn rest(&self) -> Option<u32> {
        u32::try_from(self.reading.remainder()?).ok()
    }

    /// What is wrong, in words, if anything is.
    #[must_use]
    pub fn wrong(&self) -> Option<String> {
        if let Some((span, why)) = self.reading.problems.first() {
            let what = self.typed.get(span.clone()).unwrap_or_default();
            return Some(format!("`{what}` {why}."));
        }
        if let (Some(how), [stage, ..]) = (self.reading.how, self.reading.untold().as_slice()) {
            return Some(look_pad::tells_nothing_of(how, stage));
        }
        if let Some(day) = self.day().filter(|day| *day > self.today) {
            return Some(format!("{} has yet to come.", day.format("%-d %b")));
        }
        let apart = self.reading.potted.is_some() || self.reading.rest.is_some();
        if self.corrects.is_some() && apart {
            return Some(
                "An amended look holds counts alone: pot or give up in an entry of its own."
                    .to_owned(),
            );
        }
        let over = self.over();
        (over > 0 && !self.more).then(|| {
            let remain = self.remain();
            format!(
                "You counted {}, but {remain} should be there: {over} too many. Count once more, or press = if more were stuck.",
                remain + over
            )
        })
    }

    /// The day of the look, if it was said.
    #[must_use]
    pub fn day(&self) -> Option<NaiveDate> {
        self.at.map(|at| at.day())
    }

    /// Cuttings on the bench before the look.
    #[must_use]
    pub fn remain(&self) -> u32 {
        self.reading.remain.unwrap_or(0)
    }

    /// The doubt that must be confirmed by a second Enter, in words; nothing if there is none.
    #[must_use]
    pub fn doubtful(&self) -> Option<String> {
        let doubts = [self.backwards(), self.potted_without_roots()];
        let doubts: Vec<String> = doubts.into_iter().flatten().collect();
        let told = doubts.join("; ");
        (!told.is_empty()).then(|| format!("{told}: Enter once more saves it so."))
    }

    /// More potted than this very look counts with roots, in words.
    fn potted_without_roots(&self) -> Option<String> {
        let potted = self.reading.potted?;
        let whole = self.is_tally() && !self.unseen && self.reading.about.is_empty();
        let rooted = ["rooted", "bottom"].map(|field| self.counted(field));
        let rooted = rooted.iter().sum::<u32>();
        (whole && potted > rooted)
            .then(|| format!("{potted} potted, but {rooted} counted with roots"))
    }

    /// How many are counted at a stage; 0 where none is typed.
    fn counted(&self, stage: &str) -> u32 {
        let each = BOXES.iter().zip(self.reading.boxes);
        let of =
            each.filter(|(one, _)| matches!(one.counts, PadCount::Stage(field) if field == stage));
        of.fold(0u32, |sum, (_, n)| sum.saturating_add(n.unwrap_or(0)))
    }

    /// What is counted backwards, in words, if anything is: a root once seen is not lost again but with its cutting.
    /// Only a count of all that are here tells; another look of today is put right by this one.
    fn backwards(&self) -> Option<String> {
        let is_late = self.day().is_some_and(|day| day < self.batch.last_day());
        if !self.is_tally() || self.corrects.is_some() || is_late {
            return None;
        }
        let Kind::Look(look) = self.look(self.over()).ok()?.kind else {
            return None;
        };
        let falls = falls(self.batch, &look, self.today);
        let Fall {
            milestone,
            expected,
            seen,
        } = falls.last()?;
        let what = match milestone {
            Milestone::Callus => "callused",
            Milestone::Root => "rooted",
            Milestone::Bottom => "with roots at the bottom",
        };
        Some(format!("{expected} were {what} or further, now {seen}"))
    }

    /// The entries that the pad writes, in one append.
    ///
    /// # Errors
    /// What is wrong, in words.
    pub fn act(&self) -> Result<Act, String> {
        if let Some(wrong) = self.wrong() {
            return Err(wrong);
        }
        let mut entries: Vec<NewEntry> = Vec::new();
        let over = self.over();
        if over > 0 {
            entries.push(self.amend_stuck(over));
        }
        if !self.reading.counts().is_empty() || self.reading.how.is_some() {
            let look = self.look(over).map_err(|fault| format!("{fault:?}"))?;
            entries.extend(match self.corrects {
                Some(event) => put_right(event, &look, self.at),
                None => Some(look),
            });
        }
        if let Some(count) = self.reading.potted {
            entries.push(NewEntry {
                kind: Kind::Pot(Box::new(Pot {
                    batch: self.batch.code.as_str().into(),
                    stick: Some(self.batch.key.clone()),
                    count,
                    container: None,
                    place: None,
                })),
                note: None,
            });
        }
        entries.extend(self.rest_leaves());
        self.note_down(&mut entries);
        if entries.is_empty() {
            return Err(match self.corrects {
                Some(_) => "Nothing is changed yet.".to_owned(),
                None => "Nothing is counted: y says that it was looked at all the same.".to_owned(),
            });
        }
        let summary = match self.corrects {
            Some(event) => format!(
                "look of {} amended: {}",
                event.entry.at.day().format("%-d %b"),
                self.sentence()
            ),
            None => self.sentence(),
        };
        Ok(Act {
            // A look put right keeps its own time, unless that was typed anew.
            at: self.at.filter(|_| self.corrects.is_none()),
            entries,
            summary,
        })
    }

    /// Puts the note to the first entry that says something of the batch; alone it is a remark.
    fn note_down(&self, entries: &mut Vec<NewEntry>) {
        let Some(note) = self.note.as_ref().filter(|_| self.corrects.is_none()) else {
            return;
        };
        let mut own = entries.iter_mut();
        match own.find(|new| new.kind.target().is_none()) {
            Some(new) => new.note = Some(note.clone()),
            None => entries.push(NewEntry {
                kind: Kind::Remark(Box::new(Remark {
                    batch: Some(self.batch.code.as_str().into()),
                    stick: Some(self.batch.key.clone()),
                    place: None,
                    again_on: None,
                })),
                note: Some(note.clone()),
            }),
        }
    }

    /// How many of the remaining cuttings leave the bench, and why; nothing if they are kept or none remain.
    #[must_use]
    pub fn leaving(&self) -> Option<(u32, DiscardReason)> {
        let why = self.reading.rest?;
        let left = self.reading.left_on_bench()? + i64::from(self.over());
        let left = u32::try_from(left).ok().filter(|left| *left > 0)?;
        Some((left, why))
    }

    fn rest_leaves(&self) -> Option<NewEntry> {
        let (count, why) = self.leaving()?;
        Some(NewEntry {
            kind: Kind::Discard(Box::new(Discard {
                batch: self.batch.code.as_str().into(),
                stick: Some(self.batch.key.clone()),
                count,
                from: None,
                why: Some(why),
            })),
            note: None,
        })
    }

    /// Amends the number that the batch began with.
    fn amend_stuck(&self, over: u32) -> NewEntry {
        let began = self.batch.stick.stuck.saturating_add(over);
        let amend = Mend::begun_with(self.batch, began).amend();
        NewEntry {
            kind: Kind::Amend(Box::new(amend)),
            note: None,
        }
    }

    fn look(&self, over: u32) -> Result<NewEntry, EntryFault> {
        let mut reading = self.reading.clone();
        reading.remain = reading.remain.map(|remain| remain + over);
        let mut fields: Vec<(String, Value)> = vec![
            ("kind".into(), Value::Text("look".into())),
            (
                "at".into(),
                At::Day(self.day().unwrap_or(self.today)).write(),
            ),
            ("batch".into(), self.batch.code.write()),
            ("stick".into(), self.batch.key.write()),
        ];
        let own = reading.look().into_iter();
        fields.extend(own.map(|(name, value)| (name.to_owned(), value)));
        if self.unseen {
            let seen = self.reading.staged().write();
            fields
                .iter_mut()
                .filter(|(name, _)| name == "seen")
                .for_each(|(_, held)| *held = seen.clone());
        }
        let entry = Entry::from_fields(fields, || self.batch.key.clone())?;
        Ok(NewEntry {
            kind: entry.kind,
            note: self.note.clone(),
        })
    }

    /// The look in words: `26-041: 4 rooted, 3 callused, 1 blackened; 14 nothing yet`.
    #[must_use]
    pub fn sentence(&self) -> String {
        let counted = BOXES.iter().zip(self.reading.boxes);
        let named = counted.filter_map(|(one, n)| Some((n?, one.label)));
        let mut parts: Vec<String> = named
            .filter(|(n, _)| *n > 0)
            .map(|(n, label)| format!("{n} {label}"))
            .collect();
        let guessed = self.reading.about.iter();
        parts.extend(guessed.map(|(stage, guess)| format!("{} {stage}", guess.word())));
        parts.extend(self.reading.how.map(|how| how.word().to_owned()));
        match (self.rest(), self.is_tally()) {
            (Some(rest), true) if self.unseen => parts.push(format!("{rest} not looked at")),
            (Some(rest), true) if rest > 0 => parts.push(format!("{rest} {}", self.bare())),
            _ => {}
        }
        parts.extend(self.reading.potted.map(|n| format!("{n} potted")));
        parts.extend(
            self.leaving()
                .map(|(n, why)| format!("{n} {}", why.word().replace('-', " "))),
        );
        parts.extend(
            self.reading
                .again_on
                .map(|day| format!("look again {}", day.format("%-d %b"))),
        );
        let at = self.at.map(|at| match at {
            At::Day(day) => day.format("on %-d %b").to_string(),
            At::Time(time) => time.format("on %-d %b %H:%M").to_string(),
        });
        parts.extend(at);
        parts.extend(self.note.as_deref().map(pad_tail::noted));
        format!("{}: {}", self.batch.code, parts.join(", "))
    }

    /// The word for cuttings that were looked at and not counted.
    #[must_use]
    pub fn bare(&self) -> &'static str {
        look_pad::bare(self.reading.how)
    }

    /// Whether stages were counted.
    fn is_tally(&self) -> bool {
        self.reading.boxes[..3].iter().any(Option::is_some)
    }
}

/// The batch's last look, if nothing was counted or taken off since: the one that the pad can put right.
#[must_use]
pub fn last_look(batch: &Batch) -> Option<&Event> {
    let counts = |event: &&Event| match event.entry.kind().takes() {
        Takes::Nothing => event.entry.is::<Look>(),
        Takes::Cuttings(_) | Takes::PlantsFromBench(_) | Takes::Part(_) | Takes::FromPots(_) => {
            true
        }
    };
    let last = batch.events.iter().rev().find(counts)?;
    last.entry.is::<Look>().then_some(last)
}

/// A look written as the pad's text, so that it can be amended; and whether only a part of the batch was looked at.
#[must_use]
pub fn as_typed(event: &Event, batch: &Batch) -> (String, bool) {
    let Some(look) = event.entry.get::<Look>() else {
        return (String::new(), false);
    };
    let about = look.about.unwrap_or_default();
    let stages = [
        ("rooted", look.rooted, about.rooted),
        ("callused", look.callused, about.callused),
        ("bottom", look.bottom, about.bottom),
    ];
    let mut parts: Vec<String> = Vec::new();
    for one in &BOXES {
        match one.counts {
            PadCount::Stage(field) => {
                let stage = stages.iter().find(|(name, ..)| *name == field);
                let (count, guess) =
                    stage.map_or((None, None), |(_, count, guess)| (*count, *guess));
                parts.extend(count.map(|n| format!("{n}{}", one.letter)));
                let sign = guess.and_then(|guess| {
                    let signs = look_pad::GUESSES.iter();
                    signs
                        .clone()
                        .find(|(_, is)| *is == guess)
                        .map(|(sign, _)| *sign)
                });
                parts.extend(sign.map(|sign| format!("{sign}{}", one.letter)));
            }
            PadCount::Lost(cause) => {
                let lost = look.lost.iter().flat_map(|lost| lost.each());
                let lost = lost.filter(|(is, _)| *is == cause);
                parts.extend(lost.map(|(_, n)| format!("{n}{}", one.letter)));
            }
        }
    }
    let how = look_pad::HOWS
        .iter()
        .find(|(_, how)| look.how == Some(*how));
    let usual = LookMethod::by_default(look.is_tally());
    let said = how.filter(|(_, how)| *how != usual || parts.is_empty());
    parts.extend(said.map(|(sign, _)| sign.to_string()));
    parts.extend(event.entry.note().map(pad_tail::noted));
    let part = look.seen.is_some_and(|seen| seen < batch.counts.remain());
    (parts.join(" "), part)
}

/// The amendment that makes a look say what the new one says; nothing if it says so already. When to look again
/// and its time stay unless they are typed anew.
fn put_right(event: &Event, look: &NewEntry, at: Option<At>) -> Option<NewEntry> {
    const KEPT: [&str; 3] = ["batch", "stick", "again_on"];
    let (old, new) = (event.entry.kind().write(), look.kind.write());
    let mut set: Set = Vec::new();
    set.extend(at.map(|at| ("at".to_owned(), at.write())));
    if look.note.as_deref() != event.entry.note() {
        let note = look.note.as_ref().map_or(Value::Null, FieldType::write);
        set.push(("note".to_owned(), note));
    }
    for (name, value) in &new {
        if !old.iter().any(|(own, held)| own == name && held == value)
            && !matches!(*name, "batch" | "stick")
        {
            set.push(((*name).to_owned(), value.clone()));
        }
    }
    for (name, _) in &old {
        if !KEPT.contains(name) && new.iter().all(|(own, _)| own != name) {
            set.push(((*name).to_owned(), Value::Null));
        }
    }
    let kind = Kind::Amend(Box::new(Amend {
        target: event.entry.id.clone(),
        set: set.clone(),
    }));
    (!set.is_empty()).then_some(NewEntry { kind, note: None })
}
