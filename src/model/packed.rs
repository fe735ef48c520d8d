//! An entry held in few bytes and shared: what is asked of every entry stands beside them, the rest is unpacked where it is asked
//! for. A journal open is mostly these, so that they decide how much memory it takes and how long it waits for it.

use super::at::At;
use super::entry::{Entry, Kind};
use super::id::Id;
use super::kinds::{KindFields, KindName};
use super::packing::{PackedBytes, pack_text};
use compact_str::CompactString;
use std::cmp::Ordering;
use std::fmt;
use std::ops::Deref;
use triomphe::ThinArc;

/// An entry in few bytes. A copy of it shares them.
#[derive(Clone)]
pub struct PackedEntry(ThinArc<EntryHead, u8>);

/// What is asked of every entry, not packed.
#[derive(Debug, PartialEq)]
pub struct EntryHead {
    /// Its own id, or the name of its line when it bears none.
    pub id: Id,
    /// When it was made, as written.
    pub at: At,
}

/// The bit of the first byte that says whether the entry has a `by`.
const HAS_BY: u8 = 0x80;
/// The bit of the first byte that says whether the entry has a note.
const HAS_NOTE: u8 = 0x40;

/// Bytes that a usual entry takes.
const USUAL: usize = 128;

impl From<Entry> for PackedEntry {
    fn from(entry: Entry) -> Self {
        let mut bytes = Vec::with_capacity(USUAL);
        let has = |is_there: bool, bit: u8| if is_there { bit } else { 0 };
        let name = entry.kind.name() as u8;
        bytes.push(name | has(entry.by.is_some(), HAS_BY) | has(entry.note.is_some(), HAS_NOTE));
        let texts = [entry.by.as_deref(), entry.note.as_deref()];
        for text in texts.into_iter().flatten() {
            pack_text(text, &mut bytes);
        }
        entry.kind.pack(&mut bytes);
        let head = EntryHead {
            id: entry.id,
            at: entry.at,
        };
        Self(ThinArc::from_header_and_slice(head, &bytes))
    }
}

impl Deref for PackedEntry {
    type Target = EntryHead;

    fn deref(&self) -> &EntryHead {
        &self.0.header.header
    }
}

impl PackedEntry {
    /// The entry, unpacked.
    #[must_use]
    pub fn whole(&self) -> Entry {
        Entry {
            id: self.id.clone(),
            at: self.at,
            by: self.by().map(CompactString::from),
            note: self.note().map(Box::from),
            kind: self.kind(),
        }
    }

    /// Its kind alone.
    #[must_use]
    pub fn name(&self) -> KindName {
        let number = self.first_byte() & !(HAS_BY | HAS_NOTE);
        let name = KindName::ALL.get(usize::from(number));
        *name.unwrap_or(&KindName::ALL[0])
    }

    /// What it says.
    #[must_use]
    pub fn kind(&self) -> Kind {
        self.name().unpack(&mut self.fields())
    }

    /// The fields of an entry of one kind, such as `get::<Ready>()`; nothing if it is of another.
    #[must_use]
    pub fn get<T: KindFields>(&self) -> Option<T> {
        self.is::<T>().then(|| T::unpack(&mut self.fields()))
    }

    /// Whether it is of one kind.
    #[must_use]
    pub fn is<T: KindFields>(&self) -> bool {
        self.name() == T::NAME
    }

    /// Who made it.
    #[must_use]
    pub fn by(&self) -> Option<&str> {
        self.has(HAS_BY).then(|| self.behind_first().text())
    }

    /// Its note.
    #[must_use]
    pub fn note(&self) -> Option<&str> {
        if !self.has(HAS_NOTE) {
            return None;
        }
        let mut bytes = self.behind_first();
        if self.has(HAS_BY) {
            bytes.pass_text();
        }
        Some(bytes.text())
    }

    /// The entry that this one amends or withdraws.
    #[must_use]
    pub fn target(&self) -> Option<Id> {
        let corrects = self.name().corrects();
        corrects.then(|| self.kind().target().cloned()).flatten()
    }

    /// Fold order: day, a bare date before timed entries, instant; entries of a bare date in the order of the work; id.
    #[must_use]
    pub fn fold_order(&self, other: &Self) -> Ordering {
        let order = self.at.cmp(&other.at);
        let order = order.then_with(|| self.turn().cmp(&other.turn()));
        order.then_with(|| self.id.cmp(&other.id))
    }

    /// The entry's turn among those of its day: its kind's if it bears a bare date, since a time says its turn itself.
    fn turn(&self) -> u8 {
        match self.at {
            At::Day(_) => self.name().turn(),
            At::Time(_) => 0,
        }
    }

    /// Has memory give its bytes. Of entries that are fetched one after the other, with nothing in between that must be done
    /// first, it gives several at once; read one by one, each is waited for.
    pub fn fetch(&self) {
        std::hint::black_box(self.first_byte());
    }

    /// Whether another shares the very same bytes.
    #[must_use]
    pub fn is_shared_with(&self, other: &Self) -> bool {
        std::ptr::eq(&raw const **self, &raw const **other)
    }

    fn first_byte(&self) -> u8 {
        self.0.slice.first().copied().unwrap_or(0)
    }

    fn has(&self, bit: u8) -> bool {
        self.first_byte() & bit != 0
    }

    fn behind_first(&self) -> PackedBytes<'_> {
        PackedBytes::new(self.0.slice.get(1..).unwrap_or(&[]))
    }

    /// The fields of its kind.
    fn fields(&self) -> PackedBytes<'_> {
        let mut bytes = self.behind_first();
        for bit in [HAS_BY, HAS_NOTE] {
            if self.has(bit) {
                bytes.pass_text();
            }
        }
        bytes
    }
}

impl PartialEq for PackedEntry {
    fn eq(&self, other: &Self) -> bool {
        // Zero and minus zero are equal, though their bytes differ.
        let same = |a: &Self, b: &Self| a.0.slice == b.0.slice || a.whole() == b.whole();
        self.is_shared_with(other) || (**self == **other && same(self, other))
    }
}

impl fmt::Debug for PackedEntry {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.whole().fmt(f)
    }
}
