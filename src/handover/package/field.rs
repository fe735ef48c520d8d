//! A table of a data package: its fields with their meaning, and its rows as CSV (RFC 4180). It knows no plant.

use crate::text::clean::spreadsheet_safe;
use chrono::NaiveDate;

/// What a field holds, by the types of Table Schema (Frictionless Data, version 2).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FieldSort {
    /// Text.
    Text,
    /// A whole number.
    Whole,
    /// Any number.
    Number,
    /// A day, `2026-06-14`.
    Day,
    /// True or false.
    YesNo,
}

impl FieldSort {
    /// The type's name in Table Schema.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Text => "string",
            Self::Whole => "integer",
            Self::Number => "number",
            Self::Day => "date",
            Self::YesNo => "boolean",
        }
    }
}

/// What stands in one cell.
#[derive(Clone, Debug, PartialEq)]
pub enum FieldValue {
    /// Nothing: not recorded, or not to be told.
    Nothing,
    /// Text as it was recorded.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number as it was recorded.
    Number(f64),
    /// A day.
    Day(NaiveDate),
    /// True or false.
    YesNo(bool),
}

impl FieldValue {
    /// A number that was worked out, to nine significant digits, so that the last bits of two machines' arithmetic do
    /// not show.
    pub fn figure(value: f64) -> Self {
        if !value.is_finite() {
            return Self::Nothing;
        }
        Self::Number(format!("{value:.8e}").parse().unwrap_or(value))
    }

    fn written(self, is_safe: bool) -> String {
        match self {
            Self::Nothing => String::new(),
            Self::Text(text) if is_safe => spreadsheet_safe(&text),
            Self::Text(text) => text,
            Self::Whole(number) => number.to_string(),
            Self::Number(number) => number.to_string(),
            Self::Day(day) => day.to_string(),
            Self::YesNo(yes) => yes.to_string(),
        }
    }
}

/// Values that a cell may be made of; an absent one is nothing.
macro_rules! made_of {
    ($($from:ty => |$value:ident| $made:expr;)*) => {
        $(impl From<$from> for FieldValue {
            fn from($value: $from) -> Self {
                $made
            }
        })*
    };
}

made_of! {
    String => |text| if text.is_empty() { Self::Nothing } else { Self::Text(text) };
    &str => |text| text.to_owned().into();
    u32 => |number| Self::Whole(i64::from(number));
    i64 => |number| Self::Whole(number);
    u64 => |number| i64::try_from(number).map_or(Self::Nothing, Self::Whole);
    usize => |number| i64::try_from(number).map_or(Self::Nothing, Self::Whole);
    i32 => |number| Self::Whole(i64::from(number));
    f64 => |number| Self::Number(number);
    NaiveDate => |day| Self::Day(day);
    bool => |yes| Self::YesNo(yes);
}

impl<T: Into<Self>> From<Option<T>> for FieldValue {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Nothing, Into::into)
    }
}

/// A field of a table whose rows are `R`.
pub struct TableField<R> {
    /// What it is.
    pub about: FieldInfo,
    /// What stands in it.
    pub value: fn(&R) -> FieldValue,
}

/// What a field is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FieldInfo {
    /// Its name.
    pub name: &'static str,
    /// What it holds.
    pub sort: FieldSort,
    /// The unit; empty where there is none.
    pub unit: &'static str,
    /// What it means.
    pub description: &'static str,
    /// The term of an open standard that it comes nearest to; empty where none fits.
    pub term: &'static str,
}

/// The fields of a table, a line each: name, sort, unit, meaning, the nearest term of an open standard (unit and term are
/// empty where there is none), and what stands in it.
macro_rules! table_fields {
    ($($name:expr, $sort:ident, $unit:literal, $description:expr, $term:literal => $value:expr;)*) => {
        vec![$($crate::handover::package::field::TableField {
            about: $crate::handover::package::field::FieldInfo {
                name: $name,
                sort: $crate::handover::package::field::FieldSort::$sort,
                unit: $unit,
                description: $description,
                term: $term,
            },
            value: $value,
        },)*]
    };
}
pub(super) use table_fields;

/// What a table is.
#[derive(Clone, Copy, Debug)]
pub struct TableInfo {
    /// Its name, and that of its file.
    pub name: &'static str,
    /// Its title.
    pub title: &'static str,
    /// What one row is.
    pub row: &'static str,
    /// The fields that tell its rows apart.
    pub key: &'static [&'static str],
    /// Fields that name a row of another table, or of itself: field, table, that table's field.
    pub links: &'static [(&'static str, &'static str, &'static str)],
}

/// A table as it is written.
#[derive(Clone, Debug)]
pub struct WrittenTable {
    /// What it is.
    pub about: TableInfo,
    /// Its fields.
    pub fields: Vec<FieldInfo>,
    /// How many rows it has.
    pub rows: usize,
    /// The rows as CSV, a heading first.
    pub csv: Vec<u8>,
}

impl WrittenTable {
    /// The name of its file.
    #[must_use]
    pub fn file_name(&self) -> String {
        format!("{}.csv", self.about.name)
    }
}

/// Writes a table.
///
/// # Errors
/// If a row cannot be put into CSV.
pub fn write<R>(
    about: TableInfo,
    fields: &[TableField<R>],
    rows: impl IntoIterator<Item = R>,
    is_safe: bool,
) -> Result<WrittenTable, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(fields.iter().map(|field| field.about.name))?;
    let mut count = 0;
    for row in rows {
        let cells = fields
            .iter()
            .map(|field| (field.value)(&row).written(is_safe));
        writer.write_record(cells)?;
        count += 1;
    }
    let csv = writer
        .into_inner()
        .map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(WrittenTable {
        about,
        fields: fields.iter().map(|field| field.about).collect(),
        rows: count,
        csv,
    })
}
