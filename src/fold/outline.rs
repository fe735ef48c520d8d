//! One walk over all that stands: what each entry means to the batches, and which name something first. What comes after goes
//! by that, since walking over the entries themselves takes most of its time in waiting for memory.

use super::parts::in_parts;
use super::settle::Standing;
use crate::model::entry::Kind;
use crate::model::takes::Takes;
use chrono::NaiveDate;
use compact_str::CompactString;
use foldhash::{HashMap, HashSet};

/// What an entry means to the batches.
#[derive(Clone, Copy, Debug)]
pub struct OutlineRow {
    /// Its day.
    pub day: NaiveDate,
    /// How it names the batch that it is about.
    pub named: Named,
    /// What it does.
    pub meaning: Meaning,
}

/// How an entry names its batch.
#[derive(Clone, Copy, Debug)]
pub enum Named {
    /// By the id of its stick, in sixteen bytes.
    Stick([u8; 16]),
    /// In another way: the entry itself must be asked.
    Otherwise,
}

/// What an entry does to batches.
#[derive(Clone, Copy, Debug)]
pub enum Meaning {
    /// It begins a batch of so many cuttings, so many to a plant.
    Begins {
        /// Cuttings stuck.
        stuck: u32,
        /// Cuttings to one finished plant, at least 1.
        per_plant: u32,
    },
    /// It makes a part of so many cuttings.
    Parts(u32),
    /// It is about a batch, and takes this from it.
    Takes(Takes),
    /// It names no batch.
    Nothing,
}

/// What the walk found.
pub struct Outline {
    /// The rows of all entries, in some parts that follow one another.
    rows: Vec<Vec<OutlineRow>>,
    /// The numbers of the entries that state facts, or are the first to name something: all others need not be read for
    /// what the journal knows by name.
    pub speakers: Vec<u32>,
}

impl Outline {
    /// The rows of all entries, each with its entry's number.
    pub fn rows(&self) -> impl Iterator<Item = (u32, OutlineRow)> {
        (0..).zip(self.rows.iter().flatten().copied())
    }
}

/// Fewer entries than this are not worth a thread.
const FEW: usize = 4096;

/// Walks over all entries that stand, on so many threads.
pub fn outline(standing: &[Standing], threads: usize) -> Outline {
    let parts = in_parts(standing, threads, FEW, |_, part| {
        let (mut rows, mut speakers) = (Vec::with_capacity(part.len()), Vec::new());
        let (mut named, mut last_by) = (NamesMet::default(), None);
        for (at, standing) in (0..).zip(part) {
            let kind = standing.entry.kind();
            // Mostly the one who made the entry before.
            let by = standing.entry.by().filter(|by| last_by != Some(*by));
            last_by = by.or(last_by);
            if speaks(&kind, by, &mut named) {
                speakers.push(at);
            }
            rows.push(OutlineRow::new(standing, &kind));
        }
        (rows, speakers)
    });
    let mut out = Outline {
        rows: Vec::with_capacity(parts.len()),
        speakers: Vec::new(),
    };
    let mut before = 0;
    for (rows, speakers) in parts {
        out.speakers
            .extend(speakers.iter().map(|at: &u32| before + at));
        before += u32::try_from(rows.len()).unwrap_or(u32::MAX);
        out.rows.push(rows);
    }
    out
}

/// The fields whose texts name something that other entries name as well: all that typed lines learn are among them.
const NAMES: [&str; 8] = [
    "aliases",
    "arm",
    "container",
    "medium",
    "place",
    "source",
    "taxon",
    "trial",
];

/// Whether an entry states facts, or names anything that none of these has named so far.
pub fn speaks(kind: &Kind, by: Option<&str>, named: &mut NamesMet) -> bool {
    let mut speaks = matches!(kind, Kind::Place(_) | Kind::Taxon(_) | Kind::Nursery(_));
    kind.visit_texts(&mut |field, name| {
        speaks |= NAMES.contains(&field) && named.is_first(field, name);
    });
    speaks | by.is_some_and(|by| named.is_first("by", by))
}

/// The names met so far, by field.
#[derive(Default)]
pub struct NamesMet(HashMap<&'static str, HashSet<CompactString>>);

impl NamesMet {
    /// Whether a name is met for the first time in a field.
    fn is_first(&mut self, field: &'static str, name: &str) -> bool {
        let names = self.0.entry(field).or_default();
        !names.contains(name) && names.insert(name.into())
    }
}

impl OutlineRow {
    /// Whether it begins a batch.
    pub fn begins(&self) -> bool {
        matches!(self.meaning, Meaning::Begins { .. } | Meaning::Parts(_))
    }

    /// Whether it is about a batch that it may name by its code alone.
    pub fn may_go_by_code(&self) -> bool {
        matches!(self.named, Named::Otherwise)
            && matches!(self.meaning, Meaning::Takes(_) | Meaning::Parts(_))
    }

    /// What an entry of that kind means.
    pub fn new(standing: &Standing, kind: &Kind) -> Self {
        let named = kind.batch_named();
        let stick = named.and_then(|named| named.stick?.ulid_bytes());
        let meaning = match (kind, kind.takes()) {
            (Kind::Stick(stick), _) => Meaning::Begins {
                stuck: stick.stuck,
                per_plant: stick.per_plant.unwrap_or(1).max(1),
            },
            (_, Takes::Part(count)) => Meaning::Parts(count),
            (_, takes) if named.is_some() => Meaning::Takes(takes),
            _ => Meaning::Nothing,
        };
        Self {
            day: standing.entry.at.day(),
            named: stick.map_or(Named::Otherwise, Named::Stick),
            meaning,
        }
    }
}
