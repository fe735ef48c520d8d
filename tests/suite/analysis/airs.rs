//! The air by reading and by day: bands, words, gaps; and whether the sample nursery's losses rise on the
//! days that its truth calls wrong.

use crate::support::lines::Pages;
use chrono::NaiveDate;
use struck::analysis::air::sense::mist_hint;
use struck::analysis::air::sense::{AirSense, band};
use struck::analysis::air::{days, sense};

fn line(at: &str, fields: &str) -> String {
    format!("{{\"at\":\"{at}\",\"kind\":\"climate\",\"place\":\"bench A\",{fields}}}")
}

#[test]
fn a_day_is_weighted_by_time_and_long_waits_are_left_out() {
    let texts = [
        line("2026-06-14T08:00:00Z", "\"air_c\":10,\"rh_pct\":100"),
        line("2026-06-14T09:00:00Z", "\"air_c\":20,\"rh_pct\":100"),
        line("2026-06-14T09:30:00Z", "\"air_c\":40,\"rh_pct\":100"),
        line("2026-06-14T15:00:00Z", "\"air_c\":50,\"rh_pct\":100"),
    ];
    let pages = Pages::of(&texts.each_ref().map(String::as_str));
    let book = pages.book();
    let days = days(&book, "Bench A", None, None);
    assert_eq!(days.len(), 1);
    let air = &days[0].air;
    assert_eq!((air.readings, air.gaps), (4, 1));
    // One hour at 10 and half an hour at 20; the others stand for no known time.
    let mean = air.air_c.value().unwrap();
    assert!((mean - 40.0 / 3.0).abs() < 1e-9, "{mean}");
    assert_eq!(air.air_c.range(), Some((10.0, 50.0)));
    assert_eq!(air.vpd_kpa.value(), Some(0.0));
    assert_eq!(air.light_mol(), None);
}

#[test]
fn a_bare_day_without_humidity_has_no_deficit() {
    let text = line("2026-06-14", "\"air_c\":20");
    let book = Pages::of(&[&text]).book();
    let days = days(&book, "bench A", None, None);
    assert_eq!(days[0].air.vpd_kpa.value(), None);
    assert_eq!(days[0].air.air_c.value(), Some(20.0));
}

#[test]
fn saturation_and_light_are_as_published() {
    // FAO-56 annex 2, table 2.3: e°(25.0) = 3.168 kPa, of which half is wanting at 50 %. 100 µmol/m²/s through a day is 8.64 mol.
    let texts: Vec<String> = (0..24)
        .map(|hour| {
            let at = format!("2026-06-14T{hour:02}:00:00Z");
            line(&at, "\"air_c\":25,\"rh_pct\":50,\"ppfd\":100")
        })
        .collect();
    let pages = Pages::of(&texts.iter().map(String::as_str).collect::<Vec<_>>());
    let book = pages.book();
    let days = days(&book, "bench A", None, None);
    let vpd = days[0].air.vpd_kpa.value().unwrap();
    assert!((vpd - 1.584).abs() < 0.001, "{vpd}");
    assert!((days[0].air.light_mol().unwrap() - 8.64).abs() < 1e-9);
}

#[test]
fn the_growers_own_band_wins() {
    let place = "{\"at\":\"2026-06-01\",\"kind\":\"place\",\"place\":\"bench A\",\"cover\":\"mist\",\"vpd_high_kpa\":0.4}";
    let book = Pages::of(&[place]).book();
    let facts = book.places().get("bench a").and_then(|p| p.facts.as_ref());
    let own = band(facts, true);
    assert_eq!((own.low_kpa, own.high_kpa), (sense::MIST.low_kpa, 0.4));
    assert_eq!(AirSense::at_deficit(0.5, &own), AirSense::Drying);
    assert_eq!(AirSense::at_deficit(0.5, &sense::MIST), AirSense::Easy);
}

/// Readings of bench A on some days of June at some hours, each of that air, under mist every 12 minutes.
fn misted(days: std::ops::Range<u32>, hours: &[u32], air: &str) -> Vec<String> {
    let each = days.flat_map(|day| hours.iter().map(move |hour| (day, *hour)));
    each.map(|(day, hour)| {
        let at = format!("2026-06-{day:02}T{hour:02}:00:00Z");
        line(&at, &format!("{air},\"mist_on_s\":10,\"mist_every_s\":720"))
    })
    .collect()
}

fn hinted(texts: &[String]) -> Option<(AirSense, f64)> {
    let book = Pages::of(&texts.iter().map(String::as_str).collect::<Vec<_>>()).book();
    let until = "2026-06-14".parse().unwrap();
    let hint = mist_hint(&book, "bench A", &sense::MIST, until)?;
    Some((hint.sense, hint.try_every_s))
}

#[test]
fn a_mist_hint_rests_on_the_light_hours_of_several_days_and_moves_a_quarter_at_most() {
    let wet = "\"air_c\":16,\"rh_pct\":97";
    let dry = "\"air_c\":28,\"rh_pct\":40";
    let through = [9, 12, 16];
    assert_eq!(
        hinted(&misted(12..15, &through, wet)),
        Some((AirSense::Wet, 900.0))
    );
    assert_eq!(
        hinted(&misted(12..15, &through, dry)),
        Some((AirSense::Drying, 540.0))
    );
    // One reading at dawn, mornings alone, two days alone: no hint.
    assert_eq!(hinted(&misted(14..15, &[5], wet)), None);
    assert_eq!(hinted(&misted(10..15, &[8, 9, 10], wet)), None);
    assert_eq!(hinted(&misted(13..15, &through, wet)), None);
    // A noon that dries, among wet mornings and afternoons.
    let mut mixed = misted(11..15, &[9, 16], wet);
    mixed.extend(misted(11..15, &[12], dry));
    assert_eq!(hinted(&mixed), None);
}

#[test]
fn no_interval_is_lengthened_in_weather_warmer_than_what_was_seen() {
    let wet = "\"air_c\":16,\"rh_pct\":97";
    let mut texts = misted(11..14, &[9, 12, 16], wet);
    assert!(hinted(&texts).is_some());
    texts.push(line("2026-06-14T11:00:00Z", "\"air_c\":24,\"rh_pct\":90"));
    assert_eq!(hinted(&texts), None);
}

#[test]
fn heat_comes_first_and_fog_and_rooted_plants_have_their_own_bands() {
    let judged = |air, medium, vpd, band| AirSense::judge(Some(air), medium, Some(vpd), band);
    assert_eq!(judged(36.0, None, 0.5, &sense::MIST), Some(AirSense::Hot));
    assert_eq!(
        judged(24.0, Some(27.5), 0.5, &sense::CLOSED),
        Some(AirSense::Hot)
    );
    assert_eq!(
        judged(30.0, Some(27.0), 0.5, &sense::MIST),
        Some(AirSense::Easy)
    );
    // On an open bench 36 °C is not held in; its deficit speaks.
    assert_eq!(judged(36.0, None, 0.5, &sense::OPEN), Some(AirSense::Easy));
    // A fog house at 24 °C and 96 %: FAO-56 table 2.3, e°(24.0) = 2.984 kPa, of which 4 % are wanting.
    assert_eq!(
        AirSense::at_deficit(0.04 * 2.984, &sense::FOG),
        AirSense::Easy
    );
    let open =
        "{\"at\":\"2026-06-01\",\"kind\":\"place\",\"place\":\"bench A\",\"cover\":\"open\"}";
    let book = Pages::of(&[open]).book();
    let facts = book.places().get("bench a").and_then(|p| p.facts.as_ref());
    assert!(band(facts, true).high_kpa < band(facts, false).high_kpa);
}

#[test]
fn a_dead_sensors_nought_is_in_no_figure() {
    let texts = [
        line("2026-06-14T08:00:00Z", "\"air_c\":20,\"rh_pct\":0"),
        line("2026-06-14T09:00:00Z", "\"air_c\":20,\"rh_pct\":80"),
    ];
    let book = Pages::of(&texts.each_ref().map(String::as_str)).book();
    let air = &days(&book, "bench A", None, None)[0].air;
    assert_eq!((air.rh_pct.count(), air.vpd_kpa.count()), (1, 1));
    assert_eq!(air.rh_pct.value(), Some(80.0));
}

/// Losses a day on wrong-air days and on the fortnight before each, at the places of the truth.
#[test]
fn losses_rise_when_the_sample_nurserys_air_was_wrong() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-journals/nursery");
    let truth = std::fs::read_to_string(root.join("truth-air.csv")).unwrap();
    let mut texts: Vec<String> = Vec::new();
    for file in std::fs::read_dir(&root).unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_some_and(|e| e == "jsonl") {
            let text = std::fs::read_to_string(path).unwrap();
            texts.extend(text.lines().map(str::to_owned));
        }
    }
    let book = Pages::of(&texts.iter().map(String::as_str).collect::<Vec<_>>()).book();
    let (mut during, mut before) = ((0_u32, 0_i64), (0_u32, 0_i64));
    for row in truth.lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let (from, to) = (day(cells[1]), day(cells[2]));
        let cause = if cells[3] == "dry" {
            "wilted"
        } else {
            "blackened"
        };
        // A loss is seen at the next look, up to a week later.
        let span = (from, to + chrono::Days::new(7));
        let length = (span.1 - span.0).num_days() + 1;
        let prior = (from - chrono::Days::new(14), from - chrono::Days::new(1));
        during.0 += lost(&book, cells[0], cause, span);
        during.1 += length;
        before.0 += lost(&book, cells[0], cause, prior);
        before.1 += 14;
        let wrong = days(&book, cells[0], Some(from), Some(to));
        let right = days(&book, cells[0], Some(prior.0), Some(prior.1));
        let mean = |days: &[struck::analysis::air::AirDay]| {
            let each: Vec<f64> = days.iter().filter_map(|d| d.air.vpd_kpa.value()).collect();
            (!each.is_empty()).then(|| each.iter().sum::<f64>() / each.len() as f64)
        };
        if let (Some(wrong), Some(right)) = (mean(&wrong), mean(&right)) {
            assert_eq!(
                wrong > right,
                cells[3] == "dry",
                "{row}: {wrong} against {right}"
            );
        }
    }
    let rate = |(lost, days): (u32, i64)| f64::from(lost) / days as f64;
    assert!(
        rate(during) > 2.0 * rate(before),
        "{during:?} against {before:?}"
    );
}

fn lost(book: &struck::fold::Book, place: &str, cause: &str, span: (NaiveDate, NaiveDate)) -> u32 {
    let here = |p: &str| book.places().key(p) == book.places().key(place);
    book.batches()
        .iter()
        .filter(|b| b.stick.place.as_deref().is_some_and(here))
        .flat_map(|b| b.inspections.iter())
        .filter(|seen| (span.0..=span.1).contains(&seen.day))
        .flat_map(|seen| seen.lost.each().collect::<Vec<_>>())
        .filter(|(why, _)| why.word() == cause)
        .map(|(_, n)| n)
        .sum()
}
