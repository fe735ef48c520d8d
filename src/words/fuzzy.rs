//! Finds what was meant by a few typed letters. It knows only texts, not what they name.

use super::ascii::unmarked;
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
    let typed: Vec<char> = word.to_lowercase().chars().collect();
    let most = (typed.len() / 3).max(1);
    // A slip in a word of one letter leaves nothing to go by.
    if typed.len() < 2 {
        return None;
    }
    let distance = |candidate: &str| {
        let letters: Vec<char> = candidate.to_lowercase().chars().collect();
        slips(&typed, &letters)
    };
    let near = known.iter().map(|k| (distance(k), *k));
    let best = near.min_by_key(|(slips, _)| *slips)?;
    (best.0 <= most).then_some(best.1)
}

/// Slips between two words: a letter left out, put in, changed, or two neighbours swapped (optimal
/// string alignment; Damerau 1964, Communications of the ACM 7:171).
fn slips(a: &[char], b: &[char]) -> usize {
    let mut rows: Vec<Vec<usize>> = vec![(0..=b.len()).collect()];
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let change = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut best = change.min(rows[i - 1][j] + 1).min(row[j - 1] + 1);
            let swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
            if swapped {
                best = best.min(rows[i - 2][j - 2] + 1);
            }
            row.push(best);
        }
        rows.push(row);
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::slips;

    #[test]
    fn slips_are_counted_as_in_the_textbook() {
        // Wagner & Fischer 1974 and the usual textbook pairs (from memory).
        let count = |a: &str, b: &str| {
            let letters = |s: &str| s.chars().collect::<Vec<_>>();
            slips(&letters(a), &letters(b))
        };
        assert_eq!(count("kitten", "sitting"), 3);
        assert_eq!(count("ca", "abc"), 3);
        assert_eq!(count("rotoed", "rooted"), 1);
        assert_eq!(count("roted", "rooted"), 1);
        assert_eq!(count("oroted", "rooted"), 1);
        assert_eq!(count("", "abc"), 3);
    }
}
