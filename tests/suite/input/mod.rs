//! The reading of typed lines, look pads, days, near words.

mod bench_line;
mod bench_line_laws;
mod encodings;
mod fuzzy;
mod look_pad;
mod phrases;
mod when;
