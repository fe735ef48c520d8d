//! The table `losses`: what was lost or thrown out, by cause, with the look before it.

use super::super::field::table_fields;
use super::super::field::{TableField, TableInfo, WrittenTable, write};
use super::super::options::PackageOptions;
use crate::fold::Book;
use crate::fold::batch::{Batch, Event};
use crate::model::entry::Kind;
use crate::model::listed::CountedFrom;
use chrono::NaiveDate;

const ABOUT: TableInfo = TableInfo {
    name: "losses",
    title: "Losses",
    row: "Cuttings or plants of one batch that one entry took away for one cause, as entered. Where more were taken than there were, \
the batch has a fault, and `batches` counts what there was.",
    key: &["entry_id", "cause"],
    links: &[
        ("batch_id", "batches", "batch_id"),
        ("entry_id", "events", "entry_id"),
    ],
};

struct LossRow<'a> {
    batch: &'a Batch,
    event: &'a Event,
    before: Option<NaiveDate>,
    how: &'static str,
    from: CountedFrom,
    cause: &'static str,
    count: u32,
}

/// Writes it.
pub fn table(book: &Book, options: &PackageOptions) -> Result<WrittenTable, csv::Error> {
    let rows = book.batches().iter().flat_map(|batch| {
        let events = batch.events.iter();
        events.flat_map(move |event| losses(batch, event))
    });
    write(ABOUT, &fields(), rows, options.spreadsheet_safe)
}

/// What one entry took away.
fn losses<'a>(batch: &'a Batch, event: &'a Event) -> Vec<LossRow<'a>> {
    let day = event.entry.at.day();
    let looks = batch.inspections.iter().rev();
    let row = |how, from, cause, count| LossRow {
        batch,
        event,
        before: looks
            .clone()
            .find(|it| it.how.is_some() && it.day < day)
            .map(|it| it.day),
        how,
        from,
        cause,
        count,
    };
    match event.entry.kind() {
        Kind::Look(look) => look
            .lost
            .iter()
            .flat_map(|lost| lost.each().collect::<Vec<_>>())
            .filter(|(_, count)| *count > 0)
            .map(|(cause, count)| row("found-dead", CountedFrom::Bench, cause.word(), count))
            .collect(),
        Kind::Discard(discard) if discard.count > 0 => {
            let from = discard.from.unwrap_or(CountedFrom::Bench);
            let why = discard.why.map_or("", |why| why.word());
            vec![row("discarded", from, why, discard.count)]
        }
        _ => Vec::new(),
    }
}

fn fields<'a>() -> Vec<TableField<LossRow<'a>>> {
    table_fields! {
        "entry_id", Text, "", "The entry that tells of it.", "" => |r| r.event.entry.id.to_string().into();
        "batch_id", Text, "", "The batch.", "MIAPPE DM-71 observation unit ID" => |r| r.batch.key.to_string().into();
        "batch", Text, "", "Its code.", "" => |r| r.batch.code.as_str().into();
        "on", Day, "", "The day on which it was found or done.", "Darwin Core eventDate" => |r| r.event.entry.at.day().into();
        "age_days", Whole, "days", "Days since sticking.", "" => |r| r.event.age.into();
        "last_look_before", Day, "", "The look before it: a cutting found dead died after that day. Empty: none since sticking.", "" => |r| r.before.into();
        "how", Text, "", "found-dead at a look, or discarded.", "" => |r| r.how.into();
        "from", Text, "", "bench or pots.", "" => |r| r.from.word().into();
        "cause", Text, "", "blackened (from the base up), wilted, mould, eaten, winter, other, unknown; of discarded ones also given-up, surplus, restuck, unlabelled, accident, or not-said.", "Darwin Core measurementType" => |r| if r.cause.is_empty() { "not-said".into() } else { r.cause.into() };
        "count", Whole, "cuttings, or plants in pots", "How many.", "Darwin Core measurementValue" => |r| r.count.into();
    }
}
