//! How the types of fields are put into few bytes and taken out again, as they were to the bit. These bytes never leave the
//! program, so that only what was packed here is ever unpacked; it knows no JSON.

use super::at::At;
use super::composite::{Dose, Heat, Hormone, Lost, MonthDay, SpokenGuesses};
use super::id::Id;
use super::listed::{
    Carrier, Cause, CountedFrom, Cover, Cut, CuttingPiece, DiscardReason, Firmness, Guess,
    LookMethod, Treatment, Units, Wood,
};
use super::value::{
    Celsius, Kilopascal, LitresPerHour, Millimetres, Percent, Ppfd, Ppm, Seconds, SquareMetres,
    Value,
};
use chrono::{DateTime, Datelike, FixedOffset, NaiveDate, Offset, Utc};
use compact_str::CompactString;

/// A type that can be put into bytes.
pub trait Packs: Sized {
    /// Adds the value to the bytes.
    fn pack(&self, out: &mut Vec<u8>);
    /// Takes the value that was added next.
    fn unpack(from: &mut PackedBytes<'_>) -> Self;
}

/// What of some packed bytes is not taken yet.
#[derive(Clone, Debug)]
pub struct PackedBytes<'a>(&'a [u8]);

impl<'a> PackedBytes<'a> {
    /// All of them.
    #[must_use]
    pub fn new(bytes: &'a [u8]) -> Self {
        Self(bytes)
    }

    /// The next byte; 0 behind the last.
    pub fn byte(&mut self) -> u8 {
        self.array::<1>()[0]
    }

    /// The next bytes; zeros where there are not so many.
    fn array<const N: usize>(&mut self) -> [u8; N] {
        match self.0.split_first_chunk() {
            Some((bytes, rest)) => {
                self.0 = rest;
                *bytes
            }
            None => [0; N],
        }
    }

    /// A whole number as [`pack_whole`] packs it.
    pub fn number(&mut self) -> u32 {
        let (mut number, mut shift) = (0, 0);
        loop {
            let byte = self.byte();
            number |= u32::from(byte & 0x7f).checked_shl(shift).unwrap_or(0);
            shift += 7;
            if byte < 0x80 {
                return number;
            }
        }
    }

    /// A text as [`pack_text`] packs it.
    pub fn text(&mut self) -> &'a str {
        std::str::from_utf8(self.pass_text()).unwrap_or_default()
    }

    /// Passes over a text; gives its bytes.
    pub fn pass_text(&mut self) -> &'a [u8] {
        let len = self.number() as usize;
        let (text, rest) = self.0.split_at_checked(len).unwrap_or_default();
        self.0 = rest;
        text
    }

    fn several<T: Packs>(&mut self) -> Vec<T> {
        let count = self.number();
        // Each takes a byte at least.
        let count = (count as usize).min(self.0.len());
        (0..count).map(|_| T::unpack(self)).collect()
    }
}

/// Adds a whole number, seven bits to a byte, the lowest first (as LEB128 does).
pub fn pack_whole(mut number: u32, out: &mut Vec<u8>) {
    while number >= 0x80 {
        out.push(number as u8 | 0x80);
        number >>= 7;
    }
    out.push(number as u8);
}

/// Adds a text: its length in bytes, and these.
pub fn pack_text(text: &str, out: &mut Vec<u8>) {
    // No line is as long as four gigabytes.
    pack_whole(u32::try_from(text.len()).unwrap_or(u32::MAX), out);
    out.extend_from_slice(text.as_bytes());
}

fn pack_several<T: Packs>(list: &[T], out: &mut Vec<u8>) {
    pack_whole(u32::try_from(list.len()).unwrap_or(u32::MAX), out);
    list.iter().for_each(|one| one.pack(out));
}

/// Which optional fields of an entry are there, a bit each.
#[derive(Clone, Copy, Debug, Default)]
pub struct Presence {
    bits: u32,
    passed: u32,
}

impl Presence {
    /// As many as stand at the beginning of some bytes.
    pub fn unpack(from: &mut PackedBytes<'_>) -> Self {
        let bits = from.number();
        Self { bits, passed: 0 }
    }

    /// Adds all bits to the bytes.
    pub fn pack(self, out: &mut Vec<u8>) {
        pack_whole(self.bits, out);
    }

    /// Notes whether the next field is there.
    pub fn note(&mut self, is_there: bool) {
        self.bits |= u32::from(is_there) << self.passed;
        self.passed += 1;
    }

    /// Whether the next field is there.
    pub fn next_is_there(&mut self) -> bool {
        let is_there = self.bits >> self.passed & 1 == 1;
        self.passed += 1;
        is_there
    }
}

impl Packs for u32 {
    fn pack(&self, out: &mut Vec<u8>) {
        pack_whole(*self, out);
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        from.number()
    }
}

impl Packs for i32 {
    fn pack(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.to_le_bytes());
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        Self::from_le_bytes(from.array())
    }
}

impl Packs for f64 {
    fn pack(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.to_le_bytes());
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        Self::from_le_bytes(from.array())
    }
}

impl Packs for bool {
    fn pack(&self, out: &mut Vec<u8>) {
        out.push(u8::from(*self));
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        from.byte() == 1
    }
}

/// Texts, however they are held.
macro_rules! texts {
    ($($held:ty),*) => {$(
        impl Packs for $held {
            fn pack(&self, out: &mut Vec<u8>) {
                pack_text(self, out);
            }
            fn unpack(from: &mut PackedBytes<'_>) -> Self {
                from.text().into()
            }
        }
    )*};
}

texts!(String, CompactString, Box<str>);

/// Numbers of a unit.
macro_rules! numbers {
    ($($name:ident),*) => {$(
        impl Packs for $name {
            fn pack(&self, out: &mut Vec<u8>) {
                self.0.pack(out);
            }
            fn unpack(from: &mut PackedBytes<'_>) -> Self {
                Self(f64::unpack(from))
            }
        }
    )*};
}

numbers!(
    Celsius,
    Percent,
    Ppm,
    Seconds,
    Millimetres,
    Ppfd,
    LitresPerHour,
    SquareMetres,
    Kilopascal
);

/// Members of lists, by their number.
macro_rules! listed {
    ($($name:ident),*) => {$(
        impl Packs for $name {
            fn pack(&self, out: &mut Vec<u8>) {
                out.push(*self as u8);
            }
            fn unpack(from: &mut PackedBytes<'_>) -> Self {
                let member = Self::ALL.get(usize::from(from.byte()));
                *member.unwrap_or(&Self::ALL[0])
            }
        }
    )*};
}

listed!(
    Wood,
    Cut,
    CuttingPiece,
    Firmness,
    Cover,
    Carrier,
    LookMethod,
    Guess,
    Cause,
    DiscardReason,
    CountedFrom,
    Treatment,
    Units
);

impl<T: Packs> Packs for Box<T> {
    fn pack(&self, out: &mut Vec<u8>) {
        T::pack(self, out);
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        Self::new(T::unpack(from))
    }
}

impl<T: Packs> Packs for Option<T> {
    fn pack(&self, out: &mut Vec<u8>) {
        out.push(u8::from(self.is_some()));
        self.iter().for_each(|value| value.pack(out));
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        (from.byte() == 1).then(|| T::unpack(from))
    }
}

impl<T: Packs> Packs for Vec<T> {
    fn pack(&self, out: &mut Vec<u8>) {
        pack_several(self, out);
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        from.several()
    }
}

impl<A: Packs, B: Packs> Packs for (A, B) {
    fn pack(&self, out: &mut Vec<u8>) {
        self.0.pack(out);
        self.1.pack(out);
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        (A::unpack(from), B::unpack(from))
    }
}

impl Packs for Id {
    fn pack(&self, out: &mut Vec<u8>) {
        match self.ulid_bytes() {
            Some(bytes) => {
                out.push(1);
                out.extend_from_slice(&bytes);
            }
            None => {
                out.push(0);
                pack_text(&self.to_string(), out);
            }
        }
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        match from.byte() {
            1 => Self::from_ulid(u128::from_be_bytes(from.array())),
            // The names of lines too.
            _ => Self::parse_reference(from.text()).unwrap_or_else(|| Self::from_ulid(0)),
        }
    }
}

impl Packs for NaiveDate {
    fn pack(&self, out: &mut Vec<u8>) {
        self.num_days_from_ce().pack(out);
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        Self::from_num_days_from_ce_opt(i32::unpack(from)).unwrap_or_default()
    }
}

impl Packs for At {
    fn pack(&self, out: &mut Vec<u8>) {
        match self {
            Self::Day(day) => (false, *day).pack(out),
            Self::Time(time) => {
                true.pack(out);
                out.extend_from_slice(&time.timestamp().to_le_bytes());
                time.timestamp_subsec_nanos().pack(out);
                time.offset().local_minus_utc().pack(out);
            }
        }
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        if !bool::unpack(from) {
            return Self::Day(NaiveDate::unpack(from));
        }
        let (seconds, nanos) = (i64::from_le_bytes(from.array()), from.number());
        let utc = DateTime::from_timestamp(seconds, nanos).unwrap_or_default();
        let offset = FixedOffset::east_opt(i32::unpack(from));
        Self::Time(utc.with_timezone(&offset.unwrap_or_else(|| Utc.fix())))
    }
}

impl Packs for MonthDay {
    fn pack(&self, out: &mut Vec<u8>) {
        (self.month, self.day).pack(out);
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        let (month, day) = Packs::unpack(from);
        Self { month, day }
    }
}

impl Packs for Heat {
    fn pack(&self, out: &mut Vec<u8>) {
        let to = match self {
            Self::None => None,
            Self::To(degrees) => Some(*degrees),
        };
        to.pack(out);
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        Option::unpack(from).map_or(Self::None, Self::To)
    }
}

impl Packs for Dose {
    fn pack(&self, out: &mut Vec<u8>) {
        self.active.pack(out);
        (self.ppm, (self.carrier, self.dip_s)).pack(out);
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        let (active, (ppm, (carrier, dip_s))) = Packs::unpack(from);
        Self {
            active,
            ppm,
            carrier,
            dip_s,
        }
    }
}

impl Packs for Hormone {
    fn pack(&self, out: &mut Vec<u8>) {
        match self {
            Self::None => pack_whole(0, out),
            Self::Doses(doses) => doses.pack(out),
        }
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        match Vec::unpack(from) {
            doses if doses.is_empty() => Self::None,
            doses => Self::Doses(doses),
        }
    }
}

impl Packs for SpokenGuesses {
    fn pack(&self, out: &mut Vec<u8>) {
        (self.callused, (self.rooted, self.bottom)).pack(out);
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        let (callused, (rooted, bottom)) = Packs::unpack(from);
        Self {
            callused,
            rooted,
            bottom,
        }
    }
}

impl Packs for Lost {
    fn pack(&self, out: &mut Vec<u8>) {
        pack_whole(self.each().count() as u32, out);
        self.each().for_each(|lost| lost.pack(out));
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        let mut lost = Self::default();
        for (cause, count) in from.several() {
            lost.add(cause, count);
        }
        lost
    }
}

impl Packs for Value {
    fn pack(&self, out: &mut Vec<u8>) {
        match self {
            Self::Null => out.push(0),
            Self::Bool(it) => out.extend([1, u8::from(*it)]),
            Self::Number(it) => {
                out.push(2);
                it.pack(out);
            }
            Self::Text(it) => {
                out.push(3);
                it.pack(out);
            }
            Self::List(it) => {
                out.push(4);
                it.pack(out);
            }
            Self::Map(it) => {
                out.push(5);
                it.pack(out);
            }
        }
    }
    fn unpack(from: &mut PackedBytes<'_>) -> Self {
        match from.byte() {
            1 => Self::Bool(bool::unpack(from)),
            2 => Self::Number(f64::unpack(from)),
            3 => Self::Text(String::unpack(from)),
            4 => Self::List(Vec::unpack(from)),
            5 => Self::Map(Vec::unpack(from)),
            _ => Self::Null,
        }
    }
}
