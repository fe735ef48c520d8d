//! `check`: looks for damage and for sums that cannot be, and says what each means and how to mend it.

use super::context::Context;
use super::output::Exit;
use crate::app::desk::Desk;
use crate::app::failure::Failure;
use crate::fold::several::{SeveralNurseries, several_nurseries};
use crate::fold::{Book, ReadTotals};
use crate::model::fault::{Fault, Severity};
use crate::model::id::Id;
use crate::text::clean::{fit, shown};
use crate::text::faults::{explain, field, name, sentence};
use crate::text::figures::many;
use clap::Args;
use serde::Serialize;
use std::borrow::Cow;
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Longest excerpt of a line that is shown, in columns.
const EXCERPT: usize = 96;

/// Bytes of a line that are looked at for its excerpt: far more than fit, whatever the letters.
const LOOKED_AT: usize = 4096;

/// The arguments of `check`.
#[derive(Args, Debug)]
pub struct CheckArguments {
    /// Say what each fault means and what to do about it
    #[arg(long)]
    explain: bool,
    /// Exit 3 on notices too
    #[arg(long)]
    strict: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &CheckArguments) -> Result<Exit, Failure> {
    let desk = context.open()?;
    let files = desk.files();
    let mut faults = desk.faults();
    let several = several_nurseries(desk.book());
    if let Some(several) = &several {
        faults.retain(|fault| !several.explains(fault));
    }
    let told = if arguments.json {
        context.print_json(&answer(desk.book(), &faults, &files, several.as_ref()))
    } else {
        let head = several.as_ref().map(|it| context.behind("! ", &mixed(it)));
        let text = text(context, &desk, &faults, arguments.explain);
        context.print_text(&(head.unwrap_or_default() + &text))
    };
    if let Err(exit) = told {
        return Ok(exit);
    }
    let grave = |fault: &Fault| arguments.strict || fault.level() == Severity::Fault;
    let mixed = arguments.strict && several.is_some();
    Ok(if mixed || faults.iter().any(grave) {
        Exit::Faults
    } else {
        Exit::Done
    })
}

/// That several nurseries' journals lie in one folder, and what to do.
fn mixed(several: &SeveralNurseries) -> String {
    format!(
        "This looks like several nurseries' journals in one folder: {} are borne by batches of different files among {}. Give each nursery a folder of \
its own, `struck publish` each to one pool, and ask `struck pool`; no figure of them together means anything here.",
        many(several.codes as u64, "code", "codes"),
        many(several.files.len() as u64, "file", "files"),
    )
}

fn text(context: &Context, desk: &Desk, faults: &[Fault], explained: bool) -> String {
    let files = desk.files();
    let mut out = String::new();
    for fault in faults {
        out.push_str(&one(context, desk, &files, fault));
    }
    if explained {
        let names: BTreeSet<&str> = faults.iter().map(|fault| name(&fault.wrong)).collect();
        for held in names.into_iter().filter_map(explain) {
            out.push_str(&format!(
                "\n{}\n  {}\n  {}\n",
                held.name, held.meaning, held.mend
            ));
        }
        if !faults.is_empty() {
            out.push('\n');
        }
    }
    out.push_str(&verdict(desk.book().sums(), faults, files.len(), explained));
    out
}

/// One fault: where, what, and the line itself with its name, by which a later line settles it.
fn one(context: &Context, desk: &Desk, files: &[PathBuf], fault: &Fault) -> String {
    let mut out = format!(
        "{}: {} {}: {}\n",
        place(files, fault),
        level(fault),
        name(&fault.wrong),
        sentence(&fault.wrong)
    );
    if let Some(raw) = desk.raw_line(fault.origin) {
        // Of a line of megabytes no more than can be shown is looked at.
        let text = String::from_utf8_lossy(raw.get(..LOOKED_AT).unwrap_or(&raw));
        out.push_str(&format!(
            "  {}\n",
            fit(
                &shown(&text),
                EXCERPT.min(context.environment.width.saturating_sub(2)),
                context.charset
            )
        ));
    }
    if let Some(id) = &fault.id {
        out.push_str(&format!("  named {id}\n"));
    }
    out
}

fn place(files: &[PathBuf], fault: &Fault) -> String {
    let path =
        file_of(files, fault).map_or_else(|| "?".into(), |path| shown(&path.to_string_lossy()));
    if fault.origin.line == 0 {
        path
    } else {
        format!("{path}:{}", fault.origin.line)
    }
}

/// What it comes to, in one or two sentences that a person can act on.
fn verdict(sums: ReadTotals, faults: &[Fault], files: usize, explained: bool) -> String {
    let count = |level| faults.iter().filter(|fault| fault.level() == level).count();
    let (grave, notices) = (count(Severity::Fault), count(Severity::Notice));
    let read = format!(
        "{} in {} of {}",
        many(sums.entries, "entry", "entries"),
        many(sums.lines, "line", "lines"),
        many(files as u64, "file", "files")
    );
    let settled = if sums.settled > 0 {
        format!(" {} settled earlier.", sums.settled)
    } else {
        String::new()
    };
    let hint = match explained {
        true => "",
        false => "; --explain says what to do about each",
    };
    let noted = many(notices as u64, "notice", "notices");
    match (grave, notices) {
        (0, 0) => format!("Sound: {read}.{settled}\n"),
        (0, _) => format!("Sound, with {noted}: {read}.{settled}\n"),
        _ => format!(
            "{}, {noted}: {read}.{settled} No line is lost{hint}.\n",
            many(grave as u64, "fault", "faults")
        ),
    }
}

/// The whole answer.
#[derive(Serialize)]
struct CheckAnswer<'a> {
    files: usize,
    lines: u64,
    entries: u64,
    settled: u64,
    withdrawn: u64,
    /// Where several nurseries' journals lie in one folder: their files, and the codes that several of them have.
    several_nurseries: Option<Mixed>,
    faults: Vec<FaultLine<'a>>,
}

#[derive(Serialize)]
struct Mixed {
    files: usize,
    codes: usize,
}

/// A fault with where it is and what to do.
#[derive(Serialize)]
struct FaultLine<'a> {
    level: &'static str,
    name: &'static str,
    file: Option<Cow<'a, str>>,
    /// From 1; 0 where the fault is the whole file's.
    line: u32,
    field: Option<&'a str>,
    batch: Option<&'a str>,
    id: Option<&'a Id>,
    reason: String,
    remedy: Option<&'static str>,
}

fn answer<'a>(
    book: &Book,
    faults: &'a [Fault],
    files: &'a [PathBuf],
    several: Option<&SeveralNurseries>,
) -> CheckAnswer<'a> {
    let totals = book.sums();
    let line = |fault: &'a Fault| FaultLine {
        level: level(fault),
        name: name(&fault.wrong),
        file: file_of(files, fault).map(|path| path.to_string_lossy()),
        line: fault.origin.line,
        field: field(&fault.wrong),
        batch: fault.batch.as_deref(),
        id: fault.id.as_ref(),
        reason: sentence(&fault.wrong),
        remedy: explain(name(&fault.wrong)).map(|explained| explained.mend),
    };
    CheckAnswer {
        files: files.len(),
        lines: totals.lines,
        entries: totals.entries,
        settled: totals.settled,
        withdrawn: totals.withdrawn,
        several_nurseries: several.map(|it| Mixed {
            files: it.files.len(),
            codes: it.codes,
        }),
        faults: faults.iter().map(line).collect(),
    }
}

fn level(fault: &Fault) -> &'static str {
    match fault.level() {
        Severity::Fault => "fault",
        Severity::Notice => "notice",
    }
}

fn file_of<'a>(files: &'a [PathBuf], fault: &Fault) -> Option<&'a PathBuf> {
    files.get(usize::try_from(fault.origin.file).ok()?)
}
