//! The journal of a large nursery, as long as asked: four hundred taxa, eight or nine looks at a batch, one file, nearly
//! all of it entries that people make. Days and counts are drawn by a plain rule; it stands for a size, not for plants.

use super::made;
use chrono::{DateTime, Days, FixedOffset, TimeDelta};
use std::collections::BinaryHeap;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;
use struck::journal::codec::encode;
use struck::model::id::Id;
use struck::model::value::Value;

const GENERA: [&str; 8] = [
    "Escallonia",
    "Lavandula",
    "Philadelphus",
    "Weigela",
    "Ceanothus",
    "Choisya",
    "Kerria",
    "Cistus",
];
const WOODS: [&str; 2] = ["softwood", "semi-ripe"];
/// Days between two looks at a batch.
const LOOK_EVERY: u64 = 7;
/// Batches stuck in a day.
const A_DAY: u32 = 24;
const CUTTINGS: u32 = 60;

/// An entry's own fields.
type Fields = Vec<(&'static str, Value)>;

/// A batch on its way: when it is looked at next, and what has become of it.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Tray {
    /// Turned round, since the heap gives the greatest first.
    next: std::cmp::Reverse<(DateTime<FixedOffset>, u32)>,
    stick: u128,
    looks: u32,
    left: u32,
}

/// Writes a journal of at least so many entries into a new folder, and gives the code of its first batch.
pub fn write_grower(folder: &Path, entries: u32) -> String {
    std::fs::create_dir_all(folder).unwrap();
    let mut out = BufWriter::new(File::create(folder.join("shed-grower.jsonl")).unwrap());
    let mut pen = Pen { written: 0 };
    let mut trays: BinaryHeap<Tray> = BinaryHeap::new();
    let mut day = DateTime::parse_from_rfc3339("2016-03-01T08:00:00+00:00").unwrap();
    let mut number = 0;
    while pen.written < entries {
        for minute in 0..A_DAY {
            number += 1;
            let at = day + TimeDelta::minutes(i64::from(minute));
            let stick = pen.write(&mut out, at, "stick", stuck(number));
            trays.push(Tray {
                next: std::cmp::Reverse((at + Days::new(LOOK_EVERY), number)),
                stick,
                looks: 0,
                left: CUTTINGS,
            });
        }
        day = day + Days::new(1);
        while let Some(tray) = trays.peek() {
            if tray.next.0.0 >= day {
                break;
            }
            let Some(tray) = trays.pop() else { break };
            trays.extend(looked_at(tray, &mut pen, &mut out));
        }
    }
    code(1)
}

fn code(number: u32) -> String {
    format!("{:02}-{:05}", 16 + number / 20_000, number % 20_000)
}

fn stuck(number: u32) -> Fields {
    let taxon = number * 7 % 400;
    let genus = GENERA[taxon as usize % GENERA.len()];
    vec![
        ("batch", text(&code(number))),
        ("taxon", text(&format!("{genus} 'Invented {taxon}'"))),
        ("stuck", count(CUTTINGS)),
        ("wood", text(WOODS[number as usize / 3 % WOODS.len()])),
        ("medium", text("perlite")),
        ("container", text("tray")),
        ("place", text("mist bench")),
    ]
}

fn text(it: &str) -> Value {
    Value::Text(it.to_owned())
}

fn count(it: u32) -> Value {
    Value::Number(f64::from(it))
}

/// The next look at a tray, or its potting; the tray as it goes on.
fn looked_at(tray: Tray, pen: &mut Pen, out: &mut impl Write) -> Option<Tray> {
    let (at, number) = tray.next.0;
    let mut fields = vec![
        ("batch", text(&code(number))),
        ("stick", text(&Id::from_ulid(tray.stick).to_string())),
    ];
    let looks = tray.looks + 1;
    // How fast a batch roots differs from batch to batch, by a rule that repeats seldom.
    let pace = 2 + number * 37 % 5;
    if looks > 8 {
        fields.push(("count", count(tray.left)));
        pen.write(out, at, "pot", fields);
        return None;
    }
    let lost = u32::from((number + looks).is_multiple_of(4));
    let left = tray.left - lost;
    let rooted = (looks.saturating_sub(2) * left / 10 * pace / 4).min(left);
    let callused = (looks * left / 12).min(left - rooted);
    let counts = [left, callused, rooted, 0].map(count);
    fields.push(("how", text("lift")));
    fields.extend(
        ["seen", "callused", "rooted", "bottom"]
            .into_iter()
            .zip(counts),
    );
    if lost > 0 {
        let blackened = ("blackened".to_owned(), count(lost));
        fields.push(("lost", Value::Map(vec![blackened])));
    }
    pen.write(out, at, "look", fields);
    Some(Tray {
        next: std::cmp::Reverse((at + Days::new(LOOK_EVERY), number)),
        stick: tray.stick,
        looks,
        left,
    })
}

struct Pen {
    written: u32,
}

impl Pen {
    /// Writes an entry, and gives its id.
    fn write(
        &mut self,
        out: &mut impl Write,
        at: DateTime<FixedOffset>,
        kind: &str,
        fields: Fields,
    ) -> u128 {
        let stamp = u128::try_from(at.timestamp_millis()).unwrap() << 80;
        let id = stamp | u128::from(self.written);
        let by = ("by", text("potting bench"));
        let fields = fields.into_iter().chain([by]).collect();
        let id_text = Id::from_ulid(id).to_string();
        let entry = made::entry(id_text, kind, at.to_rfc3339(), fields);
        out.write_all(&encode(&entry).unwrap()).unwrap();
        out.write_all(b"\n").unwrap();
        self.written += 1;
        id
    }
}
