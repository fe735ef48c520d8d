//! A line as this program writes it, taken field by field in the order of the kinds' table, with no copy made but of the
//! texts that are kept. It gives nothing as soon as anything is unusual: the general reader then decides.

use super::line::LONGEST_WRITTEN;
use crate::model::at::At;
use crate::model::entry::{Entry, Kind};
use crate::model::id::Id;
use crate::model::value::{EntryFault, FieldSource, FieldType, Value};
use compact_str::CompactString;

/// How deep lists and objects may stand in one another: as deep as any field has them, a list of doses.
const DEEPEST: u8 = 2;
/// The most counts that are read without making a value of them first: as many as there are causes of loss.
const MOST_COUNTS: usize = 8;
/// The most names in an object: enough for any field, few enough to look for one that stands twice.
const MOST_NAMES: usize = 32;

/// The entry of a line without its `crc` and closing brace, if it has exactly the expected shape.
#[must_use]
pub fn entry(open: &str) -> Option<Entry> {
    // A longer one may hold more values than the general reader takes.
    if open.len() > LONGEST_WRITTEN {
        return None;
    }
    let mut line = WrittenLine {
        rest: open.strip_prefix("{\"v\":1,\"id\":\"")?,
        by: None,
        note: None,
    };
    let id = Id::parse(line.text()?)?;
    line.eat(",\"at\":\"")?;
    let at = At::parse(line.text()?)?;
    line.eat(",\"kind\":\"")?;
    let word = line.text()?;
    let kind = Kind::read(word, &mut line).ok()?;
    line.common()?;
    if !line.rest.is_empty() {
        return None;
    }
    let entry = Entry {
        id,
        at,
        by: line.by,
        note: line.note,
        kind,
    };
    entry.checked().ok()
}

/// Something that the general reader must see.
struct Unusual;

impl From<EntryFault> for Unusual {
    fn from(_: EntryFault) -> Self {
        Self
    }
}

/// What of a line is not taken yet.
struct WrittenLine<'a> {
    rest: &'a str,
    by: Option<CompactString>,
    note: Option<Box<str>>,
}

impl FieldSource for WrittenLine<'_> {
    type Fault = Unusual;

    // Inlined, so that a name known beforehand is compared as a number.
    #[inline(always)]
    fn optional<T: FieldType>(&mut self, name: &'static str) -> Result<Option<T>, Unusual> {
        self.common().ok_or(Unusual)?;
        if !self.eat_name(name) {
            return Ok(None);
        }
        self.field().map(Some).ok_or(Unusual)
    }
}

impl<'a> WrittenLine<'a> {
    // Inlined, so that few bytes known beforehand are compared as a number.
    #[inline(always)]
    fn eat(&mut self, expected: &str) -> Option<()> {
        self.rest = self.rest.strip_prefix(expected)?;
        Some(())
    }

    /// Takes the comma and the name before the next value, if it is this one.
    #[inline(always)]
    fn eat_name(&mut self, name: &str) -> bool {
        let rest = self.rest.strip_prefix(",\"");
        let rest = rest.and_then(|rest| rest.strip_prefix(name)?.strip_prefix("\":"));
        rest.is_some_and(|rest| {
            self.rest = rest;
            true
        })
    }

    /// Takes what all kinds share, which people write anywhere.
    #[inline(always)]
    fn common(&mut self) -> Option<()> {
        // Few names begin as these do.
        while let Some(b'b' | b'n') = self.rest.as_bytes().get(2) {
            if self.by.is_none() && self.eat_name("by") {
                self.by = Some(self.field()?);
            } else if self.note.is_none() && self.eat_name("note") {
                self.note = Some(self.field()?);
            } else {
                break;
            }
        }
        Some(())
    }

    /// A value of the field's own type.
    #[inline(never)]
    fn field<T: FieldType>(&mut self) -> Option<T> {
        if self.eat("\"").is_some() {
            return T::from_text(self.text()?);
        }
        if self.rest.starts_with("{\"") {
            let before = self.rest;
            if let Some(value) = self.counts() {
                return Some(value);
            }
            self.rest = before;
        }
        let value = self.value(DEEPEST)?;
        match T::unknown_word(&value) {
            None => T::take(value).ok(),
            Some(_) => None,
        }
    }

    /// The value of an object of few counts, if the type takes such.
    fn counts<T: FieldType>(&mut self) -> Option<T> {
        let mut counts = [("", 0.0); MOST_COUNTS];
        let mut filled = 0;
        self.eat("{\"")?;
        loop {
            let name = self.text()?;
            if counts[..filled].iter().any(|(held, _)| *held == name) {
                return None;
            }
            self.eat(":")?;
            *counts.get_mut(filled)? = (name, self.number()?);
            filled += 1;
            if self.eat("}").is_some() {
                return T::from_counts(&counts[..filled]);
            }
            self.eat(",\"")?;
        }
    }

    fn number(&mut self) -> Option<f64> {
        let (number, len) = decimal(self.rest.as_bytes())?;
        self.rest = self.rest.get(len..)?;
        Some(number)
    }

    /// The text up to the closing quote, if nothing in it is escaped.
    fn text(&mut self) -> Option<&'a str> {
        let end = plain_bytes(self.rest.as_bytes());
        let (text, rest) = self.rest.split_at_checked(end)?;
        self.rest = rest.strip_prefix('"')?;
        Some(text)
    }

    fn value(&mut self, depth: u8) -> Option<Value> {
        let words = [
            ("true", Value::Bool(true)),
            ("false", Value::Bool(false)),
            ("null", Value::Null),
        ];
        match self.rest.bytes().next()? {
            b'"' => {
                self.eat("\"")?;
                Some(Value::Text(self.text()?.to_owned()))
            }
            b'{' => self.object(depth.checked_sub(1)?),
            b'[' => self.list(depth.checked_sub(1)?),
            b't' | b'f' | b'n' => {
                let (word, value) = words.into_iter().find(|(w, _)| self.rest.starts_with(w))?;
                self.eat(word)?;
                Some(value)
            }
            _ => self.number().map(Value::Number),
        }
    }

    fn object(&mut self, depth: u8) -> Option<Value> {
        let mut fields: Vec<(String, Value)> = Vec::new();
        self.eat("{\"")?;
        loop {
            let name = self.text()?;
            if fields.len() == MOST_NAMES || fields.iter().any(|(held, _)| held == name) {
                return None;
            }
            self.eat(":")?;
            fields.push((name.to_owned(), self.value(depth)?));
            if self.eat("}").is_some() {
                return Some(Value::Map(fields));
            }
            self.eat(",\"")?;
        }
    }

    fn list(&mut self, depth: u8) -> Option<Value> {
        let mut items = Vec::new();
        self.eat("[")?;
        loop {
            items.push(self.value(depth)?);
            if self.eat("]").is_some() {
                return Some(Value::List(items));
            }
            self.eat(",")?;
        }
    }
}

/// How many bytes come before the first that ends a text or is none of its plain ones: a quote, a backslash, a control
/// character. Eight are looked at together (S. E. Anderson, Bit Twiddling Hacks, "Determine if a word has a zero byte" and
/// "a byte less than n").
fn plain_bytes(text: &[u8]) -> usize {
    const ONES: u64 = u64::MAX / 255;
    const TOPS: u64 = ONES << 7;
    let (eights, rest) = text.as_chunks::<8>();
    for (at, eight) in eights.iter().enumerate() {
        let eight = u64::from_le_bytes(*eight);
        // The lowest top bit that is set is that of the first such byte; of higher ones some may be set by its borrow.
        let below = |than: u8| eight.wrapping_sub(ONES * u64::from(than)) & !eight;
        let equal = |to: u8| {
            let differs = eight ^ (ONES * u64::from(to));
            differs.wrapping_sub(ONES) & !differs
        };
        let found = (below(b' ') | equal(b'"') | equal(b'\\')) & TOPS;
        if found != 0 {
            return at * 8 + found.trailing_zeros() as usize / 8;
        }
    }
    let is_plain = |b: &u8| *b != b'"' && *b != b'\\' && *b >= b' ';
    let plain = rest.iter().take_while(|b| is_plain(b)).count();
    text.len() - rest.len() + plain
}

/// Powers of ten that a float holds exactly, as far as they are needed.
const TENS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// A JSON number (RFC 8259, section 6) at the beginning of the text, if it has no exponent and at
/// most fifteen digits, and its length. Digits and power of ten are then both exact as floats, so
/// that their quotient is the nearest float (W. D. Clinger, How to read floating point numbers
/// accurately, 1990).
fn decimal(text: &[u8]) -> Option<(f64, usize)> {
    let minus = usize::from(text.first() == Some(&b'-'));
    let (mut digits, mut point, mut at) = (0_u64, None, minus);
    while let Some(&byte) = text.get(at) {
        match byte {
            b'0'..=b'9' => {
                digits = digits
                    .checked_mul(10)?
                    .checked_add(u64::from(byte - b'0'))?
            }
            b'.' if point.is_none() => point = Some(at),
            b',' | b'}' | b']' => break,
            _ => return None,
        }
        at += 1;
    }
    let end = point.unwrap_or(at);
    let (whole, fraction) = (end - minus, at - end);
    let leads_with_zero = whole > 1 && text.get(minus) == Some(&b'0');
    if whole == 0 || leads_with_zero || fraction == 1 || whole + fraction > 16 {
        return None;
    }
    let value = digits as f64 / TENS.get(fraction.saturating_sub(1))?;
    Some((if minus == 1 { -value } else { value }, at))
}

#[cfg(test)]
mod tests {
    use super::plain_bytes;

    #[test]
    fn the_first_byte_that_is_not_plain_is_found_wherever_it_stands() {
        let ends = |b: &u8| *b == b'"' || *b == b'\\' || *b < b' ';
        for before in 0..20 {
            for after in 0..20 {
                // Every byte beside every other, so that one found too early by a borrow would show.
                for byte in 0..=u8::MAX {
                    for next in [0, 1, b' ', b'!', b'"', b'#', b'[', b'\\', b']', 0x80, 0xFF] {
                        let mut text = vec![b'a'; before];
                        text.extend([byte, next]);
                        text.resize(text.len() + after, b'~');
                        let found = text.iter().position(ends).unwrap_or(text.len());
                        assert_eq!(plain_bytes(&text), found, "{text:?}");
                    }
                }
            }
        }
    }
}
