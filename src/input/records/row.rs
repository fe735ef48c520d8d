//! One row of old records with what its columns mean: its cells as days, counts and facts at sticking.

use super::columns::{RecordRole, count_of};
use super::days::day_of;
use super::grid::{Cell, GridRow};
use super::mapping::Mapping;
use super::recorded::RowProblem;
use crate::input::logger::stamp::DayOrder;
use crate::model::value::Value;
use chrono::NaiveDate;

/// Reads a cell's words into fields of the journal, for a column of a role; nothing if they are not understood.
pub type FactReader<'a> = dyn FnMut(RecordRole, &str) -> Option<Vec<(String, Value)>> + 'a;

/// Hormones that a heading of strengths may name, as `IBA ppm` does.
const NAMED_IN_HEADING: [&str; 3] = ["IBA", "NAA", "K-IBA"];

/// One row with what its columns mean.
pub struct RecordRow<'a> {
    /// The row.
    pub row: &'a GridRow,
    /// How the table is read.
    pub mapping: &'a Mapping,
    /// The columns' names.
    pub names: &'a [String],
    /// The last day that is believed.
    pub today: NaiveDate,
}

impl RecordRow<'_> {
    /// All cells in words.
    pub fn cells(&self) -> String {
        let words: Vec<String> = self.row.cells.iter().map(Cell::words).collect();
        words.join(" | ")
    }

    /// The cell of a role and its column's name, if it holds anything.
    pub fn cell(&self, role: RecordRole) -> Option<(&Cell, &str)> {
        let mut roles = self.mapping.roles.iter();
        let (column, _) = roles.find(|(_, held)| **held == role)?;
        let cell = self.row.cell(*column);
        let name = self.names.get(*column).map_or("", String::as_str);
        (!cell.is_empty()).then_some((cell, name))
    }

    /// The cell of a role in the words that the mapping puts for it.
    pub fn words(&self, role: RecordRole) -> Option<String> {
        let words = self.cell(role)?.0.words();
        let words = words.strip_suffix(".0").unwrap_or(&words).to_owned();
        Some(self.mapping.taken(role, &words).to_owned())
    }

    /// The day in the cell of a role.
    pub fn day(&self, role: RecordRole) -> Result<Option<NaiveDate>, RowProblem> {
        let Some((cell, column)) = self.cell(role) else {
            return Ok(None);
        };
        let (column, words) = (column.to_owned(), cell.words());
        let put = Cell::from_text(self.mapping.taken(role, &words));
        let cell = if put.words() == words { cell } else { &put };
        let either = |order| day_of(cell, order);
        let day = match self.mapping.day_order {
            Some(order) => either(order),
            None => {
                let (one, other) = (either(DayOrder::DayFirst), either(DayOrder::MonthFirst));
                if one.is_some() && other.is_some() && one != other {
                    return Err(RowProblem::DayOrder {
                        column,
                        cell: words,
                    });
                }
                one.or(other)
            }
        };
        match day {
            Some(day) if day > self.today => Err(RowProblem::ToCome { column, day }),
            Some(day) => Ok(Some(day)),
            None => Err(RowProblem::Day {
                column,
                cell: words,
            }),
        }
    }

    /// The whole number in the cell of a role; a share of `stuck` where it is written with `%`.
    pub fn count(&self, role: RecordRole, stuck: Option<u32>) -> Result<Option<u32>, RowProblem> {
        let Some((cell, column)) = self.cell(role) else {
            return Ok(None);
        };
        let words = cell.words();
        let put = Cell::from_text(self.mapping.taken(role, &words));
        let cell = if put.words() == words { cell } else { &put };
        let none = || RowProblem::Number {
            column: column.to_owned(),
            cell: words.clone(),
        };
        count_of(cell, stuck).map(Some).ok_or_else(none)
    }

    /// The plant's name: whole, or put together from genus, species and cultivar.
    pub fn plant(&self) -> Option<String> {
        let cultivar = self.words(RecordRole::Cultivar).map(|name| {
            let bare = name.trim_matches(['\'', '\u{2018}', '\u{2019}', '"', '`']);
            format!("'{}'", bare.trim())
        });
        let mut parts: Vec<String> = match self.words(RecordRole::Plant) {
            Some(plant) => vec![plant],
            None => [RecordRole::Genus, RecordRole::Species]
                .into_iter()
                .filter_map(|role| self.words(role))
                .collect(),
        };
        let has = |name: &String| {
            parts
                .iter()
                .any(|part| part.contains(name.trim_matches('\'')))
        };
        let cultivar = cultivar.filter(|name| !has(name));
        if parts.is_empty() {
            return None;
        }
        parts.extend(cultivar);
        let name = parts.join(" ");
        Some(self.mapping.taken(RecordRole::Plant, &name).to_owned())
    }

    /// The facts at sticking; cells that are not understood go into the notes.
    pub fn facts(
        &self,
        read: &mut FactReader<'_>,
        notes: &mut Vec<String>,
    ) -> Vec<(String, Value)> {
        use RecordRole::{Container, Cover, Hormone, Medium, Place, Source, Strength, Wood};
        let mut fields: Vec<(String, Value)> = Vec::new();
        let hormone = self.hormone();
        for role in [Wood, Hormone, Medium, Place, Cover, Container, Source] {
            let words = if role == Hormone {
                hormone.clone()
            } else {
                self.words(role)
            };
            let Some(words) = words else { continue };
            match read(role, &words) {
                Some(found) => {
                    for (name, value) in found {
                        if !fields.iter().any(|(held, _)| *held == name) {
                            fields.push((name, value));
                        }
                    }
                }
                None => notes.push(self.named(role, &words)),
            }
        }
        if hormone.is_none()
            && let Some(strength) = self.words(Strength)
        {
            notes.push(self.named(Strength, &strength));
        }
        fields
    }

    /// The hormone with its strength, which may stand in a column of its own; or the strength under a heading that
    /// names the hormone.
    fn hormone(&self) -> Option<String> {
        let strength = self.words(RecordRole::Strength);
        match (self.words(RecordRole::Hormone), strength) {
            (Some(hormone), Some(strength)) => Some(
                self.mapping
                    .taken(RecordRole::Hormone, &format!("{hormone} {strength}"))
                    .to_owned(),
            ),
            (Some(hormone), None) => Some(hormone),
            (None, Some(strength)) => {
                let (_, heading) = self.cell(RecordRole::Strength)?;
                let mut words = heading.split(|c: char| !c.is_alphanumeric() && c != '-');
                let named = words.find_map(|word| {
                    let mut all = NAMED_IN_HEADING.into_iter();
                    all.find(|active| active.eq_ignore_ascii_case(word))
                })?;
                Some(match strength.as_str() {
                    "0" => "none".to_owned(),
                    strength => format!("{named} {strength}"),
                })
            }
            (None, None) => None,
        }
    }

    /// A cell with the name of its column, for the note.
    pub fn named(&self, role: RecordRole, words: &str) -> String {
        let name = self.cell(role).map_or(role.word(), |(_, name)| name);
        format!("{name}: {words}")
    }

    /// Remarks, and the cells of columns without a role, into the notes.
    pub fn rest(&self, notes: &mut Vec<String>) {
        notes.extend(self.words(RecordRole::Remarks));
        for (column, cell) in self.row.cells.iter().enumerate() {
            if !cell.is_empty() && !self.mapping.roles.contains_key(&column) {
                let name = self.names.get(column).map_or("", String::as_str);
                notes.push(format!("{name}: {}", cell.words()));
            }
        }
    }
}
