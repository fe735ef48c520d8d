//! The parts of a plant's name, and what is said about a name as typed: corrections and doubts.

/// The sign that stands before a name: of a hybrid (ICN Art. H.3.1) or of a graft-chimaera (ICNCP).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Sign {
    /// No sign.
    #[default]
    Plain,
    /// `×`, a hybrid.
    Cross,
    /// `+`, a graft-chimaera.
    Graft,
}

impl Sign {
    /// The sign as it is shown: nothing, `×` or `+`.
    #[must_use]
    pub fn mark(self) -> &'static str {
        match self {
            Sign::Plain => "",
            Sign::Cross => "×",
            Sign::Graft => "+",
        }
    }
}

/// A cultivar Group or, among orchids, a grex (ICNCP): its name without the closing word.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CultivarGroup {
    /// The name alone, such as `Teller`.
    pub name: String,
    /// True for a grex, false for a Group.
    pub grex: bool,
}

impl CultivarGroup {
    /// The name with its closing word: `Teller Group`, `Sorel grex`.
    #[must_use]
    pub fn shown(&self) -> String {
        let word = if self.grex { "grex" } else { "Group" };
        format!("{} {word}", self.name)
    }
}

/// How a name as typed stands under the codes, mildest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum NameVerdict {
    /// In order.
    Valid,
    /// Allowed where nothing better can be typed.
    Tolerate,
    /// Against a rule; put right if it could be.
    Invalid,
}

/// Something put right in a name, or worth saying about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NameNote {
    /// The genus had no capital, or too many (ICN Art. 20.1).
    GenusCase,
    /// An epithet was typed in capitals (ICN Rec. 60F).
    EpithetCase,
    /// The letter x stood for the sign × (ICN Rec. H.3A).
    LetterX,
    /// A sign × stood before a cultivar, where it says nothing (ICN Art. H.3.1).
    LooseSign,
    /// Double quotes stood around the cultivar (ICNCP).
    DoubleQuotes,
    /// The closing quote was missing.
    Unclosed,
    /// The mark `cv.` is no longer used (ICNCP).
    CvMark,
    /// A word of the cultivar or Group had no capital (ICNCP).
    CultivarCase,
    /// A cultivar has more than 30 characters (ICNCP, for newer names).
    LongCultivar,
    /// A parent in a formula lacks its genus (ICN Art. H.2.1).
    ParentWithoutGenus,
    /// A part was not understood and stays as typed.
    Unread(String),
}

impl NameNote {
    /// How grave this is. What merely was not understood is no breach.
    #[must_use]
    pub fn verdict(&self) -> NameVerdict {
        match self {
            NameNote::Unread(_) | NameNote::LongCultivar => NameVerdict::Valid,
            NameNote::LetterX => NameVerdict::Tolerate,
            _ => NameVerdict::Invalid,
        }
    }
}

/// A rank below the species (ICN Art. 4), highest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RankLevel {
    /// `subsp.`
    Subspecies,
    /// `var.`
    Variety,
    /// `subvar.`
    Subvariety,
    /// `f.`
    Form,
    /// `subf.`
    Subform,
}

/// Level, mark, spellings understood (without the full stop, lower case).
const LEVELS: [(RankLevel, &str, &[&str]); 5] = [
    (
        RankLevel::Subspecies,
        "subsp.",
        &["subsp", "ssp", "subspecies"],
    ),
    (RankLevel::Variety, "var.", &["var", "varietas", "variety"]),
    (RankLevel::Subvariety, "subvar.", &["subvar", "subvarietas"]),
    (RankLevel::Form, "f.", &["f", "fo", "forma", "form"]),
    (RankLevel::Subform, "subf.", &["subf", "subforma"]),
];

impl RankLevel {
    fn row(self) -> &'static (RankLevel, &'static str, &'static [&'static str]) {
        &LEVELS[self as usize]
    }

    /// The mark shown before the epithet, such as `subsp.`.
    #[must_use]
    pub fn mark(self) -> &'static str {
        self.row().1
    }
}

/// A rank below the species, and whether it is a hybrid's (`notho-`, ICN Art. H.3.1).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rank {
    /// How far below the species.
    pub level: RankLevel,
    /// Whether `notho-` stands before it.
    pub notho: bool,
}

impl Rank {
    /// Reads a rank's mark, with or without its full stop, in any case; None for other words.
    #[must_use]
    pub fn parse(word: &str) -> Option<Rank> {
        let word = word.to_lowercase();
        let word = word.strip_suffix('.').unwrap_or(&word);
        let find = |bare: &str| LEVELS.iter().find(|row| row.2.contains(&bare));
        if let Some(row) = find(word) {
            let level = row.0;
            return Some(Rank {
                level,
                notho: false,
            });
        }
        let bare = word
            .strip_prefix("notho")
            .or_else(|| word.strip_prefix('n'));
        let level = find(bare?)?.0;
        Some(Rank { level, notho: true })
    }

    /// The mark as shown, such as `nothosubsp.`.
    #[must_use]
    pub fn shown(self) -> String {
        let notho = if self.notho { "notho" } else { "" };
        format!("{notho}{}", self.level.mark())
    }
}
