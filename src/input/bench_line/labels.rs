//! How fields and their values are worded when a line is said back. It reads nothing.

use crate::model::value::Value;

/// Fields whose name alone would not be plain.
const LABELS: &[(&str, &str)] = &[
    ("again_on", "look again on"),
    ("air_c", "air"),
    ("aliases", "also called"),
    ("area_m2", "area"),
    ("aside", "kept out of the figures:"),
    ("at", "on"),
    ("base_c", "base temperature"),
    ("batch", "batch"),
    ("bottom", "roots at bottom"),
    ("by", "entered by"),
    ("by_date", "by"),
    ("first_look_days", "first look after"),
    ("heat_c", "bottom heat"),
    ("how", "looked at by"),
    ("leaf_c", "leaf"),
    ("length_mm", "length"),
    ("medium_c", "medium"),
    ("mist_every_s", "mist every"),
    ("mist_on_s", "mist on for"),
    ("nozzle_l_h", "each nozzle"),
    ("of", "entry"),
    ("per_container", "to a container"),
    ("per_plant", "to a plant"),
    ("ppfd", "light"),
    ("rh_pct", "humidity"),
    ("season_from", "season from"),
    ("source", "from"),
    ("set", "set"),
    ("vpd_high_kpa", "vpd at most"),
    ("vpd_low_kpa", "vpd at least"),
];

/// What stands behind a number.
const UNITS: &[(&str, &str)] = &[
    ("_c", " °C"),
    ("_kpa", " kPa"),
    ("_mm", " mm"),
    ("_pct", " %"),
    ("_s", " s"),
    ("_m2", " m²"),
    ("_l_h", " l/h"),
    ("_days", " days"),
    ("ppfd", " µmol/m²/s"),
    ("ppm", " ppm"),
];

/// Fields that are asked for in other words than they are told.
const ASKED: &[(&str, &str)] = &[
    ("count", "how many"),
    ("stuck", "how many"),
    ("taxon", "the plant's name"),
];

/// A field in the words that ask for it.
pub(super) fn asked(field: &str) -> String {
    let found = ASKED.iter().find(|(name, _)| *name == field);
    found.map_or_else(|| label(field), |(_, asked)| (*asked).to_owned())
}

/// What a line of a kind does, with a capital.
pub(super) fn verb(kind: &str) -> String {
    let mut signs = kind.chars();
    let first = signs.next().map(|c| c.to_ascii_uppercase());
    first.into_iter().chain(signs).collect()
}

/// A field in words.
#[must_use]
pub fn label(field: &str) -> String {
    let found = LABELS.iter().find(|(name, _)| *name == field);
    found.map_or_else(|| field.replace('_', " "), |(_, label)| (*label).to_owned())
}

/// A field and its value in words: `bottom heat 21 °C`.
pub(super) fn in_words(kind: &str, field: &str, value: &Value) -> String {
    match (field, value) {
        ("wood" | "cut" | "piece" | "firmness" | "cover" | "what", Value::Text(word)) => {
            word.clone()
        }
        ("taxon", Value::Text(name)) => name.clone(),
        ("place", Value::Text(name)) if kind != "place" => format!("at {name}"),
        ("stuck", Value::Number(n)) => format!("{n} cuttings"),
        ("wounded" | "protected" | "closed", Value::Bool(true)) => field.to_owned(),
        ("wounded" | "protected" | "closed", Value::Bool(false)) => format!("not {field}"),
        (_, Value::Null) => format!("no {}", label(field)),
        ("set", Value::Map(fields)) => {
            let each = fields.iter().map(|(name, value)| in_words("", name, value));
            each.collect::<Vec<_>>().join("; ")
        }
        _ => format!("{} {}", label(field), value_in_words(field, value)),
    }
}

/// A value in words.
fn value_in_words(field: &str, value: &Value) -> String {
    match value {
        Value::Null => "none".into(),
        Value::Bool(flag) => if *flag { "yes" } else { "no" }.into(),
        Value::Number(number) => {
            let unit = UNITS.iter().find(|(ending, _)| field.ends_with(ending));
            format!("{number}{}", unit.map_or("", |(_, unit)| unit))
        }
        Value::Text(text) => text.clone(),
        Value::List(items) if items.is_empty() => "nothing".into(),
        Value::List(items) => {
            let words = items.iter().map(|item| value_in_words(field, item));
            words.collect::<Vec<_>>().join(" and ")
        }
        Value::Map(fields) if fields.is_empty() => "none".into(),
        Value::Map(fields) => map_in_words(field, fields),
    }
}

fn map_in_words(field: &str, fields: &[(String, Value)]) -> String {
    let words = fields.iter().map(|(name, value)| {
        let said = value_in_words(name, value);
        match (field, name.as_str()) {
            ("hormone", "active" | "ppm") => said,
            ("hormone", "carrier") => format!("in {said}"),
            ("hormone", "dip_s") => format!("for {said}"),
            ("about", stage) => format!("{said} {}", label(stage)),
            _ => format!("{said} {name}"),
        }
    });
    let words: Vec<String> = words.collect();
    words.join(if field == "hormone" { " " } else { ", " })
}
