//! Reads rooting hormones: what, how strong, in what, how long. It judges no dose.

use super::lists::{ACTIVES, CARRIER, listed};
use super::split::{LineStretch, fold};
use super::units::Quantity;
use super::vocabulary::{LineContext, PhraseFields, say};
use crate::model::listed::Units;
use crate::model::value::Value;

/// What is asked for when none of it is understood.
pub(super) const WANTED: &str =
    "needs what it is and its strength, as `iba 3000 talc`, `iba 0.3% gel` or `none`";

/// What says that cuttings had none.
const NONE: [&str; 13] = [
    "none",
    "no",
    "untreated",
    "no hormone",
    "no rooting hormone",
    "without hormone",
    "hormone free",
    "no powder",
    "no rooting powder",
    "without powder",
    "not dipped",
    "undipped",
    "no dip",
];

/// Words before a carrier or strength that name no substance.
const NAMELESS: [&str; 6] = ["rooting", "hormone", "auxin", "the", "some", "a"];

/// The substance where nobody said which.
const UNKNOWN: &str = "unknown";

/// Words that only join the others.
const FILLERS: [&str; 6] = ["in", "as", "for", "at", "of", "a"];

/// Reads hormones behind the first word: `none`, or doses joined by `+`; a carrier or dip said last holds for all.
pub(super) fn read(rest: LineStretch<'_>, _: &LineContext<'_>) -> PhraseFields {
    if says_none(&fold(rest.text)) {
        return say("hormone", Value::Text("none".into()));
    }
    let words = rest.words();
    let nameless = |word: &&LineStretch<'_>| NAMELESS.contains(&fold(word.text).as_str());
    let lead = words.iter().take_while(nameless).count();
    let named = lead > 0;
    let words = &words[lead..];
    if words.is_empty() && named {
        let unknown = Dose {
            active: UNKNOWN.to_owned(),
            ..Dose::default()
        };
        return say("hormone", unknown.value());
    }
    let joins = |word: &LineStretch<'_>| matches!(word.text, "+" | "&" | "and" | "plus");
    let doses: Option<Vec<Dose>> = words.split(joins).map(dose).collect();
    let mut doses = doses.ok_or(WANTED)?;
    let (carrier, dip) = doses
        .last()
        .map_or((None, None), |last| (last.carrier, last.dip));
    for dose in &mut doses {
        dose.carrier = dose.carrier.or(carrier);
        dose.dip = dose.dip.or(dip);
    }
    let mut values: Vec<Value> = doses.into_iter().map(Dose::value).collect();
    match values.len() {
        1 => say("hormone", values.remove(0)),
        _ => say("hormone", Value::List(values)),
    }
}

/// Whether an evened-out text says that there is no hormone.
pub(super) fn says_none(folded: &str) -> bool {
    NONE.contains(&folded)
}

/// Whether a phrase begins with the letters of an active substance, or says that there is none.
pub(super) fn begins(phrase: &LineStretch<'_>) -> bool {
    let first = phrase.text.split_whitespace().next().unwrap_or_default();
    let bare = ["powder", "gel", "talc", "rooting", "quick"];
    if bare.contains(&fold(first).as_str()) {
        return true;
    }
    let lettered = ACTIVES
        .iter()
        .any(|active| active.eq_ignore_ascii_case(first));
    lettered || says_none(&fold(phrase.text))
}

#[derive(Default)]
struct Dose {
    active: String,
    ppm: Option<f64>,
    carrier: Option<&'static str>,
    dip: Option<f64>,
}

impl Dose {
    fn value(self) -> Value {
        let mut fields = vec![("active".to_owned(), Value::Text(self.active))];
        fields.extend(self.ppm.map(|ppm| ("ppm".to_owned(), Value::Number(ppm))));
        fields.extend(
            self.carrier
                .map(|word| ("carrier".to_owned(), Value::Text(word.into()))),
        );
        fields.extend(self.dip.map(|dip| ("dip_s".to_owned(), Value::Number(dip))));
        Value::Map(fields)
    }
}

/// One dose of its words; nothing if any of them is not understood.
fn dose(words: &[LineStretch<'_>]) -> Option<Dose> {
    // A name that begins with a figure must stand in quotes: `3,000` is none.
    let plain = |word: &LineStretch<'_>| {
        listed(CARRIER, word.text).is_none() && !word.text.starts_with(|c: char| c.is_ascii_digit())
    };
    let quoted = words.first().and_then(LineStretch::unquoted);
    let named = match quoted {
        Some(_) => 1,
        None => words
            .iter()
            .take_while(|word| plain(word) && word.text != "dip")
            .count(),
    };
    let spelt: Vec<&str> = words[..named].iter().map(|word| word.text).collect();
    let mut dose = Dose {
        active: quoted.unwrap_or_else(|| active(&spelt)),
        ..Dose::default()
    };
    if dose.active.trim().is_empty() {
        if words.is_empty() {
            return None;
        }
        dose.active = UNKNOWN.to_owned();
    }
    let mut rest = &words[named..];
    while let Some((word, after)) = rest.split_first() {
        // Two words may make one: `3000 ppm`, `5 s`, `quick dip`.
        let pair = after
            .first()
            .map(|next| format!("{} {}", word.text, next.text));
        let (taken, text) = match &pair {
            Some(pair) if measure(pair).is_some() || listed(CARRIER, pair).is_some() => {
                (2, pair.as_str())
            }
            _ => (1, word.text),
        };
        dose.take(text)?;
        rest = &rest[taken..];
    }
    Some(dose)
}

/// A strength or a time.
enum Amount {
    Ppm(f64),
    Seconds(f64),
}

fn measure(text: &str) -> Option<Amount> {
    if Quantity::Duration.has_unit(text) {
        return Quantity::Duration.read(text, Units::C).map(Amount::Seconds);
    }
    // `1.250` may mean 1250 where the point parts thousands: not taken for a strength.
    let digits = text.trim_end_matches(|c: char| !c.is_ascii_digit());
    let thousands = digits
        .split_once('.')
        .is_some_and(|(whole, part)| part.len() == 3 && part.ends_with('0') && whole != "0");
    Quantity::Strength
        .read(text, Units::C)
        .filter(|_| !thousands)
        .map(Amount::Ppm)
}

impl Dose {
    /// Takes one part in; nothing if it is not understood or was said before.
    fn take(&mut self, text: &str) -> Option<()> {
        let lower = text.to_lowercase();
        if lower == "dip" || lower == "dipped" || FILLERS.contains(&lower.as_str()) {
            return Some(());
        }
        if let Some(carrier) = listed(CARRIER, text) {
            return self.carrier.replace(carrier).is_none().then_some(());
        }
        match measure(text)? {
            Amount::Ppm(ppm) => self.ppm.replace(ppm).is_none(),
            Amount::Seconds(dip) => self.dip.replace(dip).is_none(),
        }
        .then_some(())
    }
}

/// The substance as written: known letters in capitals, all else as typed.
fn active(words: &[&str]) -> String {
    let typed = words.join(" ");
    let known = ACTIVES
        .iter()
        .find(|active| active.eq_ignore_ascii_case(&typed));
    match known.copied() {
        Some("KIBA") => "K-IBA".into(),
        Some("KNAA") => "K-NAA".into(),
        Some(letters) => letters.into(),
        None => typed,
    }
}
