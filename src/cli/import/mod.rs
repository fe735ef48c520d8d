//! `import`: old records from a table or a workbook. It shows what it understood, and writes only when told to.

mod page;

use super::context::{Context, say_begun};
use super::output::{self, Exit};
use crate::app::desk::Desk;
use crate::app::failure::Failure;
use crate::app::old_records::{RecordsQuestion, RecordsSurvey, keep_mapping, mapping_path};
use crate::app::record::Unsaved;
use crate::input::logger::DayOrder;
use crate::text::clean::shown;
use crate::text::figures::many;
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// Arguments of `import`.
#[derive(Args, Debug)]
#[command(
    after_help = "The table has one row a batch: CSV or its like with any delimiter, or a workbook (.xlsx, .xls, .ods). Columns are known \
by their headings and contents. What was understood is shown, with every row that was not, and nothing is written to the journal \
until --write. How the table is read is kept in a small text file beside it, to be edited and used with --with. \
To import the same rows twice adds nothing.\n\n\
Examples:\n  \
struck import cuttings-2023.csv\n  \
struck import cuttings-2023.csv --with cuttings-2023.csv.struck.toml --write\n  \
struck import cuttings-2023.csv --with cuttings-2023.csv.struck.toml --withdraw"
)]
pub struct ImportArguments {
    /// The table
    file: PathBuf,
    /// The sheet of a workbook; else the first that holds anything
    #[arg(long, value_name = "NAME")]
    sheet: Option<String>,
    /// The mapping: what each column means and how words are taken
    #[arg(long, value_name = "MAPPING")]
    with: Option<PathBuf>,
    /// Whether day or month comes first in days as 3/6/2026
    #[arg(long, value_name = "ORDER")]
    dates: Option<Dates>,
    /// Write the rows that are new
    #[arg(long, conflicts_with = "withdraw")]
    write: bool,
    /// Withdraw, in one write, every batch that this table brought into the journal
    #[arg(long)]
    withdraw: bool,
    /// As JSON
    #[arg(long, conflicts_with = "withdraw")]
    json: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Dates {
    /// 14/6/2026
    Dmy,
    /// 6/14/2026
    Mdy,
}

/// Runs it.
pub fn run(context: &Context, arguments: &ImportArguments) -> Result<Exit, Failure> {
    let mut desk = if arguments.write {
        context.open_to_write()?
    } else {
        context.open_or_empty()?
    };
    let beside = mapping_path(&arguments.file);
    // What was settled for the table before is what is meant now.
    let kept = (arguments.with.is_none() && beside.is_file()).then_some(beside.as_path());
    let with = arguments.with.as_deref().or(kept);
    let ask = RecordsQuestion {
        sheet: arguments.sheet.as_deref(),
        with,
        order: arguments.dates.map(|dates| match dates {
            Dates::Dmy => DayOrder::DayFirst,
            Dates::Mdy => DayOrder::MonthFirst,
        }),
    };
    let survey = desk.survey_records(&arguments.file, ask)?;
    if arguments.withdraw {
        return withdraw(&mut desk, &survey);
    }
    let written = if arguments.write {
        write(&mut desk, &survey)?
    } else {
        0
    };
    if written > 0 && desk.is_new() {
        say_begun(&desk.settings().journal);
    }
    let used = with.unwrap_or(&beside);
    let answer = if arguments.json {
        context.print_json(&page::object(&survey, used, written))
    } else {
        let name = output::file_name(&arguments.file);
        context.print_text(&page::understood(context, &name, with, &survey))
    };
    if let Err(exit) = answer {
        return Ok(exit);
    }
    if with.is_none() {
        keep(context, &beside, &survey);
    }
    if !arguments.json {
        output::say(&end(&desk, arguments, used, &survey, written));
    }
    Ok(Exit::Done)
}

/// Keeps the mapping beside its table. What was understood is told in any case, so a folder that takes no file is no
/// failure.
fn keep(context: &Context, beside: &Path, survey: &RecordsSurvey) {
    let text = survey.mapping.write(&survey.grid, &survey.unsettled);
    let told = match keep_mapping(beside, &text) {
        Ok(()) => format!(
            "How it was read is kept in {}; edit it as you need.",
            shown(&beside.to_string_lossy())
        ),
        Err(failure) => shown(&failure.message),
    };
    output::say(&context.lines(&told));
}

fn end(
    desk: &Desk,
    arguments: &ImportArguments,
    mapping: &Path,
    survey: &RecordsSurvey,
    written: u64,
) -> String {
    if arguments.write {
        return format!(
            "Saved: {}, {}; {} before, {} now.\n",
            many(survey.new.len() as u64, "batch", "batches"),
            many(written, "entry", "entries"),
            survey.before,
            desk.book().roster().len()
        );
    }
    let command = command(arguments, mapping);
    format!("Nothing is written to the journal yet. To write: {command}\n")
}

fn command(arguments: &ImportArguments, with: &Path) -> String {
    let quoted = |path: &Path| {
        let text = shown(&path.to_string_lossy());
        if text.contains(' ') {
            format!("\"{text}\"")
        } else {
            text
        }
    };
    format!(
        "struck import {} --with {} --write",
        quoted(&arguments.file),
        quoted(with)
    )
}

fn write(desk: &mut Desk, survey: &RecordsSurvey) -> Result<u64, Failure> {
    if survey.differing.is_empty() {
        return desk.write_records(survey).map_err(unsaved);
    }
    Err(Failure::could(format!(
        "{} in the journal already, but read differently now (line {}).",
        many(survey.differing.len() as u64, "row stands", "rows stand"),
        lines(&survey.differing)
    ))
    .hint(
        "Withdraw the earlier import first (--withdraw with the same table), then write this one.",
    )
    .hint("Nothing was written."))
}

fn withdraw(desk: &mut Desk, survey: &RecordsSurvey) -> Result<Exit, Failure> {
    if survey.standing.is_empty() {
        return Err(Failure::could(
            "No batch in the journal came from this table.",
        ));
    }
    let taken = desk.withdraw_records(survey).map_err(unsaved)?;
    output::say(&format!(
        "Withdrawn: {}; {} before, {} now.\n",
        many(taken as u64, "batch", "batches"),
        survey.before,
        desk.book().roster().len()
    ));
    Ok(Exit::Done)
}

fn unsaved(unsaved: Unsaved) -> Failure {
    let hint = "Run the same command once more: rows that were saved add nothing.";
    unsaved.failure().clone().hint(hint)
}

fn lines(numbers: &[u64]) -> String {
    let first: Vec<String> = numbers.iter().take(5).map(u64::to_string).collect();
    let more = if numbers.len() > 5 { ", …" } else { "" };
    format!("{}{more}", first.join(", "))
}
