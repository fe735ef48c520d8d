//! Plans: the fewest that reach the assurance, kept a thousand times over; the last day; what is in hand; the room.

use super::forecasts::history;
use crate::fold::lives::{book_of, date, entry};
use struck::analysis::expect::Model;
use struck::analysis::expect::ladder::Rung;
use struck::analysis::plan::{Plan, Plans, PlantsWanted, plans, targets};
use struck::fold::Book;
use struck::model::entry::Entry;
use struck::model::taxon::Taxon;
use struck::stats::dice::Dice;

/// History of seven batches on a bench with room, some of it made ready.
fn history_and_room() -> Vec<Entry> {
    let mut out = history(7, 32);
    for n in 0..7_u32 {
        out.push(entry(
            &format!("0{n:03}8"),
            u64::from(10 * n + 90),
            &format!("ready batch=H{n} count={}", 26 + n),
        ));
    }
    out.push(entry("0000", 0, "place place=bench trays=3"));
    out
}

fn wanted(plants: u32, by: u64) -> PlantsWanted {
    PlantsWanted {
        taxon: Taxon::parse("Weigela florida"),
        wood: None,
        plants,
        by: date(by),
        assurance: 0.9,
        target: None,
    }
}

fn planned(book: &Book, on: u64, wanted: &[PlantsWanted]) -> (Model, Plans) {
    let model = Model::learn(book, date(on), &[]);
    let plans = plans(book, &model, wanted, None, &mut |_, _| true).unwrap();
    (model, plans)
}

fn only(plans: Plans) -> Plan {
    let [plan] = <[Plan; 1]>::try_from(plans.plans).unwrap();
    plan
}

#[test]
fn the_first_plants_made_ready_do_not_stand_for_those_that_still_grow_on() {
    let ready = |count: u32, on: u64| {
        let mut entries = history(1, 32);
        entries.push(entry("00008", 90, &format!("ready batch=H0 count={count}")));
        entries.push(entry("00009", 0, "place place=bench trays=3"));
        only(planned(&book_of(&entries), on, &[wanted(60, 900)]).1).rung
    };
    assert_eq!(ready(5, 100), Rung::Potted);
    assert_eq!(ready(25, 100), Rung::Potted);
    assert_eq!(ready(32, 100), Rung::Ready);
    // Of a batch that nothing was heard of for half a year no more is to come.
    assert_eq!(ready(5, 90 + 180), Rung::Ready);
}

#[test]
fn the_fewest_meet_the_assurance_a_thousand_times_over() {
    let book = book_of(&history_and_room());
    let (model, found) = planned(&book, 170, &[wanted(60, 700)]);
    let plan = only(found);
    assert_eq!(plan.rung, Rung::Ready);
    let offer = &plan.offers[0];
    // Seven batches of which 65 to 80 % became plants: somewhat more than 60 / 0.72.
    assert!((84..=150).contains(&offer.stick), "{}", offer.stick);
    assert!(
        offer.chance >= 0.9 && offer.chance < 0.93,
        "{}",
        offer.chance
    );
    assert!(
        offer
            .fewer
            .iter()
            .all(|f| f.chance < 0.9 && f.cuttings < offer.stick)
    );
    let ladder = model.ladder(&plan.wanted.taxon, offer.wood, None);
    assert!((ladder.mean() - 0.72).abs() < 0.06, "{}", ladder.mean());
    let mut dice = Dice::new(1000);
    let mut met = 0;
    for _ in 0..1000 {
        let mut unit = dice.unit();
        let point = ladder.points.iter().find(|(weight, _)| {
            unit -= weight;
            unit < 0.0
        });
        let (_, kind) = point.unwrap_or(&ladder.points[0]);
        let plants: usize = offer
            .batches
            .iter()
            .map(|&n| kind.counts(n).draw(dice.unit()))
            .sum();
        met += u32::from(plants >= 60);
    }
    let error = (0.9_f64 * 0.1 / 1000.0).sqrt();
    assert!(
        f64::from(met) / 1000.0 > offer.chance - 3.0 * error,
        "{met}"
    );
    assert!(
        f64::from(met) / 1000.0 < offer.chance + 3.0 * error,
        "{met}"
    );
}

#[test]
fn the_last_day_leaves_time_and_suits_the_wood() {
    let book = book_of(&history_and_room());
    // Stuck from 1 June (day 0) to 31 July (day 60); plants are ready about 90 days later.
    let (_, found) = planned(&book, 165, &[wanted(20, 600)]);
    let offer = only(found).offers.remove(0);
    assert!(
        (offer.days.middle - 90.0).abs() < 12.0 && offer.days.assured > offer.days.middle,
        "{:?}",
        offer.days
    );
    let window = offer.window.unwrap();
    assert_eq!((window.batches, window.own), (7, true));
    assert_eq!((offer.latest, offer.instead), (Some(date(60 + 365)), None));
    // By a day that leaves no time there is no last day, but one when they would be there.
    let (_, found) = planned(&book, 165, &[wanted(20, 300)]);
    let offer = only(found).offers.remove(0);
    assert_eq!(offer.latest, None);
    assert!(
        offer.instead.unwrap() > date(365 + 80),
        "{:?}",
        offer.instead
    );
}

#[test]
fn what_is_in_hand_counts_towards_the_target() {
    let mut entries = history_and_room();
    entries.push(entry(
        "8000",
        150,
        "target taxon=Weigela_florida count=20 by_date=2027-05-01",
    ));
    entries.push(entry(
        "8001",
        151,
        "target taxon=Weigela_florida count=300 by_date=2027-12-01",
    ));
    entries.push(entry(
        "8100",
        160,
        "stick batch=N taxon=Weigela_florida stuck=60 wood=softwood place=bench per_container=20",
    ));
    let book = book_of(&entries);
    let asked = targets(&book, date(165), 0.9);
    assert_eq!(asked.len(), 2);
    let (_, found) = planned(&book, 165, &asked);
    let [first, second] = <[Plan; 2]>::try_from(found.plans).unwrap();
    assert_eq!(first.hand.batches.len(), 1);
    assert!(
        (first.hand.plants.mean() - 43.0).abs() < 6.0,
        "{}",
        first.hand.plants.mean()
    );
    assert!(
        first.hand.chance > 0.9 && first.offers.iter().all(|o| o.stick == 0),
        "{first:?}"
    );
    // The batch is not counted twice, and the large target takes more than the room.
    assert!(second.hand.batches.is_empty());
    assert!(second.offers[0].stick > 300);
    let (room, needed) = (&found.rooms[0].room, &found.rooms[0].asked);
    assert_eq!((room.trays, room.taken, room.free()), (3, 3, 0));
    assert!(*needed > 3);
    // Targets are not seen before they were set.
    assert_eq!(targets(&book, date(150), 0.9).len(), 1);
}

#[test]
fn without_history_a_plan_says_to_which_rung_it_goes() {
    let book = book_of(&[]);
    let (_, found) = planned(&book, 0, &[wanted(10, 200)]);
    let plan = only(found);
    assert_eq!(plan.rung, Rung::Rooted);
    // Any share is possible: many times the plants are asked for.
    let offer = &plan.offers[0];
    assert!(offer.stick >= 60 && offer.told == 0, "{}", offer.stick);
}

/// Plants made ready stay plants, however long nothing more is written of their batch.
#[test]
fn plants_ready_long_ago_still_count() {
    let mut entries = history_and_room();
    entries.extend([
        entry(
            "T000",
            175,
            "target taxon=Weigela_florida count=20 by_date=2027-12-31",
        ),
        entry(
            "T001",
            180,
            "stick batch=T taxon=Weigela_florida stuck=40 wood=softwood place=bench",
        ),
        entry("T002", 220, "look batch=T rooted=30"),
        entry("T003", 221, "pot batch=T count=30"),
        entry("T004", 222, "discard batch=T count=10 reason=given-up"),
        entry("T005", 260, "ready batch=T count=25"),
    ]);
    let book = book_of(&entries);
    let wanted = targets(&book, date(500), 0.9);
    let (_, found) = planned(&book, 500, &wanted);
    let plan = only(found);
    assert_eq!(plan.hand.ready, 25, "{:?}", plan.hand);
    assert!(plan.hand.chance > 0.99);
}

/// A stage that cannot reach the assurance never stands before one that can.
#[test]
fn what_cannot_do_stands_last() {
    let book = book_of(&history_and_room());
    let (_, found) = planned(&book, 170, &[wanted(19_999, 700)]);
    let plan = only(found);
    assert!(!plan.offers.is_empty());
    assert!(plan.offers[0].batches.is_empty(), "{:?}", plan.offers[0]);
    assert!(plan.offers[0].chance < 0.9);
}
