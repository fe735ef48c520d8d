//! How simulated nurseries and tests write an entry: `look rooted=4 lost.mould=2`; and the draw that all of them use.

use struck::model::entry::Entry;
use struck::model::id::Id;
use struck::model::value::Value;
use struck::stats::dice::Dice;
use struck::stats::distributions::normal_quantile;

/// A standard normal draw.
pub fn normal(dice: &mut Dice) -> f64 {
    normal_quantile(dice.unit().clamp(1e-12, 1.0 - 1e-12))
}

/// An entry of a day or a time: its kind, then `field=value`, `field.part=value`;
/// `_` in a value is a space.
pub fn entry(id: &str, at: impl std::fmt::Display, text: &str) -> Entry {
    let mut words = text.split_whitespace();
    let kind = words.next().unwrap();
    let mut fields = vec![
        ("id".to_owned(), Value::Text(id.into())),
        ("at".into(), Value::Text(at.to_string())),
        ("kind".into(), Value::Text(kind.into())),
    ];
    for word in words {
        let (name, value) = word.split_once('=').unwrap();
        let value = match value.parse() {
            // Codes and days look like numbers but are texts.
            Ok(number) if !["batch", "into", "arm"].contains(&name) => Value::Number(number),
            _ => Value::Text(value.replace('_', " ")),
        };
        put(&mut fields, name, value);
    }
    Entry::from_fields(fields, || Id::for_line(0, 1)).unwrap()
}

fn put(fields: &mut Vec<(String, Value)>, name: &str, value: Value) {
    let Some((outer, inner)) = name.split_once('.') else {
        fields.push((name.into(), value));
        return;
    };
    match fields.iter_mut().find(|(name, _)| name == outer) {
        Some((_, Value::Map(map))) => map.push((inner.into(), value)),
        _ => fields.push((outer.into(), Value::Map(vec![(inner.into(), value)]))),
    }
}
