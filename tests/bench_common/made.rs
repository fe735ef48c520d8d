//! An entry made of its fields, for the benchmarks that make their own journal. It draws and times nothing.

use struck::model::entry::Entry;
use struck::model::id::Id;
use struck::model::value::Value;

/// The entry of that id, kind and time, a day or an instant as a journal writes it, with those fields.
pub fn entry(id: String, kind: &str, at: impl ToString, fields: Vec<(&str, Value)>) -> Entry {
    let head = [
        ("id", Value::Text(id)),
        ("at", Value::Text(at.to_string())),
        ("kind", Value::Text(kind.into())),
    ];
    let all = head.into_iter().chain(fields);
    let all = all.map(|(name, value)| (name.to_owned(), value)).collect();
    Entry::from_fields(all, || Id::for_line(0, 1)).unwrap()
}
