//! The batches by how they began: what is known of each before its life is folded.

use super::lives::{Kinship, Lives};
use super::parts::in_parts;
use super::settle::Standing;
use crate::model::entry::Stick;
use crate::model::fault::Origin;
use crate::model::id::Id;
use crate::model::text::folded;
use chrono::NaiveDate;
use compact_str::CompactString;
use foldhash::HashMap;
use foldhash::fast::RandomState;
use hashbrown::HashTable;
use std::hash::BuildHasher;

/// A batch by its beginning.
#[derive(Clone, Debug)]
pub struct RosterRow {
    /// Its identity: the id of its stick, or of the move that made the part.
    pub key: Id,
    /// Its code as it stands.
    pub code: CompactString,
    /// The batch that it was split from.
    pub parent: Option<Id>,
    /// The name of its plant as typed.
    pub taxon: CompactString,
    /// The day of sticking.
    pub stuck_on: NaiveDate,
    /// Where the entry that began it was written.
    pub origin: Origin,
    pub(super) kinship: Kinship,
}

/// All batches, by day of sticking, then code, then id.
#[derive(Clone, Debug, Default)]
pub struct Roster {
    rows: Vec<RosterRow>,
    /// The numbers of the rows by their keys.
    by_key: HashTable<u32>,
    /// By the folded code the number of the first row that bears it.
    by_code: HashTable<u32>,
    /// By the folded code the others that do: mostly none.
    namesakes: HashMap<CompactString, Vec<usize>>,
    state: RandomState,
}

/// Fewer batches than this are not worth a thread.
const FEW: usize = 1024;

impl Roster {
    /// Lists the batches of these kinships.
    pub fn new(lives: &Lives, kinships: &[Kinship]) -> Self {
        let parts = in_parts(kinships, lives.threads, FEW, |_, part| {
            let rows = part.iter().filter_map(|of| RosterRow::new(lives, *of));
            rows.collect::<Vec<_>>()
        });
        let mut rows: Vec<RosterRow> = Vec::with_capacity(kinships.len());
        parts.into_iter().for_each(|part| rows.extend(part));
        rows.sort_by(|a, b| a.order().cmp(&b.order()));
        let mut roster = Self {
            rows,
            ..Self::default()
        };
        roster.number();
        roster
    }

    /// Notes under which keys and codes the rows are found.
    fn number(&mut self) {
        let (rows, state) = (&self.rows, &self.state);
        let by_key = |at: &u32| state.hash_one(&rows[*at as usize].key);
        let by_code = |at: &u32| state.hash_one(folded(&rows[*at as usize].code));
        self.by_key.reserve(rows.len(), by_key);
        self.by_code.reserve(rows.len(), by_code);
        // There are no more batches than lines, whose numbers are as wide.
        for (at, row) in (0..).zip(rows) {
            self.by_key.insert_unique(by_key(&at), at, by_key);
            let code = folded(&row.code);
            let hash = state.hash_one(&code);
            let is_held = |at: &u32| folded(&rows[*at as usize].code) == code;
            if self.by_code.find(hash, is_held).is_none() {
                self.by_code.insert_unique(hash, at, by_code);
            } else {
                let namesakes = self.namesakes.entry(code.into()).or_default();
                namesakes.push(at as usize);
            }
        }
    }

    /// The rows.
    pub fn rows(&self) -> &[RosterRow] {
        &self.rows
    }

    /// The row of the batch of that identity.
    pub fn row(&self, key: &Id) -> Option<usize> {
        let is_its = |at: &u32| self.rows[*at as usize].key == *key;
        let at = self.by_key.find(self.state.hash_one(key), is_its)?;
        Some(*at as usize)
    }

    /// The rows of the batches that bear a code, in their order. Case and spaces do not matter.
    pub fn bearing(&self, code: &str) -> impl DoubleEndedIterator<Item = usize> {
        let code = folded(code);
        let bears = |at: &u32| folded(&self.rows[*at as usize].code) == code;
        let first = self.by_code.find(self.state.hash_one(&code), bears);
        let others = self.namesakes.get(code.as_str()).into_iter().flatten();
        first
            .map(|at| *at as usize)
            .into_iter()
            .chain(others.copied())
    }

    /// Whether an earlier batch bears the code of a row's as well.
    pub fn is_namesake(&self, at: usize) -> bool {
        !self.namesakes.is_empty() && self.bearing(&self.rows[at].code).next() != Some(at)
    }

    /// The rows of the batches whose code an earlier one bears as well.
    pub fn bearing_anothers(&self) -> impl Iterator<Item = usize> {
        self.namesakes.values().flatten().copied()
    }
}

impl RosterRow {
    /// The row of a batch; nothing if no stick stands at the root of its family.
    fn new(lives: &Lives, kinship: Kinship) -> Option<Self> {
        let began = |member| lives.entries(Kinship { member, ..kinship }).next();
        let (birth, stuck): (&Standing, &Standing) = (began(kinship.member)?, began(0)?);
        let root = stuck.entry.get::<Stick>()?;
        let code = match kinship.member {
            0 => root.batch,
            _ => birth.entry.kind().code_begun()?.into(),
        };
        Some(Self {
            key: birth.entry.id.clone(),
            code,
            parent: lives.parent(kinship).cloned(),
            stuck_on: stuck.entry.at.day(),
            origin: birth.origin,
            taxon: root.taxon,
            kinship,
        })
    }

    fn order(&self) -> (NaiveDate, &str, &Id) {
        (self.stuck_on, &self.code, &self.key)
    }
}
