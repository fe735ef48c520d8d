//! How things are said: days, figures, tables, verdicts, faults, cautions; display width; the cleaning of text.
//! It touches no file and no clock.

pub mod bench;
pub mod cautions;
pub mod choice;
pub mod clean;
pub mod comparison;
pub mod dates;
pub mod due;
pub mod faults;
pub mod figures;
pub mod forecast;
pub mod mixing;
pub mod plans;
pub mod review;
pub mod short;
pub mod strip;
pub mod table;
pub mod timelines;
pub mod verdicts;
