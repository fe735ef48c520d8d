//! At most so many of many, evenly taken: what all have in common is known from some thousands. It draws nothing.

/// At most `most` of `all`, in their order and evenly apart; all where they are no more.
#[must_use]
pub fn evenly<T>(all: Vec<T>, most: usize) -> Vec<T> {
    let count = all.len();
    if count <= most {
        return all;
    }
    // Item `at` is taken where the whole part of at · most / count rises.
    let rises = |at: usize| (at + 1) * most / count > at * most / count;
    let each = all.into_iter().enumerate();
    each.filter_map(|(at, item)| rises(at).then_some(item))
        .collect()
}
