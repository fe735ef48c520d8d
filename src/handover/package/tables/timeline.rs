//! The table `timeline`: how many root and how long they take, by taxon and wood stage.

use super::super::field::table_fields;
use super::super::field::{FieldValue, TableField, TableInfo, WrittenTable, write};
use super::super::options::PackageOptions;
use crate::analysis::timeline::{Figure, QuantileDay, TimelineGroup, TimelineOptions, timeline};
use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::model::filter::GroupKey;
use crate::text::timelines::missing;

const ABOUT: TableInfo = TableInfo {
    name: "timeline",
    title: "Timelines",
    row: "One taxon and wood stage and one milestone, as seen: the share that reached it and the days of those that did, with their 95 % \
ranges. A figure that cannot be told is empty, and a word beside it says why.",
    key: &["group", "milestone"],
    links: &[],
};

struct TimelineRow<'a> {
    number: usize,
    group: &'a TimelineGroup,
    milestone: Milestone,
}

impl TimelineRow<'_> {
    fn share(&self, part: impl Fn(&crate::analysis::timeline::ReachedShare) -> f64) -> FieldValue {
        let reached = &self.group.figures(self.milestone).reached;
        reached
            .value()
            .map_or(FieldValue::Nothing, |share| FieldValue::figure(part(share)))
    }

    fn quantile(&self, name: &str) -> Option<&QuantileDay> {
        let days = &self.group.figures(self.milestone).days.reached;
        let figure = days.named().find(|(named, _)| *named == name);
        figure.and_then(|(_, figure)| figure.value())
    }

    fn why(&self, name: &str) -> FieldValue {
        let days = &self.group.figures(self.milestone).days.reached;
        let figure = days.named().find(|(named, _)| *named == name);
        let at = |day: &QuantileDay| day.at.missing();
        let why = figure.and_then(|(_, figure)| match figure {
            Figure::Value(day) => at(day),
            Figure::Missing(why) => Some(*why),
        });
        why.as_ref().map(missing).into()
    }
}

fn told(figure: &Figure<f64>) -> FieldValue {
    figure
        .value()
        .map_or(FieldValue::Nothing, |value| FieldValue::figure(*value))
}

/// Writes it.
pub fn table(book: &Book, options: &PackageOptions) -> Result<WrittenTable, csv::Error> {
    let asked = TimelineOptions {
        by: vec![GroupKey::Wood],
        resamples: options.resamples,
        seed: options.seed,
        ..TimelineOptions::default()
    };
    let answer = timeline(book, &asked, &mut |_, _| true);
    let groups = answer.map_or_else(Vec::new, |answer| answer.groups);
    let rows = (1..).zip(&groups).flat_map(|(number, group)| {
        Milestone::ALL.map(|milestone| TimelineRow {
            number,
            group,
            milestone,
        })
    });
    write(ABOUT, &fields(), rows, options.spreadsheet_safe)
}

/// The fields of one quantile of the days.
macro_rules! quantile {
    ($name:literal, $part:literal) => {
        table_fields! {
            concat!("day", $name, "_after"), Whole, "days since sticking", concat!($part, " of those that reached it had after this day …"), "MIAPPE DM-94 time scale" => |r| r.quantile(concat!("p", $name)).map(|day| day.after).into();
            concat!("day", $name, "_by"), Whole, "days since sticking", "… and by this day: nearer the looks do not tell.", "MIAPPE DM-94 time scale" => |r| r.quantile(concat!("p", $name)).map(|day| day.by).into();
            concat!("day", $name), Number, "days since sticking", "The day between, where the looks are near enough to tell it.", "" => |r| r.quantile(concat!("p", $name)).map_or(FieldValue::Nothing, |day| told(&day.at));
            concat!("day", $name, "_low"), Number, "days since sticking", "Lower end of its range.", "" => |r| r.quantile(concat!("p", $name)).map_or(FieldValue::Nothing, |day| told(&day.low));
            concat!("day", $name, "_high"), Number, "days since sticking", "Upper end of its range.", "" => |r| r.quantile(concat!("p", $name)).map_or(FieldValue::Nothing, |day| told(&day.high));
            concat!("day", $name, "_why"), Text, "", "Why there is no day.", "" => |r| r.why(concat!("p", $name));
        }
    };
}

fn tenth<'a>() -> Vec<TableField<TimelineRow<'a>>> {
    quantile!("10", "A tenth")
}

fn half<'a>() -> Vec<TableField<TimelineRow<'a>>> {
    quantile!("50", "Half")
}

fn nine_tenths<'a>() -> Vec<TableField<TimelineRow<'a>>> {
    quantile!("90", "Nine tenths")
}

fn fields<'a>() -> Vec<TableField<TimelineRow<'a>>> {
    let mut fields = table_fields! {
        "group", Whole, "", "The number of the taxon and wood stage.", "" => |r: &TimelineRow<'a>| r.number.into();
        "taxon", Text, "", "The plant's name.", "Darwin Core scientificName" => |r| r.group.taxon.as_str().into();
        "wood", Text, "", "Wood stage; empty is not recorded.", "" => |r| r.group.by.first().and_then(|(_, value)| value.as_deref()).into();
        "milestone", Text, "", "callus, root, bottom.", "MIAPPE DM-83 observed variable" => |r| r.milestone.word().into();
        "batches", Whole, "batches", "Batches in it.", "" => |r| r.group.size.batches.into();
        "replicates", Whole, "replicates", "Replicates: batches of one bucket are one.", "MIAPPE DM-73 replicate" => |r| r.group.size.replicates.into();
        "stuck", Whole, "cuttings", "Cuttings stuck.", "" => |r| r.group.size.stuck.into();
        "watched", Number, "cuttings", "Cuttings not followed to the end.", "" => |r| FieldValue::figure(r.group.size.watched);
        "reached", Number, "share of stuck", "Share that reached it by the last look.", "MIAPPE DM-83 observed variable" => |r| r.share(|share| share.value);
        "reached_low", Number, "share of stuck", "Lower end of its range.", "" => |r| r.share(|share| share.low);
        "reached_high", Number, "share of stuck", "Upper end of its range.", "" => |r| r.share(|share| share.high);
        "reached_by", Whole, "days since sticking", "The day up to which anything is known.", "" => |r| r.group.figures(r.milestone).reached.value().map(|share| share.by_day).into();
        "reached_why", Text, "", "Why there is no share.", "" => |r| r.group.figures(r.milestone).reached.missing().as_ref().map(missing).into();
    };
    fields.extend(tenth());
    fields.extend(half());
    fields.extend(nine_tenths());
    fields
}
