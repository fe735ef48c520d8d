//! The tables of the data package, in the order in which they are handed out.

mod batches;
mod climate;
mod events;
mod intervals;
mod looks;
mod losses;
mod nursery;
mod timeline;

use super::field::WrittenTable;
use super::options::PackageOptions;
use crate::fold::Book;

/// All tables.
///
/// # Errors
/// If a row cannot be put into CSV.
pub fn all(book: &Book, options: &PackageOptions) -> Result<Vec<WrittenTable>, csv::Error> {
    Ok(vec![
        batches::table(book, options)?,
        looks::table(book, options)?,
        events::table(book, options)?,
        losses::table(book, options)?,
        intervals::table(book, options)?,
        climate::readings(book, options)?,
        climate::days_table(book, options)?,
        timeline::table(book, options)?,
        nursery::targets(book, options)?,
        nursery::taxa(book, options)?,
        nursery::places(book, options)?,
    ])
}
