//! What a line was understood to say: fields, spans, problems, and all of it in plain words. It reads nothing itself.

use super::split::fold;
use super::vocabulary::Vocabulary;
use crate::model::at::At;
use crate::model::entry::Entry;
use crate::model::value::{FieldType, Value};
use std::ops::Range;

/// A phrase that was understood.
#[derive(Clone, Debug, PartialEq)]
pub struct PhraseReading {
    /// Where it stands in the line, in bytes.
    pub span: Range<usize>,
    /// The field of the entry that it fills.
    pub field: String,
    /// What it says.
    pub value: Value,
    /// The same in words, as `medium 21 °C`.
    pub words: String,
}

/// A phrase that was not understood, or understood with a doubt.
#[derive(Clone, Debug, PartialEq)]
pub struct LineProblem {
    /// Where it stands in the line, in bytes.
    pub span: Range<usize>,
    /// The phrase as typed.
    pub phrase: String,
    /// What is wrong with it, in words, mostly without a full stop.
    pub what: String,
    /// The nearest thing that would be understood.
    pub nearest: Option<String>,
}

impl LineProblem {
    /// The problem as one sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        let mut out = match self.phrase.is_empty() {
            true => self.what.clone(),
            false if self.is_said_of_phrase() => format!("`{}` {}", self.phrase, self.what),
            false => format!("`{}`: {}", self.phrase, self.what),
        };
        if let Some(nearest) = &self.nearest {
            out.push_str(&format!("; did you mean `{nearest}`?"));
        } else if !out.ends_with('.') {
            // The word of a day that is none brings its remedy, and so its stop.
            out.push('.');
        }
        out
    }
}

impl LineProblem {
    /// Whether the phrase is the subject of what is said: `roted 4` *is not understood*.
    fn is_said_of_phrase(&self) -> bool {
        const VERBS: [&str; 7] = ["is", "was", "may", "needs", "counts", "stands", "takes"];
        let first = self.what.split(' ').next();
        first.is_some_and(|first| VERBS.contains(&first))
    }
}

/// A field that the entry still needs.
#[derive(Clone, Debug, PartialEq)]
pub struct MissingField {
    /// Which.
    pub field: String,
    /// What it should hold, or an example of saying it.
    pub wanted: String,
}

impl MissingField {
    /// As a sentence: what is still wanted, and how it could be said.
    #[must_use]
    pub fn sentence(&self) -> String {
        let what = asked(&self.field);
        format!("Still needed: {what} ({}).", self.wanted)
    }
}

/// What a line was understood to say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LineReading {
    /// The kind of entry, as the journal writes it; nothing if the verb was not known.
    pub kind: Option<&'static str>,
    /// The fields said, without `kind`; `at` only if a time was said.
    pub fields: Vec<(String, Value)>,
    /// Each phrase understood, in the order of the line.
    pub understood: Vec<PhraseReading>,
    /// What was not understood; an entry is not to be written while any stands.
    pub problems: Vec<LineProblem>,
    /// What was understood but may be a slip, as a new place spelt almost like a known one.
    pub doubts: Vec<LineProblem>,
    /// What must still be said.
    pub needs: Vec<MissingField>,
    /// The field (`batch` of a stick, `into` of a move) that waits for the next code from the caller,
    /// and the code if it is known already.
    pub allots: Option<(&'static str, Option<String>)>,
}

impl LineReading {
    /// Whether an entry can be made of it, once the code that it `allots` is given.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.kind.is_some() && self.problems.is_empty() && self.needs.is_empty()
    }

    /// Doubts a new taxon whose name is but the beginning of one or a few of the journal: `weigela` where it has
    /// `Weigela florida`. For a whole line; while a name is being typed every beginning is one.
    pub fn doubt_beginning(&mut self, known: &Vocabulary) {
        let Some(said) = self.understood.iter().find(|one| one.field == "taxon") else {
            return;
        };
        let Some(typed) = said.value.text().filter(|text| text.chars().count() > 2) else {
            return;
        };
        let held = |field| known.spelling(field, typed).is_some();
        let doubted = self.doubts.iter().any(|doubt| doubt.span == said.span);
        if held("taxon") || held("alias") || doubted {
            return;
        }
        let beginning = fold(typed);
        let names = known.texts("taxon").iter();
        let longer = names.filter(|name| fold(name).starts_with(&beginning));
        let longer: Vec<&str> = longer.take(3).map(String::as_str).collect();
        if longer.is_empty() {
            return;
        }
        let nearest = Some(longer.join("` or `"));
        self.doubts.push(LineProblem {
            span: said.span.clone(),
            phrase: typed.to_owned(),
            what: "is new, but a name in the journal begins so".into(),
            nearest,
        });
    }

    /// The value said for a field.
    #[must_use]
    pub fn value(&self, field: &str) -> Option<&Value> {
        let found = self.fields.iter().find(|(name, _)| name == field);
        found.map(|(_, value)| value)
    }

    /// The fields as `Entry::from_fields` takes them: with the kind, `at` if none was said, and the allotted code.
    #[must_use]
    pub fn entry_fields(&self, at: &At, code: Option<&str>) -> Vec<(String, Value)> {
        let mut out = self.fields.clone();
        out.extend(
            self.kind
                .map(|kind| ("kind".into(), Value::Text(kind.into()))),
        );
        if self.value("at").is_none() {
            out.push(("at".into(), at.write()));
        }
        if let (Some((field, _)), Some(code)) = (&self.allots, code) {
            out.push(((*field).into(), Value::Text(code.into())));
        }
        out
    }

    /// What was understood, in plain words, one line; then what is missing or not understood, a line each.
    #[must_use]
    pub fn say_back(&self) -> String {
        let Some(kind) = self.kind else {
            return self.complaints().join("\n");
        };
        let mut said: Vec<String> = Vec::new();
        if let Some((_, code)) = &self.allots {
            let code = code.as_deref().map_or(String::new(), |c| format!(" {c}"));
            said.push(format!("the next code{code}"));
        }
        let heard = self.fields.iter().filter(|(name, _)| name != "stick");
        said.extend(heard.map(|(name, value)| in_words(kind, name, value)));
        let mut lines = vec![format!("{}: {}.", deed_of(kind), said.join("; "))];
        lines.extend(self.complaints());
        lines.join("\n")
    }

    /// The problems, doubts and needs, each as a sentence.
    #[must_use]
    pub fn complaints(&self) -> Vec<String> {
        let problems = self.problems.iter().map(LineProblem::sentence);
        let doubts = self.doubts.iter().map(LineProblem::sentence);
        let needs = self.needs.iter().map(MissingField::sentence);
        problems.chain(doubts).chain(needs).collect()
    }

    /// What an amend must set so that the entry becomes what this line says: new values, and `Null` for what it
    /// no longer says. Empty if nothing changed.
    #[must_use]
    pub fn changes_to(&self, entry: &Entry) -> Vec<(String, Value)> {
        let fixed = |name: &str| matches!(name, "v" | "id" | "kind" | "of" | "crc");
        let old = entry.to_fields();
        let held = |name: &str| old.iter().find(|(n, _)| *n == name).map(|(_, v)| v);
        let mut set: Vec<(String, Value)> = Vec::new();
        for (name, value) in &self.fields {
            let implied = name == "stick" && held("stick").is_none();
            if !fixed(name) && !implied && held(name) != Some(value) {
                set.push((name.clone(), value.clone()));
            }
        }
        for (name, _) in &old {
            if !fixed(name) && *name != "at" && self.value(name).is_none() {
                set.push(((*name).to_owned(), Value::Null));
            }
        }
        set
    }
}

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
fn asked(field: &str) -> String {
    let found = ASKED.iter().find(|(name, _)| *name == field);
    found.map_or_else(|| label(field), |(_, asked)| (*asked).to_owned())
}

/// What a line of a kind does, with a capital.
fn deed_of(kind: &str) -> String {
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
