//! `add`: one line as said at the bench becomes entries. It says back what it understood before it writes.

use super::context::{Context, say_begun};
use super::output;
use super::output::Exit;
use crate::app::desk::Desk;
use crate::app::failure::Failure;
use crate::app::mends::Mend;
use crate::app::record::{NewEntry, PreparedTransaction, Transaction, Unsaved};
use crate::app::sums::{Misfit, news};
use crate::app::vocabulary::vocabulary;
use crate::fold::Book;
use crate::input::bench_line;
use crate::input::bench_line::{LineReading, Now, phrases_help};
use crate::model::at::At;
use crate::model::entry::{Entry, Kind};
use crate::model::id::Id;
use crate::text::cautions::cautions_due;
use crate::text::clean::shown;
use crate::text::dates::Calendar;
use crate::text::faults;
use crate::text::faults::going_with;
use clap::Args;
use std::sync::Arc;

/// The arguments of `add`.
#[derive(Args, Debug)]
#[command(
    after_help = "The line is a verb, then phrases set off by commas, in any order:\n  \
stick 24 Weigela florida, semi-ripe, nodal, tip, 4 nodes, iba 3000 talc, in bark:perlite 1:1, tray, at bench A, mist, heat 21\n  \
look 26-041: callused 4, rooted 3, bottom 2, black 1\n  \
climate bench A: air 24.5, rh 82, medium 21, mist 10s/12min\n  \
pot 041 18, 9 cm\n\
All that a line may say: struck add --help",
    after_long_help = phrases_help()
)]
pub struct AddArguments {
    /// The line, as `look 041: callused 4, rooted 3`
    #[arg(required = true)]
    line: Vec<String>,
    /// When it was, as `yesterday 16:30` or `3 Jun`; else now
    #[arg(long, value_name = "TIME", allow_hyphen_values = true)]
    at: Option<String>,
    /// Who enters it
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// Show the entry and write nothing
    #[arg(long)]
    dry_run: bool,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &AddArguments) -> Result<Exit, Failure> {
    let line = arguments.line.join(" ");
    let mut desk = if arguments.dry_run {
        context.open_or_empty()?
    } else {
        context.open_to_write()?
    };
    context.basis.say();
    let at = match &arguments.at {
        Some(text) => context.moment(text)?,
        None => At::Time(desk.clock().now()),
    };
    let reading = read(&mut desk, &line, at)?;
    if !reading.is_whole() {
        return Err(not_understood(&reading));
    }
    output::say(&format!("{}\n", reading.say_back().trim_end()));
    let mut prepared = prepare(&mut desk, &reading, at, arguments.by.clone())?;
    output::say(&dated(&prepared, &desk));
    output::say(&namesakes(prepared.entries(), desk.book()));
    refuse_misfits(&desk.misfits(&prepared))?;
    output::say(&cautioned(context, &desk, &prepared, arguments.dry_run));
    if arguments.dry_run {
        return write_nothing(&desk, &prepared);
    }
    let before = Arc::clone(desk.book());
    output::say(&going(prepared.entries(), &before));
    match save(&mut desk, &mut prepared) {
        Ok(()) => {
            if desk.is_new() {
                say_begun(&desk.settings().journal);
            }
            if let Some(unread) = desk.unread() {
                output::say(&format!("{}\n{PARTLY_READ}\n", unread.sentence()));
            }
            for entry in prepared.entries() {
                output::say(&saved(entry));
                output::say(&ahead(entry, &desk));
            }
            output::say(&odd(&before, prepared.entries(), &desk));
            Ok(Exit::Done)
        }
        Err(unsaved) => Err(kept(&desk, &line, &prepared, &unsaved)),
    }
}

/// What is said of codes and sums while a part of the journal cannot be read.
const PARTLY_READ: &str = "Codes and sums were checked without it.";

/// The cautions that the entries call for, each once a day, person and thing. What cannot be remembered is told again.
fn cautioned(
    context: &Context,
    desk: &Desk,
    prepared: &PreparedTransaction,
    dry_run: bool,
) -> String {
    let mut memory = desk.memory();
    let mut out = String::new();
    for entry in prepared.entries() {
        for caution in cautions_due(&entry.kind, desk.book()) {
            let by = entry.by.as_deref().unwrap_or_default().to_owned();
            let today = desk.clock().now().date_naive();
            if memory.cautioned.insert((today, by, caution.key)) {
                out.push_str(&context.lines(&format!("! {}", caution.line)));
            }
        }
    }
    if !dry_run && !out.is_empty() {
        desk.remember(&memory).ok();
    }
    out
}

/// Saves; where the outcome is not known, once more under the same id, which doubles nothing.
fn save(desk: &mut Desk, prepared: &mut PreparedTransaction) -> Result<(), Unsaved> {
    match desk.save(prepared) {
        Err(Unsaved::Unknown(_)) => match desk.save(prepared) {
            // The first try may be on the disk, so a refusal of the second settles nothing.
            Err(Unsaved::Refused(failure) | Unsaved::Unknown(failure)) => {
                Err(Unsaved::Unknown(failure))
            }
            Ok(()) => Ok(()),
        },
        other => other,
    }
}

fn read(desk: &mut Desk, line: &str, at: At) -> Result<LineReading, Failure> {
    let known = vocabulary(desk, at)?;
    let clock = desk.clock();
    let offset_at = |local| clock.offset_at(local);
    let now = Now {
        at: clock.now(),
        offset_at: &offset_at,
    };
    let mut reading = bench_line::read(line, &known, &now);
    reading.doubt_beginning(&known);
    Ok(reading)
}

/// The entry that the line makes, completed for writing.
fn prepare(
    desk: &mut Desk,
    reading: &LineReading,
    at: At,
    by: Option<String>,
) -> Result<PreparedTransaction, Failure> {
    let code = desk.next_code(at)?;
    let fields = reading.entry_fields(&at, Some(&code));
    // The desk gives the id.
    let nameless = || Id::for_line(0, 1);
    let mut entry = Entry::from_fields(fields, nameless)
        .map_err(|fault| Failure::usage(faults::entry_sentence(&fault)))?;
    if let Some(code) = entry
        .kind
        .code_begun_mut()
        .filter(|_| reading.allots.is_some())
    {
        // The desk allots it.
        code.clear();
    }
    let act = Transaction {
        at: Some(entry.at),
        by: by.or(entry.by.map(Into::into)),
        entries: vec![NewEntry {
            kind: entry.kind,
            note: entry.note.map(Into::into),
        }],
    };
    desk.prepare(act)
}

/// What was not understood, with what was.
fn not_understood(reading: &LineReading) -> Failure {
    let mut complaints = reading.complaints().into_iter().map(|text| shown(&text));
    let first = complaints
        .next()
        .unwrap_or_else(|| "The line is empty.".into());
    let failure = complaints.fold(Failure::usage(first), Failure::hint);
    failure.hint("Nothing was saved. See `struck add --help` for how a line is said.")
}

fn refuse_misfits(misfits: &[Misfit]) -> Result<(), Failure> {
    let Some(first) = misfits.first() else {
        return Ok(());
    };
    let mut told = first.sentences().into_iter();
    let failure = Failure::could(told.next().unwrap_or_default());
    let mut failure = told.fold(failure, Failure::hint);
    let mends: Vec<&Mend> = misfits.iter().filter_map(|it| it.mend.as_ref()).collect();
    for mend in &mends {
        let command = format!(
            "struck add \"amend {}: {} {}\"",
            mend.of,
            mend.field(),
            mend.to
        );
        failure = failure.hint(format!("If {}: {command}", mend.sentence()));
    }
    if !mends.is_empty() {
        failure = failure.hint("Then enter this once more.");
    }
    Err(failure.hint("Nothing was saved."))
}

fn write_nothing(desk: &Desk, prepared: &PreparedTransaction) -> Result<Exit, Failure> {
    for entry in prepared.entries() {
        let line = desk.line_of(entry)?;
        if let Err(exit) = output::json_line(&line) {
            return Ok(exit);
        }
    }
    output::say("Nothing was written.\n");
    Ok(Exit::Done)
}

/// A line that could not be saved is kept as a draft, and offered when the bench is next opened.
fn kept(desk: &Desk, line: &str, prepared: &PreparedTransaction, unsaved: &Unsaved) -> Failure {
    let mut failure = unsaved.failure().clone();
    let mut lines = Vec::new();
    if matches!(unsaved, Unsaved::Unknown(_)) {
        lines = prepared.lines().unwrap_or_default();
        // The desk's own words hold for saving the same prepared entries again, which this run did:
        // a new run would make a new id.
        failure.hints = vec![
            "See that the disk is sound and has room.".into(),
            "It was tried twice and may be in the journal: \
             check with `struck batches` and `struck show` before you enter it once more."
                .into(),
        ];
    }
    match desk.keep_line(
        &format!("line\t\t\t{}", line.replace(char::is_whitespace, " ")),
        lines,
    ) {
        Ok(path) => failure.hint(format!("The line is kept in {}.", path.display())),
        Err(error) => failure.hint(format!(
            "The line could not be kept as a draft either ({error}): copy it."
        )),
    }
}

fn calendar(desk: &Desk) -> Calendar {
    Calendar::for_book(desk.book(), desk.clock().now().date_naive())
}

/// Which batch is meant where others bear its code, and how to name one of them.
fn namesakes(entries: &[Entry], book: &Book) -> String {
    let told = entries.iter().filter_map(|entry| {
        let batch = book.batch(entry.kind.batch_named()?.stick?)?;
        let mut others = book.by_code(&batch.code).filter(|it| it.key != batch.key);
        let other = others.next_back()?;
        let (code, meant) = (shown(&batch.code), shown(&batch.taxon.shown()));
        let (taxon, key) = (shown(&other.taxon.shown()), &other.key);
        Some(format!(
            "Another batch has the code {code} too. This entry is for {meant}; for {taxon} add `id {key}` to the line.\n"
        ))
    });
    told.collect()
}

/// Of what earlier day the entries are.
fn dated(prepared: &PreparedTransaction, desk: &Desk) -> String {
    let day = prepared.entries().first().map(|entry| entry.at.day());
    let said = day.and_then(|day| calendar(desk).earlier(day));
    said.map_or_else(String::new, |said| format!("{said}\n"))
}

/// A word where the day of an entry has yet to come, and its remedy.
fn ahead(entry: &Entry, desk: &Desk) -> String {
    let calendar = calendar(desk);
    let Some(said) = calendar.yet_to_come(entry.at.day()) else {
        return String::new();
    };
    let id = &entry.id;
    format!("{said} If that is a slip: struck add \"amend {id}: dated today\".\n")
}

/// What the journal shows as wrong or odd since these entries, and the remedy.
fn odd(before: &Book, entries: &[Entry], desk: &Desk) -> String {
    let faults = news(before, desk.book());
    let faults = faults.iter();
    let told: String = faults.map(|fault| faults::of_batch(fault) + "\n").collect();
    match entries.first().filter(|_| !told.is_empty()) {
        Some(Entry { id, .. }) => {
            format!(
                "{told}If that is a slip: struck add \"withdraw {id}\", then enter what is right.\n"
            )
        }
        None => told,
    }
}

/// What leaves the figures with what is withdrawn.
fn going(entries: &[Entry], book: &Book) -> String {
    let withdrawn = entries.iter().filter_map(|entry| match &entry.kind {
        Kind::Withdraw(it) => going_with(book.going_with(&it.target)),
        _ => None,
    });
    withdrawn.map(|said| format!("With it {said}.\n")).collect()
}

/// That an entry is on the disk, with the code for the label if it has one.
fn saved(entry: &Entry) -> String {
    let code = entry
        .kind
        .write()
        .into_iter()
        .find(|(name, _)| *name == "into" || *name == "batch");
    match code.as_ref().and_then(|(_, value)| value.text()) {
        Some(code) => format!("Saved: {}, entry {}.\n", shown(code), entry.id),
        None => format!("Saved: entry {}.\n", entry.id),
    }
}
