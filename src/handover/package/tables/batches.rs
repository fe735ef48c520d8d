//! The table `batches`: every fact at sticking, what came of it, and its days.

use super::super::field::table_fields;
use super::super::field::{FieldValue, TableField, TableInfo, WrittenTable, write};
use super::super::options::PackageOptions;
use crate::analysis::batches::BatchSummary;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::names::hormone_text;
use crate::model::composite::{Dose, Heat, Hormone};
use crate::model::filter::GroupKey;
use crate::model::listed::Cause;

const ABOUT: TableInfo = TableInfo {
    name: "batches",
    title: "Batches",
    row: "A batch: cuttings of one taxon stuck together and treated alike, or a part of one that was moved.",
    key: &["batch_id"],
    links: &[
        ("parent_id", "batches", "batch_id"),
        ("taxon", "taxa", "taxon"),
    ],
};

struct BatchRow<'a> {
    book: &'a Book,
    batch: &'a Batch,
    summary: BatchSummary<'a>,
}

impl BatchRow<'_> {
    fn dose(&self) -> Option<&Dose> {
        match self.batch.stick.hormone.as_ref()? {
            Hormone::None => None,
            Hormone::Doses(doses) => doses.first(),
        }
    }

    fn lost(&self, cause: Cause) -> FieldValue {
        self.batch.counts.lost.count(cause).into()
    }
}

/// Writes it.
pub fn table(book: &Book, options: &PackageOptions) -> Result<WrittenTable, csv::Error> {
    let rows = book.batches().iter().map(|batch| BatchRow {
        book,
        batch,
        summary: BatchSummary::new(batch, options.today),
    });
    let mut fields = names();
    fields.extend(cutting());
    fields.extend(setting());
    fields.extend(outcome());
    fields.extend(lost());
    write(ABOUT, &fields, rows, options.spreadsheet_safe)
}

fn names<'a>() -> Vec<TableField<BatchRow<'a>>> {
    table_fields! {
        "batch_id", Text, "", "The batch's identity: the id of the entry that began it.", "MIAPPE DM-71 observation unit ID" => |r| r.batch.key.to_string().into();
        "batch", Text, "", "Its code, as on the label. Two batches may bear one code.", "BrAPI observationUnitName" => |r| r.batch.code.as_str().into();
        "parent_id", Text, "", "The batch that this part was split from.", "Darwin Core parentEventID" => |r| r.batch.parent.as_ref().map(ToString::to_string).into();
        "taxon", Text, "", "The plant's name, aliases resolved.", "Darwin Core scientificName" => |r| r.batch.taxon.shown().into();
        "taxon_written", Text, "", "The name as it was entered.", "Darwin Core verbatimIdentification" => |r| r.batch.stick.taxon.as_str().into();
        "genus", Text, "", "Its genus.", "MIAPPE DM-43 genus" => |r| r.batch.taxon.genus().into();
        "stuck_on", Day, "", "The day of sticking: day 0.", "Darwin Core eventDate" => |r| r.batch.stuck_on.into();
        "season", Text, "", "The nursery's year of sticking.", "MIAPPE DM-16 start date of study" => |r| GroupKey::Season.value_for(r.book, r.batch).into();
        "stuck", Whole, "cuttings", "Cuttings stuck; of a parent, those that did not leave as parts.", "" => |r| r.batch.counts.stuck.into();
        "trial", Text, "", "The trial that it is part of.", "MIAPPE DM-12 study title" => |r| r.batch.stick.trial.as_deref().into();
        "arm", Text, "", "Its arm of the trial.", "MIAPPE DM-63 experimental factor value" => |r| r.batch.stick.arm.as_deref().into();
        "again_id", Text, "", "The batch whose failed cuttings these are, stuck again. It may have been withdrawn.", "" => |r| r.batch.stick.again.as_ref().map(ToString::to_string).into();
        "aside", Text, "", "Why it is kept out of the figures.", "" => |r| r.batch.stick.aside.as_deref().into();
    }
}

fn cutting<'a>() -> Vec<TableField<BatchRow<'a>>> {
    table_fields! {
        "wood", Text, "", "Wood stage: softwood, greenwood, semi-ripe, hardwood, herbaceous.", "MIAPPE DM-63 experimental factor value" => |r| r.batch.stick.wood.map(|word| word.word()).into();
        "cut", Text, "", "Where the cut was made: nodal, internodal, heel, mallet, basal.", "" => |r| r.batch.stick.cut.map(|word| word.word()).into();
        "piece", Text, "", "Which piece of the shoot: tip, middle, base, leaf-bud, leaf, root.", "" => |r| r.batch.stick.piece.map(|word| word.word()).into();
        "firmness", Text, "", "The bend test: bends, snaps, rigid.", "" => |r| r.batch.stick.firmness.map(|word| word.word()).into();
        "nodes", Whole, "nodes", "Nodes on a cutting.", "" => |r| r.batch.stick.nodes.into();
        "length_mm", Number, "mm", "Length of a cutting.", "" => |r| r.batch.stick.length_mm.map(|v| v.0).into();
        "leaves", Whole, "leaves", "Leaves left on a cutting.", "" => |r| r.batch.stick.leaves.into();
        "wounded", YesNo, "", "Whether the base was wounded. Empty is not recorded.", "" => |r| r.batch.stick.wounded.into();
        "taken_at", Text, "", "When the cuttings were taken, if before they were stuck: a day, or a time with its offset.", "Darwin Core verbatimEventDate" => |r| r.batch.stick.taken.map(|at| at.to_string()).into();
        "source", Text, "", "The stock plant.", "MIAPPE DM-50 material source ID" => |r| r.batch.stick.source.as_deref().into();
        "blade", Text, "", "Disinfectant used on the blade.", "" => |r| r.batch.stick.blade.as_deref().into();
        "hormone", Text, "", "Rooting hormone in words; `none` is known to be untreated, empty is not recorded.", "MIAPPE DM-63 experimental factor value" => |r| r.batch.stick.hormone.as_ref().map(hormone_text).into();
        "hormone_active", Text, "", "The first hormone's active substance.", "" => |r| r.dose().map(|dose| dose.active.as_str()).into();
        "hormone_ppm", Number, "ppm", "Its strength.", "" => |r| r.dose().and_then(|dose| dose.ppm).map(|v| v.0).into();
        "hormone_carrier", Text, "", "What carried it: talc, gel, liquid, spray.", "" => |r| r.dose().and_then(|dose| dose.carrier).map(|word| word.word()).into();
        "hormone_dip_s", Number, "s", "How long the bases were dipped.", "" => |r| r.dose().and_then(|dose| dose.dip_s).map(|v| v.0).into();
    }
}

fn setting<'a>() -> Vec<TableField<BatchRow<'a>>> {
    table_fields! {
        "medium", Text, "", "Rooting medium.", "MIAPPE DM-58 environment parameter" => |r| r.batch.stick.medium.as_deref().into();
        "container", Text, "", "Tray or pot.", "" => |r| r.batch.stick.container.as_deref().into();
        "per_container", Whole, "cuttings", "Cuttings to a tray.", "" => |r| r.batch.stick.per_container.into();
        "per_plant", Whole, "cuttings", "Cuttings to a finished plant; empty is 1.", "" => |r| r.batch.stick.per_plant.into();
        "place", Text, "", "Where it was stuck, spot and all.", "MIAPPE DM-73 spatial distribution" => |r| r.batch.stick.place.as_deref().into();
        "place_now", Text, "", "Where it stands now, or stood last.", "" => |r| r.batch.place.as_deref().into();
        "cover", Text, "", "What covered it at sticking: mist, fog, case, frame, box, film, tent, open.", "MIAPPE DM-27 growth facility" => |r| r.batch.stick.cover.map(|word| word.word()).into();
        "heated", YesNo, "", "Whether it had bottom heat. Empty is not recorded.", "" => |r| r.batch.stick.heat_c.map(|heat| heat != Heat::None).into();
        "heat_c", Number, "degC", "Set point of the bottom heat.", "MIAPPE DM-59 environment parameter value" => |r| match r.batch.stick.heat_c {
            Some(Heat::To(to)) => to.0.into(),
            Some(Heat::None) | None => FieldValue::Nothing,
        };
        "by", Text, "", "Who stuck it.", "" => |r| r.batch.events.first().and_then(|event| event.entry.by()).into();
        "note", Text, "", "The note made at sticking.", "Darwin Core eventRemarks" => |r| r.batch.events.first().and_then(|event| event.entry.note()).into();
    }
}

fn outcome<'a>() -> Vec<TableField<BatchRow<'a>>> {
    table_fields! {
        "open", YesNo, "", "Whether cuttings remain on the bench.", "" => |r| r.summary.open.into();
        "outcome", Text, "", "open; potted: closed, half or more potted or saleable; failed: closed, less than half; split: all in parts.", "" => |r| r.summary.outcome.word().into();
        "rooted", Whole, "cuttings", "Rooted that are alive or left the bench as plants, so far. Empty: roots were never looked for.", "MIAPPE DM-83 observed variable" => |r| r.summary.rooted.count.into();
        "rooted_share", Number, "share of stuck", "The same as a share, 0 to 1.", "" => |r| r.summary.rooted.share.map(FieldValue::figure).unwrap_or(FieldValue::Nothing);
        "bench_bare", Whole, "cuttings", "On the bench with nothing yet, as last counted.", "" => |r| r.summary.counts.bare.into();
        "bench_callused", Whole, "cuttings", "On the bench with callus and no roots.", "" => |r| r.summary.counts.callused.into();
        "bench_rooted", Whole, "cuttings", "On the bench with roots that do not show at the bottom.", "" => |r| r.summary.counts.rooted.into();
        "bench_bottom", Whole, "cuttings", "On the bench with roots at the bottom.", "" => |r| r.summary.counts.bottom.into();
        "potted", Whole, "cuttings", "Potted into their first own pots, ever.", "" => |r| r.summary.counts.potted.into();
        "given_up", Whole, "cuttings", "Discarded from the bench for other reasons than a cause of loss.", "" => |r| r.summary.counts.given_up.into();
        "lost_in_pots", Whole, "plants", "Lost or discarded in pots.", "" => |r| r.summary.counts.lost_in_pots.into();
        "ready", Whole, "plants", "Made saleable, ever.", "" => |r| r.summary.counts.ready.into();
        "sold", Whole, "plants", "Sold, ever.", "" => |r| r.summary.counts.sold.into();
        "first_look_on", Day, "", "The day of the first look.", "" => |r| r.batch.inspections.iter().find(|it| it.how.is_some()).map(|it| it.day).into();
        "last_look_on", Day, "", "The day of the last look.", "" => |r| r.summary.last_look.into();
        "first_potted_on", Day, "", "The day on which the first left the bench as plants.", "" => |r| r.batch.inspections.iter().find(|it| it.potted > 0).map(|it| it.day).into();
        "last_entry_on", Day, "", "The day of its last entry.", "" => |r| r.summary.last_entry.into();
        "days", Whole, "days", "Days since sticking; of a closed batch, up to its last entry.", "" => |r| r.summary.day.into();
        "guessed", YesNo, "", "Whether any look was a spoken guess.", "" => |r| r.batch.rests_on_guesses().into();
        "faults", Whole, "faults", "Sums of its entries that cannot be; `struck check` tells them.", "" => |r| r.batch.faults.len().into();
    }
}

fn lost<'a>() -> Vec<TableField<BatchRow<'a>>> {
    table_fields! {
        "lost", Whole, "cuttings", "Lost on the bench by any cause.", "" => |r| r.summary.lost.into();
        "lost_blackened", Whole, "cuttings", "Lost blackened from the base up.", "" => |r| r.lost(Cause::Blackened);
        "lost_wilted", Whole, "cuttings", "Lost wilted.", "" => |r| r.lost(Cause::Wilted);
        "lost_mould", Whole, "cuttings", "Lost to mould.", "" => |r| r.lost(Cause::Mould);
        "lost_eaten", Whole, "cuttings", "Lost to pests.", "" => |r| r.lost(Cause::Eaten);
        "lost_winter", Whole, "cuttings", "Lost to winter.", "" => |r| r.lost(Cause::Winter);
        "lost_other", Whole, "cuttings", "Lost to another cause.", "" => |r| r.lost(Cause::Other);
        "lost_unknown", Whole, "cuttings", "Lost, cause not known.", "" => |r| r.lost(Cause::Unknown);
    }
}
