//! The mapping of a table of old records: a small text file in TOML that says what each column means and how words
//! are to be taken. A grower may edit it and use it again. It reads and writes text; it touches no file.

use super::columns::{RecordRole, count_of, guess, heading_row};
use super::days;
use super::grid::RecordGrid;
use crate::input::logger::stamp::{DayOrder, DayOrderEvidence};
use crate::model::listed::Guess;
use chrono::NaiveDate;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use thiserror::Error;

/// How a table of old records is read.
#[derive(Clone, Debug, PartialEq)]
pub struct Mapping {
    /// The sheet of a workbook.
    pub sheet: Option<String>,
    /// The index of the heading among the rows that hold anything.
    pub heading: usize,
    /// Which number of `3/4/2024` is the day; nothing while the table does not tell.
    pub day_order: Option<DayOrder>,
    /// The day of counting for rows with counts and no day of their own.
    pub counted_on: Option<NaiveDate>,
    /// Whether a counted batch is cleared on that day: what rooted is potted, the rest given up.
    pub clear_counted: bool,
    /// Whether the number callused counts those that had rooted as well.
    pub callused_includes_rooted: bool,
    /// About how many had come so far on a day of callus or roots that stands without a count; nothing keeps the day in
    /// the note instead.
    pub date_alone: Option<Guess>,
    /// The role of each column, from 0.
    pub roles: BTreeMap<usize, RecordRole>,
    /// Words of cells by the role of their column, and what is to be read in their place.
    pub words: BTreeMap<RecordRole, BTreeMap<String, String>>,
}

/// Why a mapping does not read, or does not fit its table.
#[derive(Debug, Error)]
pub enum MappingFault {
    /// No TOML, or a name that no mapping has.
    #[error("line {0} of the mapping, `{1}`, does not read: {2}")]
    Unreadable(usize, String, String),
    /// A role that there is not.
    #[error("column `{column}`: `{role}` is no role; roles are {}", role_words())]
    Role {
        /// The column's heading.
        column: String,
        /// The word given.
        role: String,
    },
    /// A column that the table has not.
    #[error("the table has no column `{0}`")]
    Column(String),
    /// A role given to two columns.
    #[error("two columns are `{0}`")]
    Twice(&'static str),
    /// A heading line that the table has not.
    #[error("heading_line: the table has no row on line {0}")]
    Heading(u64),
    /// A day order that there is not.
    #[error("day_order: `{0}` is neither \"day-month\" nor \"month-day\"")]
    Order(String),
    /// A day that there is not.
    #[error("counted_on: `{0}` is no day; write it as 2024-09-01")]
    Day(String),
    /// A guess that there is not.
    #[error("date_alone: `{0}` is none of few, half, most, all, note")]
    Guess(String),
}

fn role_words() -> String {
    let words: Vec<&str> = RecordRole::ALL.iter().map(|role| role.word()).collect();
    words.join(", ")
}

/// The mapping as it stands in its file.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct Written {
    sheet: Option<String>,
    heading_line: Option<u64>,
    day_order: Option<String>,
    counted_on: Option<String>,
    clear_counted: bool,
    callused_includes_rooted: Option<bool>,
    date_alone: Option<String>,
    columns: BTreeMap<String, String>,
    words: BTreeMap<String, BTreeMap<String, String>>,
}

/// What a date of roots without a count is taken for, unless the mapping says otherwise.
const DATE_ALONE: Guess = Guess::Most;
/// The word for keeping such a date in the note.
const IN_NOTE: &str = "note";
const DAY_FIRST: &str = "day-month";
const MONTH_FIRST: &str = "month-day";

impl Mapping {
    /// The mapping that the table itself suggests.
    #[must_use]
    pub fn guessed(grid: &RecordGrid) -> Self {
        let heading = heading_row(grid);
        let roles = guess(grid, heading);
        let day_order = evidence(grid, heading, &roles).order();
        Self {
            sheet: grid.sheet.clone(),
            heading,
            day_order,
            counted_on: None,
            clear_counted: false,
            callused_includes_rooted: includes_rooted(grid, heading, &roles),
            date_alone: Some(DATE_ALONE),
            roles,
            words: BTreeMap::new(),
        }
    }

    /// The sheet that a written mapping names, before its table is read.
    ///
    /// # Errors
    /// If the text is no mapping.
    pub fn sheet_of(text: &str) -> Result<Option<String>, MappingFault> {
        Ok(parse(text)?.sheet)
    }

    /// Reads a mapping for its table.
    ///
    /// # Errors
    /// What in it does not read or does not fit the table.
    pub fn read(text: &str, grid: &RecordGrid) -> Result<Self, MappingFault> {
        let written = parse(text)?;
        let heading = match written.heading_line {
            None => heading_row(grid),
            Some(line) => {
                let at = grid.rows.iter().position(|row| row.line == line);
                at.ok_or(MappingFault::Heading(line))?
            }
        };
        let names = column_names(grid, heading);
        let mut roles: BTreeMap<usize, RecordRole> = BTreeMap::new();
        for (column, word) in written.columns {
            let role = RecordRole::parse(&word).ok_or_else(|| MappingFault::Role {
                column: column.clone(),
                role: word.clone(),
            })?;
            let at = names.iter().position(|name| *name == column);
            let at = at.ok_or(MappingFault::Column(column))?;
            if roles.values().any(|held| *held == role) {
                return Err(MappingFault::Twice(role.word()));
            }
            roles.insert(at, role);
        }
        let day_order = match written.day_order.as_deref() {
            None => evidence(grid, heading, &roles).order(),
            Some(DAY_FIRST) => Some(DayOrder::DayFirst),
            Some(MONTH_FIRST) => Some(DayOrder::MonthFirst),
            Some(other) => return Err(MappingFault::Order(other.into())),
        };
        let counted_on = match written.counted_on {
            None => None,
            Some(day) => Some(day.parse().map_err(|_| MappingFault::Day(day))?),
        };
        let mut words = BTreeMap::new();
        for (role, taken) in written.words {
            let known = RecordRole::parse(&role).ok_or_else(|| MappingFault::Role {
                column: format!("words.{role}"),
                role: role.clone(),
            })?;
            words.insert(known, taken);
        }
        Ok(Self {
            sheet: written.sheet,
            heading,
            day_order,
            counted_on,
            clear_counted: written.clear_counted,
            callused_includes_rooted: written
                .callused_includes_rooted
                .unwrap_or_else(|| includes_rooted(grid, heading, &roles)),
            date_alone: date_alone(written.date_alone)?,
            roles,
            words,
        })
    }

    /// The mapping as text, with what each part means. `unsettled` are words that the journal does not hold, by role,
    /// each with the nearest that it holds; they stand as lines to be taken up.
    #[must_use]
    pub fn write(&self, grid: &RecordGrid, unsettled: &[UnsettledWord]) -> String {
        let mut out = String::from(
            "# How struck reads this table of old records. Edit it, then import with it again.\n\n",
        );
        let mut put = |line: std::fmt::Arguments<'_>| {
            let _ = writeln!(out, "{line}");
        };
        if let Some(sheet) = &self.sheet {
            put(format_args!("sheet = {}", quoted(sheet)));
        }
        let line = grid.rows.get(self.heading).map_or(1, |row| row.line);
        put(format_args!("heading_line = {line}"));
        match self.day_order {
            Some(DayOrder::DayFirst) => put(format_args!("day_order = {}", quoted(DAY_FIRST))),
            Some(DayOrder::MonthFirst) => put(format_args!("day_order = {}", quoted(MONTH_FIRST))),
            None => put(format_args!(
                "# Is 3/4 the third of April (day-month) or the fourth of March (month-day)? The table does not tell.\n\
                 # day_order = \"{DAY_FIRST}\""
            )),
        }
        put(format_args!(
            "# The day on which rows with counts and no day of counting were counted."
        ));
        match self.counted_on {
            Some(day) => put(format_args!("counted_on = \"{day}\"")),
            None => put(format_args!("# counted_on = \"2024-09-01\"")),
        }
        put(format_args!(
            "# Whether what rooted was potted and the rest given up on the day of the count, so that the batch is closed.\n\
             clear_counted = {}\n\
             # Whether the number callused counts those that had rooted as well.\n\
             callused_includes_rooted = {}\n\
             # A day of callus or roots without a count is a look that found about so many: few, half, most, all;\n\
             # or \"note\", which keeps the day in the note alone.\n\
             date_alone = \"{}\"",
            self.clear_counted,
            self.callused_includes_rooted,
            self.date_alone.map_or(IN_NOTE, Guess::word)
        ));
        put(format_args!(
            "\n# What each column holds: {}.\n# A column without a role is kept word for word in the batch's note.\n[columns]",
            role_words()
        ));
        for (column, name) in column_names(grid, self.heading).iter().enumerate() {
            match self.roles.get(&column) {
                Some(role) => put(format_args!("{} = {}", quoted(name), quoted(role.word()))),
                None => put(format_args!("# {} =", quoted(name))),
            }
        }
        for role in RecordRole::ALL {
            let settled = self.words.get(role);
            let open: Vec<&UnsettledWord> = unsettled.iter().filter(|w| w.role == *role).collect();
            if settled.is_none() && open.is_empty() {
                continue;
            }
            put(format_args!("\n[words.{}]", role.word()));
            for (word, taken) in settled.into_iter().flatten() {
                put(format_args!("{} = {}", quoted(word), quoted(taken)));
            }
            for word in open {
                let nearest = word.nearest.as_deref().unwrap_or(&word.word);
                put(format_args!(
                    "# {} = {}",
                    quoted(&word.word),
                    quoted(nearest)
                ));
            }
        }
        out
    }

    /// A cell's text as it is to be read: what the mapping puts in its place, else itself.
    #[must_use]
    pub fn taken<'a>(&'a self, role: RecordRole, text: &'a str) -> &'a str {
        let put = self.words.get(&role).and_then(|words| words.get(text));
        put.map_or(text, String::as_str)
    }
}

/// A word of the table that the journal does not hold or struck does not understand.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct UnsettledWord {
    /// The role of its column.
    pub role: RecordRole,
    /// The word.
    pub word: String,
    /// The nearest that is known.
    pub nearest: Option<String>,
}

fn parse(text: &str) -> Result<Written, MappingFault> {
    toml::from_str(text).map_err(|error| {
        let begins = error.span().map_or(0, |span| span.start.min(text.len()));
        let line = text.as_bytes()[..begins]
            .iter()
            .filter(|byte| **byte == b'\n')
            .count()
            + 1;
        let what = error.message().replace('\n', " ");
        let said = text.lines().nth(line - 1).unwrap_or_default().trim();
        MappingFault::Unreadable(line, said.to_owned(), what.trim().to_owned())
    })
}

/// A text as TOML writes it.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// The columns' names: their headings; `column 3` where there is none or one stands twice.
#[must_use]
pub fn column_names(grid: &RecordGrid, heading: usize) -> Vec<String> {
    let width = grid
        .rows
        .iter()
        .map(|row| row.cells.len())
        .max()
        .unwrap_or(0);
    let mut names: Vec<String> = Vec::with_capacity(width);
    for column in 0..width {
        let text = grid
            .rows
            .get(heading)
            .map_or_else(String::new, |row| row.cell(column).words());
        let repeated = text.is_empty() || names.contains(&text);
        names.push(if repeated {
            format!("column {}", column + 1)
        } else {
            text
        });
    }
    names
}

fn date_alone(word: Option<String>) -> Result<Option<Guess>, MappingFault> {
    match word {
        None => Ok(Some(DATE_ALONE)),
        Some(word) if word == IN_NOTE => Ok(None),
        Some(word) => match Guess::from_word(&word) {
            Some(Guess::None) | None => Err(MappingFault::Guess(word)),
            guess => Ok(guess),
        },
    }
}

/// Whether the number callused seems to count the rooted as well: it is never the smaller, and somewhere the two are
/// more than were stuck.
fn includes_rooted(grid: &RecordGrid, heading: usize, roles: &BTreeMap<usize, RecordRole>) -> bool {
    let column = |role| {
        roles
            .iter()
            .find(|(_, held)| **held == role)
            .map(|(c, _)| *c)
    };
    let columns = [RecordRole::Stuck, RecordRole::Callused, RecordRole::Rooted].map(column);
    let [Some(stuck), Some(callused), Some(rooted)] = columns else {
        return false;
    };
    let mut exceeds = false;
    for row in grid.rows.iter().skip(heading + 1) {
        let Some(stuck) = count_of(row.cell(stuck), None) else {
            continue;
        };
        let counts = [callused, rooted].map(|column| count_of(row.cell(column), Some(stuck)));
        if let [Some(callused), Some(rooted)] = counts {
            if callused < rooted {
                return false;
            }
            exceeds |= callused.saturating_add(rooted) > stuck;
        }
    }
    exceeds
}

/// What the days of the table say of their order.
fn evidence(
    grid: &RecordGrid,
    heading: usize,
    roles: &BTreeMap<usize, RecordRole>,
) -> DayOrderEvidence {
    let mut evidence = DayOrderEvidence::default();
    let is_day = |role: &RecordRole| role.content() == super::columns::ColumnContent::Days;
    let columns: Vec<usize> = roles
        .iter()
        .filter(|(_, r)| is_day(r))
        .map(|(c, _)| *c)
        .collect();
    for row in grid.rows.iter().skip(heading + 1) {
        for column in &columns {
            days::weigh(row.cell(*column), &mut evidence);
        }
    }
    evidence
}
