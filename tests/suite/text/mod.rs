//! How things are said: cleaning, widths, names, tables, strips.

mod cautions;
mod clean;
mod mixing;
mod short;
mod strip;
mod table;
mod words;
