//! Values written out plainly behind a field's own name (`stuck=26`, `lost={"wilted":2}`): the last resort by which
//! everything that an entry can hold can be said.

use super::phrases::rows_of;
use super::split::{LineStretch, quote};
use super::vocabulary::LineContext;
use crate::model::value::Value;

/// How deep lists and objects may nest.
const DEPTH: u8 = 16;

/// The name and the value of `name=value`; a value that is none of ours is taken as text.
pub(super) fn read(phrase: LineStretch<'_>) -> Option<(String, Value)> {
    let mut reader = Reader { left: phrase.text };
    let name = match phrase.text.starts_with('"') {
        true => reader.quoted()?,
        false => reader
            .take_while(|c| c.is_alphanumeric() || c == '_')
            .to_owned(),
    };
    reader.spaces();
    reader
        .sign('=')
        .filter(|()| !name.is_empty() || phrase.text.starts_with('"'))?;
    let rest = reader.left.trim();
    let value = match reader.value(DEPTH) {
        Some(value) if reader.left.trim().is_empty() => value,
        _ if rest.is_empty() => return None,
        _ => Value::Text(rest.to_owned()),
    };
    Some((name, value))
}

/// A field by its own name, as `stuck=26`.
pub(super) fn named(
    phrase: LineStretch<'_>,
    context: &LineContext<'_>,
) -> Option<(&'static str, Value)> {
    let (name, value) = read(phrase)?;
    let row = rows_of(context.kind).find(|row| row.field == name)?;
    Some((row.field, value))
}

/// `name=value`, to be read back as it is.
pub(super) fn write(name: &str, value: &Value) -> String {
    let plain = !name.is_empty() && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_');
    let name = if plain { name.to_owned() } else { quote(name) };
    format!("{name}={}", written(value))
}

fn written(value: &Value) -> String {
    match value {
        Value::Null => "null".into(),
        Value::Bool(flag) => flag.to_string(),
        Value::Number(number) => number.to_string(),
        Value::Text(text) => quote(text),
        Value::List(items) => format!(
            "[{}]",
            items.iter().map(written).collect::<Vec<_>>().join(",")
        ),
        Value::Map(fields) => {
            let pair =
                |(name, value): &(String, Value)| format!("{}:{}", quote(name), written(value));
            format!(
                "{{{}}}",
                fields.iter().map(pair).collect::<Vec<_>>().join(",")
            )
        }
    }
}

struct Reader<'a> {
    left: &'a str,
}

impl<'a> Reader<'a> {
    fn spaces(&mut self) {
        self.left = self.left.trim_start();
    }

    fn take_while(&mut self, fits: impl Fn(char) -> bool) -> &'a str {
        let end = self.left.find(|c| !fits(c)).unwrap_or(self.left.len());
        let (taken, left) = self.left.split_at(end);
        self.left = left;
        taken
    }

    fn sign(&mut self, sign: char) -> Option<()> {
        self.spaces();
        self.left = self.left.strip_prefix(sign)?;
        Some(())
    }

    fn quoted(&mut self) -> Option<String> {
        let stretch = LineStretch::whole(self.left);
        let mut escaped = false;
        let close = self.left.char_indices().skip(1).find(|(_, c)| {
            let closes = *c == '"' && !escaped;
            escaped = *c == '\\' && !escaped;
            closes
        });
        let end = close?.0 + 1;
        let text = stretch.part(0..end).unquoted()?;
        self.left = &self.left[end..];
        Some(text)
    }

    fn value(&mut self, depth: u8) -> Option<Value> {
        self.spaces();
        let depth = depth.checked_sub(1)?;
        match self.left.chars().next()? {
            '"' => self.quoted().map(Value::Text),
            '[' => self.list(depth),
            '{' => self.map(depth),
            c if c.is_ascii_digit() || c == '-' => {
                let number = self.take_while(|c| c.is_ascii_digit() || "+-.eE".contains(c));
                let number: f64 = number.parse().ok()?;
                number.is_finite().then_some(Value::Number(number))
            }
            _ => match self.take_while(|c| c.is_ascii_alphabetic()) {
                "null" => Some(Value::Null),
                "true" => Some(Value::Bool(true)),
                "false" => Some(Value::Bool(false)),
                _ => None,
            },
        }
    }

    fn list(&mut self, depth: u8) -> Option<Value> {
        self.sign('[')?;
        let mut items = Vec::new();
        if self.sign(']').is_some() {
            return Some(Value::List(items));
        }
        loop {
            items.push(self.value(depth)?);
            if self.sign(',').is_none() {
                self.sign(']')?;
                return Some(Value::List(items));
            }
        }
    }

    fn map(&mut self, depth: u8) -> Option<Value> {
        self.sign('{')?;
        let mut fields: Vec<(String, Value)> = Vec::new();
        if self.sign('}').is_some() {
            return Some(Value::Map(fields));
        }
        loop {
            self.spaces();
            let name = self.quoted()?;
            self.sign(':')?;
            if fields.iter().any(|(held, _)| *held == name) {
                return None;
            }
            fields.push((name, self.value(depth)?));
            if self.sign(',').is_none() {
                self.sign('}')?;
                return Some(Value::Map(fields));
            }
        }
    }
}
