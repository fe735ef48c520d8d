//! The rows of a table of old records, one after the other: those that make batches and those that do not.

use super::columns::RecordRole;
use super::grid::RecordGrid;
use super::mapping::{Mapping, column_names};
use super::outcome;
use super::recorded::{RecordedBatch, RowLeftOut, RowProblem};
use super::row::{FactReader, RecordRow};
use crate::model::text::hex;
use chrono::NaiveDate;
use sha2::{Digest, Sha256};
use std::collections::HashMap;

/// Reads every row under the heading. Days after `today` are not believed.
pub fn read_rows(
    grid: &RecordGrid,
    mapping: &Mapping,
    today: NaiveDate,
    facts: &mut FactReader<'_>,
) -> (Vec<RecordedBatch>, Vec<RowLeftOut>) {
    let names = column_names(grid, mapping.heading);
    let (mut batches, mut left_out) = (Vec::new(), Vec::new());
    let mut alike: HashMap<String, u32> = HashMap::new();
    for (index, row) in grid.rows.iter().enumerate() {
        let record = RecordRow {
            row,
            mapping,
            names: &names,
            today,
        };
        // Rows above the heading are counted as well, so that a fingerprint does not hang on the mapping.
        let cells = record.cells();
        let ordinal = alike.entry(cells.clone()).or_insert(0);
        *ordinal += 1;
        if index <= mapping.heading {
            continue;
        }
        let fingerprint = fingerprint(&cells, *ordinal);
        match batch(&record, &fingerprint, facts) {
            Ok(batch) => batches.push(batch),
            Err(why) => left_out.push(RowLeftOut {
                line: row.line,
                fingerprint,
                why,
                cells,
            }),
        }
    }
    (batches, left_out)
}

fn fingerprint(cells: &str, ordinal: u32) -> String {
    let hash = Sha256::digest(format!("{ordinal}\u{1f}{cells}"));
    hex(&hash[..10])
}

fn batch(
    record: &RecordRow<'_>,
    fingerprint: &str,
    facts: &mut FactReader<'_>,
) -> Result<RecordedBatch, RowProblem> {
    let taxon = record.plant().ok_or(RowProblem::NoPlant)?;
    let stuck = record.count(RecordRole::Stuck, None)?;
    let stuck = stuck.filter(|n| *n > 0).ok_or(RowProblem::NoNumber)?;
    let day = record
        .day(RecordRole::DateStuck)?
        .ok_or(RowProblem::NoDay)?;
    let outcome = outcome::read(record, stuck, day)?;
    let mut notes = Vec::new();
    let facts = record.facts(facts, &mut notes);
    notes.extend(outcome.kept);
    record.rest(&mut notes);
    let note = (!notes.is_empty()).then(|| notes.join("; "));
    Ok(RecordedBatch {
        line: record.row.line,
        fingerprint: fingerprint.to_owned(),
        code: record.words(RecordRole::Code),
        taxon,
        stuck,
        day,
        facts,
        events: outcome.events,
        note,
        doubts: outcome.doubts,
    })
}
