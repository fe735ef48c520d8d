//! What a mistyped text may have been meant for. It only suggests; nothing is taken in its place.

use super::split::{fold, folds_to_begin};
use crate::input::fuzzy;

/// The nearest of several texts: the only one that begins with what was typed, else one that differs by few letters.
pub(super) fn nearest<'a>(typed: &str, among: &[&'a str]) -> Option<&'a str> {
    // A paragraph is no slip for a word, and comparing it would take long.
    if typed.len() > 80 {
        return None;
    }
    let folded = fold(typed);
    let mut begun = among.iter().filter(|text| folds_to_begin(text, &folded));
    let first = begun.next().filter(|_| folded.len() >= 2);
    match (first, begun.next()) {
        (Some(only), None) => Some(only),
        _ => fuzzy::nearest(&folded, among),
    }
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_or_a_beginning_is_near_and_another_word_is_not() {
        let words = ["rooted", "callused", "bottom"];
        assert_eq!(nearest("rotoed", &words), Some("rooted"));
        assert_eq!(nearest("cal", &words), Some("callused"));
        assert_eq!(nearest("greenhouse", &words), None);
    }
}
