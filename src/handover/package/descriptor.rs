//! `datapackage.json`: what a data package holds, for programs (Data Package and Table Schema, version 2).

use super::field::{FieldInfo, WrittenTable};
use super::options::PackageOptions;
use crate::model::text::hex;
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

/// Writes it. Who hands the package on adds a licence; none is taken for granted.
///
/// # Errors
/// If it cannot be put into JSON.
pub fn write(
    tables: &[WrittenTable],
    options: &PackageOptions,
) -> Result<String, serde_json::Error> {
    let resources: Vec<Value> = tables.iter().map(resource).collect();
    let descriptor = json!({
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": "cuttings",
        "title": "Plants raised from cuttings",
        "description": format!(
            "A bench journal as tables, as of {}. Days are counted from sticking. An empty cell is not recorded or cannot be told: it is \
             never 0 or none. See dictionary.md.",
            options.today
        ),
        "created": options.made_at.to_rfc3339(),
        "resources": resources,
    });
    let text = serde_json::to_string_pretty(&descriptor)?;
    Ok(format!("{text}\n"))
}

fn resource(table: &WrittenTable) -> Value {
    let about = &table.about;
    let hash = hex(&Sha256::digest(&table.csv));
    let links: Vec<Value> = about
        .links
        .iter()
        .map(|(field, other, their)| {
            let mut reference = Map::new();
            // A table that names its own rows leaves the name out.
            if *other != about.name {
                reference.insert("resource".into(), json!(other));
            }
            reference.insert("fields".into(), json!([their]));
            json!({ "fields": [field], "reference": reference })
        })
        .collect();
    let fields = table.fields.iter();
    let mut schema = Map::from_iter([
        (
            "fields".to_owned(),
            fields.map(|field| one(field, about.key)).collect(),
        ),
        ("primaryKey".to_owned(), json!(about.key)),
        ("missingValues".to_owned(), json!([""])),
    ]);
    if !links.is_empty() {
        schema.insert("foreignKeys".into(), json!(links));
    }
    json!({
        "name": about.name,
        "type": "table",
        "title": about.title,
        "description": about.row,
        "path": table.file_name(),
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": table.csv.len(),
        "hash": format!("sha256:{hash}"),
        "schema": schema,
    })
}

fn one(field: &FieldInfo, key: &[&str]) -> Value {
    let mut out = Map::from_iter([
        ("name".to_owned(), json!(field.name)),
        ("type".to_owned(), json!(field.sort.word())),
        ("description".to_owned(), json!(field.description)),
    ]);
    let optional = [("unit", field.unit), ("term", field.term)];
    for (name, value) in optional.into_iter().filter(|(_, value)| !value.is_empty()) {
        out.insert(name.into(), json!(value));
    }
    if key.contains(&field.name) {
        out.insert("constraints".into(), json!({ "required": true }));
    }
    Value::Object(out)
}
