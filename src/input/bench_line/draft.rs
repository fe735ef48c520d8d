//! What has been understood of a line so far: fields put together phrase by phrase, and at the end the reading of
//! the whole line with what it still lacks. It reads no phrase itself.

use super::lists::nearest;
use super::phrases::{Shape, rows_of};
use super::reading::{LineProblem, LineReading, MissingField, PhraseReading, in_words, label};
use super::shapes::BARE;
use super::split::{LineStretch, fold};
use super::vocabulary::{LineContext, NAMED_FIELDS};
use crate::model::at::At;
use crate::model::entry::{Entry, Kind};
use crate::model::id::Id;
use crate::model::value::{EntryFault, FieldType, Value};

/// What has been understood so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Draft {
    pub fields: Vec<(String, Value)>,
    pub understood: Vec<PhraseReading>,
    pub problems: Vec<LineProblem>,
    pub doubts: Vec<LineProblem>,
}

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
        phrase: LineStretch<'_>,
        said: Vec<(&'static str, Value)>,
        context: &LineContext<'_>,
    ) {
        for (field, value) in said {
            if field == "rh_pct" && value == Value::Number(0.0) {
                let what = "a dead sensor reads 0 %: it is kept, and left out of the figures";
                self.doubt_that(phrase, what, None);
            }
            self.doubt(phrase, field, &value, context);
            self.put(phrase, field, value, context.kind);
        }
    }

    /// Takes in one field's value; a second one is joined to the first where that makes sense, else a problem.
    pub fn put(&mut self, phrase: LineStretch<'_>, field: &str, value: Value, kind: &str) {
        let held = self.fields.iter_mut().find(|(name, _)| name == field);
        match held {
            None => self.fields.push((field.to_owned(), value.clone())),
            Some((_, held)) if *held == value => {}
            Some((_, held)) => match joined(field, held, &value) {
                Some(both) => *held = both,
                None => {
                    let what = format!("was said before as {}", in_words(kind, field, held));
                    return self.problem(phrase, what, None);
                }
            },
        }
        let words = in_words(kind, field, &value);
        self.understood.push(PhraseReading {
            span: phrase.span(),
            field: field.to_owned(),
            value,
            words,
        });
    }

    /// Notes what was not understood.
    pub fn problem(
        &mut self,
        phrase: LineStretch<'_>,
        what: impl Into<String>,
        nearest: Option<String>,
    ) {
        self.problems.push(problem(phrase, what.into(), nearest));
    }

    /// Notes what was taken as it stands and may be a slip.
    pub fn doubt_that(&mut self, phrase: LineStretch<'_>, what: &str, near: Option<&str>) {
        let near = near.map(str::to_owned);
        self.doubts.push(problem(phrase, what.to_owned(), near));
    }

    /// Notes a text that is new to the journal but almost like one that it holds.
    fn doubt(
        &mut self,
        phrase: LineStretch<'_>,
        field: &str,
        value: &Value,
        context: &LineContext<'_>,
    ) {
        let Value::Text(text) = value else { return };
        if !NAMED_FIELDS.contains(&field) || context.known.spelling(field, text).is_some() {
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
            let what = format!("{} is new", label(field));
            self.doubts
                .push(problem(phrase, what, Some(near.to_owned())));
        }
    }
}

fn problem(phrase: LineStretch<'_>, what: String, nearest: Option<String>) -> LineProblem {
    LineProblem {
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

/// A code that stands in for the one that the caller will give.
const STAND_IN: &str = "00-000";

/// The reading of a whole line.
pub(super) fn finish(mut draft: Draft, context: &LineContext<'_>) -> LineReading {
    settle_bare(&mut draft);
    imply_stick(&mut draft, context);
    let mut reading = LineReading {
        kind: Some(context.kind),
        fields: draft.fields,
        understood: draft.understood,
        problems: draft.problems,
        doubts: draft.doubts,
        needs: Vec::new(),
        allots: None,
    };
    let part = context.kind == "move" && reading.value("count").is_some();
    let field = if context.kind == "stick" {
        Some("batch")
    } else {
        part.then_some("into")
    };
    let field = field.filter(|field| reading.value(field).is_none());
    reading.allots = field.map(|field| (field, context.known.next_code.clone()));
    reading.needs = missing(&reading, context);
    reading
        .understood
        .sort_by_key(|understood| understood.span.start);
    if reading.needs.is_empty() {
        check(&mut reading, context);
    }
    reading.problems.sort_by_key(|problem| problem.span.start);
    reading
}

/// `nothing yet` is a tally of none; `bare 4` tells how many were seen.
fn settle_bare(draft: &mut Draft) {
    let Some(at) = draft.fields.iter().position(|(name, _)| name == BARE) else {
        return;
    };
    let (_, bare) = draft.fields.remove(at);
    let under = draft.value("how") == Some(&Value::Text("under".into()));
    let counted = |stage: &str| match draft.value(stage) {
        Some(Value::Number(n)) => Some(*n),
        _ => None,
    };
    let stages = ["callused", "rooted", "bottom"].map(counted);
    let seen: f64 = stages.iter().flatten().sum();
    if let (Value::Number(n), None) = (bare, draft.value("seen")) {
        draft.fields.push(("seen".into(), Value::Number(n + seen)));
    }
    if stages.iter().all(Option::is_none) {
        let stage = if under { "bottom" } else { "rooted" };
        draft.fields.push((stage.into(), Value::Number(0.0)));
    }
    for understood in draft.understood.iter_mut().filter(|one| one.field == BARE) {
        "seen".clone_into(&mut understood.field);
        understood.words = match &understood.value {
            Value::Number(n) => format!("{n} with nothing yet"),
            _ => "nothing yet".into(),
        };
    }
}

/// A code stands for a batch: its id goes with it, unless the line names one.
fn imply_stick(draft: &mut Draft, context: &LineContext<'_>) {
    let follows = rows_of(context.kind).any(|row| row.field == "stick");
    if !follows || draft.value("stick").is_some() {
        return;
    }
    let code = draft.value("batch").and_then(Value::text);
    if let Some(batch) = code.and_then(|code| context.known.batch(code)) {
        draft.fields.push(("stick".into(), batch.key.write()));
    }
}

fn missing(reading: &LineReading, context: &LineContext<'_>) -> Vec<MissingField> {
    let allotted = reading.allots.as_ref().map(|(field, _)| *field);
    let fields = Kind::fields_of(context.kind)
        .unwrap_or_default()
        .into_iter();
    fields
        .filter(|field| {
            field.required && allotted != Some(field.name) && reading.value(field.name).is_none()
        })
        .map(|field| need(field.name, (field.wanted)(), context.kind))
        .collect()
}

/// A need with the table's example of saying it.
fn need(field: &str, wanted: String, kind: &str) -> MissingField {
    // Of listed words all are told; else an example says more than a type.
    let row = rows_of(kind).find(|row| row.field == field);
    let row = row.filter(|row| !matches!(row.shape, Shape::Listed(_)));
    let example = row.map(|row| format!("as `{}`", row.example));
    MissingField {
        field: field.to_owned(),
        wanted: example.unwrap_or(wanted),
    }
}

/// What the whole entry would still be refused for.
fn check(reading: &mut LineReading, context: &LineContext<'_>) {
    let fields = reading.entry_fields(&At::Day(context.now.today()), Some(STAND_IN));
    match Entry::from_fields(fields, || Id::for_line(0, 1)) {
        Ok(_) => {}
        Err(EntryFault::Missing { field, wanted }) => {
            reading.needs.push(MissingField {
                field: field.into(),
                wanted,
            });
        }
        Err(EntryFault::Bad { field, wanted, .. }) => {
            let at = reading
                .understood
                .iter()
                .find(|understood| understood.field == field);
            let what = format!("{} must be {wanted}", label(&field));
            reading.problems.push(LineProblem {
                span: at.map_or(0..0, |at| at.span.clone()),
                phrase: at.map_or(String::new(), |at| at.words.clone()),
                what,
                nearest: None,
            });
        }
        Err(EntryFault::UnknownKind { .. } | EntryFault::NewerVersion { .. }) => {}
    }
}
