//! Old records in a table (delimited text or a workbook) read into batches: cells, what the columns mean, the
//! mapping a grower may edit, and rows as batches with their looks. Pure: bytes and the mapping come as arguments.

pub mod batches;
pub mod columns;
pub mod days;
pub mod grid;
pub mod mapping;
mod outcome;
pub mod recorded;
mod row;
