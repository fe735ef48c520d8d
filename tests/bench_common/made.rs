//! An entry made of its fields, for the benchmarks that make their own journal. It draws and times nothing.

use chrono::{Days, NaiveDate};
use struck::model::entry::Entry;
use struck::model::id::Id;
use struck::model::value::Value;

/// The entry of that id and kind with those fields, so many days after the journal's first.
pub fn entry(
    id: String,
    kind: &str,
    (first, day): (NaiveDate, u64),
    fields: Vec<(&str, Value)>,
) -> Entry {
    let day = first + Days::new(day);
    let head = [
        ("id", Value::Text(id)),
        ("at", Value::Text(day.to_string())),
        ("kind", Value::Text(kind.into())),
    ];
    let all = head.into_iter().chain(fields);
    let all = all.map(|(name, value)| (name.to_owned(), value)).collect();
    Entry::from_fields(all, || Id::for_line(0, 1)).unwrap()
}
