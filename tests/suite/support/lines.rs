//! Lines of a journal as entries, written as JSON text, with files that are only a list in memory.

use sha2::{Digest, Sha256};
use struck::fold::{Book, Ledger};
use struck::model::entry::Entry;
use struck::model::fault::{Arrival, Lines};
use struck::model::fault::{Crc, LineFault, Origin};
use struck::model::id::Id;
use struck::model::value::Value;

/// Lines in memory: their bytes are those written here.
#[derive(Clone, Debug, Default)]
pub struct Pages(pub Vec<Page>);

/// One line.
#[derive(Clone, Debug)]
pub struct Page {
    pub origin: Origin,
    pub crc: Crc,
    pub text: String,
}

impl Pages {
    /// One file of these lines, none with a checksum.
    pub fn of(texts: &[&str]) -> Self {
        let mut pages = Self::default();
        for text in texts {
            pages.push(0, Crc::Absent, text);
        }
        pages
    }

    /// Adds a line at the end of a file.
    pub fn push(&mut self, file: u32, crc: Crc, text: &str) {
        let lines = self.0.iter().filter(|p| p.origin.file == file).count();
        let line = u32::try_from(lines).unwrap() + 1;
        let origin = Origin { file, line };
        let text = text.to_owned();
        self.0.push(Page { origin, crc, text });
    }

    pub fn arrivals(&self) -> Vec<Arrival> {
        self.0.iter().map(|page| arrival(page, self)).collect()
    }

    /// The book of all lines.
    pub fn book(&self) -> Book {
        let mut ledger = Ledger::new();
        for arrival in self.arrivals() {
            ledger.add(arrival);
        }
        ledger.book(self)
    }
}

impl Lines for Pages {
    fn raw(&self, origin: Origin) -> Option<Vec<u8>> {
        let page = self.0.iter().find(|p| p.origin == origin)?;
        Some(page.text.clone().into_bytes())
    }

    fn named(&self, name: &Id) -> Option<Origin> {
        let page = self.0.iter().find(|p| line_name(p, self) == *name)?;
        Some(page.origin)
    }
}

/// The book of lines in one file.
pub fn book(texts: &[&str]) -> Book {
    Pages::of(texts).book()
}

/// The name of a line by its hash.
pub fn hash_name(text: &str, ordinal: u32) -> Id {
    let hash = Sha256::digest(text.as_bytes());
    let first: [u8; 8] = hash[..8].try_into().unwrap();
    Id::for_line(u64::from_be_bytes(first), ordinal)
}

fn line_name(page: &Page, pages: &Pages) -> Id {
    let before = |p: &&Page| {
        p.origin.file == page.origin.file
            && p.origin.line <= page.origin.line
            && p.text == page.text
    };
    let ordinal = pages.0.iter().filter(before).count();
    hash_name(&page.text, u32::try_from(ordinal).unwrap())
}

fn arrival(page: &Page, pages: &Pages) -> Arrival {
    let name = line_name(page, pages);
    let read = match fields(&page.text) {
        None => Err((LineFault::NotObject, name)),
        Some(fields) => {
            Entry::read(fields, || name.clone()).map_err(|fault| (LineFault::Entry(fault), name))
        }
    };
    let (entry, unknown_words) = match read {
        Ok((entry, unknown_words)) => (Ok(entry.into()), unknown_words),
        Err(fault) => (Err(fault), Vec::new()),
    };
    Arrival {
        origin: page.origin,
        crc: page.crc,
        entry,
        unknown_words,
    }
}

/// The fields of a JSON object; nothing if it is none.
pub fn fields(text: &str) -> Option<Vec<(String, Value)>> {
    match value(serde_json::from_str(text).ok()?) {
        Value::Map(fields) => Some(fields),
        _ => None,
    }
}

fn value(json: serde_json::Value) -> Value {
    match json {
        serde_json::Value::Null => Value::Null,
        serde_json::Value::Bool(b) => Value::Bool(b),
        serde_json::Value::Number(n) => Value::Number(n.as_f64().unwrap()),
        serde_json::Value::String(s) => Value::Text(s),
        serde_json::Value::Array(items) => Value::List(items.into_iter().map(value).collect()),
        serde_json::Value::Object(map) => {
            Value::Map(map.into_iter().map(|(k, v)| (k, value(v))).collect())
        }
    }
}
