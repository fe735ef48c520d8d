//! What is said about a name as typed: corrections and doubts. It reads no name itself.

use std::fmt;

/// How a name as typed stands under the codes, mildest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// In order.
    Valid,
    /// Allowed where nothing better can be typed.
    Tolerate,
    /// Against a rule; put right if it could be.
    Invalid,
}

/// Something put right in a name, or worth saying about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Note {
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

impl Note {
    /// How grave this is. What merely was not understood is no breach.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        match self {
            Note::Unread(_) | Note::LongCultivar => Verdict::Valid,
            Note::LetterX => Verdict::Tolerate,
            _ => Verdict::Invalid,
        }
    }
}

impl fmt::Display for Note {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = match self {
            Note::GenusCase => "the genus takes one capital, its first letter",
            Note::EpithetCase => "epithets are written small",
            Note::LetterX => "the letter x is shown as the sign ×",
            Note::LooseSign => "× stands before a genus or an epithet, not before a cultivar",
            Note::DoubleQuotes => "a cultivar stands in single quotes",
            Note::Unclosed => "the closing quote was missing",
            Note::CvMark => "'cv.' is left out: the quotes say it",
            Note::CultivarCase => "each word of a cultivar or Group takes a capital",
            Note::LongCultivar => {
                "more than 30 characters: longer than a new cultivar's name may be"
            }
            Note::ParentWithoutGenus => "each parent in a formula needs its genus, or its initial",
            Note::Unread(part) => {
                return write!(out, "kept as typed, not understood: {part}");
            }
        };
        out.write_str(text)
    }
}
