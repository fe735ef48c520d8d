//! What has been understood of a line so far: fields put together phrase by phrase. It reads no phrase itself.

use super::context::Context;
use super::labels;
use super::nearest::nearest;
use super::reading::{Problem, Understood};
use super::split::{Stretch, fold};
use crate::model::value::Value;

/// What has been understood so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Draft {
    pub fields: Vec<(String, Value)>,
    pub understood: Vec<Understood>,
    pub problems: Vec<Problem>,
    pub doubts: Vec<Problem>,
}

/// Fields with a free text that may be a slip for one that the journal holds.
const DOUBTED: [&str; 9] = [
    "taxon",
    "place",
    "medium",
    "container",
    "source",
    "trial",
    "arm",
    "by",
    "with",
];

impl Draft {
    /// The value of a field so far.
    pub fn value(&self, field: &str) -> Option<&Value> {
        self.fields
            .iter()
            .find(|(name, _)| name == field)
            .map(|(_, value)| value)
    }

    /// Takes in what a phrase said.
    pub fn add(
        &mut self,
        phrase: Stretch<'_>,
        said: Vec<(&'static str, Value)>,
        context: &Context<'_>,
    ) {
        for (field, value) in said {
            self.doubt(phrase, field, &value, context);
            self.put(phrase, field, value, context.kind);
        }
    }

    /// Takes in one field's value; a second one is joined to the first where that makes sense, else a problem.
    pub fn put(&mut self, phrase: Stretch<'_>, field: &str, value: Value, kind: &str) {
        let held = self.fields.iter_mut().find(|(name, _)| name == field);
        match held {
            None => self.fields.push((field.to_owned(), value.clone())),
            Some((_, held)) if *held == value => {}
            Some((_, held)) => match joined(field, held, &value) {
                Some(both) => *held = both,
                None => {
                    let what =
                        format!("was said before as {}", labels::in_words(kind, field, held));
                    return self.problem(phrase, what, None);
                }
            },
        }
        let words = labels::in_words(kind, field, &value);
        self.understood.push(Understood {
            span: phrase.span(),
            field: field.to_owned(),
            value,
            words,
        });
    }

    /// Notes what was not understood.
    pub fn problem(
        &mut self,
        phrase: Stretch<'_>,
        what: impl Into<String>,
        nearest: Option<String>,
    ) {
        self.problems.push(problem(phrase, what.into(), nearest));
    }

    /// Notes what was taken as it stands and may be a slip.
    pub fn doubt_that(&mut self, phrase: Stretch<'_>, what: &str, near: Option<&str>) {
        let near = near.map(str::to_owned);
        self.doubts.push(problem(phrase, what.to_owned(), near));
    }

    /// Notes a text that is new to the journal but almost like one that it holds.
    fn doubt(&mut self, phrase: Stretch<'_>, field: &str, value: &Value, context: &Context<'_>) {
        let Value::Text(text) = value else { return };
        if !DOUBTED.contains(&field) || context.known.spelling(field, text).is_some() {
            return;
        }
        let held: Vec<&str> = context
            .known
            .texts(field)
            .iter()
            .map(String::as_str)
            .collect();
        // The spot behind `/` is no part of the place's name.
        let name = text
            .split('/')
            .next()
            .filter(|_| field == "place")
            .unwrap_or(text);
        let near = nearest(name, &held).filter(|near| is_slip(name, near));
        if let Some(near) = near {
            let what = format!("{} is new", labels::label(field));
            self.doubts
                .push(problem(phrase, what, Some(near.to_owned())));
        }
    }
}

fn problem(phrase: Stretch<'_>, what: String, nearest: Option<String>) -> Problem {
    Problem {
        span: phrase.span(),
        phrase: phrase.text.to_owned(),
        what,
        nearest,
    }
}

/// Whether two texts differ in a word long enough for a slip: `bench A` and `bench B`, or `2000` and `3000`, are
/// two names and no slip.
fn is_slip(typed: &str, held: &str) -> bool {
    let (typed, held) = (fold(typed), fold(held));
    if typed == held {
        return false;
    }
    let mut pairs = typed.split(' ').zip(held.split(' '));
    let slipped = |(a, b): (&str, &str)| {
        a != b && a.chars().count() > 2 && !a.contains(|c: char| c.is_ascii_digit())
    };
    pairs.any(slipped)
}

/// Two values of a field in one, for those that take several.
fn joined(field: &str, held: &Value, more: &Value) -> Option<Value> {
    match (field, held, more) {
        ("aliases", Value::List(held), Value::List(more)) => {
            Some(Value::List(held.iter().chain(more).cloned().collect()))
        }
        ("hormone", held, more) => {
            let doses = doses(held)?.into_iter().chain(doses(more)?);
            Some(Value::List(doses.collect()))
        }
        ("lost" | "about", Value::Map(held), Value::Map(more)) => {
            let apart = more
                .iter()
                .all(|(name, _)| held.iter().all(|(other, _)| other != name));
            apart.then(|| Value::Map(held.iter().chain(more).cloned().collect()))
        }
        _ => None,
    }
}

fn doses(value: &Value) -> Option<Vec<Value>> {
    match value {
        Value::Map(_) => Some(vec![value.clone()]),
        Value::List(doses) => Some(doses.clone()),
        _ => None,
    }
}
