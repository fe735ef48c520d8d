//! One climate line as a reading: what was measured at a place at one time.

use crate::model::at::At;
use crate::model::entry::Climate;
use crate::model::value::{Celsius, Percent, Ppfd, Seconds};

/// One climate line, as it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClimateReading<'a> {
    /// When.
    pub at: At,
    /// The place as written, spot and all.
    pub place: &'a str,
    /// Temperature of the air.
    pub air_c: Option<Celsius>,
    /// Relative humidity of the air.
    pub rh_pct: Option<Percent>,
    /// Temperature of the leaves.
    pub leaf_c: Option<Celsius>,
    /// Temperature of the medium.
    pub medium_c: Option<Celsius>,
    /// How long each burst of mist lasts.
    pub mist_on_s: Option<Seconds>,
    /// How often mist comes, from start to start.
    pub mist_every_s: Option<Seconds>,
    /// Light on the cuttings.
    pub ppfd: Option<Ppfd>,
    /// How far the vents stand open, in the grower's words.
    pub vent: Option<&'a str>,
}

impl<'a> ClimateReading<'a> {
    /// What a climate entry says, at its time.
    #[must_use]
    pub fn from_entry(at: At, climate: &'a Climate) -> Self {
        Self {
            at,
            place: &climate.place,
            air_c: climate.air_c,
            rh_pct: climate.rh_pct,
            leaf_c: climate.leaf_c,
            medium_c: climate.medium_c,
            mist_on_s: climate.mist_on_s,
            mist_every_s: climate.mist_every_s,
            ppfd: climate.ppfd,
            vent: climate.vent.as_deref(),
        }
    }

    /// Its numbers in the order of the fields, each in its field's unit.
    #[must_use]
    pub fn numbers(&self) -> [Option<f64>; 7] {
        [
            self.air_c.map(|v| v.0),
            self.rh_pct.map(|v| v.0),
            self.leaf_c.map(|v| v.0),
            self.medium_c.map(|v| v.0),
            self.mist_on_s.map(|v| v.0),
            self.mist_every_s.map(|v| v.0),
            self.ppfd.map(|v| v.0),
        ]
    }

    /// The fields as the journal holds them.
    #[must_use]
    pub fn to_climate(&self) -> Climate {
        Climate {
            place: self.place.into(),
            air_c: self.air_c,
            rh_pct: self.rh_pct,
            leaf_c: self.leaf_c,
            medium_c: self.medium_c,
            mist_on_s: self.mist_on_s,
            mist_every_s: self.mist_every_s,
            ppfd: self.ppfd,
            vent: self.vent.map(Into::into),
        }
    }
}
