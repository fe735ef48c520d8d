//! The cautions that stand where a hazard is recorded: one line, once a day and person. They defer to
//! labels, local rules and licensed practice, and stop nobody.

use crate::model::composite::{Heat, Hormone};
use crate::model::entry::Kind;
use crate::model::listed::Treatment;
use crate::model::taxon::Taxon;
use crate::text::cautions::CAUTIONS;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::common::Common;
use crate::tui::effect::{Effect, NewEntry};

/// Genera with irritant sap or hairs (common knowledge of the trade, from memory; no complete list).
const IRRITANT: [&str; 10] = [
    "Euphorbia",
    "Nerium",
    "Ficus",
    "Hedera",
    "Daphne",
    "Dieffenbachia",
    "Plumeria",
    "Toxicodendron",
    "Ruta",
    "Schefflera",
];

/// The hazards of an entry to be, by name.
fn hazards(kind: &Kind, common: &Common) -> Vec<&'static str> {
    let mut out = Vec::new();
    match kind {
        Kind::Stick(stick) => {
            let taxon = Taxon::parse(&stick.taxon);
            let facts = common
                .book
                .taxa()
                .get(&taxon)
                .and_then(|known| known.facts.as_ref());
            let flags = [
                (matches!(stick.hormone, Some(Hormone::Doses(_))), "hormone"),
                (stick.blade.is_some(), "disinfectant"),
                (matches!(stick.heat_c, Some(Heat::To(_))), "electricity"),
                (
                    taxon.genus().is_some_and(|genus| IRRITANT.contains(&genus)),
                    "sap",
                ),
                (
                    facts.is_some_and(|facts| facts.protected == Some(true)),
                    "protected",
                ),
            ];
            out.extend(
                flags
                    .into_iter()
                    .filter(|(is, _)| *is)
                    .map(|(_, name)| name),
            );
        }
        Kind::Treat(treat) => out.extend(match treat.what {
            Treatment::Spray => Some("spray"),
            Treatment::Clean => Some("disinfectant"),
            Treatment::Heat | Treatment::Mist => Some("electricity"),
            _ => None,
        }),
        Kind::Move(part) if matches!(part.heat_c, Some(Heat::To(_))) => out.push("electricity"),
        _ => {}
    }
    out
}

/// The lines that are due for these entries, today and to this person.
#[must_use]
pub fn due<'a>(kinds: impl Iterator<Item = &'a Kind>, common: &Common) -> Vec<&'static str> {
    let names: Vec<&str> = kinds.flat_map(|kind| hazards(kind, common)).collect();
    let fresh = |name: &str| {
        let mut given = common.cautioned.iter();
        !given.any(|(day, by, which)| *day == common.today() && *by == common.by && which == name)
    };
    let due = CAUTIONS
        .iter()
        .filter(|caution| names.contains(&caution.hazard) && fresh(caution.hazard));
    due.map(|caution| caution.line).collect()
}

/// Notes that the cautions of these entries were given; what keeps that for later sittings, if any is new.
#[must_use]
pub fn given(entries: &[NewEntry], common: &mut Common) -> Option<Effect> {
    let kinds = entries.iter().map(|new| &new.kind);
    let names: Vec<&'static str> = kinds.flat_map(|kind| hazards(kind, common)).collect();
    let (day, by) = (common.today(), common.by.clone());
    let before = common.cautioned.len();
    let given = names
        .into_iter()
        .map(|name| (day, by.clone(), name.to_owned()));
    common.cautioned.extend(given);
    (common.cautioned.len() > before).then(|| Effect::Remember(common.memory()))
}

/// Draws the lines due, each on one row as far as it fits; gives the row after them.
pub fn draw(lines: &[&str], row: usize, canvas: &mut Canvas<'_>) -> usize {
    let mut row = row;
    for line in lines {
        row = canvas.wrapped(row, 2, line, Tone::Caution);
    }
    row
}
