//! An entry of the journal: the fields that all kinds share, and what its kind adds. It knows no file and no JSON.

use super::at::At;
use super::id::Id;
pub use super::kinds::*;
use super::value::{EntryFault, FieldSource, FieldType, NamedValues, UnknownWord, Value};
use compact_str::CompactString;
use std::borrow::Cow;

/// The version of the journal's format that this program writes and reads.
pub const VERSION: u32 = 1;

/// One entry, whole and fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Its own id, or the name of its line when it bears none.
    pub id: Id,
    /// When it was made, as written.
    pub at: At,
    /// Who made it.
    pub by: Option<CompactString>,
    /// A note in free text.
    pub note: Option<Box<str>>,
    /// What it says.
    pub kind: Kind,
}

impl Entry {
    /// Makes an entry of named values (`v`, `id`, `at`, `kind`, `by`, `note` and those of the kind).
    /// Unknown fields are ignored. Without an `id` it takes `line`, the name of its line.
    ///
    /// # Errors
    /// The first thing missing or unfit.
    pub fn from_fields<N: Into<Cow<'static, str>>>(
        fields: Vec<(N, Value)>,
        line: impl FnOnce() -> Id,
    ) -> Result<Self, EntryFault> {
        Self::read(fields, line).map(|(entry, _)| entry)
    }

    /// Makes an entry as [`Entry::from_fields`] does, and lists the unknown words that were passed over in fields that only
    /// describe.
    ///
    /// # Errors
    /// The first thing missing or unfit.
    pub fn read<N: Into<Cow<'static, str>>>(
        fields: Vec<(N, Value)>,
        line: impl FnOnce() -> Id,
    ) -> Result<(Self, Vec<UnknownWord>), EntryFault> {
        let mut fields = NamedValues::new(fields);
        match fields.optional::<u32>("v")? {
            None | Some(VERSION) => {}
            Some(version) if version > VERSION => return Err(EntryFault::NewerVersion { version }),
            Some(version) => {
                let found = version.write();
                return Err(EntryFault::Bad {
                    field: "v".into(),
                    found,
                    wanted: VERSION.to_string(),
                });
            }
        }
        let kind_word: String = fields.required("kind")?;
        if !Kind::WORDS.contains(&kind_word.as_str()) {
            return Err(EntryFault::UnknownKind { kind: kind_word });
        }
        let id = match fields.optional::<Id>("id")? {
            None => line(),
            Some(id) if !id.is_line() => id,
            Some(id) => {
                let wanted = "1 to 64 of `[0-9A-Za-z_-]`".into();
                return Err(EntryFault::Bad {
                    field: "id".into(),
                    found: id.write(),
                    wanted,
                });
            }
        };
        let at = fields.required("at")?;
        let by = fields.optional("by")?;
        let note = fields.optional("note")?;
        let kind = Kind::read(&kind_word, &mut fields)?;
        let entry = Self {
            id,
            at,
            by,
            note,
            kind,
        };
        Ok((entry.checked()?, fields.unknown_words()))
    }

    /// The entry if it also keeps the rules that join several fields.
    ///
    /// # Errors
    /// The first rule broken.
    pub fn checked(self) -> Result<Self, EntryFault> {
        match self.kind.broken_rule(self.note.as_deref()) {
            None => Ok(self),
            Some((field, wanted)) => {
                let found = self
                    .kind
                    .write()
                    .into_iter()
                    .find(|(name, _)| *name == field);
                Err(match found {
                    Some((_, found)) => EntryFault::Bad {
                        field: field.into(),
                        found,
                        wanted,
                    },
                    None => EntryFault::Missing { field, wanted },
                })
            }
        }
    }

    /// The entry as named values in the order of writing; without `id` if only its line names it.
    #[must_use]
    pub fn to_fields(&self) -> Vec<(&'static str, Value)> {
        let mut out = vec![("v", VERSION.write())];
        if !self.id.is_line() {
            out.push(("id", self.id.write()));
        }
        out.push(("at", self.at.write()));
        out.push(("kind", Value::Text(self.kind.word().into())));
        out.extend(self.kind.write());
        out.extend(self.by.as_ref().map(|by| ("by", by.write())));
        out.extend(self.note.as_ref().map(|note| ("note", note.write())));
        out
    }

    /// The entry with fields set to whole new values (`Null` takes one away).
    ///
    /// # Errors
    /// If the result is no entry.
    pub fn amended(&self, set: &[(String, Value)]) -> Result<Self, EntryFault> {
        let own = self
            .to_fields()
            .into_iter()
            .map(|(name, value)| (name.to_owned(), value));
        let mut fields: Vec<_> = own.collect();
        for (name, value) in set {
            fields.retain(|(n, _)| n != name);
            if *value != Value::Null {
                fields.push((name.clone(), value.clone()));
            }
        }
        Self::from_fields(fields, || self.id.clone())
    }
}
