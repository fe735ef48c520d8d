//! What must be said of a table before anything of it is written: where it reads two ways, and the option that
//! says which. It decides nothing.

use crate::input::logger::{ColumnRole, LoggerLayout, ReadingUnit};

/// Above this a temperature without a unit is more likely in °F.
const HOT_C: f64 = 50.0;

/// Least and most of what a column holds, in the journal's units.
pub type ValueRange = Option<(f64, f64)>;

/// One thing in doubt.
#[derive(Clone, Debug, PartialEq)]
pub enum ImportDoubt {
    /// These columns, by their headings, could be of one role.
    Several(ColumnRole, Vec<String>),
    /// No column of times is known.
    NoTime,
    /// Day or month may come first.
    Order,
    /// A temperature without a unit would be hot in °C.
    Hot {
        /// The column's number from 1.
        number: usize,
        /// Its heading.
        heading: String,
        /// What it is taken for.
        role: ColumnRole,
        /// Least and most of it.
        range: (f64, f64),
    },
}

impl ImportDoubt {
    /// It in a sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        match self {
            Self::Several(role, headings) => format!(
                "Several columns could be {}: {}.",
                role.words(),
                headings.join(" | ")
            ),
            Self::NoTime => "No column of times is known by its heading.".into(),
            Self::Order => "Its dates could be read with the day first or the month first.".into(),
            Self::Hot { heading, range, .. } => {
                let (low, high) = range;
                format!("'{heading}' says no unit, and {low} to {high} would be hot in °C.")
            }
        }
    }

    /// The option that says which, as an example.
    #[must_use]
    pub fn option(&self) -> String {
        match self {
            Self::Several(role, headings) => {
                format!("--column \"{}={}\"", role.word(), headings[0])
            }
            Self::NoTime => "--column time=1".into(),
            Self::Order => "--dates dmy".into(),
            Self::Hot { number, role, .. } => format!("--column {}={number}:F", role.word()),
        }
    }
}

/// All that is in doubt of a table with that layout, whose columns hold values in these ranges so far.
pub(super) fn doubts(layout: &LoggerLayout, ranges: &[ValueRange]) -> Vec<ImportDoubt> {
    let several = layout.several.iter();
    let mut out: Vec<ImportDoubt> = several
        .map(|(role, headings)| ImportDoubt::Several(*role, headings.clone()))
        .collect();
    if !layout.has_time() {
        out.push(ImportDoubt::NoTime);
    }
    if !layout.order_is_sure {
        out.push(ImportDoubt::Order);
    }
    for (number, (column, range)) in (1..).zip(layout.columns.iter().zip(ranges)) {
        let (Some(role), Some(range)) = (column.role, *range) else {
            continue;
        };
        if column.unit == ReadingUnit::C && !column.unit_is_said && range.1 > HOT_C {
            let heading = column.heading.clone();
            out.push(ImportDoubt::Hot {
                number,
                heading,
                role,
                range,
            });
        }
    }
    out
}
