//! Ranks below the species and their many spellings. It reads single words only.

/// A rank below the species (ICN Art. 4), highest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
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

/// Level, mark, word, spellings understood (without the full stop, lower case).
const LEVELS: [(Level, &str, &str, &[&str]); 5] = [
    (
        Level::Subspecies,
        "subsp.",
        "subspecies",
        &["subsp", "ssp", "subspecies"],
    ),
    (
        Level::Variety,
        "var.",
        "variety",
        &["var", "varietas", "variety"],
    ),
    (
        Level::Subvariety,
        "subvar.",
        "subvariety",
        &["subvar", "subvarietas"],
    ),
    (Level::Form, "f.", "form", &["f", "fo", "forma", "form"]),
    (Level::Subform, "subf.", "subform", &["subf", "subforma"]),
];

impl Level {
    fn row(self) -> &'static (Level, &'static str, &'static str, &'static [&'static str]) {
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
    pub level: Level,
    /// Whether `notho-` stands before it.
    pub notho: bool,
}

impl Rank {
    /// Reads a rank's mark, with or without its full stop, in any case; None for other words.
    #[must_use]
    pub fn parse(word: &str) -> Option<Rank> {
        let word = word.to_lowercase();
        let word = word.strip_suffix('.').unwrap_or(&word);
        let find = |bare: &str| LEVELS.iter().find(|row| row.3.contains(&bare));
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

    /// The rank as a word, such as `nothosubspecies`.
    #[must_use]
    pub fn word(self) -> String {
        let notho = if self.notho { "notho" } else { "" };
        format!("{notho}{}", self.level.row().2)
    }
}
