//! What the trade expects of a wood stage where the journal says nothing. All common practice.

use crate::model::listed::Wood;

/// The trade's figures for a wood stage, in days. All common practice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Practice {
    /// From sticking to the first look.
    pub first: u32,
    /// From one look to the next where no history says better; also after a day that is past.
    pub again: u32,
    /// The longest from one look to the next, whatever the history.
    pub longest: u32,
}

/// What is common practice for a wood stage. Herbaceous cuttings have enough roots after 10–14 days under
/// mist (Faust 2020), softwood shrubs take 3–6 weeks, and semi-ripe wood is first looked at after about
/// three; leafless hardwood waits longest and spoils slowest.
#[must_use]
pub fn practice(wood: Option<Wood>) -> Practice {
    let (first, again, longest) = match wood {
        Some(Wood::Herbaceous) => (10, 7, 10),
        Some(Wood::Softwood | Wood::Greenwood) => (14, 7, 14),
        Some(Wood::SemiRipe) | None => (21, 7, 14),
        Some(Wood::Hardwood) => (42, 21, 28),
    };
    Practice {
        first,
        again,
        longest,
    }
}
