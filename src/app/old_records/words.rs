//! Words of old records read as the bench line reads them, and names that come near those of the journal.

use crate::input::bench_line::{self, Now, Vocabulary};
use crate::input::fuzzy;
use crate::input::records::columns::RecordRole;
use crate::input::records::mapping::UnsettledWord;
use crate::input::records::recorded::RecordedBatch;
use crate::model::value::Value;
use std::collections::{BTreeSet, HashMap};

/// Letters by which a new name may differ from one of the journal and still be asked about.
const NEAR: usize = 3;

/// The fields that a cell says; nothing if it is not understood.
type CellFields = Option<Vec<(String, Value)>>;

/// Reads cells into fields as the bench line reads phrases, each distinct word once.
pub(super) struct CellReader<'a> {
    known: &'a Vocabulary,
    now: chrono::DateTime<chrono::FixedOffset>,
    read: HashMap<(RecordRole, String), CellFields>,
    pub(super) unsettled: BTreeSet<UnsettledWord>,
}

impl<'a> CellReader<'a> {
    pub(super) fn new(known: &'a Vocabulary, now: chrono::DateTime<chrono::FixedOffset>) -> Self {
        Self {
            known,
            now,
            read: HashMap::new(),
            unsettled: BTreeSet::new(),
        }
    }

    pub(super) fn fields(&mut self, role: RecordRole, words: &str) -> Option<Vec<(String, Value)>> {
        let key = (role, words.to_owned());
        if let Some(fields) = self.read.get(&key) {
            return fields.clone();
        }
        let fields = self.read_once(role, words);
        self.read.insert(key, fields.clone());
        fields
    }

    fn read_once(&mut self, role: RecordRole, words: &str) -> Option<Vec<(String, Value)>> {
        let free = |field: &'static str| {
            let spelt = self
                .known
                .spelling(field, words)
                .unwrap_or_else(|| words.to_owned());
            Some(vec![(field.to_owned(), Value::Text(spelt))])
        };
        match role {
            RecordRole::Medium => free("medium"),
            RecordRole::Place => free("place"),
            RecordRole::Container => free("container"),
            RecordRole::Source => free("source"),
            _ => {
                let fields = self.as_phrase(role, words);
                if fields.is_none() {
                    let word = words.to_owned();
                    self.unsettled.insert(UnsettledWord {
                        role,
                        word,
                        nearest: None,
                    });
                }
                fields
            }
        }
    }

    /// A wood stage, hormone or cover, in the words that the bench line understands.
    fn as_phrase(&self, role: RecordRole, words: &str) -> Option<Vec<(String, Value)>> {
        let wanted = match role {
            RecordRole::Wood => "wood",
            RecordRole::Hormone => "hormone",
            RecordRole::Cover => "cover",
            _ => return None,
        };
        // A comma or a quote would end the phrase.
        if words.contains(['"', '\n']) || words.contains(", ") {
            return None;
        }
        let offset = *self.now.offset();
        let offset_at = move |_| offset;
        let now = Now {
            at: self.now,
            offset_at: &offset_at,
        };
        let reading = bench_line::read(&format!("stick 1 Salix, {words}"), self.known, &now);
        let fields: Vec<(String, Value)> = reading
            .fields
            .iter()
            .filter(|(name, _)| !matches!(name.as_str(), "stuck" | "taxon"))
            .cloned()
            .collect();
        let is_read = reading.problems.is_empty() && fields.iter().any(|(name, _)| name == wanted);
        is_read.then_some(fields)
    }
}

/// Plants and places of the table that are near one of the journal's without being it.
pub(super) fn near_names(batches: &[RecordedBatch], known: &Vocabulary) -> BTreeSet<UnsettledWord> {
    let mut near = BTreeSet::new();
    let mut add = |role, field: &'static str, name: &str| {
        let held: Vec<&str> = known.texts(field).iter().map(String::as_str).collect();
        let is_alias = field == "taxon" && known.spelling("alias", name).is_some();
        if held.is_empty() || is_alias || known.spelling(field, name).is_some() {
            return;
        }
        if let Some(nearest) = fuzzy::nearest_within(name, &held, NEAR) {
            let (word, nearest) = (name.to_owned(), Some(nearest.to_owned()));
            near.insert(UnsettledWord {
                role,
                word,
                nearest,
            });
        }
    };
    let plants: BTreeSet<&str> = batches.iter().map(|batch| batch.taxon.as_str()).collect();
    for plant in plants {
        add(RecordRole::Plant, "taxon", plant);
    }
    let is_place = |(name, _): &&(String, Value)| name == "place";
    let places = batches
        .iter()
        .filter_map(|batch| batch.facts.iter().find(is_place)?.1.text());
    for place in places.collect::<BTreeSet<&str>>() {
        add(RecordRole::Place, "place", place);
    }
    near
}
