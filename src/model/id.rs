//! The names that entries bear. It makes none itself: new ones come from the desk.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};

/// The name of an entry, kept short: a ULID takes its sixteen bytes, any other its text.
///
/// Order and equality are those of the written text, so that the two forms mix.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Id(Form);

#[derive(Clone, PartialEq, Eq)]
enum Form {
    Ulid([u8; 16]),
    Text(Box<str>),
}

impl Hash for Form {
    fn hash<H: Hasher>(&self, state: &mut H) {
        // The sixteen bytes at one go: a text is never equal to them.
        match self {
            Self::Ulid(bytes) => state.write_u128(u128::from_ne_bytes(*bytes)),
            Self::Text(text) => text.hash(state),
        }
    }
}

/// The alphabet of ULIDs (Crockford's base 32), in ascending order.
const CROCKFORD: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

impl Id {
    /// Reads an id as entries bear it: 1 to 64 of `[0-9A-Za-z_-]`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        if let Some(bytes) = ulid(text.as_bytes()) {
            return Some(Self(Form::Ulid(bytes)));
        }
        let good = |b: u8| b.is_ascii_alphanumeric() || b == b'_' || b == b'-';
        let is_good = (1..=64).contains(&text.len()) && text.bytes().all(good);
        is_good.then(|| Self(Form::Text(text.into())))
    }

    /// Reads an id that another entry refers to: an entry's id, or a line's name
    /// (`line:` and 16 lower-case hex digits, with `-2`, `-3` … for further identical lines).
    #[must_use]
    pub fn parse_reference(text: &str) -> Option<Self> {
        match text.strip_prefix("line:") {
            None => Self::parse(text),
            Some(rest) => {
                let (hash, ordinal) = rest.split_once('-').unwrap_or((rest, "2"));
                let hex = |b: u8| b.is_ascii_digit() || (b'a'..=b'f').contains(&b);
                let good = hash.len() == 16
                    && hash.bytes().all(hex)
                    && ordinal.parse::<u32>().is_ok_and(|n| n >= 2);
                good.then(|| Self(Form::Text(text.into())))
            }
        }
    }

    /// The name of a line: the first 16 hex digits of the SHA-256 of its bytes, and which
    /// of the file's identical lines it is, counted from 1.
    #[must_use]
    pub fn for_line(hash: u64, ordinal: u32) -> Self {
        let text = match ordinal {
            0 | 1 => format!("line:{hash:016x}"),
            n => format!("line:{hash:016x}-{n}"),
        };
        Self(Form::Text(text.into()))
    }

    /// The id of these sixteen bytes, as the program writes its own.
    #[must_use]
    pub fn from_ulid(bits: u128) -> Self {
        Self(Form::Ulid(bits.to_be_bytes()))
    }

    /// Whether it names a line rather than an entry that bears an id.
    #[must_use]
    pub fn is_line(&self) -> bool {
        matches!(&self.0, Form::Text(t) if t.starts_with("line:"))
    }

    /// The sixteen bytes, if it is a ULID.
    #[must_use]
    pub fn ulid_bytes(&self) -> Option<[u8; 16]> {
        match self.0 {
            Form::Ulid(bytes) => Some(bytes),
            Form::Text(_) => None,
        }
    }
}

impl serde::Serialize for Id {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

/// The sixteen bytes of a ULID in its one canonical spelling, else nothing.
fn ulid(text: &[u8]) -> Option<[u8; 16]> {
    let text: &[u8; 26] = text.try_into().ok()?;
    // Few enough digits at a time for a number of the processor's own; whether any is none is asked once.
    let (mut bits, mut other) = (0_u128, text[0] > b'7');
    for part in [&text[..10], &text[10..18], &text[18..]] {
        let mut of_part = 0_u64;
        for byte in part {
            let digit = DIGIT[usize::from(*byte)];
            other |= digit == 255;
            of_part = of_part << 5 | u64::from(digit & 31);
        }
        bits = bits << (5 * part.len()) | u128::from(of_part);
    }
    (!other).then_some(bits.to_be_bytes())
}

/// The value of each byte as a digit of the alphabet, 255 where it is none.
const DIGIT: [u8; 256] = {
    let mut table = [255; 256];
    let mut at = 0;
    while at < 32 {
        table[CROCKFORD[at] as usize] = at as u8;
        at += 1;
    }
    table
};

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.0 {
            Form::Text(text) => f.pad(text),
            Form::Ulid(bytes) => {
                let bits = u128::from_be_bytes(*bytes);
                let text: String = (0..26)
                    .map(|at| CROCKFORD[(bits >> (125 - 5 * at)) as usize & 31] as char)
                    .collect();
                f.pad(&text)
            }
        }
    }
}

impl fmt::Debug for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self}")
    }
}

impl Ord for Id {
    fn cmp(&self, other: &Self) -> Ordering {
        match (&self.0, &other.0) {
            (Form::Ulid(a), Form::Ulid(b)) => a.cmp(b),
            (Form::Text(a), Form::Text(b)) => a.cmp(b),
            _ => self.to_string().cmp(&other.to_string()),
        }
    }
}

impl PartialOrd for Id {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
