//! One million entries on disk, for the benchmarks that need so many: the sample nursery and its loggers.

use super::nursery::copy_nursery;
use chrono::{DateTime, TimeDelta};
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;
use struck::journal::codec::encode;
use struck::model::at::At;
use struck::model::entry::{Climate, Entry};
use struck::model::id::Id;
use struck::model::value::{Celsius, Percent, Ppfd, Seconds};

const LINES: u32 = 1_000_000;
const PLACES: [&str; 3] = ["mist bench", "closed frame", "lidded box 1"];

/// The sample nursery, and three loggers' readings every four minutes until there are a million lines.
pub fn write_journal(folder: &Path) {
    copy_nursery(folder);
    let start = DateTime::parse_from_rfc3339("2023-04-01T00:00:00+01:00").unwrap();
    for (number, place) in PLACES.iter().enumerate() {
        let mut out =
            BufWriter::new(File::create(folder.join(format!("logger-{number}.jsonl"))).unwrap());
        for row in 0..LINES / 3 {
            let at = start + TimeDelta::minutes(4 * i64::from(row));
            let wave = f64::from(row % 360) / 360.0 * std::f64::consts::TAU;
            let tenth = |value: f64| (value * 10.0).round() / 10.0;
            let climate = Climate {
                place: (*place).into(),
                air_c: Some(Celsius(tenth(18.0 + 7.0 * wave.sin()))),
                rh_pct: Some(Percent(tenth(85.0 - 10.0 * wave.sin()))),
                leaf_c: None,
                medium_c: Some(Celsius(tenth(20.0 + wave.cos()))),
                mist_on_s: Some(Seconds(10.0)),
                mist_every_s: Some(Seconds(720.0)),
                ppfd: Some(Ppfd(tenth(150.0 * (1.0 + wave.sin())))),
                vent: None,
            };
            let stamp = u128::try_from(at.timestamp_millis()).unwrap() << 80;
            let id = Id::from_ulid(stamp | u128::from(row) << 8 | number as u128);
            let entry = Entry {
                id,
                at: At::Time(at),
                by: Some("logger".into()),
                note: None,
                kind: climate.into(),
            };
            out.write_all(&encode(&Entry { by: None, ..entry }).unwrap())
                .unwrap();
            out.write_all(b"\n").unwrap();
        }
        out.flush().unwrap();
    }
}
