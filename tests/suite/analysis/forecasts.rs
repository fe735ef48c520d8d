//! Forecasts: what is certain stays certain, evidence counts the right way, little history is wide, days are kept.

use crate::fold::lives::{book_of, date, entry};
use struck::analysis::expect::{DayForecast, Forecast, Model};
use struck::analysis::forecast::forecasts;
use struck::fold::Book;
use struck::model::entry::Entry;

/// A season of closed batches of one taxon: about `rooted` of 40 each, half of them by about day 24, some batches
/// earlier and some later; half of the others callus.
pub fn history(batches: u32, rooted: u32) -> Vec<Entry> {
    season('H', "taxon=Weigela_florida wood=softwood", batches, rooted)
}

/// The same of that kind; `letter` begins the codes.
fn season(letter: char, kind: &str, batches: u32, rooted: u32) -> Vec<Entry> {
    let mut out = Vec::new();
    for n in 0..batches {
        let (late, rooted) = (2 * (n % 3), rooted + n % 3 - 1);
        let idle = (40 - rooted) / 2;
        let steps = [
            (0, format!("stick {kind} stuck=40 place=p{letter}{n}")),
            (12, format!("look callused={}", rooted - rooted / 4 + idle)),
            (
                19,
                format!("look rooted={} callused={}", rooted / 4, rooted / 2 + idle),
            ),
            (
                26,
                format!("look rooted={} callused={}", rooted - 6, 6 + idle),
            ),
            (
                36,
                format!("look rooted=4 bottom={} callused={idle}", rooted - 4),
            ),
            (38, format!("pot count={rooted}")),
            (38, format!("discard count={} why=given-up", 40 - rooted)),
        ];
        for (step, (day, text)) in steps.iter().enumerate() {
            let late = if *day > 0 { late } else { 0 };
            let at = u64::from(10 * n + day + late);
            out.push(entry(
                &format!("{}{n:03}{step}", u32::from(letter != 'H')),
                at,
                &format!("{text} batch={letter}{n}"),
            ));
        }
    }
    out
}

/// An open batch stuck on day 200, with one look.
fn open(look: &str) -> Vec<Entry> {
    let mut out = vec![entry(
        "9000a",
        200,
        "stick batch=O taxon=Weigela_florida stuck=40 wood=softwood",
    )];
    if !look.is_empty() {
        out.push(entry("9000b", 230, &format!("look batch=O {look}")));
    }
    out
}

fn forecast(book: &Book, day: u64) -> Forecast {
    let model = Model::learn(book, date(day), &[]);
    let batch = book.by_code("O").next().unwrap();
    model.forecast(batch).unwrap()
}

fn with(look: &str) -> Forecast {
    let entries: Vec<Entry> = history(6, 32).into_iter().chain(open(look)).collect();
    forecast(&book_of(&entries), 231)
}

#[test]
fn what_was_counted_stands_and_no_more_than_waits_can_come() {
    let now = with("rooted=20 callused=4 lost.mould=6");
    assert_eq!((now.rooted, now.waiting), (20.0, 14.0));
    assert_eq!(now.count.at_most(19), 0.0);
    assert!((now.count.at_most(34) - 1.0).abs() < 1e-12 && now.count.most() == 34);
    let done = with("rooted=34 lost.mould=6");
    assert_eq!((done.middle(), done.count_range(0.8)), (34, (34, 34)));
}

/// After softwood alone, the first semi-ripe cuttings of a new taxon are foretold later, and less surely, than its softwood
/// would be; less so where the journal's semi-ripe wood rooted as soon as its softwood.
#[test]
fn the_first_semi_ripe_cuttings_are_foretold_later_than_softwood() {
    let foretold = |wood: &str, others: &[Entry]| {
        let stick = format!("stick batch=O taxon=Viburnum_tinus stuck=40 wood={wood}");
        let mut entries: Vec<Entry> = history(6, 32);
        entries.extend_from_slice(others);
        entries.push(entry("9000a", 200, &stick));
        forecast(&book_of(&entries), 201).half.unwrap()
    };
    let [soft, semi] = ["softwood", "semi-ripe"].map(|wood| foretold(wood, &[]));
    assert!(semi.middle > 1.15 * soft.middle, "{semi:?} {soft:?}");
    let wide = |when: &DayForecast| when.wide.high / when.wide.low;
    assert!(wide(&semi) > wide(&soft), "{semi:?} {soft:?}");
    let alike = season('E', "taxon=Weigela_florida wood=semi-ripe", 6, 32);
    let [soft_then, semi_then] = ["softwood", "semi-ripe"].map(|wood| foretold(wood, &alike));
    let times = [
        semi.middle / soft.middle,
        semi_then.middle / soft_then.middle,
    ];
    assert!(times[1] < 0.93 * times[0], "{times:?}");
}

#[test]
fn evidence_counts_the_right_way() {
    let means = [
        "",
        "rooted=24 callused=6",
        "callused=30",
        "callused=4",
        "callused=0 lost.mould=20",
    ]
    .map(|look| with(look).count.mean());
    // Nobody looked: the history's 32.
    assert!((means[0] - 32.0).abs() < 2.5, "{means:?}");
    assert!((means[1] - 28.0).abs() < 3.0, "{means:?}");
    // Nothing rooted by day 30 of those that root about day 24: late, if most are callused; lost, if they are not.
    assert!(
        means[2] > 20.0 && means[3] < 10.0 && means[4] < means[3],
        "{means:?}"
    );
    let late = with("callused=30").half.unwrap();
    assert!(
        late.middle > with("").half.unwrap().middle + 4.0,
        "{late:?}"
    );
}

#[test]
fn without_history_it_is_wide_and_says_so() {
    let now = forecast(&book_of(&open("")), 201);
    assert_eq!(now.kin.all, 0);
    let (low, high) = now.count_range(0.8);
    assert!(low <= 6 && high >= 33, "{low} {high}");
    let half = now.half.unwrap();
    assert!(half.wide.high > 2.5 * half.wide.low, "{half:?}");
    let (low, high) = with("").count_range(0.8);
    assert!(high - low < 14, "{low} {high}");
}

#[test]
fn it_borrows_from_the_taxon_more_than_from_strangers() {
    let mut entries = history(6, 36);
    entries.push(entry(
        "9000a",
        200,
        "stick batch=O taxon=Weigela_florida stuck=40 wood=semi-ripe",
    ));
    let near = forecast(&book_of(&entries), 201);
    entries.pop();
    entries.push(entry(
        "9000a",
        200,
        "stick batch=O taxon=Choisya_ternata stuck=40 wood=semi-ripe",
    ));
    let far = forecast(&book_of(&entries), 201);
    assert_eq!((near.kin.same, near.kin.taxon, near.kin.all), (0, 6, 6));
    assert_eq!((far.kin.taxon, far.kin.genus, far.kin.all), (0, 0, 6));
    let width = |f: &Forecast| f.count_range(0.8).1 - f.count_range(0.8).0;
    assert!(
        width(&far) > width(&near),
        "{} {}",
        width(&far),
        width(&near)
    );
    assert!(near.count.mean() > far.count.mean());
}

#[test]
fn later_entries_change_nothing_of_an_earlier_day() {
    let mut entries: Vec<Entry> = history(6, 32)
        .into_iter()
        .chain(open("callused=20"))
        .collect();
    let then = forecast(&book_of(&entries), 235);
    entries.push(entry("9000c", 240, "look batch=O rooted=30"));
    entries.push(entry("9000d", 241, "pot batch=O count=30"));
    let again = forecast(&book_of(&entries), 235);
    assert_eq!(then, again);
}

#[test]
fn the_silent_and_the_set_aside_are_counted_not_forecast() {
    let mut entries = history(3, 30);
    entries.extend(open("callused=10"));
    entries.push(entry(
        "9100a",
        300,
        "stick batch=A taxon=Weigela_florida stuck=40 aside=gift",
    ));
    let book = book_of(&entries);
    let on = |day| forecasts(&book, &Model::learn(&book, date(day), &[]), &|_| true);
    let soon = on(230 + 179);
    assert_eq!((soon.batches.len(), soon.silent.len()), (1, 0));
    let late = on(230 + 180);
    assert_eq!((late.batches.len(), late.silent), (0, vec!["O".to_owned()]));
    assert_eq!(late.left_out, ["A"]);
}

#[test]
fn intervals_nest_and_hold_their_middle() {
    for look in ["", "callused=20", "rooted=10 callused=5"] {
        let now = with(look);
        for when in [now.half.unwrap(), now.potting.unwrap()] {
            let ends = [
                when.wide.low,
                when.half.low,
                when.middle,
                when.half.high,
                when.wide.high,
            ];
            assert!(ends.is_sorted(), "{look}: {ends:?}");
        }
    }
}
