//! What is due as a calendar (RFC 5545): a day-long event a batch with its next look, potting or decision, and one a target.
//! A batch keeps its event's identity, so that importing anew moves events and doubles none.

use crate::analysis::due::{DueItem, DueList};
use crate::fold::Book;
use crate::model::entry::Target;
use crate::text::clean::shown;
use crate::text::dates::Calendar;
use crate::text::due::{deed, why};
use chrono::{DateTime, Days, FixedOffset, NaiveDate, NaiveTime, Timelike, Utc};

/// Octets of the longest line (RFC 5545, section 3.1).
const LONGEST_LINE: usize = 75;
/// Days after its last entry for which a batch that is gone is still told of, so that its event is taken away.
const TOLD_GONE: i64 = 90;

/// How a calendar is made.
#[derive(Clone, Copy, Debug)]
pub struct CalendarOptions {
    /// When it is made.
    pub made_at: DateTime<FixedOffset>,
    /// The time of day of an alarm on each event, if one is wanted.
    pub alarm: Option<NaiveTime>,
}

/// One event.
struct CalendarEvent {
    uid: String,
    on: NaiveDate,
    summary: String,
    description: String,
    is_cancelled: bool,
}

/// The calendar of a book. `due` is what is due as of the present day.
#[must_use]
pub fn calendar_file(
    book: &Book,
    due: &DueList,
    words: Calendar,
    options: &CalendarOptions,
) -> String {
    let mut events: Vec<CalendarEvent> = due
        .items
        .iter()
        .map(|item| batch_event(item, words))
        .collect();
    events.extend(targets(book, words));
    events.extend(gone(book, words.today));
    events.sort_by(|a, b| (a.on, &a.uid).cmp(&(b.on, &b.uid)));
    let mut out = Lines::default();
    for line in [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//struck//bench journal//EN",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
    ] {
        out.line(line);
    }
    for event in &events {
        out.event(event, options);
    }
    out.line("END:VCALENDAR");
    out.0
}

/// The next thing of a batch; one that is past its day stands on the present one.
fn batch_event(item: &DueItem, words: Calendar) -> CalendarEvent {
    let what = item.reason().map_or("look", deed);
    let mut told: Vec<String> = item
        .reasons
        .iter()
        .map(|reason| why(reason, words))
        .collect();
    told.extend(item.place.as_ref().map(|place| format!("at {place}")));
    CalendarEvent {
        uid: item.key.to_string(),
        on: item.on.max(words.today),
        summary: format!("{} {what}: {}", item.code, item.taxon),
        description: told.join("; "),
        is_cancelled: false,
    }
}

fn targets(book: &Book, words: Calendar) -> impl Iterator<Item = CalendarEvent> {
    book.targets().filter_map(move |standing| {
        let target = standing.entry.get::<Target>()?;
        let taxon = book.taxa().resolve(&target.taxon).shown();
        (target.by_date >= words.today).then(|| CalendarEvent {
            uid: standing.entry.id.to_string(),
            on: target.by_date,
            summary: format!("target: {} {taxon}", target.count),
            description: format!("A target of {} plants by this day", target.count),
            is_cancelled: false,
        })
    })
}

/// Batches that are gone since: what was to be done about them no longer is.
fn gone(book: &Book, today: NaiveDate) -> impl Iterator<Item = CalendarEvent> {
    let is_told = move |last: NaiveDate| (0..=TOLD_GONE).contains(&(today - last).num_days());
    book.batches()
        .iter()
        .filter(move |batch| !batch.is_open() && is_told(batch.last_day()))
        .map(|batch| CalendarEvent {
            uid: batch.key.to_string(),
            on: batch.last_day(),
            summary: format!("{} is off the bench: {}", batch.code, batch.taxon.shown()),
            description: String::new(),
            is_cancelled: true,
        })
}

/// Content lines, folded and ended as the standard has it.
#[derive(Default)]
struct Lines(String);

impl Lines {
    /// Adds a line; a long one is folded between letters.
    fn line(&mut self, text: &str) {
        let mut room = LONGEST_LINE;
        for c in text.chars() {
            if c.len_utf8() > room {
                self.0.push_str("\r\n ");
                room = LONGEST_LINE - 1;
            }
            self.0.push(c);
            room -= c.len_utf8();
        }
        self.0.push_str("\r\n");
    }

    /// Adds a property whose value is text.
    fn text(&mut self, name: &str, value: &str) {
        let mut line = format!("{name}:");
        for c in shown(value).chars() {
            if matches!(c, '\\' | ';' | ',') {
                line.push('\\');
            }
            line.push(c);
        }
        self.line(&line);
    }

    fn event(&mut self, event: &CalendarEvent, options: &CalendarOptions) {
        let day = |day: NaiveDate| day.format("%Y%m%d").to_string();
        let end = event.on.checked_add_days(Days::new(1)).unwrap_or(event.on);
        let made = options.made_at.with_timezone(&Utc);
        self.line("BEGIN:VEVENT");
        self.line(&format!("UID:{}@struck", event.uid));
        self.line(&format!("DTSTAMP:{}", made.format("%Y%m%dT%H%M%SZ")));
        // Each making supersedes the one before it (section 3.8.7.4).
        self.line(&format!("SEQUENCE:{}", made.timestamp() / 60));
        self.line(&format!("DTSTART;VALUE=DATE:{}", day(event.on)));
        self.line(&format!("DTEND;VALUE=DATE:{}", day(end)));
        self.text("SUMMARY", &event.summary);
        if !event.description.is_empty() {
            self.text("DESCRIPTION", &event.description);
        }
        self.line(if event.is_cancelled {
            "STATUS:CANCELLED"
        } else {
            "STATUS:CONFIRMED"
        });
        self.line("TRANSP:TRANSPARENT");
        if let Some(at) = options.alarm.filter(|_| !event.is_cancelled) {
            self.line("BEGIN:VALARM");
            self.line("ACTION:DISPLAY");
            self.text("DESCRIPTION", &event.summary);
            self.line(&format!("TRIGGER:PT{}H{}M", at.hour(), at.minute()));
            self.line("END:VALARM");
        }
        self.line("END:VEVENT");
    }
}
