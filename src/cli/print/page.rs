//! What all of `print` shares: where a page goes, its paper, and which batches are meant.

use crate::app::exports::put_file;
use crate::app::failure::Failure;
use crate::cli::context::Context;
use crate::cli::filters::{self, Filters};
use crate::cli::output::{self, Exit};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::handover::print::html::Paper;
use crate::model::filter::Filter;
use crate::text::clean::shown;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Where it goes.
#[derive(Args, Clone, Debug)]
pub struct Destination {
    /// Into this file; else to standard output
    #[arg(long, value_name = "FILE")]
    pub to: Option<PathBuf>,
}

/// The paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum PaperName {
    /// 210 x 297 mm
    #[default]
    A4,
    /// 8.5 x 11 in
    Letter,
}

impl From<PaperName> for Paper {
    fn from(name: PaperName) -> Self {
        match name {
            PaperName::A4 => Self::A4,
            PaperName::Letter => Self::Letter,
        }
    }
}

/// Gives a page out. What it holds of the journal was made harmless as it was put together.
pub fn give(context: &Context, page: &str, destination: &Destination) -> Result<Exit, Failure> {
    let Some(path) = &destination.to else {
        return Ok(context.print_csv(page).err().unwrap_or(Exit::Done));
    };
    context.basis.say();
    put_file(path, page.as_bytes())?;
    output::say(&format!("Written to {}.\n", shown(&path.to_string_lossy())));
    Ok(Exit::Done)
}

/// The batches that filters mean, in the order of the book.
pub fn meant<'a>(
    context: &Context,
    book: &'a Book,
    asked: &Filters,
) -> Result<Vec<&'a Batch>, Failure> {
    let filter = asked.read(&|text| context.day(text))?;
    filters::check_names(book, &filter)?;
    Ok(admitted(book, &filter))
}

/// The batches that a filter admits, in the order of the book.
pub fn admitted<'a>(book: &'a Book, filter: &Filter) -> Vec<&'a Batch> {
    let batches = book.batches().iter().map(AsRef::as_ref);
    let admits = filter.within(book);
    batches.filter(|batch| admits(batch)).collect()
}
