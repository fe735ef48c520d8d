//! What a line was understood to say: fields, spans, problems, and all of it in plain words. It reads nothing itself.

use super::known::Known;
use super::labels;
use super::split::fold;
use crate::model::at::At;
use crate::model::entry::Entry;
use crate::model::value::{FieldType, Value};
use std::ops::Range;

/// A phrase that was understood.
#[derive(Clone, Debug, PartialEq)]
pub struct Understood {
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
pub struct Problem {
    /// Where it stands in the line, in bytes.
    pub span: Range<usize>,
    /// The phrase as typed.
    pub phrase: String,
    /// What is wrong with it, in words, mostly without a full stop.
    pub what: String,
    /// The nearest thing that would be understood.
    pub nearest: Option<String>,
}

impl Problem {
    /// The problem as one sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        let mut out = match self.phrase.is_empty() {
            true => self.what.clone(),
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

/// A field that the entry still needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// Which.
    pub field: String,
    /// What it should hold, or an example of saying it.
    pub wanted: String,
}

impl Need {
    /// As a sentence: what is still wanted, and how it could be said.
    #[must_use]
    pub fn sentence(&self) -> String {
        let what = labels::asked(&self.field);
        format!("Still wanted: {what} ({}).", self.wanted)
    }
}

/// What a line was understood to say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reading {
    /// The kind of entry, as the journal writes it; nothing if the verb was not known.
    pub kind: Option<&'static str>,
    /// The fields said, without `kind`; `at` only if a time was said.
    pub fields: Vec<(String, Value)>,
    /// Each phrase understood, in the order of the line.
    pub understood: Vec<Understood>,
    /// What was not understood; an entry is not to be written while any stands.
    pub problems: Vec<Problem>,
    /// What was understood but may be a slip, as a new place spelt almost like a known one.
    pub doubts: Vec<Problem>,
    /// What must still be said.
    pub needs: Vec<Need>,
    /// The field (`batch` of a stick, `into` of a move) that waits for the next code from the caller,
    /// and the code if it is known already.
    pub allots: Option<(&'static str, Option<String>)>,
}

impl Reading {
    /// Whether an entry can be made of it, once the code that it `allots` is given.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.kind.is_some() && self.problems.is_empty() && self.needs.is_empty()
    }

    /// Doubts a new taxon whose name is but the beginning of one or a few of the journal: `weigela` where it has
    /// `Weigela florida`. For a whole line; while a name is being typed every beginning is one.
    pub fn doubt_beginning(&mut self, known: &Known) {
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
        self.doubts.push(Problem {
            span: said.span.clone(),
            phrase: typed.to_owned(),
            what: "is new, and the beginning of a name in the journal".into(),
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
        said.extend(heard.map(|(name, value)| labels::in_words(kind, name, value)));
        let mut lines = vec![format!("{}: {}.", labels::verb(kind), said.join("; "))];
        lines.extend(self.complaints());
        lines.join("\n")
    }

    /// The problems, doubts and needs, each as a sentence.
    #[must_use]
    pub fn complaints(&self) -> Vec<String> {
        let problems = self.problems.iter().map(Problem::sentence);
        let doubts = self.doubts.iter().map(Problem::sentence);
        let needs = self.needs.iter().map(Need::sentence);
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
