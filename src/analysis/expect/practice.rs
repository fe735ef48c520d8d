//! What the trade expects of a wood stage where the journal says nothing. All common practice.

use crate::model::composite::Heat;
use crate::model::listed::{Cover, Wood};

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

/// Days from sticking to the first look by common practice. Hardwood over bottom heat roots within weeks; under a cold
/// frame's glass it wants some two months, and outdoors it is left alone until spring: lifting it in midwinter breaks what
/// little callus there is. Without a word on where it stands the gentler of the first two is taken.
#[must_use]
pub fn first_look(wood: Option<Wood>, cover: Option<Cover>, heat: Option<Heat>) -> u32 {
    match (wood, cover, heat) {
        (Some(Wood::Hardwood), _, Some(Heat::To(_))) => 28,
        (Some(Wood::Hardwood), Some(Cover::Open), _) => 120,
        (Some(Wood::Hardwood), _, _) => 60,
        _ => practice(wood).first,
    }
}
