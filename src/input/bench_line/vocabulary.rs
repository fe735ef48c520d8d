//! What the journal already holds, as far as the reading of a line needs it. It reads no journal itself.

use super::split::{digits, fold};
use crate::fold::Book;
use crate::input::when;
use crate::input::when::{DayLean, NotADay};
use crate::model::at::At;
use crate::model::id::Id;
use crate::model::listed::Units;
use crate::model::value::Value;
use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime};
use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, OnceLock};

/// A batch that lines may name.
#[derive(Clone, Debug, PartialEq)]
pub struct VocabularyBatch {
    /// Its code, as `26-041`.
    pub code: String,
    /// Its identity: the id of its stick, or of the move that made it.
    pub key: Id,
    /// Its taxon, for showing.
    pub taxon: String,
}

/// What the journal already holds.
#[derive(Clone, Debug)]
pub struct Vocabulary {
    /// The nursery's year, which a short code means, as 2026.
    pub season: i32,
    /// The code that the next batch will get, for showing; the caller allots it.
    pub next_code: Option<String>,
    /// What a temperature without its unit is in (and, with F, a length in inches).
    pub units: Units,
    /// Shared with the vocabulary of a longer journal that has the same.
    batches: Arc<KnownBatches>,
    /// The journal itself, which is asked for the kind of an entry that an amend names.
    pub book: Arc<Book>,
    /// Texts in the journal by field, in the order learned.
    texts: BTreeMap<&'static str, Texts>,
}

/// The batches that lines may name.
#[derive(Clone, Debug, Default)]
struct KnownBatches {
    /// Oldest first.
    list: Vec<VocabularyBatch>,
    /// Where they stand, once one was asked for.
    index: OnceLock<BatchIndex>,
}

/// Where the last batch of each code, in small letters, and that of each identity stand.
#[derive(Clone, Debug, Default)]
struct BatchIndex {
    by_code: HashMap<String, usize>,
    by_key: HashMap<Id, usize>,
}

/// Texts of one field.
#[derive(Clone, Debug, Default)]
struct Texts {
    /// As the journal spells them, in the order learned.
    spelt: Vec<String>,
    /// Where the first stands of those that are alike once evened out.
    places: HashMap<String, usize>,
}

/// The fields with a free text of which the journal may hold the like already: a typed one may be a slip for one of those.
pub const NAMED_FIELDS: [&str; 9] = [
    "taxon",
    "place",
    "medium",
    "container",
    "source",
    "trial",
    "arm",
    "by",
    "with",
];

/// The fields whose texts are recognised without their first word, in order of precedence.
pub(super) const TEXT_FIELDS: [&str; 6] = ["place", "medium", "container", "source", "trial", "by"];

impl Vocabulary {
    /// An empty journal in its season.
    #[must_use]
    pub fn new(season: i32) -> Self {
        Self {
            season,
            next_code: None,
            units: Units::C,
            batches: Arc::default(),
            book: Arc::default(),
            texts: BTreeMap::new(),
        }
    }

    /// Notes batches that lines may name, oldest first: of several with one code the last is meant.
    pub fn add_batches(&mut self, batches: impl IntoIterator<Item = VocabularyBatch>) {
        let known = Arc::make_mut(&mut self.batches);
        known.list.extend(batches);
        known.index = OnceLock::new();
    }

    /// Notes the very batches of another vocabulary.
    pub fn share_batches(&mut self, of: &Self) {
        self.batches = Arc::clone(&of.batches);
    }

    /// The batches that lines may name, oldest first.
    #[must_use]
    pub fn batches(&self) -> &[VocabularyBatch] {
        &self.batches.list
    }

    fn index(&self) -> &BatchIndex {
        self.batches.index.get_or_init(|| {
            let mut index = BatchIndex::default();
            for (at, batch) in self.batches.list.iter().enumerate() {
                index.by_code.insert(batch.code.to_ascii_lowercase(), at);
                index.by_key.insert(batch.key.clone(), at);
            }
            index
        })
    }

    /// The batch of that identity.
    #[must_use]
    pub fn batch_of_key(&self, key: &Id) -> Option<&VocabularyBatch> {
        self.batches().get(*self.index().by_key.get(key)?)
    }

    /// Notes a text that the journal holds in a field (`taxon`, `place`, `medium`, `container`, `source`, `by` …).
    pub fn learn(&mut self, field: &'static str, text: &str) {
        let Texts { spelt, places } = self.texts.entry(field).or_default();
        let alike = places.entry(fold(text)).or_insert(spelt.len());
        if !spelt[*alike..].iter().any(|one| one == text) {
            spelt.push(text.to_owned());
        }
    }

    /// The texts that the journal holds in a field.
    #[must_use]
    pub fn texts(&self, field: &str) -> &[String] {
        self.texts.get(field).map_or(&[], |held| &held.spelt)
    }

    /// The journal's own spelling of a text in a field, if it holds it; a place may carry a spot after `/`.
    #[must_use]
    pub fn spelling(&self, field: &str, text: &str) -> Option<String> {
        self.spelling_of(field, text, &fold(text))
    }

    /// As [`Vocabulary::spelling`], of a text that was evened out already.
    pub(super) fn spelling_of(&self, field: &str, text: &str, folded: &str) -> Option<String> {
        let held = self.texts.get(field)?;
        let spelt = |folded: &str| Some(&held.spelt[*held.places.get(folded)?]);
        if let Some(one) = spelt(folded) {
            return Some(one.clone());
        }
        let (bench, spot) = text.split_once('/').filter(|_| field == "place")?;
        spelt(&fold(bench)).map(|one| format!("{one}/{}", spot.trim()))
    }

    /// The batch that a typed code means: full (`26-041`, `26-k041`), or short (`041`, `41`, `k41`) for this season's.
    #[must_use]
    pub fn batch(&self, typed: &str) -> Option<&VocabularyBatch> {
        let bears = |code: &str| {
            let at = self.index().by_code.get(&code.to_ascii_lowercase())?;
            self.batches().get(*at)
        };
        bears(typed).or_else(|| bears(&self.full_code(typed)?))
    }

    /// A typed code in full: the season's year before a short one, the number in three digits.
    /// Nothing if it is not shaped like a code.
    #[must_use]
    pub fn full_code(&self, typed: &str) -> Option<String> {
        let (year, rest) = match typed.split_once('-') {
            Some((year, rest)) if year.len() == 2 && digits(year) => (year.to_owned(), rest),
            Some(_) => return None,
            None => (format!("{:02}", self.season.rem_euclid(100)), typed),
        };
        let first = rest.chars().next()?;
        let letter = first.is_ascii_alphabetic().then_some(first);
        let number = &rest[letter.map_or(0, char::len_utf8)..];
        if !digits(number) || number.len() > 6 {
            return None;
        }
        let letter = letter.map_or(String::new(), |l| l.to_ascii_lowercase().to_string());
        Some(format!(
            "{year}-{letter}{:0>3}",
            number.trim_start_matches('0')
        ))
    }
}

/// The moment of reading, with the offsets of the place.
#[derive(Clone, Copy)]
pub struct Now<'a> {
    /// The present moment.
    pub at: DateTime<FixedOffset>,
    /// The offset in force at a local time.
    pub offset_at: &'a dyn Fn(NaiveDateTime) -> FixedOffset,
}

impl Now<'_> {
    /// Reads a day or time, leaning to the past or the future where a year or week is left out.
    pub(super) fn read(&self, text: &str, lean: DayLean) -> Result<At, NotADay> {
        when::read(text, self.at, lean, self.offset_at)
    }

    /// The day.
    pub(super) fn today(&self) -> NaiveDate {
        self.at.naive_local().date()
    }
}

/// What every reader of a phrase is given.
#[derive(Clone, Copy)]
pub(super) struct LineContext<'a> {
    /// The kind of entry being said.
    pub kind: &'static str,
    /// What the journal holds.
    pub known: &'a Vocabulary,
    /// The moment.
    pub now: &'a Now<'a>,
}

/// Fields with their values, or what was wanted instead.
pub(super) type PhraseFields = Result<Vec<(&'static str, Value)>, String>;

/// One field said.
pub(super) fn say(field: &'static str, value: Value) -> PhraseFields {
    Ok(vec![(field, value)])
}
