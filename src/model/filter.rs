//! Which batches are meant, and by what they are grouped: the shared filters and group keys.

use super::listed::Wood;
use chrono::NaiveDate;

/// The batches that a question is about; an absent part asks for all.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Filter {
    /// A taxon, a genus, or any part of a name; compared folded, aliases resolved.
    pub taxon: Option<String>,
    /// This very taxon, by its key; no part of a name.
    pub only: Option<String>,
    /// Wood stage at sticking.
    pub wood: Option<Wood>,
    /// The nursery's year of sticking.
    pub season: Option<i32>,
    /// The place at sticking, its spot ignored unless given.
    pub place: Option<String>,
    /// The trial.
    pub trial: Option<String>,
    /// Stuck on this day or later.
    pub since: Option<NaiveDate>,
    /// Stuck on this day or earlier.
    pub until: Option<NaiveDate>,
}

/// Defines the group keys with their words.
macro_rules! group_keys {
    ($($item:ident = $word:literal,)*) => {
        /// A fact at sticking by which batches are grouped.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum GroupKey { $(#[doc = concat!("`", $word, "`")] $item,)* }

        impl GroupKey {
            /// All keys, in the order of the documentation.
            pub const ALL: &'static [Self] = &[$(Self::$item,)*];

            /// Its word.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $(Self::$item => $word,)* }
            }

            /// The key of that word.
            #[must_use]
            pub fn from_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|key| key.word() == word)
            }
        }

        impl serde::Serialize for GroupKey {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(self.word())
            }
        }
    };
}

group_keys! {
    Taxon = "taxon", Wood = "wood", Season = "season", Month = "month", Week = "week",
    Place = "place", Cover = "cover", Hormone = "hormone", Medium = "medium", Cut = "cut",
    Piece = "piece", Source = "source", Trial = "trial", Arm = "arm",
}
