//! What goes wrong with entries in any nursery: slips amended or withdrawn, notes by hand, places and targets set down.

use super::air::{SPELLS, SPOTS};
use super::dice::Dice;
use super::pen::Pen;
use chrono::{Datelike, Days, NaiveDate};
use struck::model::composite::MonthDay;
use struck::model::entry::{
    Amend, Climate, Kind, NurserySettings, PlaceFacts, Remark, Target, TaxonFacts, Treat, Withdraw,
};
use struck::model::listed::{Treatment, Units};
use struck::model::value::{
    Celsius, Kilopascal, LitresPerHour, Percent, Ppfd, Seconds, SquareMetres, Value,
};

/// The nursery, its places and its plants set down at the start, targets each year.
pub fn set_down(first: NaiveDate, pen: &mut Pen, dice: &mut Dice) {
    let season_from = Some(MonthDay { month: 1, day: 1 });
    pen.enter(
        first,
        None,
        NurserySettings {
            season_from,
            units: Some(Units::C),
        },
        dice,
    );
    for spot in &SPOTS {
        let mist = spot.mist.is_some();
        let place = PlaceFacts {
            place: spot.name.into(),
            aliases: None,
            cover: Some(spot.cover),
            heat_c: None,
            medium: None,
            trays: Some(if mist { 36 } else { 16 }),
            nozzles: mist.then_some(8),
            nozzle_l_h: mist.then_some(LitresPerHour(30.0)),
            area_m2: mist.then_some(SquareMetres(9.0)),
            vpd_low_kpa: mist.then_some(Kilopascal(0.2)),
            vpd_high_kpa: mist.then_some(Kilopascal(1.0)),
            closed: None,
        };
        pen.enter(first, None, place, dice);
    }
    let aliases = Some(vec!["laurustinus".into()]);
    let known = TaxonFacts {
        taxon: "Viburnum tinus".into(),
        aliases,
        protected: None,
        base_c: Some(Celsius(8.0)),
        first_look_days: Some(28),
    };
    pen.enter(first, None, known, dice);
}

/// What is wanted of a year.
pub fn targets(year: i32, pen: &mut Pen, dice: &mut Dice) {
    let wanted = [
        ("Weigela florida", 60, 9),
        ("Lavandula angustifolia", 120, 9),
        ("Choisya ternata", 60, 11),
    ];
    for (taxon, count, month) in wanted {
        let (Some(day), Some(by_date)) = (
            NaiveDate::from_ymd_opt(year, 3, 2),
            NaiveDate::from_ymd_opt(year, month, 30),
        ) else {
            continue;
        };
        pen.enter(
            day,
            None,
            Target {
                taxon: taxon.into(),
                count,
                by_date,
                wood: None,
            },
            dice,
        );
    }
}

/// Notes of the air in the growing months, and what was done about wrong air.
pub fn climate(year: i32, pen: &mut Pen, dice: &mut Dice) {
    let Some(first) = NaiveDate::from_ymd_opt(year, 4, 20) else {
        return;
    };
    for day in first.iter_days().take_while(|day| day.month() < 11) {
        for spot in &SPOTS {
            let wrong = super::air::spell(spot.name, day).is_some();
            if !dice.chance(if wrong { 0.8 } else { 0.3 }) {
                continue;
            }
            let seen = super::air::reading(spot, day, dice);
            let note = Climate {
                place: spot.name.into(),
                air_c: Some(Celsius(seen.air)),
                rh_pct: Some(Percent(seen.humidity)),
                leaf_c: None,
                medium_c: dice.chance(0.8).then_some(Celsius(seen.medium)),
                mist_on_s: spot.mist.map(|(on, _)| Seconds(on)),
                mist_every_s: spot.mist.map(|(_, every)| Seconds(every)),
                ppfd: dice.chance(0.25).then_some(Ppfd(seen.light)),
                vent: None,
            };
            pen.enter(day, None, note, dice);
        }
    }
    for spell in SPELLS.iter().filter(|spell| spell.from.0 == year) {
        let Some((_, last)) = spell.span() else {
            continue;
        };
        let mended = Treat {
            what: Treatment::Vent,
            with: None,
            batch: None,
            stick: None,
            place: Some(spell.place.into()),
        };
        pen.enter(last + Days::new(1), Some(spell.note), mended, dice);
        let remark = Remark {
            batch: None,
            stick: None,
            place: Some(spell.place.into()),
            again_on: None,
        };
        pen.enter(last, Some(spell.note), remark, dice);
    }
}

/// Slips: some counts mended by an amend, some looks entered twice and one of them withdrawn, an
/// amend that was itself withdrawn.
pub fn slips(pen: &mut Pen, dice: &mut Dice) {
    let looks: Vec<(usize, NaiveDate)> = pen
        .entries
        .iter()
        .enumerate()
        .filter(|(_, entry)| matches!(&entry.kind, Kind::Look(look) if look.lost.is_some()))
        .map(|(at, entry)| (at, entry.at.day()))
        .collect();
    for slip in 0..9 {
        let (at, day) = looks[(slip * 37 + 11) % looks.len()];
        let of = pen.entries[at].id.clone();
        let next = day + Days::new(1);
        match slip % 3 {
            0 => {
                let set = vec![(
                    "note".to_owned(),
                    Value::Text("base of two doubtful".into()),
                )];
                pen.enter(next, None, Amend { target: of, set }, dice);
            }
            1 => {
                let mut twice = pen.entries[at].kind.clone();
                if let Kind::Look(look) = &mut twice {
                    look.lost = None;
                }
                if let Some(of) = pen.enter(day, None, twice, dice) {
                    pen.enter(
                        day,
                        None,
                        Withdraw {
                            target: of,
                            reason: Some("entered twice".into()),
                        },
                        dice,
                    );
                }
            }
            _ => {
                let set = vec![("by".to_owned(), Value::Text("the helper".into()))];
                if let Some(of) = pen.enter(next, None, Amend { target: of, set }, dice) {
                    pen.enter(
                        next,
                        None,
                        Withdraw {
                            target: of,
                            reason: Some("it was right before".into()),
                        },
                        dice,
                    );
                }
            }
        }
    }
}

/// A page written by hand from the format alone: no ids, no checksums, keys in any order.
pub const BY_HAND: &str = "\
{\"kind\":\"stick\",\"at\":\"2025-05-30\",\"batch\":\"25-h01\",\"taxon\":\"salvia microphylla\",\"stuck\":30,\"wood\":\"softwood\",\"place\":\"Lidded box 1\",\"cover\":\"box\",\"hormone\":\"none\",\"note\":\"from the windowsill\"}\r
{\"at\":\"2025-06-12\",\"kind\":\"look\",\"batch\":\"25-h01\",\"callused\":9,\"rooted\":14.0,\"weather\":\"close\"}

{\"batch\":\"25-h01\",\"kind\":\"look\",\"at\":\"2025-06-20\",\"rooted\":18,\"bottom\":8,\"lost\":{\"blackened\":2,\"mould\":1}}
  {\"at\":\"2025-06-27\",\"kind\":\"pot\",\"batch\":\"25-h01\",\"count\":26,\"container\":\"9 cm\"}
{\"at\":\"2025-06-27\",\"kind\":\"discard\",\"batch\":\"25-h01\",\"count\":1,\"why\":\"given-up\"}
";
