//! Every kind of entry and its fields, as one table: the structs, their reading and writing follow from it.

use super::at::At;
use super::composite::{Heat, Hormone, Lost, MonthDay, Set, SpokenGuesses};
use super::id::Id;
use super::listed::{
    CountedFrom, Cover, Cut, CuttingPiece, DiscardReason, Firmness, LookMethod, Treatment, Units,
    Wood,
};
use super::packing::{PackedBytes, Packs, Presence};
use super::takes::Takes;
use super::value;
use super::value::{
    Celsius, EntryFault, FieldSource, FieldType, Kilopascal, LitresPerHour, Millimetres, Percent,
    Ppfd, Seconds, SquareMetres, Value,
};
use chrono::NaiveDate;
use compact_str::CompactString;
use std::sync::Arc;

/// A field as the table has it.
#[derive(Clone, Copy, Debug)]
pub struct FieldSpec {
    /// Its name in the journal.
    pub name: &'static str,
    /// Whether an entry of the kind must have it.
    pub required: bool,
    /// What it holds, as an error says it.
    pub wanted: fn() -> String,
}

/// Makes the field's Rust type: as it is if required, else optional.
macro_rules! slot {
    (required $type:ty) => { $type };
    (optional $type:ty) => { Option<$type> };
}
macro_rules! take {
    (required $fields:ident, $name:expr) => {
        $fields.required($name)?
    };
    (optional $fields:ident, $name:expr) => {
        $fields.optional($name)?
    };
}
macro_rules! put {
    (required $out:ident, $name:expr, $value:expr) => {
        $out.push(($name, $value.write()))
    };
    (optional $out:ident, $name:expr, $value:expr) => {
        $out.extend($value.as_ref().map(|v| ($name, FieldType::write(v))))
    };
}
macro_rules! is_required {
    (required) => {
        true
    };
    (optional) => {
        false
    };
}

/// The fields of one kind.
pub trait KindFields: Packs {
    /// The kind.
    const NAME: KindName;
}

/// Why an entry has no fields of the kind asked for: it is of another kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OtherKind;

/// A batch as an entry names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BatchReference<'a> {
    /// Its code, a label for people.
    pub code: &'a str,
    /// Its identity, which decides if it is given: the id of the entry that began the batch.
    pub stick: Option<&'a Id>,
}

/// Notes whether an optional field is there, packs a field that is, and unpacks it.
macro_rules! note {
    (required $presence:ident, $value:expr) => {};
    (optional $presence:ident, $value:expr) => {
        $presence.note($value.is_some())
    };
}
macro_rules! pack {
    (required $out:ident, $value:expr) => {
        Packs::pack(&$value, $out)
    };
    (optional $out:ident, $value:expr) => {
        $value.iter().for_each(|value| Packs::pack(value, $out))
    };
}
macro_rules! unpack {
    (required $from:ident, $presence:ident) => {
        Packs::unpack($from)
    };
    (optional $from:ident, $presence:ident) => {
        $presence.next_is_there().then(|| Packs::unpack($from))
    };
}
macro_rules! visit {
    (required $value:expr, $name:expr, $visit:ident) => {
        FieldType::visit_texts(&$value, $name, $visit)
    };
    (optional $value:expr, $name:expr, $visit:ident) => {
        if let Some(value) = &$value {
            FieldType::visit_texts(value, $name, $visit);
        }
    };
}
macro_rules! about {
    (nothing $it:ident) => {{
        let _ = $it;
        None
    }};
    (batch $it:ident) => {
        Some(BatchReference {
            code: &$it.batch,
            stick: $it.stick.as_ref(),
        })
    };
    (batch_or_place $it:ident) => {
        $it.batch.as_deref().map(|code| BatchReference {
            code,
            stick: $it.stick.as_ref(),
        })
    };
}
macro_rules! about_mut {
    (nothing $it:ident) => {{
        let _ = $it;
        None
    }};
    (batch $it:ident) => {
        Some((&$it.batch, &mut $it.stick))
    };
    (batch_or_place $it:ident) => {
        $it.batch.as_deref().map(|code| (code, &mut $it.stick))
    };
}
macro_rules! begins {
    (nothing $it:ident) => {{
        let _ = $it;
        None
    }};
    (batch $it:ident) => {
        Some(&$it.batch)
    };
    (part $it:ident) => {
        $it.into.as_deref()
    };
}
macro_rules! begins_mut {
    (nothing $it:ident) => {{
        let _ = $it;
        None
    }};
    (batch $it:ident) => {
        Some(&mut Arc::make_mut($it).batch)
    };
    (part $it:ident) => {
        $it.into.as_mut()
    };
}
macro_rules! corrects {
    (nothing $it:ident) => {{
        let _ = $it;
        None
    }};
    (entry $it:ident) => {
        Some(&$it.target)
    };
}

macro_rules! corrects_any {
    (nothing) => {
        false
    };
    (entry) => {
        true
    };
}

/// Defines the kinds: the fields of each as a struct, the `Kind` of all, the table of fields, and the kind's part
/// in a batch's life. A row says: how its fields are held (a stick's are shared with its batch); its turn in a day's work; the batch it is about (`batch`, `batch_or_place`,
/// `nothing`); whether it begins a batch (`batch`, `part`, `nothing`); what it takes away; whether it corrects an entry.
macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident($held:ident $fields:ident) = $word:literal
        [turn $turn:literal; about $about:ident; begins $begins:ident; takes |$entry:ident| $takes:expr; corrects $corrects:ident] {
        $($(#[$field_doc:meta])* $need:ident $field:ident $([$written:literal])?: $type:ty,)*
    })*) => {
        $($(#[$doc])* #[derive(Clone, Debug, PartialEq)]
        pub struct $fields { $(#[doc = concat!("`", name!($field $($written)?), "`")] $(#[$field_doc])* pub $field: slot!($need $type),)* })*

        /// What an entry says, by kind.
        #[derive(Clone, Debug, PartialEq)]
        pub enum Kind { $($(#[$doc])* $kind($held<$fields>),)* }

        /// The kinds alone, as they are numbered in packed entries.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        #[repr(u8)]
        pub enum KindName { $(#[doc = concat!("`", $word, "`")] $kind,)* }

        impl KindName {
            /// All, by their numbers.
            pub const ALL: &'static [Self] = &[$(Self::$kind,)*];

            /// The word of the kind.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $(Self::$kind => $word,)* }
            }

            /// The turn of the kind in a day's work: entries of one day without a time fold in this order.
            #[must_use]
            pub fn turn(self) -> u8 {
                match self { $(Self::$kind => $turn,)* }
            }

            /// Whether entries of the kind amend or withdraw another.
            #[must_use]
            pub fn corrects(self) -> bool {
                match self { $(Self::$kind => corrects_any!($corrects),)* }
            }

            /// The fields of an entry of this kind, which were packed next.
            #[must_use]
            pub fn unpack(self, from: &mut PackedBytes<'_>) -> Kind {
                match self { $(Self::$kind => Kind::$kind($held::new(Packs::unpack(from))),)* }
            }
        }

        $(impl Packs for $fields {
            fn pack(&self, out: &mut Vec<u8>) {
                #[allow(unused_mut)]
                let mut presence = Presence::default();
                $(note!($need presence, self.$field);)*
                presence.pack(out);
                $(pack!($need out, self.$field);)*
            }

            fn unpack(from: &mut PackedBytes<'_>) -> Self {
                #[allow(unused_mut, unused_variables)]
                let mut presence = Presence::unpack(from);
                Self { $($field: unpack!($need from, presence),)* }
            }
        }

        impl KindFields for $fields {
            const NAME: KindName = KindName::$kind;
        }

        impl From<$fields> for Kind {
            fn from(fields: $fields) -> Self {
                Self::$kind($held::new(fields))
            }
        }

        impl<'a> TryFrom<&'a Kind> for &'a $fields {
            type Error = OtherKind;

            fn try_from(kind: &'a Kind) -> Result<Self, OtherKind> {
                match kind {
                    Kind::$kind(fields) => Ok(fields),
                    _ => Err(OtherKind),
                }
            }
        })*

        impl Kind {
            /// The words of all kinds.
            pub const WORDS: &'static [&'static str] = &[$($word,)*];

            /// The fields of an entry of one kind, such as `kind.get::<Ready>()`; nothing if it is of another.
            #[must_use]
            pub fn get<'a, T>(&'a self) -> Option<&'a T>
            where
                &'a T: TryFrom<&'a Kind>,
            {
                self.try_into().ok()
            }

            /// The kind alone.
            #[must_use]
            pub fn name(&self) -> KindName {
                match self { $(Self::$kind(_) => KindName::$kind,)* }
            }

            /// The word of the kind.
            #[must_use]
            pub fn word(&self) -> &'static str {
                self.name().word()
            }

            /// Adds the fields of the kind to packed bytes.
            pub fn pack(&self, out: &mut Vec<u8>) {
                match self { $(Self::$kind(it) => Packs::pack(&**it, out),)* }
            }

            /// The fields of a kind beside those that all have; nothing if no such kind is known.
            #[must_use]
            pub fn fields_of(word: &str) -> Option<Vec<FieldSpec>> {
                match word {
                    $($word => Some(vec![$(FieldSpec {
                        name: name!($field $($written)?),
                        required: is_required!($need),
                        wanted: <$type as FieldType>::wanted,
                    },)*]),)*
                    _ => None,
                }
            }

            /// Reads the fields of a kind.
            ///
            /// # Errors
            /// If the kind is unknown, or a field is missing or unfit.
            pub fn read<S: FieldSource>(word: &str, values: &mut S) -> Result<Self, S::Fault> {
                match word {
                    $($word => Ok(Self::$kind($held::new($fields {
                        $($field: take!($need values, name!($field $($written)?)),)*
                    }))),)*
                    other => Err(EntryFault::UnknownKind { kind: other.to_owned() }.into()),
                }
            }

            /// The fields of the kind as written, in the order of the table.
            #[must_use]
            pub fn write(&self) -> Vec<(&'static str, Value)> {
                let mut out: Vec<(&'static str, Value)> = Vec::new();
                match self {
                    $(Self::$kind(it) => { $(put!($need out, name!($field $($written)?), it.$field);)* })*
                }
                out
            }

            /// The batch that the entry is about, if it names one. A stick names none: it begins one.
            #[must_use]
            pub fn batch_named(&self) -> Option<BatchReference<'_>> {
                match self { $(Self::$kind(it) => about!($about it),)* }
            }

            /// The code of the batch that the entry is about, and the field for that batch's identity.
            pub fn batch_named_mut(&mut self) -> Option<(&str, &mut Option<Id>)> {
                match self { $(Self::$kind(it) => about_mut!($about it),)* }
            }

            /// The code of the batch that the entry begins: a stick, or a move that makes a part.
            #[must_use]
            pub fn code_begun(&self) -> Option<&str> {
                match self { $(Self::$kind(it) => begins!($begins it),)* }
            }

            /// The code of the batch that the entry begins, to be changed.
            pub fn code_begun_mut(&mut self) -> Option<&mut CompactString> {
                match self { $(Self::$kind(it) => begins_mut!($begins it),)* }
            }

            /// What the entry takes from its batch, by its own words.
            #[must_use]
            pub fn takes(&self) -> Takes {
                match self { $(Self::$kind(it) => { let takes: fn(&$fields) -> Takes = |$entry| $takes; takes(it) })* }
            }

            /// The entry that this one amends or withdraws.
            #[must_use]
            pub fn target(&self) -> Option<&Id> {
                match self { $(Self::$kind(it) => corrects!($corrects it),)* }
            }

            /// Calls `visit` with the name of a field and a text in it, for each text in the order of the table;
            /// the substances of a hormone come as `active`.
            pub fn visit_texts<'a>(&'a self, visit: &mut dyn FnMut(&'static str, &'a str)) {
                match self {
                    $(Self::$kind(it) => { $(visit!($need it.$field, name!($field $($written)?), visit);)* })*
                }
            }
        }
    };
}
macro_rules! name {
    ($field:ident) => {
        stringify!($field)
    };
    ($field:ident $written:literal) => {
        $written
    };
}

kinds! {
    /// Cuttings of one taxon stuck together and treated alike: a batch begins.
    Stick(Arc Stick) = "stick" [turn 0; about nothing; begins batch; takes |_it| Takes::Nothing; corrects nothing] {
        /// The batch's code, a label for people.
        required batch: CompactString,
        /// The name as typed.
        required taxon: CompactString,
        /// How many cuttings, at least 1.
        required stuck: u32,
        /// When they were cut, if earlier.
        optional taken: At,
        optional wood: Wood,
        optional cut: Cut,
        optional piece: CuttingPiece,
        /// The bend test.
        optional firmness: Firmness,
        optional nodes: u32,
        optional length_mm: Millimetres,
        optional leaves: u32,
        optional wounded: bool,
        optional hormone: Hormone,
        optional medium: CompactString,
        optional container: CompactString,
        /// Cuttings to a tray.
        optional per_container: u32,
        /// Cuttings to one finished plant; absent is 1.
        optional per_plant: u32,
        optional place: CompactString,
        optional cover: Cover,
        /// Set point of bottom heat.
        optional heat_c: Heat,
        /// Disinfectant used on the blade.
        optional blade: CompactString,
        /// The stock plant.
        optional source: CompactString,
        optional trial: CompactString,
        optional arm: CompactString,
        /// The stick whose failed cuttings these are, cut anew.
        optional again: Id,
        /// Why it is kept out of the figures.
        optional aside: CompactString,
    }
    /// An inspection with counts.
    Look(Box Look) = "look" [turn 1; about batch; begins nothing; takes |it| Takes::Cuttings(it.lost_in_all()); corrects nothing] {
        required batch: CompactString,
        optional stick: Id,
        optional how: LookMethod,
        /// How many were examined; absent: all that remain after this look's losses.
        optional seen: u32,
        optional callused: u32,
        optional rooted: u32,
        optional bottom: u32,
        /// Spoken guesses.
        optional about: SpokenGuesses,
        /// Found dead now and removed.
        optional lost: Box<Lost>,
        optional again_on: NaiveDate,
    }
    /// Cuttings into their first own pots.
    Pot(Box Pot) = "pot" [turn 5; about batch; begins nothing; takes |it| Takes::Cuttings(it.count); corrects nothing] {
        required batch: CompactString,
        optional stick: Id,
        required count: u32,
        optional container: CompactString,
        optional place: CompactString,
    }
    /// Plants now fit for sale.
    Ready(Box Ready) = "ready" [turn 6; about batch; begins nothing; takes |it| match it.from {
        Some(CountedFrom::Bench) => Takes::PlantsFromBench(it.count),
        Some(CountedFrom::Pots) | None => Takes::FromPots(it.count),
    }; corrects nothing] {
        required batch: CompactString,
        optional stick: Id,
        required count: u32,
        /// From pots (absent), or from the bench: stuck straight into the selling pot.
        optional from: CountedFrom,
    }
    /// Plants gone to a buyer.
    Sold(Box Sold) = "sold" [turn 7; about batch; begins nothing; takes |it| Takes::FromPots(it.count); corrects nothing] {
        required batch: CompactString,
        optional stick: Id,
        required count: u32,
    }
    /// Cuttings or plants thrown out.
    Discard(Box Discard) = "discard" [turn 8; about batch; begins nothing; takes |it| match it.from {
        Some(CountedFrom::Pots) => Takes::FromPots(it.count),
        Some(CountedFrom::Bench) | None => Takes::Cuttings(it.count),
    }; corrects nothing] {
        required batch: CompactString,
        optional stick: Id,
        required count: u32,
        /// From the bench (absent), or from pots.
        optional from: CountedFrom,
        optional why: DiscardReason,
    }
    /// A batch moved, or a part of it made a batch of its own.
    Move(Box Move) = "move" [turn 4; about batch; begins part; takes |it| match it.into {
        Some(_) => Takes::Part(it.count.unwrap_or(0)),
        None => Takes::Nothing,
    }; corrects nothing] {
        required batch: CompactString,
        optional stick: Id,
        optional place: CompactString,
        optional cover: Cover,
        optional heat_c: Heat,
        /// How many leave, if a part only.
        optional count: u32,
        /// The code of the part.
        optional into: CompactString,
        optional again_on: NaiveDate,
    }
    /// Something done to a batch or a place.
    Treat(Box Treat) = "treat" [turn 2; about batch_or_place; begins nothing; takes |_it| Takes::Nothing; corrects nothing] {
        required what: Treatment,
        /// The means, as a feed or a spray.
        optional with: CompactString,
        optional batch: CompactString,
        optional stick: Id,
        optional place: CompactString,
    }
    /// The air, light and medium at a place.
    Climate(Box Climate) = "climate" [turn 3; about nothing; begins nothing; takes |_it| Takes::Nothing; corrects nothing] {
        required place: CompactString,
        optional air_c: Celsius,
        optional rh_pct: Percent,
        optional leaf_c: Celsius,
        optional medium_c: Celsius,
        optional mist_on_s: Seconds,
        optional mist_every_s: Seconds,
        optional ppfd: Ppfd,
        optional vent: CompactString,
    }
    /// What is known of a place.
    Place(Box PlaceFacts) = "place" [turn 10; about nothing; begins nothing; takes |_it| Takes::Nothing; corrects nothing] {
        required place: CompactString,
        optional aliases: Vec<String>,
        optional cover: Cover,
        /// Set point of bottom heat.
        optional heat_c: Heat,
        optional medium: CompactString,
        /// Room for so many trays.
        optional trays: u32,
        optional nozzles: u32,
        optional nozzle_l_h: LitresPerHour,
        optional area_m2: SquareMetres,
        optional vpd_low_kpa: Kilopascal,
        optional vpd_high_kpa: Kilopascal,
        /// No longer used.
        optional closed: bool,
    }
    /// What is known of a taxon.
    Taxon(Box TaxonFacts) = "taxon" [turn 10; about nothing; begins nothing; takes |_it| Takes::Nothing; corrects nothing] {
        required taxon: CompactString,
        optional aliases: Vec<String>,
        /// Breeders' rights stand on it.
        optional protected: bool,
        /// Base temperature of degree-days.
        optional base_c: Celsius,
        optional first_look_days: u32,
    }
    /// The nursery's own settings.
    Nursery(Box NurserySettings) = "nursery" [turn 10; about nothing; begins nothing; takes |_it| Takes::Nothing; corrects nothing] {
        optional season_from: MonthDay,
        optional units: Units,
    }
    /// Plants wanted by a day.
    Target(Box Target) = "target" [turn 10; about nothing; begins nothing; takes |_it| Takes::Nothing; corrects nothing] {
        required taxon: CompactString,
        required count: u32,
        required by_date: NaiveDate,
        optional wood: Wood,
    }
    /// Anything else worth keeping; its words are the entry's note.
    Remark(Box Remark) = "remark" [turn 9; about batch_or_place; begins nothing; takes |_it| Takes::Nothing; corrects nothing] {
        optional batch: CompactString,
        optional stick: Id,
        optional place: CompactString,
        optional again_on: NaiveDate,
    }
    /// New values for fields of an earlier entry.
    Amend(Box Amend) = "amend" [turn 10; about nothing; begins nothing; takes |_it| Takes::Nothing; corrects entry] {
        required target ["of"]: Id,
        required set: Set,
    }
    /// An earlier entry withdrawn.
    Withdraw(Box Withdraw) = "withdraw" [turn 10; about nothing; begins nothing; takes |_it| Takes::Nothing; corrects entry] {
        required target ["of"]: Id,
        optional reason ["why"]: CompactString,
    }
}

impl Kind {
    /// The rule that joins several fields and is broken, if one is: a field and what is wanted of it.
    #[must_use]
    pub fn broken_rule(&self, note: Option<&str>) -> Option<(&'static str, String)> {
        match self {
            Self::Stick(it) => (it.stuck < 1).then(|| {
                let wanted = format!("a whole number from 1 to {}", value::MOST);
                ("stuck", wanted)
            }),
            Self::Move(it) => it.broken_rule(),
            Self::Treat(it) => (it.batch.is_some() == it.place.is_some())
                .then(|| ("batch", "exactly one of `batch` and `place`".to_owned())),
            Self::Remark(it) => it.broken_rule(note),
            Self::Look(_)
            | Self::Pot(_)
            | Self::Ready(_)
            | Self::Sold(_)
            | Self::Discard(_)
            | Self::Climate(_)
            | Self::Place(_)
            | Self::Taxon(_)
            | Self::Nursery(_)
            | Self::Target(_)
            | Self::Amend(_)
            | Self::Withdraw(_) => None,
        }
    }
}

impl Move {
    fn broken_rule(&self) -> Option<(&'static str, String)> {
        if self.count.is_some() != self.into.is_some() {
            let wanted = "both `count` and `into` for a part, or neither";
            return Some(("into", wanted.to_owned()));
        }
        let moves = self.place.is_some() || self.cover.is_some() || self.heat_c.is_some();
        let wanted = "at least one of `place`, `cover`, `heat_c`, or a part's `count` and `into`";
        (!moves && self.count.is_none()).then(|| ("place", wanted.to_owned()))
    }
}

impl Remark {
    fn broken_rule(&self, note: Option<&str>) -> Option<(&'static str, String)> {
        if self.batch.is_some() && self.place.is_some() {
            let wanted = "`batch` or `place`, or neither, but not both";
            return Some(("place", wanted.to_owned()));
        }
        let is_blank = note.is_none_or(|note| note.trim().is_empty());
        is_blank.then(|| ("note", "text".to_owned()))
    }
}

impl Amend {
    /// The batch that the amended entry is put to, by its key; nothing if it stays with its own.
    #[must_use]
    pub fn batch_set(&self) -> Option<Id> {
        let mut set = self.set.iter();
        let (_, value) = set.find(|(name, _)| name == "stick")?;
        Id::read(value)
    }
}

impl Look {
    /// How many were found dead and removed, by whatever cause.
    #[must_use]
    pub fn lost_in_all(&self) -> u32 {
        self.lost.as_ref().map_or(0, |lost| lost.total())
    }

    /// Whether it counts or guesses any stage, or says how many were seen.
    #[must_use]
    pub fn is_tally(&self) -> bool {
        self.seen.is_some()
            || self.callused.is_some()
            || self.rooted.is_some()
            || self.bottom.is_some()
            || self.about.is_some()
    }

    /// How the look was made: as it says, else by what it counts.
    #[must_use]
    pub fn method(&self) -> LookMethod {
        self.how.unwrap_or(LookMethod::by_default(self.is_tally()))
    }
}

// The table derives the same for every kind, and no other kind has a default.
#[allow(clippy::derivable_impls)]
impl Default for NurserySettings {
    fn default() -> Self {
        Self {
            season_from: None,
            units: None,
        }
    }
}
