//! What a terminal sends, byte by byte, as presses and pastes. It reads no terminal, waits for nothing, and any bytes
//! whatever leave it fit for the next key. Sequences are those of ECMA-48 and of the terminals in use.

use crate::tui::effect::Message;
use crate::tui::keys::KeyPress;
use std::time::Duration;

/// How long the rest of a sequence is waited for: by hand nobody types one that fast.
const SEQUENCE: Duration = Duration::from_millis(50);
/// How long after a sequence was given up its late tail is still known for one, on a slow link.
const LATE: Duration = Duration::from_millis(300);
/// How long more of a paste is waited for, should its end mark be lost.
const PASTE: Duration = Duration::from_secs(1);
/// The longest sequence that is looked at.
const LONGEST: usize = 64;
/// The longest paste that is kept; what comes beyond is dropped, and far beyond any field.
const LONGEST_PASTE: usize = 8 << 20;
const ESC: u8 = 0x1b;
const PASTE_BEGINS: &[u8] = b"\x1b[200~";
const PASTE_ENDS: &[u8] = b"\x1b[201~";

/// Between two bytes.
#[derive(Debug, Default)]
enum Between {
    /// The next byte begins something.
    #[default]
    Keys,
    /// A sequence is under way.
    Sequence(Vec<u8>),
    /// A sequence was given up; what follows may be its tail.
    Late(Vec<u8>),
    /// A character of several bytes is under way.
    Letter(Vec<u8>),
    /// A paste is under way.
    Paste(Paste),
}

/// A paste that is under way.
#[derive(Debug, Default)]
struct Paste {
    text: Vec<u8>,
    /// So many bytes of the end mark came last. They are no text, unless another byte than the mark's next follows.
    mark: usize,
}

impl Paste {
    /// Takes the next byte; whether the end mark is whole with it.
    fn ends_with(&mut self, byte: u8) -> bool {
        if PASTE_ENDS.get(self.mark) == Some(&byte) {
            self.mark += 1;
            return self.mark == PASTE_ENDS.len();
        }
        let begun = std::mem::take(&mut self.mark);
        self.keep(PASTE_ENDS.get(..begun).unwrap_or_default());
        // The mark begins with the only escape in it.
        if byte == ESC {
            self.mark = 1;
        } else {
            self.keep(&[byte]);
        }
        false
    }

    fn keep(&mut self, bytes: &[u8]) {
        let room = LONGEST_PASTE.saturating_sub(self.text.len());
        self.text.extend_from_slice(&bytes[..bytes.len().min(room)]);
    }
}

/// What a sequence is so far.
#[derive(Debug, PartialEq, Eq)]
enum Sequence {
    /// More is to come.
    Open,
    /// It is whole.
    Whole,
    /// The last byte is no part of it.
    Broken,
}

/// Turns bytes into presses and pastes.
#[derive(Debug, Default)]
pub struct Decoder {
    between: Between,
    /// The key of the alternate characters is held for the next letter, which then means nothing here.
    alternate: bool,
    decoded: Vec<Message>,
}

impl Decoder {
    /// Takes the next bytes.
    pub fn feed(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.take_byte(*byte);
        }
    }

    /// How long more bytes may be waited for before [`give_up`](Self::give_up): since the last byte came, or, of a
    /// [late](Self::is_late) tail, since the sequence was given up. Nothing if none are due.
    #[must_use]
    pub fn patience(&self) -> Option<Duration> {
        match &self.between {
            Between::Keys => None,
            Between::Sequence(_) | Between::Letter(_) => Some(SEQUENCE),
            Between::Late(_) => Some(LATE),
            Between::Paste(_) => Some(PASTE),
        }
    }

    /// Whether the tail of a sequence that was given up is waited for. What a hand types meanwhile would be taken for
    /// it, so that this wait does not begin anew with each byte.
    #[must_use]
    pub fn is_late(&self) -> bool {
        matches!(self.between, Between::Late(_))
    }

    /// No more bytes came in that time: what is under way is over.
    pub fn give_up(&mut self) {
        match std::mem::take(&mut self.between) {
            Between::Keys | Between::Late(_) | Between::Letter(_) => self.alternate = false,
            Between::Sequence(sequence) => {
                if sequence == [ESC] {
                    self.press(KeyPress::Esc);
                }
                self.between = Between::Late(sequence);
            }
            Between::Paste(paste) => self.paste(paste.text),
        }
    }

    /// What was decoded since this was last asked, the presses of one moment together.
    pub fn messages(&mut self) -> Vec<Message> {
        std::mem::take(&mut self.decoded)
    }

    fn take_byte(&mut self, byte: u8) {
        match std::mem::take(&mut self.between) {
            Between::Keys => self.begin(byte),
            Between::Letter(letter) => self.letter(letter, byte),
            Between::Sequence(sequence) => self.sequence(sequence, byte),
            Between::Late(sequence) => self.late(sequence, byte),
            Between::Paste(mut paste) => {
                if paste.ends_with(byte) {
                    self.paste(paste.text);
                } else {
                    self.between = Between::Paste(paste);
                }
            }
        }
    }

    fn begin(&mut self, byte: u8) {
        match byte {
            ESC => self.between = Between::Sequence(vec![ESC]),
            0x20..=0x7e => self.typed(char::from(byte)),
            0xc2..=0xf4 => self.between = Between::Letter(vec![byte]),
            // A byte that begins no letter: the line is disturbed.
            0x80.. => self.alternate = false,
            _ => {
                self.alternate = false;
                self.press(control(byte));
            }
        }
    }

    fn letter(&mut self, mut letter: Vec<u8>, byte: u8) {
        if byte & 0xc0 != 0x80 {
            self.alternate = false;
            return self.begin(byte);
        }
        letter.push(byte);
        match std::str::from_utf8(&letter) {
            Ok(text) => text.chars().for_each(|c| self.typed(c)),
            Err(error) if error.error_len().is_none() => self.between = Between::Letter(letter),
            Err(_) => self.alternate = false,
        }
    }

    fn typed(&mut self, c: char) {
        if !std::mem::take(&mut self.alternate) {
            self.press(KeyPress::Char(c));
        }
    }

    fn sequence(&mut self, mut sequence: Vec<u8>, byte: u8) {
        sequence.push(byte);
        match kind(&sequence) {
            Sequence::Open if sequence.len() < LONGEST => {
                self.between = Between::Sequence(sequence);
            }
            Sequence::Open => self.between = Between::Late(sequence),
            Sequence::Whole if sequence == PASTE_BEGINS => {
                self.between = Between::Paste(Paste::default());
            }
            Sequence::Whole => {
                if let Some(press) = named(&sequence) {
                    self.press(press);
                }
            }
            Sequence::Broken if sequence == [ESC, ESC] => {
                self.press(KeyPress::Esc);
                self.between = Between::Sequence(vec![ESC]);
            }
            Sequence::Broken => {
                // Escape and a letter: the letter with the alternate key.
                self.alternate = sequence.len() == 2;
                self.begin(byte);
            }
        }
    }

    /// The tail of a sequence that was given up is dropped: it would type letters that nobody typed.
    fn late(&mut self, mut sequence: Vec<u8>, byte: u8) {
        sequence.push(byte);
        match kind(&sequence) {
            Sequence::Open => {
                sequence.truncate(LONGEST);
                self.between = Between::Late(sequence);
            }
            Sequence::Whole => {}
            Sequence::Broken => self.begin(byte),
        }
    }

    fn press(&mut self, press: KeyPress) {
        match self.decoded.last_mut() {
            Some(Message::Presses(presses)) => presses.push(press),
            _ => self.decoded.push(Message::Presses(vec![press])),
        }
    }

    fn paste(&mut self, text: Vec<u8>) {
        let text = String::from_utf8_lossy(&text).into_owned();
        self.decoded.push(Message::Paste(text));
    }
}

/// What a sequence is, by its bytes so far.
fn kind(sequence: &[u8]) -> Sequence {
    let (Some(second), Some(last)) = (sequence.get(1), sequence.last()) else {
        return Sequence::Open;
    };
    let is_second = sequence.len() == 2;
    match second {
        b'[' if is_second => Sequence::Open,
        // The Linux console's own function keys: one more letter.
        b'[' if sequence.get(2) == Some(&b'[') && sequence.len() == 3 => Sequence::Open,
        b'[' => match last {
            0x20..=0x3f => Sequence::Open,
            0x40..=0x7e => Sequence::Whole,
            _ => Sequence::Broken,
        },
        b'O' if is_second => Sequence::Open,
        b'O' => match last {
            b'0'..=b'9' | b';' => Sequence::Open,
            0x40..=0x7e => Sequence::Whole,
            _ => Sequence::Broken,
        },
        // An answer that nobody asked for, up to its end mark.
        b']' | b'P' | b'X' | b'^' | b'_' => match sequence {
            [.., 0x07] | [_, _, .., ESC, b'\\'] => Sequence::Whole,
            _ => Sequence::Open,
        },
        _ => Sequence::Broken,
    }
}

/// The key that a whole sequence names; modifiers make no difference here.
fn named(sequence: &[u8]) -> Option<KeyPress> {
    let (final_byte, parameters) = sequence.get(2..)?.split_last()?;
    if parameters.first() == Some(&b'[') {
        return None;
    }
    let number = parameters.split(|byte| *byte == b';').next()?;
    Some(match (final_byte, number) {
        (b'A', _) => KeyPress::Up,
        (b'B', _) => KeyPress::Down,
        (b'C', _) => KeyPress::Right,
        (b'D', _) => KeyPress::Left,
        (b'H', _) | (b'~', b"1" | b"7") => KeyPress::Home,
        (b'F', _) | (b'~', b"4" | b"8") => KeyPress::End,
        (b'Z', _) => KeyPress::BackTab,
        (b'~', b"3") => KeyPress::Delete,
        (b'~', b"5") => KeyPress::PageUp,
        (b'~', b"6") => KeyPress::PageDown,
        // The keypad's Enter.
        (b'M', b"") if sequence.get(1) == Some(&b'O') => KeyPress::Enter,
        _ => return None,
    })
}

/// The key of a control byte.
fn control(byte: u8) -> KeyPress {
    match byte {
        b'\r' | b'\n' => KeyPress::Enter,
        b'\t' => KeyPress::Tab,
        0x08 | 0x7f => KeyPress::Backspace,
        0 => KeyPress::Ctrl(' '),
        1..=26 => KeyPress::Ctrl(char::from(byte - 1 + b'a')),
        _ => KeyPress::Ctrl(char::from(byte - 0x1c + b'4')),
    }
}
