//! Places, taxa, climate, settings, groups and filters of a book, by the journal's format and the group keys' rules.

use crate::support::lines::{Pages, book};
use struck::fold::{Book, Ledger};
use struck::model::fault::{Crc, Lines, Origin};
use struck::model::filter::{Filter, GroupKey};
use struck::model::id::Id;

fn two_seasons() -> Book {
    book(&[
        r#"{"id":"n","at":"2026-01-01","kind":"nursery","season_from":"08-01","units":"F"}"#,
        r#"{"id":"t","at":"2026-01-01","kind":"taxon","taxon":"Weigela florida 'Sonnet'","aliases":["WS"],"first_look_days":12}"#,
        r#"{"id":"u","at":"2026-01-02","kind":"taxon","taxon":"weigela florida 'sonnet'","base_c":8}"#,
        r#"{"id":"p","at":"2026-01-01","kind":"place","place":"Bench A","aliases":["long bench"],"trays":40}"#,
        r#"{"id":"q","at":"2026-01-03","kind":"place","place":"bench a","trays":44,"cover":"mist"}"#,
        r#"{"id":"1","at":"2026-06-29","kind":"stick","batch":"26-001","taxon":"WS","stuck":20,"wood":"softwood","medium":"Bark  and grit","place":"long bench/2","hormone":{"active":"IBA","ppm":3000,"carrier":"talc"},"trial":"Heat","arm":"warm"}"#,
        r#"{"id":"2","at":"2026-09-02","kind":"stick","batch":"26-002","taxon":"Lavandula","stuck":30,"medium":"bark and grit","place":"frame","hormone":"none"}"#,
        r#"{"id":"3","at":"2026-09-03","kind":"treat","what":"feed","with":"half strength","place":"bench A/3"}"#,
        r#"{"id":"4","at":"2026-09-03","kind":"remark","note":"fogger serviced","place":"long bench"}"#,
        r#"{"id":"5","at":"2026-09-03","kind":"target","taxon":"Lavandula","count":60,"by_date":"2027-05-01"}"#,
    ])
}

#[test]
fn places_have_one_name_and_the_facts_last_stated() {
    let book = two_seasons();
    for name in ["bench A/7", "BENCH  a", "Long bench", "long bench/2"] {
        let place = book.places().get(name).unwrap();
        assert_eq!(place.name, "Bench A");
        let facts = place.facts.as_ref().unwrap();
        assert_eq!(
            (facts.trays, facts.cover.map(|c| c.word())),
            (Some(44), Some("mist"))
        );
    }
    assert_eq!(book.batches()[0].place.as_deref(), Some("Bench A/2"));
    assert_eq!(book.treatments_at("bench A").count(), 1);
    assert_eq!(book.remarks(Some("Bench A/1")).count(), 1);
    assert_eq!(book.targets().count(), 1);
}

#[test]
fn an_alias_is_the_taxon_that_it_stands_for() {
    let book = two_seasons();
    let taxon = &book.batches()[0].taxon;
    assert_eq!(taxon.shown(), "Weigela florida 'Sonnet'");
    let facts = book.taxa().get(taxon).unwrap().facts.as_ref().unwrap();
    assert_eq!(facts.first_look_days, Some(12));
    assert_eq!(facts.base_c.map(|c| c.0), Some(8.0));
}

#[test]
fn the_season_is_that_in_which_the_day_falls() {
    let book = two_seasons();
    let season = |day: &str| book.season(day.parse().unwrap());
    assert_eq!((season("2026-07-31"), season("2026-08-01")), (2025, 2026));
    assert_eq!(Book::default().season("2026-01-01".parse().unwrap()), 2026);
}

#[test]
fn groups_are_facts_at_sticking_as_first_written() {
    let book = two_seasons();
    let of = |key: GroupKey, at: usize| key.value_for(&book, &book.batches()[at]);
    let told: Vec<_> = GroupKey::ALL.iter().map(|key| of(*key, 0)).collect();
    let wanted = [
        Some("Weigela florida 'Sonnet'"),
        Some("softwood"),
        Some("2025"),
        Some("2026-06"),
        // ISO 8601: the Monday of 29 June 2026 begins week 27.
        Some("2026-W27"),
        Some("Bench A"),
        None,
        Some("IBA 3000 ppm talc"),
        Some("Bark and grit"),
        None,
        None,
        None,
        Some("Heat"),
        Some("warm"),
    ];
    assert_eq!(told, wanted.map(|w| w.map(str::to_owned)));
    assert_eq!(of(GroupKey::Medium, 1).as_deref(), Some("Bark and grit"));
    assert_eq!(of(GroupKey::Hormone, 1).as_deref(), Some("none"));
}

#[test]
fn filters_admit_by_any_part_of_a_name_and_by_facts_at_sticking() {
    let book = two_seasons();
    let admitted = |filter: Filter| -> Vec<&str> {
        let batches = book.batches().iter();
        let within = filter.within(&book);
        let fits = batches.filter(|b| {
            assert_eq!(within(b), filter.admits(&book, b), "{}", b.code);
            within(b)
        });
        fits.map(|b| b.code.as_str()).collect()
    };
    let taxon = |text: &str| {
        admitted(Filter {
            taxon: Some(text.into()),
            ..Filter::default()
        })
    };
    for text in [
        "weigela",
        "ws",
        "SONNET",
        "florida",
        "Weigela florida 'Sonnet'",
    ] {
        assert_eq!(taxon(text), ["26-001"], "{text}");
    }
    assert!(taxon("salvia").is_empty());
    let place = |text: &str| {
        admitted(Filter {
            place: Some(text.into()),
            ..Filter::default()
        })
    };
    assert_eq!(place("bench a"), ["26-001"]);
    assert_eq!(place("bench a/2"), ["26-001"]);
    assert!(place("bench a/3").is_empty());
    let since = Some("2026-06-30".parse().unwrap());
    assert_eq!(
        admitted(Filter {
            since,
            ..Filter::default()
        }),
        ["26-002"]
    );
    let until = Some("2026-06-29".parse().unwrap());
    assert_eq!(
        admitted(Filter {
            until,
            ..Filter::default()
        }),
        ["26-001"]
    );
    assert_eq!(
        admitted(Filter {
            season: Some(2026),
            ..Filter::default()
        }),
        ["26-002"]
    );
    assert_eq!(
        admitted(Filter {
            trial: Some("heat".into()),
            ..Filter::default()
        }),
        ["26-001"]
    );
}

#[test]
fn climate_is_told_by_place_in_time_order_and_exactly() {
    let mut pages = Pages::default();
    let line = |n: u32, at: &str, place: &str, air: &str| {
        format!(
            r#"{{"id":"01JZ00000000000000000000{n:02}","at":"{at}","kind":"climate","place":"{place}","air_c":{air},"vent":"half"}}"#
        )
    };
    pages.push(
        0,
        Crc::Right,
        &line(1, "2026-06-14T12:00:00+02:00", "bench A/3", "21.37"),
    );
    pages.push(
        0,
        Crc::Right,
        &line(2, "2026-06-14T11:00:00+01:00", "Bench a", "-0.333333333333"),
    );
    pages.push(0, Crc::Right, &line(3, "2026-06-14", "bench A", "1e-9"));
    // By hand: no ULID, a note.
    pages.push(0, Crc::Absent, r#"{"at":"2026-06-14T11:30:00.5+02:00","kind":"climate","place":"bench A","air_c":7,"note":"door open"}"#);
    pages.push(
        1,
        Crc::Right,
        &line(1, "2026-06-14T12:00:00+02:00", "bench A/3", "21.37"),
    );
    let book = pages.book();
    let air: Vec<f64> = book
        .readings("bench A")
        .map(|r| r.air_c.unwrap().0)
        .collect();
    assert_eq!(air, [1e-9, 7.0, -0.333333333333, 21.37]);
    let back: Vec<f64> = book
        .readings("bench A")
        .rev()
        .map(|r| r.air_c.unwrap().0)
        .collect();
    assert_eq!(back, [21.37, -0.333333333333, 7.0, 1e-9]);
    assert_eq!(
        book.readings("bench A").next_back().unwrap().vent,
        Some("half")
    );
    let day = "2026-06-15".parse().unwrap();
    assert!(book.readings("bench A").since(day).next().is_none());
    assert_eq!(book.readings("bench A").until(day).len(), 4);
    assert_eq!(book.sums().entries, 4);
}

#[test]
fn days_ahead_are_told_when_asked() {
    let book = two_seasons();
    assert_eq!(book.days_ahead("2026-09-02".parse().unwrap()).len(), 3);
    assert!(book.days_ahead("2026-09-03".parse().unwrap()).is_empty());
}

#[test]
fn climate_lines_keep_the_name_of_whoever_entered_them() {
    let line = |n: u32, by: &str, air: u32| {
        format!(
            r#"{{"id":"01JZ00000000000000000000{n:02}","at":"2026-06-14T1{n}:00:00+02:00","kind":"climate","by":"{by}","place":"bench A","air_c":{air}}}"#
        )
    };
    let texts = [line(1, "ana", 20), line(2, "ben", 21), line(3, "ana", 22)];
    let mut pages = Pages::of(&texts.each_ref().map(String::as_str));
    let mut ledger = Ledger::new();
    pages.arrivals().into_iter().for_each(|it| ledger.add(it));
    let book = ledger.book(&pages);
    let names = |book: &Book| -> Vec<Option<String>> {
        let all = book.readings("bench A").standings();
        all.map(|standing| standing.entry.by().map(ToString::to_string))
            .collect()
    };
    let named = |names: &[&str]| -> Vec<Option<String>> {
        names.iter().map(|name| Some((*name).to_owned())).collect()
    };
    assert_eq!(names(&book), named(&["ana", "ben", "ana"]));
    // Another name is another content: the smaller bytes stand.
    pages.push(1, Crc::Absent, &line(3, "aba", 22));
    let book = pages.book();
    assert_eq!(names(&book), named(&["ana", "ben", "aba"]));
    assert_eq!(book.faults().len(), 1, "{:?}", book.faults());
    // More people than are told apart in one place: the rest are kept whole.
    let many: Vec<String> = (0..300)
        .map(|n| {
            format!(
                r#"{{"id":"01JZ0000000000000000000{n:03}","at":"2026-06-14","kind":"climate","by":"p{n}","place":"bench A","air_c":20}}"#
            )
        })
        .collect();
    let many: Vec<&str> = many.iter().map(String::as_str).collect();
    let mut told = names(&Pages::of(&many).book());
    told.sort();
    told.dedup();
    assert_eq!(told.len(), 300);
}

/// Lines that note which were asked for.
struct Asked<'a>(&'a Pages, std::cell::RefCell<Vec<Origin>>);

impl Lines for Asked<'_> {
    fn raw(&self, origin: Origin) -> Option<Vec<u8>> {
        self.1.borrow_mut().push(origin);
        self.0.raw(origin)
    }

    fn named(&self, name: &Id) -> Option<Origin> {
        self.0.named(name)
    }
}

/// Asked for here and there, each line once made a whole block of its file be read.
#[test]
fn the_lines_of_conflict_copies_are_fetched_once_in_the_order_of_the_files() {
    let mut pages = Pages::default();
    for copy in 0..4 {
        for n in 0..40 {
            let note = format!("as of copy {copy}");
            let text =
                format!(r#"{{"id":"E{n}","at":"2026-06-14","kind":"remark","note":"{note}"}}"#);
            pages.push(copy, Crc::Absent, &text);
        }
    }
    let mut ledger = Ledger::new();
    pages.arrivals().into_iter().for_each(|it| ledger.add(it));
    let asked = Asked(&pages, std::cell::RefCell::default());
    let book = ledger.book(&asked);
    let order = asked.1.take();
    let mut sorted = order.clone();
    sorted.sort_unstable();
    sorted.dedup();
    assert_eq!((order.len(), &order), (160, &sorted));
    assert_eq!(book.faults().len(), 120);
    // A remark more does not fetch them again; a copy more of one, only its own.
    let more = [
        r#"{"id":"F1","at":"2026-06-14","kind":"remark","note":"fog"}"#,
        r#"{"id":"E7","at":"2026-06-14","kind":"remark","note":"as of another"}"#,
    ];
    for (line, fetched) in more.into_iter().zip([0, 1]) {
        let mut pages = pages.clone();
        pages.push(5, Crc::Absent, line);
        ledger.add(pages.arrivals().pop().unwrap());
        let asked = Asked(&pages, std::cell::RefCell::default());
        ledger.book(&asked);
        assert_eq!(asked.1.take().len(), fetched, "{line}");
    }
}
