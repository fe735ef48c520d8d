//! The journal as a data package (Frictionless Data Package, version 2: datapackage.org): plain CSV tables, a descriptor
//! with types, units and keys, a dictionary of the terms, and how to read it all elsewhere.

mod descriptor;
mod dictionary;
mod field;
mod options;
mod tables;

use super::HandoverFile;
use crate::fold::Book;
pub use options::PackageOptions;

/// A package.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DataPackage {
    /// Its files.
    pub files: Vec<HandoverFile>,
    /// Each table's file with how many rows it has.
    pub rows: Vec<(String, usize)>,
}

/// The name of the descriptor, by which a folder is known for a data package.
pub const DESCRIPTOR: &str = "datapackage.json";

/// Puts a package together.
///
/// # Errors
/// Why a table or the descriptor could not be written, in words without a full stop.
pub fn data_package(book: &Book, options: &PackageOptions) -> Result<DataPackage, String> {
    let tables = tables::all(book, options).map_err(|error| error.to_string())?;
    let descriptor = descriptor::write(&tables, options).map_err(|error| error.to_string())?;
    let text = |name: &str, text: String| HandoverFile {
        name: name.to_owned(),
        bytes: text.into_bytes(),
    };
    let mut files = vec![
        text(DESCRIPTOR, descriptor),
        text("README.md", dictionary::readme(&tables, options)),
        text("dictionary.md", dictionary::write(&tables)),
    ];
    let rows = tables
        .iter()
        .map(|table| (table.file_name(), table.rows))
        .collect();
    files.extend(tables.into_iter().map(|table| HandoverFile {
        name: table.file_name(),
        bytes: table.csv,
    }));
    Ok(DataPackage { files, rows })
}
