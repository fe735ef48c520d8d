//! The batches by how they began: what is known of each before its life is folded.

use super::lives::{Kinship, Lives};
use super::parts::in_parts;
use super::settle::Standing;
use crate::model::entry::{Kind, Stick};
use crate::model::fault::Origin;
use crate::model::id::Id;
use crate::model::text::folded;
use chrono::NaiveDate;
use compact_str::CompactString;
use foldhash::HashMap;
use std::sync::Arc;

/// A batch by its beginning.
#[derive(Clone, Debug)]
pub struct RosterRow {
    /// Its identity: the id of its stick, or of the move that made the part.
    pub key: Id,
    /// Its code as it stands.
    pub code: CompactString,
    /// The batch that it was split from.
    pub parent: Option<Id>,
    /// The facts at the sticking that it goes back to.
    pub root: Arc<Stick>,
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
    by_key: HashMap<Id, usize>,
    /// By the folded code the first that bears it.
    by_code: HashMap<CompactString, usize>,
    /// By the folded code the others that do: mostly none.
    namesakes: HashMap<CompactString, Vec<usize>>,
}

/// Fewer batches than this are not worth a thread.
const FEW: usize = 1024;

impl Roster {
    /// Lists the batches of these kinships.
    pub fn new(lives: &Lives, kinships: &[Kinship]) -> Self {
        let parts = in_parts(kinships, lives.threads, FEW, |_, part| {
            let rows = part.iter().filter_map(|of| RosterRow::new(lives, *of));
            let rows = rows.map(|row| (CompactString::from(folded(&row.code)), row));
            rows.collect::<Vec<_>>()
        });
        let mut rows: Vec<(CompactString, RosterRow)> = parts.into_iter().flatten().collect();
        rows.sort_by(|(_, a), (_, b)| a.order().cmp(&b.order()));
        let mut roster = Self::default();
        roster.rows.reserve(rows.len());
        roster.by_key.reserve(rows.len());
        roster.by_code.reserve(rows.len());
        for (at, (code, row)) in rows.into_iter().enumerate() {
            roster.by_key.insert(row.key.clone(), at);
            roster.rows.push(row);
            match roster.by_code.get(&code) {
                None => {
                    roster.by_code.insert(code, at);
                }
                Some(_) => roster.namesakes.entry(code).or_default().push(at),
            }
        }
        roster
    }

    /// The rows.
    pub fn rows(&self) -> &[RosterRow] {
        &self.rows
    }

    /// The row of the batch of that identity.
    pub fn row(&self, key: &Id) -> Option<usize> {
        self.by_key.get(key).copied()
    }

    /// The rows of the batches that bear a code, in their order. Case and spaces do not matter.
    pub fn bearing(&self, code: &str) -> impl DoubleEndedIterator<Item = usize> {
        let code = folded(code);
        let first = self.by_code.get(code.as_str()).into_iter();
        let others = self.namesakes.get(code.as_str()).into_iter().flatten();
        first.chain(others).copied()
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
        let root = match &stuck.entry.kind {
            Kind::Stick(stick) => Arc::clone(stick),
            _ => return None,
        };
        Some(Self {
            key: birth.entry.id.clone(),
            code: birth.entry.kind.code_begun()?.into(),
            parent: lives.parent(kinship).cloned(),
            stuck_on: stuck.entry.at.day(),
            origin: birth.origin,
            root,
            kinship,
        })
    }

    fn order(&self) -> (NaiveDate, &str, &Id) {
        (self.stuck_on, &self.code, &self.key)
    }
}
