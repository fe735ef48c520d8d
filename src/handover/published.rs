//! What one nursery hands to a pool: its batches and their intervals as lines of JSON, a part for each season, and a
//! manifest that says what stands in them and what was left out. No person, note, place, code or exact day of sticking
//! stands in them unless it was asked for.

use super::HandoverFile;
use crate::analysis::pool::{
    PUBLISHED_KEYS, PersonalFacts, PooledAlias, PooledFacts, PooledInterval, PooledMeasures,
    PooledMilestone, part_name, row_check,
};
use crate::analysis::timeline::is_fallen;
use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::fold::selection::{ExclusionReason, IncludedBatch, Selection, select};
use crate::model::filter::GroupKey;
use crate::model::id::Id;
use crate::model::text::hex;
use crate::text::clean::harmless_json;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};

/// The file in a nursery's folder that says what stands in it.
pub const MANIFEST: &str = "manifest.json";

/// What a nursery publishes beside what everybody does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PublishedExtras {
    /// The exact day of sticking.
    pub days: bool,
    /// The place's name.
    pub places: bool,
    /// The note made at sticking.
    pub notes: bool,
    /// Who stuck it.
    pub people: bool,
}

/// How a nursery's rows are made.
#[derive(Clone, Debug)]
pub struct PublishOptions {
    /// The nursery's name in the pool.
    pub nursery: String,
    /// What is published beside.
    pub extras: PublishedExtras,
    /// The program's version.
    pub version: &'static str,
    /// The day on which it is published.
    pub today: NaiveDate,
}

/// One part as it is handed out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PublishedPart {
    /// Its file, from the nursery's folder.
    pub path: String,
    /// The season.
    pub season: i32,
    /// Its name.
    pub part: String,
    /// Rows in it.
    pub rows: usize,
    /// Batches among them.
    pub batches: usize,
    /// Intervals among them.
    pub intervals: usize,
    /// Bytes.
    pub bytes: usize,
    /// SHA-256 of the file.
    pub sha256: String,
}

/// A nursery's folder in the pool.
#[derive(Clone, Debug, PartialEq)]
pub struct PublishedNursery {
    /// Its files, by their paths in the folder, the manifest last.
    pub files: Vec<HandoverFile>,
    /// The parts.
    pub parts: Vec<PublishedPart>,
    /// Batches left out, by reason.
    pub left_out: BTreeMap<String, usize>,
    /// Marks by which the journal is known again, whatever it is published as.
    pub marks: Vec<String>,
}

/// A journal's oldest batches give so many marks.
const MARKS: usize = 16;

/// Makes the folder.
///
/// # Errors
/// If a row cannot be put into JSON.
pub fn published(
    book: &Book,
    options: &PublishOptions,
) -> Result<PublishedNursery, serde_json::Error> {
    let (counted, skipped) = select(book, &Selection::default());
    let mut left_out = BTreeMap::new();
    for batch in &skipped {
        let reason = match &batch.reason {
            // Why a batch was set aside is the grower's own note.
            ExclusionReason::Aside(_) => "set aside".to_owned(),
            other => other.to_string(),
        };
        *left_out.entry(reason).or_default() += 1;
    }
    let mut seasons: BTreeMap<i32, Vec<(u32, &IncludedBatch)>> = BTreeMap::new();
    for (number, item) in (1..).zip(&counted) {
        let season = book.season(item.batch.stuck_on);
        seasons.entry(season).or_default().push((number, item));
    }
    let nursery = Rows::new(book, &counted, options);
    let (mut files, mut parts) = (Vec::new(), Vec::new());
    for (season, batches) in seasons {
        let (file, part) = nursery.part(season, &batches)?;
        files.push(file);
        parts.push(part);
    }
    let mut out = PublishedNursery {
        files,
        parts,
        left_out,
        marks: marks(&counted),
    };
    let manifest = serde_json::to_string_pretty(&manifest(book, options, &out))?;
    out.files.push(HandoverFile {
        name: MANIFEST.to_owned(),
        bytes: format!("{manifest}\n").into_bytes(),
    });
    Ok(out)
}

/// The marks that a manifest bears; nothing if it is none.
#[must_use]
pub fn marks_of(manifest: &str) -> Option<Vec<String>> {
    #[derive(Deserialize)]
    struct Marked {
        struck_pool: u32,
        marks: Vec<String>,
    }
    let marked: Marked = serde_json::from_str(manifest).ok()?;
    (marked.struck_pool == 1).then_some(marked.marks)
}

/// Marks that tell nothing but whether two journals have one of their oldest batches in common.
fn marks(counted: &[IncludedBatch]) -> Vec<String> {
    let oldest = counted.iter().take(MARKS);
    let mark = |item: &IncludedBatch| {
        let hash = Sha256::digest(format!("struck pool {}", item.batch.key));
        hex(&hash[..8])
    };
    oldest.map(mark).collect()
}

fn manifest(book: &Book, options: &PublishOptions, made: &PublishedNursery) -> Value {
    let extras = options.extras;
    let personal = [
        ("days", extras.days, "exact days of sticking"),
        ("places", extras.places, "names of places"),
        ("notes", extras.notes, "notes"),
        ("people", extras.people, "people"),
    ];
    let mut fields = vec!["codes", "targets", "air", "trials and arms", "stock plants"];
    fields.extend(personal.iter().filter(|it| !it.1).map(|it| it.2));
    let with = personal.iter().filter(|it| it.1).map(|it| it.0);
    let keys = PUBLISHED_KEYS.map(GroupKey::word);
    json!({
        "struck_pool": 1,
        "nursery": options.nursery,
        "program": options.version,
        "published_on": options.today,
        "keys": keys,
        "with": with.collect::<Vec<_>>(),
        "left_out": { "facts": fields, "batches": made.left_out },
        "faults": book.faults().len(),
        "parts": made.parts,
        "marks": made.marks,
    })
}

/// Makes the rows of a nursery.
struct Rows<'a> {
    book: &'a Book,
    options: &'a PublishOptions,
    /// The batches that stand for replicates, in order: a replicate's number is its place, from 1.
    stands: Vec<&'a Id>,
    last_look: Option<NaiveDate>,
}

impl<'a> Rows<'a> {
    fn new(book: &'a Book, counted: &[IncludedBatch<'a>], options: &'a PublishOptions) -> Self {
        let mut stands: Vec<&Id> = counted.iter().map(|item| item.replicate).collect();
        stands.sort_unstable();
        stands.dedup();
        let looks = book.batches().iter().flat_map(|batch| &batch.inspections);
        Self {
            book,
            options,
            stands,
            last_look: looks.map(|look| look.day).max(),
        }
    }

    fn part(
        &self,
        season: i32,
        batches: &[(u32, &IncludedBatch)],
    ) -> Result<(HandoverFile, PublishedPart), serde_json::Error> {
        let mut writer = PartWriter::new(&self.options.nursery, season);
        let mut taxa = BTreeSet::new();
        for &(number, item) in batches {
            let facts = self.facts(season, number, item);
            let measures = self.measures(number, item);
            writer.batch(&facts, &measures, &self.personal(item))?;
            for interval in intervals_of(number, item) {
                writer.interval(&facts, &measures, &interval)?;
            }
            taxa.insert(facts.taxon);
        }
        for alias in self.aliases(&taxa) {
            writer.alias(&alias)?;
        }
        Ok(writer.finish())
    }

    fn facts(&self, season: i32, number: u32, item: &IncludedBatch) -> PooledFacts {
        let value = |key: GroupKey| key.value_for(self.book, item.batch);
        PooledFacts {
            nursery: self.options.nursery.clone(),
            season,
            batch: number,
            taxon: item.batch.taxon.shown(),
            taxon_written: item.batch.stick.taxon.to_string(),
            wood: value(GroupKey::Wood),
            week: value(GroupKey::Week).unwrap_or_default(),
            cover: value(GroupKey::Cover),
            hormone: value(GroupKey::Hormone),
            medium: value(GroupKey::Medium),
            cut: value(GroupKey::Cut),
            piece: value(GroupKey::Piece),
        }
    }

    fn measures(&self, number: u32, item: &IncludedBatch) -> PooledMeasures {
        let account = &item.account;
        let place = self.stands.binary_search(&item.replicate).unwrap_or(0);
        let age = self.last_look.map(|day| day - item.batch.stuck_on);
        let [callus, root, bottom] = Milestone::ALL.map(|milestone| {
            let own = account.milestone(milestone);
            PooledMilestone {
                examined: own.examined,
                reached: own.reached,
                counted: own.counted,
                watched: own.watched,
                at_sticking: own.at_sticking > 0.0,
                backwards: is_fallen(item.batch, milestone, None),
            }
        });
        PooledMeasures {
            batch: number,
            replicate: place as u32 + 1,
            stuck: account.stuck,
            lost: account.lost,
            closed: account.is_closed(),
            age: age.map_or(0, |age| u32::try_from(age.num_days()).unwrap_or(0)),
            guesses: account.guesses,
            sampled: account.sampled,
            unexplained: account.unexplained,
            callus,
            root,
            bottom,
        }
    }

    fn personal(&self, item: &IncludedBatch) -> PersonalFacts {
        let extras = self.options.extras;
        let batch = item.batch;
        let stuck = batch.events.first().map(|event| &event.entry);
        let text =
            |text: Option<&str>, wanted: bool| text.filter(|_| wanted).map(ToString::to_string);
        PersonalFacts {
            stuck_on: extras.days.then_some(batch.stuck_on),
            place: text(batch.stick.place.as_deref(), extras.places),
            note: text(stuck.and_then(|it| it.note()), extras.notes),
            by: text(stuck.and_then(|it| it.by()), extras.people),
        }
    }

    /// The other names of these taxa.
    fn aliases(&self, taxa: &BTreeSet<String>) -> Vec<PooledAlias> {
        let known = self.book.taxa().all().iter();
        let aliases = known.flat_map(|record| {
            let facts = record.facts.as_ref();
            let aliases = facts.and_then(|facts| facts.aliases.as_ref());
            let one = |alias: &String| PooledAlias {
                taxon: record.taxon.shown(),
                alias: alias.clone(),
            };
            aliases.into_iter().flatten().map(one)
        });
        aliases.filter(|it| taxa.contains(&it.taxon)).collect()
    }
}

fn intervals_of(number: u32, item: &IncludedBatch) -> Vec<PooledInterval> {
    let of_milestone = |milestone: Milestone| {
        let pieces = item.account.milestone(milestone).pieces.iter();
        pieces.map(move |piece| PooledInterval {
            batch: number,
            milestone,
            left: piece.left,
            right: piece.right,
            status: piece.status,
            weight: piece.weight,
        })
    };
    Milestone::ALL.into_iter().flat_map(of_milestone).collect()
}

/// Writes the rows of a part, and stamps them when all are there.
#[derive(Debug)]
pub struct PartWriter {
    nursery: String,
    season: i32,
    bodies: Vec<String>,
    batches: usize,
    intervals: usize,
}

impl PartWriter {
    /// A part without rows.
    #[must_use]
    pub fn new(nursery: &str, season: i32) -> Self {
        Self {
            nursery: nursery.to_owned(),
            season,
            bodies: Vec::new(),
            batches: 0,
            intervals: 0,
        }
    }

    /// Adds a batch.
    ///
    /// # Errors
    /// If it cannot be put into JSON.
    pub fn batch(
        &mut self,
        facts: &PooledFacts,
        measures: &PooledMeasures,
        personal: &PersonalFacts,
    ) -> Result<(), serde_json::Error> {
        let mut row = Map::from_iter([("row".to_owned(), json!("batch"))]);
        add(&mut row, facts)?;
        add(&mut row, measures)?;
        add(&mut row, personal)?;
        self.batches += 1;
        self.push(&row)
    }

    /// Adds an interval of a batch.
    ///
    /// # Errors
    /// If it cannot be put into JSON.
    pub fn interval(
        &mut self,
        facts: &PooledFacts,
        measures: &PooledMeasures,
        interval: &PooledInterval,
    ) -> Result<(), serde_json::Error> {
        let mut row = Map::from_iter([("row".to_owned(), json!("interval"))]);
        add(&mut row, facts)?;
        row.insert("replicate".into(), json!(measures.replicate));
        row.insert("closed".into(), json!(measures.closed));
        add(&mut row, interval)?;
        self.intervals += 1;
        self.push(&row)
    }

    /// Adds another name of a taxon.
    ///
    /// # Errors
    /// If it cannot be put into JSON.
    pub fn alias(&mut self, alias: &PooledAlias) -> Result<(), serde_json::Error> {
        let mut row = Map::from_iter([
            ("row".to_owned(), json!("alias")),
            ("nursery".to_owned(), json!(self.nursery)),
            ("season".to_owned(), json!(self.season)),
        ]);
        add(&mut row, alias)?;
        self.push(&row)
    }

    /// Keeps a row without its closing brace, for its stamp.
    fn push(&mut self, row: &Map<String, Value>) -> Result<(), serde_json::Error> {
        // As everything that is handed on, so that no pipe needs to change a byte of it.
        let mut text = harmless_json(&serde_json::to_string(row)?).into_owned();
        text.pop();
        self.bodies.push(text);
        Ok(())
    }

    /// The part's file, and what stands in it.
    #[must_use]
    pub fn finish(self) -> (HandoverFile, PublishedPart) {
        let bodies = self.bodies.iter();
        let part = part_name(bodies.map(|it| row_check(it.as_bytes())));
        let of = self.bodies.len();
        let mut bytes = Vec::new();
        for (at, body) in (1_u32..).zip(&self.bodies) {
            let row = format!("{body},\"part\":\"{part}\",\"at\":{at},\"of\":{of}");
            let crc = row_check(row.as_bytes());
            bytes.extend_from_slice(format!("{row},\"crc\":\"{crc:08x}\"}}\n").as_bytes());
        }
        let season = self.season;
        let path = format!("season={season}/part-{part}.jsonl");
        let made = PublishedPart {
            path: path.clone(),
            season,
            part,
            rows: of,
            batches: self.batches,
            intervals: self.intervals,
            bytes: bytes.len(),
            sha256: hex(&Sha256::digest(&bytes)),
        };
        (HandoverFile { name: path, bytes }, made)
    }
}

/// Adds the fields of a value to a row; one that stands there already stays as it is.
fn add<T: Serialize>(row: &mut Map<String, Value>, value: &T) -> Result<(), serde_json::Error> {
    if let Value::Object(fields) = serde_json::to_value(value)? {
        for (name, value) in fields {
            row.entry(name).or_insert(value);
        }
    }
    Ok(())
}
