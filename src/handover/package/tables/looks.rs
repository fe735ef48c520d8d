//! The table `looks`: a batch's inspections, a row a day.

use super::super::field::table_fields;
use super::super::field::{TableField, TableInfo, WrittenTable, write};
use super::super::options::PackageOptions;
use crate::fold::Book;
use crate::fold::batch::{Batch, Inspection};

const ABOUT: TableInfo = TableInfo {
    name: "looks",
    title: "Looks",
    row: "One batch on one day: its tally, and what was taken away. A stage that was not examined is empty, not 0.",
    key: &["batch_id", "on"],
    links: &[("batch_id", "batches", "batch_id")],
};

struct LookRow<'a> {
    batch: &'a Batch,
    look: &'a Inspection,
}

/// Writes it.
pub fn table(book: &Book, options: &PackageOptions) -> Result<WrittenTable, csv::Error> {
    let rows = book.batches().iter().flat_map(|batch| {
        let looks = batch.inspections.iter();
        looks.map(move |look| LookRow { batch, look })
    });
    write(ABOUT, &fields(), rows, options.spreadsheet_safe)
}

fn fields<'a>() -> Vec<TableField<LookRow<'a>>> {
    table_fields! {
        "batch_id", Text, "", "The batch.", "MIAPPE DM-71 observation unit ID" => |r| r.batch.key.to_string().into();
        "batch", Text, "", "Its code.", "" => |r| r.batch.code.as_str().into();
        "on", Day, "", "The day.", "Darwin Core measurementDeterminedDate" => |r| r.look.day.into();
        "age_days", Whole, "days", "Days since sticking.", "MIAPPE DM-94 time scale" => |r| r.look.age.into();
        "how", Text, "", "lift: all stages examined; tug: roots alone; under: the pot's holes; glance: nothing but losses. Empty: not looked at.", "Darwin Core measurementMethod" => |r| r.look.how.map(|how| how.word()).into();
        "seen", Whole, "cuttings", "How many were examined.", "" => |r| r.look.tally.map(|tally| tally.seen).into();
        "remain_at_look", Whole, "cuttings", "How many there were to see: after the losses of this look, before potting.", "" => |r| r.look.tally.map(|_| r.look.remain_at_tally).into();
        "callus", Whole, "cuttings", "Of those seen, callused or further.", "MIAPPE DM-83 observed variable" => |r| r.look.tally.and_then(|tally| tally.callus).into();
        "root", Whole, "cuttings", "Of those seen, rooted or further.", "MIAPPE DM-83 observed variable" => |r| r.look.tally.and_then(|tally| tally.root).into();
        "bottom", Whole, "cuttings", "Of those seen, with roots at the bottom.", "MIAPPE DM-83 observed variable" => |r| r.look.tally.and_then(|tally| tally.bottom).into();
        "guessed", YesNo, "", "Whether the numbers were read from a spoken guess.", "" => |r| r.look.tally.map(|tally| tally.about.is_some()).into();
        "lost", Whole, "cuttings", "Found dead and removed that day.", "" => |r| r.look.lost.total().into();
        "potted", Whole, "cuttings", "Potted that day, or saleable straight from the bench.", "" => |r| r.look.potted.into();
        "discarded", Whole, "cuttings", "Discarded from the bench that day.", "" => |r| r.look.discarded.iter().map(|(_, count)| count).sum::<u32>().into();
        "remain", Whole, "cuttings", "How many remained after the day.", "" => |r| r.look.remain.into();
    }
}
