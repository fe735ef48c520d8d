//! The air in a word: drying, easy or wet, by the vapour pressure deficit and a band. It orders nothing.

use crate::model::entry::PlaceFacts;
use crate::model::listed::Cover;

/// A band of vapour pressure deficit in kPa, and where it is from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VpdBand {
    /// Below this the air is wet.
    pub low_kpa: f64,
    /// Above this it dries.
    pub high_kpa: f64,
    /// Its source in words.
    pub source: &'static str,
}

/// For leafy cuttings under mist. The upper end: cuttings rooted at 80 % or more at mean deficits of 0.60
/// to 0.85 kPa from 10 to 18 h (LeBude, Goldfarb, Blazich, Wright, Cazell, Wise & Frampton 2005,
/// *HortScience* 40:1448, loblolly pine under mist). The lower end is common practice.
pub const MIST: VpdBand = VpdBand {
    low_kpa: 0.2,
    high_kpa: 0.85,
    source: "upper end LeBude et al. 2005, HortScience 40:1448 (one conifer under mist); lower end common practice",
};
/// For closed covers, where no mist wets the leaves (common practice).
pub const CLOSED: VpdBand = VpdBand {
    low_kpa: 0.05,
    high_kpa: 0.5,
    source: "common practice",
};
/// For open benches: the general greenhouse range (an encyclopaedia's, second-hand).
pub const OPEN: VpdBand = VpdBand {
    low_kpa: 0.45,
    high_kpa: 1.25,
    source: "general greenhouse range, second-hand",
};

/// The band of a place: the grower's own where it is set, else by its cover, else that under mist.
#[must_use]
pub fn band(place: Option<&PlaceFacts>) -> VpdBand {
    let cover = place.and_then(|p| p.cover);
    let usual = match cover {
        Some(Cover::Open) => OPEN,
        Some(Cover::Case | Cover::Frame | Cover::Box | Cover::Film | Cover::Tent) => CLOSED,
        Some(Cover::Mist | Cover::Fog) | None => MIST,
    };
    let (low, high) = (
        place.and_then(|p| p.vpd_low_kpa),
        place.and_then(|p| p.vpd_high_kpa),
    );
    VpdBand {
        low_kpa: low.map_or(usual.low_kpa, |v| v.0),
        high_kpa: high.map_or(usual.high_kpa, |v| v.0),
        source: match (low, high) {
            (None, None) => usual.source,
            (Some(_), Some(_)) => "your own",
            _ => "one end your own, the other as usual",
        },
    }
}

/// How the air is for cuttings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AirSense {
    /// Above the band.
    Drying,
    /// Within it.
    Easy,
    /// Below it.
    Wet,
}

impl AirSense {
    /// Of a deficit in kPa.
    #[must_use]
    pub fn at_deficit(vpd_kpa: f64, band: &VpdBand) -> Self {
        if vpd_kpa > band.high_kpa {
            Self::Drying
        } else if vpd_kpa < band.low_kpa {
            Self::Wet
        } else {
            Self::Easy
        }
    }

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Drying => "drying",
            Self::Easy => "easy",
            Self::Wet => "wet",
        }
    }
}

/// A longest change of the mist interval that is suggested at once, either way.
const MOST_CHANGE: f64 = 2.0;

/// An interval in seconds that one might try, in proportion: the deficit against the nearer end of the
/// band, at most halved or doubled; nothing while the air is easy. Proportion is common practice.
#[must_use]
pub fn interval_to_try(every_s: f64, vpd_kpa: f64, band: &VpdBand) -> Option<f64> {
    let factor = match AirSense::at_deficit(vpd_kpa, band) {
        AirSense::Easy => return None,
        AirSense::Drying => (band.high_kpa / vpd_kpa).max(1.0 / MOST_CHANGE),
        AirSense::Wet if vpd_kpa > 0.0 => (band.low_kpa / vpd_kpa).min(MOST_CHANGE),
        AirSense::Wet => MOST_CHANGE,
    };
    // To the next half minute: timers are set so.
    Some((every_s * factor / 30.0).round().max(1.0) * 30.0)
}
