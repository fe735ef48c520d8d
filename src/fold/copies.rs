//! Entries by id: the same line read from several files counts once, and of different lines under one id one stands.
//!
//! A copy with a valid checksum beats one without, one without beats one whose checksum is wrong; then the smallest
//! (`at`, raw bytes) stands.

use super::id_index::IdIndex;
use super::settle::{StatedEntries, StatedEntry};
use crate::model::at::At;
use crate::model::fault::Lines;
use crate::model::fault::{BookFault, Crc, Fault, FaultKind, Origin};
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use foldhash::{HashMap, HashSet};
use std::borrow::Cow;
use std::cmp::Ordering;
use std::hash::{DefaultHasher, Hash, Hasher};

/// One content under an id, and every line that states it.
#[derive(Debug)]
struct Content {
    /// What it says.
    entry: PackedEntry,
    /// The first line that states it, by its origin.
    first: (Crc, Origin),
    /// All others, in the order of their origins.
    others: Vec<(Crc, Origin)>,
}

/// So many contents of one id are searched one by one; more are found by their fingerprints.
const SEARCHED: usize = 64;

/// What came under an id that came more than once: one content on several lines, or several.
#[derive(Debug, Default)]
struct Repeated {
    contents: Vec<Content>,
    /// The smallest bytes among the best copies of each content, once they were asked for.
    raw: HashMap<usize, Box<[u8]>>,
    /// Where the contents of a fingerprint stand, once there are many.
    by_fingerprint: Option<HashMap<u64, Vec<usize>>>,
}

/// All entries that are not packed, in the order in which they arrived: mostly that of their ids, and that in which they
/// fold.
#[derive(Debug, Default)]
pub struct Copies {
    each: Vec<StatedEntry>,
    /// Those that came more than once, by their places: mostly none.
    repeated: HashMap<usize, Repeated>,
    index: IdIndex,
    /// The places of amends and withdraws.
    corrections: Vec<usize>,
}

/// One content of several under an id, by its number.
pub type ContentKey = (Id, usize);

/// The entries chosen, and those that lost.
pub struct Chosen<'a> {
    /// One for each id.
    pub stated: StatedEntries<'a>,
    /// `SameIdDiffers` for each content that does not stand.
    pub faults: Vec<Fault>,
}

impl Copies {
    /// How many ids there are.
    pub fn id_count(&self) -> usize {
        self.each.len()
    }

    /// The ids that there are.
    pub fn ids(&self) -> impl Iterator<Item = &Id> {
        self.each.iter().map(|first| &first.entry.id)
    }

    /// The first copies of those that arrived since there were so many.
    pub fn since(&self, count: usize) -> &[StatedEntry] {
        self.each.get(count..).unwrap_or_default()
    }

    /// Whether an entry of this id has arrived.
    pub fn contains(&self, id: &Id) -> bool {
        self.find(id).is_some()
    }

    /// Where an id stands.
    fn find(&self, id: &Id) -> Option<usize> {
        self.index.find(id, |at| &self.each[at as usize].entry.id)
    }

    /// Takes one copy of an entry; whether it is the first of its id.
    pub fn add(&mut self, entry: PackedEntry, crc: Crc, origin: Origin) -> bool {
        let id_at = |at: u32| &self.each[at as usize].entry.id;
        let rises = self.index.is_above_all(&entry.id, id_at);
        let held = (!rises).then(|| self.find(&entry.id)).flatten();
        if let Some(at) = held {
            let first = &self.each[at];
            let repeated = self.repeated.entry(at);
            let repeated = repeated.or_insert_with(|| Repeated::of(first));
            repeated.take(entry, crc, origin);
            return false;
        }
        let at = self.each.len();
        if entry.name().corrects() {
            self.corrections.push(at);
        }
        self.each.push(StatedEntry { entry, origin, crc });
        let id_at = |at: u32| &self.each[at as usize].entry.id;
        self.index.add(at, rises, id_at);
        true
    }

    /// Fetches the bytes that rank contents which nothing else tells apart: in the order of the files, since one line
    /// at a time from here and there would read each file as often as it has lines.
    fn fetch_raw(&mut self, lines: &dyn Lines) {
        let mut wanted: Vec<(Origin, (usize, usize))> = Vec::new();
        for (of, repeated) in &self.repeated {
            let mut alike: HashMap<(u8, At), usize> = HashMap::default();
            for content in &repeated.contents {
                *alike.entry((content.rank(), content.entry.at)).or_default() += 1;
            }
            for (at, content) in repeated.contents.iter().enumerate() {
                let in_doubt = alike[&(content.rank(), content.entry.at)] > 1;
                if in_doubt && !repeated.raw.contains_key(&at) {
                    wanted.extend(content.best_copies().map(|origin| (origin, (*of, at))));
                }
            }
        }
        wanted.sort_unstable();
        let mut smallest: HashMap<(usize, usize), Vec<u8>> = HashMap::default();
        for (origin, content) in wanted {
            let Some(raw) = lines.raw(origin) else {
                continue;
            };
            match smallest.get_mut(&content) {
                Some(held) if *held <= raw => {}
                Some(held) => *held = raw,
                None => {
                    smallest.insert(content, raw);
                }
            }
        }
        for ((of, at), raw) in smallest {
            if let Some(repeated) = self.repeated.get_mut(&of) {
                repeated.raw.insert(at, raw.into());
            }
        }
    }

    /// The content that a line states, and whether it is the only one of its id.
    pub fn stated_at(&self, origin: Origin) -> Option<(ContentKey, bool)> {
        let at = self.each.iter().position(|first| first.origin == origin);
        if let Some(at) = at.filter(|at| !self.repeated.contains_key(at)) {
            return Some(((self.each[at].entry.id.clone(), 0), true));
        }
        self.repeated.iter().find_map(|(of, repeated)| {
            let states = |c: &Content| c.copies().any(|(_, o)| o == origin);
            let at = repeated.contents.iter().position(states)?;
            let key = (self.each[*of].entry.id.clone(), at);
            Some((key, repeated.contents.len() == 1))
        })
    }

    /// Chooses one content for each id, those struck out only when all are.
    pub fn choose(&mut self, lines: &dyn Lines, struck: &HashSet<ContentKey>) -> Chosen<'_> {
        self.fetch_raw(lines);
        let mut out = Chosen {
            stated: StatedEntries {
                first: &self.each,
                instead: HashMap::default(),
                corrections: &self.corrections,
                index: &self.index,
            },
            faults: Vec::new(),
        };
        for (at, repeated) in &self.repeated {
            out.choose(*at, repeated, struck);
        }
        out
    }
}

impl Repeated {
    fn of(first: &StatedEntry) -> Self {
        Self {
            contents: vec![Content::new(first.entry.clone(), first.crc, first.origin)],
            ..Self::default()
        }
    }

    /// Takes one more copy under the id.
    fn take(&mut self, entry: PackedEntry, crc: Crc, origin: Origin) {
        match self.same(&entry) {
            None => self.push(Content::new(entry, crc, origin)),
            Some(at) => {
                self.contents[at].see(crc, origin);
                // The bytes that rank it may be those of the new line.
                self.raw.remove(&at);
            }
        }
    }

    /// The number of the content of the same fields.
    fn same(&self, entry: &PackedEntry) -> Option<usize> {
        let same = |at: &usize| self.contents[*at].entry == *entry;
        match &self.by_fingerprint {
            None => (0..self.contents.len()).find(same),
            Some(index) => {
                let alike = index.get(&fingerprint(entry))?;
                alike.iter().copied().find(same)
            }
        }
    }

    fn push(&mut self, content: Content) {
        self.contents.push(content);
        let unlisted = match self.by_fingerprint {
            Some(_) => self.contents.len() - 1,
            None if self.contents.len() > SEARCHED => 0,
            None => return,
        };
        let index = self.by_fingerprint.get_or_insert_default();
        for (at, content) in self.contents.iter().enumerate().skip(unlisted) {
            let alike = index.entry(fingerprint(&content.entry)).or_default();
            alike.push(at);
        }
    }

    /// The bytes of a content; if the files no longer give them, its fields in words.
    fn bytes(&self, at: usize) -> Cow<'_, [u8]> {
        match self.raw.get(&at) {
            Some(raw) => Cow::Borrowed(raw),
            None => {
                let fields = self.contents[at].entry.whole().to_fields();
                Cow::Owned(format!("{fields:?}").into_bytes())
            }
        }
    }

    /// Which of two contents comes first among those of the id, by their numbers.
    fn rank(&self, a: usize, b: usize) -> Ordering {
        let (one, other) = (&self.contents[a], &self.contents[b]);
        let quick = one.rank().cmp(&other.rank());
        quick
            .then_with(|| one.entry.at.cmp(&other.entry.at))
            .then_with(|| self.bytes(a).cmp(&self.bytes(b)))
    }
}

/// The same for equal entries; zero and minus zero are equal.
fn fingerprint(entry: &PackedEntry) -> u64 {
    let mut hasher = DefaultHasher::new();
    let fields = format!("{:?}", entry.whole().to_fields());
    fields.replace("-0.0", "0.0").hash(&mut hasher);
    hasher.finish()
}

impl Chosen<'_> {
    /// Chooses one of the contents of the id at a place, and tells of the others.
    fn choose(&mut self, at: usize, repeated: &Repeated, struck: &HashSet<ContentKey>) {
        let id = &self.stated.first[at].entry.id;
        let numbers = 0..repeated.contents.len();
        let is_live = |at: &usize| struck.is_empty() || !struck.contains(&(id.clone(), *at));
        let mut ranked: Vec<usize> = numbers.clone().filter(is_live).collect();
        if ranked.is_empty() {
            ranked = numbers.collect();
        }
        ranked.sort_by(|a, b| repeated.rank(*a, *b));
        let mut ranked = ranked.into_iter().map(|at| &repeated.contents[at]);
        if let Some(best) = ranked.next() {
            let is_wrong = best.copies().any(|(crc, _)| crc == Crc::Wrong);
            let stated = StatedEntry {
                entry: best.entry.clone(),
                origin: best.origin(),
                crc: if is_wrong { Crc::Wrong } else { best.first.0 },
            };
            self.stated.instead.insert(at, stated);
        }
        self.faults.extend(ranked.map(|content| Fault {
            origin: content.origin(),
            id: Some(id.clone()),
            batch: None,
            wrong: FaultKind::Book(BookFault::SameIdDiffers { id: id.clone() }),
        }));
    }
}

impl Content {
    fn new(entry: PackedEntry, crc: Crc, origin: Origin) -> Self {
        Self {
            entry,
            first: (crc, origin),
            others: Vec::new(),
        }
    }

    /// Every line that states it, in the order of their origins.
    fn copies(&self) -> impl Iterator<Item = (Crc, Origin)> {
        std::iter::once(self.first).chain(self.others.iter().copied())
    }

    /// The standing of its best copy: a right checksum, none, a wrong one.
    fn rank(&self) -> u8 {
        let each = self.copies().map(|(crc, _)| rank(crc));
        each.min().unwrap_or(u8::MAX)
    }

    /// Where it is first stated, among its best copies.
    fn origin(&self) -> Origin {
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
        let others = &mut self.others;
        let at = match others.last() {
            Some((_, last)) if *last < origin => others.len(),
            _ => others.partition_point(|(_, held)| *held < origin),
        };
        if others.get(at) != Some(&(crc, origin)) {
            others.insert(at, (crc, origin));
        }
    }

    /// The lines of the best standing that state it.
    fn best_copies(&self) -> impl Iterator<Item = Origin> + '_ {
        let best = self.rank();
        let copies = self.copies().filter(move |(crc, _)| rank(*crc) == best);
        copies.map(|(_, origin)| origin)
    }
}

fn rank(crc: Crc) -> u8 {
    match crc {
        Crc::Right => 0,
        Crc::Absent => 1,
        Crc::Wrong => 2,
    }
}
