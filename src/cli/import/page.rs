//! What `import` says: the columns as understood, the first rows, every row that makes no batch, what is to be settled.

use crate::app::old_records::RecordsSurvey;
use crate::cli::context::Context;
use crate::input::records::columns::RecordRole;
use crate::input::records::mapping::column_names;
use crate::input::records::recorded::{RecordedBatch, RecordedEvent};
use crate::text::clean::shown;
use crate::text::figures::many;
use crate::text::table::{Column, table};
use serde_json::{Value, json};
use std::path::Path;

/// Rows understood that are shown.
const ROWS_SHOWN: usize = 10;

/// The columns, the first rows understood, every row that was not, and what is to be settled.
pub fn understood(
    context: &Context,
    name: &str,
    with: Option<&Path>,
    survey: &RecordsSurvey,
) -> String {
    let grid = &survey.grid;
    let rows = grid.rows.len().saturating_sub(survey.mapping.heading + 1) as u64;
    let sheet = grid
        .sheet
        .as_ref()
        .map_or(String::new(), |sheet| format!(", sheet {sheet}"));
    let with = with.map_or(String::new(), |with| {
        format!(", read with {}", shown(&with.to_string_lossy()))
    });
    let mut out = context.lines(&format!(
        "{name}{sheet}: {}{with}.",
        many(rows, "row", "rows")
    ));
    out.push_str(&columns(context, survey));
    out.push('\n');
    out.push_str(&first_rows(context, survey));
    for row in &survey.left_out {
        out.push_str(&context.behind(
            "! ",
            &format!(
                "Line {} makes no batch: {}. ({})",
                row.line,
                shown(&row.why.to_string()),
                shown(&row.cells)
            ),
        ));
    }
    for batch in survey
        .batches
        .iter()
        .filter(|batch| !batch.doubts.is_empty())
    {
        let doubts: Vec<String> = batch.doubts.iter().map(ToString::to_string).collect();
        let line = format!(
            "Line {}: {}; what became of the batch is kept in the note alone.",
            batch.line,
            shown(&doubts.join("; "))
        );
        out.push_str(&context.behind("? ", &line));
    }
    out.push_str(&unsettled(context, survey));
    out.push_str(&still_open(context, survey));
    out.push_str(&context.lines(&format!(
        "{} new, {} in the journal already, {} left out{}.",
        many(survey.new.len() as u64, "batch", "batches"),
        survey.held,
        many(survey.left_out.len() as u64, "row", "rows"),
        match survey.recoded {
            0 => String::new(),
            n => format!("; {n} under a new code, since another batch has theirs"),
        }
    )));
    out
}

fn columns(context: &Context, survey: &RecordsSurvey) -> String {
    let names = column_names(&survey.grid, survey.mapping.heading);
    let rows: Vec<Vec<String>> = names
        .iter()
        .enumerate()
        .map(|(column, name)| {
            let role = survey.mapping.roles.get(&column);
            let meaning = role.map_or("kept in the note".to_owned(), |role| {
                role.meaning().to_owned()
            });
            vec![name.clone(), meaning]
        })
        .collect();
    let titles = [Column::text("column"), Column::text("taken as")];
    table(&titles, &rows, context.environment.width, context.charset)
}

fn first_rows(context: &Context, survey: &RecordsSurvey) -> String {
    if survey.batches.is_empty() {
        let roles: Vec<RecordRole> = survey.mapping.roles.values().copied().collect();
        let missing: Vec<String> = RecordRole::NEEDED
            .into_iter()
            .filter(|role| !roles.contains(role))
            .map(|role| format!("{} (`{}`)", role.meaning(), role.word()))
            .collect();
        let why = match missing.is_empty() {
            true => String::new(),
            false => format!(
                " No column is taken as {}: say which it is under [columns] in the mapping, and see below what stands in them.",
                missing.join(", ")
            ),
        };
        return context.lines(&format!("No row makes a batch.{why}"));
    }
    let columns = [
        Column::number("line"),
        Column::text("stuck"),
        Column::number("cuttings"),
        Column::text("plant"),
        Column::text("then").dropping(1),
    ];
    let row = |batch: &RecordedBatch| {
        let then: Vec<String> = batch.events.iter().map(RecordedEvent::words).collect();
        vec![
            batch.line.to_string(),
            batch.day.to_string(),
            batch.stuck.to_string(),
            batch.taxon.clone(),
            then.join(", "),
        ]
    };
    let rows: Vec<Vec<String>> = survey.batches.iter().take(ROWS_SHOWN).map(row).collect();
    let mut out = context.lines(&format!(
        "{} understood; the first {}:",
        many(survey.batches.len() as u64, "row", "rows"),
        rows.len()
    ));
    out.push_str(&table(
        &columns,
        &rows,
        context.environment.width,
        context.charset,
    ));
    out.push('\n');
    out
}

fn unsettled(context: &Context, survey: &RecordsSurvey) -> String {
    let mut out = String::new();
    for word in &survey.unsettled {
        let role = word.role.meaning();
        out.push_str(&context.behind(
            "? ",
            &match &word.nearest {
                Some(nearest) => {
                    format!("{role} `{}`: the journal has `{nearest}`.", word.word)
                }
                None => format!(
                    "{role} `{}` is not understood, and is kept in the note.",
                    word.word
                ),
            },
        ));
    }
    if !out.is_empty() {
        out.push_str(&context.lines("Settle these in the mapping, or leave them as they are."));
        out.push('\n');
    }
    out
}

/// All of it as JSON.
pub fn object(survey: &RecordsSurvey, mapping: &Path, written: u64) -> Value {
    let names = column_names(&survey.grid, survey.mapping.heading);
    let columns = names.iter().enumerate().map(|(column, name)| {
        let role = survey.mapping.roles.get(&column).copied();
        json!({ "heading": name, "role": role.map(RecordRole::word) })
    });
    let batches = survey.batches.iter().map(|batch| {
        let events = batch.events.iter();
        let doubts = batch.doubts.iter().map(ToString::to_string);
        json!({
            "line": batch.line,
            "batch": batch.code,
            "taxon": batch.taxon,
            "stuck": batch.stuck,
            "stuck_on": batch.day,
            "then": events.map(|event| json!({ "kind": event.kind, "on": event.day })).collect::<Vec<_>>(),
            "doubts": doubts.collect::<Vec<_>>(),
        })
    });
    let left_out = survey
        .left_out
        .iter()
        .map(|row| json!({ "line": row.line, "why": row.why.to_string(), "cells": row.cells }));
    let unsettled = survey.unsettled.iter().map(
        |word| json!({ "role": word.role.word(), "word": word.word, "nearest": word.nearest }),
    );
    json!({
        "sheet": survey.grid.sheet,
        "mapping": mapping,
        "columns": columns.collect::<Vec<_>>(),
        "batches": batches.collect::<Vec<_>>(),
        "left_out": left_out.collect::<Vec<_>>(),
        "unsettled": unsettled.collect::<Vec<_>>(),
        "new": survey.new.len(),
        "held": survey.held,
        "differing": survey.differing,
        "recoded": survey.recoded,
        "left_open": survey.left_open.iter().sum::<usize>(),
        "before": survey.before,
        "written": written,
    })
}

/// That batches of long ago would stand on the bench, and what to do about it.
fn still_open(context: &Context, survey: &RecordsSurvey) -> String {
    let mut out = String::new();
    let why = [
        ", with what was not potted. If that was given up at the count, set clear_counted = true in the mapping.",
        ", since nothing here says how they ended. Add a column of how many rooted, or discard them once they are in the journal.",
    ];
    for (count, why) in survey.left_open.into_iter().zip(why) {
        if count > 0 {
            let batches = many(count as u64, "batch", "batches");
            let told = format!("{batches} stuck over a year ago would stay open{why}");
            out.push_str(&context.behind("! ", &told));
        }
    }
    out
}
