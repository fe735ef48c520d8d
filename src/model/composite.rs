//! Types of field that are made of several values.

use super::at::At;
use super::id::Id;
use super::listed::{Carrier, Cause, Guess};
use super::value::{Celsius, FieldType, Ppm, Seconds, Value};

impl FieldType for At {
    fn wanted() -> String {
        "a day as 2026-06-14, or a time as 2026-06-14T16:30:00+02:00".into()
    }
    fn read(value: &Value) -> Option<Self> {
        Self::from_text(value.text()?)
    }
    fn from_text(text: &str) -> Option<Self> {
        Self::parse(text)
    }
    fn write(&self) -> Value {
        Value::Text(self.to_string())
    }
}

impl FieldType for Id {
    fn wanted() -> String {
        "the id of an entry, or `line:` and 16 hex digits".into()
    }
    fn read(value: &Value) -> Option<Self> {
        Self::from_text(value.text()?)
    }
    fn from_text(text: &str) -> Option<Self> {
        Self::parse_reference(text)
    }
    fn write(&self) -> Value {
        Value::Text(self.to_string())
    }
}

/// The set point of bottom heat, or that there was none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Heat {
    /// No bottom heat.
    None,
    /// Heated to this.
    To(Celsius),
}

impl FieldType for Heat {
    fn wanted() -> String {
        format!("{}, or \"none\"", Celsius::wanted())
    }
    fn read(value: &Value) -> Option<Self> {
        match value {
            Value::Text(word) => (word == "none").then_some(Self::None),
            other => Celsius::read(other).map(Self::To),
        }
    }
    fn write(&self) -> Value {
        match self {
            Self::None => Value::Text("none".into()),
            Self::To(degrees) => degrees.write(),
        }
    }
}

/// One rooting hormone as given.
#[derive(Clone, Debug, PartialEq)]
pub struct Dose {
    /// The active substance, as `IBA`.
    pub active: String,
    /// Its strength.
    pub ppm: Option<Ppm>,
    /// What carried it.
    pub carrier: Option<Carrier>,
    /// How long the bases were dipped.
    pub dip_s: Option<Seconds>,
}

impl FieldType for Dose {
    fn wanted() -> String {
        "an object with `active`, and `ppm`, `carrier`, `dip_s` as known".into()
    }
    fn read(value: &Value) -> Option<Self> {
        let Value::Map(fields) = value else {
            return None;
        };
        Some(Self {
            active: part(fields, "active")??,
            ppm: part(fields, "ppm")?,
            carrier: part(fields, "carrier")?,
            dip_s: part(fields, "dip_s")?,
        })
    }
    fn write(&self) -> Value {
        let mut fields = vec![("active".to_owned(), self.active.write())];
        let mut put = |name: &str, value: Option<Value>| {
            fields.extend(value.map(|v| (name.to_owned(), v)));
        };
        put("ppm", self.ppm.map(|v| v.write()));
        put("carrier", self.carrier.map(|v| v.write()));
        put("dip_s", self.dip_s.map(|v| v.write()));
        Value::Map(fields)
    }
}

/// A named part of an object: absent is well, so is an unknown word that only describes; unfit is not.
fn part<T: FieldType>(fields: &[(String, Value)], name: &str) -> Option<Option<T>> {
    match fields.iter().find(|(n, _)| n == name) {
        None => Some(None),
        Some((_, value)) if T::unknown_word(value).is_some() => Some(None),
        Some((_, value)) => T::read(value).map(Some),
    }
}

/// The rooting hormones given: none at all, or one dose or several.
#[derive(Clone, Debug, PartialEq)]
pub enum Hormone {
    /// Known to be untreated.
    None,
    /// Treated with these, in this order; never empty.
    Doses(Vec<Dose>),
}

impl FieldType for Hormone {
    fn unknown_word(value: &Value) -> Option<(Option<&'static str>, &str)> {
        let doses = match value {
            Value::List(doses) => doses.as_slice(),
            other => std::slice::from_ref(other),
        };
        doses.iter().find_map(|dose| {
            let Value::Map(fields) = dose else {
                return None;
            };
            let (_, carrier) = fields.iter().find(|(name, _)| name == "carrier")?;
            let (_, word) = Carrier::unknown_word(carrier)?;
            Self::read(value).map(|_| (Some("carrier"), word))
        })
    }
    fn wanted() -> String {
        format!("\"none\", {}, or a list of these", Dose::wanted())
    }
    fn read(value: &Value) -> Option<Self> {
        match value {
            Value::Text(word) => (word == "none").then_some(Self::None),
            Value::List(items) if !items.is_empty() => items
                .iter()
                .map(Dose::read)
                .collect::<Option<_>>()
                .map(Self::Doses),
            other => Dose::read(other).map(|dose| Self::Doses(vec![dose])),
        }
    }
    fn write(&self) -> Value {
        match self {
            Self::None => Value::Text("none".into()),
            Self::Doses(doses) => match doses.as_slice() {
                [one] => one.write(),
                several => Value::List(several.iter().map(FieldType::write).collect()),
            },
        }
    }
    fn visit_texts<'a>(
        &'a self,
        _name: &'static str,
        visit: &mut dyn FnMut(&'static str, &'a str),
    ) {
        if let Self::Doses(doses) = self {
            doses.iter().for_each(|dose| visit("active", &dose.active));
        }
    }
}

/// Spoken guesses by stage.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SpokenGuesses {
    /// How many were callused.
    pub callused: Option<Guess>,
    /// How many were rooted.
    pub rooted: Option<Guess>,
    /// How many had roots at the bottom.
    pub bottom: Option<Guess>,
}

impl FieldType for SpokenGuesses {
    fn wanted() -> String {
        format!(
            "an object of callused, rooted, bottom, each {}",
            Guess::wanted()
        )
    }
    fn read(value: &Value) -> Option<Self> {
        let Value::Map(fields) = value else {
            return None;
        };
        let known = |name: &str| ["callused", "rooted", "bottom"].contains(&name);
        if fields.is_empty() || !fields.iter().all(|(name, _)| known(name)) {
            return None;
        }
        Some(Self {
            callused: part(fields, "callused")?,
            rooted: part(fields, "rooted")?,
            bottom: part(fields, "bottom")?,
        })
    }
    fn write(&self) -> Value {
        let parts = [
            ("callused", self.callused),
            ("rooted", self.rooted),
            ("bottom", self.bottom),
        ];
        let said = parts
            .into_iter()
            .filter_map(|(name, guess)| Some((name.to_owned(), guess?.write())));
        Value::Map(said.collect())
    }
}

/// Numbers lost by cause, in the order of the causes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Lost([u32; Cause::ALL.len()]);

impl Lost {
    /// The number lost to a cause.
    #[must_use]
    pub fn count(&self, cause: Cause) -> u32 {
        self.0[cause as usize]
    }

    /// Adds to a cause.
    pub fn add(&mut self, cause: Cause, count: u32) {
        let held = &mut self.0[cause as usize];
        *held = held.saturating_add(count);
    }

    /// The number lost in all.
    #[must_use]
    pub fn total(&self) -> u32 {
        self.0.iter().fold(0, |sum, n| sum.saturating_add(*n))
    }

    /// Each cause with what was lost to it, those with none left out.
    pub fn each(&self) -> impl Iterator<Item = (Cause, u32)> + '_ {
        Cause::ALL
            .iter()
            .map(|cause| (*cause, self.count(*cause)))
            .filter(|(_, n)| *n > 0)
    }
}

impl serde::Serialize for Lost {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_map(self.each())
    }
}

impl FieldType for Lost {
    fn wanted() -> String {
        format!(
            "an object of counts by cause, each cause {}",
            Cause::wanted()
        )
    }
    fn read(value: &Value) -> Option<Self> {
        let Value::Map(fields) = value else {
            return None;
        };
        let mut lost = Self::default();
        for (name, count) in fields {
            lost.add(Cause::from_word(name)?, u32::read(count)?);
        }
        Some(lost)
    }
    fn from_counts(counts: &[(&str, f64)]) -> Option<Self> {
        let mut lost = Self::default();
        for (name, count) in counts {
            lost.add(Cause::from_word(name)?, u32::read(&Value::Number(*count))?);
        }
        Some(lost)
    }
    fn write(&self) -> Value {
        Value::Map(
            self.each()
                .map(|(cause, n)| (cause.word().to_owned(), n.write()))
                .collect(),
        )
    }
}

/// What an amend sets: whole new values by field; `Null` takes a field away.
pub type Set = Vec<(String, Value)>;

/// The fields that no amend may set.
pub const FIXED: [&str; 5] = ["id", "v", "kind", "of", "crc"];

impl FieldType for Set {
    fn wanted() -> String {
        format!(
            "an object of new values by field; {} cannot be set",
            FIXED.join(", ")
        )
    }
    fn read(value: &Value) -> Option<Self> {
        let Value::Map(fields) = value else {
            return None;
        };
        let free = fields
            .iter()
            .all(|(name, _)| !FIXED.contains(&name.as_str()));
        (free && !fields.is_empty()).then(|| fields.clone())
    }
    fn write(&self) -> Value {
        Value::Map(self.clone())
    }
}

/// A day of the year, as `08-01`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct MonthDay {
    /// 1 to 12.
    pub month: u32,
    /// 1 to 31; 29 February is not taken, since a season must start every year.
    pub day: u32,
}

impl FieldType for MonthDay {
    fn wanted() -> String {
        "a month and day as 08-01".into()
    }
    fn read(value: &Value) -> Option<Self> {
        // A common year, so that every year has the day.
        let day = super::at::day(&format!("2001-{}", value.text()?))?;
        Some(Self {
            month: chrono::Datelike::month(&day),
            day: chrono::Datelike::day(&day),
        })
    }
    fn write(&self) -> Value {
        Value::Text(format!("{:02}-{:02}", self.month, self.day))
    }
}
