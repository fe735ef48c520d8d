//! What a row of old records says became of its batch: looks, pottings and the clearing of what was left. No day is
//! made up. What does not fit is kept for the note, and none of it becomes an entry.

use super::columns::RecordRole;
use super::mapping::Mapping;
use super::recorded::{RecordedEvent, RowProblem};
use super::row::RecordRow;
use crate::model::value::Value;
use chrono::NaiveDate;

/// What became of a batch.
#[derive(Debug, Default)]
pub struct RecordedOutcome {
    /// Looks, pottings and discards in order of days.
    pub events: Vec<RecordedEvent>,
    /// Why cells of the outcome do not fit.
    pub doubts: Vec<RowProblem>,
    /// These cells with the names of their columns.
    pub kept: Vec<String>,
}

/// The roles that tell of the outcome.
const DAYS: [RecordRole; 4] = [
    RecordRole::DateCallused,
    RecordRole::DateRooted,
    RecordRole::DatePotted,
    RecordRole::DateCounted,
];
const COUNTS: [RecordRole; 4] = [
    RecordRole::Callused,
    RecordRole::Rooted,
    RecordRole::Died,
    RecordRole::Potted,
];

/// Reads it. `stuck` cuttings were stuck on `day`.
///
/// # Errors
/// If the mapping must settle something first: the order of day and month, or the day of counting.
pub fn read(
    record: &RecordRow<'_>,
    stuck: u32,
    day: NaiveDate,
) -> Result<RecordedOutcome, RowProblem> {
    let mut doubts = Vec::new();
    let mut days = [None; 4];
    for (slot, role) in days.iter_mut().zip(DAYS) {
        match record.day(role) {
            Ok(Some(on)) if on < day => doubts.push(RowProblem::BeforeSticking {
                column: record.cell(role).map_or("", |(_, name)| name).to_owned(),
                day: on,
                stuck: day,
            }),
            Ok(on) => *slot = on,
            Err(order @ RowProblem::DayOrder { .. }) => return Err(order),
            Err(other) => doubts.push(other),
        }
    }
    let mut counts = [None; 4];
    for (slot, role) in counts.iter_mut().zip(COUNTS) {
        match record.count(role, Some(stuck)) {
            Ok(count) => *slot = count,
            Err(problem) => doubts.push(problem),
        }
    }
    let counts = Counts::new(counts, record.mapping.callused_includes_rooted);
    doubts.extend(counts.excess(stuck));
    if !doubts.is_empty() {
        return Ok(RecordedOutcome {
            events: Vec::new(),
            doubts,
            kept: cells(record),
        });
    }
    let mut outcome = RecordedOutcome::default();
    if let (Some(_), None) = (counts.callused, counts.rooted) {
        // A count of callus alone does not say that none had rooted, which a lift would.
        let cell = record.cell(RecordRole::Callused);
        let cell = cell.map(|(cell, _)| record.named(RecordRole::Callused, &cell.words()));
        outcome.kept.extend(cell);
    }
    let dates = Dates::new(days, record.mapping);
    outcome.spoken(&counts, &dates, record);
    outcome.counted(&counts, &dates, stuck, record.mapping.clear_counted)?;
    outcome.events.sort_by_key(|event| event.day);
    Ok(outcome)
}

/// All cells of the outcome with the names of their columns.
fn cells(record: &RecordRow<'_>) -> Vec<String> {
    let roles = DAYS.into_iter().chain(COUNTS);
    let named = |role| Some(record.named(role, &record.cell(role)?.0.words()));
    roles.filter_map(named).collect()
}

/// The counts of a row; `callused` are those that had no roots yet.
struct Counts {
    callused: Option<u32>,
    rooted: Option<u32>,
    died: Option<u32>,
    potted: Option<u32>,
}

impl Counts {
    fn new([callused, rooted, died, potted]: [Option<u32>; 4], includes_rooted: bool) -> Self {
        let callused = match (callused, rooted) {
            (Some(callused), Some(rooted)) if includes_rooted => {
                Some(callused.saturating_sub(rooted))
            }
            _ => callused,
        };
        Self {
            callused,
            rooted,
            died,
            potted,
        }
    }

    fn is_tallied(&self) -> bool {
        self.rooted.is_some()
    }

    fn is_counted(&self) -> bool {
        self.is_tallied() || self.died.is_some()
    }

    /// That they are more than were stuck.
    fn excess(&self, stuck: u32) -> Option<RowProblem> {
        let count = |count: Option<u32>| count.unwrap_or(0);
        let up = count(self.rooted).saturating_add(count(self.callused));
        let sum = up.max(count(self.potted)).saturating_add(count(self.died));
        let named = [
            ("callused", self.callused),
            ("rooted", self.rooted),
            ("potted", self.potted),
            ("died", self.died),
        ];
        let parts = named
            .into_iter()
            .filter_map(|(what, count)| Some(format!("{what} {}", count?)));
        let parts: Vec<String> = parts.collect();
        (sum > stuck).then(|| RowProblem::TooMany {
            sum,
            parts: parts.join(", "),
            stuck,
        })
    }
}

/// The days of a row.
struct Dates {
    callused: Option<NaiveDate>,
    rooted: Option<NaiveDate>,
    potted: Option<NaiveDate>,
    /// The day of counting: its own, else that of potting, else that of rooting, else the mapping's.
    counted: Option<NaiveDate>,
}

impl Dates {
    fn new([callused, rooted, potted, counted]: [Option<NaiveDate>; 4], mapping: &Mapping) -> Self {
        let counted = counted.or(potted).or(rooted).or(mapping.counted_on);
        Self {
            callused,
            rooted,
            potted,
            counted,
        }
    }
}

impl RecordedOutcome {
    /// A day of callus or roots of its own says that the batch had come so far, not how many: a spoken guess.
    fn spoken(&mut self, counts: &Counts, dates: &Dates, record: &RecordRow<'_>) {
        let stages = [
            (RecordRole::DateCallused, dates.callused, "lift", "callused"),
            (RecordRole::DateRooted, dates.rooted, "tug", "rooted"),
        ];
        for (role, on, how, stage) in stages {
            // On the day of the count itself the count says more.
            let Some(on) = on.filter(|on| !(counts.is_tallied() && Some(*on) == dates.counted))
            else {
                continue;
            };
            match record.mapping.date_alone {
                Some(guess) => self.events.push(spoken(on, how, stage, guess.word())),
                None => {
                    let cell = record.cell(role).map(|(cell, _)| cell.words());
                    self.kept.extend(cell.map(|cell| record.named(role, &cell)));
                }
            }
        }
    }

    /// The look of the count, the potting, and the clearing of the rest where the mapping says so.
    fn counted(
        &mut self,
        counts: &Counts,
        dates: &Dates,
        stuck: u32,
        clears: bool,
    ) -> Result<(), RowProblem> {
        let clears = clears && (counts.is_counted() || counts.potted.is_some());
        let rooted = counts.rooted.filter(|_| clears);
        let potted = counts.potted.or(rooted).unwrap_or(0);
        let Some(count_day) = dates.counted else {
            let any = counts.is_counted() || counts.potted.is_some();
            return if any {
                Err(RowProblem::NoCountDay)
            } else {
                Ok(())
            };
        };
        if counts.is_counted() {
            self.events.push(look(count_day, counts, stuck));
        }
        let on = dates.potted.unwrap_or(count_day).max(count_day);
        if potted > 0 {
            let day = dates.potted.unwrap_or(count_day);
            self.events
                .push(event(day, "pot", vec![("count", number(potted))]));
        }
        let rest = stuck - counts.died.unwrap_or(0) - potted;
        if clears && rest > 0 {
            let why = Value::Text("given-up".into());
            let fields = vec![("count", number(rest)), ("why", why)];
            self.events.push(event(on, "discard", fields));
        }
        Ok(())
    }
}

fn number(count: u32) -> Value {
    Value::Number(f64::from(count))
}

fn event(day: NaiveDate, kind: &'static str, fields: Vec<(&str, Value)>) -> RecordedEvent {
    let fields = fields
        .into_iter()
        .map(|(name, value)| (name.to_owned(), value))
        .collect();
    RecordedEvent { day, kind, fields }
}

/// A look that only says about how many had come so far.
fn spoken(day: NaiveDate, how: &str, stage: &str, guess: &str) -> RecordedEvent {
    let about = Value::Map(vec![(stage.to_owned(), Value::Text(guess.into()))]);
    event(
        day,
        "look",
        vec![("how", Value::Text(how.into())), ("about", about)],
    )
}

/// The look of the count: a lift if callus was counted as well, a tug if only roots were, else a glance at the dead.
fn look(day: NaiveDate, counts: &Counts, stuck: u32) -> RecordedEvent {
    let dead = counts.died.unwrap_or(0);
    let how = match (counts.callused, counts.rooted) {
        (Some(_), Some(_)) => "lift",
        (None, Some(_)) => "tug",
        (_, None) => "glance",
    };
    let mut fields = vec![("how", Value::Text(how.into()))];
    if counts.is_tallied() {
        fields.push(("seen", number(stuck - dead)));
        fields.extend(counts.callused.map(|n| ("callused", number(n))));
    }
    fields.extend(counts.rooted.map(|n| ("rooted", number(n))));
    if dead > 0 {
        let lost = Value::Map(vec![("unknown".to_owned(), number(dead))]);
        fields.push(("lost", lost));
    }
    event(day, "look", fields)
}
