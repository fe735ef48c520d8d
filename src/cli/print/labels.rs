//! `print labels`: which batches get a label, and how the labels are set out.

use super::page::{Destination, PaperName, give, meant};
use crate::app::failure::Failure;
use crate::cli::context::Context;
use crate::cli::csv_writer::{CsvCell, csv_of_cells};
use crate::cli::filters::Filters;
use crate::cli::output::Exit;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::names::hormone_text;
use crate::handover::print::labels::{LEAST_MM, LabelLayout, LabelSheet, labels};
use crate::text::choice::NO_BATCH;
use crate::text::clean::shown;
use clap::Args;

/// Most labels of one batch.
const MOST_COPIES: u32 = 200;

/// Arguments of `print labels`.
#[derive(Args, Debug)]
pub struct LabelsArguments {
    /// Only these batches
    #[arg(value_name = "CODE")]
    codes: Vec<String>,
    /// Only those stuck today
    #[arg(long, conflicts_with_all = ["codes", "open"])]
    new: bool,
    /// Only those with cuttings on the bench
    #[arg(long, conflicts_with = "codes")]
    open: bool,
    #[command(flatten)]
    filters: Filters,
    /// Labels across and down on a sheet
    #[arg(
        long,
        value_name = "ACROSSxDOWN",
        default_value = "3x8",
        conflicts_with = "size"
    )]
    sheet: String,
    /// The paper of a sheet
    #[arg(long, value_enum, ignore_case = true, default_value_t)]
    paper: PaperName,
    /// Bare edge of a sheet, in mm
    #[arg(long, value_name = "MM", default_value_t = 8.0)]
    margin: f64,
    /// Bare strip between labels, in mm
    #[arg(long, value_name = "MM", default_value_t = 2.0)]
    gap: f64,
    /// One label a page, of this size
    #[arg(long, value_name = "WIDTHxHEIGHTmm")]
    size: Option<String>,
    /// Labels of each batch
    #[arg(long, value_name = "N", default_value_t = 1)]
    copies: u32,
    /// As CSV, for a label program
    #[arg(long)]
    csv: bool,
    #[command(flatten)]
    destination: Destination,
}

/// Runs it.
pub fn run(context: &Context, arguments: &LabelsArguments) -> Result<Exit, Failure> {
    if !(1..=MOST_COPIES).contains(&arguments.copies) {
        return Err(Failure::usage(format!(
            "--copies takes 1 to {MOST_COPIES}."
        )));
    }
    let layout = layout(arguments)?;
    let desk = context.open()?;
    let today = desk.clock().now().date_naive();
    let mut batches = if arguments.codes.is_empty() {
        meant(context, desk.book(), &arguments.filters)?
    } else {
        named(desk.book(), &arguments.codes)?
    };
    batches.retain(|batch| !arguments.open || batch.is_open());
    batches.retain(|batch| !arguments.new || batch.stuck_on == today);
    if batches.is_empty() {
        return Err(Failure::could(NO_BATCH));
    }
    let copies = arguments.copies as usize;
    let batches: Vec<&Batch> = batches
        .into_iter()
        .flat_map(|batch| std::iter::repeat_n(batch, copies))
        .collect();
    if arguments.csv {
        return give(context, &csv(&batches)?, &arguments.destination);
    }
    give(context, &labels(&batches, layout), &arguments.destination)
}

/// The latest batch of each code.
fn named<'a>(book: &'a Book, codes: &[String]) -> Result<Vec<&'a Batch>, Failure> {
    let batch = |code: &String| {
        let latest = book.by_code(code).next_back();
        latest.map(AsRef::as_ref).ok_or_else(|| {
            Failure::usage(format!("There is no batch {}.", shown(code)))
                .hint("`struck batches` lists them.")
        })
    };
    codes.iter().map(batch).collect()
}

fn layout(arguments: &LabelsArguments) -> Result<LabelLayout, Failure> {
    let layout = match &arguments.size {
        Some(size) => {
            let (width, height) = pair(size.trim_end_matches("mm"))
                .ok_or_else(|| Failure::usage("--size is written as 60x30mm."))?;
            LabelLayout::Single(width, height)
        }
        None => {
            let wrong = || Failure::usage("--sheet is written as 3x8: labels across and down.");
            let (across, down) = pair(&arguments.sheet).ok_or_else(wrong)?;
            let whole = |count: f64| (1.0..=50.0).contains(&count) && count.fract() == 0.0;
            if !whole(across) || !whole(down) {
                return Err(wrong());
            }
            LabelLayout::Sheet(LabelSheet {
                across: across as u32,
                down: down as u32,
                paper: arguments.paper.into(),
                margin_mm: arguments.margin.max(0.0),
                gap_mm: arguments.gap.max(0.0),
            })
        }
    };
    let (width, height) = layout.label_mm();
    let fits = width >= LEAST_MM.0 && height >= LEAST_MM.1 && width <= 1000.0 && height <= 1000.0;
    if fits {
        return Ok(layout);
    }
    Err(Failure::usage(format!(
        "Such a label would be {width:.0} x {height:.0} mm; its code needs {} x {} mm at least.",
        LEAST_MM.0, LEAST_MM.1
    )))
}

/// `60x30`.
fn pair(text: &str) -> Option<(f64, f64)> {
    let (first, second) = text.trim().split_once(['x', '×'])?;
    let number = |text: &str| text.trim().parse::<f64>().ok().filter(|n| n.is_finite());
    Some((number(first)?, number(second)?))
}

const HEADINGS: [&str; 7] = [
    "code", "taxon", "stuck_on", "stuck", "wood", "hormone", "place",
];

fn csv(batches: &[&Batch]) -> Result<String, Failure> {
    let row = |batch: &&Batch| {
        let stick = &batch.stick;
        vec![
            CsvCell::text(batch.code.clone()),
            CsvCell::text(batch.taxon.shown()),
            CsvCell::plain(batch.stuck_on),
            CsvCell::plain(batch.counts.stuck),
            CsvCell::text(stick.wood.map(|wood| wood.word().to_owned())),
            CsvCell::text(stick.hormone.as_ref().map(hormone_text)),
            CsvCell::text(batch.place.clone()),
        ]
    };
    csv_of_cells(&HEADINGS, batches.iter().map(row))
}
