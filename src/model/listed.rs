//! The listed words of the trade that fields may hold, each list one table.

use super::value::{FieldType, Value};

/// How a listed word that is not known is passed over, in the lists that only describe.
macro_rules! unknown_word {
    (describes) => {
        fn unknown_word(value: &Value) -> Option<(Option<&'static str>, &str)> {
            let word = value.text()?;
            Self::from_word(word).is_none().then_some((None, word))
        }
    };
}

/// Defines an enumeration whose members are written as listed words. A list that `describes` passes over a word that it does not know; any other
/// refuses it.
macro_rules! listed {
    ($($(#[$doc:meta])* $name:ident $($describes:ident)? { $($(#[$item_doc:meta])* $item:ident = $word:literal,)* })*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$item_doc])* #[doc = concat!("`", $word, "`")] $item,)* }

        impl $name {
            /// All members, in the order of the trade.
            pub const ALL: &'static [Self] = &[$(Self::$item,)*];

            /// The word as the journal writes it.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $(Self::$item => $word,)* }
            }

            /// The member of that word.
            #[must_use]
            pub fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$item),)* _ => None }
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(self.word())
            }
        }

        impl FieldType for $name {
            fn wanted() -> String {
                let words: Vec<_> = Self::ALL.iter().map(|item| item.word()).collect();
                format!("one of {}", words.join(", "))
            }
            fn read(value: &Value) -> Option<Self> {
                Self::from_word(value.text()?)
            }
            fn from_text(text: &str) -> Option<Self> {
                Self::from_word(text)
            }
            fn write(&self) -> Value {
                Value::Text(self.word().into())
            }
            $(unknown_word!($describes);)?
        }
    )*};
}

listed! {
    /// How ripe the wood of the cuttings was.
    Wood describes { Softwood = "softwood", Greenwood = "greenwood", SemiRipe = "semi-ripe", Hardwood = "hardwood", Herbaceous = "herbaceous", }
    /// Where the cut was made.
    Cut describes { Nodal = "nodal", Internodal = "internodal", Heel = "heel", Mallet = "mallet", Basal = "basal", }
    /// Which piece of the shoot it is.
    CuttingPiece describes { Tip = "tip", Middle = "middle", Base = "base", LeafBud = "leaf-bud", Leaf = "leaf", Root = "root", }
    /// The bend test.
    Firmness describes { Bends = "bends", Snaps = "snaps", Rigid = "rigid", }
    /// What covers the cuttings.
    Cover describes { Mist = "mist", Fog = "fog", Case = "case", Frame = "frame", Box = "box", Film = "film", Tent = "tent", Open = "open", }
    /// What carries the hormone.
    Carrier describes { Talc = "talc", Gel = "gel", Liquid = "liquid", Spray = "spray", }
    /// How the cuttings were looked at.
    LookMethod { Lift = "lift", Tug = "tug", Under = "under", Glance = "glance", }
    /// A guess at a share, as spoken.
    Guess { None = "none", Few = "few", Half = "half", Most = "most", All = "all", }
    /// Why a cutting was lost.
    Cause { Blackened = "blackened", Wilted = "wilted", Mould = "mould", Eaten = "eaten", Winter = "winter", Other = "other", Unknown = "unknown", }
    /// Why cuttings or plants were discarded.
    DiscardReason {
        GivenUp = "given-up", Surplus = "surplus", Restuck = "restuck", Unlabelled = "unlabelled", Accident = "accident",
        Blackened = "blackened", Wilted = "wilted", Mould = "mould", Eaten = "eaten", Winter = "winter", Other = "other", Unknown = "unknown",
    }
    /// Where plants are counted: on the bench, or in their own pots.
    CountedFrom { Bench = "bench", Pots = "pots", }
    /// What was done to a batch or a place.
    Treatment {
        Mist = "mist", Vent = "vent", Uncover = "uncover", Wean = "wean", Shade = "shade", Heat = "heat", Water = "water",
        Feed = "feed", Spray = "spray", Pinch = "pinch", PickOver = "pick-over", Clean = "clean", Other = "other",
    }
    /// The unit of temperature that the nursery reads.
    Units { C = "C", F = "F", }
}

impl LookMethod {
    /// How a look was made that does not say so: a lift if it tallies anything, else a glance at losses alone.
    #[must_use]
    pub fn by_default(is_tally: bool) -> Self {
        if is_tally { Self::Lift } else { Self::Glance }
    }

    /// Whether a look made so examines a stage (`callused`, `rooted`, `bottom`).
    #[must_use]
    pub fn examines(self, stage: &str) -> bool {
        match self {
            Self::Lift => true,
            Self::Tug => stage == "rooted",
            Self::Under => stage == "bottom",
            Self::Glance => false,
        }
    }
}

impl DiscardReason {
    /// Whether cuttings were taken away alive, so that nobody knows what would have become of them. All else is an
    /// outcome: clearing a failed tray is no accident.
    #[must_use]
    pub fn takes_alive(self) -> bool {
        match self {
            Self::Surplus | Self::Unlabelled | Self::Accident => true,
            Self::GivenUp
            | Self::Restuck
            | Self::Blackened
            | Self::Wilted
            | Self::Mould
            | Self::Eaten
            | Self::Winter
            | Self::Other
            | Self::Unknown => false,
        }
    }

    /// The cause of loss that it stands for, if it is one.
    #[must_use]
    pub fn cause(self) -> Option<Cause> {
        Cause::from_word(self.word())
    }
}
