//! The look pad's compact text: counts by box in a fixed order, or number and letter in any order, guesses, how it
//! was looked at, pots, what becomes of the rest, and the next look. It reads figures only; whether they can be is not its concern.

use crate::model::listed::{Cause, DiscardReason, Guess, LookMethod};
use crate::model::value::{FieldType, Value};
use chrono::{Days, NaiveDate};
use std::ops::Range;

/// A box of the pad.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PadBox {
    /// Its letter behind a number.
    pub letter: char,
    /// What it counts, as the screen says it.
    pub label: &'static str,
    /// The stage's field, or the cause of loss.
    pub counts: PadCount,
}

/// What a box counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PadCount {
    /// Cuttings whose highest stage is that of this field.
    Stage(&'static str),
    /// Cuttings found dead of this cause and removed.
    Lost(Cause),
}

const fn stage(letter: char, label: &'static str, field: &'static str) -> PadBox {
    PadBox {
        letter,
        label,
        counts: PadCount::Stage(field),
    }
}

const fn lost(letter: char, label: &'static str, cause: Cause) -> PadBox {
    PadBox {
        letter,
        label,
        counts: PadCount::Lost(cause),
    }
}

/// The boxes in their order, which plain numbers fill.
pub const BOXES: [PadBox; 10] = [
    stage('r', "rooted", "rooted"),
    stage('c', "callused", "callused"),
    stage('b', "roots at bottom", "bottom"),
    lost('k', "blackened", Cause::Blackened),
    lost('w', "wilted", Cause::Wilted),
    lost('m', "mould", Cause::Mould),
    lost('e', "eaten", Cause::Eaten),
    lost('v', "winter", Cause::Winter),
    lost('o', "other", Cause::Other),
    lost('x', "unknown", Cause::Unknown),
];

/// What is wrong with a word that counts what an earlier one did.
const AGAIN: &str = "says again what was said before it";
/// The letters of the spoken guesses, each before a stage's letter.
pub const GUESSES: [(char, Guess); 5] = [
    ('n', Guess::None),
    ('f', Guess::Few),
    ('h', Guess::Half),
    ('m', Guess::Most),
    ('a', Guess::All),
];

/// The letters that say how it was looked at, by themselves; without one a count of stages is a lift.
pub const HOWS: [(char, LookMethod); 4] = [
    ('l', LookMethod::Lift),
    ('y', LookMethod::Glance),
    ('t', LookMethod::Tug),
    ('u', LookMethod::Under),
];

/// The letters that say what becomes of all that is neither lost nor potted, by themselves; without one it is kept.
pub const RESTS: [(char, DiscardReason); 2] =
    [('g', DiscardReason::GivenUp), ('s', DiscardReason::Restuck)];

/// What the pad's text was understood to say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PadReading {
    /// The counts by box, in the order of `BOXES`; nothing where none was typed.
    pub boxes: [Option<u32>; BOXES.len()],
    /// Spoken guesses at callused, rooted, bottom, in the order typed.
    pub about: Vec<(&'static str, Guess)>,
    /// How it was looked at, if that was said.
    pub how: Option<LookMethod>,
    /// Why all that stay on the bench after this leave it in the same act, if they do.
    pub rest: Option<DiscardReason>,
    /// How many to pot in the same act.
    pub potted: Option<u32>,
    /// The day to look again.
    pub again_on: Option<NaiveDate>,
    /// Cuttings on the bench before this look, if the caller knows.
    pub remain: Option<u32>,
    /// What was not understood: where, in bytes, and why.
    pub problems: Vec<(Range<usize>, String)>,
}

/// Reads the pad's text. `remain`: cuttings on the bench before this look; `today`: the day that `+14` counts from.
#[must_use]
pub fn read(text: &str, remain: Option<u32>, today: NaiveDate) -> PadReading {
    let mut reading = PadReading {
        remain,
        ..PadReading::default()
    };
    let mut next_box = 0;
    let mut at = 0;
    while let Some(c) = text[at..].chars().next() {
        let end = if c.is_whitespace() || c == ',' {
            at + c.len_utf8()
        } else {
            reading.item(text, at, &mut next_box, today)
        };
        at = end;
    }
    reading
}

impl PadReading {
    /// Reads what begins at this byte: a number with what follows it, a guess, or `+14`. Tells where it ends.
    fn item(&mut self, text: &str, at: usize, next_box: &mut usize, today: NaiveDate) -> usize {
        let rest = &text[at..];
        let plus = usize::from(rest.starts_with('+'));
        let digits = rest[plus..].bytes().take_while(u8::is_ascii_digit).count();
        let end = at + plus + digits;
        let number = number(&rest[plus..plus + digits]);
        let letter = text[end..].chars().next().map(|c| c.to_ascii_lowercase());
        if digits == 0 && plus == 0 {
            return self.sign(text, at).unwrap_or_else(|| self.guess(text, at));
        }
        let Some(number) = number else {
            let why = if digits == 0 {
                "needs days, as `+14`"
            } else {
                "is more than a million"
            };
            return self.problem(at..end, why);
        };
        if plus == 1 {
            let unit = usize::from(letter == Some('d'));
            return self.again(at..end + unit, number, today);
        }
        match letter {
            Some('p') => {
                let twice = self.potted.replace(number).is_some();
                self.unless(twice, at..end + 1, AGAIN)
            }
            Some(letter) if box_of(letter).is_none() && is_sign(text, end) => {
                self.next(next_box, number, at..end)
            }
            Some(letter) if letter.is_alphabetic() => match box_of(letter) {
                Some(place) => self.fill(place, number, at..end + 1),
                None => self.problem(
                    at..end + letter_length(text, end),
                    "has a letter that is not in the list",
                ),
            },
            _ => self.next(next_box, number, at..end),
        }
    }

    /// A number without a letter goes into the next box.
    fn next(&mut self, next_box: &mut usize, number: u32, span: Range<usize>) -> usize {
        *next_box += 1;
        match *next_box > BOXES.len() {
            true => self.problem(span, "is one number too many: there are not so many boxes"),
            false => self.fill(*next_box - 1, number, span),
        }
    }

    fn fill(&mut self, place: usize, number: u32, span: Range<usize>) -> usize {
        let twice = self.boxes[place].replace(number).is_some();
        let guessed = self
            .about
            .iter()
            .any(|(stage, _)| BOXES[place].counts == PadCount::Stage(stage));
        self.unless(twice || guessed, span, AGAIN)
    }

    fn again(&mut self, span: Range<usize>, days: u32, today: NaiveDate) -> usize {
        let day = today.checked_add_days(Days::new(days.into()));
        match day.filter(|day| chrono::Datelike::year(day) <= 9999) {
            Some(day) => {
                let twice = self.again_on.replace(day).is_some();
                self.unless(twice, span, AGAIN)
            }
            None => self.problem(span, "is too far off"),
        }
    }

    /// A letter by itself: how it was looked at, or what becomes of the rest. Nothing if it is none.
    fn sign(&mut self, text: &str, at: usize) -> Option<usize> {
        let mut signs = text[at..].chars();
        let letter = signs.next()?.to_ascii_lowercase();
        if signs.next().is_some_and(char::is_alphabetic) {
            return None;
        }
        let span = at..at + 1;
        let (twice, why) = if let Some((_, how)) = HOWS.iter().find(|(sign, _)| *sign == letter) {
            let twice = self.how.replace(*how).is_some();
            (twice, "is a second way of looking, and a look has one")
        } else {
            let (_, why) = RESTS.iter().find(|(sign, _)| *sign == letter)?;
            let twice = self.rest.replace(*why).is_some();
            (twice, "says once more what becomes of the rest")
        };
        Some(self.unless(twice, span, why))
    }

    /// A guess's letter and a stage's: `mr`.
    fn guess(&mut self, text: &str, at: usize) -> usize {
        let mut signs = text[at..].chars();
        let (first, second) = (signs.next(), signs.next());
        let lower = |c: Option<char>| c.map(|c| c.to_ascii_lowercase());
        let guess = GUESSES
            .iter()
            .find(|(letter, _)| Some(*letter) == lower(first));
        let stage = lower(second)
            .and_then(box_of)
            .map(|place| (place, BOXES[place].counts));
        match (guess, stage) {
            (Some((_, guess)), Some((place, PadCount::Stage(field)))) => {
                let counted = self.boxes[place].is_some();
                let twice = counted || self.about.iter().any(|(stage, _)| *stage == field);
                if !twice {
                    self.about.push((field, *guess));
                }
                self.unless(twice, at..at + 2, AGAIN)
            }
            _ => self.problem(
                at..at + letter_length(text, at),
                "is not understood: a number, a letter from the list, or a guess such as `mr` (most rooted)",
            ),
        }
    }

    fn unless(&mut self, twice: bool, span: Range<usize>, why: &str) -> usize {
        match twice {
            true => self.problem(span, why),
            false => span.end,
        }
    }

    fn problem(&mut self, span: Range<usize>, why: &str) -> usize {
        let end = span.end;
        self.problems.push((span, why.to_owned()));
        end
    }

    /// The number found dead, all causes.
    #[must_use]
    pub fn lost(&self) -> u32 {
        self.sum(|counts| matches!(counts, PadCount::Lost(_)))
    }

    /// The number counted at a stage.
    #[must_use]
    pub fn staged(&self) -> u32 {
        self.sum(|counts| matches!(counts, PadCount::Stage(_)))
    }

    fn sum(&self, wanted: impl Fn(PadCount) -> bool) -> u32 {
        let each = BOXES
            .iter()
            .zip(self.boxes)
            .filter(|(one, _)| wanted(one.counts));
        each.fold(0, |sum, (_, n)| sum.saturating_add(n.unwrap_or(0)))
    }

    /// How many have nothing yet: what remains less the lost and the counted stages. Negative if more were typed
    /// than there are; nothing if it is not known how many remain, or if a stage was guessed.
    #[must_use]
    pub fn remainder(&self) -> Option<i64> {
        let remain = self.remain.filter(|_| self.about.is_empty())?;
        Some(i64::from(remain) - i64::from(self.lost()) - i64::from(self.staged()))
    }

    /// How many stay on the bench after the losses and the potting; negative if more were typed than there are.
    #[must_use]
    pub fn left_on_bench(&self) -> Option<i64> {
        let potted = i64::from(self.potted.unwrap_or(0));
        Some(i64::from(self.remain?) - i64::from(self.lost()) - potted)
    }

    /// The stages that were counted or guessed but that a look of that kind does not tell of: a tug tells of roots
    /// alone, the pot's holes of roots at the bottom alone.
    #[must_use]
    pub fn untold(&self) -> Vec<&'static str> {
        // A nought only holds the place of the numbers after it.
        let counted = BOXES.iter().zip(self.boxes);
        let counted = counted.filter(|(_, n)| n.is_some_and(|n| n > 0));
        let counted = counted.filter_map(|(one, _)| match one.counts {
            PadCount::Stage(field) => Some(field),
            PadCount::Lost(_) => None,
        });
        let guessed = self.about.iter().map(|(field, _)| *field);
        let said = counted.chain(guessed);
        said.filter(|field| !self.tells_of(field)).collect()
    }

    /// Whether a look of that kind tells of the stage of that field.
    #[must_use]
    pub fn tells_of(&self, stage: &str) -> bool {
        self.how.is_none_or(|how| how.examines(stage))
    }

    /// The counts, guesses and next look as fields of a look, without `how` and `seen`.
    #[must_use]
    pub fn counts(&self) -> Vec<(&'static str, Value)> {
        let mut out = Vec::new();
        let mut dead = Vec::new();
        for (one, count) in BOXES.iter().zip(self.boxes) {
            match (one.counts, count) {
                (PadCount::Stage(field), Some(n)) if self.tells_of(field) => {
                    out.push((field, n.write()))
                }
                (PadCount::Lost(cause), Some(n)) if n > 0 => {
                    dead.push((cause.word().to_owned(), n.write()))
                }
                _ => {}
            }
        }
        if !self.about.is_empty() {
            let said = self
                .about
                .iter()
                .map(|(stage, guess)| ((*stage).to_owned(), guess.write()));
            out.push(("about", Value::Map(said.collect())));
        }
        if !dead.is_empty() {
            out.push(("lost", Value::Map(dead)));
        }
        out.extend(self.again_on.map(|day| ("again_on", day.write())));
        out
    }

    /// The fields of the look, with `how` and, for a tally, `seen`. Where it was not said how, a tally is a lift and
    /// losses alone are a glance.
    #[must_use]
    pub fn look(&self) -> Vec<(&'static str, Value)> {
        let staged = BOXES.iter().zip(self.boxes);
        let staged = staged
            .filter(|(one, n)| matches!(one.counts, PadCount::Stage(_)) && n.is_some())
            .count();
        let tally = staged > 0 || !self.about.is_empty();
        let how = self.how.unwrap_or(LookMethod::by_default(tally));
        let mut out = vec![("how", how.write())];
        let seen = self.remain.map(|remain| remain.saturating_sub(self.lost()));
        out.extend(
            seen.filter(|_| how != LookMethod::Glance)
                .map(|seen| ("seen", seen.write())),
        );
        out.extend(self.counts());
        out
    }
}

/// By how large a part the stages of a whole batch are told, if not all were looked at: ` (by 5 of 24 looked at)`.
#[must_use]
pub fn part_words(part: Option<(u32, u32)>) -> String {
    part.map_or_else(String::new, |(seen, of)| {
        format!(" (by {seen} of {of} looked at)")
    })
}

/// What cuttings are that were looked at so and not counted: after a tug they may have callus, and their roots may
/// not hold yet.
#[must_use]
pub fn bare(how: Option<LookMethod>) -> &'static str {
    match how {
        Some(LookMethod::Tug) => "not holding",
        Some(LookMethod::Under) => "no roots seen",
        Some(LookMethod::Glance) => "not counted",
        None | Some(LookMethod::Lift) => "nothing yet",
    }
}

/// Why a stage cannot be counted in a look of that kind, and the remedy.
#[must_use]
pub fn tells_nothing_of(how: LookMethod, stage: &str) -> String {
    let tells = match how {
        LookMethod::Tug => "A tug shows roots alone",
        LookMethod::Under => "The pot's holes show roots at the bottom alone",
        LookMethod::Glance => "A glance shows the dead alone",
        LookMethod::Lift => "Such a look shows no stage",
    };
    format!("{tells}: leave out {stage}, or erase the letter of the look.")
}

/// Whether a letter that stands by itself begins at this byte: `18t` is `18 t`.
fn is_sign(text: &str, at: usize) -> bool {
    let mut signs = text[at..].chars();
    let Some(letter) = signs.next().map(|c| c.to_ascii_lowercase()) else {
        return false;
    };
    let alone = signs.next().is_none_or(|c| !c.is_alphabetic());
    let how = HOWS.iter().any(|(sign, _)| *sign == letter);
    alone && (how || RESTS.iter().any(|(sign, _)| *sign == letter))
}

fn box_of(letter: char) -> Option<usize> {
    BOXES.iter().position(|one| one.letter == letter)
}

/// A number of the pad: at most a million.
fn number(digits: &str) -> Option<u32> {
    digits
        .parse()
        .ok()
        .filter(|n| *n <= crate::model::value::MOST)
}

/// The bytes of the sign at this place.
fn letter_length(text: &str, at: usize) -> usize {
    text[at..].chars().next().map_or(0, char::len_utf8)
}
