//! Every kind of entry and its fields, as one table: the structs, their reading and writing follow from it.

use super::at::At;
use super::composite::{About, Heat, Hormone, Lost, MonthDay, Set};
use super::fields::Fields;
use super::id::Id;
use super::listed::{
    Cover, Cut, Deed, Discarded, Firmness, From as CountedFrom, How, Piece, Units, Wood,
};
use super::value::{
    Celsius, FieldType, Kilopascal, LitresPerHour, Millimetres, Percent, Ppfd, Seconds,
    SquareMetres, Value,
};
use super::{entry::EntryFault, value};
use chrono::NaiveDate;

/// A field as the table has it.
#[derive(Clone, Copy, Debug)]
pub struct Field {
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

/// Defines the kinds: a struct each, the `Kind` of all, and the table of their fields.
macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident = $word:literal {
        $($(#[$field_doc:meta])* $need:ident $field:ident $([$written:literal])?: $type:ty,)*
    })*) => {
        $($(#[$doc])* #[derive(Clone, Debug, PartialEq)]
        pub struct $kind { $(#[doc = concat!("`", name!($field $($written)?), "`")] $(#[$field_doc])* pub $field: slot!($need $type),)* })*

        /// What an entry says, by kind.
        #[derive(Clone, Debug, PartialEq)]
        pub enum Kind { $($(#[$doc])* $kind(Box<$kind>),)* }

        $(impl From<$kind> for Kind {
            fn from(it: $kind) -> Self {
                Self::$kind(Box::new(it))
            }
        })*

        impl Kind {
            /// The words of all kinds.
            pub const WORDS: &'static [&'static str] = &[$($word,)*];

            /// The word of the kind.
            #[must_use]
            pub fn word(&self) -> &'static str {
                match self { $(Self::$kind(_) => $word,)* }
            }

            /// The fields of a kind beside those that all have; nothing if no such kind is known.
            #[must_use]
            pub fn fields_of(word: &str) -> Option<Vec<Field>> {
                match word {
                    $($word => Some(vec![$(Field {
                        name: name!($field $($written)?),
                        required: is_required!($need),
                        wanted: <$type as FieldType>::wanted,
                    },)*]),)*
                    _ => None,
                }
            }

            /// Reads the fields of a kind.
            pub fn read(word: &str, fields: &mut Fields) -> Result<Self, EntryFault> {
                match word {
                    $($word => Ok(Self::$kind(Box::new($kind {
                        $($field: take!($need fields, name!($field $($written)?)),)*
                    }))),)*
                    other => Err(EntryFault::UnknownKind { kind: other.to_owned() }),
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
    Stick = "stick" {
        /// The batch's code, a label for people.
        required batch: String,
        /// The name as typed.
        required taxon: String,
        /// How many cuttings, at least 1.
        required stuck: u32,
        /// When they were cut, if earlier.
        optional taken: At,
        optional wood: Wood,
        optional cut: Cut,
        optional piece: Piece,
        /// The bend test.
        optional firmness: Firmness,
        optional nodes: u32,
        optional length_mm: Millimetres,
        optional leaves: u32,
        optional wounded: bool,
        optional hormone: Hormone,
        optional medium: String,
        optional container: String,
        /// Cuttings to a tray.
        optional per_container: u32,
        /// Cuttings to one finished plant; absent is 1.
        optional per_plant: u32,
        optional place: String,
        optional cover: Cover,
        /// Set point of bottom heat.
        optional heat_c: Heat,
        /// Disinfectant used on the blade.
        optional blade: String,
        /// The stock plant.
        optional source: String,
        optional trial: String,
        optional arm: String,
        /// The stick whose failed cuttings these are, cut anew.
        optional again: Id,
        /// Why it is kept out of the figures.
        optional aside: String,
    }
    /// An inspection with counts.
    Look = "look" {
        required batch: String,
        optional stick: Id,
        optional how: How,
        /// How many were examined; absent: all that remain after this look's losses.
        optional seen: u32,
        optional callused: u32,
        optional rooted: u32,
        optional bottom: u32,
        /// Spoken guesses.
        optional about: About,
        /// Found dead now and removed.
        optional lost: Lost,
        optional again_on: NaiveDate,
    }
    /// Cuttings into their first own pots.
    Pot = "pot" {
        required batch: String,
        optional stick: Id,
        required count: u32,
        optional container: String,
        optional place: String,
    }
    /// Plants now fit for sale.
    Ready = "ready" {
        required batch: String,
        optional stick: Id,
        required count: u32,
        /// From pots (absent), or from the bench: stuck straight into the selling pot.
        optional from: CountedFrom,
    }
    /// Plants gone to a buyer.
    Sold = "sold" {
        required batch: String,
        optional stick: Id,
        required count: u32,
    }
    /// Cuttings or plants thrown out.
    Discard = "discard" {
        required batch: String,
        optional stick: Id,
        required count: u32,
        /// From the bench (absent), or from pots.
        optional from: CountedFrom,
        optional why: Discarded,
    }
    /// A batch moved, or a part of it made a batch of its own.
    Move = "move" {
        required batch: String,
        optional stick: Id,
        optional place: String,
        optional cover: Cover,
        optional heat_c: Heat,
        /// How many leave, if a part only.
        optional count: u32,
        /// The code of the part.
        optional into: String,
        optional again_on: NaiveDate,
    }
    /// Something done to a batch or a place.
    Treat = "treat" {
        required what: Deed,
        /// The means, as a feed or a spray.
        optional with: String,
        optional batch: String,
        optional stick: Id,
        optional place: String,
    }
    /// The air, light and medium at a place.
    Climate = "climate" {
        required place: String,
        optional air_c: Celsius,
        optional rh_pct: Percent,
        optional leaf_c: Celsius,
        optional medium_c: Celsius,
        optional mist_on_s: Seconds,
        optional mist_every_s: Seconds,
        optional ppfd: Ppfd,
        optional vent: String,
    }
    /// What is known of a place.
    Place = "place" {
        required place: String,
        optional aliases: Vec<String>,
        optional cover: Cover,
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
    Taxon = "taxon" {
        required taxon: String,
        optional aliases: Vec<String>,
        /// Breeders' rights stand on it.
        optional protected: bool,
        /// Base temperature of degree-days.
        optional base_c: Celsius,
        optional first_look_days: u32,
    }
    /// The nursery's own settings.
    Nursery = "nursery" {
        optional season_from: MonthDay,
        optional units: Units,
    }
    /// Plants wanted by a day.
    Target = "target" {
        required taxon: String,
        required count: u32,
        required by_date: NaiveDate,
        optional wood: Wood,
    }
    /// Anything else worth keeping; its words are the entry's note.
    Remark = "remark" {
        optional batch: String,
        optional stick: Id,
        optional place: String,
        optional again_on: NaiveDate,
    }
    /// New values for fields of an earlier entry.
    Amend = "amend" {
        required of: Id,
        required set: Set,
    }
    /// An earlier entry taken back.
    Withdraw = "withdraw" {
        required of: Id,
        optional reason ["why"]: String,
    }
}

impl Kind {
    /// Whether a bigger rule than a single field's is broken: the field and what is wanted of it.
    pub fn broken_rule(&self, note: Option<&str>) -> Option<(&'static str, String)> {
        let say = |field, wanted: &str| Some((field, wanted.to_owned()));
        match self {
            Self::Stick(it) if it.stuck < 1 => say(
                "stuck",
                &format!("a whole number from 1 to {}", value::MOST),
            ),
            Self::Move(it) if it.count.is_some() != it.into.is_some() => {
                say("into", "both `count` and `into` for a part, or neither")
            }
            Self::Move(it)
                if it.place.is_none()
                    && it.cover.is_none()
                    && it.heat_c.is_none()
                    && it.count.is_none() =>
            {
                say(
                    "place",
                    "at least one of `place`, `cover`, `heat_c`, or a part's `count` and `into`",
                )
            }
            Self::Treat(it) if it.batch.is_some() == it.place.is_some() => {
                say("batch", "exactly one of `batch` and `place`")
            }
            Self::Remark(it) if it.batch.is_some() && it.place.is_some() => {
                say("place", "`batch` or `place`, or neither, but not both")
            }
            Self::Remark(_) if note.is_none_or(|n| n.trim().is_empty()) => say("note", "text"),
            _ => None,
        }
    }
}
