//! Work on many things at once, on as many cores as there are; the answers stand in the order of the things, so that
//! the figures are the same on any machine.

use std::num::NonZero;
use std::thread::{available_parallelism, scope};

/// Fewer things than this to a core are not worth a thread.
const WORTH: usize = 16;

/// What comes of each.
pub(super) fn side_by_side<T: Sync, R: Send>(
    things: &[T],
    work: impl Fn(&T) -> R + Sync,
) -> Vec<R> {
    let cores = available_parallelism().map_or(1, NonZero::get);
    let each = things.len().div_ceil(cores).max(WORTH);
    if things.len() <= each {
        return things.iter().map(work).collect();
    }
    scope(|scope| {
        let work = &work;
        let chunks = things.chunks(each);
        let threads: Vec<_> = chunks
            .map(|chunk| scope.spawn(move || chunk.iter().map(work).collect::<Vec<R>>()))
            .collect();
        let joined = threads.into_iter().map(|thread| match thread.join() {
            Ok(found) => found,
            // What broke there breaks here, as it would have without threads.
            Err(broken) => std::panic::resume_unwind(broken),
        });
        joined.flatten().collect()
    })
}

#[cfg(test)]
mod tests {
    use super::side_by_side;

    #[test]
    fn answers_stand_in_the_order_of_what_was_asked() {
        for many in [0, 1, 15, 16, 17, 33, 1000] {
            let things: Vec<usize> = (0..many).collect();
            let twice: Vec<usize> = things.iter().map(|n| 2 * n).collect();
            assert_eq!(side_by_side(&things, |n| 2 * n), twice);
        }
    }
}
