//! A pool's batches as a comparison takes them: judged as they ended, by their age alone, each in its arm and stratum. It
//! tests nothing.

use super::parts::{UncountedPart, WholePart};
use super::row::{PUBLISHED_KEYS, PooledMeasures};
use super::store::{PoolSums, versions_left_out};
use super::synonyms::{AliasSaid, AskedTaxon, Synonyms};
use crate::fold::batch::Milestone;
use crate::fold::intervals::IntervalStatus;
use crate::model::filter::GroupKey;
use crate::model::taxon::Taxon;
use crate::model::text::folded;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct PoolCompareOptions {
    /// By what arms differ.
    pub by: Vec<GroupKey>,
    /// Within what like is compared with like, beside nursery, taxon and wood stage.
    pub within: Vec<GroupKey>,
    /// For this milestone.
    pub milestone: Milestone,
    /// A difference worth having, as a share.
    pub worth: f64,
    /// Confidence level.
    pub level: f64,
    /// Seed of the draws.
    pub seed: u64,
}

impl PoolCompareOptions {
    /// The keys of a stratum beside nursery and taxon.
    #[must_use]
    pub fn strata(&self) -> Vec<GroupKey> {
        let mut keys = vec![GroupKey::Wood];
        keys.extend(&self.within);
        keys.retain(|key| !self.by.contains(key));
        keys.sort_unstable();
        keys.dedup();
        keys
    }
}

/// What part of those that reach the milestone must have done so by the age at which batches are judged.
const MOST: f64 = 0.95;

/// Fewer closed batches of a kind than this do not tell how long it takes.
const FEWEST_CLOSED: usize = 2;

/// Slack in sums of cuttings.
const SLACK: f64 = 1e-9;

/// Values of the published keys, in their order.
type Facts = [Option<Arc<str>>; PUBLISHED_KEYS.len()];

/// A batch that counts, in its arm and stratum.
pub(super) struct CompareBatch {
    pub nursery: usize,
    pub replicate: u32,
    pub arm: usize,
    pub stratum: usize,
    pub x: f64,
    pub n: f64,
    pub facts: Facts,
}

/// The batches that count.
pub(super) struct Judged {
    pub arms: Vec<String>,
    pub batches: Vec<CompareBatch>,
    pub left_out: BTreeMap<&'static str, usize>,
    pub synonyms: Synonyms,
}

/// A batch as it came.
struct StoredBatch {
    taxon: Arc<str>,
    replicate: u32,
    facts: Facts,
    closed: bool,
    examined: bool,
    age: u32,
    stuck: u32,
    reached: f64,
    /// Right ends of what reached the milestone, and left ends of what had not yet, with their weights.
    came: Box<[(u32, f32)]>,
    waits: Box<[(u32, f32)]>,
}

/// The batches of a pool for a comparison of one milestone.
pub struct CompareRows {
    milestone: Milestone,
    asked: Option<AskedTaxon>,
    texts: BTreeSet<Arc<str>>,
    parts: BTreeMap<String, (Arc<str>, i32, Vec<StoredBatch>)>,
    names: BTreeMap<String, String>,
    aliases: BTreeSet<AliasSaid>,
}

impl CompareRows {
    /// None yet, for a milestone; only of a taxon, genus, or part of a name, if one is given.
    #[must_use]
    pub fn new(milestone: Milestone, taxon: Option<&str>) -> Self {
        Self {
            milestone,
            asked: taxon.map(AskedTaxon::new),
            texts: BTreeSet::new(),
            parts: BTreeMap::new(),
            names: BTreeMap::new(),
            aliases: BTreeSet::new(),
        }
    }

    fn text(&mut self, text: &str) -> Arc<str> {
        if let Some(known) = self.texts.get(text) {
            return known.clone();
        }
        let text: Arc<str> = text.into();
        self.texts.insert(text.clone());
        text
    }

    /// Takes a part in.
    pub fn add(&mut self, part: WholePart) {
        for alias in part.aliases {
            self.aliases.insert(AliasSaid {
                nursery: part.nursery.clone(),
                alias: alias.alias,
                taxon: alias.taxon,
            });
        }
        let mut ends: BTreeMap<u32, [Vec<(u32, f32)>; 2]> = BTreeMap::new();
        for it in part
            .intervals
            .iter()
            .filter(|it| it.milestone == self.milestone)
        {
            let own = ends.entry(it.batch).or_default();
            match (it.status, it.right) {
                (IntervalStatus::Reached, Some(right)) => own[0].push((right, it.weight as f32)),
                (IntervalStatus::NotYet, _) => own[1].push((it.left, it.weight as f32)),
                (IntervalStatus::Reached | IntervalStatus::Lost, _) => {}
            }
        }
        let mut batches = Vec::with_capacity(part.batches.len());
        for (facts, measures) in &part.batches {
            let key = Taxon::parse(&facts.taxon).key();
            let shown = self
                .names
                .entry(key.clone())
                .or_insert_with(|| facts.taxon.clone());
            if facts.taxon < *shown {
                shown.clone_from(&facts.taxon);
            }
            let [came, waits] = ends.remove(&measures.batch).unwrap_or_default();
            let mut values = Facts::default();
            for (value, key) in values.iter_mut().zip(PUBLISHED_KEYS) {
                *value = facts.value(key).map(|text| self.text(&text));
            }
            batches.push(self.stored(&key, measures, values, [came, waits]));
        }
        let nursery = self.text(&part.nursery);
        self.parts
            .insert(part.name, (nursery, part.season, batches));
    }

    fn stored(
        &mut self,
        key: &str,
        measures: &PooledMeasures,
        facts: Facts,
        [came, waits]: [Vec<(u32, f32)>; 2],
    ) -> StoredBatch {
        let own = measures.milestone(self.milestone);
        StoredBatch {
            taxon: self.text(key),
            replicate: measures.replicate,
            facts,
            closed: measures.closed,
            examined: own.examined,
            age: measures.age,
            stuck: measures.stuck,
            reached: own.reached,
            came: came.into(),
            waits: waits.into(),
        }
    }

    pub(super) fn take_out_versions(&mut self) -> Vec<UncountedPart> {
        let named = self.parts.iter();
        let named = named.map(|(name, (nursery, season, _))| (name.as_str(), &**nursery, *season));
        let out = versions_left_out(named);
        for part in &out {
            self.parts.remove(&part.part);
        }
        out
    }

    pub(super) fn sums(&self) -> PoolSums {
        let nurseries: BTreeSet<&Arc<str>> = self.parts.values().map(|it| &it.0).collect();
        PoolSums {
            nurseries: nurseries.len(),
            parts: self.parts.len(),
        }
    }

    /// The batches that are old enough for their kind, closed or watched so long.
    pub(super) fn judged(&self, options: &PoolCompareOptions) -> Judged {
        let synonyms = Synonyms::new(&self.aliases, &self.names);
        let mut parts: Vec<&(Arc<str>, i32, Vec<StoredBatch>)> = self.parts.values().collect();
        parts.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
        let all = || {
            let parts = parts.iter();
            parts.flat_map(|part| part.2.iter().map(|batch| (&part.0, batch)))
        };
        let days = closing_days(all().map(|(_, batch)| batch), &synonyms);
        let mut out = Judged {
            arms: Vec::new(),
            batches: Vec::new(),
            left_out: BTreeMap::new(),
            synonyms: Synonyms::default(),
        };
        let strata_keys = options.strata();
        let mut placed = Vec::new();
        let mut arms: BTreeMap<Vec<String>, String> = BTreeMap::new();
        for (nursery, batch) in all() {
            let taxon = synonyms.resolve(&batch.taxon);
            if !self.is_meant(taxon) {
                continue;
            }
            let values = |keys: &[GroupKey]| -> Vec<Option<Arc<str>>> {
                keys.iter().map(|key| value(&batch.facts, *key)).collect()
            };
            let Some(arm) = values(&options.by)
                .into_iter()
                .collect::<Option<Vec<Arc<str>>>>()
            else {
                *out.left_out.entry("not-recorded").or_default() += 1;
                continue;
            };
            let rank: Vec<String> = arm.iter().map(|text| folded(text)).collect();
            arms.entry(rank.clone()).or_insert_with(|| arm.join(", "));
            let inside: Vec<Option<String>> = values(&strata_keys)
                .iter()
                .map(|text| text.as_deref().map(folded))
                .collect();
            placed.push((
                nursery,
                batch,
                rank,
                (nursery.clone(), taxon.to_owned(), inside),
            ));
        }
        let numbers: BTreeMap<&Vec<String>, usize> = arms.keys().zip(0..).collect();
        let mut slowest: BTreeMap<_, Option<u32>> = BTreeMap::new();
        for (_, batch, _, stratum) in &placed {
            let day = days.of(synonyms.resolve(&batch.taxon), batch);
            let known = slowest.entry(stratum).or_insert(day);
            *known = known.zip(day).map(|(known, day)| known.max(day));
        }
        let strata: BTreeMap<_, usize> = slowest.keys().copied().zip(0..).collect();
        let nurseries: BTreeSet<&Arc<str>> = placed.iter().map(|it| it.0).collect();
        let nurseries: BTreeMap<&Arc<str>, usize> = nurseries.into_iter().zip(0..).collect();
        for (nursery, batch, rank, stratum) in &placed {
            let from = slowest.get(stratum).copied().flatten();
            match counted(batch, from) {
                Err(reason) => *out.left_out.entry(reason).or_default() += 1,
                Ok([x, n]) => out.batches.push(CompareBatch {
                    nursery: nurseries.get(nursery).copied().unwrap_or_default(),
                    replicate: batch.replicate,
                    arm: numbers.get(rank).copied().unwrap_or_default(),
                    stratum: strata.get(stratum).copied().unwrap_or_default(),
                    x,
                    n,
                    facts: batch.facts.clone(),
                }),
            }
        }
        drop(placed);
        out.arms = arms.into_values().collect();
        out.synonyms = synonyms;
        out
    }

    fn is_meant(&self, key: &str) -> bool {
        let shown = self.names.get(key).map_or("", String::as_str);
        let asked = self.asked.as_ref();
        asked.is_none_or(|asked| asked.means(key, shown))
    }
}

fn value(facts: &Facts, key: GroupKey) -> Option<Arc<str>> {
    let at = PUBLISHED_KEYS.iter().position(|own| *own == key)?;
    facts[at].clone()
}

/// What of a batch counts, judged from an age on; else why it does not.
fn counted(batch: &StoredBatch, from: Option<u32>) -> Result<[f64; 2], &'static str> {
    if !batch.examined {
        return Err("not-examined");
    }
    let from = from.ok_or("no-closing-day")?;
    if batch.age < from {
        return Err("too-young");
    }
    let waits = |short: bool| -> f64 {
        let waits = batch.waits.iter().filter(|it| (it.0 < from) == short);
        waits.map(|it| f64::from(it.1)).sum()
    };
    if !batch.closed && waits(true) > SLACK {
        return Err("not-looked-at-late-enough");
    }
    let n = (f64::from(batch.stuck) - waits(true)).max(0.0);
    if n <= SLACK {
        return Err("taken-away");
    }
    Ok([batch.reached.min(n), n])
}

/// The days by which most of those that reach the milestone have, by taxon and wood stage, and by taxon.
struct ClosingAges(BTreeMap<BatchKind, u32>);

/// A taxon's key, and its wood stage; none for the taxon as a whole.
type BatchKind = (String, Option<Option<Arc<str>>>);

impl ClosingAges {
    fn of(&self, taxon: &str, batch: &StoredBatch) -> Option<u32> {
        let wood = value(&batch.facts, GroupKey::Wood);
        let keys = [(taxon.to_owned(), Some(wood)), (taxon.to_owned(), None)];
        keys.iter().find_map(|key| self.0.get(key)).copied()
    }
}

fn closing_days<'a>(
    all: impl Iterator<Item = &'a StoredBatch>,
    synonyms: &Synonyms,
) -> ClosingAges {
    let mut kinds: BTreeMap<_, (usize, BTreeMap<u32, f64>)> = BTreeMap::new();
    for batch in all.filter(|batch| batch.closed) {
        let taxon = synonyms.resolve(&batch.taxon).to_owned();
        let wood = value(&batch.facts, GroupKey::Wood);
        for key in [(taxon.clone(), Some(wood)), (taxon, None)] {
            let kind = kinds.entry(key).or_default();
            kind.0 += 1;
            for (day, weight) in &batch.came {
                *kind.1.entry(*day).or_default() += f64::from(*weight);
            }
        }
    }
    let told = kinds.into_iter().filter(|it| it.1.0 >= FEWEST_CLOSED);
    let day = |(key, (_, ends)): (_, (usize, BTreeMap<u32, f64>))| {
        let whole: f64 = ends.values().sum();
        let mut come = 0.0;
        let mut ends = ends.iter();
        let day = ends.find(|(_, weight)| {
            come += **weight;
            come >= MOST * whole - SLACK
        });
        Some((key, *day?.0))
    };
    ClosingAges(told.filter_map(day).collect())
}
