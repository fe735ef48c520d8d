//! A field's value before it is known what it means, and how each type of field reads and writes it.

use super::at;
use chrono::NaiveDate;
use compact_str::CompactString;
use std::borrow::Cow;

/// A value as a journal line holds it, free of any file format.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Absent on purpose (only in an amend, where it takes the field away).
    Null,
    /// True or false.
    Bool(bool),
    /// Any number; always finite.
    Number(f64),
    /// Any text.
    Text(String),
    /// Several values.
    List(Vec<Value>),
    /// Named values in the order written; no name twice.
    Map(Vec<(String, Value)>),
}

impl Value {
    /// The text, if it is one.
    #[must_use]
    pub fn text(&self) -> Option<&str> {
        match self {
            Self::Text(text) => Some(text),
            _ => None,
        }
    }

    /// The number, if it is one and within the range, ends included.
    #[must_use]
    pub fn number(&self, low: f64, high: f64) -> Option<f64> {
        match self {
            Self::Number(n) if n.is_finite() && (low..=high).contains(n) => Some(*n),
            _ => None,
        }
    }
}

/// The largest count that an entry may hold.
pub const MOST: u32 = 1_000_000;

/// A type that a field may have: how it is read, written and asked for in words.
pub trait FieldType: Sized {
    /// What is wanted, as an error says it: `a whole number from 0 to 1000000`.
    fn wanted() -> String;
    /// The value in its type, or nothing if it does not fit.
    fn read(value: &Value) -> Option<Self>;
    /// As [`FieldType::read`], without a copy where the value is the type's own; the value itself if it does not fit.
    ///
    /// # Errors
    /// If it does not fit.
    fn take(value: Value) -> Result<Self, Value> {
        Self::read(&value).ok_or(value)
    }
    /// The value that a text stands for; as [`FieldType::read`] of that text, which need not be copied first.
    fn from_text(text: &str) -> Option<Self> {
        Self::read(&Value::Text(text.to_owned()))
    }
    /// The value that an object of counts stands for, given by name; as [`FieldType::read`] of that object, which need not
    /// be made first. Nothing if it does not fit, or if the type takes other objects as well.
    fn from_counts(_counts: &[(&str, f64)]) -> Option<Self> {
        None
    }
    /// The value as written.
    fn write(&self) -> Value;
    /// A word in the value that is not known and only describes: a newer version may have written it, and it must not
    /// cost a batch, so what it describes is left unrecorded. With the name of the part that it stands in, if not of
    /// the whole field.
    fn unknown_word(_value: &Value) -> Option<(Option<&'static str>, &str)> {
        None
    }
    /// Calls `visit` with the field's name and each text that people typed into the field.
    fn visit_texts<'a>(
        &'a self,
        _name: &'static str,
        _visit: &mut dyn FnMut(&'static str, &'a str),
    ) {
    }
}

impl FieldType for String {
    fn wanted() -> String {
        "text".into()
    }
    fn read(value: &Value) -> Option<Self> {
        Self::from_text(value.text()?)
    }
    fn from_text(text: &str) -> Option<Self> {
        (!text.trim().is_empty()).then(|| text.to_owned())
    }
    fn take(value: Value) -> Result<Self, Value> {
        match value {
            Value::Text(text) if !text.trim().is_empty() => Ok(text),
            other => Err(other),
        }
    }
    fn write(&self) -> Value {
        Value::Text(self.clone())
    }
    fn visit_texts<'a>(&'a self, name: &'static str, visit: &mut dyn FnMut(&'static str, &'a str)) {
        visit(name, self);
    }
}

/// Defines the other ways in which a text is held: they read and write as it does.
macro_rules! texts {
    ($($held:ty),*) => {$(
        impl FieldType for $held {
            fn wanted() -> String {
                String::wanted()
            }
            fn read(value: &Value) -> Option<Self> {
                Self::from_text(value.text()?)
            }
            fn from_text(text: &str) -> Option<Self> {
                (!text.trim().is_empty()).then(|| text.into())
            }
            fn write(&self) -> Value {
                Value::Text((**self).to_owned())
            }
            fn visit_texts<'a>(
                &'a self,
                name: &'static str,
                visit: &mut dyn FnMut(&'static str, &'a str),
            ) {
                visit(name, self);
            }
        }
    )*};
}

// In place where it is short; in half the room where it is mostly absent.
texts!(CompactString, Box<str>);

/// Held apart, where most entries of the kind do not have the field.
impl<T: FieldType> FieldType for Box<T> {
    fn wanted() -> String {
        T::wanted()
    }
    fn read(value: &Value) -> Option<Self> {
        T::read(value).map(Self::new)
    }
    fn take(value: Value) -> Result<Self, Value> {
        T::take(value).map(Self::new)
    }
    fn from_text(text: &str) -> Option<Self> {
        T::from_text(text).map(Self::new)
    }
    fn from_counts(counts: &[(&str, f64)]) -> Option<Self> {
        T::from_counts(counts).map(Self::new)
    }
    fn write(&self) -> Value {
        T::write(self)
    }
    fn unknown_word(value: &Value) -> Option<(Option<&'static str>, &str)> {
        T::unknown_word(value)
    }
    fn visit_texts<'a>(&'a self, name: &'static str, visit: &mut dyn FnMut(&'static str, &'a str)) {
        T::visit_texts(self, name, visit);
    }
}

impl FieldType for bool {
    fn wanted() -> String {
        "true or false".into()
    }
    fn read(value: &Value) -> Option<Self> {
        match value {
            Value::Bool(b) => Some(*b),
            _ => None,
        }
    }
    fn write(&self) -> Value {
        Value::Bool(*self)
    }
}

impl FieldType for u32 {
    fn wanted() -> String {
        format!("a whole number from 0 to {MOST}")
    }
    fn read(value: &Value) -> Option<Self> {
        let n = value.number(0.0, f64::from(MOST))?;
        // In range and whole, so the cast is exact.
        (n.fract() == 0.0).then_some(n as u32)
    }
    fn write(&self) -> Value {
        Value::Number(f64::from(*self))
    }
}

impl FieldType for NaiveDate {
    fn wanted() -> String {
        "a day as 2026-06-14".into()
    }
    fn read(value: &Value) -> Option<Self> {
        Self::from_text(value.text()?)
    }
    fn from_text(text: &str) -> Option<Self> {
        at::day(text)
    }
    fn write(&self) -> Value {
        Value::Text(self.format("%Y-%m-%d").to_string())
    }
}

impl FieldType for Vec<String> {
    fn wanted() -> String {
        "a list of texts".into()
    }
    fn read(value: &Value) -> Option<Self> {
        match value {
            Value::List(items) => items.iter().map(String::read).collect(),
            _ => None,
        }
    }
    fn write(&self) -> Value {
        Value::List(self.iter().map(FieldType::write).collect())
    }
    fn visit_texts<'a>(&'a self, name: &'static str, visit: &mut dyn FnMut(&'static str, &'a str)) {
        self.iter().for_each(|text| visit(name, text));
    }
}

/// Defines types of field that are numbers of a unit within a range.
macro_rules! numbers {
    ($($(#[$doc:meta])* $name:ident = $low:literal to $high:literal, $unit:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(pub f64);

        impl FieldType for $name {
            fn wanted() -> String {
                concat!("a number from ", $low, " to ", $high, $unit).into()
            }
            fn read(value: &Value) -> Option<Self> {
                value.number($low, $high).map(Self)
            }
            fn write(&self) -> Value {
                Value::Number(self.0)
            }
        }
    )*};
}

numbers! {
    /// A temperature in °C, −60 to 80.
    Celsius = -60.0 to 80.0, " °C";
    /// Relative humidity in %, 0 to 100.
    Percent = 0.0 to 100.0, " %";
    /// Parts per million, 0 to 100 000.
    Ppm = 0.0 to 100000.0, " ppm";
    /// Seconds, 0 to 1 000 000.
    Seconds = 0.0 to 1000000.0, " s";
    /// Millimetres, 0 to 1 000 000.
    Millimetres = 0.0 to 1000000.0, " mm";
    /// Light in µmol of photons a square metre and second, 0 to 10 000.
    Ppfd = 0.0 to 10000.0, " µmol/m²/s";
    /// Litres an hour, 0 to 1 000 000.
    LitresPerHour = 0.0 to 1000000.0, " l/h";
    /// Square metres, 0 to 1 000 000.
    SquareMetres = 0.0 to 1000000.0, " m²";
    /// Vapour pressure deficit in kPa, 0 to 20.
    Kilopascal = 0.0 to 20.0, " kPa";
}

/// Why a set of fields makes no entry.
#[derive(Clone, Debug, PartialEq)]
pub enum EntryFault {
    /// A field that the kind needs is not there.
    Missing {
        /// The name of the field.
        field: &'static str,
        /// What it should hold.
        wanted: String,
    },
    /// A field holds what it cannot.
    Bad {
        /// The name of the field.
        field: String,
        /// What it holds.
        found: Value,
        /// What it should hold.
        wanted: String,
    },
    /// A kind that this program does not know.
    UnknownKind {
        /// Its word.
        kind: String,
    },
    /// A version of the format that this program does not know.
    NewerVersion {
        /// Its number.
        version: u32,
    },
}

/// The fields of one entry, to be taken by name in the order of its kind's table.
pub trait FieldSource {
    /// Why a field cannot be given.
    type Fault: From<EntryFault>;

    /// The value of a field that may be absent.
    ///
    /// # Errors
    /// If it is there but unfit.
    fn optional<T: FieldType>(&mut self, name: &'static str) -> Result<Option<T>, Self::Fault>;

    /// The value of a field that must be there.
    ///
    /// # Errors
    /// If it is missing or unfit.
    fn required<T: FieldType>(&mut self, name: &'static str) -> Result<T, Self::Fault> {
        self.optional(name)?.ok_or_else(|| {
            let wanted = T::wanted();
            EntryFault::Missing {
                field: name,
                wanted,
            }
            .into()
        })
    }
}

/// Fields that were read whatever their order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NamedValues {
    values: Vec<(Cow<'static, str>, Value)>,
    unknown: Vec<UnknownWord>,
}

/// A word that is not known in a field that only describes: the field counts as not recorded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownWord {
    /// The field.
    pub field: &'static str,
    /// The word.
    pub word: String,
}

impl NamedValues {
    /// From named values; names must differ.
    #[must_use]
    pub fn new<N: Into<Cow<'static, str>>>(fields: Vec<(N, Value)>) -> Self {
        let named = fields.into_iter();
        Self {
            values: named.map(|(name, value)| (name.into(), value)).collect(),
            unknown: Vec::new(),
        }
    }

    /// The words met that were not known.
    #[must_use]
    pub fn unknown_words(self) -> Vec<UnknownWord> {
        self.unknown
    }
}

impl FieldSource for NamedValues {
    type Fault = EntryFault;

    fn optional<T: FieldType>(&mut self, name: &'static str) -> Result<Option<T>, EntryFault> {
        let Some(at) = self.values.iter().position(|(n, _)| n == name) else {
            return Ok(None);
        };
        let (_, value) = self.values.swap_remove(at);
        if let Some((part, word)) = T::unknown_word(&value) {
            self.unknown.push(UnknownWord {
                field: part.unwrap_or(name),
                word: word.to_owned(),
            });
            return Ok(T::read(&value));
        }
        T::take(value).map(Some).map_err(|found| EntryFault::Bad {
            field: name.to_owned(),
            found,
            wanted: T::wanted(),
        })
    }
}
