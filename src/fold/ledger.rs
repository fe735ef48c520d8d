//! All that was read of a journal, kept small, in any order. From it the book is made anew whenever something
//! arrives; batches that nothing touched, and climate lines, are shared and not made again.

use super::assign::assign;
use super::book::{Book, ReadTotals};
use super::climate::ClimateStore;
use super::copies::{ContentKey, Copies};
use super::lives::Lives;
use super::outline::outline;
use super::settle::{NamedLine, Settled, Standing, StatedEntry, settle};
use crate::model::entry::{Climate, Entry};
use crate::model::fault::{Arrival, BookFault, Crc, Fault, FaultKind, LineFault, Lines, Origin};
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use crate::model::value::{UnknownWord, Value};
use foldhash::{HashMap, HashSet};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Everything that arrived.
#[derive(Default)]
pub struct Ledger {
    copies: Copies,
    climate: ClimateStore,
    damaged: BTreeMap<Id, (Origin, LineFault)>,
    /// Words that are not known, by the entry that says them, with the first line that does.
    unknown: BTreeMap<Id, (Origin, Vec<UnknownWord>)>,
    /// What amends and withdraws name: never packed, so that it can be settled.
    named: HashSet<Id>,
    /// The lives of the last book, as far as they were folded.
    lives: Arc<Lives>,
    check: Check,
    lines: u64,
    faults: Vec<Fault>,
    since: SinceBook,
    /// How many threads fold batches; with none said, the caller's own.
    threads: usize,
}

/// What arrived since the last book.
#[derive(Default)]
struct SinceBook {
    /// So many entries, each counted once, had arrived before.
    entries: usize,
    /// Whether anything came but new entries and climate lines, to which nothing points and which point at nothing.
    mixed: bool,
}

/// Ids that may be borne twice, to be looked into before the next book. An id above all seen before is new.
#[derive(Default)]
struct Check {
    highest: [u8; 16],
    ids: Vec<[u8; 16]>,
    many: bool,
}

/// More ids than this are looked up all at once.
const FEW: usize = 8;

impl Check {
    /// Takes note of an id; whether it is surely new.
    fn see(&mut self, id: &Id) -> bool {
        let Some(id) = id.ulid_bytes() else {
            return false;
        };
        let new = id > self.highest;
        if new {
            self.highest = id;
        } else {
            self.suspect(id);
        }
        new
    }

    fn suspect(&mut self, id: [u8; 16]) {
        if self.ids.len() < FEW {
            self.ids.push(id);
        } else {
            self.many = true;
        }
    }
}

/// No lines: entries made in memory have no text to ask for.
struct NoLines;

impl Lines for NoLines {
    fn raw(&self, _: Origin) -> Option<Vec<u8>> {
        None
    }
    fn named(&self, _: &Id) -> Option<Origin> {
        None
    }
}

impl Book {
    /// The book of entries made in memory, as if they stood on the lines of one file, from the first on.
    pub fn from_entries(entries: impl IntoIterator<Item = Entry>) -> Self {
        let mut ledger = Ledger::new();
        for (line, entry) in (1..).zip(entries) {
            let (origin, crc) = (Origin { file: 0, line }, Crc::Absent);
            let entry = Ok(entry.into());
            ledger.add(Arrival {
                origin,
                crc,
                entry,
                unknown_words: Vec::new(),
            });
        }
        ledger.book(&NoLines)
    }
}

impl Ledger {
    /// An empty ledger.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// An empty ledger whose batches are folded on so many threads, 1 or more.
    #[must_use]
    pub fn on_threads(threads: usize) -> Self {
        Self {
            threads,
            ..Self::default()
        }
    }

    /// Takes a line in. Order does not matter, nor does a line that comes twice.
    pub fn add(&mut self, arrival: Arrival) {
        self.lines += 1;
        let Arrival {
            origin,
            crc,
            entry,
            unknown_words,
        } = arrival;
        match entry {
            Ok(entry) => {
                if !unknown_words.is_empty() {
                    self.since.mixed = true;
                    self.passed_over(&entry, origin, unknown_words);
                }
                self.add_entry(entry, crc, origin);
            }
            Err((fault, name)) => {
                self.since.mixed = true;
                let held = self.damaged.entry(name).or_insert((origin, fault));
                held.0 = held.0.min(origin);
            }
        }
    }

    /// Takes in what is wrong with a file, to be listed with all other faults.
    pub fn report(&mut self, fault: Fault) {
        self.since.mixed = true;
        self.faults.push(fault);
    }

    /// Keeps the unknown words of an entry; of several copies the first line is named.
    fn passed_over(&mut self, entry: &PackedEntry, origin: Origin, words: Vec<UnknownWord>) {
        let held = self.unknown.entry(entry.id.clone());
        let held = held.or_insert_with(|| (origin, words));
        held.0 = held.0.min(origin);
    }

    /// A notice for each word that is not known, unless the field was amended since or the entry withdrawn.
    fn tell_unknown(&self, settled: &mut Settled) {
        if self.unknown.is_empty() {
            return;
        }
        let standing = settled.standing.iter().chain(&settled.climate);
        let standing: HashMap<&Id, &Standing> = standing.map(|it| (&it.entry.id, it)).collect();
        let (mut told, mut mended) = (Vec::new(), 0);
        for (id, (origin, words)) in &self.unknown {
            let Some(standing) = standing.get(id) else {
                mended += words.len();
                continue;
            };
            let kind = standing.entry.kind();
            let fields = kind.write();
            for word in words {
                let is_said = |(name, _): &(&str, Value)| *name == word.field;
                if standing.amended && fields.iter().any(is_said) {
                    mended += 1;
                    continue;
                }
                let code = kind.batch_named().map(|named| named.code);
                told.push(Fault {
                    origin: *origin,
                    id: Some(id.clone()),
                    batch: code.or(kind.code_begun()).map(str::to_owned),
                    wrong: FaultKind::Book(BookFault::UnknownWord(word.clone())),
                });
            }
        }
        settled.settled += mended;
        settled.faults.extend(told);
    }

    fn add_entry(&mut self, entry: PackedEntry, crc: Crc, origin: Origin) {
        let new = self.check.see(&entry.id);
        if entry.is::<Climate>() {
            let named = !self.named.is_empty() && self.named.contains(&entry.id);
            let free = !named && (new || !self.copies.contains(&entry.id));
            if free && self.climate.take(&entry, crc, origin) {
                return;
            }
            self.since.mixed = true;
        }
        if let Some(of) = entry.target() {
            self.since.mixed = true;
            let new = self.named.insert(of.clone());
            if let Some(id) = of
                .ulid_bytes()
                .filter(|_| new && !self.copies.contains(&of))
            {
                self.check.suspect(id);
            }
        }
        let is_first = self.copies.add(entry, crc, origin);
        self.since.mixed |= !is_first;
    }

    /// The book of all that arrived since this ledger gave the one before, made from that one: nothing unless that can be
    /// done, as with a few entries later than all before them.
    pub fn longer_book(&mut self, before: &Book) -> Option<Book> {
        if self.since.mixed
            || self.check.many
            || !self.check.ids.is_empty()
            || !Arc::ptr_eq(before.lives(), &self.lives)
        {
            return None;
        }
        self.climate.sort(false);
        let sums = ReadTotals {
            lines: self.lines,
            entries: self.entry_count(),
            ..before.sums()
        };
        let fresh = self.copies.since(self.since.entries);
        let is_plain =
            |it: &StatedEntry| it.crc != Crc::Wrong && !self.named.contains(&it.entry.id);
        // A line that is named by its hash may be one of those that came.
        let is_unknown = |id: &Id| id.is_line() && !self.copies.contains(id);
        if !fresh.iter().all(is_plain) || self.named.iter().any(is_unknown) {
            return None;
        }
        let book = before.longer(fresh, self.climate.places(), sums)?;
        self.given_out(&book);
        Some(book)
    }

    /// Entries, each counted once.
    fn entry_count(&self) -> u64 {
        (self.copies.id_count() + self.climate.line_count()) as u64
    }

    /// Takes note of the book that holds all that arrived.
    fn given_out(&mut self, book: &Book) {
        self.lives = Arc::clone(book.lives());
        self.since = SinceBook {
            entries: self.copies.id_count(),
            mixed: false,
        };
    }

    /// The book of all that arrived. `lines` is asked only for lines that clash or are named by their hash.
    pub fn book(&mut self, lines: &dyn Lines) -> Book {
        self.check_ids();
        let (lines_named, copies_named) = self.named_lines(lines);
        let mut chosen = self.copies.choose(lines, &HashSet::default());
        let mut settled = settle(&chosen.stated, &lines_named, self.threads);
        let in_force = |(name, _): &(&Id, &ContentKey)| settled.settled_lines.contains(*name);
        let struck = copies_named.iter().filter(in_force);
        let struck: HashSet<ContentKey> = struck.map(|(_, copy)| copy.clone()).collect();
        if !struck.is_empty() {
            chosen = self.copies.choose(lines, &struck);
            settled = settle(&chosen.stated, &lines_named, self.threads);
            settled.settled += struck.len();
        }
        settled.take_clashes(chosen.faults);
        settled.faults.extend_from_slice(&self.faults);
        self.tell_damaged(&mut settled);
        self.tell_unknown(&mut settled);
        let outline = outline(&settled.standing, self.threads);
        let assigned = assign(&settled, &outline);
        let sums = ReadTotals {
            lines: self.lines,
            entries: self.entry_count(),
            settled: settled.settled as u64,
            withdrawn: (settled.withdrawn.len() + assigned.hushed) as u64,
        };
        let air = self.climate.places();
        let before = Arc::clone(&self.lives);
        let book = Book::assemble(settled, outline, assigned, air, (sums, self.threads));
        book.lives().take_over(&before);
        self.given_out(&book);
        book
    }

    /// The ids of all entries that bear one as the program writes them, those withdrawn too.
    #[must_use]
    pub fn ulids(&self) -> std::collections::HashSet<[u8; 16]> {
        let copies = self.copies.ids().filter_map(Id::ulid_bytes);
        self.climate.ids().chain(copies).collect()
    }

    /// Unpacks climate lines whose id something else bears or names.
    fn check_ids(&mut self) {
        let check = std::mem::take(&mut self.check);
        self.check.highest = check.highest;
        self.climate.sort(check.many);
        if self.climate.line_count() == 0 || (check.ids.is_empty() && !check.many) {
            return;
        }
        let (copies, named) = (&self.copies, &self.named);
        let bears_or_names = |id: &[u8; 16]| {
            let id = Id::from_ulid(u128::from_be_bytes(*id));
            copies.contains(&id) || named.contains(&id)
        };
        let whole = if check.many {
            let clashing = self.climate.clashing(bears_or_names);
            self.climate.hand_back(&clashing)
        } else {
            let mut clashing = self.climate.several(&check.ids);
            clashing.extend(check.ids.iter().filter(|id| bears_or_names(id)));
            clashing.sort_unstable();
            clashing.dedup();
            self.climate.hand_back(&clashing)
        };
        for (entry, crc, origin) in whole {
            self.copies.add(entry.into(), crc, origin);
        }
    }

    /// The lines that amends and withdraws name by hash, apart from entries that have no other id.
    fn named_lines(
        &mut self,
        lines: &dyn Lines,
    ) -> (HashMap<Id, NamedLine>, HashMap<Id, ContentKey>) {
        let (mut named, mut copies) = (HashMap::default(), HashMap::default());
        let by_hash = |id: &&Id| id.is_line() && !self.copies.contains(id);
        let names: Vec<Id> = self.named.iter().filter(by_hash).cloned().collect();
        for name in names {
            if let Some((_, fault)) = self.damaged.get(&name) {
                named.insert(name, NamedLine::Damaged(fault.clone()));
                continue;
            }
            let Some(origin) = lines.named(&name) else {
                continue;
            };
            for (entry, crc, origin) in self.climate.hand_back_origin(origin) {
                self.named.insert(entry.id.clone());
                self.copies.add(entry.into(), crc, origin);
            }
            match self.copies.stated_at(origin) {
                Some(((id, _), true)) => {
                    named.insert(name, NamedLine::Bears(id));
                }
                Some((copy, false)) => {
                    named.insert(name.clone(), NamedLine::OneOfSeveral);
                    copies.insert(name, copy);
                }
                None => {}
            }
        }
        (named, copies)
    }

    fn tell_damaged(&self, settled: &mut Settled) {
        for (name, (origin, fault)) in &self.damaged {
            if settled.settled_lines.contains(name) {
                settled.settled += 1;
                continue;
            }
            settled.faults.push(Fault {
                origin: *origin,
                id: Some(name.clone()),
                batch: None,
                wrong: FaultKind::Line(fault.clone()),
            });
        }
    }
}
