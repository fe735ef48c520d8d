//! The accounting of looks: small lives of batches, their intervals worked by hand.
//!
//! Notation of the expected lines, in days since sticking: `reached (10,20] 6` six cuttings got
//! there after day 10 and by day 20; `lost (…]` were lost first; `not yet 20 18` eighteen had not
//! by day 20.

use crate::fold::lives::{accounts_of, book_of, life};
use struck::fold::batch::Milestone;
use struck::fold::batch::Milestone::{Bottom, Callus, Root};
use struck::fold::intervals::{Account, IntervalStatus};

/// A milestone's pieces as text, six decimals at most.
fn told(account: &Account, milestone: Milestone) -> String {
    let pieces = account.milestone(milestone).pieces.iter().map(|piece| {
        let weight = (piece.weight * 1e6).round() / 1e6;
        match (piece.status, piece.right) {
            (IntervalStatus::NotYet, _) => format!("not yet {} {weight}", piece.left),
            (status, right) => format!(
                "{} ({},{}] {weight}",
                status.word(),
                piece.left,
                right.unwrap()
            ),
        }
    });
    pieces.collect::<Vec<_>>().join("; ")
}

/// The account of one batch without parts.
fn account(stuck: u32, entries: &[(u64, &str)]) -> Account {
    accounts_of(&life(stuck, entries), None).remove(0).1
}

/// Where roots went backwards at looks at batch A: day, milestone, how many there should be, how many were seen.
fn falls(stuck: u32, entries: &[(u64, &str)]) -> Vec<(u32, Milestone, u32, u32)> {
    let book = book_of(&life(stuck, entries));
    let looks = book.batches()[0].inspections.iter();
    looks
        .flat_map(|look| {
            let each = look.falls.iter().filter(|fall| fall.milestone == Root);
            each.map(|fall| (look.age, fall.milestone, fall.expected, fall.seen))
        })
        .collect()
}

#[test]
fn a_look_says_what_came_since_the_last_one() {
    // None on day 10, 6 of 24 on day 20: the 6 came in between, 18 wait from day 20 on.
    let it = account(24, &[(10, "look how=lift"), (20, "look rooted=6")]);
    assert_eq!(told(&it, Root), "reached (10,20] 6; not yet 20 18");
    // Rooted are callused too; roots at the bottom were looked for and not found.
    assert_eq!(told(&it, Callus), "reached (10,20] 6; not yet 20 18");
    assert_eq!(told(&it, Bottom), "not yet 20 24");
    assert!(!it.is_closed());
    assert_eq!(it.milestone(Root).counted, 24.0);
}

#[test]
fn a_milestone_not_examined_says_nothing() {
    // A tug feels roots only; a look under the pots sees the bottom only.
    let it = account(
        24,
        &[
            (20, "look how=tug rooted=6"),
            (30, "look how=under bottom=2"),
        ],
    );
    assert_eq!(told(&it, Callus), "not yet 0 24");
    assert_eq!(told(&it, Root), "reached (0,20] 6; not yet 20 18");
    assert_eq!(told(&it, Bottom), "reached (0,30] 2; not yet 30 22");
    assert!(!it.milestone(Callus).examined);
    assert!(it.milestone(Root).examined);
}

#[test]
fn losses_before_any_root_are_lost_first() {
    // E = 0, so d = min(3, max(0, 0 − 6)) = 0: all three lost first, between the looks around.
    let it = account(
        24,
        &[
            (10, "look how=lift"),
            (14, "look how=glance lost.mould=3"),
            (20, "look rooted=6"),
        ],
    );
    assert_eq!(
        told(&it, Root),
        "reached (10,20] 6; lost (10,14] 3; not yet 20 15"
    );
    assert_eq!(it.lost, 3);
}

#[test]
fn missing_ones_are_taken_from_the_latest_losses() {
    // 10 rooted on day 20; 2 lost by day 25, 3 by day 28; on day 30 7 of 19. 10 − 7 = 3 are
    // missing and 5 were lost: d = 3, all of the latest. 2 lost first in (20,25].
    let looks = |rooted: u32| {
        let last = format!("look rooted={rooted}");
        account(
            24,
            &[
                (20, "look rooted=10"),
                (25, "look how=glance lost.wilted=2"),
                (28, "look how=glance lost.wilted=3"),
                (30, last.as_str()),
            ],
        )
    };
    assert_eq!(
        told(&looks(7), Root),
        "reached (0,20] 10; lost (20,25] 2; not yet 30 12"
    );
    // 6 of 19: d = 4, the three of day 28 and one of day 25.
    assert_eq!(
        told(&looks(6), Root),
        "reached (0,20] 10; lost (20,25] 1; not yet 30 13"
    );
    // 12 of 19: nothing missing, E′ = 12; all five lost first.
    assert_eq!(
        told(&looks(12), Root),
        "reached (0,20] 10; reached (20,30] 2; lost (20,25] 2; lost (25,28] 3; not yet 30 7"
    );
}

#[test]
fn counts_going_backwards_are_told_and_change_nothing() {
    let looks = [(20, "look rooted=10"), (30, "look rooted=8")];
    let it = account(24, &looks);
    assert_eq!(told(&it, Root), "reached (0,20] 10; not yet 30 14");
    assert_eq!(falls(24, &looks), [(30, Root, 10, 8)]);
    // More lost than missing: what is still missing after d is backwards. E = 10, 1 lost, A = 7:
    // d = 1, and 10 − 7 − 1 = 2 too few.
    let looks = [(20, "look rooted=10"), (30, "look rooted=7 lost.mould=1")];
    let it = account(24, &looks);
    assert_eq!(told(&it, Root), "reached (0,20] 10; not yet 30 14");
    assert_eq!(falls(24, &looks), [(30, Root, 9, 7)]);
}

#[test]
fn losses_never_examined_again_take_the_least_advanced_first() {
    // 10 of 24 rooted; 16 lost by day 30: 14 were not rooted, 2 must have been.
    let it = account(
        24,
        &[
            (20, "look rooted=10"),
            (30, "look how=glance lost.winter=16"),
        ],
    );
    assert_eq!(told(&it, Root), "reached (0,20] 10; lost (20,30] 14");
    // The bottom had not been reached by any: all 16 lost first.
    assert_eq!(told(&it, Bottom), "lost (20,30] 16; not yet 20 8");
}

#[test]
fn potted_cuttings_count_as_rooted() {
    // 10 rooted on day 20, 12 potted on day 22: two more in (20,22].
    let it = account(24, &[(20, "look rooted=10"), (22, "pot count=12")]);
    assert_eq!(
        told(&it, Root),
        "reached (0,20] 10; reached (20,22] 2; not yet 20 12"
    );
    assert_eq!(told(&it, Callus), told(&it, Root));
    // For the bottom they are not yet at that day; the rest waits from the look.
    assert_eq!(told(&it, Bottom), "not yet 20 12; not yet 22 12");
    // On the day of the look itself: in the interval of the look.
    let it = account(24, &[(20, "look rooted=10"), (20, "pot count=12")]);
    assert_eq!(told(&it, Root), "reached (0,20] 12; not yet 20 12");
}

#[test]
fn the_furthest_are_potted_first() {
    // 6 at the bottom and 4 rooted of 24; 8 potted: the 6 and two more.
    let it = account(24, &[(30, "look rooted=4 bottom=6"), (30, "pot count=8")]);
    assert_eq!(told(&it, Bottom), "reached (0,30] 6; not yet 30 18");
    assert_eq!(told(&it, Root), "reached (0,30] 10; not yet 30 14");
    // Two rooted are left on the bench; 16 found rooted on day 40 are 14 more.
    let it = account(
        24,
        &[
            (30, "look rooted=4 bottom=6"),
            (30, "pot count=8"),
            (40, "look rooted=16"),
        ],
    );
    assert_eq!(told(&it, Root), "reached (0,30] 10; reached (30,40] 14");
}

#[test]
fn potted_without_any_look_is_rooted_by_that_day() {
    let it = account(24, &[(35, "pot count=20")]);
    assert_eq!(told(&it, Root), "reached (0,35] 20; not yet 0 4");
    assert!(it.milestone(Root).examined && !it.milestone(Bottom).examined);
}

#[test]
fn plants_ready_from_the_bench_count_as_potted() {
    // Three cuttings to a plant: 6 plants are 18 cuttings.
    let mut entries = life(
        24,
        &[(20, "look rooted=15"), (40, "ready count=6 from=bench")],
    );
    entries[0] = crate::fold::lives::entry(
        "A-000",
        0,
        "stick batch=A taxon=Buddleja stuck=24 per_plant=3",
    );
    let it = accounts_of(&entries, None).remove(0).1;
    assert_eq!(
        told(&it, Root),
        "reached (0,20] 15; reached (20,40] 3; not yet 20 6"
    );
}

#[test]
fn clearing_a_failed_batch_is_an_outcome() {
    for why in ["given-up", "restuck", "blackened", "unknown"] {
        let discard = format!("discard count=14 why={why}");
        let it = account(24, &[(20, "look rooted=10"), (40, discard.as_str())]);
        assert_eq!(
            told(&it, Root),
            "reached (0,20] 10; lost (20,40] 14",
            "{why}"
        );
        assert_eq!(it.unexplained, 0);
    }
    // Found dead is lost; given up is not.
    let lost = |why: &str| account(24, &[(20, "look rooted=1"), (40, why)]).lost;
    assert_eq!(lost("discard count=14 why=mould"), 14);
    assert_eq!(lost("discard count=14 why=given-up"), 0);
}

#[test]
fn surplus_and_unexplained_discards_are_not_yet() {
    // 14 of 24 were waiting; of 16 discarded two were rooted.
    for (why, unexplained) in [
        ("why=surplus", 0),
        ("why=unlabelled", 0),
        ("why=accident", 0),
        ("", 16),
    ] {
        let discard = format!("discard count=16 {why}");
        let it = account(24, &[(20, "look rooted=10"), (40, discard.as_str())]);
        assert_eq!(told(&it, Root), "reached (0,20] 10; not yet 40 14", "{why}");
        assert_eq!(it.unexplained, unexplained);
    }
}

#[test]
fn the_day_of_sticking_is_put_in_the_first_day() {
    let it = account(24, &[(0, "look rooted=1 lost.other=2")]);
    assert_eq!(
        told(&it, Root),
        "reached (0,1] 1; lost (0,1] 2; not yet 1 21"
    );
    assert_eq!(it.milestone(Root).at_sticking, 1.0);
    // A day later it is not out of the ordinary.
    assert_eq!(
        account(24, &[(1, "look rooted=1")])
            .milestone(Root)
            .at_sticking,
        0.0
    );
}

#[test]
fn glances_bound_losses_and_nothing_else() {
    let it = account(
        24,
        &[
            (5, "look how=glance"),
            (9, "look how=glance lost.mould=2"),
            (20, "look rooted=4"),
        ],
    );
    assert_eq!(
        told(&it, Root),
        "reached (0,20] 4; lost (5,9] 2; not yet 20 18"
    );
}

#[test]
fn a_days_entries_are_one_inspection() {
    // The last tally stands; losses of the day add up, all since the look of the day before.
    let it = account(
        24,
        &[
            (10, "look how=lift"),
            (20, "look rooted=4 lost.mould=1"),
            (20, "look rooted=6 lost.wilted=2"),
        ],
    );
    assert_eq!(
        told(&it, Root),
        "reached (10,20] 6; lost (10,20] 3; not yet 20 15"
    );
    // Lost after the tally of the same day: 5 of 5 were rooted, so both had been.
    let it = account(
        5,
        &[(20, "look rooted=5"), (20, "look how=glance lost.eaten=2")],
    );
    assert_eq!(told(&it, Root), "reached (0,20] 5");
}

#[test]
fn a_sample_stands_for_the_whole() {
    // 3 of 10 seen, 40 remaining: A = 40 · 3 / 10 = 12.
    let it = account(40, &[(20, "look seen=10 rooted=3")]);
    assert_eq!(told(&it, Root), "reached (0,20] 12; not yet 20 28");
    assert_eq!((it.sampled, it.milestone(Root).counted), (1, 10.0));
    // Losses are never scaled: 4 of 40 lost, 9 of 12 seen of 36 are 27.
    let it = account(40, &[(20, "look seen=12 rooted=9 lost.mould=4")]);
    assert_eq!(
        told(&it, Root),
        "reached (0,20] 27; lost (0,20] 4; not yet 20 9"
    );
    // Seen at the last tally, with those lost.
    assert_eq!(it.milestone(Root).counted, 16.0);
}

#[test]
fn falls_between_samples_are_pooled_by_how_many_were_seen() {
    // Shares 2/10 (8 of 40), then 3/20 (6 of 40): pooled (10 · 8 + 20 · 6) / 30 = 6 2/3 from the
    // first look on. No notice: neither look was whole.
    let looks = [(10, "look seen=10 rooted=2"), (20, "look seen=20 rooted=3")];
    let it = account(40, &looks);
    assert_eq!(
        told(&it, Root),
        "reached (0,10] 6.666667; not yet 20 33.333333"
    );
    assert_eq!(falls(40, &looks), []);
    // A third look of 10 with 4 (16 of 40): a gain of 16 − 6 2/3 in (20,30].
    let it = account(
        40,
        &[
            (10, "look seen=10 rooted=2"),
            (20, "look seen=20 rooted=3"),
            (30, "look seen=10 rooted=4"),
        ],
    );
    assert_eq!(
        told(&it, Root),
        "reached (0,10] 6.666667; reached (20,30] 9.333333; not yet 30 24"
    );
    // A look at all counts exactly: the 8 of the sample cannot have been more than those 4.
    let it = account(40, &[(10, "look seen=10 rooted=2"), (20, "look rooted=4")]);
    assert_eq!(told(&it, Root), "reached (0,10] 4; not yet 20 36");
}

#[test]
fn a_sample_or_a_guess_never_moves_an_exact_count() {
    // 8 of 8 seen are rooted, then all 24 are counted, 12 of them rooted: 12 of 24, and by the day of the sample.
    let it = account(
        24,
        &[
            (14, "look seen=8 rooted=8"),
            (21, "look rooted=12"),
            (28, "pot count=12"),
            (28, "discard count=12 why=given-up"),
        ],
    );
    assert_eq!(told(&it, Root), "reached (0,14] 12; lost (21,28] 12");
    // Most of 60, then half: pooled to 40, as guesses of equal weight; but 46 of 60 were potted, no more and no less.
    let it = account(
        60,
        &[
            (20, "look about.rooted=most"),
            (27, "look about.rooted=half"),
            (34, "pot count=46"),
            (41, "discard count=14 why=restuck"),
        ],
    );
    assert_eq!(
        told(&it, Root),
        "reached (0,20] 40; reached (27,34] 6; lost (27,41] 14"
    );
    // Guesses of more than were potted are cut to what was.
    let it = account(
        60,
        &[
            (20, "look about.rooted=half"),
            (27, "look about.rooted=most"),
            (34, "pot count=46"),
            (41, "discard count=14 why=given-up"),
        ],
    );
    assert_eq!(
        told(&it, Root),
        "reached (0,20] 30; reached (20,27] 16; lost (27,41] 14"
    );
    // Between two exact counts a sample spreads what came: 6, then about 18 of 24, then 12 of 24.
    let it = account(
        24,
        &[
            (10, "look rooted=6"),
            (17, "look seen=8 rooted=6"),
            (24, "look rooted=12"),
        ],
    );
    assert_eq!(
        told(&it, Root),
        "reached (0,10] 6; reached (10,17] 6; not yet 24 12"
    );
}

#[test]
fn a_guess_weighs_like_four_seen() {
    // Most of 40 is 33, then 10 of 20 seen are 20 of 40: (4 · 33 + 20 · 20) / 24 = 22 1/6.
    let it = account(
        40,
        &[
            (10, "look about.rooted=most"),
            (20, "look seen=20 rooted=10"),
        ],
    );
    assert_eq!(
        told(&it, Root),
        "reached (0,10] 22.166667; not yet 20 17.833333"
    );
}

#[test]
fn a_stage_seen_as_not_reached_bounds_all_later_ones() {
    // On day 20 18 of 24 were unrooted, so not at the bottom; of the 10 seen there on day 30 at least 4 came later.
    let it = account(
        24,
        &[
            (20, "look how=tug rooted=6"),
            (30, "look how=under bottom=10"),
        ],
    );
    assert_eq!(
        told(&it, Bottom),
        "reached (0,30] 6; reached (20,30] 4; not yet 30 14"
    );
    // Nobody looked under the pots: 18 had no roots at the bottom on day 20; of the other 6 nobody knows.
    let it = account(24, &[(20, "look how=tug rooted=6")]);
    assert_eq!(told(&it, Bottom), "not yet 0 6; not yet 20 18");
    // Of those seen in part only those seen are bound: 10 of 16.
    let it = account(24, &[(20, "look how=tug seen=16 rooted=6")]);
    assert_eq!(told(&it, Bottom), "not yet 0 14; not yet 20 10");
    // 10 of those held back are lost, so 8 of them are still there at least.
    let it = account(
        24,
        &[
            (20, "look how=tug rooted=6"),
            (25, "look how=glance lost.mould=10"),
        ],
    );
    assert_eq!(
        told(&it, Bottom),
        "lost (20,25] 10; not yet 0 6; not yet 20 8"
    );
}

#[test]
fn what_is_rooted_was_callused() {
    // Callus was examined on day 10, only roots on day 20.
    let it = account(
        24,
        &[(10, "look callused=3"), (20, "look how=tug rooted=12")],
    );
    assert_eq!(
        told(&it, Callus),
        "reached (0,10] 3; reached (10,20] 9; not yet 10 12"
    );
    assert_eq!(told(&it, Root), "reached (10,20] 12; not yet 20 12");
}

#[test]
fn what_is_potted_is_certain_whatever_a_sample_says() {
    // 2 of 10 seen stand for 8 of 40, yet 20 are potted: 12 more in (10,15]. Then 1 of 10 of the
    // 20 left is 2 more in (10,20], since day 15 examined nothing.
    let it = account(
        40,
        &[
            (10, "look seen=10 rooted=2"),
            (15, "pot count=20"),
            (20, "look seen=10 rooted=1"),
        ],
    );
    assert_eq!(
        told(&it, Root),
        "reached (0,10] 8; reached (10,15] 12; reached (10,20] 2; not yet 20 18"
    );
    assert_eq!(it.milestone(Root).counted, 30.0);
}

#[test]
fn guesses_are_read_through_their_bands_and_counted() {
    // Half of 24 is 12.
    let it = account(24, &[(20, "look about.rooted=half")]);
    assert_eq!(told(&it, Root), "reached (0,20] 12; not yet 20 12");
    assert_eq!(it.guesses, 1);
    // A guess may fall without notice.
    let looks = [
        (20, "look about.rooted=most"),
        (30, "look about.rooted=half"),
    ];
    assert_eq!(falls(24, &looks), []);
}

#[test]
fn a_part_takes_its_share_of_what_was_reached() {
    let entries = life(
        40,
        &[
            (20, "look rooted=10"),
            (21, "move count=20 into=P place=frame"),
            (30, "look batch=P rooted=12"),
            (40, "look rooted=9"),
        ],
    );
    let accounts = accounts_of(&entries, None);
    // 10 of 40 rooted: of 20 moved 5, who rooted in (0,20] like the 5 that stayed.
    let (_, parent) = accounts.iter().find(|(code, _)| code == "A").unwrap();
    let (_, part) = accounts.iter().find(|(code, _)| code == "P").unwrap();
    assert_eq!(
        told(parent, Root),
        "reached (0,20] 5; reached (20,40] 4; not yet 40 11"
    );
    // The part's clock is its parent's, and so is its last look.
    assert_eq!(
        told(part, Root),
        "reached (0,20] 5; reached (20,30] 7; not yet 30 8"
    );
    assert_eq!((parent.stuck, part.stuck), (20, 20));
}

#[test]
fn a_part_waits_from_its_parents_last_look() {
    let entries = life(
        40,
        &[
            (10, "look how=lift"),
            (15, "look how=glance lost.mould=4"),
            (16, "move count=12 into=P cover=open"),
            (22, "look batch=P how=glance lost.wilted=2"),
        ],
    );
    let accounts = accounts_of(&entries, None);
    // The loss of day 15 stays with the parent.
    assert_eq!(told(&accounts[0].1, Root), "lost (10,15] 4; not yet 10 24");
    assert_eq!(told(&accounts[1].1, Root), "lost (15,22] 2; not yet 10 10");
}

#[test]
fn a_batch_seen_as_of_a_day_knows_nothing_later() {
    let entries = life(
        24,
        &[
            (20, "look rooted=6"),
            (30, "look rooted=12"),
            (31, "move count=4 into=P place=x"),
        ],
    );
    let early = accounts_of(&entries, Some(crate::fold::lives::date(25)));
    assert_eq!(told(&early[0].1, Root), "reached (0,20] 6; not yet 20 18");
    assert_eq!((early[0].1.stuck, early[1].1.stuck), (24, 0));
    assert!(early[1].1.milestone(Root).pieces.is_empty());
}

#[test]
fn what_happens_by_a_day_can_be_asked() {
    let it = account(24, &[(20, "look rooted=6"), (30, "look rooted=12")]);
    assert_eq!(it.milestone(Root).reached_by(20), 6.0);
    assert_eq!(it.milestone(Root).reached_by(29), 6.0);
    assert_eq!(it.milestone(Root).reached_by(30), 12.0);
    assert_eq!(it.milestone(Root).not_followed_to(30), 0.0);
    assert_eq!(it.milestone(Root).not_followed_to(31), 12.0);
}
