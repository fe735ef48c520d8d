//! The short forms of each recording key, written out as bench lines. It reads no meaning: the bench line's reader does.

use crate::fold::batch::Batch;
use crate::tui::keys::Command;

/// What a recording key is about.
#[derive(Clone, Copy, Debug, Default)]
pub struct LineSubject<'a> {
    /// The batch chosen.
    pub batch: Option<&'a Batch>,
    /// The place chosen, or the batch's.
    pub place: Option<&'a str>,
}

/// A recording key's heading and an example of what is typed after it; nothing for keys that type no line.
#[must_use]
pub fn example(command: Command) -> Option<(&'static str, &'static str)> {
    Some(match command {
        Command::Line => ("Any entry", "look 041: rooted 4, callused 3"),
        Command::Pot => (
            "Pot",
            "18 g, 9 cm: 18 potted, the rest given up (with s it is stuck again)",
        ),
        Command::Move => ("Move", "frame 2: all of it; 12 frame 2: a part"),
        Command::Climate => ("Climate", "24.5 82 21: air, humidity, medium"),
        Command::Treat => ("Treat", "wean; place spray, with soap: the whole place"),
        Command::Note => (
            "Remark",
            "leaves yellow, again in 3 days; power cut, place too dry: the whole place",
        ),
        Command::Discard => ("Discard", "5, given up"),
        Command::Ready => ("Saleable", "12"),
        Command::Sold => ("Sold", "10"),
        Command::Again => (
            "Look again",
            "14: in fourteen days; Friday; place 1 Mar: its whole place rests until then",
        ),
        _ => return None,
    })
}

/// The typed text as whole bench lines, one an entry.
#[must_use]
pub fn lines(command: Command, typed: &str, about: LineSubject<'_>) -> Vec<String> {
    let typed = typed.trim();
    let code = about.batch.map_or("", |batch| batch.code.as_str());
    let place = about.place.unwrap_or("");
    match command {
        Command::Pot => pot(typed, code, about.batch),
        Command::Move => vec![moved(typed, code)],
        Command::Climate => vec![format!("climate {place}: {}", air(typed))],
        Command::Treat => vec![treat(typed, code, place)],
        Command::Note => vec![note(typed, code, place)],
        Command::Discard => vec![counted("discard", code, typed)],
        Command::Ready => vec![counted("ready", code, typed)],
        Command::Sold => vec![counted("sold", code, typed)],
        Command::Again => match place_rest(typed) {
            Some(until) => vec![format!("remark {place}: at rest, {}", again(until))],
            None => vec![format!("look {code}: {}", again(typed))],
        },
        _ => vec![accident(typed, place).unwrap_or_else(|| typed.to_owned())],
    }
}

/// What befalls a whole place, as growers say it: a note that begins so is of the place (common practice).
const OF_PLACE: [&str; 27] = [
    "power cut",
    "power off",
    "power failed",
    "power failure",
    "no power",
    "vent left",
    "vents left",
    "door left",
    "lid left",
    "hot day",
    "heatwave",
    "heat wave",
    "frost",
    "mist off",
    "mist failed",
    "mist stuck",
    "heat off",
    "heating off",
    "heating failed",
    "pump failed",
    "no water",
    "leak",
    "flooded",
    "mice",
    "mouse",
    "slugs",
    "snails",
];

fn is_of_place(typed: &str) -> bool {
    let typed = typed.to_lowercase();
    let begins = |said: &str| {
        let rest = typed.strip_prefix(said);
        rest.is_some_and(|rest| !rest.starts_with(char::is_alphabetic))
    };
    OF_PLACE.iter().any(|said| begins(said))
}

/// A note of the batch; of its place where it begins with `place`, or with what befalls a whole place and not with `tray`.
fn note(typed: &str, code: &str, place: &str) -> String {
    let told = typed.strip_prefix("place ").map(str::trim);
    let of_place = told.or_else(|| is_of_place(typed).then_some(typed));
    match of_place.filter(|_| !place.is_empty()) {
        Some(text) => format!("remark {place}: {text}"),
        None => {
            let text = typed.strip_prefix("tray ").filter(|_| !code.is_empty());
            format!("remark {code}: {}", text.unwrap_or(typed))
        }
    }
}

/// `power cut at bench A`, `mice`: an accident said without a verb, at the place named last or the one chosen.
fn accident(typed: &str, place: &str) -> Option<String> {
    if !is_of_place(typed) {
        return None;
    }
    let (text, place) = typed.rsplit_once(" at ").unwrap_or((typed, place));
    (!place.is_empty()).then(|| format!("remark {}: {text}", place.trim()))
}

/// A whole number at the front, and what follows it.
fn number(typed: &str) -> Option<(u32, &str)> {
    let digits = typed.bytes().take_while(u8::is_ascii_digit).count();
    let number = typed[..digits].parse().ok()?;
    let rest = &typed[digits..];
    let parts = !rest.starts_with(['.', ':', '-']);
    parts.then(|| {
        (
            number,
            rest.trim_start().trim_start_matches(',').trim_start(),
        )
    })
}

/// `verb code n, rest`.
fn counted(verb: &str, code: &str, typed: &str) -> String {
    match number(typed) {
        Some((n, "")) => format!("{verb} {code} {n}"),
        Some((n, rest)) => format!("{verb} {code} {n}, {rest}"),
        None => format!("{verb} {code} {typed}"),
    }
}

/// What becomes of the rest on a potting day: its letter, and the reason of the discard.
const REST: &[(char, &str)] = &[('g', "given up"), ('s', "restuck")];

/// `18 g, 9 cm`: the potting, and the rest's discard; without a letter the rest is kept. `18p g` is the same, as on the
/// look pad.
fn pot(typed: &str, code: &str, batch: Option<&Batch>) -> Vec<String> {
    let Some((count, rest)) = number(typed) else {
        return vec![format!("pot {code} {typed}")];
    };
    let rest = match rest.strip_prefix(['p', 'P']) {
        Some(more) if more.is_empty() || more.starts_with([' ', ',']) => {
            more.trim_start_matches([',', ' '])
        }
        _ => rest,
    };
    let letter = rest.chars().next().filter(|_| {
        let second = rest.chars().nth(1);
        second.is_none_or(|c| c == ',' || c == ' ')
    });
    let fate = REST
        .iter()
        .find(|(sign, _)| letter.map(|c| c.to_ascii_lowercase()) == Some(*sign));
    let rest = fate.map_or(rest, |_| rest[1..].trim_start_matches([',', ' ']));
    let mut out = vec![counted("pot", code, &format!("{count}, {rest}"))];
    let left = batch.map_or(0, |batch| batch.counts.remain().saturating_sub(count));
    if let Some((_, why)) = fate
        && left > 0
    {
        out.push(format!("discard {code} {left}, {why}"));
    }
    out
}

/// How many are stuck again by `18 s`: the rest.
#[must_use]
pub fn stuck_again(typed: &str, batch: &Batch) -> Option<u32> {
    let lines = pot(typed.trim(), &batch.code, Some(batch));
    let again = lines.get(1)?.ends_with("restuck");
    let (count, _) = number(typed.trim())?;
    again.then(|| batch.counts.remain().saturating_sub(count))
}

/// `12 frame 2` is a part, `frame 2` the whole batch.
fn moved(typed: &str, code: &str) -> String {
    let place = |to: &str| {
        let bare = ["to ", "at "].iter().find_map(|word| to.strip_prefix(word));
        bare.unwrap_or(to).to_owned()
    };
    match number(typed) {
        Some((n, to)) => format!("move {code} {n} to {}", place(to)),
        None => format!("move {code} to {}", place(typed)),
    }
}

/// What bare numbers of a climate note are, in their order.
const AIR: [&str; 3] = ["air", "rh", "medium"];

fn air(typed: &str) -> String {
    let mut words = typed.split_whitespace().peekable();
    let mut parts: Vec<String> = Vec::new();
    for what in AIR {
        let bare = words.next_if(|word| {
            let word = word
                .trim_end_matches(',')
                .trim_end_matches(['F', 'f', 'C', 'c', '%']);
            !word.is_empty() && word.replace(',', ".").parse::<f64>().is_ok()
        });
        let Some(bare) = bare else { break };
        parts.push(format!("{what} {}", bare.trim_end_matches(',')));
    }
    let rest: Vec<&str> = words.collect();
    if !rest.is_empty() {
        parts.push(rest.join(" "));
    }
    parts.join(", ")
}

/// `place spray, with soap` is the whole place, anything else the batch.
fn treat(typed: &str, code: &str, place: &str) -> String {
    match typed.strip_prefix("place ") {
        Some(rest) => format!("treat {place}: {rest}"),
        None if code.is_empty() => format!("treat {place}: {typed}"),
        None => format!("treat {code}: {typed}"),
    }
}

/// `place 1 Mar`: the day until which the whole place rests.
fn place_rest(typed: &str) -> Option<&str> {
    typed.strip_prefix("place ").map(str::trim)
}

/// A bare number is days.
fn again(typed: &str) -> String {
    match typed.parse::<u32>() {
        Ok(days) => format!("again in {days} days"),
        Err(_) => format!("again {typed}"),
    }
}

/// Most trays at once: more is a slip.
const MOST: u32 = 40;

/// How many trays alike, and the rest of the text: `3x 24`, `24 x3`, `3 x 24`, `3 trays of 24`, `24 Weigela florida x3`.
#[must_use]
pub fn trays(text: &str) -> (u32, String) {
    let (first, more) = text.split_at(text.find(',').unwrap_or(text.len()));
    let mut words: Vec<&str> = first.split_whitespace().collect();
    let trays = at_front(&mut words).or_else(|| as_factor(&mut words));
    match trays {
        Some(trays) => (trays, words.join(" ") + more),
        None => (1, text.to_owned()),
    }
}

/// Takes `3 x`, `3 trays of` or `3 trays` away that stand before another number.
fn at_front(words: &mut Vec<&str>) -> Option<u32> {
    let trays = tray_count(words.first()?)?;
    let joins = |word: &str| matches!(word, "x" | "×" | "tray" | "trays" | "of");
    let between = words[1..]
        .iter()
        .take_while(|word| joins(&word.to_lowercase()));
    let between = between.count();
    let counted = words.get(1 + between)?.parse::<u32>().is_ok();
    (between > 0 && counted).then(|| {
        words.drain(..=between);
        trays
    })
}

/// Takes `3x` or `x3` away that stands among the first two words or last.
fn as_factor(words: &mut Vec<&str>) -> Option<u32> {
    let last = words.len().checked_sub(1)?;
    let mut places = (0..words.len().min(2)).chain([last]);
    let at = places.find(|at| times(words[*at]).is_some())?;
    times(words.remove(at))
}

fn times(word: &str) -> Option<u32> {
    let signs = ['x', 'X', '×'];
    tray_count(
        word.strip_prefix(signs)
            .or_else(|| word.strip_suffix(signs))?,
    )
}

fn tray_count(word: &str) -> Option<u32> {
    word.parse().ok().filter(|n| (1..=MOST).contains(n))
}
