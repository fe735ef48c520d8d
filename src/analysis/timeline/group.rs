//! Groups of batches and what is said of each as a whole. The curves are made elsewhere.

use super::figure::{self, Work};
use super::say::{Caution, Reason};
use super::{Group, Member, MilestoneFigure, Options, Size, Yield};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::batch::Milestone;
use crate::fold::selection::IncludedBatch;
use crate::model::filter::GroupKey;
use crate::model::id::Id;
use crate::model::text::folded;
use crate::stats::npmle::Estimate;
use std::collections::BTreeMap;

/// A group before its figures.
pub(super) struct Gathered<'a> {
    taxon: String,
    by: Vec<(GroupKey, Option<String>)>,
    members: Vec<Member<'a>>,
    replicates: usize,
}

/// The groups of the batches, by taxon, then key by key; what is not recorded comes last.
pub(super) fn gather<'a>(
    book: &Book,
    counted: &'a [IncludedBatch],
    by: &[GroupKey],
) -> Vec<Gathered<'a>> {
    let mut groups: BTreeMap<Vec<(bool, String)>, Vec<&'a IncludedBatch>> = BTreeMap::new();
    for item in counted {
        let values = by.iter().map(|key| {
            let value = key.value_for(book, item.batch);
            (
                value.is_none(),
                value.as_deref().map(folded).unwrap_or_default(),
            )
        });
        let taxon = (false, item.batch.taxon.key());
        let place = std::iter::once(taxon).chain(values).collect();
        groups.entry(place).or_default().push(item);
    }
    groups
        .into_values()
        .map(|group| gathered(book, &group, by))
        .collect()
}

fn gathered<'a>(book: &Book, group: &[&'a IncludedBatch], by: &[GroupKey]) -> Gathered<'a> {
    let mut stands: Vec<&Id> = group.iter().map(|item| item.replicate).collect();
    stands.sort_unstable();
    stands.dedup();
    let member = |item: &&'a IncludedBatch| Member {
        account: &item.account,
        // Found, since it was put in.
        replicate: stands.binary_search(&item.replicate).unwrap_or(0),
    };
    // The batches come by day of sticking, so the first shows a name as first written.
    let shown = |batch: &Batch| {
        by.iter()
            .map(|key| (*key, key.value_for(book, batch)))
            .collect()
    };
    Gathered {
        taxon: group
            .first()
            .map_or_else(String::new, |item| item.batch.taxon.shown()),
        by: group
            .first()
            .map_or_else(Vec::new, |item| shown(item.batch)),
        members: group.iter().map(member).collect(),
        replicates: stands.len(),
    }
}

/// The figures of a group. `go_on` is told whether a milestone is finished; `None` if it says no.
pub(super) fn figures(
    group: &Gathered,
    options: &Options,
    go_on: &mut dyn FnMut(bool) -> bool,
) -> Option<Group> {
    let mut reasons = Vec::new();
    let mut milestones = Vec::with_capacity(Milestone::ALL.len());
    for milestone in Milestone::ALL {
        let mut work = Work {
            members: &group.members,
            replicates: group.replicates,
            options,
            go_on: &mut || go_on(false),
        };
        let (figure, missing) = figure::of(milestone, &mut work)?;
        if !go_on(true) {
            return None;
        }
        let path = |path| format!("milestones.{}.{path}", milestone.word());
        reasons.extend(missing.into_iter().map(|(end, reason)| (path(end), reason)));
        milestones.push(figure);
    }
    let milestones: [MilestoneFigure; 3] = milestones.try_into().ok()?;
    let strike = milestones[Milestone::Root as usize].reached;
    let yielded = yielded(group);
    let mut first = Vec::new();
    let of_root = reasons
        .iter()
        .find(|(path, _)| path == "milestones.root.reached");
    first.extend(of_root.map(|(_, reason)| ("strike".to_owned(), *reason)));
    if yielded.is_none() {
        first.push(("yield".into(), Reason::NoneClosed));
    }
    first.append(&mut reasons);
    Some(Group {
        taxon: group.taxon.clone(),
        by: group.by.clone(),
        size: size(group),
        strike,
        yielded,
        cautions: cautions(group, &milestones),
        milestones,
        reasons: first,
    })
}

fn size(group: &Gathered) -> Size {
    let accounts = || group.members.iter().map(|member| member.account);
    Size {
        batches: group.members.len(),
        replicates: group.replicates,
        stuck: accounts().map(|it| it.stuck).sum(),
        lost: accounts().map(|it| it.lost).sum(),
        watched: accounts().map(|it| it.of(Milestone::Root).watched).sum(),
    }
}

fn yielded(group: &Gathered) -> Option<Yield> {
    let accounts = group.members.iter().map(|member| member.account);
    let closed: Vec<_> = accounts.filter(|account| account.is_closed()).collect();
    let stuck: u32 = closed.iter().map(|account| account.stuck).sum();
    let reached: f64 = closed.iter().map(|it| it.of(Milestone::Root).reached).sum();
    (stuck > 0).then(|| Yield {
        value: reached / f64::from(stuck),
        batches: closed.len(),
    })
}

fn cautions(group: &Gathered, milestones: &[MilestoneFigure; 3]) -> Vec<Caution> {
    let accounts = || group.members.iter().map(|member| member.account);
    let mut out = Vec::new();
    out.extend((group.replicates == 1).then_some(Caution::OneReplicate));
    let looks: u32 = accounts().map(|it| it.guesses).sum();
    out.extend((looks > 0).then_some(Caution::Guesses { looks }));
    let looks: u32 = accounts().map(|it| it.sampled).sum();
    out.extend((looks > 0).then_some(Caution::Sampled { looks }));
    let cuttings: u32 = accounts().map(|it| it.unexplained).sum();
    out.extend((cuttings > 0).then_some(Caution::Unexplained { cuttings }));
    for (milestone, figure) in Milestone::ALL.into_iter().zip(milestones) {
        let those = || accounts().map(|account| account.of(milestone));
        let batches = those().filter(|it| !it.backwards.is_empty()).count();
        out.extend((batches > 0).then_some(Caution::Backwards { milestone, batches }));
        let batches = those().filter(|it| it.at_sticking > 0.0).count();
        out.extend((batches > 0).then_some(Caution::AtSticking { milestone, batches }));
        let gap = figure.gap;
        let certified = gap <= Estimate::CERTIFIED;
        out.extend((!certified).then_some(Caution::Uncertified { milestone, gap }));
    }
    out
}
