//! How a batch stands beside others of its taxon and wood stage: early, as usual, late. It draws nothing.

use crate::analysis::timeline::{TimelineGroup, TimelineOptions, timeline};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::fold::intervals::accounts;
use crate::fold::selection::Selection;
use crate::model::filter::{Filter, GroupKey};
use crate::stats::days::reached_by;
use crate::stats::shares::wilson;
use crate::text::figures::percent;
use crate::tui::question::GoOn;

/// Fewer other replicates than this make no custom to compare with (our own rule: two that agree are no custom).
const FEWEST: usize = 3;
/// Normal quantile of a two-sided 95 % interval.
const Z: f64 = 1.959_964;

/// The comparison in words: the batch's rooted share on the day of its last count, with its Wilson
/// interval (widened by the spread between batches of the group), against the group's curve on that day;
/// nothing if it was told not to go on.
#[must_use]
pub fn usual(book: &Book, batch: &Batch, go_on: GoOn<'_>) -> Option<String> {
    let timeline = group(book, batch, go_on)?;
    Some(beside(batch, timeline.as_ref()))
}

fn beside(batch: &Batch, group: Option<&TimelineGroup>) -> String {
    let counted = |i: &&crate::fold::batch::Inspection| i.tally.is_some_and(|t| t.root.is_some());
    let Some(look) = batch.inspections.iter().rev().find(counted) else {
        return "Not lifted yet: nothing to set beside others of its kind.".into();
    };
    let Some(group) = group else {
        return "Others of its kind were never looked at.".into();
    };
    let kind = batch.stick.wood.map_or("", |wood| wood.word());
    let kind = if kind.is_empty() {
        "its taxon".to_owned()
    } else {
        format!("{kind} of its taxon")
    };
    let others = group.size.replicates;
    if others < FEWEST {
        return format!(
            "Too few to compare with: {others} of {kind} with itself, of {FEWEST} needed."
        );
    }
    let figure = group.figures(Milestone::Root);
    let Some(reached) = figure.reached.value() else {
        return format!("Too soon to say what {kind} does.");
    };
    let all = accounts(&[batch], None);
    let Some(own) = all.first().map(|account| account.of(Milestone::Root)) else {
        return String::new();
    };
    let day = look.age;
    let n = f64::from(batch.counts.stuck).max(1.0);
    let had = own.reached_by(day).min(n);
    let usual = reached_by(&figure.curve, f64::from(day));
    let worth = n / reached.deff;
    let sure = wilson(had / n * worth, worth, Z);
    let word = match () {
        () if usual < sure.low => "early",
        () if usual > sure.high => "late",
        () => "as usual",
    };
    let beyond = if day > reached.by_day {
        format!(" (last known of: day {})", reached.by_day)
    } else {
        String::new()
    };
    format!(
        "{}: {} % rooted by day {day}; {kind}: {} %{beyond}, {} batches.",
        capital(word),
        percent(had / n),
        percent(usual),
        group.size.batches
    )
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    first.into_iter().chain(letters).collect()
}

/// The group that the batch belongs to, by taxon and wood stage, without ranges of days: if there is one.
fn group(book: &Book, batch: &Batch, go_on: GoOn<'_>) -> Option<Option<TimelineGroup>> {
    let options = TimelineOptions {
        about: Selection {
            filter: Filter {
                taxon: Some(batch.taxon.shown()),
                wood: batch.stick.wood,
                ..Filter::default()
            },
            ..Selection::default()
        },
        by: vec![GroupKey::Wood],
        resamples: 0,
        ..TimelineOptions::default()
    };
    let wood = GroupKey::Wood.value_for(book, batch);
    let shown = batch.taxon.shown();
    let found = timeline(book, &options, &mut |_, _| go_on())?;
    // A filter takes a part of a name too: only the very taxon is meant.
    let mut groups = found.groups.into_iter();
    Some(groups.find(|g| g.taxon == shown && g.by.iter().all(|(_, value)| *value == wood)))
}
