//! The cautions of the trade, one table for both faces, and the rule which of them an entry calls for. They defer to
//! labels, local rules and licensed practice; they give no doses and no cures and judge nobody.
//!
//! All are common practice; where a source says the same it is named beside the caution. The lists of plants are common
//! practice too, from memory, and never complete.

use crate::fold::Book;
use crate::model::composite::{Heat, Hormone};
use crate::model::entry::{Kind, Stick};
use crate::model::listed::{Carrier, Cut, Treatment};
use crate::model::taxon::Taxon;

/// A hazard, the one line that stands where it is recorded, and what more there is to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct SafetyCaution {
    /// The hazard, in a word.
    pub hazard: &'static str,
    /// One line.
    pub line: &'static str,
    /// More, a sentence each.
    pub more: &'static [&'static str],
}

/// A caution that an entry calls for, about one thing: a plant, a product, an act.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DueCaution {
    /// What it is kept by, so that each thing is told of once a day and person.
    pub key: String,
    /// What to show.
    pub line: String,
}

/// What comes before all cautions.
pub const FIRST: &str = "The product's label and the rules of your country come first. What stands here is common practice and replaces neither, nor the advice of licensed people.";

/// All hazards.
pub const CAUTIONS: &[SafetyCaution] = &[
    SafetyCaution {
        hazard: "hormone",
        line: "Hormone: gloves; nothing near eyes or mouth; the product's label comes first.",
        // US EPA, R.E.D. facts for indole-3-butyric acid, EPA-738-F-92-001 (1992): eye irritation.
        more: &[
            "Rooting hormones are registered pesticides in many countries: use only products allowed where you are, for what the label allows.",
            "Keep powder and solution off skin and out of eyes: gloves, long sleeves, goggles where the label asks for them.",
            "Some powders hold a fungicide as well: read the label for what else is in them.",
            "Pour out a little and dip into that, never into the bottle; label every bottle with content, strength and day.",
            "Never swallow any of it: no drinking bottle, keep it from children and away from food, and wash hands before eating, drinking or smoking.",
            "After contact with eyes, or if any was swallowed, do what the label says and ask a doctor, label in hand.",
        ],
    },
    SafetyCaution {
        hazard: "powder",
        line: "Rooting powder: gloves; do not breathe or swallow the dust; the label comes first.",
        more: &[
            "Tap powder off low and slowly, away from your face and out of the wind; wear the mask that the label asks for.",
            "Wipe spilt powder up wet; do not sweep or blow it.",
        ],
    },
    SafetyCaution {
        hazard: "alcohol",
        line: "Alcohol burns: no flame or spark, fresh air, gloves; use the kind the label names.",
        more: &[
            "Hormone liquids and blade dips often hold alcohol: keep bottles shut, cool and away from flames, heaters, sparks and cigarettes; let blades dry before a flame or a hot tool comes near.",
            "Which alcohol matters: methanol (wood alcohol, part of some methylated spirits) is poisonous by mouth, skin and breath; use what the label or the maker names, nothing else.",
        ],
    },
    SafetyCaution {
        hazard: "hormone spray",
        line: "Hormone as a spray: the label must allow it; mask, goggles and gloves as it says.",
        more: &[
            "A spray is breathed in and drifts: keep others out until it has dried and the label's re-entry time is over.",
        ],
    },
    SafetyCaution {
        hazard: "disinfectant",
        line: "Disinfectant: gloves, fresh air, the label's dilution; never mix two products.",
        more: &[
            "Never mix bleach with acids, ammonia or another cleaner: poisonous gas comes off.",
            "Goggles and gloves when pouring; add the product to the water, not water to the product.",
            "Clean off soil and sap first; make it fresh; leave it on as long as the label says; rinse what touches plants or food.",
            "Bleach corrodes steel and harms fabric and eyes.",
            "Do not tip leftovers into drains or onto the ground: the label and local rules say where they go.",
        ],
    },
    SafetyCaution {
        hazard: "spray",
        line: "Sprays: keep to the label, local rules and waiting times; only licensed people may use some.",
        more: &[
            "Wear what the label asks for; keep others out until the re-entry time is over; keep the record that your law asks for: this journal does not replace it.",
            "Do not spray alone: somebody should know where you are and when you will be back.",
        ],
    },
    SafetyCaution {
        hazard: "electricity",
        line: "Electricity near water: only behind a residual-current device, and wired by a licensed electrician.",
        more: &[
            "Mist, heating cables, mats and lamps stand in the wet: only equipment made for it, on low voltage or behind a residual-current (ground-fault) device that is tested as its maker says.",
            "Fixed wiring is a licensed electrician's work. Pull the plug before you reach into trays or change a cable; replace a damaged cable, do not tape it.",
        ],
    },
    SafetyCaution {
        hazard: "heat",
        line: "Heaters and hot compost can burn you; a flame in a shut house gives off fumes.",
        more: &[
            "A gas or paraffin heater in a shut house gives off carbon monoxide: let fresh air in, and fit an alarm made for it.",
            "Compost heated to clean it, and heaps that heat by themselves, scald: keep covers on, let them cool, open them away from your face.",
        ],
    },
    SafetyCaution {
        hazard: "mist",
        line: "Mist and warm water in pipes can carry legionella: clean tanks and lines, do not breathe the drift.",
        more: &[
            "Water that stands warm in tanks and hoses breeds bacteria that are breathed in with mist and fog: flush lines that stood still, clean tanks and nozzles as their maker and local rules say.",
            "If you have weak lungs or weak defences against infection, ask a doctor before you work in fog or mist.",
        ],
    },
    SafetyCaution {
        hazard: "compost",
        line: "Compost and mouldy plants: wet the dust, do not breathe it, wash your hands.",
        more: &[
            "Compost can hold legionella and moulds: open bags away from your face, wet dust down, wear a mask where it is dusty, gloves on broken skin.",
        ],
    },
    SafetyCaution {
        hazard: "sap",
        line: "The sap or hairs can irritate or poison: gloves, keep it off skin and eyes, wash what it touches.",
        more: &[
            "Spurges, daphne, sumach, monkshood, angel's trumpet, flannel bush, rue, oleander, ivy, figs and others: some burn in sunlight, some are poisonous. Know the plant before you cut it.",
            "Keep cuttings of poisonous plants from children, animals and food, and clean the blade after them.",
        ],
    },
    SafetyCaution {
        hazard: "blade",
        line: "Blades: cut away from yourself, and carry and put them down folded or sheathed.",
        more: &[
            "A sharp blade needs less force; never cut toward the hand that holds the shoot; old blades go into a box with a lid.",
        ],
    },
    SafetyCaution {
        hazard: "protected",
        line: "A protected variety: raising it for sale needs the breeder's licence.",
        more: &[
            "Breeders' rights and plant patents cover cuttings. Look for signs on the label (PBR, PVR, a patent number or 'applied for') and ask the owner of the right before you raise any; a label can be out of date.",
            "What private growers or trials may do differs by country: check your own.",
        ],
    },
    SafetyCaution {
        hazard: "invasive",
        line: "Invasive in some countries: where it is listed, do not raise or sell it; ask the authority.",
        more: &[
            "Lists of invasive plants differ by country and change: the authority for nature or plant health says what may be raised, moved or sold, and how to get rid of waste.",
        ],
    },
    SafetyCaution {
        hazard: "plant health",
        line: "Plants that change hands: a plant passport or inspection may be due; ask the plant health authority.",
        more: &[
            "Take cuttings from clean stock only; keep bought-in plants and cuttings apart until they have shown themselves healthy.",
            "Some pests and diseases must be reported: on suspicion leave plants where they are and ask the plant health authority before you move, sell or destroy any.",
        ],
    },
];

/// Genera with irritant or poisonous sap or hairs.
const SAP: [&str; 36] = [
    "Aconitum",
    "Alstroemeria",
    "Brugmansia",
    "Cestrum",
    "Colchicum",
    "Cotinus",
    "Daphne",
    "Datura",
    "Dictamnus",
    "Dieffenbachia",
    "Digitalis",
    "Echium",
    "Euphorbia",
    "Ficus",
    "Fremontodendron",
    "Hedera",
    "Helleborus",
    "Heracleum",
    "Hyacinthus",
    "Laburnum",
    "Lantana",
    "Lobelia",
    "Nerium",
    "Plumeria",
    "Primula",
    "Rhus",
    "Ricinus",
    "Ruta",
    "Schefflera",
    "Solandra",
    "Solanum",
    "Taxus",
    "Thuja",
    "Toxicodendron",
    "Veratrum",
    "Vinca",
];

/// Plants listed as invasive in one country or more, a whole genus or a species of it.
const INVASIVE: [&str; 34] = [
    "Ailanthus altissima",
    "Berberis thunbergii",
    "Buddleja davidii",
    "Carpobrotus",
    "Celastrus orbiculatus",
    "Cortaderia",
    "Cotoneaster horizontalis",
    "Crassula helmsii",
    "Cytisus scoparius",
    "Elaeagnus umbellata",
    "Euonymus alatus",
    "Fallopia",
    "Gunnera tinctoria",
    "Heracleum mantegazzianum",
    "Hydrocotyle ranunculoides",
    "Impatiens glandulifera",
    "Lantana camara",
    "Ligustrum sinense",
    "Lonicera japonica",
    "Ludwigia",
    "Myriophyllum",
    "Parthenocissus quinquefolia",
    "Persicaria wallichii",
    "Pontederia crassipes",
    "Pueraria",
    "Pyrus calleryana",
    "Reynoutria",
    "Rhododendron ponticum",
    "Robinia pseudoacacia",
    "Rosa multiflora",
    "Rosa rugosa",
    "Spartium junceum",
    "Spiraea japonica",
    "Ulex europaeus",
];

/// Words of a blade's or bench's cleaner that make it alcohol.
const ALCOHOLS: [&str; 7] = [
    "alcohol",
    "ethanol",
    "isoprop",
    "meths",
    "methylated",
    "propanol",
    "spirit",
];

/// Words of a source that say that plants came from elsewhere.
const BOUGHT_IN: [&str; 6] = ["bought", "import", "abroad", "swap", "gift", "wholesale"];

/// The cautions that an entry calls for, each about the thing that it is of.
#[must_use]
pub fn cautions_due(kind: &Kind, book: &Book) -> Vec<DueCaution> {
    match kind {
        Kind::Stick(stick) => stick_cautions(stick, book),
        Kind::Treat(treat) => {
            let product = treat.with.as_deref().unwrap_or_default();
            match treat.what {
                Treatment::Spray => due(&[("spray", product)]),
                Treatment::Clean => cleaning(product),
                Treatment::Heat => due(&[("electricity", ""), ("heat", "")]),
                Treatment::Mist => due(&[("electricity", ""), ("mist", "")]),
                Treatment::PickOver => due(&[("compost", "")]),
                Treatment::Pinch => due(&[("blade", "")]),
                Treatment::Vent
                | Treatment::Uncover
                | Treatment::Wean
                | Treatment::Shade
                | Treatment::Water
                | Treatment::Feed
                | Treatment::Other => Vec::new(),
            }
        }
        Kind::Move(part) if matches!(part.heat_c, Some(Heat::To(_))) => due(&[("electricity", "")]),
        Kind::Pot(_) => due(&[("compost", "")]),
        Kind::Sold(_) => due(&[("plant health", "")]),
        Kind::Target(target) => taxon_cautions(&Taxon::parse(&target.taxon), book),
        Kind::Move(_)
        | Kind::Place(_)
        | Kind::Look(_)
        | Kind::Ready(_)
        | Kind::Discard(_)
        | Kind::Climate(_)
        | Kind::Taxon(_)
        | Kind::Nursery(_)
        | Kind::Remark(_)
        | Kind::Amend(_)
        | Kind::Withdraw(_) => Vec::new(),
    }
}

/// The cautions on a plant by itself: its sap, its protection, whether it is invasive somewhere.
#[must_use]
pub fn taxon_cautions(taxon: &Taxon, book: &Book) -> Vec<DueCaution> {
    let genus = taxon.genus().unwrap_or_default();
    let shown = taxon.shown();
    let facts = book.taxa().get(taxon).and_then(|it| it.facts.as_ref());
    let protected = facts.is_some_and(|facts| facts.protected == Some(true));
    let of_list = |listed: &&&str| shown == **listed || shown.starts_with(&format!("{listed} "));
    let mut out = Vec::new();
    if SAP.contains(&genus) {
        out.extend(due(&[("sap", genus)]));
    }
    out.extend(
        INVASIVE
            .iter()
            .find(of_list)
            .map(|listed| due(&[("invasive", listed)]))
            .unwrap_or_default(),
    );
    if protected {
        out.extend(due(&[("protected", &shown)]));
    }
    out
}

fn stick_cautions(stick: &Stick, book: &Book) -> Vec<DueCaution> {
    let mut out = Vec::new();
    if let Some(Hormone::Doses(doses)) = &stick.hormone {
        for dose in doses {
            let hazard = match dose.carrier {
                Some(Carrier::Talc) => "powder",
                Some(Carrier::Liquid) => "alcohol",
                Some(Carrier::Spray) => "hormone spray",
                Some(Carrier::Gel) | None => "hormone",
            };
            let gloves = (hazard == "alcohol").then_some("hormone");
            for hazard in gloves.into_iter().chain([hazard]) {
                out.extend(due(&[(hazard, &dose.active)]));
            }
        }
    }
    out.extend(stick.blade.as_deref().map(cleaning).unwrap_or_default());
    if stick.wounded == Some(true) || matches!(stick.cut, Some(Cut::Heel | Cut::Mallet)) {
        out.extend(due(&[("blade", "")]));
    }
    if matches!(stick.heat_c, Some(Heat::To(_))) {
        out.extend(due(&[("electricity", "")]));
    }
    let source = stick.source.as_deref().unwrap_or_default().to_lowercase();
    if BOUGHT_IN.iter().any(|word| source.contains(word)) {
        out.extend(due(&[("plant health", "")]));
    }
    out.extend(taxon_cautions(&Taxon::parse(&stick.taxon), book));
    let mut told: Vec<DueCaution> = Vec::new();
    out.retain(|it| {
        let fresh = !told.contains(it);
        told.extend(fresh.then(|| it.clone()));
        fresh
    });
    out
}

/// What a cleaner calls for: it may burn, or be harsh, or both.
fn cleaning(product: &str) -> Vec<DueCaution> {
    let lower = product.to_lowercase();
    let burns = ALCOHOLS.iter().any(|word| lower.contains(word));
    let hazard = if burns { "alcohol" } else { "disinfectant" };
    due(&[(hazard, product)])
}

fn caution_on(hazard: &str) -> Option<&'static SafetyCaution> {
    CAUTIONS.iter().find(|caution| caution.hazard == hazard)
}

/// The line of a hazard; empty if there is none of that word.
#[must_use]
pub fn caution_line(hazard: &str) -> &'static str {
    caution_on(hazard).map_or("", |caution| caution.line)
}

/// The cautions on these hazards, each of a thing; without one the hazard stands for it.
fn due(hazards: &[(&str, &str)]) -> Vec<DueCaution> {
    let each = hazards.iter().filter_map(|(hazard, thing)| {
        let caution = caution_on(hazard)?;
        let named = !thing.is_empty() && !matches!(*hazard, "hormone" | "powder" | "alcohol");
        Some(DueCaution {
            key: format!("{hazard} {}", thing.to_lowercase())
                .trim_end()
                .to_owned(),
            line: match named {
                true => format!("{thing}: {}", caution.line),
                false => caution.line.to_owned(),
            },
        })
    });
    each.collect()
}
