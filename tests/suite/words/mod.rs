//! Words: cleaning, widths, names, days, tables, strips.

mod bench_line;
mod bench_line_laws;
mod clean;
mod fuzzy;
mod look_pad;
mod mixing;
mod short;
mod strip;
mod table;
mod when;
