//! The tables `targets`, `taxa` and `places`: what is wanted, and what is known of plants and places.

use super::super::field::table_fields;
use super::super::field::{FieldValue, TableField, TableInfo, WrittenTable, write};
use super::super::options::PackageOptions;
use crate::fold::Book;
use crate::fold::names::{Place, TaxonRecord};
use crate::fold::settle::Standing;
use crate::model::composite::Heat;
use crate::model::entry::Target;

const TARGETS: TableInfo = TableInfo {
    name: "targets",
    title: "Targets",
    row: "A number of plants to have by a day.",
    key: &["entry_id"],
    links: &[("entry_id", "events", "entry_id")],
};
const TAXA: TableInfo = TableInfo {
    name: "taxa",
    title: "Taxa",
    row: "A plant that the journal speaks of.",
    key: &["taxon"],
    links: &[],
};
const PLACES: TableInfo = TableInfo {
    name: "places",
    title: "Places",
    row: "A bench, frame, box or house that the journal speaks of; a spot on one is no place of its own.",
    key: &["place"],
    links: &[],
};

struct TargetRow<'a> {
    standing: &'a Standing,
    target: Target,
    taxon: String,
}

/// Writes `targets`.
pub fn targets(book: &Book, options: &PackageOptions) -> Result<WrittenTable, csv::Error> {
    let rows = book.targets().filter_map(|standing| {
        let target = standing.entry.get::<Target>()?;
        Some(TargetRow {
            standing,
            taxon: book.taxa().resolve(&target.taxon).shown(),
            target,
        })
    });
    write(TARGETS, &target_fields(), rows, options.spreadsheet_safe)
}

fn target_fields<'a>() -> Vec<TableField<TargetRow<'a>>> {
    table_fields! {
        "entry_id", Text, "", "The entry's id.", "" => |r| r.standing.entry.id.to_string().into();
        "taxon", Text, "", "The plant's name.", "Darwin Core scientificName" => |r| r.taxon.as_str().into();
        "count", Whole, "plants", "How many plants.", "" => |r| r.target.count.into();
        "by_date", Day, "", "By which day.", "" => |r| r.target.by_date.into();
        "wood", Text, "", "Of which wood stage; empty is any.", "" => |r| r.target.wood.map(|word| word.word()).into();
        "entered_on", Day, "", "The day on which it was entered.", "" => |r| r.standing.entry.at.day().into();
        "by", Text, "", "Who entered it.", "" => |r| r.standing.entry.by().into();
        "note", Text, "", "Its note.", "" => |r| r.standing.entry.note().into();
    }
}

struct TaxonRow<'a> {
    record: &'a TaxonRecord,
    batches: usize,
}

/// Writes `taxa`.
pub fn taxa(book: &Book, options: &PackageOptions) -> Result<WrittenTable, csv::Error> {
    let mut batches: std::collections::HashMap<String, usize> = std::collections::HashMap::new();
    for batch in book.batches() {
        *batches.entry(batch.taxon.key()).or_default() += 1;
    }
    let rows = book.taxa().all().iter().map(|record| TaxonRow {
        batches: batches.get(&record.taxon.key()).copied().unwrap_or(0),
        record,
    });
    write(TAXA, &taxon_fields(), rows, options.spreadsheet_safe)
}

fn taxon_fields<'a>() -> Vec<TableField<TaxonRow<'a>>> {
    table_fields! {
        "taxon", Text, "", "The plant's name as first written.", "Darwin Core scientificName" => |r| r.record.taxon.shown().into();
        "genus", Text, "", "Its genus.", "MIAPPE DM-43 genus" => |r| r.record.taxon.genus().into();
        "species", Text, "", "Its species.", "MIAPPE DM-44 species" => |r| r.record.taxon.species().into();
        "cultivar", Text, "", "Its cultivar, without quotes.", "Darwin Core cultivarEpithet" => |r| r.record.taxon.cultivar().into();
        "aliases", Text, "", "Other names for it, set off by semicolons.", "" => |r| r.record.facts.as_ref().and_then(|f| f.aliases.as_ref()).map(|names| names.join("; ")).into();
        "protected", YesNo, "", "Whether breeders' rights stand on it, as recorded. Empty is not recorded.", "" => |r| r.record.facts.as_ref().and_then(|f| f.protected).into();
        "base_c", Number, "degC", "Base temperature of its degree-days.", "" => |r| r.record.facts.as_ref().and_then(|f| f.base_c).map(|v| v.0).into();
        "first_look_days", Whole, "days", "Days after which it is first looked at.", "" => |r| r.record.facts.as_ref().and_then(|f| f.first_look_days).into();
        "batches", Whole, "batches", "Its batches in the journal.", "" => |r| r.batches.into();
    }
}

/// Writes `places`.
pub fn places(book: &Book, options: &PackageOptions) -> Result<WrittenTable, csv::Error> {
    let rows = book.places().all();
    write(PLACES, &place_fields(), rows, options.spreadsheet_safe)
}

fn place_fields<'a>() -> Vec<TableField<&'a Place>> {
    table_fields! {
        "place", Text, "", "Its name as first written.", "MIAPPE DM-27 growth facility" => |r: &&Place| r.name.as_str().into();
        "aliases", Text, "", "Other names for it, set off by semicolons.", "" => |r| r.facts.as_ref().and_then(|f| f.aliases.as_ref()).map(|names| names.join("; ")).into();
        "cover", Text, "", "Its cover.", "" => |r| r.facts.as_ref().and_then(|f| f.cover).map(|word| word.word()).into();
        "heated", YesNo, "", "Whether it has bottom heat.", "" => |r| r.facts.as_ref().and_then(|f| f.heat_c).map(|heat| heat != Heat::None).into();
        "heat_c", Number, "degC", "Set point of the bottom heat.", "" => |r| match r.facts.as_ref().and_then(|f| f.heat_c) {
            Some(Heat::To(to)) => to.0.into(),
            Some(Heat::None) | None => FieldValue::Nothing,
        };
        "medium", Text, "", "Its usual medium.", "" => |r| r.facts.as_ref().and_then(|f| f.medium.as_deref()).into();
        "trays", Whole, "trays", "Room for so many trays.", "" => |r| r.facts.as_ref().and_then(|f| f.trays).into();
        "nozzles", Whole, "nozzles", "Mist nozzles.", "" => |r| r.facts.as_ref().and_then(|f| f.nozzles).into();
        "nozzle_l_h", Number, "L/h", "Output of a nozzle.", "" => |r| r.facts.as_ref().and_then(|f| f.nozzle_l_h).map(|v| v.0).into();
        "area_m2", Number, "m2", "Its area.", "" => |r| r.facts.as_ref().and_then(|f| f.area_m2).map(|v| v.0).into();
        "vpd_low_kpa", Number, "kPa", "Lower end of the deficit that suits it.", "" => |r| r.facts.as_ref().and_then(|f| f.vpd_low_kpa).map(|v| v.0).into();
        "vpd_high_kpa", Number, "kPa", "Upper end of it.", "" => |r| r.facts.as_ref().and_then(|f| f.vpd_high_kpa).map(|v| v.0).into();
        "closed", YesNo, "", "Whether it is no longer used.", "" => |r| r.facts.as_ref().and_then(|f| f.closed).into();
    }
}
