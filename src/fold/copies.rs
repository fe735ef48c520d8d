//! Entries by id: the same line read from several files counts once, and of different lines under one id one stands.
//!
//! A copy with a valid checksum beats one without, one without beats one whose checksum is wrong; then the smallest
//! (`at`, raw bytes) stands.

use super::settle::StatedEntry;
use crate::model::at::At;
use crate::model::entry::Entry;
use crate::model::fault::Lines;
use crate::model::fault::{BookFault, Crc, Fault, FaultKind, Origin};
use crate::model::id::Id;
use foldhash::fast::RandomState;
use foldhash::{HashMap, HashSet};
use indexmap::IndexMap;
use indexmap::map;
use std::borrow::Cow;
use std::cmp::Ordering;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::{Arc, OnceLock};

/// One content under an id, and every line that states it.
#[derive(Debug)]
pub struct Content {
    /// What it says.
    pub entry: Arc<Entry>,
    /// The first line that states it, by its origin.
    first: (Crc, Origin),
    /// All others, in the order of their origins; mostly none.
    #[expect(
        clippy::box_collection,
        reason = "a word where there is none, for each entry"
    )]
    others: Option<Box<Vec<(Crc, Origin)>>>,
    /// The smallest bytes among its best copies, once they were asked for.
    raw: OnceLock<Box<[u8]>>,
}

/// So many contents of one id are searched one by one; more are found by their fingerprints.
const SEARCHED: usize = 16;

/// The different contents under one id: nearly always one, so that one takes little room.
#[derive(Debug)]
struct Contents {
    first: Content,
    others: Option<Box<OtherContents>>,
}

/// The contents after the first.
#[derive(Debug, Default)]
struct OtherContents {
    each: Vec<Content>,
    /// Where the contents of a fingerprint stand, once there are many.
    by_fingerprint: Option<HashMap<u64, Vec<usize>>>,
}

/// All entries that are not packed, by id, in the order in which they arrived: mostly that in which they fold.
#[derive(Debug, Default)]
pub struct Copies {
    by_id: IndexMap<Id, Contents, RandomState>,
}

/// One content of several under an id, by its number.
pub type ContentKey = (Id, usize);

/// The entries chosen, and those that lost.
#[derive(Default)]
pub struct Chosen {
    /// One for each id.
    pub stated: Vec<StatedEntry>,
    /// `SameIdDiffers` for each content that does not stand.
    pub faults: Vec<Fault>,
}

impl Copies {
    /// How many ids there are.
    pub fn id_count(&self) -> usize {
        self.by_id.len()
    }

    /// The ids that there are.
    pub fn ids(&self) -> impl Iterator<Item = &Id> {
        self.by_id.keys()
    }

    /// Whether an entry of this id has arrived.
    pub fn contains(&self, id: &Id) -> bool {
        self.by_id.contains_key(id)
    }

    /// Takes one copy of an entry.
    pub fn add(&mut self, entry: Entry, crc: Crc, origin: Origin) {
        let content = |entry| Content {
            entry: Arc::new(entry),
            first: (crc, origin),
            others: None,
            raw: OnceLock::new(),
        };
        match self.by_id.entry(entry.id.clone()) {
            map::Entry::Vacant(slot) => {
                slot.insert(Contents {
                    first: content(entry),
                    others: None,
                });
            }
            map::Entry::Occupied(slot) => {
                let contents = slot.into_mut();
                match contents.same(&entry) {
                    Some(held) => held.see(crc, origin),
                    None => contents.push(content(entry)),
                }
            }
        }
    }

    /// Fetches the bytes that rank contents which nothing else tells apart: in the order of the files, since one line
    /// at a time from here and there would read each file as often as it has lines.
    fn fetch_raw(&self, lines: &dyn Lines) {
        let clashing = self.by_id.values().filter(|it| it.others.is_some());
        let in_doubt = clashing.flat_map(|contents| {
            let mut alike: HashMap<(u8, At), usize> = HashMap::default();
            for content in contents.iter() {
                *alike.entry((content.rank(), content.entry.at)).or_default() += 1;
            }
            contents.iter().filter(move |content| {
                alike[&(content.rank(), content.entry.at)] > 1 && content.raw.get().is_none()
            })
        });
        let contents: Vec<&Content> = in_doubt.collect();
        let mut wanted: Vec<(Origin, usize)> = Vec::with_capacity(contents.len());
        for (at, content) in contents.iter().enumerate() {
            wanted.extend(content.best_copies().map(|origin| (origin, at)));
        }
        wanted.sort_unstable();
        let mut smallest: Vec<Option<Vec<u8>>> = vec![None; contents.len()];
        for (origin, at) in wanted {
            let raw = lines.raw(origin);
            let held = &mut smallest[at];
            if raw.is_some() && (held.is_none() || raw < *held) {
                *held = raw;
            }
        }
        for (content, raw) in contents.into_iter().zip(smallest) {
            if let Some(raw) = raw {
                content.raw.get_or_init(|| raw.into());
            }
        }
    }

    /// The content that a line states, and whether it is the only one of its id.
    pub fn stated_at(&self, origin: Origin) -> Option<(ContentKey, bool)> {
        self.by_id.iter().find_map(|(id, contents)| {
            let states = |c: &Content| c.copies().any(|(_, o)| o == origin);
            let at = contents.iter().position(states)?;
            Some(((id.clone(), at), contents.others.is_none()))
        })
    }

    /// Chooses one content for each id, those struck out only when all are.
    pub fn choose(&self, lines: &dyn Lines, struck: &HashSet<ContentKey>) -> Chosen {
        let mut out = Chosen::default();
        out.stated.reserve(self.by_id.len());
        self.fetch_raw(lines);
        for (id, contents) in &self.by_id {
            let best = match contents.others {
                None => &contents.first,
                Some(_) => {
                    let each = contents.iter().enumerate();
                    let live = each.filter(|(at, _)| !struck.contains(&(id.clone(), *at)));
                    let mut ranked: Vec<&Content> = live.map(|(_, c)| c).collect();
                    if ranked.is_empty() {
                        ranked = contents.iter().collect();
                    }
                    ranked.sort_by(|a, b| a.better(b));
                    out.report(id, ranked.get(1..).unwrap_or_default());
                    match ranked.first().copied() {
                        Some(best) => best,
                        None => continue,
                    }
                }
            };
            out.stated.push(StatedEntry {
                entry: Arc::clone(&best.entry),
                origin: best.origin(),
                wrong_crc: best.copies().any(|(crc, _)| crc == Crc::Wrong),
            });
        }
        out
    }
}

impl Contents {
    fn iter(&self) -> impl Iterator<Item = &Content> {
        let others = self.others.iter().flat_map(|others| &others.each);
        std::iter::once(&self.first).chain(others)
    }

    /// The content of the same fields.
    fn same(&mut self, entry: &Entry) -> Option<&mut Content> {
        if *self.first.entry == *entry {
            return Some(&mut self.first);
        }
        let others = self.others.as_mut()?;
        let same = |at: &usize| *others.each[*at].entry == *entry;
        let at = match &others.by_fingerprint {
            None => (0..others.each.len()).find(same),
            Some(index) => {
                let alike = index.get(&fingerprint(entry))?;
                alike.iter().copied().find(same)
            }
        }?;
        others.each.get_mut(at)
    }

    fn push(&mut self, content: Content) {
        let others = self.others.get_or_insert_default();
        others.each.push(content);
        let unlisted = match others.by_fingerprint {
            Some(_) => others.each.len() - 1,
            None if others.each.len() > SEARCHED => 0,
            None => return,
        };
        let index = others.by_fingerprint.get_or_insert_default();
        for (at, content) in others.each.iter().enumerate().skip(unlisted) {
            let alike = index.entry(fingerprint(&content.entry)).or_default();
            alike.push(at);
        }
    }
}

/// The same for equal entries; zero and minus zero are equal.
fn fingerprint(entry: &Entry) -> u64 {
    let mut hasher = DefaultHasher::new();
    let fields = format!("{:?}", entry.to_fields());
    fields.replace("-0.0", "0.0").hash(&mut hasher);
    hasher.finish()
}

impl Chosen {
    fn report(&mut self, id: &Id, losers: &[&Content]) {
        self.faults.extend(losers.iter().map(|content| Fault {
            origin: content.origin(),
            id: Some(id.clone()),
            batch: None,
            wrong: FaultKind::Book(BookFault::SameIdDiffers { id: id.clone() }),
        }));
    }
}

impl Content {
    /// Every line that states it, in the order of their origins.
    fn copies(&self) -> impl Iterator<Item = (Crc, Origin)> {
        let others = self.others.iter().flat_map(|others| others.iter());
        std::iter::once(self.first).chain(others.copied())
    }

    /// The standing of its best copy: a right checksum, none, a wrong one.
    fn rank(&self) -> u8 {
        let each = self.copies().map(|(crc, _)| rank(crc));
        each.min().unwrap_or(u8::MAX)
    }

    /// Where it is first stated, among its best copies.
    pub fn origin(&self) -> Origin {
        let each = self.copies().map(|(crc, origin)| (rank(crc), origin));
        each.min().map_or(self.first.1, |(_, origin)| origin)
    }

    /// Takes note of a line that states it. Lines come in the order of the files, so that mostly nothing is sought.
    fn see(&mut self, crc: Crc, origin: Origin) {
        if self.first == (crc, origin) {
            return;
        }
        let (mut crc, mut origin) = (crc, origin);
        if origin < self.first.1 {
            (crc, origin) = std::mem::replace(&mut self.first, (crc, origin));
        }
        let others = self.others.get_or_insert_default();
        let at = match others.last() {
            Some((_, last)) if *last < origin => others.len(),
            _ => others.partition_point(|(_, held)| *held < origin),
        };
        if others.get(at) != Some(&(crc, origin)) {
            others.insert(at, (crc, origin));
        }
        self.raw.take();
    }

    /// The lines of the best standing that state it.
    fn best_copies(&self) -> impl Iterator<Item = Origin> + '_ {
        let best = self.rank();
        let copies = self.copies().filter(move |(crc, _)| rank(*crc) == best);
        copies.map(|(_, origin)| origin)
    }

    /// The smallest bytes among its best copies; if the files no longer give them, its fields in words.
    fn bytes(&self) -> Cow<'_, [u8]> {
        match self.raw.get() {
            Some(raw) => Cow::Borrowed(raw),
            None => Cow::Owned(format!("{:?}", self.entry.to_fields()).into_bytes()),
        }
    }

    fn better(&self, other: &Self) -> Ordering {
        let quick = self.rank().cmp(&other.rank());
        quick
            .then_with(|| self.entry.at.cmp(&other.entry.at))
            .then_with(|| self.bytes().cmp(&other.bytes()))
    }
}

fn rank(crc: Crc) -> u8 {
    match crc {
        Crc::Right => 0,
        Crc::Absent => 1,
        Crc::Wrong => 2,
    }
}
