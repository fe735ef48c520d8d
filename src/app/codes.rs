//! Which code the next batch gets. It reads codes alone, no files.

/// Letters that a second writer may put into its codes: none that reads like a digit.
pub const LETTERS: &str = "abcdefghjkmnpqrtuvwxyz";

/// The next free code of a year: `26-041`, or `26-k041` for a writer with a letter of its own.
///
/// One above the highest number that the year's codes of the same letter bear, so that a code
/// once given is never given again, even when its batch was withdrawn.
#[must_use]
pub fn next<'a>(year: i32, letter: Option<char>, codes: impl Iterator<Item = &'a str>) -> String {
    let year = year.rem_euclid(100);
    let highest = codes
        .filter_map(|code| number(code, year, letter))
        .max()
        .unwrap_or(0);
    let letter = letter.map_or_else(String::new, String::from);
    format!("{year:02}-{letter}{:03}", highest + 1)
}

/// The code after this one, for several batches in one act.
#[must_use]
pub fn following(code: &str) -> String {
    let digits = code.len() - code.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    let (head, tail) = code.split_at(code.len() - digits);
    match tail.parse::<u32>() {
        Ok(n) => format!("{head}{:0width$}", n + 1, width = digits),
        Err(_) => format!("{code}-2"),
    }
}

/// The number that a code of this year and letter bears.
fn number(code: &str, year: i32, letter: Option<char>) -> Option<u32> {
    let (head, tail) = code.split_once('-')?;
    let tail = match letter {
        Some(letter) => tail.strip_prefix(letter)?,
        None => tail,
    };
    let whole = !tail.is_empty() && tail.bytes().all(|b| b.is_ascii_digit());
    (whole && head.parse() == Ok(year))
        .then(|| tail.parse().ok())
        .flatten()
}

/// A letter that no code of the year bears yet, the `pick`-th of those free; nothing when all are taken.
#[must_use]
pub fn free_letter<'a>(codes: impl Iterator<Item = &'a str>, pick: usize) -> Option<char> {
    let taken: Vec<char> = codes
        .filter_map(|code| code.split_once('-')?.1.chars().next())
        .collect();
    let free: Vec<char> = LETTERS
        .chars()
        .filter(|letter| !taken.contains(letter))
        .collect();
    (!free.is_empty()).then(|| free[pick % free.len()])
}
