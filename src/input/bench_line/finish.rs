//! Turns a draft into a reading: settles what only the whole line tells, and what is missing. It reads no text.

use super::context::Context;
use super::draft::Draft;
use super::labels;
use super::phrases::{Shape, rows_of};
use super::reading::{Need, Problem, Reading};
use super::shapes::BARE;
use crate::model::at::At;
use crate::model::entry::{Entry, Kind};
use crate::model::id::Id;
use crate::model::value::EntryFault;
use crate::model::value::{FieldType, Value};

/// A code that stands in for the one that the caller will give.
const STAND_IN: &str = "00-000";

/// The reading of a whole line.
pub(super) fn finish(mut draft: Draft, context: &Context<'_>) -> Reading {
    settle_bare(&mut draft);
    imply_stick(&mut draft, context);
    let mut reading = Reading {
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
fn imply_stick(draft: &mut Draft, context: &Context<'_>) {
    let follows = rows_of(context.kind).any(|row| row.field == "stick");
    if !follows || draft.value("stick").is_some() {
        return;
    }
    let code = draft.value("batch").and_then(Value::text);
    if let Some(batch) = code.and_then(|code| context.known.batch(code)) {
        draft.fields.push(("stick".into(), batch.key.write()));
    }
}

fn missing(reading: &Reading, context: &Context<'_>) -> Vec<Need> {
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
fn need(field: &str, wanted: String, kind: &str) -> Need {
    // Of listed words all are told; else an example says more than a type.
    let row = rows_of(kind).find(|row| row.field == field);
    let row = row.filter(|row| !matches!(row.shape, Shape::Listed(_)));
    let example = row.map(|row| format!("as `{}`", row.example));
    Need {
        field: field.to_owned(),
        wanted: example.unwrap_or(wanted),
    }
}

/// What the whole entry would still be refused for.
fn check(reading: &mut Reading, context: &Context<'_>) {
    let fields = reading.entry_fields(&At::Day(context.now.today()), Some(STAND_IN));
    match Entry::from_fields(fields, || Id::for_line(0, 1)) {
        Ok(_) => {}
        Err(EntryFault::Missing { field, wanted }) => {
            reading.needs.push(Need {
                field: field.into(),
                wanted,
            });
        }
        Err(EntryFault::Bad { field, wanted, .. }) => {
            let at = reading
                .understood
                .iter()
                .find(|understood| understood.field == field);
            let what = format!("{} must be {wanted}", labels::label(&field));
            reading.problems.push(Problem {
                span: at.map_or(0..0, |at| at.span.clone()),
                phrase: at.map_or(String::new(), |at| at.words.clone()),
                what,
                nearest: None,
            });
        }
        Err(EntryFault::UnknownKind { .. } | EntryFault::NewerVersion { .. }) => {}
    }
}
