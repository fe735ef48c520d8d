//! How many trays alike a typed sticking is for. It reads nothing else of the line.

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
    let trays = number(words.first()?)?;
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
    number(
        word.strip_prefix(signs)
            .or_else(|| word.strip_suffix(signs))?,
    )
}

fn number(word: &str) -> Option<u32> {
    word.parse().ok().filter(|n| (1..=MOST).contains(n))
}
