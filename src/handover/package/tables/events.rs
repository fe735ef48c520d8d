//! The table `events`: every entry that stands, amends applied, but readings of the air.

use super::super::field::table_fields;
use super::super::field::{FieldValue, TableField, TableInfo, WrittenTable, write};
use super::super::options::PackageOptions;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::settle::Standing;
use crate::model::id::Id;
use crate::model::value::Value;
use std::collections::HashMap;

const ABOUT: TableInfo = TableInfo {
    name: "events",
    title: "Events",
    row: "One entry of the journal as it stands, amends applied; withdrawn entries are left out. A field that the entry has not is empty.",
    key: &["entry_id"],
    links: &[("batch_id", "batches", "batch_id")],
};

struct EventRow<'a> {
    standing: &'a Standing,
    batch: Option<(&'a Batch, u32)>,
    fields: Vec<(&'static str, Value)>,
}

impl EventRow<'_> {
    fn value(&self, name: &str) -> FieldValue {
        let mut fields = self.fields.iter();
        fields
            .find(|(held, _)| *held == name)
            .map_or(FieldValue::Nothing, |(_, value)| cell(value))
    }

    fn day(&self, name: &str) -> FieldValue {
        match self.value(name) {
            FieldValue::Text(day) => day.parse().map_or(FieldValue::Nothing, FieldValue::Day),
            other => other,
        }
    }
}

/// A value of the journal in a cell; parts of one as `name: value`, set off by semicolons.
fn cell(value: &Value) -> FieldValue {
    match value {
        Value::Null => FieldValue::Nothing,
        Value::Bool(yes) => FieldValue::YesNo(*yes),
        Value::Number(number) => FieldValue::Number(*number),
        Value::Text(_) | Value::List(_) | Value::Map(_) => words(value).into(),
    }
}

fn words(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::Bool(yes) => yes.to_string(),
        Value::Number(number) => number.to_string(),
        Value::Text(text) => text.clone(),
        Value::List(items) => items.iter().map(words).collect::<Vec<_>>().join(" + "),
        Value::Map(parts) => {
            let part = |(name, value): &(String, Value)| format!("{name}: {}", words(value));
            parts.iter().map(part).collect::<Vec<_>>().join("; ")
        }
    }
}

/// Writes it.
pub fn table(book: &Book, options: &PackageOptions) -> Result<WrittenTable, csv::Error> {
    let mut owners: HashMap<&Id, (&Batch, u32)> = HashMap::new();
    for batch in book.batches() {
        for event in &batch.events {
            // A move that makes a part is an event of both; it is the parent's.
            let begins_part = batch.parent.is_some() && event.entry.id == batch.key;
            if !begins_part {
                owners.entry(&event.entry.id).or_insert((batch, event.age));
            }
        }
    }
    let rows = book.entries().iter().map(|standing| EventRow {
        standing,
        batch: owners.get(&standing.entry.id).copied(),
        fields: standing.entry.whole().to_fields(),
    });
    write(ABOUT, &fields(), rows, options.spreadsheet_safe)
}

fn fields<'a>() -> Vec<TableField<EventRow<'a>>> {
    let mut fields = table_fields! {
        "entry_id", Text, "", "The entry's id.", "Darwin Core eventID" => |r: &EventRow<'a>| r.standing.entry.id.to_string().into();
        "at", Text, "", "When: a day, or a time with its offset (RFC 3339).", "Darwin Core verbatimEventDate" => |r| r.standing.entry.at.to_string().into();
        "on", Day, "", "The day as written.", "Darwin Core eventDate" => |r| r.standing.entry.at.day().into();
        "kind", Text, "", "stick, look, pot, ready, sold, discard, move, treat, place, taxon, nursery, target, remark.", "Darwin Core eventType" => |r| r.standing.entry.name().word().into();
        "batch_id", Text, "", "The batch that it is about; of a stick, the one that it begins.", "MIAPPE DM-71 observation unit ID" => |r| r.batch.map(|(batch, _)| batch.key.to_string()).into();
        "batch", Text, "", "Its code now.", "" => |r| r.batch.map(|(batch, _)| batch.code.as_str()).into();
        "age_days", Whole, "days", "Days since sticking.", "" => |r| r.batch.map(|(_, age)| age).into();
        "amended", YesNo, "", "Whether a later line changed it.", "" => |r| r.standing.amended.into();
        "by", Text, "", "Who entered it.", "Darwin Core recordedBy" => |r| r.standing.entry.by().into();
        "note", Text, "", "Its note.", "Darwin Core eventRemarks" => |r| r.standing.entry.note().into();
    };
    fields.extend(details());
    fields
}

/// Fields of single kinds.
fn details<'a>() -> Vec<TableField<EventRow<'a>>> {
    table_fields! {
        "taxon", Text, "", "Of stick, taxon, target: the name as entered.", "Darwin Core verbatimIdentification" => |r| r.value("taxon");
        "stuck", Whole, "cuttings", "Of stick: cuttings stuck.", "" => |r| r.value("stuck");
        "count", Whole, "", "Of pot, ready, sold, discard, move, target: how many cuttings or plants.", "" => |r| r.value("count");
        "how", Text, "", "Of look: lift, tug, under, glance.", "Darwin Core measurementMethod" => |r| r.value("how");
        "seen", Whole, "cuttings", "Of look: how many were examined.", "" => |r| r.value("seen");
        "callused", Whole, "cuttings", "Of look: whose highest stage is callus.", "" => |r| r.value("callused");
        "rooted", Whole, "cuttings", "Of look: whose highest stage is roots.", "" => |r| r.value("rooted");
        "bottom", Whole, "cuttings", "Of look: whose highest stage is roots at the bottom.", "" => |r| r.value("bottom");
        "about", Text, "", "Of look: spoken guesses, as `rooted: most`.", "" => |r| r.value("about");
        "lost", Text, "", "Of look: found dead by cause, as `blackened: 2`.", "" => |r| r.value("lost");
        "again_on", Day, "", "Look again on this day.", "" => |r| r.day("again_on");
        "from", Text, "", "Of ready and discard: bench or pots.", "" => |r| r.value("from");
        "why", Text, "", "Of discard: the reason.", "" => |r| r.value("why");
        "what", Text, "", "Of treat: mist, vent, uncover, wean, shade, heat, water, feed, spray, pinch, pick-over, clean, other.", "MIAPPE DM-65 event type" => |r| r.value("what");
        "with", Text, "", "Of treat: the means.", "MIAPPE DM-67 event description" => |r| r.value("with");
        "into", Text, "", "Of move: the code of the part.", "" => |r| r.value("into");
        "place", Text, "", "The place.", "" => |r| r.value("place");
        "container", Text, "", "Of stick and pot: tray or pot.", "" => |r| r.value("container");
        "cover", Text, "", "Of stick, move, place: the cover.", "" => |r| r.value("cover");
        "heated", YesNo, "", "Of stick, move, place: whether there was bottom heat.", "" => |r| match r.value("heat_c") {
            FieldValue::Nothing => FieldValue::Nothing,
            other => matches!(other, FieldValue::Number(_)).into(),
        };
        "heat_c", Number, "degC", "Of stick, move, place: set point of the bottom heat.", "" => |r| match r.value("heat_c") {
            degrees @ FieldValue::Number(_) => degrees,
            _ => FieldValue::Nothing,
        };
        "by_date", Day, "", "Of target: the day.", "" => |r| r.day("by_date");
    }
}
