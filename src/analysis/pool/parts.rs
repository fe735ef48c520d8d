//! Rows gathered into whole parts. A part counts once, and only whole: its rows may come split over files, in any order and
//! more than once. It reads no file.

use super::group::PoolGroup;
use super::row::{PooledAlias, PooledFacts, PooledInterval, PooledMeasures, RowStamp, part_name};
use crate::model::filter::GroupKey;
use std::collections::{BTreeMap, BTreeSet};

/// What stands on a row.
#[derive(Clone, Debug, PartialEq)]
pub enum RowContent {
    /// A batch.
    Batch(Box<(PooledFacts, PooledMeasures)>),
    /// An interval of a batch.
    Interval(PooledInterval),
    /// Another name for a taxon.
    Alias(PooledAlias),
}

/// All rows of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct WholePart {
    /// Its name.
    pub name: String,
    /// The nursery's name in the pool.
    pub nursery: String,
    /// Its year of sticking.
    pub season: i32,
    /// Its batches in order.
    pub batches: Vec<(PooledFacts, PooledMeasures)>,
    /// Its intervals, batch by batch.
    pub intervals: Vec<PooledInterval>,
    /// Other names of its taxa.
    pub aliases: Vec<PooledAlias>,
}

/// A part that does not count, and why.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct UncountedPart {
    /// The nursery.
    pub nursery: String,
    /// The season.
    pub season: i32,
    /// The part.
    pub part: String,
    /// Why.
    #[serde(flatten)]
    pub why: WhyUncounted,
}

/// Why a part does not count.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(tag = "why", rename_all = "kebab-case")]
pub enum WhyUncounted {
    /// Some of its rows are missing: a file was cut short or is not here.
    Short {
        /// Rows that are here.
        rows: u32,
        /// Rows that it has.
        of: u32,
    },
    /// Its rows are not those that it was published with.
    Changed,
    /// The nursery's season stands here in two versions or more.
    Versions {
        /// How many.
        versions: usize,
    },
}

#[derive(Debug)]
struct OpenPart {
    nursery: String,
    season: i32,
    of: u32,
    rows: BTreeMap<u32, (u32, RowContent, Option<Box<str>>)>,
}

/// Gathers rows into parts.
#[derive(Debug, Default)]
pub struct PartCollector {
    open: BTreeMap<String, OpenPart>,
    done: BTreeSet<String>,
    changed: BTreeSet<UncountedPart>,
    /// Rows of each part that came again.
    repeated: BTreeMap<String, u64>,
}

impl PartCollector {
    /// Takes a row in, with its line if that is to be given back should the part not become whole; gives the part that it
    /// makes whole.
    pub fn add(
        &mut self,
        stamp: RowStamp<'_>,
        content: RowContent,
        line: Option<&str>,
    ) -> Option<WholePart> {
        let seen = |open: &OpenPart| open.rows.contains_key(&stamp.at);
        if self.done.contains(stamp.part) || self.open.get(stamp.part).is_some_and(seen) {
            *self.repeated.entry(stamp.part.to_owned()).or_default() += 1;
            return None;
        }
        if !self.open.contains_key(stamp.part) {
            let begun = OpenPart {
                nursery: stamp.nursery.to_owned(),
                season: stamp.season,
                of: stamp.of,
                rows: BTreeMap::new(),
            };
            self.open.insert(stamp.part.to_owned(), begun);
        }
        let open = self.open.get_mut(stamp.part)?;
        open.rows
            .insert(stamp.at, (stamp.check, content, line.map(Into::into)));
        if open.rows.len() < open.of as usize {
            return None;
        }
        let (name, open) = self.open.remove_entry(stamp.part)?;
        self.done.insert(name.clone());
        let numbered = open.rows.keys().copied().eq(1..=open.of);
        if !numbered || part_name(open.rows.values().map(|row| row.0)) != name {
            self.changed.insert(UncountedPart {
                nursery: open.nursery,
                season: open.season,
                part: name,
                why: WhyUncounted::Changed,
            });
            return None;
        }
        Some(whole(name, open))
    }

    /// Parts that did not become whole, in order.
    #[must_use]
    pub fn uncounted(&self) -> Vec<UncountedPart> {
        let short = self.open.iter().map(|(part, open)| UncountedPart {
            nursery: open.nursery.clone(),
            season: open.season,
            part: part.clone(),
            why: WhyUncounted::Short {
                rows: open.rows.len() as u32,
                of: open.of,
            },
        });
        let mut all: Vec<UncountedPart> = short.chain(self.changed.iter().cloned()).collect();
        all.sort();
        all
    }

    /// The lines of parts that did not become whole, in order.
    pub fn lines_left(&self) -> impl Iterator<Item = &str> {
        let rows = self.open.values().flat_map(|open| open.rows.values());
        rows.filter_map(|(.., line)| line.as_deref())
    }

    /// Parts of which rows came more than once, each with how many.
    #[must_use]
    pub fn repeated(&self) -> &BTreeMap<String, u64> {
        &self.repeated
    }
}

fn whole(name: String, open: OpenPart) -> WholePart {
    let mut part = WholePart {
        name,
        nursery: open.nursery,
        season: open.season,
        batches: Vec::new(),
        intervals: Vec::new(),
        aliases: Vec::new(),
    };
    for (_, content, _) in open.rows.into_values() {
        match content {
            RowContent::Batch(batch) => part.batches.push(*batch),
            RowContent::Interval(interval) => part.intervals.push(interval),
            RowContent::Alias(alias) => part.aliases.push(alias),
        }
    }
    part
}

/// A taxon as the nursery accepts it, its wood stage, the values of the keys asked for.
type PlaceInPart = (String, Option<String>, Vec<Option<String>>);

impl WholePart {
    /// The part by groups: taxon, wood stage, and the keys asked for.
    #[must_use]
    pub fn groups(self, by: &[GroupKey]) -> Vec<PoolGroup> {
        let mut groups: BTreeMap<PlaceInPart, PoolGroup> = BTreeMap::new();
        let mut batches: BTreeMap<u32, Vec<PooledInterval>> = BTreeMap::new();
        for interval in self.intervals {
            batches.entry(interval.batch).or_default().push(interval);
        }
        for (facts, measures) in self.batches {
            let values: Vec<Option<String>> = by.iter().map(|key| facts.value(*key)).collect();
            let place = (facts.taxon.clone(), facts.wood.clone(), values.clone());
            let group = groups.entry(place).or_insert_with(|| PoolGroup {
                aggregate: PoolGroup::VERSION,
                nursery: self.nursery.clone(),
                season: self.season,
                part: self.name.clone(),
                group: 0,
                groups: 0,
                taxon: facts.taxon.clone(),
                wood: facts.wood.clone(),
                by: by
                    .iter()
                    .map(|key| key.word().to_owned())
                    .zip(values)
                    .collect(),
                aliases: Vec::new(),
                batches: Vec::new(),
                intervals: Vec::new(),
            });
            let own = batches.remove(&measures.batch).unwrap_or_default();
            group.intervals.extend(own);
            group.batches.push(measures);
        }
        let mut groups: Vec<PoolGroup> = groups.into_values().collect();
        let of = groups.len() as u32;
        for (at, group) in (1..).zip(&mut groups) {
            (group.group, group.groups) = (at, of);
            let own = self.aliases.iter().filter(|it| it.taxon == group.taxon);
            group.aliases = own.map(|it| it.alias.clone()).collect();
        }
        groups
    }
}
