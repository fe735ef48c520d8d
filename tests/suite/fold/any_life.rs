//! Laws of the accounting, held against lives of batches drawn at random.

use crate::fold::lives::{accounts_of, accounts_shuffled, date, entry, life};
use proptest::prelude::*;
use struck::fold::batch::Milestone;
use struck::fold::intervals::{Account, IntervalStatus};
use struck::model::entry::Entry;

/// What may be written of a batch, in no order that makes sense; the fold clamps what cannot be.
fn act() -> impl Strategy<Value = String> {
    let n = || 0..12u32;
    prop_oneof![
        4 => (n(), n(), n(), n()).prop_map(|(c, r, b, l)| format!(
            "look callused={c} rooted={r} bottom={b} lost.mould={l}"
        )),
        2 => (1..20u32, n(), n()).prop_map(|(s, c, r)| format!("look seen={s} callused={c} rooted={r}")),
        1 => (n(), 0..3u32).prop_map(|(r, l)| format!("look how=tug rooted={r} lost.wilted={l}")),
        1 => n().prop_map(|b| format!("look how=under bottom={b}")),
        1 => (1..6u32).prop_map(|l| format!("look how=glance lost.unknown={l}")),
        1 => Just("look about.rooted=half".to_owned()),
        2 => n().prop_map(|p| format!("pot count={p}")),
        1 => n().prop_map(|p| format!("ready count={p} from=bench")),
        1 => (n(), 0..5usize).prop_map(|(d, why)| {
            let why = ["", "why=surplus", "why=given-up", "why=restuck", "why=eaten"][why];
            format!("discard count={d} {why}")
        }),
    ]
}

/// A batch and up to two parts of it, each with acts on days.
pub fn entries() -> impl Strategy<Value = Vec<Entry>> {
    let acts = prop::collection::vec((0..40u64, 0..3usize, act()), 0..14);
    let splits = prop::collection::vec((0..40u64, 1..20u32), 0..3);
    (1..60u32, acts, splits).prop_map(|(stuck, acts, splits)| {
        let mut told: Vec<(u64, String)> = Vec::new();
        let codes = ["A", "P1", "P2"];
        for (at, (day, count)) in splits.iter().enumerate() {
            // The second part is split from the first.
            let (from, into) = (codes[at], codes[at + 1]);
            told.push((
                *day,
                format!("move batch={from} count={count} into={into} place=frame"),
            ));
        }
        for (day, code, act) in acts {
            let code = codes[code.min(splits.len())];
            let (kind, rest) = act.split_once(' ').unwrap();
            told.push((day, format!("{kind} batch={code} {rest}")));
        }
        let told: Vec<(u64, &str)> = told
            .iter()
            .map(|(day, text)| (*day, text.as_str()))
            .collect();
        life(stuck, &told)
    })
}

fn weights(account: &Account, milestone: Milestone, status: IntervalStatus) -> f64 {
    let pieces = account.milestone(milestone).pieces.iter();
    pieces
        .filter(|p| p.status == status)
        .map(|p| p.weight)
        .sum()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}

/// Acts on days of their own that lead to a closed batch, and whether each is a look that counts nothing exactly.
fn closed_life() -> impl Strategy<Value = (u32, Vec<(u64, String, bool)>)> {
    let n = || 0..12u32;
    let act = prop_oneof![
        3 => (n(), n(), 0..4u32).prop_map(|(c, r, l)| (format!("look callused={c} rooted={r} lost.mould={l}"), false)),
        3 => (0..4u32, 0..4u32).prop_map(|(c, r)| (format!("look seen=3 callused={c} rooted={r}"), true)),
        2 => Just(("look about.rooted=most".to_owned(), true)),
        1 => Just(("look about.rooted=half about.callused=few".to_owned(), true)),
        2 => n().prop_map(|p| (format!("pot count={p}"), false)),
        1 => (1..4u32).prop_map(|l| (format!("look how=glance lost.wilted={l}"), false)),
    ];
    let acts = prop::collection::vec(act, 0..12);
    (20..60u32, acts, n()).prop_map(|(stuck, acts, potted)| {
        let mut out: Vec<(u64, String, bool)> = acts
            .into_iter()
            .zip(1..)
            .map(|((text, inexact), day)| (day, text, inexact))
            .collect();
        out.push((50, format!("pot count={potted}"), false));
        out.push((60, "discard count=60 why=given-up".to_owned(), false));
        (stuck, out)
    })
}

/// Every whole life of cuttings that reach milestones and die on true days, seen by lifts.
fn seen_on(days: &[u64], cuttings: &[(u64, u64, u64)]) -> Vec<Entry> {
    let mut out = vec![entry(
        "000",
        0,
        &format!("stick batch=A taxon=Weigela stuck={}", cuttings.len()),
    )];
    let mut before = 0;
    for &day in days {
        let alive: Vec<_> = cuttings
            .iter()
            .filter(|(_, _, death)| *death > day)
            .collect();
        let lost = cuttings
            .iter()
            .filter(|(_, _, death)| (before + 1..=day).contains(death));
        let rooted = alive.iter().filter(|(_, root, _)| *root <= day).count();
        let callused = alive
            .iter()
            .filter(|(callus, root, _)| *callus <= day && *root > day);
        let text = format!(
            "look batch=A callused={} rooted={rooted} lost.mould={}",
            callused.count(),
            lost.count()
        );
        out.push(entry(&format!("{day:03}"), day, &text));
        before = day;
    }
    out
}

/// How many cuttings ended by the day, and the days of doubt about them in all.
fn doubt(account: &Account, milestone: Milestone) -> f64 {
    let pieces = account.milestone(milestone).pieces.iter();
    pieces
        .filter_map(|p| Some(p.weight * f64::from(p.right? - p.left)))
        .sum()
}

/// A loss that must have callused, since two have roots, did so after the last whole count before its death.
#[test]
fn a_loss_taken_for_callused_came_after_the_last_whole_count() {
    let cuttings = [(31, 48, 60), (1, 1, 31)];
    let account = accounts_of(&seen_on(&[30, 45, 48], &cuttings), None)
        .remove(0)
        .1;
    let pieces = &account.milestone(Milestone::Callus).pieces;
    let days: Vec<_> = pieces
        .iter()
        .map(|it| (it.left, it.right, it.weight))
        .collect();
    assert_eq!(days, [(0, Some(30), 1.0), (30, Some(45), 1.0)]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn weights_sum_to_the_cuttings(entries in entries()) {
        let accounts = accounts_of(&entries, None);
        let stuck: u32 = accounts.iter().map(|(_, account)| account.stuck).sum();
        let said = entries.iter().find_map(|e| match &e.kind {
            struck::model::entry::Kind::Stick(it) => Some(it.stuck),
            _ => None,
        });
        prop_assert_eq!(Some(stuck), said);
        for (code, account) in &accounts {
            for milestone in Milestone::ALL {
                let it = account.milestone(milestone);
                let sum: f64 = it.pieces.iter().map(|p| p.weight).sum();
                prop_assert!(close(sum, f64::from(account.stuck)), "{code} {milestone:?} {it:?}");
                for piece in &it.pieces {
                    prop_assert!(piece.weight > 0.0 && piece.right.is_none_or(|r| r > piece.left));
                    prop_assert_eq!(piece.right.is_none(), piece.status == IntervalStatus::NotYet);
                }
                prop_assert!(close(it.reached, weights(account, milestone, IntervalStatus::Reached)));
                prop_assert!(it.watched <= f64::from(account.remain) + 1e-6);
                prop_assert!(it.counted >= 0.0 && it.counted <= f64::from(account.stuck) + 1e-6);
            }
        }
    }

    #[test]
    fn callus_is_never_behind_root_nor_root_behind_bottom(entries in entries()) {
        for (code, account) in accounts_of(&entries, None) {
            let [callus, root, bottom] = Milestone::ALL.map(|milestone| account.milestone(milestone));
            for (earlier, later) in [(callus, root), (root, bottom)] {
                if earlier.examined {
                    prop_assert!(earlier.reached >= later.reached - 1e-6, "{code} {earlier:?} {later:?}");
                }
            }
        }
    }

    #[test]
    fn samples_and_guesses_move_no_account_of_a_closed_batch((stuck, acts) in closed_life()) {
        // With three or fewer left a sample of three is a look at all, and is cut to what there is.
        let told = |all: bool| -> Vec<(u64, &str)> {
            let kept = acts.iter().filter(|(_, _, inexact)| all || !inexact);
            kept.map(|(day, text, _)| (*day, text.as_str())).collect()
        };
        let book = crate::fold::lives::book_of(&life(stuck, &told(true)));
        let inspections = &book.batches()[0].inspections;
        prop_assume!(inspections.iter().all(|it| it.tally.is_none_or(|tally| {
            tally.seen > 3 || it.remain_at_tally > 3
        })));
        let account = |all: bool| accounts_of(&life(stuck, &told(all)), None).remove(0).1;
        let (all, exact) = (account(true), account(false));
        prop_assert!(all.is_closed());
        for milestone in [Milestone::Callus, Milestone::Root] {
            prop_assert!(close(all.milestone(milestone).reached, exact.milestone(milestone).reached), "{:?} {:?}", all, exact);
            let lost = |it: &Account| weights(it, milestone, IntervalStatus::Lost);
            prop_assert!(close(lost(&all), lost(&exact)));
        }
    }

    #[test]
    fn the_order_of_batches_does_not_matter(entries in entries(), seed in any::<u64>()) {
        prop_assert_eq!(accounts_of(&entries, None), accounts_shuffled(&entries, seed));
    }

    #[test]
    fn as_of_a_day_is_as_if_nothing_later_was_written(entries in entries(), day in 0..40u64) {
        let early: Vec<Entry> = entries.iter().filter(|e| e.at.day() <= date(day)).cloned().collect();
        let mut cut = accounts_of(&entries, Some(date(day)));
        cut.retain(|(_, account)| account.stuck > 0);
        let mut known = accounts_of(&early, None);
        known.retain(|(_, account)| account.stuck > 0);
        prop_assert_eq!(cut, known);
    }

    #[test]
    fn more_looks_never_widen(
        cuttings in prop::collection::vec((1..40u64, 1..60u64, 1..120u64), 1..40),
        looks in prop::collection::btree_set(1..60u64, 2..8),
    ) {
        // What a cutting does after its death is not done.
        let days: Vec<u64> = looks.into_iter().collect();
        let last = *days.last().unwrap();
        let fewer: Vec<u64> = days.iter().copied().filter(|d| d % 2 == 0 || *d == last).collect();
        let account = |days: &[u64]| accounts_of(&seen_on(days, &cuttings), None).remove(0).1;
        let (many, few) = (account(&days), account(&fewer));
        for milestone in [Milestone::Callus, Milestone::Root] {
            prop_assert!(doubt(&many, milestone) <= doubt(&few, milestone) + 1e-9);
            // What was seen once was there: more looks see at least as many.
            prop_assert!(many.milestone(milestone).reached >= few.milestone(milestone).reached - 1e-9);
            let ended = |it: &Account| f64::from(it.stuck) - weights(it, milestone, IntervalStatus::NotYet);
            prop_assert!(close(ended(&many), ended(&few)));
            // Never more than in truth.
            let truth = cuttings.iter().filter(|(callus, root, death)| {
                let day = if milestone == Milestone::Root { *root } else { *callus.min(root) };
                day <= last && day < *death
            });
            prop_assert!(many.milestone(milestone).reached <= truth.count() as f64 + 1e-9);
        }
    }
}
