//! `plan`: how many to stick, and by when, for the plants wanted; and how far targets are on their way.

use super::context::Context;
use super::csv_writer::csv_of_json;
use super::filters::wood;
use super::output::Exit;
use super::{filters, output};
use crate::analysis::expect::Model;
use crate::analysis::plan::{MOST, Offer, Plan, Plans, PlantsWanted, plans, targets};
use crate::app::failure::Failure;
use crate::fold::Book;
use crate::text::cautions::{DueCaution, taxon_cautions};
use crate::text::clean::shown_in;
use crate::text::dates::Calendar;
use crate::text::figures::chance;
use crate::text::plans;
use crate::text::table::{Column, table};
use chrono::NaiveDate;
use clap::Args;
use serde::Serialize;
use std::collections::BTreeSet;

/// The arguments of `plan`.
#[derive(Args, Debug)]
pub struct PlanArguments {
    /// The plant; without --want, only its targets
    #[arg(value_name = "TAXON")]
    of: Vec<String>,
    /// Plan for so many plants, all from cuttings still to be stuck; without it, for the targets in the journal
    #[arg(long, value_name = "N", requires = "by")]
    want: Option<u32>,
    /// The day by which to have them
    #[arg(long, value_name = "DAY", requires = "want")]
    by: Option<String>,
    /// The chance of having them, 0.5 to 0.99
    #[arg(long, value_name = "CHANCE", default_value_t = 0.9)]
    assurance: f64,
    /// Only this wood stage
    #[arg(long, value_name = "STAGE")]
    wood: Option<String>,
    /// Cuttings to a batch, if not the usual
    #[arg(long, value_name = "N")]
    batch: Option<u32>,
    /// As it stood at the end of this day
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
    /// As CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Runs the command.
pub fn run(context: &Context, arguments: &PlanArguments) -> Result<Exit, Failure> {
    if !(0.5..=0.99).contains(&arguments.assurance) {
        return Err(Failure::usage("--assurance is 0.5 to 0.99."));
    }
    if arguments.batch.is_some_and(|n| !(1..=10_000).contains(&n)) {
        return Err(Failure::usage("--batch is 1 to 10000."));
    }
    let clock = context.environment.clock()?;
    let on = match &arguments.on {
        Some(text) => context.day(text)?,
        None => clock.now().date_naive(),
    };
    let by = arguments
        .by
        .as_deref()
        .map(|text| context.day_ahead(text))
        .transpose()?;
    let stage = arguments.wood.as_deref().map(wood).transpose()?;
    let taxon = arguments.of.join(" ");
    let answer = context.work_out("planning", |book, go_on| {
        let wanted = wanted(book, on, &taxon, arguments, stage, by)?;
        let model = Model::learn(book, on, &[]);
        let calendar = Calendar::for_book(book, on);
        let mut cautions: Vec<DueCaution> = Vec::new();
        for caution in wanted.iter().flat_map(|it| taxon_cautions(&it.taxon, book)) {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
        Ok((
            plans(book, &model, &wanted, arguments.batch, go_on),
            (calendar, cautions),
        ))
    })??;
    let (Some(plans), (calendar, cautions)) = answer else {
        return Ok(Exit::Could);
    };
    let told = if arguments.json {
        context.print_json(&plans)
    } else if arguments.csv {
        let rows = plans.plans.iter().flat_map(|plan| {
            let none = plan.offers.is_empty().then_some(None);
            let offers = plan.offers.iter().map(Some).chain(none);
            offers.map(move |offer| PlanOffer { plan, offer })
        });
        context.print_csv(&csv_of_json(&COLUMNS, rows)?)
    } else {
        let mut out = text(context, &plans, calendar);
        for caution in &cautions {
            out.push_str(&context.lines(&format!("! {}", caution.line)));
        }
        context.print_text(&out)
    };
    Ok(told.err().unwrap_or(Exit::Done))
}

/// A row of the CSV: a plan with one of its offers, or with none.
#[derive(Serialize)]
struct PlanOffer<'a> {
    plan: &'a Plan,
    offer: Option<&'a Offer>,
}

/// The columns of the CSV, a row a plan and wood stage.
const COLUMNS: [&str; 31] = [
    "plan.taxon as taxon",
    "plan.target as target",
    "plan.plants as plants",
    "plan.by as by",
    "plan.assurance as assurance",
    "plan.rung as rung",
    "plan.per_plant as per_plant",
    "plan.in_hand.ready as in_hand_ready",
    "plan.in_hand.expected as in_hand_expected",
    "plan.in_hand.p80.low as in_hand_p80_low",
    "plan.in_hand.p80.high as in_hand_p80_high",
    "plan.in_hand.chance as in_hand_chance",
    "plan.in_hand.batches[].batch as in_hand_batches",
    "offer.wood|plan.wood as wood",
    "offer.stick as stick",
    "offer.batches as batches",
    "offer.per_tray as per_tray",
    "offer.trays as trays",
    "offer.chance as chance",
    "offer.share as share",
    "offer.days.middle as days_middle",
    "offer.days.assured as days_assured",
    "offer.latest as latest",
    "offer.instead as instead",
    "offer.window.first as window_first",
    "offer.window.last as window_last",
    "offer.window.own as window_own",
    "offer.told as told",
    "plan.room.place as room_place",
    "plan.room.trays as room_trays",
    "plan.room.taken as room_taken",
];

fn wanted(
    book: &Book,
    on: NaiveDate,
    taxon: &str,
    arguments: &PlanArguments,
    stage: Option<crate::model::listed::Wood>,
    by: Option<NaiveDate>,
) -> Result<Vec<PlantsWanted>, Failure> {
    let (Some(plants), Some(by)) = (arguments.want, by) else {
        let mut all = targets(book, on, arguments.assurance);
        all.retain(|wanted| taxon.is_empty() || book.taxa().is_meant(taxon, &wanted.taxon));
        all.retain(|wanted| stage.is_none() || wanted.wood.is_none() || wanted.wood == stage);
        all.iter_mut()
            .for_each(|wanted| wanted.wood = wanted.wood.or(stage));
        return Ok(all);
    };
    if taxon.is_empty() {
        return Err(
            Failure::usage("Which plant?").hint("struck plan weigela --want 60 --by 30-Sep")
        );
    }
    can_be_wanted(plants)?;
    Ok(vec![PlantsWanted {
        taxon: one_taxon(book, taxon)?,
        wood: stage,
        plants,
        by,
        assurance: arguments.assurance,
        target: None,
    }])
}

/// Most plants that are asked for at once.
const MOST_WANTED: u32 = 10_000;

/// Refuses a number of plants that nobody asks for.
///
/// # Errors
/// If it is none, or more than [`MOST_WANTED`].
pub(super) fn can_be_wanted(plants: u32) -> Result<(), Failure> {
    if plants == 0 || plants > MOST_WANTED {
        return Err(Failure::usage(format!("--want is 1 to {MOST_WANTED}.")));
    }
    Ok(())
}

/// The one taxon that a text means: an exact name or alias, the only one with that part, or a new name as it stands.
fn one_taxon(book: &Book, text: &str) -> Result<crate::model::taxon::Taxon, Failure> {
    let exact = book.taxa().resolve(text);
    let mut meant: Vec<&crate::model::taxon::Taxon> =
        book.batches().iter().map(|b| &*b.taxon).collect();
    meant.retain(|taxon| book.taxa().is_meant(text, taxon));
    meant.sort_by_key(|taxon| taxon.key());
    meant.dedup_by_key(|taxon| taxon.key());
    match meant.as_slice() {
        _ if meant.iter().any(|taxon| taxon.key() == exact.key()) => Ok(exact),
        [] => {
            output::say(&format!(
                "{} The plan rests on other taxa.\n",
                filters::no_taxon(book, text)
            ));
            Ok(exact)
        }
        [one] => Ok((*one).clone()),
        many => Err(filters::ambiguous_taxon(text, many.iter().copied())),
    }
}

fn text(context: &Context, plans: &Plans, calendar: Calendar) -> String {
    let mut out = match plans.plans.as_slice() {
        [] => context.lines("No target is set. Set one with `struck add \"target 60 Weigela florida by 30 Sep\"`, or ask with --want and --by.",
        ),
        [one] => at_length(context, one, calendar),
        many => listed(context, many, calendar),
    };
    for asked in &plans.rooms {
        out.push_str(&context.lines(&plans::room(asked)));
    }
    out
}

fn at_length(context: &Context, plan: &Plan, calendar: Calendar) -> String {
    let mut sentences = vec![format!("{}.", plans::wanted(plan, calendar))];
    sentences.extend(plans::in_hand(plan));
    let more = !plan.hand.batches.is_empty();
    if plans::is_covered(plan) {
        sentences.push("Nothing more needs to be stuck.".into());
    } else if plan.offers.is_empty() {
        sentences.push("That day has passed.".into());
    } else {
        for offer in &plan.offers {
            sentences.push(String::new());
            sentences.push(plans::offer(offer, more, calendar));
            sentences.extend(plans::grounds(offer, plan, calendar));
        }
        sentences.push(String::new());
    }
    let each = sentences.iter().map(|sentence| match sentence.as_str() {
        "" => "\n".to_owned(),
        sentence => context.lines(sentence),
    });
    each.collect()
}

fn listed(context: &Context, many: &[Plan], calendar: Calendar) -> String {
    let columns = [
        Column::number("want"),
        Column::text("taxon").at_least(9),
        Column::text("by").at_least(6),
        Column::number("expect").dropping(3),
        Column::number("enough %").dropping(2),
        Column::number("stick"),
        Column::text("wood").at_least(9).dropping(1),
        Column::text("until").at_least(TOO_LATE.len()),
        Column::number("trays").dropping(4),
    ];
    let rows: Vec<Vec<String>> = many
        .iter()
        .map(|plan| row(context, plan, calendar))
        .collect();
    let mut out = table(&columns, &rows, context.environment.width, context.charset);
    out.push('\n');
    out.push_str(&context.lines("Want: plants, by which day. Expect: from what is in hand. Enough %: the chance that this is enough. Stick: cuttings still to stick, until the latest day.",
    ));
    for plan in many {
        for sentence in plans::warned_of(plan) {
            out.push_str(&context.lines(&sentence));
        }
    }
    let is_guess = |plan: &&Plan| {
        let first = plan.offers.first().filter(|_| !plans::is_covered(plan));
        first.is_some_and(|offer| offer.told == 0)
    };
    let guessed: BTreeSet<String> = many
        .iter()
        .filter(is_guess)
        .map(|plan| plan.wanted.taxon.shown())
        .collect();
    if !guessed.is_empty() {
        let names = guessed.into_iter().collect::<Vec<_>>().join(", ");
        out.push_str(&context.lines(&format!("No batch of their kind to go by: {names}.")));
    }
    out
}

/// Where no day is left to stick on.
const TOO_LATE: &str = "too late";

/// How many to stick; more than any plan asks for where not even that many would do.
fn stick(offer: &Offer) -> String {
    match offer.batches.is_empty() {
        true => format!(">{MOST}"),
        false => offer.stick.to_string(),
    }
}

fn row(context: &Context, plan: &Plan, calendar: Calendar) -> Vec<String> {
    let offer = plan.offers.first().filter(|_| !plans::is_covered(plan));
    let cell = |of: &dyn Fn(&Offer) -> String| offer.map_or_else(String::new, of);
    vec![
        plan.wanted.plants.to_string(),
        shown_in(&plan.wanted.taxon.shown(), context.charset),
        calendar.day(plan.wanted.by),
        format!("{:.0}", plan.hand.expected),
        chance(plan.hand.chance).trim_end_matches(" %").to_owned(),
        offer.map_or_else(|| "0".into(), stick),
        cell(&|offer| {
            offer
                .wood
                .map_or_else(String::new, |wood| wood.word().into())
        }),
        cell(&|offer| {
            offer
                .latest
                .map_or_else(|| TOO_LATE.into(), |day| calendar.day(day))
        }),
        cell(&|offer| offer.trays.map_or_else(String::new, |n| n.to_string())),
    ]
}
