//! `cautions`: prints them all. It reads no journal.

use super::context::Context;
use super::output;
use super::output::Exit;
use crate::app::failure::Failure;
use crate::text::cautions::{CAUTIONS, FIRST, SafetyCaution};
use crate::text::clean::wrap;
use clap::Args;
use serde::Serialize;

/// The arguments of `cautions`.
#[derive(Args, Debug)]
pub struct CautionsArguments {
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// The whole answer.
#[derive(Serialize)]
struct CautionsAnswer {
    first: &'static str,
    cautions: &'static [SafetyCaution],
}

/// Runs the command.
pub fn run(context: &Context, arguments: &CautionsArguments) -> Result<Exit, Failure> {
    let told = if arguments.json {
        output::json(&CautionsAnswer {
            first: FIRST,
            cautions: CAUTIONS,
        })
    } else {
        output::data(&text(context))
    };
    Ok(told.err().unwrap_or(Exit::Done))
}

fn text(context: &Context) -> String {
    let width = context.environment.width;
    let mut out = String::new();
    let mut add = |text: &str, set_in: usize| {
        for line in wrap(text, width.saturating_sub(set_in), context.charset) {
            out.push_str(&format!("{}{}\n", " ".repeat(set_in), line.trim_end()));
        }
    };
    add(FIRST, 0);
    for caution in CAUTIONS {
        add("", 0);
        add(caution.line, 0);
        for more in caution.more {
            add(more, 2);
        }
    }
    out
}

/// The cautions on some hazards in full, to stand beside an answer.
pub fn beside(context: &Context, hazards: &[&str]) -> String {
    let width = context.environment.width;
    let wrapped = lines(hazards)
        .into_iter()
        .flat_map(|line| wrap(&format!("! {line}"), width, context.charset));
    wrapped
        .map(|line| format!("{}\n", line.trim_end()))
        .collect()
}

/// The cautions on some hazards in full, a sentence each, with what comes before all.
pub fn lines(hazards: &[&str]) -> Vec<&'static str> {
    let meant = CAUTIONS.iter().filter(|c| hazards.contains(&c.hazard));
    let sentences = meant.flat_map(|c| std::iter::once(&c.line).chain(c.more));
    std::iter::once(FIRST).chain(sentences.copied()).collect()
}
