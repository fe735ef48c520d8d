//! What a heading seems to mean: words of the trade and of common loggers' exports, in a few languages. A table;
//! what it does not know it leaves alone.

use super::column::{ColumnRole, ReadingUnit};
use super::stamp;
use chrono::FixedOffset;

/// What a heading says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct HeadingMeaning {
    /// What the column seems to hold.
    pub role: Option<ColumnRole>,
    /// The unit, if said.
    pub unit: Option<ReadingUnit>,
    /// The zone of a column of times, if said.
    pub zone: Option<FixedOffset>,
}

/// A heading with one of these tells something else, whatever else it says.
const OTHER: [&str; 34] = [
    "dew",
    "std",
    "wet bulb",
    "wetbulb",
    "battery",
    "batt",
    "pressure",
    "co2",
    "index",
    "signal",
    "rssi",
    "min",
    "max",
    "high",
    "low",
    "serial",
    "setpoint",
    "set point",
    "target",
    "alarm",
    "moisture",
    "absolute",
    "vpd",
    "deficit",
    "outside",
    "outdoor",
    "event",
    "record",
    "count",
    "number",
    "kpa",
    "speed",
    "internal",
    "taupunkt",
];

const DATES: [&str; 5] = ["date", "datum", "day", "fecha", "data"];
const TIMES: [&str; 8] = [
    "time", "zeit", "uhrzeit", "clock", "hora", "heure", "tijd", "ora",
];
const WHOLE_TIMES: [&str; 7] = [
    "timestamp",
    "datetime",
    "logged",
    "measured",
    "zeitstempel",
    "zeitpunkt",
    "horodatage",
];
const WARMTH: [&str; 7] = [
    "temp",
    "temperature",
    "temperatur",
    "température",
    "temperatura",
    "temperatuur",
    "warmth",
];
const MEDIUM: [&str; 12] = [
    "medium",
    "media",
    "soil",
    "substrate",
    "substrat",
    "compost",
    "root",
    "rootzone",
    "bottom",
    "boden",
    "sol",
    "bodem",
];
const LEAF: [&str; 5] = ["leaf", "canopy", "blatt", "feuille", "hoja"];
const HUMIDITY: [&str; 10] = [
    "rh",
    "rf",
    "humidity",
    "hum",
    "feuchte",
    "luftfeuchte",
    "luftfeuchtigkeit",
    "humidité",
    "humedad",
    "luchtvochtigheid",
];
const LIGHT: [&str; 3] = ["ppfd", "par", "light"];
const AIR: [&str; 4] = ["air", "luft", "lucht", "aire"];

/// Short names of dataloggers' programs, as in `AirTC_Avg` (common practice), with what they mean.
const SHORT: [(&str, ColumnRole, ReadingUnit); 7] = [
    ("airtc", ColumnRole::Air, ReadingUnit::C),
    ("airtf", ColumnRole::Air, ReadingUnit::F),
    ("soiltc", ColumnRole::Medium, ReadingUnit::C),
    ("soiltf", ColumnRole::Medium, ReadingUnit::F),
    ("leaftc", ColumnRole::Leaf, ReadingUnit::C),
    ("leaftf", ColumnRole::Leaf, ReadingUnit::F),
    ("rhpct", ColumnRole::Humidity, ReadingUnit::Percent),
];

/// The words of a heading in lower case: letters and digits together, each other sign apart; `°` stays with
/// its letter.
fn words_of(heading: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut open = false;
    for c in heading.chars().flat_map(char::to_lowercase) {
        let sticks = c.is_alphanumeric() || matches!(c, '°' | 'º');
        if matches!(c, '°' | 'º') {
            open = false;
        }
        match out.last_mut().filter(|_| sticks && open) {
            Some(word) => word.push(c),
            None if sticks || c == '%' => out.push(c.to_string()),
            None => {}
        }
        open = sticks;
    }
    out
}

/// Reads a heading.
#[must_use]
pub fn heading(text: &str) -> HeadingMeaning {
    // Most cells that are looked through hold numbers, which head nothing.
    if !text.contains(|c: char| c.is_alphabetic() || "%°º".contains(c)) {
        return HeadingMeaning::default();
    }
    let words = words_of(text);
    let has = |table: &[&str]| words.iter().any(|word| table.contains(&word.as_str()));
    let unit = unit(text, &words);
    // A bench may be called after its mist: only how long and how often it runs is of the mist itself.
    let mist = mist_role(&words).filter(|_| has(&["mist", "misting", "fog"]));
    // The minutes of a mist are no least temperature.
    if mist.is_none() && (has(&OTHER) || tells_other(text)) {
        return HeadingMeaning {
            unit,
            ..HeadingMeaning::default()
        };
    }
    let mut short = SHORT.iter();
    if let Some((_, role, unit)) = short.find(|(word, ..)| has(&[*word])) {
        return HeadingMeaning {
            role: Some(*role),
            unit: Some(*unit),
            zone: None,
        };
    }
    let whole = has(&WHOLE_TIMES) || (has(&DATES) && has(&TIMES));
    let is_warmth = matches!(unit, Some(ReadingUnit::C | ReadingUnit::F | ReadingUnit::K));
    let warm = has(&WARMTH) || words.iter().any(|word| word.contains("temp")) || is_warmth;
    let role = if mist.is_some() {
        mist
    } else if whole {
        Some(ColumnRole::Time)
    } else if has(&DATES) {
        Some(ColumnRole::Date)
    } else if has(&TIMES) {
        Some(ColumnRole::Clock)
    } else if has(&HUMIDITY) || words.iter().any(|word| word.contains("humid")) {
        Some(ColumnRole::Humidity)
    } else if has(&LIGHT) && (unit == Some(ReadingUnit::Umol) || has(&LIGHT[..2])) {
        Some(ColumnRole::Light)
    } else if has(&LEAF) && (warm || words.len() == 1) {
        Some(ColumnRole::Leaf)
    } else if has(&MEDIUM) && (warm || words.len() == 1) {
        Some(ColumnRole::Medium)
    } else if warm || has(&AIR) {
        Some(ColumnRole::Air)
    } else if has(&["vent", "vents"]) {
        Some(ColumnRole::Vent)
    } else {
        None
    };
    HeadingMeaning {
        role,
        unit: unit.filter(|unit| role.is_none_or(|role| role.units().contains(unit))),
        zone: role.filter(|role| role.is_when()).and_then(|_| zone(text)),
    }
}

fn mist_role(words: &[String]) -> Option<ColumnRole> {
    let has = |word: &str| words.iter().any(|w| w == word);
    if has("every") || has("interval") {
        Some(ColumnRole::MistEvery)
    } else if has("on") || has("burst") {
        Some(ColumnRole::MistOn)
    } else {
        None
    }
}

/// Whether it holds words of several that tell something else.
fn tells_other(text: &str) -> bool {
    let spaced = text.to_lowercase().replace(['_', '-', '.'], " ");
    let mut several = OTHER.iter().filter(|other| other.contains(' '));
    spaced.contains(' ') && several.any(|other| spaced.contains(other))
}

/// The unit: in brackets, after a comma, or a word that is nothing but one.
fn unit(text: &str, words: &[String]) -> Option<ReadingUnit> {
    let bracketed = |open: char, close: char| {
        let (_, rest) = text.split_once(open)?;
        ReadingUnit::named(rest.split_once(close)?.0)
    };
    // What stands in brackets and is no unit, as a serial number, says nothing of one.
    let bare = text
        .split(['(', '['])
        .next()
        .filter(|bare| !bare.trim().is_empty());
    let after_comma = || ReadingUnit::named(bare.unwrap_or(text).rsplit_once(',')?.1);
    let spelt = |word: &String| ReadingUnit::named(word).filter(|unit| is_plain(*unit, word));
    let bare_words = bare.map(words_of);
    let words = bare_words.as_deref().unwrap_or(words);
    bracketed('(', ')')
        .or_else(|| bracketed('[', ']'))
        .or_else(after_comma)
        .or_else(|| words.iter().skip(1).rev().find_map(spelt))
        .or_else(|| {
            words
                .first()
                .filter(|word| *word == "%")
                .map(|_| ReadingUnit::Percent)
        })
}

/// Whether a word says a unit without brackets: `on s` may, a lone `k` may not.
fn is_plain(unit: ReadingUnit, word: &str) -> bool {
    unit != ReadingUnit::K || word != "k"
}

/// A zone in a heading of times, as `Date Time, GMT+02:00`.
fn zone(text: &str) -> Option<FixedOffset> {
    let upper = text.to_ascii_uppercase();
    let at = upper.find("GMT").or_else(|| upper.find("UTC"))?;
    let rest = upper[at..].trim_end_matches([')', ']']);
    let end = rest
        .char_indices()
        .skip(3)
        .find(|(_, c)| !(c.is_ascii_digit() || matches!(c, '+' | '-' | ':')))
        .map_or(rest.len(), |(at, _)| at);
    stamp::offset(&rest[..end])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_as_loggers_write_them() {
        for (text, role, unit) in [
            ("Date/Time", Some(ColumnRole::Time), None),
            ("Date Time, GMT+02:00", Some(ColumnRole::Time), None),
            ("timestamp", Some(ColumnRole::Time), None),
            ("Date", Some(ColumnRole::Date), None),
            ("Time", Some(ColumnRole::Clock), None),
            ("Datum/Zeit", Some(ColumnRole::Time), None),
            ("Zeitpunkt", Some(ColumnRole::Time), None),
            ("21.5", None, None),
            ("%", None, Some(ReadingUnit::Percent)),
            ("Temp, °C", Some(ColumnRole::Air), Some(ReadingUnit::C)),
            (
                "Temperature (°F)",
                Some(ColumnRole::Air),
                Some(ReadingUnit::F),
            ),
            (
                "Temp. Luft [°C]",
                Some(ColumnRole::Air),
                Some(ReadingUnit::C),
            ),
            ("air_c", Some(ColumnRole::Air), Some(ReadingUnit::C)),
            ("AirTemp_F", Some(ColumnRole::Air), Some(ReadingUnit::F)),
            (
                "RH, %",
                Some(ColumnRole::Humidity),
                Some(ReadingUnit::Percent),
            ),
            (
                "%RH",
                Some(ColumnRole::Humidity),
                Some(ReadingUnit::Percent),
            ),
            (
                "Relative Humidity (%)",
                Some(ColumnRole::Humidity),
                Some(ReadingUnit::Percent),
            ),
            (
                "Soil temperature °C",
                Some(ColumnRole::Medium),
                Some(ReadingUnit::C),
            ),
            ("medium", Some(ColumnRole::Medium), None),
            ("medium_c", Some(ColumnRole::Medium), Some(ReadingUnit::C)),
            (
                "Leaf temp (C)",
                Some(ColumnRole::Leaf),
                Some(ReadingUnit::C),
            ),
            ("PPFD", Some(ColumnRole::Light), None),
            (
                "Light (µmol/m²/s)",
                Some(ColumnRole::Light),
                Some(ReadingUnit::Umol),
            ),
            ("Light (lux)", None, Some(ReadingUnit::Lux)),
            (
                "mist_on_s",
                Some(ColumnRole::MistOn),
                Some(ReadingUnit::Seconds),
            ),
            (
                "Mist every (min)",
                Some(ColumnRole::MistEvery),
                Some(ReadingUnit::Minutes),
            ),
            ("Dew point (°C)", None, Some(ReadingUnit::C)),
            ("Max temp (°C)", None, Some(ReadingUnit::C)),
            ("Soil moisture %", None, Some(ReadingUnit::Percent)),
            ("Battery", None, None),
            (
                "Temp, °F (LGR S/N: 10482, SEN S/N: 9001)",
                Some(ColumnRole::Air),
                Some(ReadingUnit::F),
            ),
            (
                "RH, % (LGR S/N: 10482, LBL: bench)",
                Some(ColumnRole::Humidity),
                Some(ReadingUnit::Percent),
            ),
            ("AirTC_Avg", Some(ColumnRole::Air), Some(ReadingUnit::C)),
            ("SoilTC_Avg", Some(ColumnRole::Medium), Some(ReadingUnit::C)),
            ("RH_Avg", Some(ColumnRole::Humidity), None),
            ("AirTC_Max", None, None),
            ("Uhrzeit", Some(ColumnRole::Clock), None),
            (
                "mist bench air °C",
                Some(ColumnRole::Air),
                Some(ReadingUnit::C),
            ),
            (
                "rF [%]",
                Some(ColumnRole::Humidity),
                Some(ReadingUnit::Percent),
            ),
            ("#", None, None),
            ("", None, None),
        ] {
            let found = heading(text);
            assert_eq!((found.role, found.unit), (role, unit), "{text}");
        }
        let zone = heading("Date Time, GMT-05:30").zone.unwrap();
        assert_eq!(zone.local_minus_utc(), -5 * 3600 - 1800);
    }
}
