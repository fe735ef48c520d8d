//! The table `intervals`: what the looks say, for any statistics package.

use super::super::field::table_fields;
use super::super::field::{FieldValue, TableField, TableInfo, WrittenTable, write};
use super::super::options::PackageOptions;
use crate::fold::Book;
use crate::fold::interval_rows::{IntervalRow, interval_rows};
use crate::fold::selection::Selection;

const ABOUT: TableInfo = TableInfo {
    name: "intervals",
    title: "Intervals",
    row: "Some cuttings of one batch, of one fate for one milestone: the day is known only to lie after `last_seen_without` and not after \
`first_seen_with`. Batches never looked at, set aside or stuck again are left out.",
    key: &["row"],
    links: &[
        ("batch_id", "batches", "batch_id"),
        ("replicate_id", "batches", "batch_id"),
    ],
};

/// Writes it.
pub fn table(book: &Book, options: &PackageOptions) -> Result<WrittenTable, csv::Error> {
    let rows = interval_rows(book, &Selection::default()).rows;
    let rows = (1_usize..).zip(rows);
    write(ABOUT, &fields(), rows, options.spreadsheet_safe)
}

fn fields<'a>() -> Vec<TableField<(usize, IntervalRow<'a>)>> {
    table_fields! {
        "row", Whole, "", "The row's number.", "" => |(row, _)| (*row).into();
        "batch_id", Text, "", "The batch.", "MIAPPE DM-71 observation unit ID" => |(_, r)| r.facts.stick.as_str().into();
        "batch", Text, "", "Its code.", "" => |(_, r)| r.facts.batch.into();
        "taxon", Text, "", "The plant's name.", "Darwin Core scientificName" => |(_, r)| r.facts.taxon.as_str().into();
        "wood", Text, "", "Wood stage.", "" => |(_, r)| r.facts.wood.into();
        "replicate_id", Text, "", "The batch that stands for its replicate: batches of one bucket share a fate.", "MIAPPE DM-73 replicate" => |(_, r)| r.facts.replicate.as_str().into();
        "milestone", Text, "", "callus, root, bottom.", "MIAPPE DM-83 observed variable" => |(_, r)| r.milestone.word().into();
        "status", Text, "", "reached, lost (before it), or not-yet.", "" => |(_, r)| r.status.word().into();
        "last_seen_without", Whole, "days since sticking", "The last day on which it had not come.", "MIAPPE DM-94 time scale" => |(_, r)| r.left.into();
        "first_seen_with", Whole, "days since sticking", "The first day by which it had. Empty for not yet.", "MIAPPE DM-94 time scale" => |(_, r)| r.right.into();
        "cuttings", Number, "cuttings", "How many; parts of one where only some of a batch were looked at.", "" => |(_, r)| FieldValue::figure(r.weight);
    }
}
