//! The tables `climate_readings` and `climate_days`: the air of each place.

use super::super::field::table_fields;
use super::super::field::{FieldValue, TableField, TableInfo, WrittenTable, write};
use super::super::options::PackageOptions;
use crate::analysis::air::lived::sense;
use crate::analysis::air::sense::{VpdBand, place_band};
use crate::analysis::air::{AirDay, AirFigures, days};
use crate::fold::Book;
use crate::fold::climate::ClimateReading;
use crate::fold::settle::Standing;
use crate::model::entry::Climate;

const READINGS: TableInfo = TableInfo {
    name: "climate_readings",
    title: "Readings of the air",
    row: "One reading at one place.",
    key: &["reading_id"],
    links: &[("place", "places", "place")],
};

const DAYS: TableInfo = TableInfo {
    name: "climate_days",
    title: "Days of the air",
    row: "The air of one place on one day with readings: means over time where readings are less than two hours apart.",
    key: &["place", "on"],
    links: &[("place", "places", "place")],
};

struct ReadingRow<'a> {
    place: &'a str,
    standing: Standing,
    climate: Climate,
}

impl ReadingRow<'_> {
    fn number(&self, number: impl Fn(&Climate) -> Option<f64>) -> FieldValue {
        number(&self.climate).into()
    }

    fn deficit(&self) -> FieldValue {
        let reading = ClimateReading::from_entry(self.standing.entry.at, &self.climate);
        let deficit = AirFigures::from_reading(&reading).vpd_kpa;
        deficit.map_or(FieldValue::Nothing, FieldValue::figure)
    }
}

/// Writes `climate_readings`.
pub fn readings(book: &Book, options: &PackageOptions) -> Result<WrittenTable, csv::Error> {
    let rows = book.places().all().iter().flat_map(|place| {
        let readings = book.readings(&place.name).standings();
        readings.filter_map(|standing| {
            Some(ReadingRow {
                place: &place.name,
                climate: standing.entry.get()?,
                standing,
            })
        })
    });
    write(READINGS, &reading_fields(), rows, options.spreadsheet_safe)
}

fn reading_fields<'a>() -> Vec<TableField<ReadingRow<'a>>> {
    table_fields! {
        "reading_id", Text, "", "The entry's id.", "Darwin Core measurementID" => |r| r.standing.entry.id.to_string().into();
        "place", Text, "", "The place, without a spot.", "MIAPPE DM-27 growth facility" => |r| r.place.into();
        "place_written", Text, "", "The place as entered, spot and all.", "" => |r| r.climate.place.as_str().into();
        "at", Text, "", "When: a day, or a time with its offset (RFC 3339).", "Darwin Core measurementDeterminedDate" => |r| r.standing.entry.at.to_string().into();
        "on", Day, "", "The day as written.", "" => |r| r.standing.entry.at.day().into();
        "air_c", Number, "degC", "Temperature of the air.", "MIAPPE DM-59 environment parameter value" => |r| r.number(|c| c.air_c.map(|v| v.0));
        "rh_pct", Number, "%", "Relative humidity.", "MIAPPE DM-59 environment parameter value" => |r| r.number(|c| c.rh_pct.map(|v| v.0));
        "leaf_c", Number, "degC", "Temperature of the leaves.", "" => |r| r.number(|c| c.leaf_c.map(|v| v.0));
        "medium_c", Number, "degC", "Temperature of the medium.", "MIAPPE DM-59 environment parameter value" => |r| r.number(|c| c.medium_c.map(|v| v.0));
        "mist_on_s", Number, "s", "How long each burst of mist lasts.", "" => |r| r.number(|c| c.mist_on_s.map(|v| v.0));
        "mist_every_s", Number, "s", "From the start of one burst to the next.", "" => |r| r.number(|c| c.mist_every_s.map(|v| v.0));
        "ppfd", Number, "umol m-2 s-1", "Photosynthetic light on the cuttings.", "" => |r| r.number(|c| c.ppfd.map(|v| v.0));
        "vent", Text, "", "How far the vents stand open.", "" => |r| r.climate.vent.as_deref().into();
        "vpd_kpa", Number, "kPa", "Vapour pressure deficit of the air, by FAO-56 equation 11.", "" => ReadingRow::deficit;
        "by", Text, "", "Who entered it.", "Darwin Core measurementDeterminedBy" => |r| r.standing.entry.by().into();
        "note", Text, "", "Its note.", "Darwin Core measurementRemarks" => |r| r.standing.entry.note().into();
    }
}

struct DayRow<'a> {
    place: &'a str,
    band: VpdBand,
    day: AirDay,
}

/// Writes `climate_days`.
pub fn days_table(book: &Book, options: &PackageOptions) -> Result<WrittenTable, csv::Error> {
    let rows = book.places().all().iter().flat_map(|place| {
        days(book, &place.name, None, None)
            .into_iter()
            .map(|day| DayRow {
                place: &place.name,
                band: place_band(book, place, day.day),
                day,
            })
    });
    write(DAYS, &day_fields(), rows, options.spreadsheet_safe)
}

fn figure(value: Option<f64>) -> FieldValue {
    value.map_or(FieldValue::Nothing, FieldValue::figure)
}

fn day_fields<'a>() -> Vec<TableField<DayRow<'a>>> {
    table_fields! {
        "place", Text, "", "The place.", "MIAPPE DM-27 growth facility" => |r| r.place.into();
        "on", Day, "", "The day.", "Darwin Core measurementDeterminedDate" => |r| r.day.day.into();
        "air_is", Text, "", "drying, easy, wet or hot, by the place's band of vapour pressure deficit.", "" => |r| sense(&r.day, &r.band).map(|sense| sense.word()).into();
        "readings", Whole, "readings", "Readings.", "" => |r| r.day.air.readings.into();
        "gaps", Whole, "gaps", "Waits of over two hours between readings.", "" => |r| r.day.air.gaps.into();
        "vpd_kpa", Number, "kPa", "Mean vapour pressure deficit of the air.", "" => |r| figure(r.day.air.vpd_kpa.value());
        "vpd_low_kpa", Number, "kPa", "Its least.", "" => |r| figure(r.day.air.vpd_kpa.range().map(|range| range.0));
        "vpd_high_kpa", Number, "kPa", "Its most.", "" => |r| figure(r.day.air.vpd_kpa.range().map(|range| range.1));
        "leaf_vpd_kpa", Number, "kPa", "Mean deficit from leaf to air.", "" => |r| figure(r.day.air.leaf_vpd_kpa.value());
        "air_c", Number, "degC", "Mean temperature of the air.", "" => |r| figure(r.day.air.air_c.value());
        "rh_pct", Number, "%", "Mean relative humidity.", "" => |r| figure(r.day.air.rh_pct.value());
        "dew_c", Number, "degC", "Mean dew point.", "" => |r| figure(r.day.air.dew_c.value());
        "wet_bulb_c", Number, "degC", "Mean wet bulb at sea level.", "" => |r| figure(r.day.air.wet_bulb_c.value());
        "medium_c", Number, "degC", "Mean temperature of the medium.", "" => |r| figure(r.day.air.medium_c.value());
        "light_mol", Number, "mol m-2 d-1", "Daily light integral, where light was read through three quarters of the day.", "" => |r| figure(r.day.air.light_mol());
        "mist_duty", Number, "share of time", "Share of time with the mist on.", "" => |r| figure(r.day.air.duty.value());
    }
}
