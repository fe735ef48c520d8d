//! A long list worked through in parts, each on a thread of its own. It must not know what the work is.

use std::thread::Builder;

/// What `work` makes of each of at most `threads` parts of a list, in the list's order, with the number of the part's first
/// item. There are no more parts than hold `least` each, since fewer are not worth a thread. Where no thread is to be had the caller's own does the work.
pub fn in_parts<T: Sync, R: Send>(
    list: &[T],
    threads: usize,
    least: usize,
    work: impl Fn(usize, &[T]) -> R + Sync,
) -> Vec<R> {
    let shares = threads.min(list.len() / least.max(1)).max(1);
    let share = list.len().div_ceil(shares).max(1);
    let mut parts = (0..).step_by(share).zip(list.chunks(share));
    let (_, own) = parts.next().unwrap_or_default();
    std::thread::scope(|scope| {
        let work = &work;
        let begin = |(first, part)| Builder::new().spawn_scoped(scope, move || work(first, part));
        let begun: Vec<_> = parts.map(|part| (part, begin(part).ok())).collect();
        let mut out = vec![work(0, own)];
        out.extend(begun.into_iter().map(|((first, part), thread)| {
            let done = thread.and_then(|thread| thread.join().ok());
            done.unwrap_or_else(|| work(first, part))
        }));
        out
    })
}

#[cfg(test)]
mod tests {
    use super::in_parts;

    #[test]
    fn every_item_is_in_one_part_and_in_its_place() {
        for length in [0, 1, 7, 8, 1000] {
            let list: Vec<usize> = (0..length).collect();
            for threads in [0, 1, 2, 3, 64] {
                let parts = in_parts(&list, threads, 4, |first, part| {
                    assert!(part.first().is_none_or(|item| *item == first));
                    part.to_vec()
                });
                assert_eq!(parts.concat(), list, "{length} in {threads}");
                assert!(parts.len() <= threads.max(1));
            }
        }
    }
}
