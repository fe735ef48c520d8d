//! The command line: arguments, one file a command, exit codes. The only printer.

mod add;
mod answer;
mod batches;
mod bench;
mod cautions;
mod check;
mod climate;
mod compare;
mod context;
mod csv_writer;
mod due;
mod environment;
mod export;
mod filters;
mod forecast;
mod import;
mod intervals;
mod lay_out;
mod mix;
mod output;
mod plan;
mod pool;
mod print;
mod publish;
mod sample;
mod season;
mod shell;
mod show;
mod timeline;

use crate::app::failure::Failure;
use crate::text::clean::Charset;
use answer::AnswerBasis;
use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use context::Context;
use environment::Environment;
use output::Exit;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Arc;

/// Bench journal for plants raised from cuttings.
///
/// Alone it opens the bench on this terminal. With a command it answers and ends.
#[derive(Parser, Debug)]
#[command(name = "struck", version, about, long_about, max_term_width = 100, after_help = EXAMPLES)]
struct Arguments {
    /// The journal: a folder, or one .jsonl file (else STRUCK_JOURNAL, else your data folder)
    #[arg(long, global = true, value_name = "PATH")]
    journal: Option<PathBuf>,
    /// Only ASCII characters
    #[arg(long, global = true)]
    ascii: bool,
    /// Begin a new journal where one was kept before and is missing
    #[arg(long, global = true)]
    new_journal: bool,
    #[command(subcommand)]
    command: Option<Command>,
}

const EXAMPLES: &str = "\
Examples:
  struck add \"stick 24 Weigela florida, semi-ripe, iba 3000 talc, at bench A\"
  struck add \"look 26-041: callused 4, rooted 3, black 1\" --at yesterday
  struck timeline weigela --by wood
  struck check --explain";

#[derive(Subcommand, Debug)]
enum Command {
    /// Enter one line as said at the bench
    Add(add::AddArguments),
    /// List batches
    Batches(batches::BatchesArguments),
    /// Show one batch: its life, entry by entry
    Show(show::ShowArguments),
    /// What to look at, pot or decide, today and in the days to come, and why
    Due(due::DueArguments),
    /// How many root and how long they take, by taxon
    Timeline(timeline::TimelineArguments),
    /// A season in review: its targets, what came of each plant, what to change for the next
    Season(season::SeasonArguments),
    /// Compare arms, like with like: wood stages, covers, places, seasons, trials
    Compare(compare::CompareArguments),
    /// How many of each open batch will root, and when they can be potted
    Forecast(forecast::ForecastArguments),
    /// How many to stick, and by when, for a target; and how the targets stand
    Plan(plan::PlanArguments),
    /// Plan a trial: how many batches in each arm, and which tray gets which arm
    LayOut(lay_out::LayOutArguments),
    /// What the looks say, as intervals for a statistics package
    Intervals(intervals::IntervalsArguments),
    /// Bring in old records from a table or a workbook
    Import(import::ImportArguments),
    /// Hand the journal out as plain tables, for a spreadsheet or a statistics package
    Export(export::ExportArguments),
    /// Publish this journal's figures to a pool, nothing personal in them
    Publish(publish::PublishArguments),
    /// The figures of many nurseries together
    Pool(pool::PoolArguments),
    /// Labels, lists, reports and a calendar, to print or to send
    Print(print::PrintArguments),
    /// Look for damage and for sums that cannot be
    Check(check::CheckArguments),
    /// The air of each place by day, in figures and in a word
    Climate(climate::ClimateArguments),
    /// The arithmetic of hormone and disinfectant mixes
    Mix(mix::MixArguments),
    /// What to be careful of, in full
    Cautions(cautions::CautionsArguments),
    /// Print the script that completes commands in a shell
    Completions(shell::CompletionsArguments),
    /// Write the manual pages
    Man(shell::ManArguments),
    /// Write the journals of an invented nursery, to learn on
    Sample(sample::SampleArguments),
}

/// Runs the program and gives its exit code.
#[must_use]
pub fn main() -> ExitCode {
    outlive_size_limit();
    let arguments = match parse() {
        Ok(arguments) => arguments,
        Err(told) => return told_by_parser(&told).into(),
    };
    let environment = Environment::read();
    let ascii = arguments.ascii || environment.ascii;
    let charset = if ascii { Charset::Ascii } else { Charset::Utf8 };
    let context = Context {
        environment,
        journal: arguments.journal,
        new_journal: arguments.new_journal,
        charset,
        basis: AnswerBasis::default(),
    };
    run(&context, arguments.command)
        .unwrap_or_else(|failure| {
            // A batch that is said not to be there may stand in a file that could not be read.
            context.basis.say();
            output::failed(&failure)
        })
        .into()
}

fn parse() -> Result<Arguments, clap::Error> {
    let mut command = days_back(Arguments::command());
    let matches = command.try_get_matches_from_mut(std::env::args_os())?;
    Arguments::from_arg_matches(&matches).map_err(|error| error.format(&mut command))
}

/// Takes `-3`, the day three days ago, for the value of every option that wants a day, not for an option.
fn days_back(command: clap::Command) -> clap::Command {
    let wants_day = |arg: &clap::Arg| {
        let names = arg.get_value_names().unwrap_or_default();
        names.iter().any(|name| name == "DAY")
    };
    command
        .mut_args(|arg| match wants_day(&arg) {
            true => arg.allow_negative_numbers(true),
            false => arg,
        })
        .mut_subcommands(days_back)
}

/// At the limit of file size a write then fails, and is told in words, instead of ending the program.
fn outlive_size_limit() {
    // If it cannot be heard, the limit ends the program as it would have.
    let _ = signal_hook::flag::register(signal_hook::consts::SIGXFSZ, Arc::default());
}

fn run(context: &Context, command: Option<Command>) -> Result<Exit, Failure> {
    match command {
        Some(Command::Add(arguments)) => add::run(context, &arguments),
        Some(Command::Batches(arguments)) => batches::run(context, &arguments),
        Some(Command::Show(arguments)) => show::run(context, &arguments),
        Some(Command::Due(arguments)) => due::run(context, &arguments),
        Some(Command::Timeline(arguments)) => timeline::run(context, &arguments),
        Some(Command::Season(arguments)) => season::run(context, &arguments),
        Some(Command::Compare(arguments)) => compare::run(context, &arguments),
        Some(Command::Forecast(arguments)) => forecast::run(context, &arguments),
        Some(Command::Plan(arguments)) => plan::run(context, &arguments),
        Some(Command::LayOut(arguments)) => lay_out::run(context, &arguments),
        Some(Command::Intervals(arguments)) => intervals::run(context, &arguments),
        Some(Command::Import(arguments)) => import::run(context, &arguments),
        Some(Command::Export(arguments)) => export::run(context, &arguments),
        Some(Command::Publish(arguments)) => publish::run(context, &arguments),
        Some(Command::Pool(arguments)) => pool::run(context, &arguments),
        Some(Command::Print(arguments)) => print::run(context, &arguments),
        Some(Command::Completions(arguments)) => {
            Ok(shell::completions(Arguments::command(), &arguments))
        }
        Some(Command::Man(arguments)) => shell::man(Arguments::command(), &arguments),
        Some(Command::Check(arguments)) => check::run(context, &arguments),
        Some(Command::Climate(arguments)) => climate::run(context, &arguments),
        Some(Command::Mix(arguments)) => mix::run(context, &arguments),
        Some(Command::Cautions(arguments)) => cautions::run(context, &arguments),
        Some(Command::Sample(arguments)) => sample::run(&arguments),
        None => bench::run(context),
    }
}

/// Help and version are data; everything else that the parser says is a usage error.
fn told_by_parser(told: &clap::Error) -> Exit {
    let text = told.render().to_string();
    if told.use_stderr() {
        output::say(&text);
        return Exit::Usage;
    }
    output::data(&text).err().unwrap_or(Exit::Done)
}
