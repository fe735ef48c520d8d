//! The truth behind the sample journals as CSV, so that estimates can be held against it.

use super::air::{Fault, SPELLS};
use super::fate::true_days;
use super::taxa::PLANTS;

/// Strike and days of every taxon and wood stage in air that is right.
#[must_use]
pub fn of_plants(seed: u64) -> String {
    let mut out = String::from(
        "taxon,wood,strike,callus_p10,callus_p50,callus_p90,root_p10,root_p50,root_p90,bottom_p10,bottom_p50,bottom_p90\n",
    );
    for plant in &PLANTS {
        for nature in plant.natures {
            out.push_str(&format!(
                "{},{},{:.2}",
                plant.name,
                nature.wood.word(),
                nature.strike
            ));
            for day in true_days(nature, seed).as_flattened() {
                out.push_str(&format!(",{day:.1}"));
            }
            out.push('\n');
        }
    }
    out
}

/// The spells of wrong air.
#[must_use]
pub fn of_air() -> String {
    let mut out = String::from("place,from,to,fault\n");
    for spell in &SPELLS {
        let Some((first, last)) = spell.span() else {
            continue;
        };
        let fault = match spell.fault {
            Fault::Dry => "dry",
            Fault::Wet => "wet",
        };
        out.push_str(&format!("{},{first},{last},{fault}\n", spell.place));
    }
    out
}
