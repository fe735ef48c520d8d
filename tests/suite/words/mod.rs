//! Words: cleaning, widths, names, days, tables, strips.

mod clean;
mod fuzzy;
mod short;
mod strip;
mod table;
mod when;
