//! Finds what was meant by a few typed letters. It knows only texts, not what they name.

use crate::text::clean::unmarked;
use fuzzy_matcher::FuzzyMatcher;
use fuzzy_matcher::skim::SkimMatcherV2;

/// The candidates that hold every word of `query`, letters in order but gaps allowed, best first;
/// each with its place in `candidates` and its score (higher is better). Neither case nor accents matter. Equal
/// scores keep the given order; an empty query takes all, with score 0.
#[must_use]
pub fn rank(query: &str, candidates: &[&str]) -> Vec<(usize, i64)> {
    let matcher = SkimMatcherV2::default().ignore_case();
    let query = unmarked(query);
    let words: Vec<&str> = query.split_whitespace().collect();
    let score = |candidate: &str| -> Option<i64> {
        let candidate = unmarked(candidate);
        let scores = words.iter().map(|w| matcher.fuzzy_match(&candidate, w));
        scores.sum()
    };
    let scored = candidates.iter().enumerate();
    let mut found: Vec<(usize, i64)> = scored
        .filter_map(|(index, candidate)| Some((index, score(candidate)?)))
        .collect();
    found.sort_by_key(|(_, score)| std::cmp::Reverse(*score));
    found
}

/// The known word that `word` is most likely a slip for, if any is near enough: one slip for up to
/// five letters, a third of the letters beyond. Equally near: the first.
#[must_use]
pub fn nearest<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    nearest_within(word, known, (word.chars().count() / 3).max(1))
}

/// As [`nearest`], allowing at most `most` slips.
#[must_use]
pub fn nearest_within<'a>(word: &str, known: &[&'a str], most: usize) -> Option<&'a str> {
    let (mut typed, mut most) = (Vec::new(), most);
    letters(word, &mut typed);
    // A slip in a word of one letter leaves nothing to go by.
    if typed.len() < 2 {
        return None;
    }
    let sieve = seen(&typed);
    let (mut held, mut rows, mut best) = (Vec::new(), Rows::default(), None);
    for candidate in known {
        // No fewer slips are possible than letters too many: most words fall here, before their letters are looked at.
        if candidate.is_ascii() && candidate.len().abs_diff(typed.len()) > most {
            continue;
        }
        letters(candidate, &mut held);
        if (sieve ^ seen(&held)).count_ones() as usize > 2 * most {
            continue;
        }
        let Some(slips) = slips(&typed, &held, most, &mut rows) else {
            continue;
        };
        best = Some(*candidate);
        match slips.checked_sub(1) {
            Some(fewer) => most = fewer,
            None => break,
        }
    }
    best
}

/// The letters of a word, whatever their case.
fn letters(word: &str, into: &mut Vec<char>) {
    into.clear();
    if word.is_ascii() {
        into.extend(word.bytes().map(|b| char::from(b.to_ascii_lowercase())));
    } else {
        into.extend(word.to_lowercase().chars());
    }
}

/// Which letters a word holds, as bits that several letters may share. One slip changes two of them at most.
fn seen(letters: &[char]) -> u64 {
    letters
        .iter()
        .fold(0, |bits, c| bits | 1 << (u32::from(*c) % 64))
}

/// The last three rows of the table of slips.
#[derive(Default)]
struct Rows([Vec<usize>; 3]);

/// Slips between two words, if there are no more than `most`: a letter left out, put in, changed, or two neighbours
/// swapped (optimal string alignment; Damerau 1964, Communications of the ACM 7:171).
fn slips(a: &[char], b: &[char], most: usize, rows: &mut Rows) -> Option<usize> {
    if a.len().abs_diff(b.len()) > most {
        return None;
    }
    let Rows([before, above, row]) = rows;
    above.clear();
    above.extend(0..=b.len());
    let mut least_above = 0;
    for i in 1..=a.len() {
        row.clear();
        row.push(i);
        let mut least = i;
        for j in 1..=b.len() {
            let change = above[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut best = change.min(above[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(before[j - 2] + 1);
            }
            least = least.min(best);
            row.push(best);
        }
        // A swap reaches over one row, so that two rows must be beyond hope.
        if least > most && least_above > most {
            return None;
        }
        least_above = least;
        std::mem::swap(before, above);
        std::mem::swap(above, row);
    }
    above.last().copied().filter(|slips| *slips <= most)
}

#[cfg(test)]
mod tests {
    use super::{Rows, nearest, slips};

    #[test]
    fn slips_are_counted_as_in_the_textbook() {
        // Wagner & Fischer 1974 and the usual textbook pairs (from memory).
        let count = |a: &str, b: &str| {
            let letters = |s: &str| s.chars().collect::<Vec<_>>();
            slips(&letters(a), &letters(b), 9, &mut Rows::default()).unwrap()
        };
        assert_eq!(count("kitten", "sitting"), 3);
        assert_eq!(count("ca", "abc"), 3);
        assert_eq!(count("rotoed", "rooted"), 1);
        assert_eq!(count("roted", "rooted"), 1);
        assert_eq!(count("oroted", "rooted"), 1);
        assert_eq!(count("", "abc"), 3);
    }

    /// The whole table, without any short cut.
    fn textbook(a: &[char], b: &[char]) -> usize {
        let mut table = vec![vec![0; b.len() + 1]; a.len() + 1];
        for i in 0..=a.len() {
            for j in 0..=b.len() {
                table[i][j] = if i.min(j) == 0 {
                    i.max(j)
                } else {
                    let swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
                    let change = table[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
                    let apart = table[i - 1][j].min(table[i][j - 1]) + 1;
                    let swap = if swapped {
                        table[i - 2][j - 2] + 1
                    } else {
                        change
                    };
                    change.min(apart).min(swap)
                };
            }
        }
        table[a.len()][b.len()]
    }

    proptest::proptest! {
        #[test]
        fn the_short_cuts_find_what_the_whole_table_finds(
            typed in "[abcAé]{0,9}",
            known in proptest::collection::vec("[abcAé]{0,9}", 0..9),
        ) {
            let known: Vec<&str> = known.iter().map(String::as_str).collect();
            let letters = |s: &str| s.to_lowercase().chars().collect::<Vec<_>>();
            let count = |k: &&str| textbook(&letters(&typed), &letters(k));
            let length = typed.chars().count();
            let near = |k: &&&str| length > 1 && count(k) <= (length / 3).max(1);
            let expected = known.iter().filter(near).min_by_key(|k| count(k)).copied();
            proptest::prop_assert_eq!(nearest(&typed, &known), expected);
        }
    }
}
