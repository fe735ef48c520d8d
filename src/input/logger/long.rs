//! A logger's table in long format, a row a reading: time, sensor, quantity, value. It is made wide, a row a moment and a
//! column for each sensor and quantity, and then read like any other; each cell keeps the line that it came from.

use super::column::{BETWEEN, ColumnRole, HEADING_WITHIN};
use super::heading::heading;
use csv::{ReaderBuilder, StringRecord, WriterBuilder};
use std::collections::{BTreeSet, HashMap};

/// Headings of the number itself, in a table where other columns say what it is.
const VALUES: [&str; 7] = [
    "value", "reading", "wert", "messwert", "valeur", "valor", "waarde",
];
/// Headings of what is measured.
const QUANTITIES: [&str; 13] = [
    "quantity",
    "parameter",
    "measure",
    "measurement",
    "variable",
    "channel",
    "type",
    "metric",
    "property",
    "messgröße",
    "kanal",
    "grandeur",
    "grootheid",
];
/// Headings of what measured it.
const SENSORS: [&str; 9] = [
    "sensor", "probe", "device", "logger", "node", "station", "fühler", "capteur", "sonde",
];
/// Headings of where it was measured.
const PLACES: [&str; 8] = [
    "place", "location", "site", "zone", "house", "ort", "standort", "lieu",
];
/// Headings of the unit of the number.
const UNITS: [&str; 5] = ["unit", "units", "einheit", "unité", "eenheid"];

/// A table that was made wide.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WidenedTable {
    /// The wide table as CSV, its heading in the first line, between its columns the sign of the long one.
    pub text: String,
    /// The places that the long table names, each as it is written there first.
    pub places: Vec<String>,
    /// Rows of the long table.
    pub rows: u64,
    /// For each row of the wide table the lines of the long one that its cells come from; 0 where a cell is empty.
    lines: Vec<Vec<u64>>,
}

impl WidenedTable {
    /// The line of the long table that a cell of the wide one comes from, or the first that its row comes from. Rows and
    /// columns count from 0.
    #[must_use]
    pub fn line(&self, row: usize, column: Option<usize>) -> u64 {
        let cells = self.lines.get(row).map_or(&[][..], Vec::as_slice);
        let own = column
            .and_then(|at| cells.get(at))
            .filter(|line| **line > 0);
        let first = || cells.iter().filter(|line| **line > 0).min();
        own.or_else(first).copied().unwrap_or_default()
    }
}

/// Which columns of a long table hold what, by position.
#[derive(Debug, Default)]
struct LongColumns {
    when: Vec<usize>,
    place: Option<usize>,
    sensor: Option<usize>,
    quantity: Option<usize>,
    unit: Option<usize>,
    values: Vec<usize>,
    /// Whether the values say themselves what they are.
    has_measures: bool,
}

impl LongColumns {
    /// The columns by their headings; nothing if these are not the headings of a long table.
    fn of(headings: &StringRecord) -> Option<Self> {
        let mut out = Self::default();
        let mut measures = Vec::new();
        for (at, text) in headings.iter().enumerate() {
            let word = text.trim().to_lowercase();
            let is = |table: &[&str]| table.contains(&&*word);
            let role = heading(text).role;
            let slot = if is(&PLACES) {
                &mut out.place
            } else if is(&SENSORS) {
                &mut out.sensor
            } else if is(&QUANTITIES) {
                &mut out.quantity
            } else if is(&UNITS) {
                &mut out.unit
            } else {
                match role {
                    _ if is(&VALUES) => out.values.push(at),
                    Some(role) if role.is_when() => out.when.push(at),
                    Some(_) => measures.push(at),
                    None => {}
                }
                continue;
            };
            *slot = slot.or(Some(at));
        }
        let is_named = out.place.is_some() || out.sensor.is_some();
        let is_long = match (out.values.len(), measures.len()) {
            (1, 0) => is_named || out.quantity.is_some(),
            (0, 1..) if is_named && out.quantity.is_none() => {
                out.values = measures;
                out.has_measures = true;
                true
            }
            _ => false,
        };
        (is_long && !out.when.is_empty()).then_some(out)
    }

    /// What a value is called in the wide table.
    fn label(&self, headings: &StringRecord, record: &StringRecord, value: usize) -> String {
        let cell = |at: Option<usize>| at.and_then(|at| record.get(at)).map_or("", str::trim);
        let own = if self.has_measures {
            headings.get(value).map_or("", str::trim)
        } else {
            cell(self.quantity)
        };
        let named = [cell(self.place), cell(self.sensor), own];
        let mut label = named
            .into_iter()
            .filter(|part| !part.is_empty())
            .collect::<Vec<_>>()
            .join(" ");
        match cell(self.unit) {
            "" => {}
            unit => label.push_str(&format!(" ({unit})")),
        }
        label
    }
}

/// Whether the first part of a table names a sensor, a place or a quantity in each row, so that it may be a long one.
#[must_use]
pub fn may_be_long(text: &str, between: Option<u8>) -> bool {
    signs(between).any(|sign| {
        let mut reader = reader(text, sign);
        let records = reader.records().filter_map(Result::ok);
        let mut records = records.take(HEADING_WITHIN);
        records.any(|record| LongColumns::of(&record).is_some())
    })
}

fn signs(between: Option<u8>) -> impl Iterator<Item = u8> {
    let all = BETWEEN.into_iter();
    all.filter(move |sign| between.is_none_or(|asked| asked == *sign))
}

fn reader(text: &str, between: u8) -> csv::Reader<&[u8]> {
    ReaderBuilder::new()
        .delimiter(between)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes())
}

/// Most columns that a long table is made into. More are no sensors and quantities.
const MOST: usize = 256;

/// The wide table of a long one; nothing if it is not long, if one sensor alone measured at no place that is named, so
/// that it is wide already, or if it names more sensors and quantities than a nursery has.
#[must_use]
pub fn widened(text: &str, between: Option<u8>) -> Option<WidenedTable> {
    signs(between).find_map(|sign| widened_at(text, sign))
}

fn widened_at(text: &str, sign: u8) -> Option<WidenedTable> {
    let has_two_sign_ends = text
        .split_once('\n')
        .is_some_and(|(first, _)| first.ends_with('\r'));
    let mut reader = reader(text, sign);
    let mut records = reader.records();
    let mut number = 0_u64;
    let (headings, columns) = loop {
        let record = records.next()?.ok()?;
        number += 1;
        if let Some(columns) = LongColumns::of(&record) {
            break (record, columns);
        }
        if number as usize >= HEADING_WITHIN {
            return None;
        }
    };
    let mut wide = WideRows::default();
    let mut places: Vec<String> = Vec::new();
    let mut sensors: BTreeSet<String> = BTreeSet::new();
    let mut rows = 0;
    for record in records {
        let record = record.ok()?;
        let counted = record.position().map_or(0, csv::Position::line);
        // After an end of two characters the reader counts a line short.
        let line = counted + u64::from(has_two_sign_ends);
        let cell = |at: usize| record.get(at).map_or("", str::trim);
        let place = columns.place.map_or("", cell);
        if !place.is_empty() && !places.iter().any(|held| held == place) {
            places.push(place.to_owned());
        }
        sensors.insert(columns.sensor.map_or("", cell).to_owned());
        let when = columns.when.iter().map(|at| one_line(cell(*at)));
        let when: Vec<String> = when.collect();
        for value in &columns.values {
            let label = columns.label(&headings, &record, *value);
            wide.put(&when.join("\n"), label, cell(*value), line);
        }
        rows += 1;
        if wide.labels.len() > MOST {
            return None;
        }
    }
    if columns.has_measures && columns.place.is_none() && sensors.len() < 2 {
        return None;
    }
    let when: Vec<&str> = columns
        .when
        .iter()
        .map(|at| headings.get(*at).unwrap_or_default())
        .collect();
    let (text, lines) = wide.written(&when, sign)?;
    Some(WidenedTable {
        text,
        places,
        rows,
        lines,
    })
}

fn one_line(text: &str) -> String {
    text.replace(['\n', '\r'], " ")
}

/// A value as it was written, with its line; nothing where none was measured.
type LongCell = Option<(String, u64)>;

/// The rows of a wide table as they fill: a moment, and what was measured then, with its line.
#[derive(Default)]
struct WideRows {
    labels: Vec<String>,
    by_label: HashMap<String, usize>,
    rows: Vec<(String, Vec<LongCell>)>,
    by_moment: HashMap<String, Vec<usize>>,
}

impl WideRows {
    /// Puts a value into the first row of its moment that has none of its sort: a clock set back lets an hour come twice.
    fn put(&mut self, moment: &str, label: String, value: &str, line: u64) {
        let next = self.labels.len();
        let column = *self.by_label.entry(label).or_insert_with_key(|label| {
            self.labels.push(label.clone());
            next
        });
        let held = self.by_moment.entry(moment.to_owned()).or_default();
        let is_free = |row: &&usize| {
            let cells = &self.rows[**row].1;
            cells.get(column).is_none_or(Option::is_none)
        };
        let row = held.iter().find(is_free).copied().unwrap_or_else(|| {
            self.rows.push((moment.to_owned(), Vec::new()));
            held.push(self.rows.len() - 1);
            self.rows.len() - 1
        });
        let cells = &mut self.rows[row].1;
        if cells.len() <= column {
            cells.resize(column + 1, None);
        }
        cells[column] = Some((value.to_owned(), line));
    }

    /// The table as CSV under these headings of the moment, and the line of each cell; nothing if it cannot be written.
    fn written(&self, when: &[&str], sign: u8) -> Option<(String, Vec<Vec<u64>>)> {
        let mut writer = WriterBuilder::new().delimiter(sign).from_writer(Vec::new());
        let labels = self.labels.iter().map(|label| one_line(label));
        let heads = when.iter().map(|head| one_line(head)).chain(labels);
        writer.write_record(heads).ok()?;
        let mut lines = Vec::with_capacity(self.rows.len());
        for (moment, cells) in &self.rows {
            let measured = (0..self.labels.len()).map(|at| cells.get(at).cloned().flatten());
            let measured: Vec<(String, u64)> = measured.map(Option::unwrap_or_default).collect();
            let moments = moment.split('\n').map(String::from);
            let texts = measured.iter().map(|(text, _)| one_line(text));
            writer.write_record(moments.chain(texts)).ok()?;
            let of_moment = std::iter::repeat_n(0, when.len());
            lines.push(
                of_moment
                    .chain(measured.iter().map(|(_, line)| *line))
                    .collect(),
            );
        }
        let text = String::from_utf8(writer.into_inner().ok()?).ok()?;
        Some((text, lines))
    }
}

/// Whether these headings are of a day's least and most, and of no reading.
#[must_use]
pub fn tells_days(headings: &[String]) -> bool {
    let words = |text: &String| text.to_lowercase();
    let ends = ["min", "max", "high", "low", "least", "most"];
    let is_end = |text: &String| {
        let text = words(text);
        let mut parts = text.split(|c: char| !c.is_alphanumeric());
        parts.any(|word| ends.contains(&word) || word.ends_with("min") || word.ends_with("max"))
    };
    let measured = |text: &String| {
        let text = words(text);
        let mut parts = text.split(|c: char| !c.is_alphanumeric());
        let said = ["temp", "hum", "rh", "°", "air"];
        said.iter().any(|word| text.contains(word))
            || parts.any(|word| ["t", "tmin", "tmax"].contains(&word))
    };
    let has_moment = headings
        .iter()
        .any(|text| heading(text).role.is_some_and(ColumnRole::is_when));
    has_moment && headings.iter().any(|text| is_end(text) && measured(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_a_reading_becomes_a_row_a_moment() {
        let long = "shed,3\ntime,sensor,quantity,value,unit\n10:00,A,air temp,20,°C\n10:00,A,rh,80,%\n10:10,A,air temp,21,°C\n";
        let wide = widened(long, None).unwrap();
        assert_eq!(
            wide.text,
            "time,A air temp (°C),A rh (%)\n10:00,20,80\n10:10,21,\n"
        );
        assert_eq!(wide.rows, 3);
        assert_eq!(
            [
                wide.line(0, Some(2)),
                wide.line(0, None),
                wide.line(1, None)
            ],
            [4, 3, 5]
        );
    }

    #[test]
    fn an_hour_that_comes_twice_is_two_rows_for_each_sensor() {
        let long = "time;sensor;value\n2:10;air;1\n2:10;air;2\n2:10;rh;3\n2:10;rh;4\n";
        let wide = widened(long, None).unwrap();
        assert_eq!(wide.text, "time;air;rh\n2:10;1;3\n2:10;2;4\n");
    }

    #[test]
    fn sensors_that_take_turns_under_one_heading_are_set_apart() {
        let long = "time,place,air °C\n1:00,bench,20\n1:00,frame,22\n";
        let wide = widened(long, None).unwrap();
        assert_eq!(wide.text, "time,bench air °C,frame air °C\n1:00,20,22\n");
        assert_eq!(wide.places, ["bench", "frame"]);
        assert!(widened("time,sensor,air °C\n1:00,A,20\n2:00,A,22\n", None).is_none());
        assert!(widened("time,air °C\n1:00,20\n", None).is_none());
    }
}
