//! The cautions of the trade, one table for both faces. They defer to labels, local rules and licensed
//! practice; they give no doses and judge nobody.
//!
//! All are common practice; where a source says the same it is named beside the caution.

/// A hazard, the one line that stands where it is recorded, and what more there is to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Caution {
    /// The hazard, in a word.
    pub hazard: &'static str,
    /// One line.
    pub line: &'static str,
    /// More, a sentence each.
    pub more: &'static [&'static str],
}

/// What comes before all cautions.
pub const FIRST: &str = "The product's label and the rules of your country come first. What stands here is common practice and replaces neither, nor the advice of licensed people.";

/// All hazards.
pub const CAUTIONS: &[Caution] = &[
    Caution {
        hazard: "hormone",
        line: "Hormone: gloves, no dust breathed in, and the product's label before all.",
        // US EPA, R.E.D. facts for indole-3-butyric acid, EPA-738-F-92-001 (1992): eye irritation.
        more: &[
            "Rooting hormones are registered pesticides in many countries: use only products allowed where you are, for what the label allows.",
            "Keep powder and solution off skin and out of eyes: gloves, long sleeves, goggles where the label asks for them; do not breathe dust or spray.",
            "Some powders hold a fungicide as well: read the label for what else is in them.",
            "Alcohol as a carrier burns: no flame, spark or cigarette, and fresh air.",
            "Pour out what you need and dip into that, never into the stock; label every bottle with content, strength and day; keep it from children and away from food.",
            "Wash hands before eating, drinking or smoking. After contact with eyes rinse with much water and ask a doctor, label in hand.",
        ],
    },
    Caution {
        hazard: "disinfectant",
        line: "Disinfectant: gloves, fresh air, the label's dilution; never mix two products.",
        more: &[
            "Never mix bleach with acids, ammonia or another cleaner: poisonous gas comes off.",
            "Goggles and gloves when pouring; add the product to the water, not water to the product.",
            "Clean off soil and sap first; make it fresh; leave it on as long as the label says; rinse what touches plants or food.",
            "Bleach corrodes steel and harms fabric and eyes; alcohol burns.",
            "Do not tip rests into drains or ground: the label and local rules say where they go.",
        ],
    },
    Caution {
        hazard: "spray",
        line: "Sprays: the label, local rules and the waiting time hold; some may be used by licensed people only.",
        more: &[
            "Wear what the label asks for; keep others out until the re-entry time is over; keep the record that your law wants: this journal is none.",
        ],
    },
    Caution {
        hazard: "electricity",
        line: "Electricity near water: behind a residual-current device, and wired by a licensed electrician.",
        more: &[
            "Mist, heating cables, mats and lamps stand in the wet: only equipment made for it, on low voltage or behind a residual-current (ground-fault) device that is tested as its maker says.",
            "Fixed wiring is a licensed electrician's work. Pull the plug before you reach into trays or change a cable; a damaged cable is thrown away, not taped.",
        ],
    },
    Caution {
        hazard: "sap",
        line: "This sap can irritate skin and eyes: gloves, and wash what it touches.",
        more: &[
            "Spurges, rue, oleander, ivy, figs, daphne and others: some burn in sunlight, some are poisonous. Know the plant before you cut it.",
        ],
    },
    Caution {
        hazard: "blade",
        line: "Blades: cut away from yourself, and carry and put them down closed.",
        more: &[],
    },
    Caution {
        hazard: "protected",
        line: "A protected variety: raising it for sale needs the breeder's licence.",
        more: &[
            "Breeders' rights and plant patents cover cuttings. Look for signs on the label (PBR, PVR, a patent number or 'applied for') and ask the owner of the right before you raise any; a label can be out of date.",
            "What private growers or trials may do differs by country: check your own.",
        ],
    },
];

/// The caution on a hazard.
#[must_use]
pub fn of(hazard: &str) -> Option<&'static Caution> {
    CAUTIONS.iter().find(|caution| caution.hazard == hazard)
}
