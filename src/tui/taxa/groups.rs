//! How a group's figures are worded in the lists of taxa. It draws nothing.

use crate::analysis::timeline::{TimelineGroup, TimelineOptions, timeline};
use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::fold::selection::Selection;
use crate::model::filter::GroupKey;
use crate::model::taxon::Taxon;
use crate::text::clean::{Charset, fit, width};
use crate::text::short::short;
use crate::text::timelines;
use crate::tui::question::GoOn;

/// Works out the timeline of each taxon, split by `by`. With `resamples` above 0 the days get ranges and the curves bands.
/// Gives nothing if it was told to stop.
pub fn groups(
    book: &Book,
    about: &Selection,
    by: Option<GroupKey>,
    resamples: usize,
    go_on: GoOn<'_>,
) -> Option<Vec<TimelineGroup>> {
    let options = TimelineOptions {
        about: about.clone(),
        by: by.into_iter().collect(),
        resamples,
        band: resamples > 0,
        ..TimelineOptions::default()
    };
    timeline(book, &options, &mut |_, _| go_on()).map(|found| found.groups)
}

/// What the group is beside its taxon.
pub fn key(group: &TimelineGroup) -> String {
    let each = group.by.iter().map(|(key, value)| {
        value
            .clone()
            .unwrap_or_else(|| format!("{} not recorded", key.word()))
    });
    each.collect::<Vec<_>>().join(", ")
}

/// Taxon and group.
pub fn name(group: &TimelineGroup) -> String {
    match key(group) {
        key if key.is_empty() => group.taxon.clone(),
        key => format!("{}, {key}", group.taxon),
    }
}

/// Taxa and groups in so many columns: names are shortened so that they stay told apart.
pub fn short_names(groups: &[&TimelineGroup], columns: usize, charset: Charset) -> Vec<String> {
    let taxa: Vec<Taxon> = groups.iter().map(|g| Taxon::parse(&g.taxon)).collect();
    let keys: Vec<String> = groups
        .iter()
        .map(|group| fit(&key(group), columns / 3, charset))
        .collect();
    let widest = keys.iter().map(|key| width(key)).max().unwrap_or(0);
    let room = columns.saturating_sub(if widest > 0 { widest + 2 } else { 0 });
    let names = short(&taxa.iter().collect::<Vec<_>>(), room, charset);
    let joined = names.into_iter().zip(keys).map(|(name, key)| match key {
        key if key.is_empty() => name,
        key => format!("{name}, {key}"),
    });
    joined.collect()
}

/// As many of the parts as fit whole, from the front.
pub fn whole_parts(parts: &[String], columns: usize) -> String {
    let mut said = String::new();
    for part in parts {
        let gap = if said.is_empty() { "" } else { "; " };
        if width(&said) + gap.len() + width(part) > columns {
            break;
        }
        said = said + gap + part;
    }
    said
}

/// Days to root in words.
pub fn days_to_root(group: &TimelineGroup) -> String {
    match quick(group, Milestone::Root) {
        days if days.is_empty() => "no days yet".into(),
        days => format!("days {days}"),
    }
}

/// The days by which 10, 50 and 90 % of those that reached a milestone had; a question mark where not known.
pub fn quick(group: &TimelineGroup, milestone: Milestone) -> String {
    timelines::days(group.figures(milestone), "-")
}

/// How many batches and cuttings.
pub fn size(group: &TimelineGroup) -> String {
    let noun = if group.size.batches == 1 {
        "batch"
    } else {
        "batches"
    };
    format!("{} {noun}, {} stuck", group.size.batches, group.size.stuck)
}
