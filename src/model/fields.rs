//! Named values on their way into an entry. It reports what is missing or unfit, and where.

use super::entry::EntryFault;
use super::value::{FieldType, Value};

/// The fields of one entry, to be taken by name.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fields(Vec<(String, Value)>);

impl Fields {
    /// From named values; names must differ.
    #[must_use]
    pub fn new(fields: Vec<(String, Value)>) -> Self {
        Self(fields)
    }

    /// The value of a field that must be there.
    ///
    /// # Errors
    /// If it is missing or unfit.
    pub fn required<T: FieldType>(&mut self, name: &'static str) -> Result<T, EntryFault> {
        self.optional(name)?.ok_or_else(|| EntryFault::Missing {
            field: name,
            wanted: T::wanted(),
        })
    }

    /// The value of a field that may be absent.
    ///
    /// # Errors
    /// If it is there but unfit.
    pub fn optional<T: FieldType>(&mut self, name: &'static str) -> Result<Option<T>, EntryFault> {
        let Some(at) = self.0.iter().position(|(n, _)| n == name) else {
            return Ok(None);
        };
        let (_, value) = self.0.swap_remove(at);
        if T::is_blank(&value) {
            return Ok(None);
        }
        match T::read(&value) {
            Some(read) => Ok(Some(read)),
            None => Err(EntryFault::Bad {
                field: name.to_owned(),
                found: value,
                wanted: T::wanted(),
            }),
        }
    }
}
