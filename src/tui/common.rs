//! What all screens share: the journal as it stands, the day, the room, who is entering. No screen's own state.

use super::canvas::{Ink, Tone};
use super::effect::{Act, Effect, NewEntry, SAVED_DRAFT, Snapshot};
use super::effect::{Awaited, GoOn, Query};
use super::keys::Command;
use crate::analysis::expect::Model;
use crate::app::memory::{GivenCaution, Memory};
use crate::fold::Book;
use crate::fold::settle::Standing;
use crate::input::bench_line::Vocabulary;
use crate::model::entry::{Kind, Withdraw};
use crate::model::filter::Filter;
use crate::model::id::Id;
use crate::text::clean::width;
use crate::text::dates::Calendar;
use crate::text::faults::going_with;
use chrono::{DateTime, FixedOffset, NaiveDate};
use std::collections::BTreeSet;
use std::fmt;
use std::sync::{Arc, OnceLock};

/// The order of the bench.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum BenchOrder {
    /// Failing, late, due first.
    #[default]
    Deciding,
    /// By place and spot, else by code.
    Walking,
}

/// A line or two to the user, until the next key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// How pressing it is.
    pub meaning: Tone,
    /// Its lines; the last ones are remedies.
    pub lines: Vec<String>,
}

impl Notice {
    /// A note of these lines.
    #[must_use]
    pub fn new(meaning: Tone, lines: Vec<String>) -> Self {
        Self { meaning, lines }
    }

    /// A note of one line.
    #[must_use]
    pub fn line(meaning: Tone, line: impl Into<String>) -> Self {
        Self::new(meaning, vec![line.into()])
    }
}

/// Something that is done once the same key is pressed again.
#[derive(Debug)]
pub struct Confirmation {
    /// The command whose key confirms it.
    pub command: Command,
    /// What is then done.
    pub effect: Effect,
}

/// An act of this sitting, for undo.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SavedAct {
    /// Its entries.
    pub ids: Vec<Id>,
    /// What they say, in words.
    pub summary: String,
    /// Who entered them.
    pub by: String,
}

/// An entry that an earlier sitting left unfinished.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unfinished {
    /// The entry as the draft keeps it, without its owner.
    pub draft: String,
    /// Who was entering it; nothing if the draft does not say.
    pub owner: Option<String>,
    /// What it is about, in words.
    pub words: String,
}

/// What is said while drafts cannot be kept.
const UNKEPT: &str = "What you type cannot be kept: if the link breaks, it is lost.";

/// A journal, its words and what it teaches, held only so that they can be given back elsewhere.
#[derive(Debug)]
pub struct JournalHold {
    _book: Arc<Book>,
    _vocabulary: Arc<Vocabulary>,
    _learned: Arc<OnceLock<Arc<Model>>>,
}

/// What all screens share.
#[derive(Debug)]
pub struct Common {
    /// The journal as it stands.
    pub book: Arc<Book>,
    /// Its own words.
    pub vocabulary: Arc<Vocabulary>,
    /// The names of its files, by their numbers.
    pub files: Arc<[String]>,
    /// Counts the changes of the journal and of the day since the start. Figures of an earlier edition are stale.
    pub edition: u64,
    /// What the journal teaches as of today, learned once, by the first question that needs it.
    learned: Arc<OnceLock<Arc<Model>>>,
    /// The time now, with the place's offset.
    pub now: DateTime<FixedOffset>,
    /// Columns and rows of the terminal.
    pub size: (u16, u16),
    /// What there is to draw with.
    pub ink: Ink,
    /// Who is entering; empty if not said.
    pub by: String,
    /// The order of the bench.
    pub order: BenchOrder,
    /// The filter that stays while moving between screens.
    pub filter: Filter,
    /// What is said to the user until the next key.
    pub note: Option<Notice>,
    /// Codes just given, shown large until the next key, for writing the labels.
    pub labels: Vec<String>,
    /// What the same key again will do.
    pub asked: Option<Confirmation>,
    /// The acts of this sitting, oldest first, whoever entered them.
    pub sitting: Vec<SavedAct>,
    /// Whether an act was undone just now: a key held down must not undo the next.
    pub undone: bool,
    /// When this sitting began.
    pub began: DateTime<FixedOffset>,
    /// Cautions given: the day, the person, which.
    pub cautioned: BTreeSet<GivenCaution>,
    /// The unfinished entry of an earlier sitting, until it is taken up or dropped.
    pub offered: Option<Unfinished>,
    /// Says in a sentence which part of the journal cannot be read now; nothing if all can.
    pub unread: Option<String>,
    /// Whether what is typed could not be kept for a sitting that is cut off.
    pub is_draft_unkept: bool,
    /// What was left out of a paste that did not fit, until the person has agreed to save the rest.
    pub cut_paste: Option<CutPaste>,
}

/// A paste that did not fit into its field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CutPaste {
    /// Characters that were pasted.
    pub pasted: usize,
    /// Characters that fit.
    pub taken: usize,
}

impl CutPaste {
    /// The warning in a sentence, with what the next Enter does.
    #[must_use]
    pub fn sentence(self) -> String {
        let Self { pasted, taken } = self;
        format!(
            "Only {taken} of the {pasted} characters pasted fit. Enter once more saves them alone."
        )
    }
}

/// What the terminal program starts from.
#[derive(Debug)]
pub struct Start {
    /// The journal as it stands.
    pub snapshot: Snapshot,
    /// The time now.
    pub now: DateTime<FixedOffset>,
    /// Columns and rows.
    pub size: (u16, u16),
    /// What there is to draw with.
    pub ink: Ink,
    /// Who is at the terminal; empty if not known.
    pub user: String,
    /// What an earlier sitting left.
    pub memory: Memory,
}

impl Common {
    /// The open batch that bears this whole code, if there is one.
    #[must_use]
    pub fn open_batch(&self, code: &str) -> Option<Id> {
        let mut bearers = self.book.by_code(code.trim()).rev();
        bearers
            .find(|batch| batch.is_open())
            .map(|batch| batch.key.clone())
    }

    /// The shared state at the start.
    #[must_use]
    pub fn new(start: Start) -> Self {
        Self {
            book: start.snapshot.book,
            vocabulary: start.snapshot.vocabulary,
            files: start.snapshot.files,
            unread: start.snapshot.unread,
            is_draft_unkept: false,
            cut_paste: None,
            edition: 0,
            learned: Arc::default(),
            now: start.now,
            began: start.now,
            undone: false,
            size: start.size,
            ink: start.ink,
            by: if start.memory.by.is_empty() {
                start.user
            } else {
                start.memory.by
            },
            order: if start.memory.walking {
                BenchOrder::Walking
            } else {
                BenchOrder::Deciding
            },
            filter: Filter::default(),
            note: None,
            labels: Vec::new(),
            asked: None,
            sitting: Vec::new(),
            cautioned: start.memory.cautioned,
            offered: None,
        }
    }

    /// All that the screens share of the journal as it is now. Of a long one that nothing shows any more it takes long to
    /// give this back.
    #[must_use]
    pub fn hold(&self) -> JournalHold {
        JournalHold {
            _book: Arc::clone(&self.book),
            _vocabulary: Arc::clone(&self.vocabulary),
            _learned: Arc::clone(&self.learned),
        }
    }

    /// Begins a new edition: the journal or the day has changed.
    pub fn turn_over(&mut self) {
        self.edition += 1;
        self.learned = Arc::default();
    }

    /// Asks for figures of the journal as it stands, off the input path, unless just this was asked before. The
    /// topic is one word; `rest` is all that the answer depends on besides the journal and the day.
    pub fn ask<T: Send + 'static>(
        &self,
        awaited: &mut Awaited,
        topic: &str,
        rest: impl fmt::Debug,
        work: impl Fn(&Book, GoOn<'_>) -> Option<T> + Send + 'static,
    ) -> Option<Effect> {
        let key = format!("{topic} {} {rest:?}", self.edition);
        let question = || Effect::Ask(Query::new(key.clone(), &self.book, work));
        awaited.turn_to(&key).then(question)
    }

    /// What the journal teaches as of today, for the work of a question: learned once, whoever asks first.
    pub fn model(&self) -> impl Fn(&Book) -> Arc<Model> + Send + use<> {
        let (learned, today) = (Arc::clone(&self.learned), self.today());
        move |book| {
            let learn = || Arc::new(Model::learn(book, today, &[]));
            Arc::clone(learned.get_or_init(learn))
        }
    }

    /// How days are shown.
    #[must_use]
    pub fn calendar(&self) -> Calendar {
        Calendar::for_book(&self.book, self.today())
    }

    /// The entries of a day but climate lines, in fold order: found without a walk through all there are.
    #[must_use]
    pub fn entries_of(&self, day: NaiveDate) -> &[Standing] {
        let all = self.book.entries();
        let day_of = |standing: &Standing| standing.entry.at.day();
        let first = all.partition_point(|standing| day_of(standing) < day);
        let rest = &all[first..];
        &rest[..rest.partition_point(|standing| day_of(standing) <= day)]
    }

    /// The day today.
    #[must_use]
    pub fn today(&self) -> NaiveDate {
        self.now.date_naive()
    }

    /// Whether the screen is so low that there is no heading and one line to a batch.
    #[must_use]
    pub fn is_low(&self) -> bool {
        self.size.1 < 16
    }

    /// Rows that a screen has for itself; a note covers the last of them and moves none.
    #[must_use]
    pub fn body(&self) -> usize {
        let heading = usize::from(!self.is_low());
        let above = usize::from(self.is_narrowed()) + self.offered_rows() + self.alarms().count();
        let taken = heading + above + 1;
        usize::from(self.size.1).saturating_sub(taken).max(1)
    }

    /// What is wrong with the journal or the drafts, a line each, on every screen while it lasts.
    pub fn alarms(&self) -> impl Iterator<Item = &str> {
        let unkept = self.is_draft_unkept.then_some(UNKEPT);
        self.unread.as_deref().into_iter().chain(unkept)
    }

    /// Says what an earlier sitting left unfinished, or saved without showing that it was saved.
    #[must_use]
    pub fn offer(&self) -> Option<String> {
        let offered = self.offered.as_ref()?;
        let other = offered.owner.as_ref().filter(|owner| **owner != self.by);
        let by = other.map_or_else(String::new, |owner| format!(" by {owner}"));
        Some(match self.is_offer_saved() {
            true => format!("Saved before it broke off{by}: {}", offered.words),
            false => format!("Left unfinished{by}: {}", offered.words),
        })
    }

    /// Whether the offered draft turned out to be in the journal. It can then be amended, and need not be entered.
    #[must_use]
    pub fn is_offer_saved(&self) -> bool {
        let draft = self.offered.as_ref().map(|offered| offered.draft.as_str());
        draft.and_then(|draft| draft.split('\t').next()) == Some(SAVED_DRAFT)
    }

    /// The keys of the offer: in full, and in few words.
    #[must_use]
    pub fn offer_keys(&self) -> [&'static str; 2] {
        match self.is_offer_saved() {
            true => ["z amends it, x leaves it as it is.", "z amends, x leaves"],
            false => ["z goes on with it, x drops it.", "z goes on, x drops"],
        }
    }

    /// Rows that the offer takes: with its keys on one row, or apart where it is long.
    #[must_use]
    pub fn offered_rows(&self) -> usize {
        let columns = usize::from(self.size.0);
        let fits = |words: String| width(&words) + 2 + width(self.offer_keys()[1]) <= columns;
        self.offer()
            .map_or(0, |words| if fits(words) { 1 } else { 2 })
    }

    /// Whether only some batches are meant.
    #[must_use]
    pub fn is_narrowed(&self) -> bool {
        self.filter != Filter::default()
    }

    /// Who is entering, in a word that is never empty.
    #[must_use]
    pub fn who(&self) -> &str {
        if self.by.is_empty() {
            "someone"
        } else {
            &self.by
        }
    }

    /// The position in `sitting` of the last act by the person who is entering.
    #[must_use]
    pub fn last_own_act(&self) -> Option<usize> {
        self.sitting.iter().rposition(|act| act.by == self.by)
    }

    /// What the next sitting is to know.
    #[must_use]
    pub fn memory(&self) -> Memory {
        Memory {
            by: self.by.clone(),
            walking: self.order == BenchOrder::Walking,
            cautioned: self.cautioned.clone(),
        }
    }

    /// Says something until the next key.
    pub fn say(&mut self, meaning: Tone, line: impl Into<String>) {
        self.note = Some(Notice::line(meaning, line));
    }

    /// Says what the same key would do if it were pressed again. Any other key drops the question.
    pub fn confirm(&mut self, command: Command, effect: Effect, line: String) {
        self.say(Tone::Pressing, line);
        self.asked = Some(Confirmation { command, effect });
    }

    /// Asks to withdraw an entry, or to settle a damaged line, by its id; `summary` says in words which one it is.
    pub fn confirm_withdrawal(&mut self, target: Id, summary: &str) {
        let others = going_with(self.book.going_with(&target));
        let others = others.map_or_else(String::new, |others| format!("; with it {others}"));
        let withdraw = NewEntry {
            kind: Kind::Withdraw(Box::new(Withdraw {
                target,
                reason: None,
            })),
            note: None,
        };
        let effect = Effect::Record(Act {
            at: None,
            entries: vec![withdraw],
            summary: format!("withdrawn: {summary}"),
        });
        let line = format!("Press ! once more to withdraw: {summary}{others}");
        self.confirm(Command::Withdraw, effect, line);
    }
}
