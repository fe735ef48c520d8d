//! Work shared out among the cores comes back in order, and stops when told.

use std::sync::atomic::{AtomicUsize, Ordering};
use struck::stats::workers::{map, share_out};

#[test]
fn pieces_come_back_in_their_order() {
    let found = share_out(500, &mut |_| true, |at, _| Some(at * at));
    assert_eq!(found, Some((0..500).map(|at| at * at).collect()));
    assert_eq!(map(1_000, |at| at + 1), (1..=1_000).collect::<Vec<_>>());
    assert_eq!(map(0, |at| at), Vec::<usize>::new());
}

#[test]
fn it_stops_between_pieces_and_within_one() {
    let begun = AtomicUsize::new(0);
    let between = share_out(10_000, &mut |_| false, |at, _| {
        begun.fetch_add(1, Ordering::Relaxed);
        std::thread::sleep(std::time::Duration::from_millis(1));
        Some(at)
    });
    assert_eq!(between, None);
    assert!(begun.into_inner() < 10_000);
    let mut asked = 0;
    let within = share_out(
        1,
        &mut |_| {
            asked += 1;
            asked < 5
        },
        |_, go_on| (0..100).all(|_| go_on()).then_some(()),
    );
    assert_eq!(within, None);
    let given_up = share_out(100, &mut |_| true, |at, _| (at != 50).then_some(at));
    assert_eq!(given_up, None);
}
