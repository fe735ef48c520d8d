//! A link that drops: at every key of an entry, and without anyone telling the program.

use super::pty::{Home, Session, time_used, wait_doing};
use std::time::{Duration, Instant};

/// An entry of thirty keys.
const ENTRY: &str = "24 Weigela florida 'Alba', tip";

/// A link dropped after so many keys of the entry, and what the next sitting makes of it.
fn dropped_at(keys: usize) {
    let typed: String = ENTRY.chars().take(keys).collect();
    let home = Home::new();
    home.command(&["add", super::STICK]);
    let mut session = home.open();
    session.wait("001 Weigela florida");
    session.types("s", "Stick 26-002");
    session.types(&typed, &format!("\n> {}", typed.trim_end()));
    assert_eq!(session.hang_up(), 129, "{typed}");
    assert_eq!(home.lines().len(), 1, "half an entry was saved: {typed}");
    let mut again = home.open();
    again.wait(&format!("Left unfinished: stick: {}. z goes", typed.trim()));
    again.types("z", &format!("\n> {}", typed.trim()));
    // The next sitting goes on where this one broke off; a space at the very end may be lost.
    let rest = &ENTRY[typed.trim().len()..];
    again.types(&format!("{rest}\n"), "Saved: 24 Weigela florida");
    assert_eq!(home.lines().len(), 2, "{typed}");
    again.keys("q");
    assert_eq!(again.end(), (0, true), "{typed}");
}

#[test]
fn a_link_dropped_at_any_key_of_an_entry_keeps_all_keys_before() {
    assert_eq!(ENTRY.chars().count(), 30);
    let half = |odd: usize| move || (1..=30).filter(|n| n % 2 == odd).for_each(dropped_at);
    std::thread::scope(|scope| {
        let other = scope.spawn(half(0));
        half(1)();
        other.join().unwrap();
    });
}

/// How long a program goes on without its terminal, and the processor time that it takes for it.
fn goes_on(session: Session) -> (Duration, Duration) {
    let process = session.process();
    let before = time_used(process);
    let begun = Instant::now();
    let mut child = session.drop_link();
    wait_doing(process, "Z");
    let (long, used) = (begun.elapsed(), time_used(process) - before);
    assert_eq!(child.wait().unwrap().exit_code(), 129);
    (long, Duration::from_millis(10 * used))
}

/// Ways to lose the terminal without hearing of it: in a session that does not own it, and under a shell
/// that lets no hang-up pass.
#[test]
fn a_link_dropped_without_a_word_ends_the_program_soon_and_quietly() {
    for deaf in [false, true] {
        let mut quickest = Duration::MAX;
        for _ in 0..3 {
            let home = Home::new();
            home.command(&["add", super::STICK]);
            let mut session = if deaf {
                let command = format!("trap '' HUP; exec {}", super::pty::PROGRAM);
                Session::begin((80, 24), home.builder("sh", &["-c", &command]))
            } else {
                home.open_sized((80, 24), false)
            };
            session.wait("Weigela florida");
            session.types("\n7", "nothing yet 17 of 24");
            let (long, used) = goes_on(session);
            home.open().wait("Left unfinished: look 26-001: 7");
            // However busy the machine, it never spins and never hangs.
            assert!(
                used < Duration::from_millis(100) && long < Duration::from_secs(10),
                "deaf {deaf}: went on for {long:?}, and used {used:?}"
            );
            quickest = quickest.min(long);
        }
        // Other work may hold one up, not each time.
        assert!(
            quickest < Duration::from_secs(1),
            "deaf {deaf}: went on for {quickest:?}"
        );
    }
}
