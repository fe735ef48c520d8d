//! `climate import`: a logger's file, or a sensor's lines from standard input. It shows what it understood, and
//! writes only when told to.

mod said;

use crate::app::desk::Desk;
use crate::app::failure::Failure;
use crate::app::loggers::sensor::SensorEvent;
use crate::app::loggers::{ImportDoubt, Survey};
use crate::app::record::Unsaved;
use crate::cli::context::{Context, say_begun};
use crate::cli::output;
use crate::cli::output::Exit;
use crate::cli::output::Progress;
use crate::input::logger::guess::ColumnName;
use crate::input::logger::stamp;
use crate::input::logger::{ColumnRole, DayOrder, LayoutQuestion, ReadingUnit};
use crate::text::clean::shown;
use crate::text::figures::many;
use clap::{Args, ValueEnum};
use serde::Serialize;
use std::io::{BufReader, Read};
use std::path::{Path, PathBuf};

/// Longest table that is taken from standard input without `--write`, in bytes.
const LONGEST_TRY: u64 = 64 << 20;

/// The arguments of `climate import`.
#[derive(Args, Debug)]
#[command(
    after_help = "Columns are known by their headings and units: times, air, rh, leaf, medium, light (µmol), \
mist-on, mist-every, vent. What was understood is shown and nothing is written, until --write. \
To import the same readings twice adds nothing. Humidity a little above 100 % (to 103) is taken for 100.\n\n\
Examples:\n  \
struck climate import shed.csv --place \"mist bench\"\n  \
struck climate import shed.csv --place \"mist bench\" --column air=2:F --column medium=\"Probe 1\" --write\n  \
read-sensor | struck climate import - --place frame --heading \"air C,rh %\" --write"
)]
pub struct ClimateImportArguments {
    /// The file: CSV, or its like with semicolons or tabs; `-` for standard input, a line at a time
    file: PathBuf,
    /// The place where it was measured
    #[arg(long, value_name = "PLACE")]
    place: String,
    /// What a column holds: ROLE=HEADING, ROLE=NUMBER or ROLE=- for none, with a unit as ROLE=2:F
    #[arg(long = "column", value_name = "ROLE=COLUMN[:UNIT]")]
    columns: Vec<String>,
    /// Headings for a table that has none, set off by commas
    #[arg(long, value_name = "HEADINGS")]
    heading: Option<String>,
    /// Whether day or month comes first in dates as 3/6/2026
    #[arg(long, value_name = "ORDER")]
    dates: Option<Dates>,
    /// The decimal sign
    #[arg(long, value_name = "SIGN")]
    decimal: Option<Decimal>,
    /// What stands between columns
    #[arg(long, value_name = "SIGN")]
    between: Option<Between>,
    /// The zone of times that say none, as +02:00 or UTC; else this machine's, its clock changes with it
    #[arg(long, value_name = "OFFSET", allow_hyphen_values = true)]
    zone: Option<String>,
    /// Write the readings that are new
    #[arg(long)]
    write: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Dates {
    /// 14/6/2026
    Dmy,
    /// 6/14/2026
    Mdy,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Decimal {
    Comma,
    Point,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Between {
    Comma,
    Semicolon,
    Tab,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &ClimateImportArguments) -> Result<Exit, Failure> {
    if arguments.place.trim().is_empty() {
        return Err(Failure::usage("Where was it measured? The place is empty."));
    }
    let mut desk = if arguments.write {
        context.open_to_write()?
    } else {
        context.open_or_empty()?
    };
    let ask = ask(&desk, arguments)?;
    let from_input = arguments.file == Path::new("-");
    if from_input && arguments.write {
        return follow(context, &mut desk, arguments, &ask);
    }
    let survey = if from_input {
        let mut text = Vec::new();
        let mut input = std::io::stdin().take(LONGEST_TRY + 1);
        let read = input.read_to_end(&mut text);
        read.map_err(|error| Failure::could(format!("Standard input: {error}.")))?;
        if text.len() as u64 > LONGEST_TRY {
            return Err(too_long());
        }
        desk.survey_text(&text, &arguments.place, &ask)?
    } else {
        let mut progress = Progress::new(context.environment.watched, "rows read:");
        let survey = desk.survey_logger(&arguments.file, &arguments.place, &ask, &mut |rows| {
            progress.count(rows);
        });
        progress.end();
        survey?
    };
    let doubts = survey.doubts();
    let written = if arguments.write && doubts.is_empty() && survey.new > 0 {
        write(context, &mut desk, arguments, &survey)?
    } else {
        0
    };
    let told = if arguments.json {
        context.print_json(&said::ImportAnswer::new(&survey, written))
    } else {
        let name = output::file_name(&arguments.file);
        let units = desk.book().nursery().units;
        context.print_text(&said::text(context, &name, &survey, units))
    };
    if let Err(exit) = told {
        return Ok(exit);
    }
    if !doubts.is_empty() && arguments.write {
        return Err(doubtful(&doubts));
    }
    if !arguments.json {
        output::say(&said::end(&survey, arguments.write, written));
    }
    Ok(Exit::Done)
}

fn too_long() -> Failure {
    let mib = LONGEST_TRY >> 20;
    Failure::could(format!("Standard input is longer than {mib} MiB."))
        .hint("Save it to a file and import that.")
}

fn doubtful(doubts: &[ImportDoubt]) -> Failure {
    let mut failure = Failure::could("Something must be said first.");
    for doubt in doubts {
        let (sentence, option) = (doubt.sentence(), doubt.option());
        failure = failure.hint(format!("{} Say {option}, for example.", shown(&sentence)));
    }
    failure.hint("Nothing was written.")
}

fn write(
    context: &Context,
    desk: &mut Desk,
    arguments: &ClimateImportArguments,
    survey: &Survey,
) -> Result<u64, Failure> {
    let mut progress = Progress::new(context.environment.watched, "rows written:");
    let done = desk.import_logger(&arguments.file, survey, &mut |rows| progress.count(rows));
    progress.end();
    let written = done.map_err(|unsaved| cut_off(&unsaved))?;
    if desk.is_new() {
        say_begun(&desk.settings().journal);
    }
    Ok(written)
}

fn cut_off(unsaved: &Unsaved) -> Failure {
    let failure = unsaved.failure().clone();
    failure.hint(
        "Import it once more when that is settled: what is in the journal already is not added twice.",
    )
}

/// Saves a sensor's lines as they come.
fn follow(
    context: &Context,
    desk: &mut Desk,
    arguments: &ClimateImportArguments,
    ask: &LayoutQuestion,
) -> Result<Exit, Failure> {
    let mut input = BufReader::with_capacity(1 << 16, std::io::stdin());
    let (mut bad, json) = (0_u64, arguments.json);
    let (mut begins, path) = (desk.is_new(), desk.settings().journal.clone());
    let done = desk.follow_sensor(&mut input, &arguments.place, ask, &mut |told| match told {
        SensorEvent::LeftOut(left_out) => {
            bad += 1;
            output::say(&said::left_out(&left_out));
        }
        SensorEvent::Saved(count) => {
            if std::mem::take(&mut begins) {
                say_begun(&path);
            }
            if !json {
                output::say(&format!("Saved: {count} so far.\n"));
            }
        }
    });
    let saved = done.map_err(|unsaved| cut_off(&unsaved))?;
    let told = if json {
        context.print_json(&FollowAnswer {
            written: saved,
            bad,
        })
    } else {
        let rows = many(saved, "reading", "readings");
        context.print_text(&format!("{rows} written, {bad} left out.\n"))
    };
    Ok(told.err().unwrap_or(Exit::Done))
}

/// The answer at the end of a sensor's lines: readings written, lines left out.
#[derive(Serialize)]
struct FollowAnswer {
    written: u64,
    bad: u64,
}

/// What the user says of the table.
fn ask(desk: &Desk, arguments: &ClimateImportArguments) -> Result<LayoutQuestion, Failure> {
    let zone = arguments.zone.as_deref().map(|text| {
        stamp::offset(text).ok_or_else(|| {
            Failure::usage(format!("'{}' is no offset.", shown(text)))
                .hint("Say +02:00, -05:00 or UTC.")
        })
    });
    let columns: Result<Vec<_>, Failure> =
        arguments.columns.iter().map(|text| column(text)).collect();
    Ok(LayoutQuestion {
        columns: columns?,
        heading: arguments.heading.clone(),
        order: arguments.dates.map(|dates| match dates {
            Dates::Dmy => DayOrder::DayFirst,
            Dates::Mdy => DayOrder::MonthFirst,
        }),
        comma: arguments.decimal.map(|sign| matches!(sign, Decimal::Comma)),
        between: arguments.between.map(|sign| match sign {
            Between::Comma => b',',
            Between::Semicolon => b';',
            Between::Tab => b'\t',
        }),
        zone: zone.transpose()?,
        usual: desk.book().nursery().units,
    })
}

/// `air=2:F`, `medium=Probe 1`, `rh=-`.
fn column(text: &str) -> Result<(ColumnRole, ColumnName, Option<ReadingUnit>), Failure> {
    let roles = || {
        let words: Vec<_> = ColumnRole::ALL.iter().map(|role| role.word()).collect();
        format!(
            "A column is given as ROLE=COLUMN; roles are {}.",
            words.join(", ")
        )
    };
    let wrong = |what: String| Failure::usage(what).hint(roles());
    let (role, rest) = text
        .split_once('=')
        .ok_or_else(|| wrong(format!("'{}' has no '='.", shown(text))))?;
    let role = ColumnRole::named(role.trim())
        .ok_or_else(|| wrong(format!("'{}' is no role.", shown(role))))?;
    let (which, unit) = match rest.rsplit_once(':') {
        Some((which, unit)) if ReadingUnit::named(unit).is_some() => {
            (which, ReadingUnit::named(unit))
        }
        // Behind a number stands a unit; a heading may hold a colon.
        Some((which, unit)) if which.trim().parse::<usize>().is_ok() => {
            let units: Vec<&str> = role.units().iter().map(|unit| unit.shown()).collect();
            return Err(Failure::usage(format!(
                "'{}' is no unit of {}.",
                shown(unit),
                role.words()
            ))
            .hint(match units.concat().is_empty() {
                true => "It has none.".to_owned(),
                false => format!("Say {}.", units.join(" or ")),
            }));
        }
        _ => (rest, None),
    };
    let which = match which.trim() {
        "-" => ColumnName::Nothing,
        which => which.parse().map_or_else(
            |_| ColumnName::Heading(which.to_owned()),
            ColumnName::Number,
        ),
    };
    Ok((role, which, unit))
}
