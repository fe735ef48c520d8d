//! Work in pieces, shared out among the cores. It must not know what the work is, nor let its result hang on who did it.

use rayon::{ThreadPool, ThreadPoolBuilder};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{LazyLock, Mutex, OnceLock, PoisonError};
use std::thread::available_parallelism;

/// The cores of this machine. Asked once: the system reads several files to answer.
static CORES: LazyLock<usize> =
    LazyLock::new(|| available_parallelism().map_or(1, std::num::NonZero::get));

/// No more threads than this share a piece of work.
const MOST_WORKERS: usize = 8;

/// The threads that help, which wait for more work where they end: a thread of its own for each piece would begin with
/// memory of its own each time. None where no thread is to be had, or none would help.
static HELPERS: LazyLock<Option<ThreadPool>> = LazyLock::new(|| {
    let helpers = CORES.min(MOST_WORKERS) - 1;
    let pool = ThreadPoolBuilder::new().num_threads(helpers);
    (helpers > 0).then(|| pool.build().ok()).flatten()
});

/// How many threads help at the moment, in all work that is shared out: where a piece is itself shared out, cores that
/// are busy already get no second thread.
static HELPING: AtomicUsize = AtomicUsize::new(0);

/// One thread's leave to help.
struct Seat;

impl Seat {
    fn taken() -> Option<Self> {
        let most = CORES.min(MOST_WORKERS) - 1;
        let one_more = |helping| (helping < most).then_some(helping + 1);
        HELPING
            .fetch_update(Ordering::Relaxed, Ordering::Relaxed, one_more)
            .ok()
            .map(|_| Self)
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        HELPING.fetch_sub(1, Ordering::Relaxed);
    }
}

/// So many small items make one piece of work.
const PIECE: usize = 64;

/// Makes the items of these numbers, shared out where they are many; in their order.
pub fn map<T: Send>(items: usize, item: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let some = |piece: usize| {
        let numbers = piece * PIECE..items.min((piece + 1) * PIECE);
        numbers.map(&item).collect::<Vec<T>>()
    };
    let found = share_out(items.div_ceil(PIECE), &mut |_| true, |piece, _| {
        Some(some(piece))
    });
    found.into_iter().flatten().flatten().collect()
}

/// Makes the items of these numbers, each a piece of work of its own; in their order.
pub fn each<T: Send>(items: usize, item: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let found = share_out(items, &mut |_| true, |number, _| Some(item(number)));
    found.unwrap_or_default()
}

/// Makes two things, at the same time where there are cores for it.
pub fn both<T, U>(one: impl Fn() -> T + Sync, other: impl Fn() -> U + Sync) -> (T, U)
where
    T: Send + Sync,
    U: Send + Sync,
{
    let (first, second) = (OnceLock::new(), OnceLock::new());
    each(2, |number| match number {
        0 => _ = first.get_or_init(&one),
        _ => _ = second.get_or_init(&other),
    });
    (
        first.into_inner().unwrap_or_else(one),
        second.into_inner().unwrap_or_else(other),
    )
}

/// Does `pieces` of work, each by its number, and gives what came of them in their order: the same on any number of
/// cores.
///
/// `go_on` receives how many pieces are done and returns whether to go on; each piece is given a shorter one to ask now
/// and then, and gives nothing if told to stop. The answer is `None` if any did.
pub fn share_out<T: Send>(
    pieces: usize,
    go_on: &mut dyn FnMut(usize) -> bool,
    piece: impl Fn(usize, &mut dyn FnMut() -> bool) -> Option<T> + Sync,
) -> Option<Vec<T>> {
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let stopped = AtomicBool::new(false);
    let work = |go_on: &mut dyn FnMut() -> bool| {
        let mut out = Vec::new();
        loop {
            let number = next.fetch_add(1, Ordering::Relaxed);
            if number >= pieces || stopped.load(Ordering::Relaxed) {
                return out;
            }
            let found = if go_on() { piece(number, go_on) } else { None };
            let Some(found) = found else {
                stopped.store(true, Ordering::Relaxed);
                return out;
            };
            out.push((number, found));
            done.fetch_add(1, Ordering::Relaxed);
        }
    };
    let of_others = Mutex::new(Vec::new());
    let help = |seat: Seat| {
        let found = work(&mut || !stopped.load(Ordering::Relaxed));
        let all = of_others.lock();
        all.unwrap_or_else(PoisonError::into_inner).extend(found);
        drop(seat);
    };
    let mut own = || work(&mut || go_on(done.load(Ordering::Relaxed)));
    let mut found = match HELPERS.as_ref().filter(|_| pieces > 1) {
        None => own(),
        Some(pool) => pool.in_place_scope(|scope| {
            for seat in (1..pieces).map_while(|_| Seat::taken()) {
                let help = &help;
                scope.spawn(move |_| help(seat));
            }
            own()
        }),
    };
    let of_others = of_others.into_inner();
    found.extend(of_others.unwrap_or_else(PoisonError::into_inner));
    if stopped.into_inner() {
        return None;
    }
    go_on(pieces);
    found.sort_unstable_by_key(|(number, _)| *number);
    Some(found.into_iter().map(|(_, found)| found).collect())
}
