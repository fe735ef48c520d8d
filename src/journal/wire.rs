//! JSON text to named values and back. It knows which fields there are, not what they mean.

use crate::model::entry::Kind;
use crate::model::fault::LineFault;
use crate::model::value::Value;
use serde::de::{DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::collections::HashSet;
use std::fmt::{self, Write};
use std::sync::LazyLock;

/// The fields that entries of all kinds share, beside `crc`.
const COMMON: [&str; 6] = ["v", "id", "at", "kind", "by", "note"];
/// The check value's field.
const CRC: &str = "crc";
/// How many names and values a line may hold, so that none takes memory out of proportion to its length. No line of the
/// greatest length that is written, 1 MiB, can hold as many: each takes two bytes at least.
const MOST_VALUES: usize = 1 << 19;

/// Every field name that this program knows. A name has one type in every kind, so one set serves;
/// the values of other fields are passed over however deep they are.
static FIELD_NAMES: LazyLock<foldhash::HashSet<&'static str>> = LazyLock::new(|| {
    let fields = Kind::WORDS.iter().filter_map(|word| Kind::fields_of(word));
    fields
        .flatten()
        .map(|field| field.name)
        .chain(COMMON)
        .collect()
});

/// The fields of one line.
#[derive(Debug, PartialEq)]
pub struct JsonFields {
    /// Those that are known, in the order written; no name twice.
    pub named: Vec<(&'static str, Value)>,
    /// Where `crc` stands among all fields, if it is there: whether it is the last.
    pub crc_is_last: Option<bool>,
}

/// Reads one object.
///
/// # Errors
/// What the text is instead, or which key stands twice.
pub fn read(text: &str) -> Result<JsonFields, LineFault> {
    let mut met = ReadState::default();
    let mut reader = serde_json::Deserializer::from_str(text);
    let read = Object { met: &mut met }.deserialize(&mut reader);
    match read.and_then(|fields| reader.end().map(|()| fields)) {
        Ok(fields) => Ok(fields),
        Err(error) => Err(match met.doubled {
            Some(RepeatedKey::Known(fault)) => fault,
            Some(RepeatedKey::Unknown(key)) => LineFault::DuplicateKey {
                values: values_of_key(text, &key),
                key,
            },
            None => not_json(text, &error),
        }),
    }
}

/// Says why a text is no object, in words where the reader's own are no help at the bench.
fn not_json(text: &str, error: &serde_json::Error) -> LineFault {
    let byte = error.column();
    let is_json = || serde_json::from_str::<IgnoredAny>(text).is_ok();
    if !text.starts_with('{') && is_json() {
        return LineFault::NotObject;
    }
    let met = text.get(byte.saturating_sub(1)..).unwrap_or("");
    let detail = if error.is_eof() {
        "the line breaks off".to_owned()
    } else if text.starts_with('{')
        && met.starts_with('{')
        && text
            .get(..byte.saturating_sub(1))
            .is_some_and(|own| serde_json::from_str::<IgnoredAny>(own).is_ok())
    {
        "a second entry begins on the same line".to_owned()
    } else {
        let words = error.to_string();
        words.split(" at line ").next().unwrap_or(&words).to_owned()
    };
    LineFault::NotJson {
        detail,
        byte: u32::try_from(byte).unwrap_or(u32::MAX),
    }
}

/// A key that stands twice.
enum RepeatedKey {
    Known(LineFault),
    Unknown(String),
}

/// What was met while a line was read.
#[derive(Default)]
struct ReadState {
    doubled: Option<RepeatedKey>,
    names_and_values: usize,
}

impl ReadState {
    /// Counts one more name or value.
    fn one<E: Error>(&mut self) -> Result<(), E> {
        self.names_and_values += 1;
        if self.names_and_values > MOST_VALUES {
            return Err(E::custom(format_args!(
                "it holds more than {MOST_VALUES} names and values"
            )));
        }
        Ok(())
    }
}

struct Object<'a> {
    met: &'a mut ReadState,
}

impl<'de> DeserializeSeed<'de> for Object<'_> {
    type Value = JsonFields;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<JsonFields, D::Error> {
        reader.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Object<'_> {
    type Value = JsonFields;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("an object")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<JsonFields, A::Error> {
        let mut fields = JsonFields {
            named: Vec::with_capacity(16),
            crc_is_last: None,
        };
        let mut unknown = HashSet::new();
        while let Some(key) = map.next_key_seed(FieldName)? {
            self.met.one()?;
            let crc_before = fields.crc_is_last.is_some();
            fields.crc_is_last = fields.crc_is_last.map(|_| false);
            match key {
                Key::Crc if crc_before => return Err(again(self.met, CRC.to_owned())),
                Key::Crc => {
                    map.next_value::<IgnoredAny>()?;
                    fields.crc_is_last = Some(true);
                }
                Key::Known(key) => {
                    let value = map.next_value_seed(Any {
                        met: &mut *self.met,
                    })?;
                    let first = fields.named.iter().find(|(name, _)| *name == key);
                    if let Some((_, first)) = first {
                        return Err(twice(self.met, key.to_owned(), first, &value));
                    }
                    fields.named.push((key, value));
                }
                Key::Unknown(key) if unknown.contains(&key) => return Err(again(self.met, key)),
                Key::Unknown(key) => {
                    map.next_value::<IgnoredAny>()?;
                    unknown.insert(key);
                }
            }
        }
        Ok(fields)
    }
}

/// The name of a field, without a copy of it where it is known.
enum Key {
    Crc,
    Known(&'static str),
    Unknown(String),
}

struct FieldName;

impl<'de> DeserializeSeed<'de> for FieldName {
    type Value = Key;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Key, D::Error> {
        reader.deserialize_str(self)
    }
}

impl Visitor<'_> for FieldName {
    type Value = Key;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("the name of a field")
    }

    fn visit_str<E: Error>(self, name: &str) -> Result<Key, E> {
        Ok(match FIELD_NAMES.get(name) {
            Some(known) => Key::Known(known),
            None if name == CRC => Key::Crc,
            None => Key::Unknown(name.to_owned()),
        })
    }
}

/// Notes a key of unknown meaning that stands twice.
fn again<E: Error>(met: &mut ReadState, key: String) -> E {
    met.doubled = Some(RepeatedKey::Unknown(key));
    E::custom("a key stands twice")
}

/// Notes both values of a key that stands twice.
fn twice<E: Error>(met: &mut ReadState, key: String, first: &Value, second: &Value) -> E {
    let values = [json_text(first), json_text(second)];
    met.doubled = Some(RepeatedKey::Known(LineFault::DuplicateKey { key, values }));
    E::custom("a key stands twice")
}

struct Any<'a> {
    met: &'a mut ReadState,
}

impl<'de> DeserializeSeed<'de> for Any<'_> {
    type Value = Value;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Value, D::Error> {
        reader.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Any<'_> {
    type Value = Value;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("a value")
    }

    fn visit_unit<E: Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E: Error>(self, it: bool) -> Result<Value, E> {
        Ok(Value::Bool(it))
    }

    fn visit_u64<E: Error>(self, it: u64) -> Result<Value, E> {
        // Beyond 2^53 it is rounded: every field's range ends far below.
        Ok(Value::Number(it as f64))
    }

    fn visit_i64<E: Error>(self, it: i64) -> Result<Value, E> {
        Ok(Value::Number(it as f64))
    }

    fn visit_f64<E: Error>(self, it: f64) -> Result<Value, E> {
        Ok(Value::Number(it))
    }

    fn visit_str<E: Error>(self, it: &str) -> Result<Value, E> {
        Ok(Value::Text(it.to_owned()))
    }

    fn visit_string<E: Error>(self, it: String) -> Result<Value, E> {
        Ok(Value::Text(it))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element_seed(Any {
            met: &mut *self.met,
        })? {
            self.met.one()?;
            list.push(item);
        }
        Ok(Value::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Value, A::Error> {
        let mut fields: Vec<(String, Value)> = Vec::new();
        let mut names = HashSet::new();
        while let Some(key) = map.next_key::<String>()? {
            self.met.one()?;
            let value = map.next_value_seed(Any {
                met: &mut *self.met,
            })?;
            if !names.insert(key.clone()) {
                let first = fields.iter().find(|(name, _)| *name == key);
                let first = first.map_or(&Value::Null, |(_, first)| first);
                return Err(twice(self.met, key, first, &value));
            }
            fields.push((key, value));
        }
        Ok(Value::Map(fields))
    }
}

/// The first two values of a key of the outermost object, as text; only for saying what is wrong.
fn values_of_key(text: &str, key: &str) -> [String; 2] {
    struct Values<'a>(&'a str);
    impl<'de> Visitor<'de> for Values<'_> {
        type Value = Vec<String>;

        fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
            out.write_str("an object")
        }

        fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Vec<String>, A::Error> {
            let mut values = Vec::new();
            while let Some(key) = map.next_key::<String>()? {
                if key == self.0 {
                    values.push(map.next_value::<serde_json::Value>()?.to_string());
                } else {
                    map.next_value::<IgnoredAny>()?;
                }
            }
            Ok(values)
        }
    }
    let mut reader = serde_json::Deserializer::from_str(text);
    let values = reader.deserialize_map(Values(key)).unwrap_or_default();
    let mut values = values.into_iter();
    [(); 2].map(|()| values.next().unwrap_or_else(|| "…".to_owned()))
}

/// A value as JSON, for saying what a line holds.
fn json_text(value: &Value) -> String {
    let mut text = String::new();
    write(value, &mut text);
    text
}

/// Appends a value as JSON. Numbers must be finite; one that is not is written as `null`.
pub fn write(value: &Value, out: &mut String) {
    match value {
        Value::Null => out.push_str("null"),
        Value::Bool(it) => out.push_str(if *it { "true" } else { "false" }),
        Value::Number(it) => write_number(*it, out),
        Value::Text(it) => write_text(it, out),
        Value::List(items) => {
            out.push('[');
            for (at, item) in items.iter().enumerate() {
                out.push_str(if at == 0 { "" } else { "," });
                write(item, out);
            }
            out.push(']');
        }
        Value::Map(fields) => {
            let fields = fields.iter().map(|(name, value)| (name.as_str(), value));
            write_object(fields, out);
        }
    }
}

/// Appends an object of named values, in their order.
pub fn write_object<'a>(fields: impl Iterator<Item = (&'a str, &'a Value)>, out: &mut String) {
    out.push('{');
    for (at, (name, value)) in fields.enumerate() {
        out.push_str(if at == 0 { "" } else { "," });
        write_text(name, out);
        out.push(':');
        write(value, out);
    }
    out.push('}');
}

/// The largest whole number written without a point: all below are exact.
const WHOLE: f64 = 9_007_199_254_740_992.0;

fn write_number(it: f64, out: &mut String) {
    let whole = it.fract() == 0.0 && it.abs() < WHOLE && !(it == 0.0 && it.is_sign_negative());
    // Neither can fail: the values are plain.
    let text = if whole {
        serde_json::to_string(&(it as i64))
    } else {
        serde_json::to_string(&it)
    };
    out.push_str(text.as_deref().unwrap_or("null"));
}

/// As JSON, with every control and every mark that turns the reading order escaped (RFC 8259,
/// section 7), so that a line from here is harmless to look at by any means.
fn write_text(it: &str, out: &mut String) {
    let text = serde_json::to_string(it);
    for c in text.as_deref().unwrap_or("\"\"").chars() {
        if c.is_control() || BIDI_CONTROLS.contains(&c) {
            // Writing into a String cannot fail.
            let _ = write!(out, "\\u{:04x}", u32::from(c));
        } else {
            out.push(c);
        }
    }
}

/// Bidi_Control of Unicode 16 (`PropList.txt`), and the separators of lines and paragraphs.
const BIDI_CONTROLS: [char; 14] = [
    '\u{61c}', '\u{200e}', '\u{200f}', '\u{2028}', '\u{2029}', '\u{202a}', '\u{202b}', '\u{202c}',
    '\u{202d}', '\u{202e}', '\u{2066}', '\u{2067}', '\u{2068}', '\u{2069}',
];
