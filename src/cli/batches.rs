//! `batches`: the batches that are meant, a line each, with their strips; those that failed, with what they stood through.

use super::context::Context;
use super::csv_writer::csv_of_json;
use super::filters;
use super::filters::Filters;
use super::output::Exit;
use crate::analysis::air::lived::{PlaceAirs, base_of};
use crate::analysis::batches::{BatchOutcome, BatchSummary};
use crate::app::failure::Failure;
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::text::bench::causes;
use crate::text::choice::NO_BATCH;
use crate::text::clean::shown_in;
use crate::text::strip::{strip, tally};
use crate::text::table::{Column, table};
use clap::{Args, ValueEnum};
use serde::Serialize;

/// Widest strip in a table.
const STRIP: usize = 28;

/// The arguments of `batches`.
#[derive(Args, Debug)]
pub struct BatchesArguments {
    #[command(flatten)]
    filters: Filters,
    /// Only those with cuttings on the bench
    #[arg(long)]
    open: bool,
    /// Only those that are over and gave less than half, with their losses and the air that they stood in
    #[arg(long, conflicts_with = "open")]
    failed: bool,
    /// Order the list by this; else by the day of sticking
    #[arg(long, value_name = "KEY")]
    sort: Option<SortKey>,
    /// As CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// What the list may be ordered by.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum SortKey {
    /// By code
    Code,
    /// By the plant's name
    Taxon,
    /// Lowest rooted share first
    Rooted,
    /// Most lost first
    Lost,
    /// Most left on the bench first
    Left,
    /// Longest not looked at first
    LastLook,
    /// Failed, open, potted, split
    Outcome,
}

/// Days of a batch's stay by how its air was.
#[derive(Clone, Copy, Debug, Serialize)]
struct AirDays {
    drying: u32,
    easy: u32,
    wet: u32,
    hot: u32,
    /// Days of the stay without a reading.
    unread: u32,
}

/// A line of the list.
#[derive(Serialize)]
struct BatchLine<'a> {
    #[serde(flatten)]
    summary: BatchSummary<'a>,
    /// Only with `--failed`.
    #[serde(skip_serializing_if = "Option::is_none")]
    air_days: Option<AirDays>,
    #[serde(skip)]
    strip: String,
}

/// The whole answer.
#[derive(Serialize)]
struct BatchesAnswer<'a> {
    batches: Vec<BatchLine<'a>>,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &BatchesArguments) -> Result<Exit, Failure> {
    let filter = arguments.filters.read(&|text| context.day(text))?;
    let desk = context.open()?;
    let book = desk.book();
    filters::check_names(book, &filter)?;
    let today = desk.clock().now().date_naive();
    let mut airs = PlaceAirs::new(book);
    let admits = filter.within(book);
    let mut batches: Vec<BatchLine<'_>> = book
        .batches()
        .iter()
        .map(AsRef::as_ref)
        .filter(|batch| admits(batch))
        .map(|batch| (batch, BatchSummary::new(batch, today)))
        .filter(|(_, it)| !arguments.open || it.open)
        .filter(|(_, it)| !arguments.failed || it.outcome == BatchOutcome::Failed)
        .map(|(batch, summary)| BatchLine {
            air_days: arguments
                .failed
                .then(|| air_days(book, &mut airs, batch, &summary)),
            summary,
            strip: strip(tally(&batch.counts), STRIP).text(context.charset),
        })
        .collect();
    if let Some(key) = arguments.sort {
        sort(&mut batches, key);
    }
    let printed = if arguments.json {
        context.print_json(&BatchesAnswer { batches })
    } else if arguments.csv {
        context.print_csv(&csv(&batches, arguments.failed)?)
    } else if arguments.failed {
        context.print_text(&failed_text(context, &batches))
    } else {
        context.print_text(&text(context, &batches))
    };
    Ok(printed.err().unwrap_or(Exit::Done))
}

fn sort(lines: &mut [BatchLine<'_>], key: SortKey) {
    let share = |line: &BatchLine<'_>| line.summary.rooted.share.unwrap_or(f64::INFINITY);
    lines.sort_by(|a, b| match key {
        SortKey::Code => a.summary.batch.cmp(b.summary.batch),
        SortKey::Taxon => a.summary.taxon.cmp(&b.summary.taxon),
        SortKey::Rooted => share(a).total_cmp(&share(b)),
        SortKey::Lost => b.summary.lost.cmp(&a.summary.lost),
        SortKey::Left => left(b).cmp(&left(a)),
        SortKey::LastLook => a.summary.last_look.cmp(&b.summary.last_look),
        SortKey::Outcome => a.summary.outcome.cmp(&b.summary.outcome),
    });
}

fn left(line: &BatchLine<'_>) -> u32 {
    let counts = &line.summary.counts;
    counts.bare + counts.callused + counts.rooted + counts.bottom
}

fn air_days(
    book: &Book,
    airs: &mut PlaceAirs<'_>,
    batch: &Batch,
    summary: &BatchSummary<'_>,
) -> AirDays {
    let base = base_of(book, batch, None);
    let lived = airs.lived(batch, summary.last_entry, base);
    let [drying, easy, wet, hot] = lived.senses;
    AirDays {
        drying,
        easy,
        wet,
        hot,
        unread: lived.days.saturating_sub(drying + easy + wet + hot),
    }
}

fn text(context: &Context, lines: &[BatchLine<'_>]) -> String {
    if lines.is_empty() {
        return format!("{NO_BATCH}\n");
    }
    let columns = [
        Column::text("code").at_least(7),
        Column::text("taxon").at_least(12),
        Column::text("wood").at_least(9).dropping(6),
        Column::number("stuck on").dropping(5),
        Column::number("day"),
        Column::text("cuttings").at_least(10).dropping(1),
        Column::number("stuck"),
        Column::number("left"),
        Column::number("rooted %").dropping(2),
        Column::number("lost").dropping(3),
        Column::number("potted").dropping(4),
        Column::number("last look").dropping(7),
        Column::text("outcome").at_least(7).dropping(8),
        Column::text("place").at_least(8).dropping(9),
    ];
    let row = |line: &BatchLine<'_>| {
        let it = &line.summary;
        let shown = |text: &str| shown_in(text, context.charset);
        vec![
            shown(it.batch),
            shown(&it.taxon),
            it.wood.map_or_else(String::new, |wood| wood.word().into()),
            it.stuck_on.to_string(),
            it.day.to_string(),
            line.strip.clone(),
            it.counts.stuck.to_string(),
            left(line).to_string(),
            percent(it),
            it.lost.to_string(),
            it.counts.potted.to_string(),
            optional(it.last_look),
            it.outcome.word().into(),
            it.place.map_or_else(String::new, shown),
        ]
    };
    let rows: Vec<Vec<String>> = lines.iter().map(row).collect();
    table(&columns, &rows, context.environment.width, context.charset)
}

fn failed_text(context: &Context, lines: &[BatchLine<'_>]) -> String {
    if lines.is_empty() {
        return "No batch that fits that choice gave less than half.\n".into();
    }
    let columns = [
        Column::text("code").at_least(7),
        Column::text("taxon").at_least(12),
        Column::text("wood").at_least(9).dropping(3),
        Column::number("days"),
        Column::number("stuck"),
        Column::text("lost").at_least(22),
        Column::number("potted"),
        Column::number("d/w/h"),
        Column::number("given up").dropping(1),
        Column::number("unread").dropping(4),
        Column::text("place").at_least(8).dropping(5),
    ];
    let row = |line: &BatchLine<'_>| {
        let it = &line.summary;
        let shown = |text: &str| shown_in(text, context.charset);
        let spells = line
            .air_days
            .map(|it| format!("{}/{}/{}", it.drying, it.wet, it.hot));
        vec![
            shown(it.batch),
            shown(&it.taxon),
            it.wood.map_or_else(String::new, |wood| wood.word().into()),
            it.day.to_string(),
            it.counts.stuck.to_string(),
            causes(&it.counts.lost),
            it.counts.potted.to_string(),
            optional(spells),
            it.counts.given_up.to_string(),
            optional(line.air_days.map(|it| it.unread)),
            it.place.map_or_else(String::new, shown),
        ]
    };
    let rows: Vec<Vec<String>> = lines.iter().map(row).collect();
    let mut out = table(&columns, &rows, context.environment.width, context.charset);
    out.push('\n');
    out.push_str(&context.lines(
        "D/w/h: days on the bench when the air of its place was on average drying, wet or hot; a day without a reading counts in none. This does not prove that the air was the cause: `climate matters` looks at all batches.",
    ));
    out
}

fn percent(it: &BatchSummary<'_>) -> String {
    let share = it.rooted.share;
    share.map_or_else(String::new, |share| format!("{:.0}", 100.0 * share))
}

fn optional(value: Option<impl ToString>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

/// The columns of the CSV.
const COLUMNS: [&str; 29] = [
    "batch",
    "stick",
    "parent",
    "taxon",
    "wood",
    "stuck_on",
    "place",
    "cover",
    "trial",
    "arm",
    "outcome",
    "day",
    "last_entry",
    "last_look",
    "again_on",
    "counts.stuck as stuck",
    "counts.bare as bare",
    "counts.callused as callused",
    "counts.rooted as rooted",
    "counts.bottom as bottom",
    "rooted.count as rooted_so_far",
    "rooted.share",
    "lost",
    "counts.lost as lost_by_cause",
    "counts.given_up as given_up",
    "counts.potted as potted",
    "counts.lost_in_pots as lost_in_pots",
    "counts.ready as ready",
    "counts.sold as sold",
];

/// Those that stand behind them with `--failed`.
const AIR_COLUMNS: [&str; 5] = [
    "air_days.drying",
    "air_days.easy",
    "air_days.wet",
    "air_days.hot",
    "air_days.unread",
];

fn csv(lines: &[BatchLine<'_>], failed: bool) -> Result<String, Failure> {
    let air: &[&str] = if failed { &AIR_COLUMNS } else { &[] };
    csv_of_json(&[&COLUMNS, air].concat(), lines)
}
