//! Reads what follows a phrase's first word, by its shape, into values of fields. It knows no table of phrases.

use super::hormone;
use super::lists::{CAUSE, CONTAINERS, DISCARDED, GUESS, Listed, is_place, listed};
use super::phrases::Shape;
use super::split::{LineStretch, digits, fold};
use super::units::{Quantity, count};
use super::vocabulary::{LineContext, PhraseFields, say};
use crate::input::when::DayLean;
use crate::model::at::At;
use crate::model::id::Id;
use crate::model::listed::Units;
use crate::model::value::{FieldType, Value};
use chrono::{Days, NaiveDate};

/// Reads the rest of a phrase. The error says what was wanted.
pub(super) fn read(
    shape: Shape,
    field: &'static str,
    rest: LineStretch<'_>,
    context: &LineContext<'_>,
) -> PhraseFields {
    match shape {
        Shape::Text | Shape::OneOfSeveral => text(shape, field, rest, context),
        Shape::HeldText => held(field, rest, context),
        Shape::InWhat => in_what(rest, context),
        Shape::Container | Shape::SizedContainer => container(rest, context),
        Shape::Code => code(field, rest, context),
        Shape::NewCode => new_code(field, rest, context),
        Shape::Reference => reference(field, rest, context),
        Shape::Count | Shape::BareCount => whole(field, rest.text),
        Shape::Days => whole(field, strip_unit(rest.text, &["days", "day", "d"])),
        Shape::Stage => stage(field, rest.text),
        Shape::Guess => guess(rest.text),
        Shape::Bare => bare(rest.text),
        Shape::Lost => lost(rest.text, true),
        Shape::Quantity(measure) => number(measure, field, rest.text, context),
        Shape::Heat => heat(field, rest.text, context),
        Shape::Cycle => cycle(rest.text),
        Shape::Band => band(rest.text, context),
        Shape::Listed(list) => word(list, field, rest.text),
        Shape::Why => word(DISCARDED, field, rest.text).or_else(|_| word(CAUSE, field, rest.text)),
        Shape::Flag(flag) => match rest.text.is_empty() {
            true => say(field, Value::Bool(flag)),
            false => Err("takes nothing after it".into()),
        },
        Shape::Moment => moment(field, rest.text, context),
        Shape::Coming => coming(field, rest.text, context),
        Shape::MonthDay => month_day(field, rest.text, context),
        Shape::Hormone => hormone::read(rest, context),
        Shape::Drop => Err("needs the name of a field of the entry".into()),
    }
}

fn text(
    shape: Shape,
    field: &'static str,
    rest: LineStretch<'_>,
    context: &LineContext<'_>,
) -> PhraseFields {
    let several = matches!(shape, Shape::OneOfSeveral);
    if several && rest.text == "none" {
        return say(field, Value::List(Vec::new()));
    }
    let typed = rest.plain();
    if typed.trim().is_empty() {
        return Err("needs a text after it".into());
    }
    // The taxon stays as typed: its spelling is told by the codes of nomenclature, not by the journal.
    let free = rest.unquoted().is_some() || several || field == "taxon";
    let spelt = context.known.spelling(field, &typed).filter(|_| !free);
    let value = Value::Text(spelt.unwrap_or(typed));
    say(
        field,
        if several {
            Value::List(vec![value])
        } else {
            value
        },
    )
}

fn held(field: &'static str, rest: LineStretch<'_>, context: &LineContext<'_>) -> PhraseFields {
    match context.known.spelling(field, rest.text) {
        Some(spelt) => say(field, Value::Text(spelt)),
        None => Err(format!("needs a {field} that the journal holds")),
    }
}

fn code(field: &'static str, rest: LineStretch<'_>, context: &LineContext<'_>) -> PhraseFields {
    match context.known.batch(&rest.plain()) {
        Some(batch) => say(field, Value::Text(batch.code.clone())),
        None => Err("no batch has this code".into()),
    }
}

fn new_code(field: &'static str, rest: LineStretch<'_>, context: &LineContext<'_>) -> PhraseFields {
    let typed = rest.plain();
    let full = context
        .known
        .full_code(&typed)
        .filter(|_| rest.unquoted().is_none());
    let one_word = rest.unquoted().is_some() || !typed.contains(char::is_whitespace);
    match one_word && !typed.trim().is_empty() {
        true => say(field, Value::Text(full.unwrap_or(typed))),
        false => Err("needs a code, as `26-k050`".into()),
    }
}

fn reference(
    field: &'static str,
    rest: LineStretch<'_>,
    context: &LineContext<'_>,
) -> PhraseFields {
    let typed = rest.plain();
    if rest.unquoted().is_none() {
        if let Some(batch) = context.known.batch(&typed) {
            return say(field, batch.key.write());
        }
        if context.known.full_code(&typed).is_some() {
            return Err("no batch has this code".into());
        }
    }
    match Id::parse_reference(&typed) {
        Some(id) => say(field, id.write()),
        None => Err("needs the id of an entry, or a batch's code".into()),
    }
}

fn whole(field: &'static str, text: &str) -> PhraseFields {
    match count(text) {
        Some(n) => say(field, n.write()),
        None => Err("needs a whole number, at most 1000000".into()),
    }
}

fn strip_unit<'a>(text: &'a str, units: &[&str]) -> &'a str {
    let stripped = units.iter().find_map(|unit| text.strip_suffix(unit));
    stripped.map_or(text, str::trim_end)
}

fn stage(field: &'static str, text: &str) -> PhraseFields {
    if let Some(guess) = listed(GUESS, text) {
        let about = Value::Map(vec![(field.into(), Value::Text(guess.into()))]);
        return say("about", about);
    }
    let (some, of) = match text.split_once(" of ").or_else(|| text.split_once('/')) {
        Some((some, of)) => (some.trim(), Some(of.trim())),
        None => (text, None),
    };
    let mut out = whole(field, some)
        .map_err(|_| "needs a whole number, or none, few, half, most, all".to_owned())?;
    if let Some(of) = of {
        out.extend(whole("seen", of)?);
    }
    Ok(out)
}

/// The stages by the words that may follow a guess.
const STAGES: Listed = &[
    ("callused", &["callus", "calloused"]),
    ("rooted", &["roots"]),
    ("bottom", &["at bottom", "to bottom", "at the bottom"]),
];

fn guess(text: &str) -> PhraseFields {
    let parted = text.char_indices().filter(|(_, c)| c.is_whitespace());
    let mut ways =
        parted.flat_map(|(at, _)| [(&text[..at], &text[at..]), (&text[at..], &text[..at])]);
    let found =
        ways.find_map(|(guess, stage)| Some((listed(GUESS, guess)?, listed(STAGES, stage)?)));
    match found {
        Some((guess, stage)) => say(
            "about",
            Value::Map(vec![(stage.into(), Value::Text(guess.into()))]),
        ),
        None => Err("needs a guess and a stage, as `half rooted`".into()),
    }
}

/// Nothing yet: on all, or on so many. Settled when the whole line is read.
pub(super) const BARE: &str = "(nothing yet)";

fn bare(text: &str) -> PhraseFields {
    match text.is_empty() {
        true => say(BARE, Value::Null),
        false => whole(BARE, text),
    }
}

/// `2 black`, `black 2`, `2` (cause unknown) if the phrase began with `lost` or `dead`; `none`.
pub(super) fn lost(text: &str, keyed: bool) -> PhraseFields {
    let wanted = || "needs a number and a cause, as `black 2`".to_owned();
    if keyed && text == "none" {
        return say("lost", Value::Map(Vec::new()));
    }
    let (head, tail) = (
        text.split_once(char::is_whitespace),
        text.rsplit_once(char::is_whitespace),
    );
    let numbered = match (head, tail) {
        _ if digits(text) => Some((text, "")),
        (Some((n, cause)), _) if digits(n) => Some((n, cause)),
        (_, Some((cause, n))) if digits(n) => Some((n, cause)),
        _ => None,
    };
    let (number, cause) = numbered.ok_or_else(wanted)?;
    let cause = match fold(cause).as_str() {
        "" if keyed => Some("unknown"),
        "dead" | "lost" | "died" => Some("unknown"),
        cause => listed(
            CAUSE,
            cause.trim_start_matches("to ").trim_start_matches("of "),
        ),
    };
    let count = count(number).ok_or_else(wanted)?;
    say(
        "lost",
        Value::Map(vec![(cause.ok_or_else(wanted)?.into(), count.write())]),
    )
}

/// A bare temperature in °C above this is likelier one in °F: for air and leaves, and for a medium or a set point.
/// (45 °C is 113 °F and 45 °F is 7 °C; nobody warms a medium above 35 °C on purpose. Common practice.)
const LIKELIER_F: (f64, f64) = (45.0, 35.0);
/// A bare set point or medium in °F below this is likelier one in °C.
const LIKELIER_C: f64 = 40.0;

/// What to ask about a temperature typed without its unit that is likelier in the other one.
fn asked_unit(field: &str, text: &str, context: &LineContext<'_>) -> Option<String> {
    let bare: f64 = text.trim().replace(',', ".").parse().ok()?;
    let rooting = matches!(field, "heat_c" | "medium_c");
    let likelier_f = if rooting { LIKELIER_F.1 } else { LIKELIER_F.0 };
    let (own, other) = match context.known.units {
        Units::C if bare > likelier_f => ("C", "F"),
        Units::F if rooting && bare < LIKELIER_C => ("F", "C"),
        Units::C | Units::F => return None,
    };
    Some(format!(
        "{bare} °{own} is unlikely; say `{bare}{other}` if °{other} is meant, `{bare}{own}` if it is so"
    ))
}

fn number(
    measure: Quantity,
    field: &'static str,
    text: &str,
    context: &LineContext<'_>,
) -> PhraseFields {
    let asked = asked_unit(field, text, context);
    if let Some(asked) = asked.filter(|_| measure == Quantity::Temperature) {
        return Err(asked);
    }
    match measure.read(text, context.known.units) {
        Some(value) => say(field, Value::Number(value)),
        None => Err(format!("needs {}", measure.wanted())),
    }
}

fn heat(field: &'static str, text: &str, context: &LineContext<'_>) -> PhraseFields {
    match fold(text).as_str() {
        "none" | "off" | "no" => say(field, Value::Text("none".into())),
        _ => number(Quantity::Temperature, field, text, context).map_err(|why| {
            let wanted = why.starts_with("needs");
            if wanted {
                format!("{why}, or `none`")
            } else {
                why
            }
        }),
    }
}

fn cycle(text: &str) -> PhraseFields {
    let wanted = || "needs both times with their units, as `10s/12min`".to_owned();
    let parted = text.split_once('/').or_else(|| text.split_once(" every "));
    let (on, every) = parted.ok_or_else(wanted)?;
    let timed = |text: &str| {
        let named = Quantity::Duration.has_unit(text);
        Quantity::Duration.read(text, Units::C).filter(|_| named)
    };
    let (on, every) = (
        timed(on).ok_or_else(wanted)?,
        timed(every).ok_or_else(wanted)?,
    );
    Ok(vec![
        ("mist_on_s", Value::Number(on)),
        ("mist_every_s", Value::Number(every)),
    ])
}

fn band(text: &str, context: &LineContext<'_>) -> PhraseFields {
    let wanted = || "needs two bounds in kPa, as `0.3-0.8`".to_owned();
    let parted = text
        .split_once(" to ")
        .or_else(|| text.split_once(['-', '–']));
    let (low, high) = parted.ok_or_else(wanted)?;
    let bound = |text: &str| {
        Quantity::Pressure
            .read(text, context.known.units)
            .ok_or_else(wanted)
    };
    Ok(vec![
        ("vpd_low_kpa", Value::Number(bound(low)?)),
        ("vpd_high_kpa", Value::Number(bound(high)?)),
    ])
}

fn word(list: Listed, field: &'static str, text: &str) -> PhraseFields {
    let words: Vec<_> = list.iter().map(|(word, _)| *word).collect();
    match listed(list, text) {
        Some(word) => say(field, Value::Text(word.into())),
        None => Err(format!("needs one of {}", words.join(", "))),
    }
}

/// A day or time, as an entry's own or when cuttings were taken.
pub(super) fn moment(field: &'static str, text: &str, context: &LineContext<'_>) -> PhraseFields {
    match context.now.read(text, DayLean::Back) {
        Ok(at) => say(field, at.write()),
        Err(why) => Err(why.to_string()),
    }
}

fn coming(field: &'static str, text: &str, context: &LineContext<'_>) -> PhraseFields {
    let day = match after_days(text, context.now.today()) {
        Some(day) => day,
        None => context
            .now
            .read(text, DayLean::Ahead)
            .map_err(|why| why.to_string())?
            .day(),
    };
    say(field, day.write())
}

/// `14 days`, `2 weeks`, `+14`, `14`: that long from today.
pub(super) fn after_days(text: &str, today: NaiveDate) -> Option<NaiveDate> {
    let bare = text.strip_prefix('+').unwrap_or(text).trim_start();
    let (number, length) = match strip_unit(bare, &["weeks", "week", "w"]) {
        weeks if weeks.len() < bare.len() => (weeks, 7),
        _ => (strip_unit(bare, &["days", "day", "d"]), 1),
    };
    let days = u64::from(count(number)?) * length;
    let day = today.checked_add_days(Days::new(days))?;
    // The journal writes four digits of year.
    (chrono::Datelike::year(&day) <= 9999).then_some(day)
}

fn month_day(field: &'static str, text: &str, context: &LineContext<'_>) -> PhraseFields {
    use crate::model::composite::MonthDay;
    if let Some(day) = MonthDay::read(&Value::Text(text.into())) {
        return say(field, day.write());
    }
    let read = context
        .now
        .read(text, DayLean::Ahead)
        .map(|at: At| at.day().format("%m-%d").to_string());
    match read.ok().and_then(|day| MonthDay::read(&Value::Text(day))) {
        Some(day) => say(field, day.write()),
        None => Err("needs a day of the year, as `1 Aug` or `08-01`".into()),
    }
}

/// A container behind its first word: as the journal spells it, else in the words shown.
pub(super) fn container(rest: LineStretch<'_>, context: &LineContext<'_>) -> PhraseFields {
    if let Some(exact) = rest.unquoted() {
        return match exact.trim().is_empty() {
            true => Err("needs a container, as `84 cell tray`".into()),
            false => say("container", Value::Text(exact)),
        };
    }
    if rest.text.is_empty() {
        return Err("needs a container, as `84 cell tray`".into());
    }
    let spelt = context.known.spelling("container", rest.text);
    say(
        "container",
        Value::Text(spelt.unwrap_or_else(|| shown(rest.text))),
    )
}

/// What `in` leads to: a medium, unless it is plainly a container.
pub(super) fn in_what(rest: LineStretch<'_>, context: &LineContext<'_>) -> PhraseFields {
    if rest.plain().trim().is_empty() {
        return Err("needs a medium, as `in bark:perlite 1:1`".into());
    }
    if let Some(exact) = rest.unquoted() {
        return say("medium", Value::Text(exact));
    }
    let place = context.known.spelling("place", rest.text);
    let named = rest.text.strip_prefix("the ").unwrap_or(rest.text);
    if place.is_some() || is_place(named) {
        return say(
            "place",
            Value::Text(place.unwrap_or_else(|| named.to_owned())),
        );
    }
    let medium = context.known.spelling("medium", rest.text);
    let contained = is_container(rest.text) || is_size(rest.text);
    let held = context.known.spelling("container", rest.text).is_some();
    match medium {
        Some(spelt) => say("medium", Value::Text(spelt)),
        None if contained || held => container(rest, context),
        None => say("medium", Value::Text(rest.text.to_owned())),
    }
}

/// Whether a text is a container by its last word: `tray`, `84 cell tray`, `9 cm pots`; but not `3 trays`, which
/// says how many.
pub(super) fn is_container(text: &str) -> bool {
    let folded = fold(text);
    let words: Vec<&str> = folded.split(' ').collect();
    let names = |word: &&str| CONTAINERS.iter().any(|(typed, _)| typed == word);
    let number = |word: &&str| word.bytes().all(|b| b.is_ascii_digit());
    match words.as_slice() {
        [only] => names(only),
        [first, last] if number(first) => names(last) && !last.ends_with('s'),
        [.., last] => words.len() <= 4 && names(last),
        [] => false,
    }
}

/// Whether a text is a size alone, as `9 cm` or `4in`.
pub(super) fn is_size(text: &str) -> bool {
    Quantity::Length.has_unit(text)
}

/// The text with `flat` and `plug` in the words shown.
fn shown(text: &str) -> String {
    let articles = ["a ", "an ", "the "];
    let bare = articles.iter().find_map(|word| text.strip_prefix(word));
    let bare = bare.unwrap_or(text);
    let words = bare.split_whitespace().map(|word| {
        let lower = word.to_lowercase();
        let known = CONTAINERS.iter().find(|(typed, _)| *typed == lower);
        known.map_or(
            word,
            |(typed, shown)| if typed == shown { word } else { shown },
        )
    });
    words.collect::<Vec<_>>().join(" ")
}
