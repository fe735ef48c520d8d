//! How things are said and typed words understood. It touches no file and no clock.

pub mod ascii;
pub mod bench_line;
pub mod cautions;
pub mod clean;
pub mod comparison;
pub mod dates;
pub mod degrees;
pub mod due;
pub mod faults;
pub mod figures;
pub mod forecast;
pub mod fuzzy;
pub mod going;
pub mod logger;
pub mod look_pad;
pub mod mixing;
pub mod plans;
pub mod review;
pub mod short;
pub mod spreadsheet;
pub mod strip;
pub mod table;
pub mod verdicts;
pub mod when;
pub mod wrap;
