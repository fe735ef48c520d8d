//! How things are said: cleaning, widths, names, tables, strips.

mod clean;
mod mixing;
mod short;
mod strip;
mod table;
